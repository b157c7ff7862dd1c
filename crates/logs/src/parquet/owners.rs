//! Whose the rows of a Parquet file are, where columns say so.

use super::unreadable;
use crate::columns::Names;
use crate::fault::LogError;
use parquet::column::reader::ColumnReader;
use parquet::data_type::ByteArray;
use parquet::file::reader::RowGroupReader;
use parquet::file::statistics::Statistics;
use std::collections::VecDeque;

/// Whose the rows of a group are.
pub(super) struct Owners([NameColumn; 2]);

enum NameColumn {
    /// The same in all rows of the group.
    Constant(Vec<u8>),
    Read(ColumnReader),
}

impl Owners {
    pub(super) fn of(group: &dyn RowGroupReader, names: Names) -> Result<Self, LogError> {
        let column = |index: Option<usize>| {
            let Some(index) = index else { return Ok(NameColumn::Constant(Vec::new())) };
            match constant(group.metadata().column(index).statistics()) {
                Some(name) => Ok(NameColumn::Constant(name)),
                None => group.get_column_reader(index).map(NameColumn::Read).map_err(unreadable),
            }
        };
        Ok(Self([column(names.site)?, column(names.device)?]))
    }

    /// Of the next rows: who owns them from which on.
    pub(super) fn runs(&mut self, count: usize) -> Result<VecDeque<(usize, [Vec<u8>; 2])>, LogError> {
        let [sites, devices] = &mut self.0;
        let (sites, devices) = (sites.read(count)?, devices.read(count)?);
        let mut runs = VecDeque::<(usize, [Vec<u8>; 2])>::new();
        for n in 0..count {
            let own = [sites.at(n), devices.at(n)];
            if runs.back().is_none_or(|(_, [site, device])| [site.as_slice(), device.as_slice()] != own) {
                runs.push_back((n, own.map(<[u8]>::to_vec)));
            }
            if sites.is_constant() && devices.is_constant() {
                break;
            }
        }
        Ok(runs)
    }
}

/// Names of some rows.
enum NamesRead<'n> {
    Constant(&'n [u8]),
    Each(Vec<Option<ByteArray>>),
}

impl NamesRead<'_> {
    fn at(&self, n: usize) -> &[u8] {
        match self {
            Self::Constant(name) => name,
            Self::Each(names) => names.get(n).and_then(Option::as_ref).map_or(b"", |name| name.data()),
        }
    }

    fn is_constant(&self) -> bool {
        matches!(self, Self::Constant(_))
    }
}

impl NameColumn {
    fn read(&mut self, rows: usize) -> Result<NamesRead<'_>, LogError> {
        let reader = match self {
            Self::Constant(name) => return Ok(NamesRead::Constant(name)),
            Self::Read(ColumnReader::ByteArrayColumnReader(reader)) => reader,
            Self::Read(_) => return Err(LogError::new("no-name", "the column of sites or devices holds no text", "write names as text")),
        };
        let (mut levels, mut values) = (Vec::new(), Vec::with_capacity(rows));
        reader.read_records(rows, Some(&mut levels), None, &mut values).map_err(unreadable)?;
        let mut values = values.into_iter();
        if levels.len() != rows {
            return Ok(NamesRead::Each(values.map(Some).collect()));
        }
        Ok(NamesRead::Each(levels.iter().map(|level| if *level > 0 { values.next() } else { None }).collect()))
    }
}

/// The name that all rows of a group have, where its statistics show that they have one.
fn constant(statistics: Option<&Statistics>) -> Option<Vec<u8>> {
    let Some(Statistics::ByteArray(of)) = statistics else { return None };
    let is_exact = of.min_is_exact() && of.max_is_exact() && of.null_count_opt() == Some(0);
    let (least, greatest) = (of.min_opt()?, of.max_opt()?);
    (is_exact && least == greatest).then(|| least.data().to_vec())
}
