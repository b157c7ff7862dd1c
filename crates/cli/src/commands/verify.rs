//! `asleft verify`: is a record as it was made?

mod judging;

use crate::args::{Format, Verify};
use crate::files::register::{self, Register};
use crate::render::{self, wrapped};
use crate::report::verify::{CheckKind, CheckOutcome, CheckReport, RecordReport, VerifyReport};
use crate::{Exit, files};
use record::seal::{PublicKey, Sealed};
use record::{Broken, Envelope, Record, Signature};
use std::io::{self, Write};
use std::path::Path;

/// Checks every record and says what each check came to.
pub fn run(args: &Verify) -> io::Result<Exit> {
    let keys = args.key.iter().map(|path| files::keys::public(path)).collect::<io::Result<Vec<_>>>()?;
    let register = args.register().map(register::open).transpose()?;
    let mut records = Vec::with_capacity(args.records.len());
    for path in &args.records {
        records.push(verified(path, args, &keys, register.as_ref())?);
    }
    let report = VerifyReport { records };
    let mut out = terminal::stdout();
    match args.format {
        Format::Text => report.records.iter().enumerate().try_for_each(|(n, record)| write_text(&mut out, n, record))?,
        Format::Json => render::json(&mut out, &report)?,
    }
    Ok(match report.records.iter().map(|record| record.outcome).max() {
        Some(CheckOutcome::AsMade) => Exit::Fine,
        Some(CheckOutcome::NotAsMade) => Exit::NotFine,
        Some(CheckOutcome::CouldNotTell) | None => Exit::CouldNotTell,
    })
}

fn verified(path: &Path, args: &Verify, keys: &[PublicKey], register: Option<&Register>) -> io::Result<RecordReport> {
    let (mut checks, mut is_registered) = (Vec::new(), false);
    let record = read(path, &mut checks);
    if let Some((envelope, record)) = &record {
        let registered = register.map(|register| registered(envelope, register)).transpose()?;
        is_registered = registered.as_ref().is_some_and(|check| check.outcome == CheckOutcome::AsMade);
        checks.push(signatures(envelope, keys, is_registered));
        let is_vouched_for = is_registered || is_sealed(envelope);
        checks.push(judging::judged_again(record, is_vouched_for, &args.profiles, register)?);
        checks.extend(registered);
    }
    let vouched_for = is_registered || record.as_ref().is_some_and(|(envelope, _)| is_sealed(envelope));
    let record = record.map(|(_, record)| record);
    Ok(RecordReport {
        vouched_for,
        file: terminal::path(path),
        site: record.as_ref().map(|record| record.site.name.clone()),
        as_of: record.as_ref().map(|record| record.made.as_of.clone()),
        verdict: record.as_ref().map(|record| record.verdict.outcome),
        headline: record.as_ref().map(|record| record.verdict.headline.clone()),
        outcome: worst(&checks),
        checks,
    })
}

/// That a record is not as it was made is worse to know than that something could not be told.
fn worst(checks: &[CheckReport]) -> CheckOutcome {
    let has = |outcome| checks.iter().any(|check| check.outcome == outcome);
    let order = [CheckOutcome::NotAsMade, CheckOutcome::CouldNotTell];
    order.into_iter().find(|outcome| has(*outcome)).unwrap_or(CheckOutcome::AsMade)
}

/// Reads a record as far as it can be read: form, then hash.
fn read(path: &Path, checks: &mut Vec<CheckReport>) -> Option<(Envelope, Record)> {
    let (form, hash) = (CheckKind::Form, CheckKind::Hash);
    let mut say = |check, outcome, says: String| checks.push(CheckReport::new(check, outcome, says));
    let bytes = match files::whole(path) {
        Ok(bytes) => bytes,
        Err(error) => {
            say(form, CheckOutcome::CouldNotTell, error.to_string());
            return None;
        }
    };
    let read = Envelope::read(&bytes).and_then(|envelope| envelope.record().map(|record| (envelope, record)));
    match read {
        Ok((envelope, record)) => {
            say(form, CheckOutcome::AsMade, format!("a record of format {}, in its one canonical form", record.format));
            say(hash, CheckOutcome::AsMade, format!("{} is the record's", envelope.sha256()));
            Some((envelope, record))
        }
        Err(broken @ Broken::NotCanonical(_)) => {
            say(form, CheckOutcome::NotAsMade, broken.to_string());
            None
        }
        Err(broken @ Broken::Altered { .. }) => {
            say(form, CheckOutcome::AsMade, "in canonical form".to_owned());
            say(hash, CheckOutcome::NotAsMade, broken.to_string());
            None
        }
        Err(broken) => {
            say(form, CheckOutcome::CouldNotTell, broken.to_string());
            None
        }
    }
}

