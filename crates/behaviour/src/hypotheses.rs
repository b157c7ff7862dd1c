//! What nobody knows of a log and is the same for all of it: the meter's constant error of voltage, the rise from
//! where it was measured to the terminals, which phase the device follows, which way reactive power is counted.
//! Each is tried in turn; one set of them has to explain the whole log.

use serde::{Deserialize, Serialize};

/// Which voltage a device on several phases follows.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Follows {
    /// Their mean.
    Mean,
    /// The highest.
    Highest,
    /// The lowest.
    Lowest,
}

/// One set of them.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub struct Hypothesis {
    /// What has to be added to the voltage read, in volts.
    pub offset: f64,
    /// How far the terminals lie above it at rated power, in volts.
    pub rise: f64,
    /// Which voltage is followed.
    pub follows: Follows,
    /// Whether reactive power above zero is absorbed in this log.
    pub is_reversed: bool,
}

/// Where a log was measured.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Place {
    /// At the device's own terminals.
    Terminals,
    /// Somewhere between: the device's own powers, another voltage.
    Between,
    /// At the point of supply: powers are those of the whole site.
    Supply,
    /// Nobody says; powers are taken to be the device's own.
    NotStated,
}

/// Which way a log counts reactive power.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Counts {
    /// Above zero is supplied.
    Supplies,
    /// Above zero is absorbed.
    Absorbs,
    /// Nobody says.
    NotStated,
}

/// All that are tried, in an order that stays.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Grid {
    /// Each of them.
    pub all: Vec<Hypothesis>,
    /// Half of what lies between two offsets, so that none is left out.
    pub offset_half: f64,
    /// Half of what lies between two rises.
    pub rise_half: f64,
}

/// How many offsets are tried, and how many rises where the place is not the terminals.
const OFFSETS: usize = 9;
/// See [`OFFSETS`].
const RISES: usize = 5;

impl Grid {
    /// For a log: the meter's greatest error in volts, the greatest rise in volts (0 at the terminals), how many
    /// phases, which way reactive power is counted.
    #[must_use]
    pub fn new(error: f64, most_rise: f64, phases: usize, counts: Counts) -> Self {
        let (offsets, offset_half) = steps(-error, error, OFFSETS);
        let (rises, rise_half) = steps(0.0, most_rise, RISES);
        let follows: &[Follows] = if phases > 1 { &[Follows::Mean, Follows::Highest, Follows::Lowest] } else { &[Follows::Mean] };
        let signs: &[bool] = match counts {
            Counts::Supplies => &[false],
            Counts::Absorbs => &[true],
            Counts::NotStated => &[false, true],
        };
        let mut all = Vec::new();
        for is_reversed in signs {
            for follows in follows {
                for rise in &rises {
                    let of = |offset: &f64| Hypothesis { offset: *offset, rise: *rise, follows: *follows, is_reversed: *is_reversed };
                    all.extend(offsets.iter().map(of));
                }
            }
        }
        Self { all, offset_half, rise_half }
    }

    /// For what does not look at voltage, and for what does not look at reactive power: those that differ in nothing
    /// else are one.
    #[must_use]
    pub fn looking_at(&self, volts: bool, vars: bool) -> Self {
        let mut all: Vec<Hypothesis> = Vec::new();
        for one in &self.all {
            let seen = Hypothesis {
                offset: if volts { one.offset } else { 0.0 },
                rise: if volts { one.rise } else { 0.0 },
                follows: if volts { one.follows } else { Follows::Mean },
                is_reversed: vars && one.is_reversed,
            };
            if !all.contains(&seen) {
                all.push(seen);
            }
        }
        Self { all, ..*self }
    }
}

fn steps(low: f64, high: f64, count: usize) -> (Vec<f64>, f64) {
    if high <= low {
        return (vec![low], 0.0);
    }
    let step = (high - low) / (count - 1) as f64;
    ((0..count).map(|n| low + step * n as f64).collect(), step / 2.0)
}
