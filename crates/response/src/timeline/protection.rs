//! The stages of a device, and when it may connect.

use super::condition::Count;
use super::relay::{DropOff, Relay};
use super::ride_through::RideThrough;
use super::story::BrokenOff;
use super::{Micros, Sample};

/// What makes a device leave and return.
#[derive(Clone, Debug, Default)]
pub struct Protection {
    /// Its stages, in the order of the catalogue; then those of the relays before it.
    pub stages: Vec<Stage>,
    /// When it may connect.
    pub reconnection: Reconnection,
    /// Where it gives nothing for a moment without leaving.
    pub ceasing: Ceasing,
    /// The grid protection relays that it sits behind, each of which opens its supply.
    pub relays: Vec<Relay>,
}

impl Protection {
    /// How many phases a stage looks at; a device's own see `own`.
    pub(super) fn phases_of(&self, stage: &Stage, own: usize) -> usize {
        stage.relay.and_then(|relay| self.relays.get(relay)).map_or(own, |relay| relay.phases)
    }
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
    /// How long the condition has to last before it may trip, at the shortest.
    pub least: Micros,
    /// The same by how far the value lies beyond the threshold, where that matters.
    pub rides: RideThrough,
    /// By when it has to be off, from the same moment; [`Micros::MAX`] where nobody says.
    pub most: Micros,
    /// Where it lets go once it has picked up.
    pub drop_off: DropOff,
    /// The relay that holds it, by its place; `None` for a stage of the device itself.
    pub relay: Option<usize>,
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
pub(super) enum Position {
    /// Beyond the drop-off.
    Inside,
    /// Back within the threshold, and not beyond the drop-off.
    Near,
    Outside,
    /// The log does not say.
    Unknown,
}

impl Stage {
    /// Where a momentary value stands; means are somebody else's. Of `phases` phases, one that the log
    /// lacks just now may be anywhere.
    pub(super) fn standing(&self, sample: &Sample, phases: usize, count: Count) -> Position {
        let standing = self.of(self.value(sample, phases), self.drop_off.at(count));
        let lacks_one = self.watched == Watched::AnyPhase && sample.voltage[..phases].iter().any(|v| v.is_nan());
        if standing != Position::Outside && lacks_one { Position::Unknown } else { standing }
    }

    /// Whether a value lies past its threshold.
    pub(super) fn is_outside(&self, sample: &Sample, phases: usize) -> bool {
        self.of(self.value(sample, phases), self.threshold) == Position::Outside
    }

    /// How long the condition has to last at a value before it may trip.
    pub(super) fn least_at(&self, sample: &Sample, phases: usize) -> Micros {
        self.rides.least_at(self.value(sample, phases), self.side).unwrap_or(self.least)
    }

    /// The value that it looks at.
    pub(super) fn value(&self, sample: &Sample, phases: usize) -> f64 {
        match (self.watched, self.side) {
            (Watched::Frequency, _) => sample.frequency,
            (_, Side::Above) => sample.highest(phases),
            (_, Side::Below) => sample.lowest(phases),
        }
    }

    fn of(&self, value: f64, drop_off: f64) -> Position {
        match self.side {
            _ if value.is_nan() => Position::Unknown,
            Side::Above if value > self.threshold => Position::Outside,
            Side::Below if value < self.threshold => Position::Outside,
            Side::Above if value > drop_off => Position::Near,
            Side::Below if value < drop_off => Position::Near,
            _ => Position::Inside,
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
    /// What of a value lies outside.
    pub(super) fn broken_off(&self, sample: &Sample, phases: usize) -> BrokenOff {
        let outside = sample.voltage[..phases].iter().find(|v| **v < self.voltage[0] || **v > self.voltage[1]);
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
    /// Whether voltage and frequency are known to be inside.
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
    pub(super) fn acts(&self, sample: &Sample, phases: usize) -> bool {
        sample.lowest(phases) < self.below || sample.highest(phases) > self.above
    }
}
