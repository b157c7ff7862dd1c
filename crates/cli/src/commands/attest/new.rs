//! `asleft attest new`: a file to fill in from the copy.

use crate::Exit;
use crate::args::AttestNew;
use crate::commands::assessor;
use crate::commands::operand::{OperandError, with_figures, write_fault};
use crate::render::wrapped;
use rules::assess::Assessor;
use rules::provenance::Standing;
use settings_model::attested::{Figure, Stating, Verb, figures};
use settings_model::catalogue::{Equipment, Shape};
use settings_model::files::{BLOCKS, Conditions};
use std::fmt::Write as _;
use std::io::{self, Write};
use std::rc::Rc;

/// Prints an attestation of a profile with every unverified figure, and no value.
pub fn run(args: &AttestNew) -> io::Result<Exit> {
    let mut assessor = assessor(&args.under)?;
    let text = match profile(args, &mut assessor).and_then(|profile| text(args, &profile)) {
        Ok(text) => text,
        Err(fault) => return write_fault(fault, &assessor),
    };
    terminal::stdout().write_all(text.as_bytes())?;
    Ok(Exit::Fine)
}

/// A profile, and how an attestation names it.
struct Named {
    key: String,
    title: String,
    lines: [String; 2],
    file: Rc<dyn Stating>,
}

fn profile(args: &AttestNew, assessor: &mut Assessor) -> Result<Named, OperandError> {
    let key = with_figures(&args.profile, assessor)?;
    match key.split('/').collect::<Vec<_>>()[..] {
        ["standards", name, edition] => {
            let typed = assessor.library.standard(&format!("{name}/{edition}"), &mut assessor.sources)?;
            let edition = typed.file.edition.value;
            let amendment = if edition.amendment == 0 { String::new() } else { format!(", amendment: {}", edition.amendment) };
            let lines = [format!("standard: {name}"), format!("edition: {{ year: {}{amendment} }}", edition.year)];
            Ok(Named { title: typed.file.title.clone(), lines, file: Rc::new(typed.file.clone()), key })
        }
        ["overlays", network, version] => {
            let lines = [format!("network: {network}"), format!("version: {version}")];
            let Ok(version) = semver::Version::parse(version) else { return Err(OperandError::Words(format!("`{key}` is no version"))) };
            let typed = assessor.library.overlay(network, &version, &mut assessor.sources)?;
            let title = format!("{}, {}", typed.file.title, typed.file.issue.name);
            Ok(Named { title, lines, file: Rc::new(typed.file.clone()), key })
        }
        _ => Err(OperandError::Words(format!("`{key}` is no profile's key"))),
    }
}

