//! `asleft lint`: whether requirement files make sense, alone and together.

use super::assessor;
use super::operand::{OperandError, add_file, known_key, write_fault};
use crate::Exit;
use crate::args::{Format, Lint};
use crate::render::{self, wrapped};
use crate::report::lint::LintReport;
use rules::assess::Assessor;
use rules::lint::{Linted, lint};
use settings_model::finding::Outcome;
use std::io::{self, Write};

/// Looks at the profiles named, or at all that are at hand.
pub fn run(args: &Lint) -> io::Result<Exit> {
    let mut assessor = assessor(&args.under)?;
    let keys = match keys(args, &mut assessor) {
        Ok(keys) => keys,
        Err(fault) => return write_fault(fault, &assessor),
    };
    let mut out = terminal::stdout();
    let has_faults = match args.format {
        Format::Text => {
            let (own, others) = apart(keys, &assessor);
            let linted = lint(&own, &mut assessor);
            let beside = (!others.is_empty()).then(|| lint(&others, &mut assessor));
            write_text(&mut out, &linted, beside.as_ref(), &assessor)?;
            linted.has_faults() || beside.is_some_and(|beside| beside.has_faults())
        }
        Format::Json => {
            let linted = lint(&keys, &mut assessor);
            render::json(&mut out, &LintReport::new(&linted, &assessor.sources))?;
            linted.has_faults()
        }
    };
    Ok(if has_faults { Exit::NotFine } else { Exit::Fine })
}

/// Who gives a folder of profiles asks of those; what comes with the program is looked at too, and counted.
fn apart(keys: Vec<String>, assessor: &Assessor) -> (Vec<String>, Vec<String>) {
    let is_shipped = |key: &String| {
        let mut all = assessor.library.profiles();
        all.any(|profile| profile.shipped && profile.path.trim_end_matches(".yaml") == key)
    };
    let (shipped, own): (Vec<String>, Vec<String>) = keys.into_iter().partition(is_shipped);
    if own.is_empty() { (shipped, own) } else { (own, shipped) }
}

/// The keys of the profiles named; files are put among the others where their words say they belong.
fn keys(args: &Lint, assessor: &mut Assessor) -> Result<Vec<String>, OperandError> {
    if args.named.is_empty() {
        return Ok(assessor.library.profiles().map(|profile| profile.path.trim_end_matches(".yaml").to_owned()).collect());
    }
    args.named.iter().map(|word| add_file(word, assessor)?.map_or_else(|| known_key(word, assessor), Ok)).collect()
}

/// `1 profile: 0 faults, 0 remarks`.
fn counts(linted: &Linted) -> String {
    let count = |is: fn(Outcome) -> bool| linted.findings.iter().filter(|finding| is(finding.outcome)).count();
    let (faults, remarks) = (count(|outcome| outcome != Outcome::Remark), count(|outcome| outcome == Outcome::Remark));
    let [profiles, faults, remarks] =
        [(linted.profiles, "profile"), (faults, "fault"), (remarks, "remark")].map(|(n, noun)| counted(n, noun));
    format!("{profiles}: {faults}, {remarks}")
}

fn counted(n: usize, noun: &str) -> String {
    format!("{n} {noun}{}", if n == 1 { "" } else { "s" })
}

fn write_text(out: &mut dyn Write, linted: &Linted, beside: Option<&Linted>, assessor: &Assessor) -> io::Result<()> {
    let (width, colour) = (render::width(), render::colour());
    // a profile of one's own may break one that comes with the program
    let broken = beside.iter().flat_map(|beside| &beside.findings).filter(|finding| finding.outcome != Outcome::Remark);
    for finding in linted.findings.iter().chain(broken.filter(|finding| !linted.findings.contains(finding))) {
        writeln!(out, "{}\n", render::findings::finding(finding, &assessor.sources, width, colour))?;
    }
    writeln!(out, "{}", counts(linted))?;
    if let Some(beside) = beside {
        let not_checked = counted(beside.not_checked.len(), "thing");
        let says = format!("beside them, with the program: {}, {not_checked} not checked; see them with `asleft lint`", counts(beside));
        writeln!(out, "{}", wrapped(&says, width, 2))?;
    }
    if !linted.not_checked.is_empty() {
        render::heading(out, "NOT CHECKED", "what is not in a profile cannot be compared")?;
    }
    for line in &linted.not_checked {
        writeln!(out, "  - {}", wrapped(line, width - 4, 4))?;
    }
    Ok(())
}
