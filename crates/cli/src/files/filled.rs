//! The sheet filled by hand that the command line names.

use crate::args::Filled;
use rules::filled_sheet::FilledSheet;
use settings_model::filled::Rows;
use settings_model::finding::Finding;
use settings_model::source::Sources;
use std::io::{self, Write};
use std::path::Path;

/// The columns for whoever fills the sheet in, which nobody reads back.
const TO_READ_BY_PEOPLE: [&str; 10] =
    ["training", "task", "function", "meaning", "required", "complies within", "evidence asked", "may be changed by", "basis", "from"];

/// The sheet that the command line names, if it names one.
///
/// # Errors
/// What is wrong with its column map.
pub fn named(args: &Filled, sources: &mut Sources) -> io::Result<Result<Option<FilledSheet>, Vec<Finding>>> {
    let read = |path: &Path| Ok::<_, io::Error>((terminal::path(path), super::text(path)?));
    let Some(sheet) = args.filled.as_deref().map(read).transpose()? else { return Ok(Ok(None)) };
    let columns = args.columns.as_deref().map(read).transpose()?;
    let columns = columns.as_ref().map(|(name, text)| (name.as_str(), text.as_str()));
    let filled = FilledSheet::new((&sheet.0, &sheet.1), columns, sources);
    if let Ok(filled) = &filled {
        say_rows(filled)?;
    }
    Ok(filled.map(Some))
}

/// Says how many rows of a sheet were read, on standard error: whoever filled more of them in has lost some. A column of
/// which nobody knows what it is may have been meant for one that is read.
pub fn say_rows(sheet: &FilledSheet) -> io::Result<()> {
    // what is wrong with it is said where it is used
    let Some(Rows { read, with_value, columns_not_read }) = sheet.rows() else { return Ok(()) };
    let rows = if read == 1 { "row" } else { "rows" };
    let mut out = terminal::stderr();
    writeln!(out, "asleft: {}: {read} {rows} read, {with_value} with a value", sheet.name())?;
    let strange = columns_not_read.iter().filter(|name| !TO_READ_BY_PEOPLE.contains(&name.as_str()));
    let strange: Vec<String> = strange.map(|name| format!("`{name}`")).collect();
    match strange.len() {
        0 => Ok(()),
        n => writeln!(out, "asleft: {}: {n} {} not read: {}", sheet.name(), if n == 1 { "column" } else { "columns" }, strange.join(", ")),
    }
}
