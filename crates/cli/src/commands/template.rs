//! `asleft template`: a site file to fill in.
//!
//! What nobody but the installer can know stands as a line to complete, behind `#`; so a template
//! that was not filled in is not proven, and never complies.

use super::{assessor, refused};
use crate::Exit;
use crate::args::Template;
use rules::assess::Assessor;
use rules::book::Books;
use rules::sheet::{Row, Task, rows};
use settings_model::catalogue::{Equipment, HeldBy, Shape};
use settings_model::facts::{FactId, FactShape, Facts};
use settings_model::finding::nearest;
use settings_model::library::Request;
use settings_model::quantity::Dimension;
use std::fmt::Write as _;
use std::io::{self, Write};

/// Prints a template for a network's newest version, or for a standard alone.
pub fn run(args: &Template) -> io::Result<Exit> {
    let mut assessor = assessor(&args.under)?;
    let (under, books) = match under(args, &mut assessor) {
        Ok(found) => found,
        Err(says) => return refused(&says),
    };
    let mut text = String::new();
    write_site(&mut text, &under, &books, &assessor);
    terminal::stdout().write_all(text.as_bytes())?;
    Ok(Exit::Fine)
}

/// What the site will stand under.
struct Under {
    network: Option<(String, semver::Version)>,
    standard: String,
    region: String,
    regions: Vec<String>,
}

fn under(args: &Template, assessor: &mut Assessor) -> Result<(Under, Books), String> {
    let networks = assessor.library.networks();
    let network = networks.contains(&args.of).then(|| args.of.clone());
    let version = network.as_ref().and_then(|network| assessor.library.versions(network).pop());
    let cannot = |_| format!("a profile that `{}` extends is at fault; `asleft list profiles` says how", args.of);
    let standard = match (&network, &version) {
        (Some(network), Some(version)) => assessor.library.standard_below(network, version, &mut assessor.sources).map_err(cannot)?,
        _ => args.of.clone(),
    };
    let Ok(file) = assessor.library.standard(&standard, &mut assessor.sources) else {
        let known: Vec<String> = networks.into_iter().chain(assessor.library.standards()).collect();
        let hint = match nearest(&args.of, known.iter().map(String::as_str)) {
            Some(meant) => format!("did you mean `{meant}`?"),
            None => format!("known: {}", known.join(", ")),
        };
        return Err(format!("no network or standard `{}`; {hint}", args.of));
    };
    let regions: Vec<String> = match (&network, &version) {
        (Some(network), Some(version)) => assessor.library.regions_below(network, version, &mut assessor.sources).map_err(cannot)?,
        _ => file.file.regions.iter().map(|(key, _)| key.to_owned()).collect(),
    };
    let Some(region) = args.region.clone().or(regions.first().cloned()).filter(|region| regions.contains(region)) else {
        return Err(format!("`{}` has no such region; known: {}", args.of, regions.join(", ")));
    };
    let rulebooks = match (&network, &version) {
        (Some(network), Some(version)) => assessor.library.rulebooks_of((network, version), &region, &mut assessor.sources),
        _ => {
            let request = Request { standard: Some(&standard), region: &region, ..Request::default() };
            assessor.library.rulebooks(request, &Facts::default(), &mut assessor.sources)
        }
    };
    let books = rulebooks.and_then(|rulebooks| Books::usable(rulebooks, None)).map_err(cannot)?;
    Ok((Under { network: network.zip(version), standard, region, regions }, books))
}

fn write_site(text: &mut String, under: &Under, books: &Books, assessor: &Assessor) {
    let mut line = |written: String| _ = writeln!(text, "{written}");
    line(format!("# A site under {}.", rules::phrase::under(&books.on(Equipment::Inverter).rulebook)));
    line("# Complete each line behind a `#` that applies to the site, and take its `#` away; `asleft sheet SITE` then says which settings it is asked.".to_owned());
    line("# Only licensed persons may change settings; the network operator's own document and the approval decide.".to_owned());
    line("kind: site".to_owned());
    line("site: name-or-number # yours".to_owned());
    match &under.network {
        Some((network, version)) => {
            line(format!("network: {network}"));
            line(format!(
                "requirements: {{ overlay: ^{}.{}, region: {} }} # regions: {}",
                version.major,
                version.minor,
                under.region,
                under.regions.join(", ")
            ));
        }
        None => line(format!(
            "requirements: {{ standard: {}, region: {} }} # regions: {}",
            under.standard,
            under.region,
            under.regions.join(", ")
        )),
    }
    line(format!("# route, under requirements, where the operator offers a choice: {}", words_of(FactId::Route)));
    line("# dates: { applied: 2026-01-31, approved: 2026-01-31, installed: 2026-01-31 } # and approved-until, altered".to_owned());
    line(format!("# work: {{ kind: …, exemption: {{ reference: …, reason: … }} }} # kind: {}", words_of(FactId::Work)));
    let nominal = match books.on(Equipment::Inverter).rulebook.nominal {
        Some(nominal) => Dimension::Voltage.show(nominal),
        None => "… V".to_owned(),
    };
    line(format!("# supply: {{ phases: 1, nominal: {nominal} line-neutral, connection-point: …, sub-network: … }}"));
    line(format!("#   sub-network, where the network has several: {}", words_of(FactId::SubNetwork)));
    line(format!("# export: {{ kind: …, approved: 5 kW, reference: … }} # kind: {}; as the approval says", words_of(FactId::ExportKind)));
    line(
        "# cables: # from the point of supply inwards, for `asleft rise SITE`; instead of a conductor: voltage-drop, or per-length or impedance with resistance and reactance"
            .to_owned(),
    );
    line("#   mains: { part: consumer-mains, length: … m, conductor: { size: … mm2, material: copper } } # part: network, service, consumer-mains, sub-mains, inverter-circuit".to_owned());
    line("#   inverter-circuit: { part: inverter-circuit, behind: mains, length: … m, conductor: { size: … mm2, material: copper }, feeds: [inverter-1] }".to_owned());
    line("# answerable: { crew: …, branch: …, company: … }".to_owned());
    write_installation(text, books, assessor);
    write_inverter(text, under, books, assessor);
    write_relay(text, under, books, assessor);
    write_approvals(text, under);
}

