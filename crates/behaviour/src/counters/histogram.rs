//! How long a device was where: voltage against power, sparse.

use crate::happened::Millis;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// How long at which (voltage, power): sparse, a list of `[quarter volts, hundredths of the rating, milliseconds]`.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(transparent)]
pub struct Histogram(
    #[serde(with = "cells")]
    #[schemars(with = "Vec<(i16, i16, Millis)>")]
    pub BTreeMap<(i16, i16), Millis>,
);

/// The width of a cell in volts.
pub const CELL_VOLTS: f64 = 0.25;
/// Its height as a share of rated apparent power.
pub const CELL_SHARE: f64 = 0.01;

impl Histogram {
    /// Whether nothing was counted.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.0.is_empty()
    }

    /// The cell of a voltage and a share of rated apparent power.
    #[must_use]
    pub fn cell(volts: f64, share: f64) -> (i16, i16) {
        ((volts / CELL_VOLTS).floor() as i16, (share / CELL_SHARE).floor() as i16)
    }

    /// Counts rows by their cells, and forgets them.
    pub fn take_in(&mut self, rows: &mut Vec<((i16, i16), Millis)>) {
        rows.sort_unstable_by_key(|(cell, _)| *cell);
        for same in rows.chunk_by(|one, other| one.0 == other.0) {
            *self.0.entry(same[0].0).or_default() += same.iter().map(|(_, lasted)| lasted).sum::<Millis>();
        }
        rows.clear();
    }

    /// The middle of each cell, and how long.
    pub fn cells(&self) -> impl Iterator<Item = (f64, f64, Millis)> + '_ {
        self.0.iter().map(|((x, y), lasted)| ((f64::from(*x) + 0.5) * CELL_VOLTS, (f64::from(*y) + 0.5) * CELL_SHARE, *lasted))
    }

    pub(super) fn add(&mut self, other: &Self) {
        other.0.iter().for_each(|(cell, lasted)| *self.0.entry(*cell).or_default() += lasted);
    }
}

/// A histogram as a list: a map's keys are text in JSON.
mod cells {
    use super::Millis;
    use crate::within::OfDay;
    use serde::{Deserialize, Deserializer, Serializer};
    use std::collections::BTreeMap;

    type Cells = BTreeMap<(i16, i16), Millis>;

    pub fn serialize<S: Serializer>(cells: &Cells, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_seq(cells.iter().map(|((x, y), lasted)| (x, y, lasted)))
    }

    pub fn deserialize<'de, D: Deserializer<'de>>(deserializer: D) -> Result<Cells, D::Error> {
        let mut cells = Cells::new();
        for (x, y, OfDay(lasted)) in Vec::<(i16, i16, OfDay)>::deserialize(deserializer)? {
            *cells.entry((x, y)).or_default() += lasted;
        }
        Ok(cells)
    }
}
