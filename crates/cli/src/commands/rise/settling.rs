//! Where the inverters settle with their answers acting, over supply voltages and shares of output.

use super::site::Plan;
use response::device::{Device, ReactiveMode};
use response::network::Network;
use response::network::settle::{Before, Settlement, SupplyConditions};
use response::supply::{End, NoPoint, Settled};
use std::cell::RefCell;
use std::collections::BTreeMap;
use std::rc::Rc;

/// All inverters at one supply voltage and one share of what they could give.
pub struct Row {
    /// At the point of supply with the inverters off, in volts.
    pub supply: f64,
    /// Of rated active power, in per cent.
    pub share: f64,
    /// What came before, where that decides.
    pub before: Option<Before>,
    /// Each inverter, in the order of the plan.
    pub settled: Result<Vec<Settled>, NoPoint>,
}

/// What an inverter would give without any answer.
pub fn could_give(plan: &Plan<'_>, inverter: usize, share: f64) -> f64 {
    plan.network.inverters[inverter].device.ratings.active * share / 100.0
}

fn settlement(plan: &Plan<'_>, network: &Network, before: Before, supply: f64, share: f64) -> Result<Settlement, NoPoint> {
    let available: Vec<f64> = (0..plan.inverters.len()).map(|n| could_give(plan, n, share)).collect();
    network.settle_after(before, &SupplyConditions { voltage: supply, frequency: plan.nominal_frequency, load: 0.0 }, &available)
}

/// Settles at a supply voltage with a share of rated output, as if nothing that locks in had acted before.
pub fn row(plan: &Plan<'_>, supply: f64, share: f64) -> Row {
    row_after(plan, Before::NotActing, supply, share)
}

fn row_after(plan: &Plan<'_>, before: Before, supply: f64, share: f64) -> Row {
    let settled = settlement(plan, &plan.network, before, supply, share).map(|settlement| settlement.inverters);
    Row { supply, share, before: None, settled }
}

impl Row {
    /// Whether two histories come to numbers that read the same, though what locks in acts in one and not in the other.
    fn reads_like(&self, other: &Self) -> bool {
        let near = |one: &Settled, other: &Settled| {
            let ends = [one, other].map(|settled| [settled.voltage, settled.point.active / 100.0, settled.point.reactive / 100.0]);
            ends[0].iter().zip(ends[1]).all(|(one, other)| (one - other).abs() < 0.005)
        };
        let is_alike = |one: &[Settled], other: &[Settled]| one.iter().zip(other).all(|(one, other)| near(one, other));
        (self.supply, self.share) == (other.supply, other.share)
            && matches!((&self.settled, &other.settled), (Ok(one), Ok(other)) if is_alike(one, other))
    }
}

/// Rows for people, with what came before where that decides what they read.
pub fn to_read(rows: &[Row]) -> Vec<(&Row, Option<Before>)> {
    let mut told: Vec<(&Row, Option<Before>)> = Vec::new();
    for row in rows {
        match told.last_mut() {
            Some((last, before)) if before.is_some() && last.reads_like(row) => *before = None,
            _ => told.push((row, row.before)),
        }
    }
    told
}

/// The same from either history; one row where both come to the same.
pub fn rows(plan: &Plan<'_>, supply: f64, share: f64) -> Vec<Row> {
    let row = row(plan, supply, share);
    if !plan.network.has_memory() {
        return vec![row];
    }
    let other = row_after(plan, Before::Acting, supply, share);
    let is_alike = match (&row.settled, &other.settled) {
        (Ok(one), Ok(other)) => one.iter().zip(other).all(|(one, other)| one.acts == other.acts),
        (Err(one), Err(other)) => std::mem::discriminant(one) == std::mem::discriminant(other),
        _ => false,
    };
    if is_alike {
        return vec![row];
    }
    vec![Row { before: Some(Before::NotActing), ..row }, Row { before: Some(Before::Acting), ..other }]
}

/// Shares of what an inverter could give, in per cent, of whose loss it is told from which supply voltage.
pub const LOSSES: [f64; 2] = [1.0, 10.0];

/// From which supply voltage on something happens.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum From {
    /// From these volts on.
    Volts(f64),
    /// Nowhere up to 1.3 times nominal.
    Never,
    /// Nobody knows.
    NotKnown,
}

