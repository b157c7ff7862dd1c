//! A log as comma-separated values, whatever separates them.

use super::clock::Clock;
use super::columns::{Chosen, Column, Slot, columns};
use super::fault::Fault;
use super::guard::{Guarded, NoText};
use super::number::number;
use super::table::Table;
use super::{AT_ONCE, Layout, Log, Row, Source, VALUES};
use csv::ReaderBuilder;
use response::timeline::Micros;
use std::io::{Cursor, Read};
use std::ops::Range;
use std::path::Path;

/// How much is looked at for the heading.
const HEAD: u64 = 128 << 10;

/// Opens a log of separated values.
pub(super) fn open(path: &Path, chosen: Option<&Chosen>, is_line_to_line: bool) -> Result<Log, Fault> {
    let input = if path.as_os_str() == "-" { crate::files::standard_input() } else { crate::files::open(path) };
    read(input.map_err(unreadable)?, chosen, is_line_to_line)
}

fn unreadable(error: std::io::Error) -> Fault {
    Fault::new("unreadable", error.to_string(), "name a file that can be read")
}

/// Reads the beginning of a log of separated values.
pub(super) fn read(mut input: Box<dyn Read + Send>, chosen: Option<&Chosen>, is_line_to_line: bool) -> Result<Log, Fault> {
    let mut head = Vec::new();
    input.by_ref().take(HEAD).read_to_end(&mut head).map_err(unreadable)?;
    let (before, line) = first_line(&head)?;
    let text = String::from_utf8_lossy(&head[line.clone()]);
    let text = text.trim_start_matches('\u{feff}').trim_end();
    if text.is_empty() {
        return Err(Fault::new("empty-log", "the log is empty", "name a log with a heading line and rows below it"));
    }
    let separator = *b",;\t".iter().max_by_key(|separator| text.bytes().filter(|byte| byte == *separator).count()).unwrap_or(&b',');
    let has_heading = !chosen.is_some_and(Chosen::needs_no_heading);
    let headings = headings(text, separator, has_heading).map_err(|fault| fault.at(before + 1, text, 0..text.len()))?;
    let (columns, ignored) = columns(&headings, chosen).map_err(|fault| fault.at(before + 1, text, 0..text.len()))?;

    let heading = has_heading.then(|| (before + 1, text.to_owned()));
    let (from, skipped) = if has_heading { (line.end, before + 1) } else { (line.start, before) };
    let rest: Box<dyn Read + Send> = Box::new(Cursor::new(head.split_off(from)).chain(input));
    let mut source = Csv::new(Table::new(Guarded::new(rest), separator, skipped), separator, headings, &columns);
    let clock = source.first_row()?;
    let layout = Layout {
        is_line_to_line: is_line_to_line || columns.iter().any(|column| column.is_line_to_line),
        says_means: columns.iter().any(|column| column.is_mean),
        clock: clock.shown,
        columns,
        ignored,
        heading,
    };
    source.clock = Some(clock);
    Ok(Log { layout, source: Box::new(source) })
}

/// The first line that is no remark, and how many stand before it.
fn first_line(head: &[u8]) -> Result<(u64, Range<usize>), Fault> {
    if memchr::memchr(0, head).is_some() {
        return Err(no_text(NoText::Binary, 1));
    }
    let (mut start, mut before) = (0, 0);
    for line in head.split_inclusive(|byte| *byte == b'\n') {
        let end = start + line.len();
        if !line.starts_with(b"#") && !line.trim_ascii().is_empty() {
            let is_whole = line.ends_with(b"\n") || (head.len() as u64) < HEAD;
            return if is_whole { Ok((before, start..end)) } else { Err(no_text(NoText::Endless, before + 1)) };
        }
        (start, before) = (end, before + 1);
    }
    Ok((before, start..start))
}

