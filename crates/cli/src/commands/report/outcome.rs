//! What a record came to: the verdict with its three parts, what was found, and what is missing.

use crate::render::capitalised;
use paper::{Block, Part, Run, Text, Weight, plain, strong};
use record::{Finding, Record};
use rules::provenance::Verdict;
use settings_model::catalogue::SettingId;
use settings_model::finding::Outcome;

/// The part.
pub fn part(record: &Record) -> Part {
    let mut blocks = vec![Block::Facts(verdict(record))];
    blocks.extend(unverified(record));
    blocks.push(Block::Heading("What was found".to_owned()));
    if record.findings.is_empty() {
        blocks.push(Block::Words(plain("Nothing was found to be wrong, and nothing that could not be shown.")));
    }
    blocks.extend(record.findings.iter().map(finding));
    if !record.missing.is_empty() {
        blocks.push(Block::Heading("Evidence that is missing".to_owned()));
        let each = record.missing.iter().map(|missing| {
            let device = missing.device.as_ref().map_or_else(String::new, |device| format!("{device}: "));
            vec![Run::Strong(format!("{device}{}", missing.what)), Run::Plain(format!(": {}", missing.mend))]
        });
        blocks.push(Block::List(each.collect()));
    }
    Part { title: "What it came to".to_owned(), starts_page: false, blocks }
}

fn verdict(record: &Record) -> Vec<(String, Text)> {
    let verdict = &record.verdict;
    let mut facts = vec![
        ("As a whole".to_owned(), strong(&verdict.headline)),
        ("Settings".to_owned(), plain(verdict.settings().headline())),
        ("Tests on site".to_owned(), plain(verdict.tests_say())),
        ("Evidence".to_owned(), plain(verdict.evidence_says())),
        ("Judged against".to_owned(), plain(&record.requirement.under)),
        ("As of".to_owned(), plain(&record.made.as_of)),
    ];
    if !verdict.known_by.is_empty() {
        facts.push(("Values known".to_owned(), plain(&verdict.known_by)));
    }
    if !record.not_checked.is_empty() {
        let unseen: Vec<String> = record.not_checked.iter().map(|setting| title(setting)).collect();
        let says = format!("{} (not in the profile)", unseen.join("; "));
        facts.push(("Not checked".to_owned(), plain(says)));
    }
    facts
}

/// The name of a setting in print.
fn title(setting: &str) -> String {
    SettingId::named(setting).map_or_else(|| setting.to_owned(), SettingId::title)
}

fn unverified(record: &Record) -> Option<Block> {
    let figures = record.verdict.figures;
    let invented = (figures.invented > 0).then(|| {
        plain(format!(
            "{} of the {} figures are invented, for teaching and testing: no real network asks them.",
            figures.invented,
            figures.total()
        ))
    });
    let unverified = (figures.unverified() > 0).then(|| {
        plain(format!(
            "{} of the {} figures are from memory or a single source, or disputed: compare them with a licensed copy before anybody relies on them.",
            figures.unverified(),
            figures.total()
        ))
    });
    let points: Vec<Text> = unverified.into_iter().chain(invented).collect();
    (!points.is_empty()).then(|| Block::Notice(Weight::Mind, "Unverified figures".to_owned(), points))
}

/// A finding: what, what comes with it, and what to do.
fn finding(finding: &Finding) -> Block {
    let weight = match finding.outcome {
        Outcome::DoesNotComply | Outcome::Unusable => Weight::Stop,
        Outcome::NotProven => Weight::Mind,
        Outcome::Remark => Weight::Calm,
    };
    let place = finding.place.as_ref().map_or_else(String::new, |at| format!(" ({}, line {})", at.text, at.line));
    let mut points = vec![plain(format!("{}{place}", finding.headline))];
    points.extend(finding.folded.iter().map(|text| plain(format!("With it: {text}"))));
    points.extend(finding.notes.iter().map(plain));
    points.extend(finding.hint.iter().map(|hint| vec![Run::Strong("To do: ".to_owned()), Run::Plain(hint.clone())]));
    Block::Notice(weight, capitalised(finding.outcome.phrase()), points)
}

/// What an outcome is, in a sentence for who owns the installation.
pub fn sentence(record: &Record) -> &'static str {
    match record.verdict.outcome {
        Verdict::Complies if record.verdict.whole().is_unverified() => {
            "Everything that was checked is as it was asked for here. Some of the figures that it was checked against have not been compared with the licensed documents yet."
        }
        Verdict::Complies => "Everything that was checked is as it has to be.",
        Verdict::NotProven => {
            "Nothing was found to be wrong, but not everything could be shown to be right. What is still open is listed below, and in the technical record that your installer keeps."
        }
        Verdict::DoesNotComply if record.verdict.whole().is_unverified() => {
            "Something is not as it was asked for here, by figures that have not been compared with the licensed documents yet. Ask for that first, and then for it to be put right."
        }
        Verdict::DoesNotComply | Verdict::CouldNotTell => {
            "Something is not as it has to be. The technical record that your installer keeps says what it is and what to do. Ask for it to be put right."
        }
    }
}