/// Whether there is a seal on it, and every one holds.
fn is_sealed(envelope: &Envelope) -> bool {
    let holds = |signature: &Signature| signature.holds(Sealed::Record, &envelope.hash()).is_ok();
    !envelope.signatures.is_empty() && envelope.signatures.iter().all(holds)
}

/// What a record proves that nobody sealed.
const UNSEALED: &str = "Its parts fit together, and that is all: anyone can write another day, other values or other photos into it, and make it anew. Seal it where it is made, with `asleft seal RECORD --key KEY`, or keep it in a register.";

/// Every signature has to hold, whoever is asked for.
fn signatures(envelope: &Envelope, keys: &[PublicKey], is_registered: bool) -> CheckReport {
    let hash = envelope.hash();
    let (mut by, mut differs) = (Vec::new(), Vec::new());
    for (n, signature) in (1..).zip(&envelope.signatures) {
        match signature.holds(Sealed::Record, &hash) {
            Ok(key) => by.push(key),
            Err(fault) => differs.push(format!("signature {n} does not hold: {fault}")),
        }
    }
    let names = |keys: &[PublicKey], between: &str| keys.iter().map(PublicKey::fingerprint).collect::<Vec<_>>().join(between);
    let is_by_wanted = keys.is_empty() || by.iter().any(|key| keys.contains(key));
    let (outcome, says) = match (&by[..], is_by_wanted) {
        _ if !differs.is_empty() => (CheckOutcome::NotAsMade, "not every signature holds".to_owned()),
        ([], true) if is_registered => (CheckOutcome::AsMade, "none: nobody sealed it".to_owned()),
        ([], true) => (CheckOutcome::AsMade, format!("none: nobody sealed it. {UNSEALED}")),
        ([], false) => (CheckOutcome::NotAsMade, format!("none: nobody sealed it, and {} has to have", names(keys, " or "))),
        (by, true) => (CheckOutcome::AsMade, format!("holds, by {}", names(by, ", "))),
        (by, false) => (CheckOutcome::NotAsMade, format!("holds, by {}; it has to be by {}", names(by, ", "), names(keys, " or "))),
    };
    CheckReport { differs, ..CheckReport::new(CheckKind::Signature, outcome, says) }
}

/// Whether the register has the record with these signatures, and with a later state of the site besides.
fn registered(envelope: &Envelope, register: &Register) -> io::Result<CheckReport> {
    let (outcome, says) = match register::entry_of(register, envelope)? {
        Some((number, Some(added))) => (CheckOutcome::AsMade, format!("entry {number}, added {added}")),
        Some((number, None)) => (CheckOutcome::NotAsMade, format!("entry {number} is this record, without all of these signatures")),
        None => (CheckOutcome::NotAsMade, "no entry is this record".to_owned()),
    };
    Ok(CheckReport::new(CheckKind::Register, outcome, says))
}

fn write_text(out: &mut dyn Write, n: usize, record: &RecordReport) -> io::Result<()> {
    let words = match record.outcome {
        CheckOutcome::AsMade if !record.vouched_for => "IN ORDER, AND NOT SEALED",
        CheckOutcome::AsMade => "UNALTERED",
        CheckOutcome::NotAsMade => "ALTERED",
        CheckOutcome::CouldNotTell => "COULD NOT TELL",
    };
    let about = match (&record.site, &record.as_of, &record.headline) {
        (Some(site), Some(day), Some(headline)) => format!("{site}, {headline}, as of {day}  ({})", record.file),
        _ => record.file.clone(),
    };
    if n > 0 {
        writeln!(out)?;
    }
    render::title(out, words, &about)?;
    let width = render::width();
    for check in &record.checks {
        let mark = match check.outcome {
            CheckOutcome::AsMade => "ok",
            CheckOutcome::NotAsMade => "FAULT",
            CheckOutcome::CouldNotTell => "?",
        };
        let line = wrapped(&check.says, width - 24, 0).replace('\n', &format!("\n{}", " ".repeat(24)));
        writeln!(out, "  {:<6}{:<16}{line}", mark, check.check.word())?;
        for difference in &check.differs {
            writeln!(out, "{}- {}", " ".repeat(24), wrapped(difference, width - 26, 0).replace('\n', &format!("\n{}", " ".repeat(26))))?;
        }
    }
    Ok(())
}