fn headings(text: &str, separator: u8, has_heading: bool) -> Result<Vec<String>, Fault> {
    let mut reader = ReaderBuilder::new().has_headers(false).delimiter(separator).from_reader(text.as_bytes());
    let cells = reader.records().next().and_then(Result::ok).unwrap_or_default();
    let cells: Vec<String> = cells.iter().map(|cell| cell.trim().to_owned()).collect();
    if !has_heading {
        return Ok((1..=cells.len()).map(|n| n.to_string()).collect());
    }
    let is_number = |cell: &String| cell.chars().all(|c| c.is_ascii_digit() || ".,-+:eEZT ".contains(c));
    if cells.iter().all(is_number) {
        let says = "the first line is no heading: nobody says which column is what";
        let mend = "write a heading such as `time,V_L1 [V],f [Hz]` above it, or say `--columns \"time=1, L1=2 [V], frequency=3 [Hz]\"`";
        return Err(Fault::new("no-heading", says, mend));
    }
    if cells.len() == 1 {
        let says = "the heading is a single column: its columns are parted by neither comma, semicolon nor tab";
        return Err(Fault::new("separator-unknown", says, "save the log with commas, semicolons or tabs between columns"));
    }
    Ok(cells)
}

fn no_text(found: NoText, line: u64) -> Fault {
    match found {
        NoText::Binary => Fault::new("binary", format!("line {line}: a zero byte: this is no text"), "save the log as CSV in UTF-8"),
        NoText::Endless => Fault::new("endless-line", format!("line {line} does not end"), "save the log as CSV, a row on each line"),
    }
}

struct Csv {
    table: Table<Guarded<Box<dyn Read + Send>>>,
    separator: u8,
    headings: Vec<String>,
    time: usize,
    time_of_day: Option<usize>,
    time_unit: Option<String>,
    /// Place in a row, slot and scale of each value.
    values: Vec<(usize, usize, f64)>,
    decimal: u8,
    clock: Option<Clock>,
    /// The first row was read to see how it is written.
    is_held: bool,
    last: Option<Micros>,
}

impl Csv {
    fn new(table: Table<Guarded<Box<dyn Read + Send>>>, separator: u8, headings: Vec<String>, columns: &[Column]) -> Self {
        let of = |slot| columns.iter().find(|column| column.slot == slot);
        let time = of(Slot::Time).expect("a log has a time");
        let values = columns.iter().filter(|column| !column.slot.is_time());
        Self {
            table,
            separator,
            headings,
            time: time.index,
            time_of_day: of(Slot::TimeOfDay).map(|column| column.index),
            time_unit: time.unit.clone(),
            values: values.map(|column| (column.index, column.slot.place(), column.scale)).collect(),
            decimal: b'.',
            clock: None,
            is_held: false,
            last: None,
        }
    }

    /// Looks at the first row: how its numbers and times are written.
    fn first_row(&mut self) -> Result<Clock, Fault> {
        if !self.next()? {
            return Err(Fault::new("no-rows", "the log has a heading and no rows", "name a log with rows below its heading"));
        }
        self.is_held = true;
        let has_comma = |cell: &[u8]| cell.contains(&b',') && !cell.contains(&b'.');
        if self.separator != b',' && self.values.iter().any(|(index, ..)| has_comma(self.table.cell(*index))) {
            self.decimal = b',';
        }
        let stamp = self.stamp();
        Clock::of(&stamp, self.time_unit.as_deref(), self.decimal).map_err(|says| self.no_time(says))
    }

    fn no_time(&self, says: String) -> Fault {
        let mend = "write `2026-01-14T12:03:10+11:00`, `2026-01-14 12:03:10`, or seconds since 1970 or since the beginning";
        self.fault("no-time-stamp", self.time, says, mend)
    }

    fn stamp(&self) -> Vec<u8> {
        let cell = |index| self.table.cell(index).trim_ascii();
        match self.time_of_day {
            Some(index) => [cell(self.time), b" ", cell(index)].concat(),
            None => cell(self.time).to_vec(),
        }
    }

