//! A log in a Parquet file: typed columns, without any conversion through text.

mod owners;

use super::clock::Shown;
use super::columns::{Column, Names, Slot, columns};
use super::fault::LogError;
use super::{AT_ONCE, Follows, Layout, Log, Owner, PassedOver, ReadOptions, Row, Source, VALUES};
use owners::Owners;
use parquet::basic::{LogicalType, TimeUnit, Type};
use parquet::column::reader::ColumnReader;
use parquet::file::reader::{FileReader, SerializedFileReader};
use parquet::schema::types::ColumnDescriptor;
use response::timeline::{LONGEST, Micros};
use std::collections::VecDeque;
use std::fs::File;
use std::path::Path;
use std::sync::atomic::Ordering;

fn unreadable(error: impl std::fmt::Display) -> LogError {
    LogError::new("unreadable", error.to_string(), "write the file again")
}

/// Opens a log in a Parquet file.
pub(super) fn open(path: &Path, options: &ReadOptions) -> Result<Log, LogError> {
    let file = SerializedFileReader::new(input_files::regular(path).map_err(unreadable)?).map_err(unreadable)?;
    let schema = file.metadata().file_metadata().schema_descr_ptr();
    let headings: Vec<String> = schema.columns().iter().map(|column| column.path().string()).collect();
    let (columns, ignored) = columns(&headings, options.columns.as_ref())?;
    let time = columns.iter().find(|column| column.slot == Slot::Time).expect("a log has a time");
    let (per_unit, clock) = time_unit(&schema.column(time.index), time)?;
    for column in columns.iter().filter(|column| !column.slot.is_time()) {
        let of = schema.column(column.index).physical_type();
        if !matches!(of, Type::DOUBLE | Type::FLOAT | Type::INT32 | Type::INT64) {
            let says = format!("`{}` holds no numbers", column.heading);
            return Err(LogError::new("no-number", says, "write it as floating-point numbers"));
        }
    }
    let names = options.names(&headings)?;
    let ignored = ignored.into_iter().filter(|heading| !(0..headings.len()).any(|n| names.has(n) && headings[n] == *heading)).collect();
    let passed_over = PassedOver::default();
    let layout = Layout {
        is_line_to_line: options.is_line_to_line || columns.iter().any(|column| column.is_line_to_line),
        says_means: columns.iter().any(|column| column.is_mean),
        clock,
        dates: None,
        passed_over: 0,
        says_nothing_new: passed_over.clone(),
        ignored,
        names,
        heading: None,
        columns: columns.clone(),
    };
    let source = Groups {
        file,
        columns,
        names,
        per_unit,
        clock,
        group: 0,
        open: Vec::new(),
        owners: None,
        left: 0,
        rows: Vec::new(),
        handed: 0,
        runs: VecDeque::new(),
        owner: None,
        last: None,
        row: 0,
        passed_over,
    };
    Ok(Log { layout, source: Box::new(source) })
}

/// Of what a time column counts, in microseconds, and how it is shown.
fn time_unit(descriptor: &ColumnDescriptor, time: &Column) -> Result<(f64, Shown), LogError> {
    let wrong = || {
        let says = format!("`{}` is no time that is read", time.heading);
        LogError::new("no-time-stamp", says, "write it as a timestamp, or as a number of seconds")
    };
    if let Some(LogicalType::Timestamp(of)) = descriptor.logical_type_ref() {
        let per_unit = match of.unit {
            TimeUnit::MILLIS => 1e3,
            TimeUnit::MICROS => 1.0,
            TimeUnit::NANOS => 1e-3,
        };
        return Ok((per_unit, if of.is_adjusted_to_u_t_c { Shown::At(0) } else { Shown::AsWritten }));
    }
    match descriptor.physical_type() {
        Type::DOUBLE | Type::FLOAT | Type::INT32 | Type::INT64 => Ok((1e6, Shown::Relative)),
        _ => Err(wrong()),
    }
}

