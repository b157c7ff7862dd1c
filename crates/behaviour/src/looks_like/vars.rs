//! What reactive power looks like, by how long it was where: by voltage, and by active power.

use super::{Candidate, Evidence, Looks, Terms, different, told};
use crate::counters::{CELL_SHARE, CELL_VOLTS, Day, Histogram, Millis};
use crate::function::To;
use std::collections::BTreeMap;

/// What the days' reactive power looks like; `None` where the log tells no candidate from another.
///
/// A power factor looks like a curve of voltage on a sunny day: candidates that answer to active power are held
/// against the same rows by their active power, where those were counted.
#[must_use]
pub fn vars<N: Clone>(days: &BTreeMap<i32, Day>, candidates: &[Candidate<N>], terms: Terms<'_>, is_reversed: bool) -> Option<Looks<N>> {
    let candidates = different(candidates);
    let shifts: Vec<f64> = candidates.iter().map(|candidate| best_shift(days, candidate, terms, is_reversed)).collect();
    let mut evidence = Vec::new();
    for (day, counted) in days {
        for Cell { volts, power, vars, lasted } in cells(counted, is_reversed) {
            let expected: Vec<Option<Expected>> =
                candidates.iter().zip(&shifts).map(|(candidate, shift)| expected(candidate, volts, power, *shift, terms)).collect();
            let Some(expected) = expected.into_iter().collect::<Option<Vec<_>>>() else { continue };
            if !tells(&expected, terms) {
                continue;
            }
            let vars = vars * terms.rated;
            let cell = CELL_SHARE * terms.rated / 2.0;
            let outside = expected.iter().map(|of| vars < of.band[0] - cell || vars > of.band[1] + cell).collect();
            let away = expected.iter().map(|of| (vars - of.middle).abs() / terms.rated).collect();
            evidence.push(Evidence { day: *day, lasted, away, outside });
        }
    }
    told(&candidates, &evidence)
}

/// Rows that were counted together: shares of rated apparent power.
struct Cell {
    volts: f64,
    power: Option<f64>,
    vars: f64,
    lasted: Millis,
}

fn cells(day: &Day, is_reversed: bool) -> impl Iterator<Item = Cell> + '_ {
    let sign = if is_reversed { -1.0 } else { 1.0 };
    let power = powers(&day.watts_by_volts);
    day.vars_by_volts.cells().map(move |(volts, vars, lasted)| {
        let power = power.get(&volt(volts)).copied();
        Cell { volts, power, vars: sign * vars, lasted }
    })
}

fn volt(volts: f64) -> i32 {
    (volts / CELL_VOLTS).floor() as i32
}

/// Mean active power at each voltage of a day.
fn powers(watts: &Histogram) -> BTreeMap<i32, f64> {
    let mut sums: BTreeMap<i32, (f64, f64)> = BTreeMap::new();
    for (volts, share, lasted) in watts.cells() {
        let (sum, time) = sums.entry(volt(volts)).or_default();
        *sum += share * lasted as f64;
        *time += lasted as f64;
    }
    sums.into_iter().map(|(volts, (sum, time))| (volts, sum / time)).collect()
}

/// What a device that acts by a candidate is expected to show, in vars.
struct Expected {
    middle: f64,
    band: [f64; 2],
}

fn expected<N>(candidate: &Candidate<N>, volts: f64, power: Option<f64>, shift: f64, terms: Terms<'_>) -> Option<Expected> {
    let (at, half, spread) = match candidate.to {
        To::Volts => (volts + shift, CELL_VOLTS / 2.0 + terms.half, terms.spread),
        To::Watts => (power? * terms.rated, CELL_SHARE * terms.rated / 2.0, 0.0),
        To::Nothing => (0.0, 0.0, 0.0),
    };
    let [low, high] = candidate.curve.mean_with_spread(at - half, at + half, spread);
    // what moved within a row bends its mean one way only
    let [least, most] = candidate.curve.mean_with_spread(at, at, spread);
    Some(Expected { middle: least.midpoint(most), band: [low - terms.margin, high + terms.margin] })
}

/// Whether some candidates lie so far apart there that a reading tells them apart.
fn tells(expected: &[Expected], terms: Terms<'_>) -> bool {
    let low = expected.iter().map(|of| of.middle).fold(f64::INFINITY, f64::min);
    let high = expected.iter().map(|of| of.middle).fold(f64::NEG_INFINITY, f64::max);
    high - low > 2.0 * terms.margin
}

/// The error of voltage under which a candidate explains the days best.
fn best_shift<N>(days: &BTreeMap<i32, Day>, candidate: &Candidate<N>, terms: Terms<'_>, is_reversed: bool) -> f64 {
    let away = |shift: f64| -> f64 {
        let cells = days.values().flat_map(|day| cells(day, is_reversed));
        cells
            .filter_map(|cell| {
                let of = expected(candidate, cell.volts, cell.power, shift, terms)?;
                Some((cell.vars * terms.rated - of.middle).abs() * cell.lasted as f64)
            })
            .sum()
    };
    let shifts = terms.shifts.iter().map(|shift| (*shift, away(*shift)));
    let best = shifts.min_by(|(a, one), (b, other)| one.total_cmp(other).then(a.abs().total_cmp(&b.abs())));
    best.map_or(0.0, |(shift, _)| shift)
}
