//! Where all inverters settle together.
//!
//! One after another, each is settled by bracketing against what the currents of the others leave it
//! (Gauss–Seidel). On one phase and with resistance alone that goes downhill on a convex function, and
//! so ends; with reactance, and through a neutral, it is tried on random sites.

use super::export::Shares;
use super::{Feeds, Network, Shared, direction, phases};
use crate::operating_point::{Cap, Conditions, OperatingPoint};
use crate::supply::{NoPoint, Settled, Supply};
use num_complex::Complex64;

/// What a site meets at its point of supply.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SupplyConditions {
    /// Line to neutral with no current from the site, in volts: the same on every phase.
    pub voltage: f64,
    /// In hertz.
    pub frequency: f64,
    /// What the site uses itself, in watts.
    pub load: f64,
}

/// Sweeps after which each goes only half as far towards where it would settle: through a neutral,
/// inverters of different phases can chase one another round.
const SWEEPS: usize = 300;
/// How often that is halved before it is given up.
const HALVINGS: i32 = 7;
/// A sweep that moves no terminal by more, in volts, is the last.
const STILL: f64 = 1e-9;
/// The voltage step over which a gain is read, as a share.
const STEP: f64 = 1e-4;

/// Where all inverters of a network settled.
#[derive(Clone, Debug)]
pub struct Settlement {
    /// Each inverter, in the order of the network's.
    pub inverters: Vec<Settled>,
    supply: f64,
    currents: Vec<Complex64>,
}

impl Network {
    /// Where every inverter settles with all its answers to voltage and frequency acting; `available`
    /// is what the source of each could give, in watts.
    ///
    /// The voltage of a three-phase inverter is that of its highest phase, which is also what it is
    /// taken to watch. Its `loop_gain` is of all inverters answering at once.
    ///
    /// # Errors
    /// See [`NoPoint`].
    pub fn settle(&self, supply: &SupplyConditions, available: &[f64]) -> Result<Settlement, NoPoint> {
        let limits: Vec<Option<f64>> = self.inverters.iter().map(|placed| placed.device.export_limit).collect();
        let shares = Shares::new(&limits, supply.load);
        let mut free = self.clone();
        free.inverters.iter_mut().for_each(|placed| placed.device.export_limit = None);
        let freely = |share: f64| free.settle_freely(supply, &free.held_to(available, &shares.of_each(share)));
        let settlement = freely(1.0)?;
        if shares.is_kept(&settlement.inverters) {
            return Ok(settlement);
        }
        let mut settlement = freely(shares.found(&|share| Ok(freely(share)?.inverters))?)?;
        for (settled, _) in settlement.inverters.iter_mut().zip(&limits).filter(|(_, limit)| limit.is_some()) {
            if settled.point.held_by == Cap::Available {
                settled.point.held_by = Cap::ExportLimit;
            }
        }
        Ok(settlement)
    }

    /// Voltage between a phase and the neutral at the end of a cable, in volts.
    #[must_use]
    pub fn voltage_at(&self, cable: usize, phase: usize, settlement: &Settlement) -> f64 {
        self.voltage(&self.shared_with_each(Some(cable)), phase, settlement.supply, &settlement.currents).norm()
    }

    /// What each may give at most, held to a share of it.
    fn held_to(&self, available: &[f64], shares: &[f64]) -> Vec<f64> {
        let each = self.inverters.iter().zip(available).zip(shares);
        let held = each.map(|((placed, available), share)| match *share < 1.0 && *available > 0.0 {
            true => available.min(placed.device.ratings.active) * share,
            false => *available,
        });
        held.collect()
    }

    /// Without export limits.
    fn settle_freely(&self, supply: &SupplyConditions, available: &[f64]) -> Result<Settlement, NoPoint> {
        if available.iter().any(|power| !power.is_finite()) {
            return Err(NoPoint::NotAFigure);
        }
        let mut currents = vec![Complex64::ZERO; self.inverters.len()];
        let coupling: Coupling = self.inverters.iter().map(|placed| self.shared_with_each(placed.cable)).collect();
        for sweep in 0..SWEEPS * HALVINGS as usize {
            let stride = 0.5_f64.powi((sweep / SWEEPS) as i32);
            let mut moved: f64 = 0.0;
            for inverter in 0..self.inverters.len() {
                let answer = |voltage| self.answer(inverter, voltage, supply, available[inverter]);
                let current = self.current(inverter, supply.voltage, &currents, &coupling, &answer)?;
                let (own, change) = (coupling[inverter][inverter], current - currents[inverter]);
                moved = moved.max(change.norm() * (own.line.norm() + own.neutral.norm()));
                currents[inverter] += change * stride;
            }
            if moved < STILL {
                let inverters = self.settled(supply, available, &currents, &coupling);
                return Ok(Settlement { inverters, supply: supply.voltage, currents });
            }
        }
        Err(NoPoint::Restless)
    }

