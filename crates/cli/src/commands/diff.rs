//! `asleft diff`: what moved between two versions of requirements, two regions, two devices, or one
//! device as found and as left.

mod holdings;
mod requirements;

use super::assessor;
use super::operand::{Operand, OperandError, operand, operand_with, write_fault};
use crate::Exit;
use crate::args::{Diff, NoteFormat};
use crate::render;
use crate::report::diff::DiffReport;
use rules::assess::Assessor;
use std::io::{self, Write};

/// Compares and prints; the exit says whether anything differs.
pub fn run(args: &Diff) -> io::Result<Exit> {
    let mut assessor = assessor(&args.under)?;
    let report = match compared(args, &mut assessor) {
        Ok(report) => report,
        Err(fault) => return write_fault(fault, &assessor),
    };
    let mut out = terminal::stdout();
    if let Some(notice) = report.training.filter(|_| args.format != NoteFormat::Json) {
        writeln!(out, "{notice}{}", if args.format == NoteFormat::Markdown { "\n" } else { "" })?;
    }
    match (args.format, &report.requirements, &report.settings) {
        (NoteFormat::Json, ..) => render::json(&mut out, &report)?,
        (NoteFormat::Text, Some(requirements), _) => requirements::write_text(&mut out, &report, requirements)?,
        (NoteFormat::Markdown, Some(requirements), _) => requirements::write_markdown(&mut out, &report, requirements)?,
        (NoteFormat::Text, _, devices) => holdings::write_text(&mut out, devices.iter().flatten())?,
        (NoteFormat::Markdown, _, devices) => holdings::write_markdown(&mut out, devices.iter().flatten())?,
    }
    Ok(if report.same { Exit::Fine } else { Exit::NotFine })
}

fn compared(args: &Diff, assessor: &mut Assessor) -> Result<DiffReport, OperandError> {
    let old = operand_with(&args.old, &args.filled, assessor)?;
    let Some(new) = &args.new else {
        return match old {
            Operand::Site(site) => holdings::before_and_after(&site, assessor),
            Operand::Requirements(_) => Err(OperandError::Words(
                "requirements are compared with others; name two, as in `asleft diff quillbrook/2.0.0 quillbrook/3.0.0`".to_owned(),
            )),
        };
    };
    match (old, operand(new, assessor)?) {
        (Operand::Site(old), Operand::Site(new)) => holdings::between(&old, &new, assessor),
        (Operand::Requirements(old), Operand::Requirements(new)) => requirements::between(&old, &new),
        _ => Err(OperandError::Words(
            "a site and requirements cannot be compared; `asleft check SITE` says whether it complies, `asleft identify SITE` whose values it holds"
                .to_owned(),
        )),
    }
}
