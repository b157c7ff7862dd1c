//! Where a device settles behind the cables that it is fed through.
//!
//! Its current raises the voltage at its own terminals, and its answers lower that current: the point
//! where both agree is found by bracketing, never by following the device around, because with usual
//! curves and a weak supply the loop gain passes 1 and following would swing for ever.

use crate::device::Device;
use crate::operating_point::{Conditions, OperatingPoint};

/// What lies between a stiff supply and the terminals of the device.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Supply {
    /// Line to neutral, with no current, in volts.
    pub voltage: f64,
    /// In ohms: out and back for single phase, of one line for a balanced three-phase device.
    pub resistance: f64,
    /// In ohms, as the resistance.
    pub reactance: f64,
    /// How many phases share the device's power: 1 or 3.
    pub phases: f64,
}

/// Where a device settles.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Settled {
    /// At the terminals, line to neutral, in volts.
    pub voltage: f64,
    /// What the device gives there.
    pub point: OperatingPoint,
    /// How much a small change of terminal voltage comes back through the device's answers: above 1 a
    /// device that answered at once would swing. A screening figure only: real swinging needs delays.
    pub loop_gain: f64,
    /// Current of one phase, in amperes.
    pub current: f64,
    /// Whether what locks in acts; `None` where nothing does.
    pub acts: Option<bool>,
}

/// Why nothing settles.
#[derive(Clone, Debug, PartialEq)]
pub enum NoPoint {
    /// The supply is too weak for the power: there is no voltage at which both agree.
    TooWeak,
    /// A figure of the supply is not a number, or not above zero where it has to be.
    NotAFigure,
    /// No resting point of several inverters was found; there may be one.
    NotFound,
    /// There is none: these inverters swing.
    Swings(Vec<Swing>),
}

/// An inverter without rest: its response jumps, and on either side of the jump its current brings the
/// terminals to the other side.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Swing {
    /// Which, by its position.
    pub inverter: usize,
    /// What jumps.
    pub jump: Jump,
    /// What it gives before and after the jump, and the terminal voltage that this leads to: the others
    /// as they are while it rests at the jump itself.
    pub ends: [End; 2],
}

/// One end of a swing; powers and voltage satisfy the equations of the cables.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct End {
    /// At the terminals, line to neutral, in volts.
    pub voltage: f64,
    /// In watts.
    pub active: f64,
    /// In vars.
    pub reactive: f64,
}

/// What makes a response jump.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Jump {
    /// Its curve steps at this voltage.
    Step(f64),
    /// It begins to act at one place and ends at another.
    LockIn,
}

/// Where an answer and a supply meet.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Meeting {
    /// At the terminals, in volts.
    pub voltage: f64,
    /// What is given there; at a step, the mixture of both its levels that the supply carries.
    pub point: OperatingPoint,
    /// The levels below and above a step.
    pub step: Option<[OperatingPoint; 2]>,
}

/// How many slices are looked through for the uppermost crossing.
const SLICES: usize = 512;
/// An answer that leaves no less than this to the equation of the cables, in volts, jumps there…
const JUMPS: f64 = 1e-7;
/// …and one that leaves no more than this meets it.
const STILL: f64 = 1e-11;

impl Supply {
    /// The supply voltage at which the terminals would have this voltage with this power: exact, with
    /// both parts of the drop. Powers are of the whole device.
    ///
    /// With the terminal voltage real, I = (P − jQ)/V, and the supply is V − (R + jX)·I.
    #[must_use]
    pub fn behind(&self, terminal: f64, active: f64, reactive: f64) -> f64 {
        let (p, q) = (active / self.phases, reactive / self.phases);
        let along = (self.resistance * p + self.reactance * q) / terminal;
        let across = (self.reactance * p - self.resistance * q) / terminal;
        (terminal - along).hypot(across)
    }

    /// The terminal voltage with a fixed power: the upper of the two at which it can flow.
    ///
    /// # Errors
    /// See [`NoPoint`].
    pub fn terminal(&self, active: f64, reactive: f64) -> Result<f64, NoPoint> {
        // |V² − (RP+XQ) − j(XP−RQ)| = Vs·V is a quadratic in V²
        let (p, q) = (active / self.phases, reactive / self.phases);
        let (along, across) = (self.resistance * p + self.reactance * q, self.reactance * p - self.resistance * q);
        let half = along + self.voltage * self.voltage / 2.0;
        let root = half * half - along * along - across * across;
        match (self.is_sound(), root >= 0.0) {
            (false, _) => Err(NoPoint::NotAFigure),
            (true, false) => Err(NoPoint::TooWeak),
            (true, true) => Ok((half + root.sqrt()).sqrt()),
        }
    }

