//! A log as comma-separated values, whatever separates them.

use super::clock::{Clock, Unclear};
use super::columns::{Chosen, Names, columns};
use super::fault::LogError;
use super::guard::{Guarded, no_text};
use super::heading::{HEAD, Heading, heading};
use super::number::number;
use super::spelling::{Spelling, Stamp, spelling};
use super::table::Table;
use super::{AT_ONCE, Follows, Layout, Log, Owner, PassedOver, ReadOptions, Row, Source, VALUES};
use response::timeline::Micros;
use settings_model::slip::without_thousands_apart;
use std::io::{Cursor, Read};
use std::path::Path;
use std::sync::atomic::Ordering;

/// Opens a log of separated values.
pub(super) fn open(path: &Path, options: &ReadOptions) -> Result<Log, LogError> {
    let input = if path.as_os_str() == "-" { input_files::standard_input() } else { input_files::open(path) };
    read(input.map_err(unreadable)?, options)
}

fn unreadable(error: std::io::Error) -> LogError {
    LogError::new("unreadable", error.to_string(), "name a file that can be read")
}

/// Reads the beginning of a log of separated values.
pub(super) fn read(mut input: Box<dyn Read + Send>, options: &ReadOptions) -> Result<Log, LogError> {
    let chosen = options.columns.as_ref();
    let mut head = Vec::new();
    input.by_ref().take(HEAD).read_to_end(&mut head).map_err(unreadable)?;
    let is_whole = (head.len() as u64) < HEAD;
    let Heading { separator, line, text, cells, rows, lines, passed_over } = heading(&head, chosen)?;
    let at_heading = |fault: LogError| fault.at(line, text.as_str(), 0..text.len());
    let (columns, ignored) = columns(&cells, chosen).map_err(at_heading)?;
    let names = options.names(&cells).map_err(at_heading)?;
    let is_name = |heading: &String| (0..cells.len()).any(|n| names.has(n) && cells[n] == *heading);
    let ignored = ignored.into_iter().filter(|heading| !is_name(heading)).collect();

    // a line that is cut by the end of what was looked at says nothing
    let end = if is_whole { head.len() } else { memchr::memrchr(b'\n', &head).map_or(head.len(), |at| at + 1) };
    let Spelling { decimal, stamp, clock } = spelling(head.get(rows..end).unwrap_or_default(), lines, separator, &columns, options.dates)?;
    let rest: Box<dyn Read + Send> = Box::new(Cursor::new(head.split_off(rows)).chain(input));
    let values = columns.iter().filter(|column| !column.slot.is_time());
    let source = Csv {
        table: Table::new(Guarded::new(rest), separator, lines),
        separator,
        width: cells.len(),
        stamp,
        values: values.map(|column| (column.index, column.slot.place(), column.scale)).collect(),
        decimal,
        clock: clock.clone(),
        last: None,
        is_second: false,
        heading: text.clone(),
        passed_over: PassedOver::default(),
        names,
        owner: None,
        is_waiting: false,
    };
    let has_heading = !chosen.is_some_and(Chosen::needs_no_heading);
    let layout = Layout {
        is_line_to_line: options.is_line_to_line || columns.iter().any(|column| column.is_line_to_line),
        says_means: columns.iter().any(|column| column.is_mean),
        dates: clock.order(),
        clock: clock.shown,
        columns,
        ignored,
        names,
        passed_over,
        says_nothing_new: source.passed_over.clone(),
        heading: has_heading.then_some((line, text)),
    };
    Ok(Log { layout, source: Box::new(source) })
}

struct Csv {
    table: Table<Guarded<Box<dyn Read + Send>>>,
    separator: u8,
    /// Cells of a row.
    width: usize,
    stamp: Stamp,
    /// Place in a row, slot and scale of each value.
    values: Vec<(usize, usize, f64)>,
    decimal: u8,
    clock: Clock,
    last: Option<Row>,
    /// Whether the last row was the first.
    is_second: bool,
    /// The line of the heading, or the first row where there is none.
    heading: String,
    passed_over: PassedOver,
    names: Names,
    /// Whose rows these are, as their cells have it.
    owner: Option<[Vec<u8>; 2]>,
    /// Whether the line that was read last is of the next site, and waits.
    is_waiting: bool,
}

