//! The figures that decide, in one place. Where nothing else is said they are common practice, no source: starting
//! values, moved only together with the simulations of `tests/simulated.rs`.

/// One minute, in milliseconds.
pub const MINUTE: u64 = 60_000;

/// A row is of a moment, and not of a stretch, where rows are no further apart than this, in seconds.
pub const FINE_STEP: f64 = 2.0;
/// Rows at least this far apart are judged as means, in seconds.
pub const MEANS_STEP: f64 = 60.0;
/// How long a response to voltage may take where its setting says no more, in seconds (common among standards: 10 s
/// for 90 % of it).
pub const RESPONSE_TIME: f64 = 10.0;
/// How long net export may lie above its limit, in seconds.
pub const REMOVAL_TIME: f64 = 15.0;

/// Below this share of rated apparent power a device may give no vars, whatever it is set to (a public study uses the
/// same; otherwise from memory).
pub const NO_VARS_BELOW: f64 = 0.2;
/// Reactive power is asked for from this share of rated apparent power up (a public study uses 20 %).
pub const REACTIVE_FROM: f64 = 0.25;
/// Below this share of rated apparent power a device is taken to be off.
pub const ON_FROM: f64 = 0.02;
/// More than so many times what is on its nameplate no device gives: another device's log, or another unit.
pub const BEYOND_RATING: f64 = 1.3;
/// A row that gives less than this share of both its neighbours may hold a stop.
pub const STEADY: f64 = 0.7;
/// The least standard deviation of voltage within a row of means that nobody states, in volts; and how many times the
/// step between neighbouring rows it is taken to be.
pub const LEAST_SPREAD: f64 = 0.6;
/// See [`LEAST_SPREAD`].
pub const SPREAD_OF_STEP: f64 = 1.2;
/// Rows that repeat each other to the last digit for this long, in milliseconds, and so many of them, are stuck.
pub const STUCK_FOR: u64 = 10 * MINUTE;
/// See [`STUCK_FOR`].
pub const STUCK_ROWS: usize = 10;
/// Voltages outside these shares of nominal are no reading of a device that is on.
pub const PLAUSIBLE_VOLTS: [f64; 2] = [0.5, 1.5];
/// The greatest rise between the point where voltage was measured and the terminals, as a share of nominal, where
/// nobody states the place.
pub const MOST_RISE: f64 = 0.02;

/// What has to be seen before an answer is given.
#[derive(Clone, Copy, Debug)]
pub struct Thresholds {
    /// Outside of the band for this long, in milliseconds, before it departs.
    pub outside: u64,
    /// Informative for this long, in milliseconds, before it behaves.
    pub informative: u64,
    /// A block, in milliseconds: rows within one repeat each other.
    pub block: u64,
}

/// For rows of a minute or more, and those between.
pub const COARSE: Thresholds = Thresholds { outside: 20 * MINUTE, informative: 45 * MINUTE, block: 10 * MINUTE };
/// For rows of a moment.
pub const FINE: Thresholds = Thresholds { outside: 2 * MINUTE, informative: 5 * MINUTE, block: MINUTE };

/// In so many blocks.
pub const BLOCKS: u32 = 3;
/// A log of so many days is asked for several of them …
pub const LONG_LOG: usize = 3;
/// … so many.
pub const DAYS: u32 = 2;
/// It departs where this share of usable time is outside …
pub const OUTSIDE_OF_USABLE: f64 = 0.02;
/// … or this share of the time in which it could be seen to act.
pub const OUTSIDE_OF_INFORMATIVE: f64 = 0.2;
/// It behaves where no more than this share of the informative time is outside.
pub const STRAY_OF_INFORMATIVE: f64 = 0.1;
/// What is shown spans at least this share of rated apparent power of what is required …
pub const SPAN: f64 = 0.03;
/// … of a limit on active power that falls with voltage.
pub const CAP_SPAN: f64 = 0.08;
/// The share of powers within one volt that counts as their upper edge.
pub const UPPER_EDGE: f64 = 0.9;
/// So many neighbouring volts show that the upper edge falls.
pub const EDGE_BINS: usize = 3;
/// Of rows that are no measurement, more than this share leaves the log unsound.
pub const UNSOUND: f64 = 0.5;

/// A curve fits where no more than this share of the time lies outside its band …
pub const STRAY_OF_LIKENESS: f64 = 0.05;
/// … and is named where the next best lies farther off by this factor …
pub const CLEARLY_WORSE: f64 = 1.3;
/// … and by this share of rated apparent power …
pub const CLEARLY_WORSE_BY: f64 = 0.005;
/// … and where it stays first in so many of so many resamplings …
pub const RESAMPLINGS_THAT_AGREE: usize = 99;
/// … see [`RESAMPLINGS_THAT_AGREE`] …
pub const RESAMPLINGS: usize = 100;
/// … of days, where there are so many; of blocks, where there are fewer.
pub const DAYS_TO_DRAW: usize = 10;

/// Of devices that act as they are set, at most this share departs, on average: certainly …
pub const FALSE_ALARMS_CERTAIN: f64 = 0.001;
/// … and certainly or likely. What simulated logs are held against.
pub const FALSE_ALARMS: f64 = 0.01;
