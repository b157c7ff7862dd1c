//! `asleft list`: what is at hand.

use super::operand::OperandError;
use super::{assessor, refused};
use crate::Exit;
use crate::args::{List, Listed};
use crate::render::{self, table};
use crate::walk::write_messages;
use replay::scenario::NamedScenario;
use rules::assess::Assessor;
use rules::attestation::Checked;
use rules::practice::RULES;
use rules::provenance::Standing;
use settings_model::attested::{Attestation, Stating};
use settings_model::catalogue::{HeldBy, SettingId, Shape};
use settings_model::facts::{FACTS, FactShape};
use settings_model::finding::Finding;
use settings_model::library::{Refusal, attested_key};
use settings_model::ties::TIES;
use std::io::{self, Write};
use std::rc::Rc;

/// Prints one list.
pub fn run(args: &List) -> io::Result<Exit> {
    let width = render::width();
    let table = match args.what {
        Listed::Settings => settings(width),
        Listed::Facts => facts(width),
        Listed::Rules => rules(width),
        Listed::Profiles => return profiles(args, width),
        Listed::Labels => return labels(args, width),
        Listed::Scenarios => return scenarios(args, width),
    };
    writeln!(terminal::stdout(), "{}", table::lines(&table, &[]))?;
    Ok(Exit::Fine)
}

fn scenarios(args: &List, width: usize) -> io::Result<Exit> {
    let mut assessor = assessor(&args.under)?;
    let mut table = table::table(["Scenario", "What happens", "For"], width);
    let keys = assessor.library.scenarios();
    let mut faults: Vec<Finding> = Vec::new();
    for key in &keys {
        match NamedScenario::at_hand(key, &mut assessor) {
            Ok(None) => {}
            Ok(Some(scenario)) => {
                let standards: Vec<&str> = scenario.file.standards.iter().map(|standard| standard.value.as_str()).collect();
                let meant = if standards.is_empty() { "any".to_owned() } else { standards.join(", ") };
                table.add_row([key.clone(), scenario.file.title, meant]);
            }
            Err(OperandError::Findings(findings)) => faults.extend(findings),
            Err(OperandError::Words(says)) => refused(&says).map(drop)?,
        }
    }
    table::whole(&mut table, 0, keys.iter().map(String::as_str));
    writeln!(terminal::stdout(), "{}", table::lines(&table, &[]))?;
    write_messages(&faults, &assessor.sources)?;
    Ok(if faults.is_empty() { Exit::Fine } else { Exit::CouldNotTell })
}

/// What is told beside a key, each in lines of its own: no column would be wide enough for all.
fn in_lines(told: [&str; 3]) -> String {
    told.iter().filter(|line| !line.is_empty()).copied().collect::<Vec<_>>().join("\n")
}

fn settings(width: usize) -> comfy_table::Table {
    let mut table = table::table(["Setting", "Its name; its value; how it is known where it is not set"], width);
    for id in SettingId::all() {
        let held = match id.parameter().held_by {
            HeldBy::Setting => "",
            HeldBy::TypeTest => "proved by the type test",
            HeldBy::AmbiguousDisplay => "seen on a display that has several meanings",
            HeldBy::Calculated => "calculated for the site",
            HeldBy::AddedUp => "added up from the devices",
        };
        table.add_row([id.to_string(), in_lines([id.parameter().title, &shape(id.parameter().shape), held])]);
    }
    let keys: Vec<String> = SettingId::all().map(|id| id.to_string()).collect();
    table::whole(&mut table, 0, keys.iter().map(String::as_str));
    table
}

fn shape(shape: Shape) -> String {
    match shape {
        Shape::Quantity(dimension) => format!("{}, as {}", dimension.name(), dimension.example()),
        Shape::Choice(words) => words.join(", "),
        Shape::Curve { x, y } => format!("points of {} and {}", x.name(), y.name()),
    }
}

fn facts(width: usize) -> comfy_table::Table {
    let mut table = table::table(["Fact", "Its name; its value; where a site states it"], width);
    for fact in FACTS {
        let shape = match fact.shape {
            FactShape::Choice(words) => words.join(", "),
            FactShape::Quantity(dimension) => dimension.name().to_owned(),
            FactShape::Date => "date".to_owned(),
        };
        table.add_row([fact.key.to_owned(), in_lines([fact.title, &shape, fact.stated_as])]);
    }
    table::whole(&mut table, 0, FACTS.iter().map(|fact| fact.key));
    table
}

fn rules(width: usize) -> comfy_table::Table {
    let mut table = table::table(["Rule", "What it says, and where it is from"], width);
    for tie in TIES {
        table.add_row([tie.name.to_owned(), in_lines([tie.sentence, &format!("from: {}", tie.source), ""])]);
    }
    for rule in RULES {
        table.add_row([rule.name.to_owned(), in_lines([rule.sentence, &format!("from: {}", rule.source), ""])]);
    }
    table::whole(&mut table, 0, TIES.iter().map(|tie| tie.name).chain(RULES.iter().map(|rule| rule.name)));
    table
}

