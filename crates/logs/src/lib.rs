//! The only room that reads measured logs: voltages, frequency and powers against time, row by row, so
//! that a log of any length fits.
//!
//! A bad log gets one clear message and no verdict. What is merely missing (a value, a stretch of time)
//! is handed on as missing, never filled in.

mod calendar;
mod chain;
mod clock;
mod columns;
mod csv;
mod fault;
mod guard;
mod heading;
mod number;
#[cfg(feature = "parquet")]
mod parquet;
mod plausible;
mod spacing;
mod spelling;
mod table;

pub use calendar::DateOrder;
pub use clock::Shown;
pub use fault::LogError;
pub use plausible::{Expected, LeftOut, Plausible};
pub use spacing::Spacing;

use columns::{Chosen, Column, Names, Slot};
use response::timeline::Micros;
use std::io::Read;
use std::path::Path;
use std::sync::Arc;
use std::sync::atomic::{AtomicU64, Ordering};

/// What each row holds besides its time; a value that is missing is not a number.
pub const VALUES: usize = 8;

/// One row of a log, in base units.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Row {
    /// Whole microseconds, since 1970 or since the log's own nought.
    pub at: Micros,
    /// Three phases, frequency, active power, reactive power, available power, the site's own use or its net export.
    pub values: [f64; VALUES],
}

impl Row {
    /// A moment that was made and not read: volts of each phase, hertz, watts that could be given, watts that the
    /// site uses itself.
    pub fn made(at: Micros, voltage: [f64; 3], frequency: f64, available: f64, load: f64) -> Self {
        let mut values = [f64::NAN; VALUES];
        values[..3].copy_from_slice(&voltage);
        for (slot, value) in [(Slot::Frequency, frequency), (Slot::Available, available), (Slot::Load, load)] {
            values[slot as usize] = value;
        }
        Self { at, values }
    }

    /// Hertz.
    pub fn frequency(&self) -> f64 {
        self.values[Slot::Frequency as usize]
    }

    /// Watts given.
    pub fn power(&self) -> f64 {
        self.values[Slot::Power as usize]
    }

    /// Vars given, by the sign that the log counts them with.
    pub fn reactive(&self) -> f64 {
        self.values[Slot::Reactive as usize]
    }

    /// Watts that could have been given.
    pub fn available(&self) -> f64 {
        self.values[Slot::Available as usize]
    }
}

impl Row {
    /// Watts that the site used itself; below zero where others give power there. With net flow it is
    /// what was given less what left the site.
    pub fn load(&self, is_net: bool) -> f64 {
        let value = self.values[Slot::Load as usize];
        if is_net { self.power() - value } else { value }
    }

    /// Watts that left the site, less what entered it; without net flow what was given less the site's own use.
    pub fn export(&self, is_net: bool) -> f64 {
        let value = self.values[Slot::Load as usize];
        if is_net { value } else { self.power() - value }
    }
}

/// How a row stands to the one before.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Follows {
    Later,
    /// It says the same, so that nothing is lost without it.
    Again,
    NotLater,
}

impl Row {
    fn follows(&self, last: Option<&Self>) -> Follows {
        let Some(last) = last.filter(|last| self.at <= last.at) else { return Follows::Later };
        let is_same = self.at == last.at && self.values.map(f64::to_bits) == last.values.map(f64::to_bits);
        if is_same { Follows::Again } else { Follows::NotLater }
    }
}

/// Rows that say nothing new, counted while a log is read.
#[derive(Clone, Debug, Default)]
pub struct PassedOver {
    /// Rows that say what the one before says.
    again: Arc<AtomicU64>,
    /// Its heading, where it stands once more.
    headings: Arc<AtomicU64>,
}

impl PassedOver {
    /// How many rows say what the one before says, and how often the heading stands once more, so far.
    pub fn counts(&self) -> [u64; 2] {
        [&self.again, &self.headings].map(|count| count.load(Ordering::Relaxed))
    }
}

