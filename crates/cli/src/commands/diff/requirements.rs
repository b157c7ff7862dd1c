//! Two versions of what is asked: a change note for people.

use crate::commands::operand::{OperandError, RequirementsOperand, conditions, older_accepted, pairs};
use crate::render::markdown::markdown;
use crate::render::{self, wrapped};
use crate::report::diff::{ChangeReport, DiffReport, RequirementsReport};
use rules::assess::Books;
use rules::compare::all_changes;
use rules::compare::reason::NOT_PROVEN;
use rules::compare::words::told;
use settings_model::catalogue::{Equipment, SettingId};
use settings_model::cells::{Condition, Partition, all_hold};
use settings_model::facts::Facts;
use std::io::{self, Write};

/// Compares two, region by region; what is alike in every region is told once.
pub fn between(old: &RequirementsOperand, new: &RequirementsOperand) -> Result<DiffReport, OperandError> {
    let pairs = pairs(old, new);
    if pairs.is_empty() {
        return Err(OperandError::Words(format!(
            "{} and {} have no region in common; name one of each, as in `…/2020-amd2/australia-a`",
            old.title, new.title
        )));
    }
    let mut found: Vec<(ChangeReport, bool)> = Vec::new();
    for (title, _, old, new) in &pairs {
        for (change, only_source) in of_region(old, new, title) {
            if !found.iter_mut().any(|(other, _)| other.take_in(&change)) {
                found.push((change, only_source));
            }
        }
    }
    found.iter_mut().for_each(|(change, _)| change.settle(pairs.len()));
    let order = |setting: &str| SettingId::named(setting);
    found.sort_by_key(|(change, _)| (!change.may_strand, change.equipment != Equipment::Inverter.word(), order(&change.setting)));
    let mut only_source: Vec<String> = found.iter().filter(|(_, only)| *only).map(|(change, _)| change.setting.clone()).collect();
    only_source.dedup();
    let overlay = new.overlay.as_ref().map(|overlay| &overlay.file);
    let windows = Windows::of(old, new);
    let governs_alike = windows == Windows::default();
    let report = RequirementsReport {
        published: overlay.map(|file| file.issue.published.0.to_string()),
        governs: overlay.iter().flat_map(|file| &file.in_force).map(conditions).collect(),
        governed: windows.governed,
        newly_governed: windows.newly,
        no_longer_governed: windows.no_longer,
        older_accepted: overlay.and_then(older_accepted),
        older_accepted_before: windows.older_accepted_before,
        regions: pairs.iter().map(|(title, ..)| title.clone()).collect(),
        regions_of_one_only: regions_of_one_only(old, new),
        changes: found.into_iter().filter(|(_, only)| !only).map(|(change, _)| change).collect(),
        only_source,
    };
    let same = report.changes.is_empty() && report.only_source.is_empty() && report.regions_of_one_only.is_empty() && governs_alike;
    Ok(DiffReport { training: None, old: old.title.clone(), new: new.title.clone(), same, requirements: Some(report), settings: None })
}

/// What of two windows differs.
#[derive(Default, PartialEq)]
struct Windows {
    governed: Vec<String>,
    newly: Vec<String>,
    no_longer: Vec<String>,
    older_accepted_before: Option<String>,
}

impl Windows {
    fn of(old: &RequirementsOperand, new: &RequirementsOperand) -> Self {
        let (Some(old), Some(new)) = (&old.overlay, &new.overlay) else { return Self::default() };
        let (was, is) = (old.file.window(), new.file.window());
        let partition = Partition::of(was.iter().chain(&is).flatten());
        let nobody = Facts::default();
        let holds = |window: &[Vec<Condition>], facts: &Facts| window.iter().any(|line| all_hold(line, facts) == Some(true));
        let only = |one: &[Vec<Condition>], other: &[Vec<Condition>]| -> Vec<String> {
            let wanted: Vec<bool> = partition.cells(&nobody).map(|facts| holds(one, &facts) && !holds(other, &facts)).collect();
            let lists = partition.cover(&wanted);
            lists.iter().map(|list| list.iter().map(Condition::in_words).collect::<Vec<_>>().join(" and ")).collect()
        };
        let (newly, no_longer) = (only(&is, &was), only(&was, &is));
        let differ = !newly.is_empty() || !no_longer.is_empty();
        let accepted = [older_accepted(&old.file), older_accepted(&new.file)];
        Self {
            governed: if differ { old.file.in_force.iter().map(conditions).collect() } else { Vec::new() },
            newly,
            no_longer,
            older_accepted_before: (accepted[0] != accepted[1]).then(|| accepted[0].clone().unwrap_or_else(|| "none".to_owned())),
        }
    }
}

fn regions_of_one_only(old: &RequirementsOperand, new: &RequirementsOperand) -> Vec<String> {
    if old.is_of_one_region || new.is_of_one_region {
        return Vec::new();
    }
    let lacks = |operand: &RequirementsOperand, key: &str| operand.regions.iter().all(|(other, ..)| other != key);
    let only = |one: &RequirementsOperand, other: &RequirementsOperand| -> Vec<String> {
        let own = one.regions.iter().filter(|(key, ..)| lacks(other, key));
        own.map(|(_, title, _)| format!("{title}: only in {}", one.title)).collect()
    };
    [only(old, new), only(new, old)].concat()
}

fn of_region(old: &Books, new: &Books, title: &str) -> Vec<(ChangeReport, bool)> {
    let mut found = Vec::new();
    for (kind, change) in all_changes(old, new) {
        let told = told(&change, &old.on(kind).rulebook, &new.on(kind).rulebook);
        found.push((ChangeReport::new(told, kind, vec![title.to_owned()]), change.is_only_of_source()));
    }
    found
}

