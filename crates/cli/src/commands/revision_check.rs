//! `asleft revision-check`: which version step a change deserves, and whether its number says so.

use super::assessor;
use super::operand::{OperandError, RequirementsOperand, pairs, requirements_of, write_fault};
use crate::args::{Format, RevisionCheck};
use crate::render::{self, wrapped};
use crate::report::diff::ChangeReport;
use crate::report::revision::{ExampleReport, RevisionReport, WeighedReport};
use crate::{Exit, files};
use rules::assess::Assessor;
use rules::compare::reason::NOT_PROVEN;
use rules::compare::words::{example, told};
use rules::example_site::Under;
use rules::provenance::{Figures, Standing, standing};
use rules::revision::{Example, Step, Weighed, weighed};
use settings_model::catalogue::{Equipment, SettingId};
use settings_model::facts::{FACTS, show};
use std::io::{self, Write};
use std::path::Path;

/// Weighs every change; the exit says whether the declared version is enough.
pub fn run(args: &RevisionCheck) -> io::Result<Exit> {
    let mut assessor = assessor(&args.under)?;
    let report = match weighed_all(args, &mut assessor) {
        Ok(report) => report,
        Err(fault) => return write_fault(fault, &assessor),
    };
    if let Some(folder) = &args.examples {
        write_examples(folder, &report)?;
    }
    let mut out = terminal::stdout();
    match args.format {
        Format::Text => write_text(&mut out, &report)?,
        Format::Json => render::json(&mut out, &report)?,
    }
    Ok(if report.enough && report.not_proven == 0 { Exit::Fine } else { Exit::NotFine })
}

fn weighed_all(args: &RevisionCheck, assessor: &mut Assessor) -> Result<RevisionReport, OperandError> {
    let (old, new) = (requirements_of(&args.old, assessor)?, requirements_of(&args.new, assessor)?);
    let mut found: Vec<WeighedReport> = Vec::new();
    let mut deserved = if lost_region(&old, &new) { Step::Breaking } else { Step::Patch };
    let pairs = pairs(&old, &new);
    for (title, key, old_books, new_books) in &pairs {
        let network = old.overlay.as_ref().map(|overlay| overlay.file.network.value.as_str());
        let under = Under { network, standard: &old.standard, region: key };
        for weighed in weighed(old_books, new_books, under, assessor) {
            deserved = deserved.max(weighed.step());
            let (old, new) = (&old_books.on(weighed.kind).rulebook, &new_books.on(weighed.kind).rulebook);
            let change = ChangeReport::new(told(&weighed.change, old, new), weighed.kind, vec![title.clone()]);
            let known = [(&weighed.change.old, old), (&weighed.change.new, new)];
            let known = known.map(|(entry, rulebook)| entry.as_ref().and_then(|entry| standing(entry, rulebook)));
            take_in(&mut found, change, &weighed, known, title);
        }
    }
    found.iter_mut().for_each(|weighed| weighed.change.settle(pairs.len()));
    let order = |weighed: &WeighedReport| ["breaking", "not-proven", "minor", "patch"].iter().position(|step| *step == weighed.change.step);
    found.sort_by_key(|weighed| (order(weighed), SettingId::named(&weighed.change.setting)));
    let version = |operand: &RequirementsOperand| operand.overlay.as_ref().map(|overlay| overlay.file.version.value.0.clone());
    let versions = version(&old).zip(version(&new));
    let declared = match &versions {
        Some((older, newer)) => Some(
            Step::between(older, newer)
                .ok_or_else(|| OperandError::Words(format!("{} is not later than {}; name the older one first", new.title, old.title)))?,
        ),
        None => None,
    };
    Ok(RevisionReport {
        old: old.title,
        new: new.title,
        declared: declared.map(Step::word),
        deserved: deserved.word(),
        least_version: versions.map(|(older, _)| deserved.after(&older).to_string()),
        enough: declared.is_none_or(|declared| declared >= deserved),
        // what could not be weighed cannot deserve more than a breaking step
        not_proven: match declared {
            Some(Step::Breaking) => 0,
            _ => found.iter().filter(|weighed| weighed.change.step == NOT_PROVEN).count(),
        },
        changes: found,
    })
}

/// A region that sites stand in, and that the newer version no longer takes.
fn lost_region(old: &RequirementsOperand, new: &RequirementsOperand) -> bool {
    let narrowed = old.is_of_one_region || new.is_of_one_region;
    !narrowed && old.regions.iter().any(|(key, ..)| new.regions.iter().all(|(other, ..)| other != key))
}

/// A change that another region has too is told once.
fn take_in(found: &mut Vec<WeighedReport>, change: ChangeReport, weighed: &Weighed, known: [Option<Standing>; 2], region: &str) {
    let [was_basis, basis] = known;
    let example = weighed.example.as_ref().map(|found| example_report(found, weighed, region));
    let alike = |other: &&mut WeighedReport| (other.was_basis, other.basis) == (was_basis, basis);
    for other in found.iter_mut().filter(alike) {
        if other.change.take_in(&change) {
            other.example = other.example.take().or(example);
            return;
        }
    }
    found.push(WeighedReport { was_basis, basis, change, example });
}

