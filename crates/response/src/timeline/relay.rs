//! A grid protection relay: a device of its own, whose stages open the supply of all that sits behind it.

use super::Micros;
use super::condition::Count;
use super::protection::Reconnection;

/// A relay; its stages stand among those of the device behind it.
#[derive(Clone, Debug, PartialEq)]
pub struct Relay {
    /// How many phases of a sample it looks at.
    pub phases: usize,
    /// When it closes again; its ramp means nothing.
    pub reconnection: Reconnection,
}

/// Where and when a stage that has picked up lets go, so that its time counts from zero again.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct DropOff {
    /// Where the value has to be back: nearest to the threshold and farthest from it, where nobody
    /// knows which.
    pub at: [f64; 2],
    /// For how long it has to be back, at the least and at the most.
    pub reset: [Micros; 2],
}

impl DropOff {
    /// At the threshold itself, at once: a stage of an inverter.
    #[must_use]
    pub fn at_threshold(threshold: f64) -> Self {
        Self { at: [threshold; 2], reset: [0; 2] }
    }

    pub(super) fn at(&self, count: Count) -> f64 {
        self.at[count.of_most()]
    }

    pub(super) fn reset(&self, count: Count) -> Micros {
        self.reset[count.of_most()]
    }
}