impl From {
    /// The volts, where there are some.
    pub fn volts(self) -> Option<f64> {
        if let Self::Volts(volts) = self { Some(volts) } else { None }
    }
}

/// The supply voltages at which something begins, at full output.
pub struct Begins {
    /// Volt-watt, or reactive power that comes first, takes more than each of [`LOSSES`] of what ratings
    /// and limits leave.
    pub losing: [From; LOSSES.len()],
    /// Its terminals pass its limit on the 10-minute average; not known without one.
    pub passing_limit: From,
}

/// Of each inverter, where between the nominal voltage and 1.3 times that it begins.
pub fn begins(plan: &Plan<'_>) -> Vec<Begins> {
    let nominal = plan.nominal.approximate();
    let over = [nominal, 1.3 * nominal];
    // inverters ask for the same voltages
    let known: RefCell<BTreeMap<u64, Settlements>> = RefCell::default();
    let settled = |supply: f64| {
        let anew = || Rc::new(settlement(plan, &plan.network, Before::NotActing, supply, 100.0));
        known.borrow_mut().entry(supply.to_bits()).or_insert_with(anew).clone()
    };
    let left = left_by_limits(plan);
    let each = |n: usize| {
        let losing = LOSSES.map(|loss| {
            let loses = |end: &End| end.active < left[n] * (1.0 - loss / 100.0);
            match first(over, &|supply| is_so(n, settled(supply), &loses)) {
                // what gives nothing anyway has nothing to lose
                From::Never if plan.inverters[n].has_unknown_volt_watt || left[n] <= 0.0 => From::NotKnown,
                from => from,
            }
        });
        let passing_limit = plan.inverters[n]
            .limit
            .map_or(From::NotKnown, |limit| first(over, &|supply| is_so(n, settled(supply), &|end| end.voltage > limit)));
        Begins { losing, passing_limit }
    };
    (0..plan.inverters.len()).map(each).collect()
}

/// Where all inverters settle at one supply voltage.
type Settlements = Rc<Result<Settlement, NoPoint>>;

/// Whether something is so of an inverter where it settled, or at either end of its swing; `None` where
/// nobody can tell.
fn is_so(n: usize, settled: Settlements, is_so: &dyn Fn(&End) -> bool) -> Option<bool> {
    match &*settled {
        Ok(settlement) => {
            let Settled { voltage, point, .. } = settlement.inverters[n];
            Some(is_so(&End { voltage, active: point.active, reactive: point.reactive }))
        }
        Err(NoPoint::Swings(swings)) => swings.iter().find(|swing| swing.inverter == n).map(|swing| swing.ends.iter().any(is_so)),
        Err(_) => None,
    }
}

/// What ratings and limits leave to each inverter at full output, whatever the voltage.
fn left_by_limits(plan: &Plan<'_>) -> Vec<f64> {
    let mut network = Network { cables: Vec::new(), inverters: plan.network.inverters.clone() };
    for placed in &mut network.inverters {
        placed.cable = None;
        placed.device = Device { volt_watt: None, reactive: ReactiveMode::Unity, lock_in: None, ..placed.device.clone() };
    }
    match settlement(plan, &network, Before::NotActing, plan.nominal.approximate(), 100.0) {
        Ok(settlement) => settlement.inverters.iter().map(|settled| settled.point.active).collect(),
        Err(_) => (0..plan.inverters.len()).map(|n| could_give(plan, n, 100.0)).collect(),
    }
}

/// The least voltage from which on something holds up to the end of a range, to a hundredth of a volt.
fn first([low, high]: [f64; 2], holds: &dyn Fn(f64) -> Option<bool>) -> From {
    match (holds(high), holds(low)) {
        (None, _) | (_, None) => return From::NotKnown,
        (Some(false), _) => return From::Never,
        (_, Some(true)) => return From::Volts(low),
        (Some(true), Some(false)) => {}
    }
    let (mut does_not, mut does) = (low, high);
    while does - does_not > 0.005 {
        let middle = f64::midpoint(does_not, does);
        match holds(middle) {
            None => return From::NotKnown,
            Some(true) => does = middle,
            Some(false) => does_not = middle,
        }
    }
    From::Volts(does)
}
