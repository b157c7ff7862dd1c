//! A log that a verb reads: opened, found plausible for its site, with the step between its rows.

pub mod notes;

use super::operand::{OperandError, write_fault};
use crate::Exit;
use crate::args::{LogForm, MeansStamped};
use crate::walk::write_messages;
use logs::{Expected, Log, LogError, Plausible, ReadOptions, Row, Spacing};
use replay::held::DeviceAtMoment;
use response::timeline::{Micros, micros};
use rules::assess::Assessor;
use settings_model::exact::Exact;
use settings_model::facts::{FactId, Facts};
use settings_model::quantity::Dimension;
use std::io;
use std::path::Path;

/// Values closer than this prove a mean (IEC 61000-4-30 builds its 10-minute values from 3-second
/// ones; from memory).
const PROVES_MEANS: Micros = 3_000_000;
/// The window of the means that stages look at.
const TEN_MINUTES: Micros = 600_000_000;
/// Values this far apart are taken to be means, unless it is said that they are not (common practice,
/// no source).
const TAKEN_FOR_MEANS: Micros = 60_000_000;

/// Why a log could not be used.
pub enum Refused {
    /// Because of what it was to be used for.
    Operand(OperandError),
    /// Because of the log.
    Log(LogError),
}

impl From<OperandError> for Refused {
    fn from(fault: OperandError) -> Self {
        Self::Operand(fault)
    }
}

impl From<LogError> for Refused {
    fn from(fault: LogError) -> Self {
        Self::Log(fault)
    }
}

impl From<String> for Refused {
    fn from(says: String) -> Self {
        Self::Operand(OperandError::Words(says))
    }
}

/// Says on standard error why.
pub fn write_refused(refused: Refused, log: &Path, assessor: &mut Assessor) -> io::Result<Exit> {
    match refused {
        Refused::Operand(fault) => write_fault(fault, assessor),
        Refused::Log(fault) => {
            let finding = fault.finding(&terminal::path(log), &mut assessor.sources);
            write_messages(&[finding], &assessor.sources).map(|()| Exit::CouldNotTell)
        }
    }
}

/// The first rows of a log of a device, and what they show of it.
pub struct Begun {
    /// The first rows, moved by `shift`.
    pub rows: Vec<Row>,
    /// Brings rows to volts.
    pub plausible: Plausible,
    /// How far apart rows are.
    pub spacing: Spacing,
    /// Whether values are means.
    pub are_means: bool,
    /// What is taken off every time: means that are stamped with their end hold from their beginning.
    pub shift: Micros,
}

/// How a log is read, as the command line says.
pub fn options(form: &LogForm) -> Result<ReadOptions, LogError> {
    ReadOptions::new(form.columns.as_deref(), form.line_to_line, form.dates)
}

/// Begins a log of a device, or in a log of many the rows of one.
pub fn begin(log: &mut Log, form: &LogForm, expected: Expected) -> Result<Begun, Refused> {
    let mut rows = log.more()?;
    let mut plausible = Plausible::new(&log.layout, expected);
    plausible.volts(&mut rows, &log.layout)?;
    let spacing = Spacing::of(&rows, form.gap.as_deref().map(time).transpose()?);
    if rows.len() < 2 {
        return Err(LogError::new("one-row", "the log has a single row: nothing lasts in it", "name a log with rows").into());
    }
    let are_means = form.means.is_some() || (!form.samples && (log.layout.says_means || spacing.usual >= TAKEN_FOR_MEANS));
    let shift = if form.means == Some(MeansStamped::End) { spacing.usual } else { 0 };
    rows.iter_mut().for_each(|row| row.at -= shift);
    Ok(Begun { rows, plausible, spacing, are_means, shift })
}

/// Whether values prove a longer mean: means do only where it is made of whole ones.
pub fn prove_means(are_means: bool, spacing: Spacing) -> bool {
    if are_means { TEN_MINUTES % spacing.usual.max(1) == 0 } else { spacing.usual <= PROVES_MEANS }
}

/// What the site of a device lets expect of a log.
pub fn expected(held: &DeviceAtMoment<'_>) -> Expected {
    let nominal = held.facts.number(FactId::NominalVoltage).map_or(230.0, Exact::approximate);
    let book = held.asked.as_ref().map(|(book, _)| &book.rulebook);
    Expected {
        nominal,
        frequency: book.and_then(|book| book.nominal_frequency).map(Exact::approximate),
        rated: held.facts.number(FactId::RatedPower).or_else(|| held.facts.number(FactId::Nameplate)).map(Exact::approximate),
    }
}

fn time(text: &str) -> Result<Micros, String> {
    let amount = Dimension::Time.parse(text).map_err(|slip| format!("--gap: {slip}"))?;
    let seconds = amount.at(&Facts::default()).map(Exact::approximate).filter(|seconds| *seconds > 0.0);
    seconds.map(micros).ok_or_else(|| format!("--gap: `{text}` is no time above zero; write it as `10 s`"))
}
