//! The stages of a device, and when it may connect.

use super::track::BrokenOff;
use super::{Micros, Sample};

/// What makes a device leave and return.
#[derive(Clone, Debug, Default)]
pub struct Protection {
    /// Its stages, in the order of the catalogue.
    pub stages: Vec<Stage>,
    /// When it may connect.
    pub reconnection: Reconnection,
    /// Where it gives nothing for a moment without leaving.
    pub ceasing: Ceasing,
}

/// One stage.
#[derive(Clone, Debug, PartialEq)]
pub struct Stage {
    /// The function of the catalogue, such as `overvoltage-1`.
    pub function: &'static str,
    /// What it looks at.
    pub watched: Watched,
    /// On which side of its threshold it acts.
    pub side: Side,
    /// Volts or hertz; strict: equal is not outside.
    pub threshold: f64,
    /// How long the condition has to last before it may trip.
    pub least: Micros,
    /// By when it has to be off, from the same moment; [`Micros::MAX`] where nobody says.
    pub most: Micros,
}

/// What a stage looks at.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Watched {
    /// Any phase by itself.
    AnyPhase,
    /// The mean of any phase over a window.
    MeanOfAnyPhase(Micros),
    /// Frequency.
    Frequency,
}

/// On which side of a threshold a stage acts.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Side {
    /// Above it.
    Above,
    /// Below it.
    Below,
}

/// Where a value stands to a threshold.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Standing {
    Inside,
    Outside,
    /// The log does not say.
    Unknown,
}

impl Stage {
    /// Where a momentary value stands; means are somebody else's. Of `phases` phases, one that the log
    /// lacks just now may be anywhere.
    pub(super) fn standing(&self, sample: &Sample, phases: usize) -> Standing {
        let standing = self.of(self.value(sample));
        let lacks_one = self.watched == Watched::AnyPhase && sample.voltage[..phases].iter().any(|v| v.is_nan());
        if standing == Standing::Inside && lacks_one { Standing::Unknown } else { standing }
    }

    /// The value that it looks at.
    pub(super) fn value(&self, sample: &Sample) -> f64 {
        match (self.watched, self.side) {
            (Watched::Frequency, _) => sample.frequency,
            (_, Side::Above) => sample.highest(),
            (_, Side::Below) => sample.lowest(),
        }
    }

    fn of(&self, value: f64) -> Standing {
        match self.side {
            _ if value.is_nan() => Standing::Unknown,
            Side::Above if value > self.threshold => Standing::Outside,
            Side::Below if value < self.threshold => Standing::Outside,
            _ => Standing::Inside,
        }
    }

    /// By when it has to be off after its condition began.
    pub(super) fn latest(&self, since: Micros) -> Micros {
        since.saturating_add(self.most)
    }
}

/// When a device may connect, and how it then comes up. Windows are inclusive.
#[derive(Clone, Debug, PartialEq)]
pub struct Reconnection {
    /// Lowest and highest voltage of every phase, in volts.
    pub voltage: [f64; 2],
    /// Lowest and highest frequency, in hertz.
    pub frequency: [f64; 2],
    /// How long both must hold: what is known to be enough at the soonest and at the latest;
    /// [`Micros::MAX`] where nobody says.
    pub observation: [Micros; 2],
    /// The longest wait of random length after that.
    pub random: Micros,
    /// From nothing to rated active power, in microseconds; 0 where it does not ramp.
    pub ramp: Micros,
}

impl Reconnection {
    /// What of a value lies outside, or is missing.
    pub(super) fn broken_off(&self, sample: &Sample, phases: usize) -> BrokenOff {
        let outside = sample.voltage[..phases].iter().find(|v| !(self.voltage[0] <= **v && **v <= self.voltage[1]));
        outside.map_or(BrokenOff::Frequency(sample.frequency), |v| BrokenOff::Voltage(*v))
    }
}

impl Default for Reconnection {
    /// Connects at once, anywhere.
    fn default() -> Self {
        let anywhere = [f64::NEG_INFINITY, f64::INFINITY];
        Self { voltage: anywhere, frequency: anywhere, observation: [0; 2], random: 0, ramp: 0 }
    }
}

impl Reconnection {
    /// Whether voltage and frequency are inside; what the log does not say is not inside.
    pub(super) fn holds(&self, sample: &Sample, phases: usize) -> bool {
        let inside = |value: f64, [low, high]: [f64; 2]| low <= value && value <= high;
        sample.voltage[..phases].iter().all(|v| inside(*v, self.voltage))
            && (inside(sample.frequency, self.frequency) || (sample.frequency.is_nan() && self.frequency[0] == f64::NEG_INFINITY))
    }
}

/// Where a device gives nothing for a moment without leaving.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Ceasing {
    /// Below this voltage of any phase.
    pub below: f64,
    /// Above it.
    pub above: f64,
}

impl Default for Ceasing {
    /// Nowhere.
    fn default() -> Self {
        Self { below: f64::NEG_INFINITY, above: f64::INFINITY }
    }
}

impl Ceasing {
    pub(super) fn acts(&self, sample: &Sample) -> bool {
        sample.lowest() < self.below || sample.highest() > self.above
    }
}