fn example_report(found: &Example, weighed: &Weighed, region: &str) -> ExampleReport {
    let setting = weighed.change.setting;
    let known_by = found.witness.evidence.get(&setting.into()).map(|kind| format!(", {}", kind.phrase()));
    let has_device = weighed.kind == Equipment::Installation || found.devices.iter().any(|(kind, _)| *kind == weighed.kind);
    let holds = match example(&found.witness, setting) {
        _ if !has_device => format!("no {}", weighed.kind.word().replace('-', " ")),
        held => held.unwrap_or_else(|| "no stated value".to_owned()),
    };
    let facts = FACTS.iter().filter_map(|fact| Some((fact.key, show(fact.id, found.facts.get(fact.id)?))));
    ExampleReport {
        region: region.to_owned(),
        holds: format!("{holds}{}", known_by.unwrap_or_default()),
        facts: facts.collect(),
        site: found.site.clone(),
    }
}

fn write_text(out: &mut dyn Write, report: &RevisionReport) -> io::Result<()> {
    let width = render::width();
    writeln!(out, "{}", wrapped(&format!("{} after {}", report.new, report.old), width, 2))?;
    if let Some(declared) = report.declared {
        writeln!(out, "  {:<12}{declared}", "declared")?;
    }
    let least = report.least_version.as_ref().map(|least| format!(": at least {least}")).unwrap_or_default();
    writeln!(out, "  {:<12}{}{least}", "deserved", report.deserved)?;
    let answer = match (report.enough, report.not_proven) {
        (false, _) => "TOO LOW: the version number is too low for these changes".to_owned(),
        (true, 0) => "the declared version is high enough".to_owned(),
        (true, open) => format!("NOT PROVEN: {open} of the changes could not be compared"),
    };
    writeln!(out, "  {:<12}{answer}", "answer")?;
    let of_changes: Figures = report.changes.iter().flat_map(|weighed| [weighed.was_basis, weighed.basis]).flatten().collect();
    if let Some(says) = of_changes.warning("that changed") {
        writeln!(out, "  {}", wrapped(&says, width - 2, 2))?;
    }
    for (step, words, rest) in [
        ("breaking", "BREAKING", "what complied no longer does"),
        (NOT_PROVEN, "NOT PROVEN", "what is not in a profile cannot be compared"),
        ("minor", "MINOR", "what complied still does"),
        ("patch", "PATCH", "no site that complied is asked for anything else"),
    ] {
        let of_step: Vec<&WeighedReport> = report.changes.iter().filter(|weighed| weighed.change.step == step).collect();
        if !of_step.is_empty() {
            render::heading(out, words, &format!("{rest} ({})", of_step.len()))?;
        }
        for weighed in of_step {
            write_change(out, weighed, width)?;
        }
    }
    Ok(())
}

fn write_change(out: &mut dyn Write, weighed: &WeighedReport, width: usize) -> io::Result<()> {
    let change = &weighed.change;
    writeln!(out, "\n  {}", wrapped(&format!("{}: {}", change.title, change.reason), width - 2, 4))?;
    let mut lines: Vec<(&str, String)> = change.by.iter().map(|by| ("by", by.clone())).collect();
    lines.extend(change.was.iter().map(|was| ("was", was.in_words())));
    lines.push(("now", change.now.clone()));
    let unverified = |basis: Option<Standing>| basis.filter(|basis| basis.is_unverified() || *basis == Standing::Open);
    let known = [("before", weighed.was_basis), ("now", weighed.basis)];
    let known = known.into_iter().filter_map(|(when, basis)| Some(format!("{when}: {}", unverified(basis)?.phrase())));
    let known = known.collect::<Vec<_>>().join("; ");
    lines.extend((!known.is_empty()).then_some(("figure", known)));
    lines.push(("for", change.sites_and_regions()));
    if let Some(example) = &weighed.example {
        let facts: Vec<String> = example.facts.iter().map(|(key, value)| format!("{key} {value}")).collect();
        let facts = if facts.is_empty() { String::new() } else { format!("; {}", facts.join(", ")) };
        lines.push(("example", format!("a site in {} that holds {}{facts}", example.region, example.holds)));
    }
    for (label, text) in lines {
        writeln!(out, "    {label:<9}{}", wrapped(&text, width - 13, 13))?;
    }
    Ok(())
}

/// Each example as a site's file of its own.
fn write_examples(folder: &Path, report: &RevisionReport) -> io::Result<()> {
    std::fs::create_dir_all(folder).map_err(|error| io::Error::other(format!("{}: {error}", terminal::path(folder))))?;
    let mut written = 0;
    for weighed in &report.changes {
        let Some(example) = &weighed.example else { continue };
        written += 1;
        let file = folder.join(format!("{written:02}-{}.yaml", weighed.change.setting.replace('/', "-")));
        let lead = format!("# Complies under {}, and not under {}.\n", report.old, report.new);
        files::write_whole(&file, format!("{lead}{}", example.site).as_bytes())?;
    }
    writeln!(terminal::stderr(), "{written} example sites in {}", terminal::path(folder))
}
