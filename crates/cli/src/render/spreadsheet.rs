//! Tables for spreadsheets, as comma-separated values. Nothing in a cell becomes a formula.

use settings_model::spreadsheet::escaped;
use std::io::{self, Write};

/// A table that is being written.
pub struct Spreadsheet<W: Write>(csv::Writer<W>);

impl<W: Write> Spreadsheet<W> {
    /// An empty table.
    pub fn to(out: W) -> Self {
        Self(csv::Writer::from_writer(out))
    }

    /// Writes a row.
    pub fn row<T: AsRef<str>>(&mut self, cells: impl IntoIterator<Item = T>) -> io::Result<()> {
        for cell in cells {
            self.0.write_field(escaped(cell.as_ref()).as_bytes())?;
        }
        Ok(self.0.write_record(None::<&[u8]>)?)
    }

    /// Hands on what was written.
    pub fn flush(&mut self) -> io::Result<()> {
        self.0.flush()
    }
}
