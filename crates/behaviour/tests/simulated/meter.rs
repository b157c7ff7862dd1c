//! A meter that reads what was within its limits: constant errors, errors that grow with what is read, an error of
//! phase, one that comes and goes with the warmth of the day, noise, and steps.

use super::chance::Chance;
use behaviour::accuracy::Accuracy;

/// What was, on average over a row.
#[derive(Clone, Copy, Debug, Default)]
pub struct Mean {
    /// Of each phase, where the meter is.
    pub volts: [f64; 3],
    pub watts: f64,
    pub vars: f64,
    pub available: f64,
    pub export: f64,
}

pub struct Meter {
    /// Constant, in volts, watts and vars.
    offsets: [f64; 3],
    /// Per unit of watts and vars.
    gains: [f64; 2],
    /// Vars for each watt.
    phase: f64,
    /// Volts that come and go with the day.
    warmth: f64,
    /// What is left of its limits for noise.
    noise: [f64; 3],
    resolution: [f64; 3],
}

impl Meter {
    /// One whose errors of voltage and power do not change.
    pub fn steady(chance: &mut Chance, accuracy: &Accuracy, resolution: [f64; 3]) -> Self {
        let limits = [accuracy.volts, accuracy.watts, accuracy.vars];
        let offsets = limits.map(|limit| limit * chance.between(-1.0, 1.0));
        let noise = [0, 1, 2].map(|n| ((limits[n] - offsets[n].abs()) / 3.0).min(limits[n] * 0.1));
        Self { offsets, gains: [0.0; 2], phase: 0.0, warmth: 0.0, noise, resolution }
    }

    /// One that shares its limits among all kinds of errors, for a device of this rating.
    pub fn any(chance: &mut Chance, accuracy: &Accuracy, resolution: [f64; 3], rated: f64) -> Self {
        let limits = [accuracy.volts, accuracy.watts, accuracy.vars];
        let mut shares = |limit: f64| {
            let all = [0; 4].map(|_| chance.share().powi(2));
            let most = limit * chance.between(0.3, 1.0) / all.iter().sum::<f64>();
            all.map(|share| share * most * if chance.flips() { 1.0 } else { -1.0 })
        };
        let [volts, watts, vars] = limits.map(&mut shares);
        Self {
            offsets: [volts[0], watts[0], vars[0]],
            gains: [watts[1] / rated, vars[1] / rated],
            phase: vars[2] / rated,
            warmth: volts[1],
            noise: [volts[2], watts[2], vars[3]].map(|share| share.abs() / 3.0),
            resolution,
        }
    }

    /// What it writes at a time of day.
    pub fn reads(&self, mean: Mean, at: f64, chance: &mut Chance) -> Mean {
        let warm = self.warmth * (std::f64::consts::TAU * at / 86_400.0).sin();
        let mut read = |n: usize, value: f64, error: f64| {
            let value = value + error + self.offsets[n] + self.noise[n] * chance.normal();
            let step = self.resolution[n];
            if step > 0.0 { (value / step).round() * step } else { value }
        };
        Mean {
            volts: mean.volts.map(|volts| read(0, volts, warm)),
            watts: read(1, mean.watts, self.gains[0] * mean.watts),
            vars: read(2, mean.vars, self.gains[1] * mean.vars + self.phase * mean.watts),
            export: read(1, mean.export, self.gains[0] * mean.export),
            ..mean
        }
    }
}
