//! Judging a record again, offline, against the very requirements that it names.

use crate::args::Under;
use crate::commands::{clock, register};
use crate::files;
use crate::report::verify::{CheckKind, CheckOutcome, CheckReport};
use record::register::Register;
use record::{Outcome, Pin, Record};
use rules::assess::{Assessor, GovernedBy, SiteVerdict};
use rules::wording;
use settings_model::files::{Pin as SitePin, SiteFile, Text};
use settings_model::library::{Library, Profile};
use settings_model::reader;
use std::io;

/// Whether the site's own text comes to the same again.
pub fn judged_again(record: &Record, under: &Under, register: Option<&Register>) -> io::Result<CheckReport> {
    let could_not =
        |says: String, differs| Ok(CheckReport { differs, ..CheckReport::new(CheckKind::JudgedAgain, CheckOutcome::CouldNotTell, says) });
    let Ok(day) = record.made.as_of.parse::<jiff::civil::Date>() else {
        return could_not(format!("`{}`, the day it was made for, is no date", record.made.as_of), Vec::new());
    };
    let mut library = files::library(&under.profiles)?;
    if let Some(gate) = files::signed::gate(under)? {
        library.set_gate(gate);
    }
    let not_at_hand = pinned(record, &mut library, register)?;
    if !not_at_hand.is_empty() {
        let says = "requirements that it was judged against are not at hand; give the folder that has them as `--profiles`, or the register that kept them as `--register`";
        return could_not(says.to_owned(), not_at_hand);
    }
    library.set_now(clock());
    let mut assessor = Assessor::new(library, day);
    assessor.governed_by = GovernedBy::Pins;
    match again(record, &mut assessor) {
        Ok((outcome, findings)) => Ok(compared(record, outcome, &findings)),
        Err(says) => could_not("its site cannot be judged now".to_owned(), says),
    }
}

/// Puts the profiles that a record names into the library, by content; those that are nowhere.
fn pinned(record: &Record, library: &mut Library, register: Option<&Register>) -> io::Result<Vec<String>> {
    let mut not_at_hand = Vec::new();
    for Pin { profile, sha256 } in &record.requirement.profiles {
        if library.profile(profile).is_some_and(|at_hand| at_hand.sha256() == *sha256) {
            continue;
        }
        let kept = register.map(|register| register::profile(register, sha256)).transpose()?.flatten();
        match kept {
            Some(text) => library.add(Profile {
                path: format!("{profile}.yaml"),
                name: format!("register:{profile}.yaml"),
                text: text.into(),
                shipped: false,
            }),
            None if library.profile(profile).is_some() => {
                not_at_hand.push(format!("{profile}: another text is at hand than the one of SHA-256 {sha256}"))
            }
            None => not_at_hand.push(format!("{profile}, SHA-256 {sha256}")),
        }
    }
    Ok(not_at_hand)
}

/// A finding, as far as two can be compared.
type Said = (String, String, Option<String>, String);

/// What the site's own text comes to, judged now.
fn again(record: &Record, assessor: &mut Assessor) -> Result<(Outcome, Vec<Said>), Vec<String>> {
    let says = |findings: Vec<settings_model::finding::Finding>| findings.into_iter().map(|finding| finding.headline).collect::<Vec<_>>();
    let given = &record.given.site;
    let source = assessor.sources.add(given.name.as_str(), given.text.as_str());
    let root = assessor.read_site(source, &given.text).map_err(says)?;
    let mut site: SiteFile<'_> = reader::typed(&root).map_err(says)?;
    site.pinned = pins(record);
    let assessment = assessor.assess(&site);
    let findings = wording::findings(&assessment, &root);
    let outcome = match assessment.verdict {
        SiteVerdict::Complies => Outcome::Complies,
        SiteVerdict::NotProven => Outcome::NotProven,
        SiteVerdict::DoesNotComply => Outcome::DoesNotComply,
        SiteVerdict::CouldNotTell => return Err(says(findings)),
    };
    let said = |finding: settings_model::finding::Finding| {
        (finding.outcome.word().to_owned(), finding.name.to_owned(), finding.setting, finding.headline)
    };
    Ok((outcome, findings.into_iter().map(said).collect()))
}

/// The standards and overlays of a record, lowest layer first, then what single devices stand under.
fn pins(record: &Record) -> Vec<SitePin<'static>> {
    let named = |profile: &str| record.requirement.profiles.iter().find(|pin| pin.profile == profile);
    let of_layer = |layer: &record::Layer| {
        ["standards", "overlays"].iter().find_map(|folder| named(&format!("{folder}/{}/{}", layer.key, layer.version)))
    };
    let mut pins: Vec<&Pin> = record.requirement.layers.iter().filter_map(of_layer).collect();
    for pin in record.requirement.profiles.iter().filter(|pin| pin.profile.starts_with("standards/")) {
        if !pins.contains(&pin) {
            pins.push(pin);
        }
    }
    let text = |text: &String| Text(text.clone().into());
    pins.into_iter().map(|pin| SitePin { profile: text(&pin.profile), sha256: text(&pin.sha256) }).collect()
}

fn compared(record: &Record, outcome: Outcome, findings: &[Said]) -> CheckReport {
    let recorded: Vec<Said> = record
        .findings
        .iter()
        .map(|finding| (finding.outcome.clone(), finding.name.clone(), finding.setting.clone(), finding.headline.clone()))
        .collect();
    let mut differs = Vec::new();
    let was = record.verdict.settings;
    if was != outcome {
        differs.push(format!("its settings were recorded as `{}`, and come to `{}`", was.phrase(), outcome.phrase()));
    }
    let line = |said: &Said| format!("{}[{}]: {}", said.0, said.1, said.3);
    differs
        .extend(recorded.iter().filter(|said| !findings.contains(said)).map(|said| format!("recorded, and not found now: {}", line(said))));
    differs
        .extend(findings.iter().filter(|said| !recorded.contains(said)).map(|said| format!("found now, and not recorded: {}", line(said))));
    if differs.is_empty() {
        let of = match findings.len() {
            0 => "without a finding".to_owned(),
            1 => "with the same finding".to_owned(),
            many => format!("with the same {many} findings"),
        };
        return CheckReport::new(
            CheckKind::JudgedAgain,
            CheckOutcome::AsMade,
            format!("settings come to `{}` again, {of}", outcome.phrase()),
        );
    }
    let here = env!("CARGO_PKG_VERSION");
    let says = match record.made.version == here {
        true => "it does not come to what was recorded".to_owned(),
        false => format!(
            "it does not come to what was recorded; it was made by version {}, and this is {here}, which may judge otherwise",
            record.made.version
        ),
    };
    CheckReport { differs, ..CheckReport::new(CheckKind::JudgedAgain, CheckOutcome::NotAsMade, says) }
}
