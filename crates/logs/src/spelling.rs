//! How the rows of a log are written, by the first of them: its decimal mark, its time stamps, its dates.

use super::calendar::{DateOrder, is_time_of_day};
use super::clock::{Clock, Stamps, Unclear};
use super::columns::{Column, Slot};
use super::fault::LogError;
use super::table::Table;
use std::borrow::Cow;
use std::io::Read;

/// Where the time stamp of a row stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Stamp {
    /// In one cell.
    One(usize),
    /// A date, and a time of day in another cell.
    Two(usize, usize),
    /// A date at midnight, as spreadsheets export one, and a time of day in another cell.
    DayOf(usize, usize),
}

impl Stamp {
    /// The stamp of the row that was read last.
    #[inline]
    pub fn of<R: Read>(self, table: &Table<R>) -> Cow<'_, [u8]> {
        let cell = |index| table.cell(index).trim_ascii();
        match self {
            Self::One(index) => Cow::Borrowed(cell(index)),
            Self::Two(date, time) => Cow::Owned([cell(date), b" ", cell(time)].concat()),
            Self::DayOf(date, time) => Cow::Owned([without_time(cell(date)), b" ", cell(time)].concat()),
        }
    }

    /// The cell to point at where it cannot be read.
    pub fn cell(self) -> usize {
        let (Self::One(index) | Self::Two(index, _) | Self::DayOf(index, _)) = self;
        index
    }

    /// Whether its date and its time of day stand apart, and where the date is.
    fn among(columns: &[Column], table: &Table<&[u8]>) -> Result<Self, String> {
        let of = |slot| columns.iter().find(|column| column.slot == slot);
        let date = of(Slot::Time).expect("a log has a time");
        let Some(time) = of(Slot::TimeOfDay) else { return Ok(Self::One(date.index)) };
        let text = |column: &Column| String::from_utf8_lossy(table.cell(column.index).trim_ascii()).into_owned();
        let (day, hours) = (text(date), text(time));
        let is_alone = is_time_of_day(&hours);
        match (day.contains(':'), is_alone) {
            (false, false) if hours.contains(':') => Ok(Self::One(time.index)),
            (false, _) => Ok(Self::Two(date.index, time.index)),
            (true, true) if is_midnight(day.as_bytes()) => Ok(Self::DayOf(date.index, time.index)),
            (true, false) if hours.is_empty() => Ok(Self::One(date.index)),
            (true, _) => Err(format!("`{}` and `{}` both hold a time of day", date.heading, time.heading)),
        }
    }
}

fn is_midnight(stamp: &[u8]) -> bool {
    let time = &stamp[without_time(stamp).len()..];
    time.iter().all(|byte| !(b'1'..=b'9').contains(byte))
}

/// The date of a stamp that has a time of day.
fn without_time(stamp: &[u8]) -> &[u8] {
    let colon = stamp.iter().position(|byte| *byte == b':').unwrap_or(stamp.len());
    let end = stamp[..colon].iter().rposition(|byte| matches!(byte, b' ' | b'T'));
    &stamp[..end.unwrap_or(stamp.len())]
}

/// How the rows of a log are written.
#[derive(Debug)]
pub struct Spelling {
    pub decimal: u8,
    pub stamp: Stamp,
    pub clock: Clock,
}

/// Looks at the first rows of a log: `rows` are whole lines, below so many others.
pub fn spelling(rows: &[u8], lines: u64, separator: u8, columns: &[Column], dates: Option<DateOrder>) -> Result<Spelling, LogError> {
    let mut table = Table::new(rows, separator, lines);
    let next = |table: &mut Table<&[u8]>| table.next().unwrap_or(false);
    if !next(&mut table) {
        return Err(LogError::new("no-rows", "the log has a heading and no rows", "name a log with rows below its heading"));
    }
    let stamp = Stamp::among(columns, &table).map_err(|says| {
        let help = "say which is the time, as in `--columns \"time=HEADING\"`";
        LogError::new("column-twice", says, help).at(table.line, table.written(0).0, 0..table.written(0).0.len())
    })?;
    let (text, meant) = table.written(stamp.cell());
    let (line, has_comma) = (table.line, |cell: &[u8]| cell.contains(&b',') && !cell.contains(&b'.'));
    let (mut first, mut decimal) = (Vec::new(), b'.');
    loop {
        first.push(String::from_utf8_lossy(&stamp.of(&table)).into_owned());
        let values = columns.iter().filter(|column| column.slot != Slot::TimeOfDay);
        if separator != b',' && values.into_iter().any(|column| has_comma(table.cell(column.index)) && is_decimal(table.cell(column.index)))
        {
            decimal = b',';
        }
        if !next(&mut table) {
            break;
        }
    }
    let unit = columns.iter().find(|column| column.index == stamp.cell()).and_then(|column| column.unit.as_deref());
    let clock = Clock::of(Stamps { first: &first, unit, decimal, order: dates });
    let clock = clock.map_err(|unclear| unclear.fault().at(line, text, meant))?;
    Ok(Spelling { decimal, stamp, clock })
}

/// Whether it is digits with a comma, and no date or time.
fn is_decimal(cell: &[u8]) -> bool {
    cell.trim_ascii().iter().all(|byte| byte.is_ascii_digit() || matches!(byte, b',' | b'-' | b'+' | b'e' | b'E'))
}

impl Unclear {
    /// What is said of it.
    pub fn fault(self) -> LogError {
        match self {
            Self::NoTime(says) => {
                let help = if says.contains("without a date") {
                    "add a column `date` beside it, or write the date into it"
                } else {
                    "write `2026-01-14T12:03:10+11:00`, `2026-01-14 12:03:10`, or seconds since 1970 or since the beginning"
                };
                LogError::new("no-time-stamp", says, help)
            }
            Self::SeveralDays(says, orders) => {
                let options: Vec<String> = orders.iter().map(|order| format!("`--dates {}`", order.word())).collect();
                LogError::new("date-unclear", says, format!("say which: {}", options.join(" or ")))
            }
        }
    }
}