/// What a log has.
#[derive(Clone, Debug)]
pub struct Layout {
    /// The columns that are read.
    columns: Vec<Column>,
    /// Headings of columns that are not.
    pub ignored: Vec<String>,
    /// Where it says whose a row is; nowhere, where that was not asked.
    names: Names,
    /// How times are shown.
    pub clock: Shown,
    /// Which part of a date stands first, where dates may be written in several ways.
    pub dates: Option<DateOrder>,
    /// Lines above the heading that are no remarks.
    pub passed_over: u64,
    /// Rows below it that say nothing new.
    pub says_nothing_new: PassedOver,
    /// Between lines, so that each phase is only known where all are alike.
    pub is_line_to_line: bool,
    /// Whether the heading says that values are means.
    pub says_means: bool,
    /// The line of the heading and its text, where there is one.
    heading: Option<(u64, String)>,
}

impl Layout {
    /// How many phases it has.
    pub fn phases(&self) -> usize {
        self.columns.iter().filter(|column| column.slot.is_voltage()).count()
    }

    /// Whether it has this kind of value.
    fn has(&self, slot: Slot) -> bool {
        self.columns.iter().any(|column| column.slot == slot)
    }

    /// A fault, at the heading of the first column of a kind.
    fn at_heading(&self, fault: LogError, of: impl Fn(Slot) -> bool) -> LogError {
        let column = self.columns.iter().find(|column| of(column.slot));
        match (&self.heading, column) {
            (Some((line, text)), Some(column)) => {
                let start = text.find(&column.heading).unwrap_or(0);
                fault.at(*line, text.as_str(), start..(start + column.heading.len()).min(text.len()))
            }
            _ => fault,
        }
    }

    /// Whether it has frequency.
    pub fn has_frequency(&self) -> bool {
        self.has(Slot::Frequency)
    }

    /// Whether it has the power that was given.
    pub fn has_power(&self) -> bool {
        self.has(Slot::Power)
    }

    /// Whether it has reactive power.
    pub fn has_reactive(&self) -> bool {
        self.has(Slot::Reactive)
    }

    /// Whether the heading of reactive power says that it counts what is absorbed, or what is supplied; rows hold what is
    /// supplied where it says either.
    pub fn counts_absorbed(&self) -> Option<bool> {
        self.columns.iter().find_map(|column| column.is_absorbed)
    }

    /// Whether it has the power that could have been given.
    pub fn has_available(&self) -> bool {
        self.has(Slot::Available)
    }

    /// Whether what the site uses itself can be told.
    pub fn has_load(&self) -> bool {
        self.has(Slot::Load) || (self.is_net() && self.has_power())
    }

    /// Whether it has the net flow at the connection point in place of the site's own use.
    pub fn is_net(&self) -> bool {
        self.columns.iter().any(|column| column.slot.is_net())
    }

    /// What its columns hold, by the words of `--columns`.
    pub fn words(&self) -> Vec<&'static str> {
        self.columns.iter().map(|column| column.slot.word()).collect()
    }

    /// The layout of a log that is not at hand, with columns of these words in base units; `None` where one is none that
    /// is known.
    pub fn of_words(words: &[String], counts_absorbed: Option<bool>, clock: Shown) -> Option<Self> {
        let columns = words.iter().enumerate().map(|(index, word)| Column::of_word(index, word, counts_absorbed));
        Some(Self {
            columns: columns.collect::<Option<_>>()?,
            ignored: Vec::new(),
            names: Names::default(),
            clock,
            dates: None,
            passed_over: 0,
            says_nothing_new: PassedOver::default(),
            is_line_to_line: false,
            says_means: false,
            heading: None,
        })
    }

    /// Whether a column says of which site a row is.
    pub fn has_sites(&self) -> bool {
        self.names.site.is_some()
    }

    /// What is read, by the heading of each: `voltage L1 from "V_L1 [V]"`.
    pub fn read(&self) -> Vec<String> {
        self.columns.iter().map(Column::told).collect()
    }

    /// Headings of voltages whose unit is not said and was taken to be volts.
    pub fn taken_for_volts(&self) -> Vec<&str> {
        self.columns.iter().filter(|column| column.is_unit_assumed).map(|column| column.heading.as_str()).collect()
    }
}

/// A log that is being read.
pub struct Log {
    /// What it has.
    pub layout: Layout,
    source: Box<dyn Source>,
}