/// The row groups of a file, each read column by column.
struct Groups {
    file: SerializedFileReader<File>,
    columns: Vec<Column>,
    names: Names,
    per_unit: f64,
    clock: Shown,
    group: usize,
    /// The columns of the group that is open, and of its rows whose each is.
    open: Vec<ColumnReader>,
    owners: Option<Owners>,
    /// Rows that are left in it.
    left: usize,
    /// Rows that were read and not handed on, and whose they are: each owner from which of them on.
    rows: Vec<Row>,
    handed: usize,
    runs: VecDeque<(usize, [Vec<u8>; 2])>,
    owner: Option<[Vec<u8>; 2]>,
    last: Option<Row>,
    row: u64,
    passed_over: PassedOver,
}

impl Groups {
    /// Opens the next group that has rows; whether there is one.
    fn next(&mut self) -> Result<bool, LogError> {
        while self.left == 0 {
            if self.group == self.file.num_row_groups() {
                return Ok(false);
            }
            let group = self.file.get_row_group(self.group).map_err(unreadable)?;
            self.left = group.metadata().num_rows() as usize;
            let readers = self.columns.iter().map(|column| group.get_column_reader(column.index));
            self.open = readers.collect::<Result<_, _>>().map_err(unreadable)?;
            self.owners = (self.names.site.is_some()).then(|| Owners::of(&*group, self.names)).transpose()?;
            self.group += 1;
        }
        Ok(true)
    }

    /// Reads some rows; whether there were any.
    fn fill(&mut self) -> Result<bool, LogError> {
        if !self.next()? {
            return Ok(false);
        }
        let count = self.left.min(AT_ONCE);
        let read = self.open.iter_mut().map(|reader| values(reader, count)).collect::<Result<Vec<_>, _>>()?;
        self.left -= count;
        self.rows.clear();
        self.handed = 0;
        self.runs = self.owners.as_mut().map(|owners| owners.runs(count)).transpose()?.unwrap_or_default();
        for n in 0..count {
            let (mut at, mut values) = (None, [f64::NAN; VALUES]);
            for (column, numbers) in self.columns.iter().zip(&read) {
                match column.slot.is_time() {
                    true => at = numbers.micros(n, self.per_unit),
                    false => values[column.slot.place()] = numbers.at(n) * if column.scale == 0.0 { 1.0 } else { column.scale },
                }
            }
            let at = at.ok_or_else(|| {
                let says = format!("row {} has no time", self.row + n as u64 + 1);
                LogError::new("no-time-stamp", says, "give each row a time")
            })?;
            self.rows.push(Row { at, values });
        }
        self.row += count as u64;
        Ok(true)
    }

    /// The end of the rows that are of the same owner, among those that were read.
    fn end_of_owner(&mut self) -> usize {
        while let Some((from, owner)) = self.runs.front() {
            if *from > self.handed {
                return *from;
            }
            if self.owner.as_ref() != Some(owner) {
                return self.handed;
            }
            self.runs.pop_front();
        }
        self.rows.len()
    }

    /// The number of the next row.
    fn number(&self) -> u64 {
        self.row - (self.rows.len() - self.handed) as u64 + 1
    }
}

/// So many values of a column; what is missing is not a number.
fn values(reader: &mut ColumnReader, rows: usize) -> Result<Numbers, LogError> {
    let mut levels = Vec::new();
    macro_rules! read {
        ($reader:expr, $as:expr) => {{
            let mut values = Vec::with_capacity(rows);
            let optional = $reader.read_records(rows, Some(&mut levels), None, &mut values).map_err(unreadable)?;
            let _ = optional;
            $as(values)
        }};
    }
    let numbers = match reader {
        ColumnReader::DoubleColumnReader(reader) => read!(reader, |values: Vec<f64>| Numbers::Floating(values)),
        ColumnReader::FloatColumnReader(reader) => {
            read!(reader, |values: Vec<f32>| Numbers::Floating(values.into_iter().map(f64::from).collect()))
        }
        ColumnReader::Int64ColumnReader(reader) => read!(reader, |values: Vec<i64>| Numbers::Whole(values)),
        ColumnReader::Int32ColumnReader(reader) => {
            read!(reader, |values: Vec<i32>| Numbers::Whole(values.into_iter().map(i64::from).collect()))
        }
        _ => return Err(LogError::new("no-number", "a column holds no numbers", "write it as floating-point numbers")),
    };
    Ok(numbers.spread(&levels, rows))
}