fn profiles(args: &List, width: usize) -> io::Result<Exit> {
    let mut assessor = assessor(&args.under)?;
    let mut table = table::table(["Profile", "Its name; its regions, or where it is in force; how its figures are known"], width);
    let mut faults: Vec<Finding> = Vec::new();
    for key in assessor.library.standards() {
        match assessor.library.standard(&key, &mut assessor.sources) {
            Ok(standard) => {
                let regions: Vec<&str> = standard.file.regions.iter().map(|(key, _)| key).collect();
                let figures = bases(&standard.file, &standard.attestations);
                table.add_row([format!("standards/{key}"), in_lines([&standard.file.title, &regions.join(", "), &figures])]);
            }
            Err(refusal) => faults.extend(findings(refusal)),
        }
    }
    for network in assessor.library.networks() {
        for version in assessor.library.versions(&network) {
            match assessor.library.overlay(&network, &version, &mut assessor.sources) {
                Ok(overlay) => {
                    let file = &overlay.file;
                    let line = |conditions: &settings_model::files::Conditions| {
                        let all = conditions.0.0.iter().map(|(fact, text)| format!("{} {}", fact.value, text.value));
                        all.collect::<Vec<_>>().join(" and ")
                    };
                    let window = file.in_force.iter().map(line).collect::<Vec<_>>().join(", or ");
                    let regions: Vec<&str> = file.regions.iter().map(|region| region.as_str()).collect();
                    let only = if regions.is_empty() { String::new() } else { format!("; only {}", regions.join(", ")) };
                    let name = format!("{}, {}", file.title, file.issue.name);
                    let figures = bases(file, &overlay.attestations);
                    table.add_row([format!("overlays/{network}/{version}"), in_lines([&name, &(window + &only), &figures])]);
                }
                Err(refusal) => faults.extend(findings(refusal)),
            }
        }
    }
    let keys = assessor.library.profiles().map(|profile| profile.path.replace(".yaml", ""));
    let keys: Vec<String> = keys.filter(|key| key.starts_with("standards/") || key.starts_with("overlays/")).collect();
    table::whole(&mut table, 0, keys.iter().map(String::as_str));
    writeln!(terminal::stdout(), "{}", table::lines(&table, &[]))?;
    faults.extend(attestations(&mut assessor, &faults, width)?);
    write_messages(&faults, &assessor.sources)?;
    Ok(if faults.is_empty() { Exit::Fine } else { Exit::CouldNotTell })
}

fn labels(args: &List, width: usize) -> io::Result<Exit> {
    let mut assessor = assessor(&args.under)?;
    let mut table = table::table(["Family", "Name", "Models", "Firmware", "Labels", "Confirmed"], width);
    let mut faults: Vec<Finding> = Vec::new();
    let keys = assessor.library.label_maps();
    for key in &keys {
        match assessor.library.label_map(key, &mut assessor.sources) {
            Ok(map) => {
                let shown = map.labels.iter().filter(|label| label.is_shown()).count();
                let confirmed = format!("{}, by {}, {}", map.confirmed.how.word(), map.confirmed.by, map.confirmed.on.0);
                let firmware = map.firmware.0.to_string();
                table.add_row([map.family.clone(), map.title.clone(), map.models.join(", "), firmware, shown.to_string(), confirmed]);
            }
            Err(findings) => faults.extend(findings),
        }
    }
    let families: Vec<&str> = keys.iter().filter_map(|key| key.split('/').nth(1)).collect();
    table::whole(&mut table, 0, families.iter().copied());
    writeln!(terminal::stdout(), "{}", table::lines(&table, &[]))?;
    write_messages(&faults, &assessor.sources)?;
    Ok(if faults.is_empty() { Exit::Fine } else { Exit::CouldNotTell })
}

/// What offices read, where any attestation is at hand; the faults that no profile has told before.
fn attestations(assessor: &mut Assessor, told: &[Finding], width: usize) -> io::Result<Vec<Finding>> {
    let paths = assessor.library.attestations();
    let mut faults: Vec<Finding> = Vec::new();
    let mut table = table::table(["Of", "Office", "Read on", "Agree", "Disagree", "Not yet read"], width);
    for path in &paths {
        match Checked::of(path, assessor) {
            Ok(checked) => {
                let figures = checked.figures();
                let counts = checked.counts(&figures, &checked.comparisons(&figures));
                let by = &checked.attestation().by;
                let numbers = [counts.agree, counts.disagree, counts.not_yet_read].map(|count| count.to_string());
                table.add_row([checked.attested.key.clone(), by.office.clone(), by.read_on.to_string()].into_iter().chain(numbers));
            }
            Err(refusal) => {
                let is_told = |fault: &Finding| told.iter().any(|other| (other.name, &other.headline) == (fault.name, &fault.headline));
                faults.extend(findings(refusal).into_iter().filter(|fault| !is_told(fault)));
            }
        }
    }
    if paths.is_empty() {
        return Ok(faults);
    }
    let mut out = terminal::stdout();
    table::whole(&mut table, 0, paths.iter().filter_map(|path| attested_key(path)));
    render::heading(&mut out, "ATTESTATIONS", "figures that offices read in their licensed copies")?;
    writeln!(out, "{}", table::lines(&table, &[]))?;
    Ok(faults)
}

fn findings(refusal: Refusal) -> Vec<Finding> {
    match refusal {
        Refusal::Unusable(findings) => findings,
        Refusal::Unknown { .. } | Refusal::Hangs { .. } => Vec::new(),
    }
}

/// How a file's figures are known, surest first, and how many in each way.
fn bases(file: &dyn Stating, attestations: &[Rc<Attestation>]) -> String {
    let figures = rules::attestation::figures_of(file, attestations);
    let counts: Vec<(&str, u32)> = Standing::ALL.iter().map(|standing| (standing.column(), figures.known_as(*standing))).collect();
    match &counts.iter().filter(|(_, count)| *count > 0).collect::<Vec<_>>()[..] {
        [(word, _)] => (*word).to_owned(),
        several => several.iter().map(|(word, count)| format!("{word} {count}")).collect::<Vec<_>>().join(", "),
    }
}
