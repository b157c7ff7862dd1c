//! What a device does over time, from a log of voltage and frequency.
//!
//! A log never says all: between two samples anything may have passed, and between its least delay and
//! its disconnection time a device may act when it likes. So what is carried from row to row is the set of
//! states that lawful devices can be in (`states`): on, or off behind each set of relays, with
//! intervals for when each connected, left and began to observe. Conditions of stages are the supply's
//! business and shared by all (`condition`); the device's only choice is when it trips within its window. A
//! happening leads from one state to another. It is certain where every device was in the first state and
//! none is at the end; a device that may ride the first dip and trip in the second makes both of them
//! "may have". Playing only the soonest and the latest device is not enough: others lie between them.
//!
//! Rules that every part keeps (semantics, Timeline):
//! - thresholds are strict, reconnection windows are inclusive; a stage trips when its condition has
//!   lasted at least its time; one sample in range clears its timer, so repeated dips do not add up;
//!   stages time independently of each other;
//! - a sample holds until the next for averages and energy; time is counted from time stamps in whole
//!   microseconds, never by adding floating-point steps;
//! - an observation starts when voltage and frequency are both inside and starts again at any excursion;
//!   a ride-through does not start a ramp again, a trip does; to cease for a moment is not a trip;
//! - a mean is weighted by time over its whole window, exact in integers, and undecided until the window
//!   is full;
//! - a stage of a grid protection relay that has picked up lets go only beyond its drop-off, for its
//!   reset time; the relay opens the supply of the device, which then waits behind it;
//! - a log coarser than a stage's time never proves that the stage tripped: between two values outside
//!   it may have come back; nor that it did not: between two inside it may have gone out. The first is a
//!   trip that "may have been", the second is for whoever tells of the log to say.

mod calm;
mod condition;
mod energy;
mod frequency_memory;
mod gap;
mod mean_watch;
mod observation;
mod off;
mod on;
mod player;
mod protection;
mod relay;
mod ride_through;
mod rolling_mean;
mod states;
mod story;
mod timer;

pub use energy::{Cause, Energy, Lost};
pub use player::{Player, Values};
pub use protection::{Ceasing, Protection, Reconnection, Side, Stage, Watched};
pub use relay::{DropOff, Relay};
pub use ride_through::{Ridden, RideThrough};
pub use states::{Change, State};
pub use story::{BrokenOff, Happening, Merged, Sure};

/// Whole microseconds, since whatever the log counts from.
pub type Micros = i64;

/// The longest time that is counted, about 36,500 years: eight of them still add up.
pub const LONGEST: Micros = 1 << 60;

/// Microseconds of a number of seconds; of more than [`LONGEST`], that.
#[must_use]
pub fn micros(seconds: f64) -> Micros {
    ((seconds * 1e6).round() as Micros).clamp(-LONGEST, LONGEST)
}

/// What a log says at one moment. What it does not say is not a number.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Sample {
    /// When.
    pub at: Micros,
    /// Each phase, line to neutral, in volts; phases that the log lacks are not a number. Those of the
    /// device come first: a relay before it may look at more.
    pub voltage: [f64; 3],
    /// In hertz.
    pub frequency: f64,
    /// What the source could have given, in watts; below zero, what storage wants to charge with.
    pub available: f64,
    /// What the site uses itself, in watts: an export limit acts on what leaves the site.
    pub load: f64,
}

impl Sample {
    /// What lies in the middle of two values; its moment is the first's.
    fn between(&self, other: &Self) -> Self {
        Self {
            at: self.at,
            voltage: std::array::from_fn(|phase| f64::midpoint(self.voltage[phase], other.voltage[phase])),
            frequency: f64::midpoint(self.frequency, other.frequency),
            available: f64::midpoint(self.available, other.available),
            load: f64::midpoint(self.load, other.load),
        }
    }

    /// The highest of so many phases, from the first on.
    #[must_use]
    pub fn highest(&self, phases: usize) -> f64 {
        self.voltage[..phases].iter().copied().fold(f64::NAN, f64::max)
    }

    /// The lowest of so many phases.
    #[must_use]
    pub fn lowest(&self, phases: usize) -> f64 {
        self.voltage[..phases].iter().copied().fold(f64::NAN, f64::min)
    }

    /// The mean of those of so many phases that the log has: what the answers to voltage are taken to
    /// measure (common practice, no source).
    #[must_use]
    pub fn mean(&self, phases: usize) -> f64 {
        let known = self.voltage[..phases].iter().filter(|v| !v.is_nan());
        let (sum, n) = known.fold((0.0, 0.0), |(sum, n), v| (sum + v, n + 1.0));
        sum / n
    }
}