impl Csv {
    /// Reads the next line that is of the same site; whether there was one.
    fn next_of_owner(&mut self) -> Result<bool, LogError> {
        if self.names.site.is_none() {
            return self.next();
        }
        if !self.is_waiting && !self.next()? {
            return Ok(false);
        }
        self.is_waiting = !self.is_of_owner() && !self.says_nothing();
        Ok(!self.is_waiting)
    }

    fn name(&self, column: Option<usize>) -> &[u8] {
        column.map_or(b"", |column| self.table.cell(column).trim_ascii())
    }

    fn is_of_owner(&self) -> bool {
        let Names { site, device } = self.names;
        self.owner.as_ref().is_some_and(|[own, of]| own == self.name(site) && of == self.name(device))
    }

    fn no_time(&self, says: String) -> LogError {
        let (text, meant) = self.table.written(self.stamp.cell());
        Unclear::NoTime(says).fault().at(self.table.line, text, meant)
    }

    /// Reads the next line; whether there was one.
    fn next(&mut self) -> Result<bool, LogError> {
        match self.table.next() {
            Ok(true) if self.table.len() != self.width && !self.is_padded() => Err(self.wrong_width()),
            Ok(was_one) => Ok(was_one),
            Err(error) => {
                let line = self.table.line + 1;
                let found = self.table.input.found;
                Err(found
                    .map_or_else(|| LogError::new("unreadable", error.to_string(), "copy the log again"), |found| no_text(found, line)))
            }
        }
    }

    /// Whether nothing stands in the cells beyond the heading's, or in any.
    fn is_padded(&self) -> bool {
        let is_empty = |n: usize| self.table.cell(n).trim_ascii().is_empty();
        (self.width..self.table.len()).all(is_empty) && (self.table.len() > self.width || (0..self.table.len()).all(is_empty))
    }

    /// Whether a line that is no row says nothing new either: empty cells, or the heading once more.
    fn says_nothing(&self) -> bool {
        (0..self.table.len()).all(|n| self.table.cell(n).trim_ascii().is_empty()) || self.is_heading()
    }

    fn is_heading(&self) -> bool {
        self.table.written(0).0.trim_end() == self.heading
    }

    fn wrong_width(&mut self) -> LogError {
        let (has, wanted, line) = (self.table.len(), self.width, self.table.line);
        let count = |n: usize| if n == 1 { "1 column".to_owned() } else { format!("{n} columns") };
        let (text, _) = self.table.written(0);
        let whole = 0..text.len();
        if has < wanted && self.table.is_last() {
            let says = format!("the log ends in the middle of a line: {} where the heading has {wanted}", count(has));
            return LogError::new("cut-short", says, "copy the log again, or take its last line off").at(line, text, whole);
        }
        let says = format!("{} where the heading has {wanted}", count(has));
        let help = match (has > wanted, self.separator) {
            (true, b',') => "a decimal comma between commas cannot be told apart: save the log with semicolons, or with decimal points",
            _ => "mend the line, or save the log again",
        };
        LogError::new("columns-differ", says, help).at(line, text, whole)
    }

    fn fault(&self, name: &'static str, index: usize, says: impl Into<String>, help: impl Into<String>) -> LogError {
        let (text, meant) = self.table.written(index);
        LogError::new(name, says, help).at(self.table.line, text, meant)
    }

