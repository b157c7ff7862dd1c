//! `asleft attest check`: an attestation against the profile that it is of.

use super::CAUTION;
use crate::Exit;
use crate::args::{AttestCheck, Format};
use crate::commands::assessor;
use crate::commands::operand::{OperandError, add_file, write_fault};
use crate::render::{self, table, wrapped};
use crate::report::PlaceReport;
use crate::report::attest::{AttestCheckReport, AttestSummary, ComparedReport};
use rules::assess::Assessor;
use rules::attestation::{Checked, Counts};
use settings_model::attested::{Attestation, Comparison, Figure, Outcome, ReadValue};
use settings_model::finding;
use std::io::{self, Write};

/// Compares each value read with the profile's.
pub fn run(args: &AttestCheck) -> io::Result<Exit> {
    let mut assessor = assessor(&args.under)?;
    let checked = match named(args, &mut assessor).and_then(|key| Ok(Checked::of(&format!("{key}.yaml"), &mut assessor)?)) {
        Ok(checked) => checked,
        Err(fault) => return write_fault(fault, &assessor),
    };
    let figures = checked.figures();
    let comparisons = checked.comparisons(&figures);
    let counts = checked.counts(&figures, &comparisons);
    let mut out = terminal::stdout();
    match args.format {
        Format::Text => write_text(&mut out, &checked, &figures, &comparisons, counts, &assessor)?,
        Format::Json => render::json(&mut out, &report(&checked, &figures, &comparisons, counts, &assessor))?,
    }
    Ok(if counts.disagree + counts.not_yet_read > 0 { Exit::NotFine } else { Exit::Fine })
}

/// The key of the attestation that is meant, at hand or put there.
fn named(args: &AttestCheck, assessor: &mut Assessor) -> Result<String, OperandError> {
    let word = args.attestation.trim_end_matches(".yaml");
    let is_attestation = |key: &String| key.starts_with("attestations/");
    match add_file(&args.attestation, assessor)? {
        Some(key) => {
            Some(key).filter(is_attestation).ok_or_else(|| OperandError::Words(format!("`{}` is no attestation", args.attestation)))
        }
        None => {
            let at_hand: Vec<String> =
                assessor.library.attestations().iter().map(|path| path.trim_end_matches(".yaml").to_owned()).collect();
            let found = at_hand.iter().find(|key| *key == word).cloned();
            found.ok_or_else(|| {
                let known = if at_hand.is_empty() { "none is at hand".to_owned() } else { format!("at hand: {}", at_hand.join(", ")) };
                OperandError::Words(format!("neither a file nor an attestation: `{}`; {known}", args.attestation))
            })
        }
    }
}

fn word(outcome: Outcome) -> &'static str {
    match outcome {
        Outcome::Disagrees => "disagrees",
        Outcome::NotYetRead => "not-yet-read",
        Outcome::Agrees => "agrees",
    }
}

fn name_of<'a>(attestation: &Attestation, assessor: &'a Assessor) -> &'a str {
    assessor.sources.get(attestation.source).map_or("", |source| source.name.as_str())
}