    /// Where a device settles with all its answers to voltage acting; `conditions` say the rest. What
    /// locks in is taken not to have acted before.
    ///
    /// # Errors
    /// See [`NoPoint`].
    pub fn settle(&self, device: &Device, conditions: &Conditions) -> Result<Settled, NoPoint> {
        if !conditions.available.is_finite() {
            return Err(NoPoint::NotAFigure);
        }
        let at = |voltage: f64| device.at(&Conditions { voltage, ..*conditions });
        let Meeting { voltage, point, step } = self.meet(device.ratings.apparent, None, &at)?;
        if let Some(levels) = step {
            return Err(NoPoint::Swings(vec![self.swing(0, voltage, levels)?]));
        }
        let current = point.apparent() / self.phases / voltage;
        Ok(Settled { voltage, point, loop_gain: self.loop_gain(voltage, &at), current, acts: None })
    }

    /// A swing over a step, with the levels on either side of it.
    pub(crate) fn swing(&self, inverter: usize, step: f64, levels: [OperatingPoint; 2]) -> Result<Swing, NoPoint> {
        let end = |OperatingPoint { active, reactive, .. }| Ok(End { voltage: self.terminal(active, reactive)?, active, reactive });
        let [before, after] = levels;
        Ok(Swing { inverter, jump: Jump::Step(step), ends: [end(before)?, end(after)?] })
    }

    /// How much the terminals would move for each volt that they moved.
    fn loop_gain(&self, voltage: f64, at: &dyn Fn(f64) -> OperatingPoint) -> f64 {
        let width = voltage * 1e-4;
        let rise = |point: OperatingPoint| (self.resistance * point.active + self.reactance * point.reactive) / self.phases / voltage;
        (rise(at(voltage + width)) - rise(at(voltage - width))).abs() / (2.0 * width)
    }

    /// Where an answer meets the supply, from something with no more than this apparent power: the
    /// uppermost place, or one near to where it was before.
    ///
    /// # Errors
    /// See [`NoPoint`].
    pub(crate) fn meet(&self, apparent: f64, before: Option<f64>, at: &dyn Fn(f64) -> OperatingPoint) -> Result<Meeting, NoPoint> {
        if !self.is_sound() {
            return Err(NoPoint::NotAFigure);
        }
        // above the supply that would be needed, or below it
        let excess = |voltage: f64| {
            let point = at(voltage);
            self.behind(voltage, point.active, point.reactive) - self.voltage
        };
        let near = before.and_then(|before| self.bracket_near(before, &excess));
        let bracket = near.or_else(|| self.bracket(apparent, &excess)).ok_or(NoPoint::TooWeak)?;
        let [low, high] = narrowed(bracket, STILL, &excess);
        let [below, above] = [low, high].map(&excess);
        let voltage = if above < -below { high } else { low };
        if below.abs().min(above) < JUMPS {
            return Ok(Meeting { voltage, point: at(voltage), step: None });
        }
        let levels = [at(low), at(high)];
        let missing = |share: f64| {
            let point = levels[0].towards(&levels[1], share);
            self.behind(high, point.active, point.reactive) - self.voltage
        };
        let [share, _] = narrowed([0.0, 1.0], STILL, &missing);
        Ok(Meeting { voltage: high, point: levels[0].towards(&levels[1], share), step: Some(levels) })
    }

    /// The uppermost slice in which the sign turns: below it lie only points on the way to collapse.
    fn bracket(&self, apparent: f64, excess: &dyn Fn(f64) -> f64) -> Option<[f64; 2]> {
        let drop = self.resistance.hypot(self.reactance) * apparent / self.phases / self.voltage;
        let (mut high, bottom) = (self.voltage + 2.0 * drop + 1.0, self.voltage * 0.2);
        // the rise at the top has to leave room
        while excess(high) < 0.0 {
            high *= 1.5;
            if high > self.voltage * 1e3 {
                return None;
            }
        }
        let step = (high - bottom) / SLICES as f64;
        let mut upper = high;
        for slice in 1..=SLICES {
            let lower = high - step * slice as f64;
            if excess(lower) <= 0.0 {
                return Some([lower, upper]);
            }
            upper = lower;
        }
        None
    }

    /// A stretch around a voltage in which the sign turns.
    fn bracket_near(&self, before: f64, excess: &dyn Fn(f64) -> f64) -> Option<[f64; 2]> {
        let mut width = self.voltage * 1e-6;
        while width < self.voltage * 0.1 {
            let [low, high] = [before - width, before + width];
            if excess(low) <= 0.0 && excess(high) > 0.0 {
                return Some([low, high]);
            }
            width *= 8.0;
        }
        None
    }

