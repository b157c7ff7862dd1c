//! `asleft lint`: whether requirement files make sense, alone and together.

use super::assessor;
use super::operand::{Fault, add_file, known_key, write_fault};
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
    let linted = lint(&keys, &mut assessor);
    let mut out = terminal::stdout();
    match args.format {
        Format::Text => write_text(&mut out, &linted, &assessor)?,
        Format::Json => render::json(&mut out, &LintReport::new(&linted, &assessor.sources))?,
    }
    Ok(if linted.has_faults() { Exit::NotFine } else { Exit::Fine })
}

/// The keys of the profiles named; files are put among the others where their words say they belong.
fn keys(args: &Lint, assessor: &mut Assessor) -> Result<Vec<String>, Fault> {
    if args.named.is_empty() {
        return Ok(assessor.library.profiles().map(|profile| profile.path.trim_end_matches(".yaml").to_owned()).collect());
    }
    args.named.iter().map(|word| add_file(word, assessor)?.map_or_else(|| known_key(word, assessor), Ok)).collect()
}

fn counted(n: usize, noun: &str) -> String {
    format!("{n} {noun}{}", if n == 1 { "" } else { "s" })
}

fn write_text(out: &mut dyn Write, linted: &Linted, assessor: &Assessor) -> io::Result<()> {
    let (width, colour) = (render::width(), render::colour());
    for finding in &linted.findings {
        writeln!(out, "{}\n", render::findings::finding(finding, &assessor.sources, width, colour))?;
    }
    let count = |is: fn(Outcome) -> bool| linted.findings.iter().filter(|finding| is(finding.outcome)).count();
    let (faults, remarks) = (count(|outcome| outcome != Outcome::Remark), count(|outcome| outcome == Outcome::Remark));
    let counts = [(linted.profiles, "profile"), (faults, "fault"), (remarks, "remark")].map(|(n, noun)| counted(n, noun));
    writeln!(out, "{}: {}, {}", counts[0], counts[1], counts[2])?;
    if !linted.not_checked.is_empty() {
        render::heading(out, "NOT CHECKED", "what was not seen cannot be weighed")?;
    }
    for line in &linted.not_checked {
        writeln!(out, "  - {}", wrapped(line, width - 4, 4))?;
    }
    Ok(())
}