/// What stands above the changes, as label and text.
fn heading(requirements: &RequirementsReport) -> Vec<(&'static str, String)> {
    let mut lines = Vec::new();
    let sites = |windows: &[String]| format!("sites {}", windows.join("; or "));
    lines.extend(requirements.published.as_ref().map(|day| ("published", day.clone())));
    for (label, windows) in
        [("governs", &requirements.governs), ("older did", &requirements.governed), ("newly", &requirements.newly_governed)]
    {
        if !windows.is_empty() {
            lines.push((label, sites(windows)));
        }
    }
    lines.extend(requirements.older_accepted.as_ref().map(|older| ("older", format!("still accepted: {older}"))));
    lines.extend(requirements.older_accepted_before.as_ref().map(|older| ("older was", older.clone())));
    lines.push(("compared", requirements.regions.join("; ")));
    lines.extend(requirements.regions_of_one_only.iter().map(|region| ("not in both", region.clone())));
    lines
}

/// Changes that ask something of somebody who complied, or of others; those of which that could not be told, and
/// those that ask for nothing; and what each section is called.
fn sections(requirements: &RequirementsReport) -> [(&'static str, &'static str, Vec<&ChangeReport>); 4] {
    let of = |wanted: &dyn Fn(&ChangeReport) -> bool| requirements.changes.iter().filter(|change| wanted(change)).collect();
    let is_open = |change: &ChangeReport| change.step == NOT_PROVEN;
    [
        ("DO DIFFERENTLY", "what complied may comply no longer", of(&|change| change.may_strand && !is_open(change))),
        ("COULD NOT TELL", "look it up before you rely on it", of(&is_open)),
        ("SET AS WELL", "no site was shown to comply before", of(&|change| change.nobody_complied)),
        ("NO ACTION NEEDED", "what complied still does", of(&|change| !change.may_strand && !change.nobody_complied)),
    ]
}

/// What is said of one change, as label and text.
fn said(change: &ChangeReport) -> Vec<(&'static str, String)> {
    let mut lines: Vec<(&'static str, String)> = change.was.iter().map(|was| ("was", was.in_words())).collect();
    lines.push(("now", change.now.clone()));
    lines.extend(change.was.first().filter(|_| change.was.len() == 1).and_then(|was| Some(("moved", was.by_how_much.clone()?))));
    lines.push(("do", change.to_do.clone()));
    lines.extend(change.keep.iter().map(|rule| ("keep", rule.clone())));
    lines.push(("for", change.sites_and_regions()));
    lines.extend(change.by.as_ref().map(|by| ("by", by.clone())));
    lines.extend(change.because.as_ref().map(|because| ("because", because.clone())));
    lines
}

/// For a terminal.
pub fn write_text(out: &mut dyn Write, report: &DiffReport, requirements: &RequirementsReport) -> io::Result<()> {
    let width = render::width();
    writeln!(out, "{}", wrapped(&format!("{} against {}", report.new, report.old), width, 2))?;
    for (label, text) in heading(requirements) {
        writeln!(out, "  {label:<12}{}", wrapped(&text, width - 14, 14))?;
    }
    for (words, rest, changes) in sections(requirements) {
        if !changes.is_empty() {
            render::heading(out, words, &format!("{rest} ({})", changes.len()))?;
        }
        for change in changes {
            writeln!(out, "\n  {}", wrapped(&format!("{}: {}", change.title, change.what), width - 2, 4))?;
            for (label, text) in said(change) {
                writeln!(out, "    {label:<9}{}", wrapped(&text, width - 13, 13))?;
            }
        }
    }
    if !requirements.only_source.is_empty() {
        render::heading(out, "SOURCES", "only document, clause or reason changed")?;
        writeln!(out, "  {}", wrapped(&requirements.only_source.join(", "), width - 2, 2))?;
    }
    if report.same {
        writeln!(out, "\nBoth ask the same.")?;
    } else if asks_the_same(requirements) {
        writeln!(out, "\n{SAME_OF_OTHER_SITES}")?;
    }
    Ok(())
}

const SAME_OF_OTHER_SITES: &str = "Both ask the same. They do not govern the same sites.";

/// Whether they differ only in which sites they govern.
fn asks_the_same(requirements: &RequirementsReport) -> bool {
    requirements.changes.is_empty() && requirements.only_source.is_empty() && requirements.regions_of_one_only.is_empty()
}

/// For a page or a ticket.
pub fn write_markdown(out: &mut dyn Write, report: &DiffReport, requirements: &RequirementsReport) -> io::Result<()> {
    writeln!(out, "# {} against {}\n", report.new, report.old)?;
    for (label, text) in heading(requirements) {
        writeln!(out, "- **{label}**: {}", markdown(&text))?;
    }
    for (words, rest, changes) in sections(requirements) {
        if !changes.is_empty() {
            writeln!(out, "\n## {} ({})\n\n{}.", capitalised(words), changes.len(), capitalised(rest))?;
        }
        for change in changes {
            writeln!(out, "\n### {}: {}\n", markdown(&change.title), change.what)?;
            for (label, text) in said(change) {
                writeln!(out, "- **{label}**: {}", markdown(&text))?;
            }
        }
    }
    if !requirements.only_source.is_empty() {
        writeln!(out, "\n## Sources\n\nOnly document, clause or reason changed: {}.", requirements.only_source.join(", "))?;
    }
    if report.same {
        writeln!(out, "\nBoth ask the same.")?;
    } else if asks_the_same(requirements) {
        writeln!(out, "\n{SAME_OF_OTHER_SITES}")?;
    }
    Ok(())
}

fn capitalised(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters.as_str().to_lowercase().chars()).collect())
}