/// Numbers as a file holds them.
enum Numbers {
    Floating(Vec<f64>),
    Whole(Vec<i64>),
    /// With places that are empty.
    Sparse(Vec<f64>),
}

impl Numbers {
    /// Values stand only where they are present: the others are put in between.
    fn spread(self, levels: &[i16], rows: usize) -> Self {
        let present = levels.iter().filter(|level| **level > 0).count();
        if levels.len() != rows || present == rows {
            return self;
        }
        let mut next = 0;
        let spread = levels.iter().map(|level| {
            if *level == 0 {
                return f64::NAN;
            }
            next += 1;
            self.at(next - 1)
        });
        Self::Sparse(spread.collect())
    }

    fn at(&self, n: usize) -> f64 {
        match self {
            Self::Floating(values) | Self::Sparse(values) => values.get(n).copied().unwrap_or(f64::NAN),
            Self::Whole(values) => values.get(n).map_or(f64::NAN, |value| *value as f64),
        }
    }

    fn micros(&self, n: usize, per_unit: f64) -> Option<Micros> {
        match self {
            Self::Whole(values) if per_unit >= 1.0 => {
                values.get(n).map(|value| value.saturating_mul(per_unit as Micros).clamp(-LONGEST, LONGEST))
            }
            Self::Whole(values) => values.get(n).map(|value| value.div_euclid((1.0 / per_unit).round() as Micros)),
            _ => Some(self.at(n))
                .filter(|value| value.is_finite())
                .map(|value| ((value * per_unit).round() as Micros).clamp(-LONGEST, LONGEST)),
        }
    }
}

impl Source for Groups {
    fn more(&mut self, rows: &mut Vec<Row>) -> Result<(), LogError> {
        while rows.len() < AT_ONCE {
            if self.handed == self.rows.len() && !self.fill()? {
                return Ok(());
            }
            let end = self.end_of_owner();
            if end == self.handed {
                return Ok(());
            }
            for read in &self.rows[self.handed..end] {
                self.handed += 1;
                match (read.follows(self.last.as_ref()), self.last) {
                    (Follows::Again, _) => {
                        self.passed_over.again.fetch_add(1, Ordering::Relaxed);
                    }
                    (Follows::NotLater, Some(last)) => {
                        let row = self.row - (self.rows.len() - self.handed) as u64;
                        let (at, last) = (self.clock.time(read.at), self.clock.time(last.at));
                        let says = format!("row {row}: time does not go on, from {last} to {at}");
                        return Err(LogError::new("time-goes-back", says, "sort the rows, or keep one row for each time"));
                    }
                    _ => {
                        self.last = Some(*read);
                        rows.push(*read);
                    }
                }
            }
        }
        Ok(())
    }

    fn next_owner(&mut self) -> Result<Option<Owner>, LogError> {
        loop {
            if self.handed == self.rows.len() && !self.fill()? {
                return Ok(None);
            }
            let end = self.end_of_owner();
            if end == self.handed {
                break;
            }
            self.handed = end;
        }
        let Some((_, owner)) = self.runs.pop_front() else { return Ok(None) };
        let [site, device] = owner.each_ref().map(|name| String::from_utf8_lossy(name).into_owned());
        self.owner = Some(owner);
        self.last = None;
        Ok(Some(Owner { site, device: self.names.device.map(|_| device), line: self.number() }))
    }
}
