//! The sheet filled by hand that the command line names.

use crate::args::Filled;
use rules::filled_sheet::FilledSheet;
use settings_model::finding::Finding;
use settings_model::source::Sources;
use std::io;
use std::path::Path;

/// The sheet that the command line names, if it names one.
///
/// # Errors
/// What is wrong with its column map.
pub fn named(args: &Filled, sources: &mut Sources) -> io::Result<Result<Option<FilledSheet>, Vec<Finding>>> {
    let read = |path: &Path| Ok::<_, io::Error>((path.display().to_string(), super::text(path)?));
    let Some(sheet) = args.filled.as_deref().map(read).transpose()? else { return Ok(Ok(None)) };
    let columns = args.columns.as_deref().map(read).transpose()?;
    let columns = columns.as_ref().map(|(name, text)| (name.as_str(), text.as_str()));
    Ok(FilledSheet::new((&sheet.0, &sheet.1), columns, sources).map(Some))
}
