//! Judging a record again, offline: it is made once more from what it says it was made from, by the
//! very requirements that it names, and has to come out the same, byte for byte; what another version says in other
//! words is told apart from other facts.

use crate::args::Profiles;
use crate::commands::pinned;
use crate::files::register::Register;
use crate::report::verify::{CheckKind, CheckOutcome, CheckReport};
use record::{Finding, Record, canonical, making};
use rules::sheet::{BY_THE_REGION, ONCE_BY_THE_REGION};
use serde_json::{Map, Value};
use std::io;

/// Whether the record comes out the same again; `is_vouched_for` by a seal or a register, which hold its words too.
pub fn judged_again(record: &Record, is_vouched_for: bool, from: &Profiles, register: Option<&Register>) -> io::Result<CheckReport> {
    let could_not =
        |says: &str, differs| Ok(CheckReport { differs, ..CheckReport::new(CheckKind::JudgedAgain, CheckOutcome::CouldNotTell, says) });
    let library = match pinned::library(record, from, register)? {
        Ok(library) => library,
        Err(not_at_hand) => {
            let says = "requirements that it was judged against are not at hand; give the folder that has them as `--profiles`, or the register that kept them as `--register`";
            return could_not(says, not_at_hand);
        }
    };
    match making::again(record, library) {
        Ok(again) => Ok(compared(record, &again, is_vouched_for)),
        Err((findings, sources)) => {
            let says = |finding: settings_model::finding::Finding| match sources.locate(finding.place) {
                Some(place) => format!("{place}: {}", finding.headline),
                None => finding.headline,
            };
            could_not("it cannot be judged now", findings.into_iter().map(says).collect())
        }
    }
}

/// The most differences that are told one by one.
const TOLD: usize = 12;

fn compared(record: &Record, again: &Record, is_vouched_for: bool) -> CheckReport {
    let (mut differs, mut is_in_words) = (Vec::new(), false);
    if canonical::bytes(record) != canonical::bytes(again) {
        of_findings(record, again, &mut differs);
        let [was, is] = [record, again].map(|record| serde_json::to_value(record).unwrap_or_default());
        of_values(&was, &is, "", &mut differs);
        is_in_words = facts(was) == facts(is);
    }
    let settings = record.verdict.settings().headline();
    if differs.is_empty() {
        let of = match record.findings.len() {
            0 => "no finding".to_owned(),
            1 => "1 finding".to_owned(),
            many => format!("{many} findings"),
        };
        let says = format!("made again, it is the same byte for byte: {}, {of}; the settings: {settings}", record.verdict.headline);
        return CheckReport::new(CheckKind::JudgedAgain, CheckOutcome::AsMade, says);
    }
    if differs.len() > TOLD {
        let more = differs.len() - TOLD;
        differs.truncate(TOLD);
        differs.push(format!("and {more} more"));
    }
    if is_in_words {
        let (outcome, why) = match is_vouched_for {
            true => (CheckOutcome::AsMade, "another version of the program made it; its seal or the register holds"),
            false => (CheckOutcome::CouldNotTell, "another version of the program made it, or somebody changed its words"),
        };
        let says = format!("made again, it says the same facts in other words: {why}");
        return CheckReport { differs, ..CheckReport::new(CheckKind::JudgedAgain, outcome, says) };
    }
    let here = env!("CARGO_PKG_VERSION");
    let says = match record.made.version == here {
        true => "it does not come out as it was recorded".to_owned(),
        false => format!(
            "it does not come out as it was recorded; it was made by version {}, and this is {here}, which may judge otherwise or say it in other words",
            record.made.version
        ),
    };
    CheckReport { differs, ..CheckReport::new(CheckKind::JudgedAgain, CheckOutcome::NotAsMade, says) }
}

/// A record without its sentences, which another version may write otherwise. What a site came to is no sentence: a
/// reader goes by it.
fn facts(value: Value) -> Value {
    match value {
        Value::Object(map) => {
            let has = |key: &str| map.contains_key(key);
            // a finding has a name, a row its setting; the text of a place is its file, and what was given stays
            let (of_finding, of_setting, of_file) = (has("name"), has("setting"), has("line") || has("name"));
            // what a test expects, what was measured and what came of it stay; so does how much is missing, and of what device
            let (of_test, of_missing) = (has("steps"), has("mend"));
            let is_sentence = |key: &str| match key {
                "cautions" | "hint" | "label" | "notes" | "not-planned" | "steps" | "mend" => true,
                "headline" => of_finding,
                "title" => of_setting || of_test,
                "says" => of_test,
                "what" => of_missing,
                "text" => !of_file,
                _ => false,
            };
            let kept = map.into_iter().filter(|(key, _)| !is_sentence(key));
            Value::Object(kept.map(|(key, value)| (key, facts(value))).collect::<Map<_, _>>())
        }
        Value::Array(items) => items.into_iter().map(facts).collect(),
        Value::String(text) if text == ONCE_BY_THE_REGION => BY_THE_REGION.into(),
        other => other,
    }
}

/// Findings in words; where the lists differ, places in them say little.
fn of_findings(record: &Record, again: &Record, differs: &mut Vec<String>) {
    let line = |finding: &Finding| format!("{} ({}): {}", finding.outcome.phrase(), finding.name, finding.headline);
    let missing = |some: &[Finding], from: &[Finding]| some.iter().filter(|one| !from.contains(one)).map(line).collect::<Vec<_>>();
    differs.extend(missing(&record.findings, &again.findings).into_iter().map(|line| format!("recorded, and not found now: {line}")));
    differs.extend(missing(&again.findings, &record.findings).into_iter().map(|line| format!("found now, and not recorded: {line}")));
}

/// Every other value that differs, by its path.
fn of_values(was: &Value, is: &Value, path: &str, differs: &mut Vec<String>) {
    match (was, is) {
        _ if was == is || path == "findings" => {}
        (Value::Object(one), Value::Object(other)) => {
            let keys = one.keys().chain(other.keys().filter(|key| !one.contains_key(*key)));
            for key in keys {
                let below = if path.is_empty() { key.clone() } else { format!("{path}/{key}") };
                let of = |map: &serde_json::Map<String, Value>| map.get(key).cloned().unwrap_or(Value::Null);
                of_values(&of(one), &of(other), &below, differs);
            }
        }
        (Value::Array(one), Value::Array(other)) if one.len() == other.len() => {
            one.iter().zip(other).enumerate().for_each(|(n, (was, is))| of_values(was, is, &format!("{path}/{n}"), differs));
        }
        _ => differs.push(format!("{path}: recorded as {}, and now {}", short(was), short(is))),
    }
}

fn short(value: &Value) -> String {
    match value {
        Value::Null => "nothing".to_owned(),
        Value::Array(items) => format!("{} items", items.len()),
        Value::Object(_) => "something".to_owned(),
        other => {
            let text = other.to_string();
            if text.chars().count() > 80 { format!("{}…", text.chars().take(80).collect::<String>()) } else { text }
        }
    }
}
