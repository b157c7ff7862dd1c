//! `asleft register export`: sites as `check` and `affected` take them, or in an operator's columns.

mod columns;

use crate::Exit;
use crate::args::{ExportFormat, RegisterExport};
use crate::commands::refused;
use crate::files;
use crate::files::register::{about, filter, of_walk, open, written};
use crate::render::spreadsheet::Spreadsheet;
use crate::walk::write_messages;
use columns::rows;
use record::Envelope;
use settings_model::files::{ExportMapFile, Kind};
use settings_model::reader;
use settings_model::source::Sources;
use std::io::{self, Write};
use std::path::Path;

/// Writes the newest state of each site.
pub fn run(args: &RegisterExport) -> io::Result<Exit> {
    match (&args.columns, args.format) {
        (None, None | Some(ExportFormat::Ndjson)) => lines(args),
        (Some(map), None | Some(ExportFormat::Csv)) => table(args, map),
        (None, Some(ExportFormat::Csv)) => {
            refused("name the columns of the table with `--columns FILE`; `asleft schema export-map` says what that file holds")
        }
        (Some(_), Some(ExportFormat::Ndjson)) => refused("columns are of a table; leave `--format ndjson` out"),
    }
}

fn lines(args: &RegisterExport) -> io::Result<Exit> {
    let path = &args.register.register;
    let mut out = io::BufWriter::new(terminal::stdout());
    let register = open(path)?;
    let walked = register.each(&filter(&register, &args.which, false)?, &mut |_, line| written(writeln!(out, "{line}")));
    walked.map_err(of_walk(path))?;
    out.flush()?;
    Ok(Exit::Fine)
}

fn table(args: &RegisterExport, map: &Path) -> io::Result<Exit> {
    let path = &args.register.register;
    let (mut sources, text) = (Sources::default(), files::text(map)?);
    let source = sources.add(terminal::path(map), text.as_str());
    let map = reader::read(source, &text, Kind::ExportMap).and_then(|root| reader::typed::<ExportMapFile>(&root));
    let map = match map {
        Ok(map) => map,
        Err(findings) => return write_messages(&findings, &sources).map(|()| Exit::CouldNotTell),
    };
    let register = open(path)?;
    // nothing is said of a register that is not sound
    register.len().map_err(|fault| about(path, fault))?;
    let mut csv = Spreadsheet::to(terminal::stdout());
    csv.row(map.columns.iter().map(|column| &column.column))?;
    let walked = register.each(&filter(&register, &args.which, false)?, &mut |entry, _| {
        let file = register.file(entry.number)?.unwrap_or_default();
        let record = Envelope::read(&file).and_then(|envelope| envelope.record());
        let record = record.map_err(|broken| record::register::RegisterError::Damaged(format!("entry {}: {broken}", entry.number)))?;
        rows(&map, &entry, &record).into_iter().try_for_each(|row| written(csv.row(row)))
    });
    walked.map_err(|fault| match of_walk(path)(fault) {
        error if error.kind() == io::ErrorKind::Other => about(path, error),
        error => error,
    })?;
    csv.flush()?;
    Ok(Exit::Fine)
}