    fn answer(&self, inverter: usize, voltage: f64, supply: &SupplyConditions, available: f64) -> OperatingPoint {
        let SupplyConditions { frequency, load, .. } = *supply;
        self.inverters[inverter].device.at(&Conditions { voltage, frequency, available, load })
    }

    /// The current that an inverter comes to, with those of the others as they are.
    fn current(
        &self,
        inverter: usize,
        supply: f64,
        currents: &[Complex64],
        coupling: &[Vec<Shared>],
        answer: &dyn Fn(f64) -> OperatingPoint,
    ) -> Result<Complex64, NoPoint> {
        let feeds = self.inverters[inverter].feeds;
        let shared = coupling[inverter][inverter];
        let own = if feeds == Feeds::Three { shared.line } else { shared.line + shared.neutral };
        let at_terminals = self.terminals(inverter, supply, currents, coupling);
        let behind = at_terminals.sequence - own * currents[inverter];
        let seen = Supply { voltage: behind.norm(), resistance: own.re, reactance: own.im, phases: phases(feeds).len() as f64 };
        let rating = self.inverters[inverter].device.ratings.apparent;
        let (voltage, point) = seen.settle_answering(rating, &|voltage| answer(voltage + at_terminals.above))?;
        // with the terminal voltage real, I = (P − jQ)/V; then turned to where the supply really points
        let current = Complex64::new(point.active, -point.reactive) / (seen.phases * voltage);
        let turned = behind.arg() - (Complex64::from(voltage) - own * current).arg();
        Ok(current * Complex64::from_polar(1.0, turned))
    }

    fn terminals(&self, inverter: usize, supply: f64, currents: &[Complex64], coupling: &[Vec<Shared>]) -> Terminals {
        let feeds = self.inverters[inverter].feeds;
        let voltages: Vec<(usize, Complex64)> =
            phases(feeds).map(|phase| (phase, self.voltage(&coupling[inverter], phase, supply, currents))).collect();
        match feeds {
            Feeds::One(_) => Terminals { sequence: voltages[0].1, above: 0.0 },
            Feeds::Three => {
                let sequence = voltages.iter().map(|(phase, voltage)| voltage * direction(*phase).conj()).sum::<Complex64>() / 3.0;
                let highest = voltages.iter().map(|(_, voltage)| voltage.norm()).fold(0.0, f64::max);
                Terminals { sequence, above: highest - sequence.norm() }
            }
        }
    }

    fn settled(&self, supply: &SupplyConditions, available: &[f64], currents: &[Complex64], coupling: &[Vec<Shared>]) -> Vec<Settled> {
        let at: Vec<Terminals> = (0..currents.len()).map(|n| self.terminals(n, supply.voltage, currents, coupling)).collect();
        let answers = |shift: f64| -> Vec<OperatingPoint> {
            let moved = |(n, at): (usize, &Terminals)| self.answer(n, at.watched() * (1.0 + shift), supply, available[n]);
            at.iter().enumerate().map(moved).collect()
        };
        let (points, up, down) = (answers(0.0), answers(STEP), answers(-STEP));
        let with = |points: &[OperatingPoint]| -> Vec<Complex64> {
            let current = |(n, point): (usize, &OperatingPoint)| {
                let phases = phases(self.inverters[n].feeds).len() as f64;
                (Complex64::new(point.active, point.reactive) / (at[n].sequence * phases)).conj()
            };
            points.iter().enumerate().map(current).collect()
        };
        let (up, down) = (with(&up), with(&down));
        let gain = |n: usize| {
            let to = |currents: &[Complex64]| self.terminals(n, supply.voltage, currents, coupling).watched();
            (to(&up) - to(&down)).abs() / (2.0 * STEP * at[n].watched())
        };
        let each = points.into_iter().enumerate();
        each.map(|(n, point)| Settled { voltage: at[n].watched(), point, loop_gain: gain(n), current: currents[n].norm() }).collect()
    }
}

/// Voltage at an inverter's terminals.
struct Terminals {
    /// Of its phase, or of its three phases the part that turns as the supply does.
    sequence: Complex64,
    /// How far the highest phase lies above that, in volts.
    above: f64,
}

impl Terminals {
    fn watched(&self) -> f64 {
        self.sequence.norm() + self.above
    }
}

/// For each pair of inverters what they share.
type Coupling = Vec<Vec<Shared>>;