/// What its user says of a log.
#[derive(Clone, Debug, Default)]
pub struct ReadOptions {
    columns: Option<Chosen>,
    is_line_to_line: bool,
    dates: Option<DateOrder>,
    of_many: bool,
}

impl ReadOptions {
    /// `columns` names its columns where their headings do not, `dates` which part of a date stands first.
    ///
    /// # Errors
    /// Where `columns` cannot be read.
    pub fn new(columns: Option<&str>, is_line_to_line: bool, dates: Option<DateOrder>) -> Result<Self, LogError> {
        Ok(Self { columns: columns.map(Chosen::parse).transpose()?, is_line_to_line, dates, of_many: false })
    }

    /// Of a log whose rows may be of many sites: a column `site`, and perhaps `device`, says whose each is.
    #[must_use]
    pub fn of_many(self) -> Self {
        Self { of_many: true, ..self }
    }

    /// Where a row says whose it is.
    fn names(&self, headings: &[String]) -> Result<Names, LogError> {
        if self.of_many {
            return Names::among(headings, self.columns.as_ref());
        }
        if self.columns.as_ref().is_some_and(Chosen::has_names) {
            let says = "--columns names a column of sites or devices, and this log is read as one device's";
            return Err(LogError::new("columns-unclear", says, "leave it out, or judge many with `asleft behaves --fleet SITES LOGS`"));
        }
        Ok(Names::default())
    }
}

/// What rows come from.
trait Source: Send {
    /// More rows, later than all before; none at the end, or at the end of one site's rows.
    fn more(&mut self, rows: &mut Vec<Row>) -> Result<(), LogError>;

    /// Goes on to the rows of the next site, whatever is left of this one's; `None` where there is none.
    fn next_owner(&mut self) -> Result<Option<Owner>, LogError>;
}

/// Whose rows come next, in a log of many.
#[derive(Clone, Debug, Default, PartialEq, Eq, PartialOrd, Ord)]
pub struct Owner {
    /// The site.
    pub site: String,
    /// The device, where a column says which.
    pub device: Option<String>,
    /// The line of the first of them.
    pub line: u64,
}

/// How many rows are handed on at once: as many as stay in a core's own memory.
const AT_ONCE: usize = 4_096;

impl Log {
    /// Opens a log.
    pub fn open(path: &Path, options: &ReadOptions) -> Result<Self, LogError> {
        if is_parquet(path) {
            #[cfg(feature = "parquet")]
            return parquet::open(path, options);
            #[cfg(not(feature = "parquet"))]
            return Err(no_parquet());
        }
        csv::open(path, options)
    }

    /// Reads a log of separated values from anything.
    pub fn of(input: Box<dyn std::io::Read + Send>, options: &ReadOptions) -> Result<Self, LogError> {
        csv::read(input, options)
    }

    /// Of a log of many: goes on to the rows of the next site or device, whatever is left of this one's. Those of one
    /// stand together.
    ///
    /// # Errors
    /// Where what is between cannot be read.
    pub fn next_owner(&mut self) -> Result<Option<Owner>, LogError> {
        self.source.next_owner()
    }

    /// More rows, later than all before; none at the end, or at the end of one site's rows.
    pub fn more(&mut self) -> Result<Vec<Row>, LogError> {
        self.more_into(Vec::new())
    }

    /// The same, in the room of rows that are done with.
    pub fn more_into(&mut self, mut rows: Vec<Row>) -> Result<Vec<Row>, LogError> {
        rows.clear();
        rows.reserve(AT_ONCE);
        self.source.more(&mut rows)?;
        Ok(rows)
    }
}

/// Whether a file begins as Parquet does.
fn is_parquet(path: &Path) -> bool {
    let mut first = [0; 4];
    input_files::regular(path).and_then(|mut file| file.read_exact(&mut first)).is_ok_and(|()| &first == b"PAR1")
}

/// Parquet is read by a build that asks for it, because its crates take long to build.
#[cfg(not(feature = "parquet"))]
fn no_parquet() -> LogError {
    let help = "export the log as CSV, or build with it: `cargo install --path crates/cli --features parquet`";
    LogError::new("parquet-not-built-in", "the log is a Parquet file, which this build does not read", help)
}