fn write_installation(text: &mut String, books: &Books, assessor: &Assessor) {
    let rows = rows_of(books, Equipment::Installation, assessor);
    let calculated: Vec<&Row> = rows.iter().filter(|row| row.setting.parameter().held_by == HeldBy::Calculated).collect();
    if !calculated.is_empty() {
        let _ = writeln!(text, "# installation:");
        write_rows(text, "#   ", &calculated);
    }
}

fn write_inverter(text: &mut String, under: &Under, books: &Books, assessor: &Assessor) {
    let _ = writeln!(
        text,
        "devices:
  inverter-1:
    # kind: inverter
    # certified: {{ standard: {1}, edition: {{ year: …, amendment: … }} }}
    # source: … # {2}
    # nameplate: 5 kVA
    # rated-power: 5 kW
    # stands-under: {{ standard: {0}, region: … }} # where an older edition holds for this device
    # installed: 2026-01-31 # where that is not the day of the site's installation
    # limited-to: 5 kVA # where it is limited to less than its nameplate
    # phases: 1
    # on-phase: L1 # of a single-phase device on a three-phase supply
    # model: …
    # serial: …
    # firmware: …
    # labels: … # its family, where its model does not lead to a label map; `asleft list labels` names them
    as-left:
      # date: 2026-01-31
      # role: licensed installer
      # known-by: display # or read, photo, test; a value may say its own: {{ value: 255 V, known-by: photo, photo: 3 }}
      # region-selected: {3} # once it is selected on the device
      # region-photo: 1 # the photo that shows it
      # displayed: {{ … }} # values in the words of the display, where a label map knows them; `asleft list labels`
      settings:",
        under.standard,
        under.standard.split('/').next().unwrap_or_default(),
        words_of(FactId::EnergySource),
        under.region
    );
    let rows = rows_of(books, Equipment::Inverter, assessor);
    write_rows(text, "        # ", &to_enter(&rows));
    let _ = writeln!(text, "        {{}} # in place of this, the lines above");
}

fn write_relay(text: &mut String, under: &Under, books: &Books, assessor: &Assessor) {
    let rows = rows_of(books, Equipment::GridProtectionRelay, assessor);
    let standard = under.standard.split('/').next().unwrap_or_default();
    let _ = writeln!(
        text,
        "    # as-found: # before the work, written as as-left is
  # relay-1: # where there is one
  #   kind: grid-protection-relay
  #   certified: {{ standard: {standard}, edition: {{ year: …, amendment: … }} }}
  #   as-left:
  #     settings:"
    );
    let to_enter = to_enter(&rows);
    if to_enter.is_empty() {
        let _ = writeln!(text, "  #       {{}} # these requirements ask nothing of it");
    }
    write_rows(text, "  #       ", &to_enter);
}

/// Departures approved for the site, and what others write.
fn write_approvals(text: &mut String, under: &Under) {
    let against = match &under.network {
        Some((network, version)) => {
            format!("#     against: {{ network: {network}, version: {version} }} # the issue that it departs from\n")
        }
        None => String::new(),
    };
    let _ = write!(
        text,
        "# site-specific-approvals: # departures approved for this site alone
#   - setting: inverter-1/sustained-overvoltage/threshold
#     require: … # the value to set instead; or what complies, as comply: at most …
#     approval: {{ reference: …, role: …, by: network operator, granted: 2026-01-31, until: 2026-12-31 }}
{against}#     exception: {{ reference: …, reason: … }} # where it reaches further than the requirement leaves
# Left out, as programs write them: training (`exercise`), pinned (`pin`), captured (`capture`);
# site-rating and central-protection are added up from the devices.
"
    );
}

/// What has to be entered: all else comes with the region, or is shown by the type test.
fn to_enter(rows: &[Row]) -> Vec<&Row> {
    rows.iter().filter(|row| row.task == Task::Enter).collect()
}

/// Lines to complete, function by function, each behind the same beginning.
fn write_rows(text: &mut String, before: &str, rows: &[&Row]) {
    let mut last = "";
    for row in rows {
        let function = row.setting.function();
        if function.key != last {
            last = function.key;
            let _ = writeln!(text, "{before}{}: # {}", function.key, function.title.to_lowercase());
        }
        let value = match row.setting.parameter().shape {
            Shape::Curve { .. } => "[[…, …], …]",
            _ => "…",
        };
        let known = row.known_by.as_ref().map(|kinds| format!("; evidence: {kinds}")).unwrap_or_default();
        let _ = writeln!(text, "{before}  {}: {value} # {}{known}", row.setting.parameter().key, row.complies_within);
    }
}

/// What is asked of a kind of equipment where nothing of a site is known.
pub(super) fn rows_of(books: &Books, kind: Equipment, assessor: &Assessor) -> Vec<Row> {
    let book = books.on(kind);
    let mut facts = Facts::default();
    facts.set_date(FactId::Today, assessor.today);
    if let Some(nominal) = book.rulebook.nominal {
        facts.set_number(FactId::NominalVoltage, nominal);
    }
    let counted = book.requirement(&facts, &[]);
    rows(book, &counted.requirement, &facts, &[])
}

fn words_of(fact: FactId) -> String {
    match fact.row().shape {
        FactShape::Choice(words) => words.join(", "),
        _ => String::new(),
    }
}