    fn row(&mut self) -> Result<Row, LogError> {
        let at = self.clock.read(&self.stamp.of(&self.table)).map_err(|says| self.no_time(says))?;
        let mut values = [f64::NAN; VALUES];
        for (index, slot, scale) in &self.values {
            let cell = self.table.cell(*index);
            match number(cell, self.decimal) {
                // per unit waits for the nominal voltage
                Some(value) => values[*slot] = if *scale == 0.0 { value } else { value * scale },
                None => return Err(self.no_number(*index)),
            }
        }
        Ok(Row { at, values })
    }

    /// A row that is later than the one before; `None` where it says the same.
    fn later(&mut self, row: Row) -> Result<Option<Row>, LogError> {
        match (row.follows(self.last.as_ref()), self.last) {
            (Follows::Again, _) => {
                self.passed_over.again.fetch_add(1, Ordering::Relaxed);
                Ok(None)
            }
            (Follows::NotLater, Some(last)) => Err(self.not_later(row.at, last.at)),
            _ => {
                self.is_second = self.last.is_none();
                self.last = Some(row);
                Ok(Some(row))
            }
        }
    }

    fn no_number(&self, index: usize) -> LogError {
        let cell = String::from_utf8_lossy(self.table.cell(index)).into_owned();
        if let Some(plain) = without_thousands_apart(cell.trim()) {
            let help = format!("write numbers without a mark between thousands: `{plain}`");
            return self.fault("no-number", index, format!("`{cell}` is no number"), help);
        }
        let has = |mark: char| cell.contains(mark);
        let has_thousands = (has('.') && (has(',') || self.decimal == b',')) || cell.matches(',').count() > 1 || has('\'');
        let help = match has(',') {
            _ if has_thousands && cell.chars().any(|c| c.is_ascii_digit()) => "write numbers without a mark between thousands",
            true => "write a decimal point, or part the columns by semicolons",
            false => "write a number without its unit, or nothing where there is none",
        };
        self.fault("no-number", index, format!("`{cell}` is no number"), help)
    }

    fn not_later(&self, at: Micros, last: Micros) -> LogError {
        let (shown, cell) = (self.clock.shown, self.stamp.cell());
        if at == last {
            let says = format!("the time {} stands on two rows", shown.time(at));
            let help = "export the log with fractions of a second, or keep one row for each time";
            return self.fault("time-twice", cell, says, help);
        }
        let says = format!("time goes back here, from {} to {}", shown.time(last), shown.time(at));
        let help = match (shown.hour(last), shown.hour(at)) {
            (Some(12), Some(1)) => "a clock of 12 hours: export the log with AM and PM, or with 24 hours",
            _ if self.is_second => "where the newest row stands first, sort the rows by time, the oldest first",
            _ => {
                "a clock that was set, or daylight saving: export in UTC, or cut the log here and play its parts by themselves; \
                 where rows only stand out of order, sort them by time"
            }
        };
        self.fault("time-goes-back", cell, says, help)
    }
}

impl Source for Csv {
    fn more(&mut self, rows: &mut Vec<Row>) -> Result<(), LogError> {
        while rows.len() < AT_ONCE && self.next_of_owner()? {
            match self.row() {
                Ok(row) => rows.extend(self.later(row)?),
                Err(_) if self.says_nothing() => {
                    self.passed_over.headings.fetch_add(u64::from(self.is_heading()), Ordering::Relaxed);
                }
                Err(fault) => return Err(fault),
            }
        }
        Ok(())
    }

    fn next_owner(&mut self) -> Result<Option<Owner>, LogError> {
        self.is_waiting &= !self.is_of_owner();
        while !self.is_waiting {
            if !self.next()? {
                return Ok(None);
            }
            self.is_waiting = !self.is_of_owner() && !self.says_nothing();
        }
        let Names { site, device } = self.names;
        let owner = [site, device].map(|column| self.name(column).to_vec());
        let [site, of] = owner.each_ref().map(|name| String::from_utf8_lossy(name).into_owned());
        self.owner = Some(owner);
        (self.last, self.is_second) = (None, false);
        Ok(Some(Owner { site, device: device.map(|_| of), line: self.table.line }))
    }
}
