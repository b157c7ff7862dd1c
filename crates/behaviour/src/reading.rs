//! Rows as readings: what the voltage and the power may have been over each, whether the device was on for all of it,
//! and why a row cannot be used.

mod stuck;
mod window;

use crate::hypotheses::Follows;
use crate::thresholds::{FINE_STEP, MEANS_STEP};
use logs::Row;
use response::timeline::Micros;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
pub use window::{Became, Readings};

/// What is known of a log and of the device before its rows are read.
#[derive(Clone, Debug)]
pub struct Setup {
    /// Nominal voltage, line to neutral.
    pub nominal: f64,
    /// Rated apparent power, in volt-amperes.
    pub rated: f64,
    /// The most that it can ever give, in watts: what is far beyond is no reading of this device.
    pub nameplate: f64,
    /// The places of the phases that the device feeds, among those measured.
    pub phases: Vec<usize>,
    /// Whether the log has net flow in place of the site's own use.
    pub is_net: bool,
    /// The usual step between rows.
    pub step: Micros,
    /// The longest step that is no gap.
    pub longest: Micros,
    /// How long a response may take, in seconds: the longest of those that are set, and no less than is usual.
    pub response_time: f64,
    /// Standard deviation of voltage within a row, where somebody states it.
    pub spread: Option<f64>,
    /// What is added to times so that a day begins where the log's clock has midnight, in microseconds.
    pub day_shift: Micros,
}

impl Setup {
    /// Whether rows are of moments.
    #[must_use]
    pub fn is_fine(&self) -> bool {
        self.seconds() <= FINE_STEP
    }

    /// Whether rows stand for what moved within them.
    #[must_use]
    pub fn are_means(&self) -> bool {
        self.seconds() >= MEANS_STEP
    }

    /// The usual step, in seconds.
    #[must_use]
    pub fn seconds(&self) -> f64 {
        self.step as f64 / 1e6
    }

    /// The day of a time, counted from 1970 or from the log's own nought.
    #[must_use]
    pub fn day(&self, at: Micros) -> i32 {
        const DAY: Micros = 86_400_000_000;
        (at + self.day_shift).div_euclid(DAY) as i32
    }
}

/// What is measured at one time.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Moment {
    /// When.
    pub at: Micros,
    /// Mean, highest and lowest voltage of the phases that the device feeds.
    pub volts: [f64; 3],
    /// Watts given.
    pub watts: f64,
    /// Vars, by the log's own sign.
    pub vars: f64,
    /// Watts that could have been given.
    pub available: f64,
    /// Watts that left the site.
    pub export: f64,
    /// Whether it repeats others for too long to be measured.
    is_stuck: bool,
}

impl Moment {
    fn of(row: &Row, setup: &Setup) -> Self {
        let (mut sum, mut high, mut low) = (0.0, f64::NEG_INFINITY, f64::INFINITY);
        for phase in &setup.phases {
            let volts = row.values[*phase];
            sum += volts;
            high = high.max(volts);
            low = low.min(volts);
        }
        // a phase that is missing leaves no sum
        let mean = sum / setup.phases.len() as f64;
        let volts = if mean.is_nan() { [f64::NAN; 3] } else { [mean, high, low] };
        let (watts, vars, available) = (row.power(), row.reactive(), row.available());
        Self { at: row.at, volts, watts, vars, available, export: row.export(setup.is_net), is_stuck: false }
    }

    /// A moment that was made and not read, at a site that uses all that is given.
    #[must_use]
    pub fn steady(volts: f64, watts: f64, available: f64) -> Self {
        let export = -10.0 * available.abs().max(watts.abs());
        Self { at: 0, volts: [volts; 3], watts, vars: 0.0, available, export, is_stuck: false }
    }

    fn repeats(&self, other: &Self) -> bool {
        self.volts == other.volts && self.watts.to_bits() == other.watts.to_bits() && self.vars.to_bits() == other.vars.to_bits()
    }
}

/// What a value may have been over a row.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stretch {
    /// At the least; of a mean, the mean.
    pub low: f64,
    /// At the most.
    pub high: f64,
    /// The standard deviation about it.
    pub spread: f64,
    /// What it moved between, from the row before to the row after: a response may lag behind.
    pub swing: [f64; 2],
}

/// A row that can be judged.
#[derive(Clone, Copy, Debug)]
pub struct Reading {
    /// What was measured.
    pub moment: Moment,
    /// How long it stands for, in milliseconds.
    pub lasted: u64,
    /// Its day.
    pub day: i32,
    /// Voltage, by what the device may follow: mean, highest, lowest.
    pub volts: [Stretch; 3],
    /// Watts.
    pub watts: Stretch,
    /// Whether the device was on for all of it.
    pub is_on: bool,
    /// Whether it gave enough, and steadily, for reactive power to be asked of it.
    pub is_loaded: bool,
    /// The share of the row for which it may have been off, by what it gave in the rows beside it.
    pub off_for: f64,
}

impl Reading {
    /// The voltage that is followed.
    #[must_use]
    pub fn followed(&self, follows: Follows) -> &Stretch {
        &self.volts[match follows {
            Follows::Mean => 0,
            Follows::Highest => 1,
            Follows::Lowest => 2,
        }]
    }
}

/// Why a row, or some of it, was not used.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum LeftOut {
    /// No voltage or no power in it.
    Blank,
    /// No voltage of a device that is on.
    Implausible,
    /// More power than the device can ever give.
    BeyondRating,
    /// The same to the last digit for too long.
    Stuck,
    /// Beside a gap.
    BesideGap,
    /// The device gave nothing.
    Off,
    /// It gave too little for reactive power to be asked of it.
    LowPower,
    /// It gave much less than in the rows beside it, so that it may have stopped within.
    Unsteady,
}

impl LeftOut {
    /// All, in order.
    pub const ALL: [Self; 8] =
        [Self::Blank, Self::Implausible, Self::BeyondRating, Self::Stuck, Self::BesideGap, Self::Off, Self::LowPower, Self::Unsteady];

    /// Whether it is no measurement, whatever the device did.
    #[must_use]
    pub fn is_unsound(self) -> bool {
        matches!(self, Self::Blank | Self::Implausible | Self::BeyondRating | Self::Stuck)
    }
}
