//! `asleft exercise faults`: the names for a diagnosis, and how each fault is told.

use crate::Exit;
use crate::args::{ExerciseFaults, Format};
use crate::render::{self, wrapped};
use crate::report::exercise::{FaultKindReport, FaultsReport};
use rules::exercise::faults::FAULTS;
use std::io::{self, Write};

/// Lists the catalogue.
pub fn run(args: &ExerciseFaults) -> io::Result<Exit> {
    let mut out = terminal::stdout();
    match args.format {
        Format::Text => write_text(&mut out)?,
        Format::Json => {
            let faults = FAULTS.iter().map(|kind| FaultKindReport {
                name: kind.name,
                happened: kind.happened,
                looks_like: kind.looks_like,
                teaches: kind.teaches,
                mended_by: kind.mended_by,
            });
            render::json(&mut out, &FaultsReport { faults: faults.collect() })?;
        }
    }
    Ok(Exit::Fine)
}

fn write_text(out: &mut dyn Write) -> io::Result<()> {
    let width = render::width();
    for kind in FAULTS {
        render::title(out, kind.name, "")?;
        for (words, says) in
            [("happened", kind.happened), ("looks like", kind.looks_like), ("teaches", kind.teaches), ("mended by", kind.mended_by)]
        {
            writeln!(out, "  {:<12}{}", words, wrapped(says, width - 14, 14))?;
        }
        writeln!(out)?;
    }
    Ok(())
}