    fn is_sound(&self) -> bool {
        let figures = [self.voltage, self.resistance, self.reactance, self.phases];
        figures.iter().all(|figure| figure.is_finite()) && self.voltage > 0.0 && self.phases > 0.0 && self.resistance >= 0.0
    }
}

/// The two neighbours, as binary numbers have them, between which a function turns from below zero to
/// above; where it is nought, but for so much, twice that place.
///
/// Every second step halves, so that a jump costs no more than twice what halving alone would.
pub(crate) fn narrowed([mut low, mut high]: [f64; 2], nought: f64, of: &dyn Fn(f64) -> f64) -> [f64; 2] {
    let [mut below, mut above] = [low, high].map(of);
    let mut halves = false;
    loop {
        let middle = f64::midpoint(low, high);
        if middle <= low || middle >= high {
            return [low, high];
        }
        let along = low - below * (high - low) / (above - below);
        let next = if halves || !(low < along && along < high) { middle } else { along };
        halves = !halves;
        match of(next) {
            none if none.abs() <= nought => return [next, next],
            less if less < 0.0 => (low, below) = (next, less),
            more => (high, above) = (next, more),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::device::ReactiveMode;
    use crate::line::Line;
    use proptest::prelude::*;

    fn device(apparent: f64, volt_watt: Option<Line>, reactive: ReactiveMode) -> Device {
        Device { volt_watt, reactive, ..Device::bare(apparent) }
    }

    fn line(points: &[(i64, i64)], scale: f64) -> Line {
        Line::of(&points.iter().map(|(x, y)| ((*x).into(), (*y).into())).collect(), scale).unwrap()
    }

    fn conditions(available: f64) -> Conditions {
        Conditions { voltage: 0.0, frequency: 50.0, available, load: 0.0 }
    }

    /// Plain arithmetic: 10 A through 0.5 ohm out and back.
    #[test]
    fn a_resistive_rise_is_current_times_resistance() {
        let supply = Supply { voltage: 240.0, resistance: 0.5, reactance: 0.0, phases: 1.0 };
        assert!((supply.terminal(2450.0, 0.0).unwrap() - 245.0).abs() < 1e-9);
        let settled = supply.settle(&device(5000.0, None, ReactiveMode::Unity), &conditions(2450.0)).unwrap();
        assert!((settled.voltage - 245.0).abs() < 1e-9 && (settled.current - 10.0).abs() < 1e-9);
        assert_eq!(settled.loop_gain, 0.0);
    }

    #[test]
    fn what_cannot_flow_is_said() {
        let weak = Supply { voltage: 230.0, resistance: 0.1, reactance: 20.0, phases: 1.0 };
        assert_eq!(weak.terminal(10_000.0, -10_000.0), Err(NoPoint::TooWeak));
        let broken = Supply { resistance: f64::NAN, ..weak };
        assert_eq!(broken.settle(&device(5000.0, None, ReactiveMode::Unity), &conditions(5000.0)), Err(NoPoint::NotAFigure));
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(100_000))]

        /// Weak supplies, steep curves, full and part output: a point is found, it is one, and no other
        /// lies above it.
        #[test]
        fn the_uppermost_point_is_found(
            (voltage, resistance, reactance) in (216.0..255.0f64, 0.0..2.0f64, 0.0..1.5f64),
            (apparent, share) in (1_000.0..30_000.0f64, 0.0..1.2f64),
            steep in 1i64..30,
            three in any::<bool>(),
        ) {
            let supply = Supply { voltage, resistance, reactance, phases: if three { 3.0 } else { 1.0 } };
            let of = apparent / 100.0;
            let volt_watt = line(&[(253, 100), (253 + steep, 20)], of);
            let volt_var = line(&[(207, 44), (220, 0), (240, 0), (240 + steep, -60)], of);
            let device = device(apparent, Some(volt_watt), ReactiveMode::VoltVar(volt_var));
            let settled = supply.settle(&device, &conditions(apparent * share));
            let excess = |voltage: f64| {
                let point = device.at(&Conditions { voltage, ..conditions(apparent * share) });
                supply.behind(voltage, point.active, point.reactive) - supply.voltage
            };
            match settled {
                Ok(found) => {
                    prop_assert!(excess(found.voltage).abs() < 1e-6, "{found:?}");
                    let above = (1..200).map(|step| found.voltage + 0.05 * f64::from(step));
                    prop_assert!(above.map(excess).all(|excess| excess > 0.0), "{found:?}");
                }
                // power that pushes out can always flow; only absorbing can bring a weak supply down
                Err(no) => prop_assert!(no == NoPoint::TooWeak && reactance > 0.0),
            }
        }
    }
}