    /// Reads the next line; whether there was one.
    fn next(&mut self) -> Result<bool, Fault> {
        if std::mem::take(&mut self.is_held) {
            return Ok(true);
        }
        match self.table.next() {
            Ok(true) if self.table.len() != self.headings.len() => Err(self.wrong_width()),
            Ok(was_one) => Ok(was_one),
            Err(error) => {
                let line = self.table.line + 1;
                let found = self.table.input.found;
                Err(found.map_or_else(|| Fault::new("unreadable", error.to_string(), "copy the log again"), |found| no_text(found, line)))
            }
        }
    }

    fn wrong_width(&mut self) -> Fault {
        let (has, wanted, line) = (self.table.len(), self.headings.len(), self.table.line);
        let count = |n: usize| if n == 1 { "1 column".to_owned() } else { format!("{n} columns") };
        let (text, _) = self.table.written(0);
        let whole = 0..text.len();
        if has < wanted && self.table.is_last() {
            let says = format!("the log ends in the middle of a line: {} where the heading has {wanted}", count(has));
            return Fault::new("cut-short", says, "copy the log again, or take its last line off").at(line, text, whole);
        }
        let says = format!("{} where the heading has {wanted}", count(has));
        let mend = match (has > wanted, self.separator) {
            (true, b',') => "a decimal comma between commas cannot be told apart: save the log with semicolons, or with decimal points",
            _ => "mend the line, or save the log again",
        };
        Fault::new("columns-differ", says, mend).at(line, text, whole)
    }

    fn fault(&self, name: &'static str, index: usize, says: impl Into<String>, mend: impl Into<String>) -> Fault {
        let (text, meant) = self.table.written(index);
        Fault::new(name, says, mend).at(self.table.line, text, meant)
    }

    fn row(&mut self) -> Result<Row, Fault> {
        let at = match (self.time_of_day, self.clock.as_mut()) {
            (None, Some(clock)) => clock.read(self.table.cell(self.time).trim_ascii()),
            (Some(_), Some(_)) => {
                let stamp = self.stamp();
                self.clock.as_mut().map_or(Ok(0), |clock| clock.read(&stamp))
            }
            (_, None) => Ok(0),
        };
        let at = at.map_err(|says| self.no_time(says))?;
        let mut values = [f64::NAN; VALUES];
        for (index, slot, scale) in &self.values {
            let cell = self.table.cell(*index);
            match number(cell, self.decimal) {
                // per unit waits for the nominal voltage
                Some(value) => values[*slot] = if *scale == 0.0 { value } else { value * scale },
                None => return Err(self.no_number(*index)),
            }
        }
        if let Some(last) = self.last.filter(|last| at <= *last) {
            return Err(self.not_later(at, last));
        }
        self.last = Some(at);
        Ok(Row { at, values })
    }

    fn no_number(&self, index: usize) -> Fault {
        let cell = String::from_utf8_lossy(self.table.cell(index)).into_owned();
        let mend = match cell.contains(',') {
            true => "write a decimal point, or part the columns by semicolons",
            false => "write a number without its unit, or nothing where there is none",
        };
        self.fault("no-number", index, format!("`{cell}` is no number"), mend)
    }

    fn not_later(&self, at: Micros, last: Micros) -> Fault {
        let shown = self.clock.as_ref().map_or(super::Shown::Relative, |clock| clock.shown);
        if at == last {
            let says = format!("the time {} stands on two rows", shown.time(at));
            let mend = "export the log with fractions of a second, or keep one row for each time";
            return self.fault("time-twice", self.time, says, mend);
        }
        let says = format!("time goes back here, from {} to {}", shown.time(last), shown.time(at));
        let mend = "a clock that was set, or daylight saving: export in UTC, or cut the log here and play its parts by themselves";
        self.fault("time-goes-back", self.time, says, mend)
    }
}

impl Source for Csv {
    fn more(&mut self, rows: &mut Vec<Row>) -> Result<(), Fault> {
        while rows.len() < AT_ONCE && self.next()? {
            rows.push(self.row()?);
        }
        Ok(())
    }
}
