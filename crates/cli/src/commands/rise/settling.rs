//! Where the inverters settle with their answers acting, over supply voltages and shares of output.

use super::site::Plan;
use response::network::settle::{Settlement, SupplyConditions};
use response::operating_point::Cap;
use response::supply::{NoPoint, Settled};

/// All inverters at one supply voltage and one share of what they could give.
pub struct Row {
    /// At the point of supply with the inverters off, in volts.
    pub supply: f64,
    /// Of rated active power, in per cent.
    pub share: f64,
    /// Each inverter, in the order of the plan.
    pub settled: Result<Vec<Settled>, NoPoint>,
}

/// What an inverter would give without any answer.
pub fn could_give(plan: &Plan<'_>, inverter: usize, share: f64) -> f64 {
    plan.network.inverters[inverter].device.ratings.active * share / 100.0
}

fn settlement(plan: &Plan<'_>, supply: f64, share: f64) -> Result<Settlement, NoPoint> {
    let available: Vec<f64> = (0..plan.inverters.len()).map(|n| could_give(plan, n, share)).collect();
    plan.network.settle(&SupplyConditions { voltage: supply, frequency: 50.0, load: 0.0 }, &available)
}

/// Settles at a supply voltage with a share of rated output.
pub fn row(plan: &Plan<'_>, supply: f64, share: f64) -> Row {
    Row { supply, share, settled: settlement(plan, supply, share).map(|settlement| settlement.inverters) }
}

/// Shares of full output, in per cent, of whose loss it is told from which supply voltage.
pub const LOSSES: [f64; 2] = [1.0, 10.0];

/// The supply voltages at which something begins, at full output.
pub struct Begins {
    /// Volt-watt, or reactive power that comes first, takes more than each of [`LOSSES`].
    pub losing: [Option<f64>; LOSSES.len()],
    /// Its terminals pass its limit on the 10-minute average.
    pub passing_limit: Option<f64>,
}

/// Of each inverter, where between the nominal voltage and 1.3 times that it begins.
pub fn begins(plan: &Plan<'_>) -> Vec<Begins> {
    let nominal = plan.nominal.approximate();
    let over = [nominal, 1.3 * nominal];
    let settled = |n: usize, supply: f64| settlement(plan, supply, 100.0).ok().map(|settlement| settlement.inverters[n]);
    let each = |n: usize| Begins {
        losing: LOSSES.map(|loss| first(over, &|supply| settled(n, supply).is_some_and(|settled| loses(plan, n, loss, &settled)))),
        passing_limit: plan.inverters[n]
            .limit
            .and_then(|limit| first(over, &|supply| settled(n, supply).is_some_and(|settled| settled.voltage > limit))),
    };
    (0..plan.inverters.len()).map(each).collect()
}

/// Whether the voltage, and no export limit or rating, takes more than so many per cent of full output.
fn loses(plan: &Plan<'_>, n: usize, percent: f64, settled: &Settled) -> bool {
    let by_voltage = matches!(settled.point.held_by, Cap::VoltWatt | Cap::ReactivePower);
    by_voltage && settled.point.active < could_give(plan, n, 100.0) * (1.0 - percent / 100.0)
}

/// The least voltage from which on something holds up to the end of a range, to a hundredth of a
/// volt; `None` where it does not hold at the end.
fn first([low, high]: [f64; 2], holds: &dyn Fn(f64) -> bool) -> Option<f64> {
    if !holds(high) {
        return None;
    }
    if holds(low) {
        return Some(low);
    }
    let (mut does_not, mut does) = (low, high);
    while does - does_not > 0.005 {
        let middle = f64::midpoint(does_not, does);
        if holds(middle) { does = middle } else { does_not = middle }
    }
    Some(does)
}