fn report(
    checked: &Checked,
    figures: &[Figure<'_>],
    comparisons: &[Comparison<'_>],
    counts: Counts,
    assessor: &Assessor,
) -> AttestCheckReport {
    let attestation = checked.attestation();
    let by = &attestation.by;
    let compared = |comparison: &Comparison<'_>| {
        let figure = &figures[comparison.figure];
        ComparedReport {
            outcome: word(comparison.outcome),
            of: figure.kind.word(),
            setting: figure.setting.to_string(),
            verb: figure.verb.word(),
            regions: comparison.regions.iter().map(|region| (*region).to_owned()).collect(),
            clause: comparison.clause.map(str::to_owned),
            read: comparison.read.map(ReadValue::words),
            profile: figure.said.words(),
            place: PlaceReport::new(comparison.place, &assessor.sources),
        }
    };
    AttestCheckReport {
        file: name_of(attestation, assessor).to_owned(),
        profile: checked.attested.key.clone(),
        office: by.office.clone(),
        read_by: by.read_by.clone(),
        read_on: by.read_on.to_string(),
        document: by.document.clone(),
        amendments: by.amendments.clone(),
        counts: attestation.counts,
        summary: AttestSummary {
            agree: counts.agree,
            disagree: counts.disagree,
            not_yet_read: counts.not_yet_read,
            not_listed: counts.not_listed,
        },
        figures: comparisons.iter().map(compared).collect(),
    }
}

fn write_text(
    out: &mut dyn Write,
    checked: &Checked,
    figures: &[Figure<'_>],
    comparisons: &[Comparison<'_>],
    counts: Counts,
    assessor: &Assessor,
) -> io::Result<()> {
    let width = render::width();
    let attestation = checked.attestation();
    let by = &attestation.by;
    writeln!(out, "{}  {}", checked.attested.key, name_of(attestation, assessor))?;
    let who = format!("read by {} of {} on {} in {} ({})", by.read_by, by.office, by.read_on, by.document, by.amendments);
    writeln!(out, "  {}", wrapped(&who, width - 2, 4))?;
    if !attestation.counts {
        let says = format!("it was read after {}, the day asked about, so it changes nothing then", assessor.today);
        writeln!(out, "  {}", wrapped(&says, width - 2, 4))?;
    }
    for finding in checked.findings().iter().filter(|finding| finding.outcome != finding::Outcome::Remark) {
        writeln!(out, "\n{}", render::findings::finding(finding, &assessor.sources, width, render::colour()))?;
    }
    let of = |outcome| comparisons.iter().filter(move |comparison| comparison.outcome == outcome).collect::<Vec<_>>();
    let unread = of(Outcome::NotYetRead);
    if !unread.is_empty() {
        // our own values are left out: who reads must not be led by them
        render::heading(out, "NOT YET READ", "these stay unverified")?;
        let mut table = table::table(["Setting", "What to read", "Regions", "At line"], width - 2);
        for comparison in unread {
            let figure = &figures[comparison.figure];
            let line = assessor.sources.locate(comparison.place).map(|at| at.line.to_string()).unwrap_or_default();
            table.add_row([figure.setting.to_string(), figure.verb.word().to_owned(), comparison.regions.join(", "), line]);
        }
        writeln!(out, "{}", table::lines(&table, &[]))?;
    }
    let agreed = of(Outcome::Agrees);
    if !agreed.is_empty() {
        render::heading(out, "AGREES", "the copy says what the profile says")?;
        let mut table = table::table(["Setting", "Read", "Regions", "Clause"], width - 2);
        for comparison in agreed {
            let figure = &figures[comparison.figure];
            let read = comparison.read.map(ReadValue::words).unwrap_or_default().replace(", ", "\n");
            let read = if matches!(figure.verb.word(), "require" | "comply") { read } else { format!("{} {read}", figure.verb.word()) };
            let cells = [figure.setting.to_string(), read, comparison.regions.join(", "), comparison.clause.unwrap_or_default().to_owned()];
            table.add_row(cells.map(|cell| render::unbroken(&cell)));
        }
        writeln!(out, "{}", table::lines(&table, &[]))?;
    }
    let Counts { agree, disagree, not_yet_read, not_listed } = counts;
    writeln!(out, "\n{agree} agree, {disagree} disagree, {not_yet_read} not yet read")?;
    if not_listed > 0 {
        let figures = if not_listed == 1 {
            "1 more unverified figure of the profile is"
        } else {
            &*format!("{not_listed} more unverified figures of the profile are")
        };
        let says = format!("{figures} not in this file; `asleft attest new PROFILE` lists all");
        writeln!(out, "{}", wrapped(&says, width, 2))?;
    }
    writeln!(out, "{}", wrapped(CAUTION, width, 0))
}