fn text(args: &AttestNew, profile: &Named) -> Result<String, OperandError> {
    let regions: Vec<&str> = profile.file.holders().into_iter().map(|(region, _)| region).filter(|region| !region.is_empty()).collect();
    if let Some(region) = args.region.as_deref().filter(|region| !regions.contains(region)) {
        let known = if regions.is_empty() { "it has none".to_owned() } else { format!("known: {}", regions.join(", ")) };
        return Err(OperandError::Words(format!("{} has no region `{region}`; {known}", profile.title)));
    }
    let figures = figures(&*profile.file);
    let unverified = |figure: &&Figure<'_>| figure.source.is_none_or(|source| Standing::from(source.basis).is_unverified());
    let here = |figure: &&Figure<'_>| args.region.as_deref().is_none_or(|region| figure.regions.contains(&region));
    let to_read: Vec<&Figure<'_>> = figures.iter().filter(unverified).filter(here).collect();
    if to_read.is_empty() {
        return Err(OperandError::Words(format!(
            "{} states nothing from memory or a single source; there is nothing to read",
            profile.title
        )));
    }
    let mut groups: Vec<(Vec<&str>, Vec<&Figure<'_>>)> = Vec::new();
    for figure in to_read {
        let own = args.region.as_deref().map_or_else(|| figure.regions.clone(), |region| vec![region]);
        match groups.iter_mut().find(|(known, _)| *known == own) {
            Some((_, group)) => group.push(figure),
            None => groups.push((own, vec![figure])),
        }
    }
    let mut text = head(profile);
    for (own, group) in groups {
        let is_every = args.region.is_none() && own.len() == regions.len();
        let first = if is_every { "  -" } else { &*format!("  - regions: [{}]\n   ", own.join(", ")) };
        let every = if is_every && !own.is_empty() { " # read for every region; where yours differ, make a group for each" } else { "" };
        let _ = writeln!(text, "{first} clause:{every}");
        write_group(&mut text, &group);
    }
    Ok(text)
}

fn head(profile: &Named) -> String {
    let says = [
        format!("An attestation of {}. Keep it in a folder of profiles as `attestations/{}/<office>.yaml`.", profile.title, profile.key),
        "Read each value in your licensed copy and write it here as the copy has it, with its clause. The values are left empty on purpose: \
         a number that is there already is soon ticked off unread. Do not copy them from the profile."
            .to_owned(),
        "A line that is left empty is not yet read; one that you take out stays as it was. Where the copy says something else than the \
         profile, write what the copy says: the program then says so wherever the figure is used."
            .to_owned(),
        "Carry numbers and clause references only: a standard's sentences and tables are copyright.".to_owned(),
    ];
    let mut text = String::new();
    for paragraph in says {
        for line in wrapped(&paragraph, 98, 0).lines() {
            let _ = writeln!(text, "# {line}");
        }
    }
    let _ = writeln!(
        text,
        "kind: attestation
{}
{}
office: # the office that answers for it
read-by: # a role, or a name that the office keeps
read-on: # the day on which it was read, such as 2026-02-03
copy:
  document: # the licensed copy, and its number in the office
  amendments: # in the words of the copy: which amendments it includes, or none
confirmed:",
        profile.lines[0], profile.lines[1]
    );
    text
}

/// The figures of one group of regions, by kind of equipment, function and setting.
fn write_group(text: &mut String, group: &[&Figure<'_>]) {
    for kind in Equipment::ALL {
        let of_kind: Vec<&&Figure<'_>> = group.iter().filter(|figure| figure.kind == kind).collect();
        if of_kind.is_empty() {
            continue;
        }
        let _ = writeln!(text, "    {}:", BLOCKS[kind as usize]);
        let mut settings: Vec<_> = of_kind.iter().map(|figure| figure.setting).collect();
        settings.sort_unstable();
        settings.dedup();
        let mut function = "";
        for setting in settings {
            if setting.function().key != function {
                function = setting.function().key;
                let title = setting.function().title.to_lowercase();
                let comment = if title == function { String::new() } else { format!(" # {title}") };
                let _ = writeln!(text, "      {function}:{comment}");
            }
            let own: Vec<&Figure<'_>> = of_kind.iter().filter(|figure| figure.setting == setting).map(|figure| **figure).collect();
            write_setting(text, &own);
        }
    }
}

fn write_setting(text: &mut String, own: &[&Figure<'_>]) {
    let parameter = own[0].setting.parameter();
    let mut cited: Vec<&str> = own.iter().filter_map(|figure| figure.source?.clause.as_deref()).collect();
    cited.dedup();
    let cited = if cited.is_empty() { String::new() } else { format!("; the profile cites {}", cited.join(", ")) };
    let title = if parameter.title == parameter.key { "" } else { parameter.title };
    let comment = format!("{title}{cited}");
    let comment = comment.trim_start_matches("; ");
    let comment = if comment.is_empty() { String::new() } else { format!(" # {comment}") };
    let _ = writeln!(text, "        {}:{comment}", parameter.key);
    let mut cases: Vec<Option<&Conditions>> = own.iter().map(|figure| figure.when).collect();
    cases.dedup();
    let several = own.iter().any(|figure| figure.is_case);
    if several {
        let _ = writeln!(text, "          cases:");
    }
    for when in cases {
        let mut before = if several { "            - " } else { "          " };
        let after = if several { "              " } else { "          " };
        if let Some(when) = when {
            let all: Vec<String> = when.0.0.iter().map(|(fact, test)| format!("{}: {}", fact.value, test.value)).collect();
            let _ = writeln!(text, "{before}when: {{ {} }}", all.join(", "));
            before = after;
        }
        for figure in own.iter().filter(|figure| figure.when == when) {
            let _ = writeln!(text, "{before}{}: # {}", figure.verb.word(), shape(figure));
            before = after;
        }
    }
}

/// How a value is written, without saying which it is.
fn shape(figure: &Figure<'_>) -> String {
    let set = matches!(figure.verb, Verb::Comply | Verb::Also | Verb::Adjustable);
    match (figure.verb, figure.setting.parameter().shape) {
        (Verb::Evidence, _) => "such as read or photo".to_owned(),
        (Verb::Spacing, Shape::Curve { x, .. }) => format!("at least … {}", unit(x)),
        (Verb::ResponseWithin, Shape::Curve { x, y }) => format!("[… {}, … {}]", unit(x), unit(y)),
        (_, Shape::Quantity(dimension)) if set => {
            let unit = unit(dimension);
            format!("… {unit} to … {unit}, or at least, at most, over or under … {unit}")
        }
        (_, Shape::Quantity(dimension)) => format!("… {}", unit(dimension)),
        (_, Shape::Choice(words)) => words.join(if set { " or " } else { ", " }),
        (_, Shape::Curve { x, y }) => format!("points [[… {}, … {}], …]", unit(x), unit(y)),
    }
}

fn unit(dimension: settings_model::quantity::Dimension) -> &'static str {
    dimension.symbols().next().unwrap_or("")
}
