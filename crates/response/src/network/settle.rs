//! Where all inverters settle together.
//!
//! What locks in has a memory, so that it is told where they come to rest from either history; an export
//! limit is shared out; in between, all answer at once (`balance`).

mod balance;
mod linear;

use super::export::Shares;
use super::{Feeds, Network, Shared, direction, phases};
use crate::operating_point::Cap;
use crate::supply::{End, Jump, NoPoint, Settled, Swing};
use balance::{Balance, Balanced};
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

/// What came before, for inverters whose reactive power locks in.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Before {
    /// It did not act.
    NotActing,
    /// It acted.
    Acting,
}

/// The voltage step over which a gain is read, as a share.
const STEP: f64 = 1e-4;
/// How often what locks in may begin or end to act until it is given up.
const MOST_TURNS: usize = 64;

/// Where all inverters of a network settled.
#[derive(Clone, Debug)]
pub struct Settlement {
    /// Each inverter, in the order of the network's.
    pub inverters: Vec<Settled>,
    supply: f64,
    currents: Vec<Complex64>,
}

impl Network {
    /// Where every inverter settles with all its answers to voltage and frequency acting, and nothing that
    /// locks in acted before; `available` is what the source of each could give, in watts.
    ///
    /// The voltage of a three-phase inverter is that of its highest phase, which is also what it is
    /// taken to watch. Its `loop_gain` is of all inverters answering at once.
    ///
    /// # Errors
    /// See [`NoPoint`].
    pub fn settle(&self, supply: &SupplyConditions, available: &[f64]) -> Result<Settlement, NoPoint> {
        self.settle_after(Before::NotActing, supply, available)
    }

    /// The same, from what came before. Inverters begin and end to act one at a time, the first of the
    /// network first.
    ///
    /// # Errors
    /// See [`NoPoint`].
    pub fn settle_after(&self, before: Before, supply: &SupplyConditions, available: &[f64]) -> Result<Settlement, NoPoint> {
        if available.iter().any(|power| !power.is_finite()) {
            return Err(NoPoint::NotAFigure);
        }
        let locks = |placed: &super::Placed| placed.device.lock_in.map(|_| before == Before::Acting);
        let mut acts: Vec<Option<bool>> = self.inverters.iter().map(locks).collect();
        let mut turns: Vec<Turn> = Vec::new();
        while turns.len() < MOST_TURNS {
            let settlement = self.settle_acting(supply, available, &acts)?;
            let Some(turning) = self.turning(&settlement) else { return Ok(settlement) };
            if let Some(first) = turns.iter().position(|turn| turn.acts == acts) {
                return Err(NoPoint::Swings(swings(&turns[first..])));
            }
            turns.push(Turn { acts: acts.clone(), inverter: turning, settled: settlement.inverters[turning] });
            acts[turning] = acts[turning].map(|acts| !acts);
        }
        Err(NoPoint::NotFound)
    }

    /// Whether what came before may decide where inverters settle.
    #[must_use]
    pub fn has_memory(&self) -> bool {
        self.inverters.iter().any(|placed| placed.device.lock_in.is_some())
    }

    /// Voltage between a phase and the neutral at the end of a cable, in volts.
    #[must_use]
    pub fn voltage_at(&self, cable: usize, phase: usize, settlement: &Settlement) -> f64 {
        self.voltage(&self.shared_with_each(Some(cable)), phase, settlement.supply, &settlement.currents).norm()
    }

    /// The first inverter whose reactive power would begin to act where it settled, or end to.
    fn turning(&self, settlement: &Settlement) -> Option<usize> {
        let mut each = self.inverters.iter().zip(&settlement.inverters);
        each.position(|(placed, settled)| match (placed.device.lock_in, settled.acts) {
            (Some(lock_in), Some(acts)) => lock_in.acts(acts, settled.voltage, settled.point.active) != acts,
            _ => false,
        })
    }

    /// With what locks in acting or not, wherever it is.
    fn settle_acting(&self, supply: &SupplyConditions, available: &[f64], acts: &[Option<bool>]) -> Result<Settlement, NoPoint> {
        let limits: Vec<Option<f64>> = self.inverters.iter().map(|placed| placed.device.export_limit).collect();
        if self.inverters.len() < 2 || limits.iter().all(Option::is_none) {
            return self.balance(supply, available, acts).and_then(|balanced| balanced.settlement());
        }
        let shares = Shares::new(&limits, supply.load);
        let mut free = self.clone();
        free.inverters.iter_mut().for_each(|placed| placed.device.export_limit = None);
        let balanced = |share: f64| free.balance(supply, &free.held_to(available, &shares.of_each(share)), acts);
        let share = shares.found(&|share| Ok(balanced(share)?.active()))?;
        let mut settlement = balanced(share)?.settlement()?;
        for (settled, _) in settlement.inverters.iter_mut().zip(&limits).filter(|(_, limit)| limit.is_some() && share < 1.0) {
            if settled.point.held_by == Cap::Available {
                settled.point.held_by = Cap::ExportLimit;
            }
        }
        Ok(settlement)
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

    /// Where all answers meet, each inverter by its own limits alone.
    fn balance<'b>(&'b self, supply: &SupplyConditions, available: &[f64], acts: &[Option<bool>]) -> Result<Balanced<'b>, NoPoint> {
        Balance::new(self, *supply, available, acts).found()
    }
}

/// What locks in, before one inverter began or ended to act.
struct Turn {
    acts: Vec<Option<bool>>,
    inverter: usize,
    settled: Settled,
}

/// What a round of turns that ends where it began swings between.
fn swings(round: &[Turn]) -> Vec<Swing> {
    let end = |inverter: usize, acted: bool| {
        let turn = round.iter().find(|turn| turn.inverter == inverter && turn.acts[inverter] == Some(acted))?;
        let Settled { voltage, point, .. } = turn.settled;
        Some(End { voltage, active: point.active, reactive: point.reactive })
    };
    let mut inverters: Vec<usize> = round.iter().map(|turn| turn.inverter).collect();
    inverters.sort_unstable();
    inverters.dedup();
    let each = inverters.into_iter();
    each.filter_map(|inverter| Some(Swing { inverter, jump: Jump::LockIn, ends: [end(inverter, false)?, end(inverter, true)?] })).collect()
}

/// Voltage at an inverter's terminals.
#[derive(Clone, Copy)]
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
