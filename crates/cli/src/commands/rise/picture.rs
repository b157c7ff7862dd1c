//! What each inverter gives at full output against the supply voltage.

use super::RiseStudy;
use super::settling::{From, LOSSES, Row, could_give, row};
use plot::figure::{Axis, Figure, Mark, SecondScale, Spot, Style, straightened};
use settings_model::exact::Exact;

/// How many supply voltages are tried.
const STEPS: usize = 160;

/// Active power at full output against the supply voltage, and of one inverter its reactive power too.
pub fn figure(told: &RiseStudy<'_>, supplies: &[Exact]) -> Figure {
    let nominal = told.plan.nominal.approximate();
    let asked = || supplies.iter().map(|supply| supply.approximate());
    let (low, high) = (asked().fold(nominal, f64::min), asked().fold(nominal * 1.2, f64::max));
    let mut rows: Vec<_> = (0..=STEPS).map(|n| row(&told.plan, low + (high - low) * n as f64 / STEPS as f64, 100.0)).collect();
    // no more of what no longer changes than shows that it does not
    while rows.len() > 2
        && rows[rows.len() - 2].supply > asked().fold(low, f64::max)
        && is_alike(&rows[rows.len() - 3], &rows[rows.len() - 1])
    {
        rows.pop();
    }
    let alone = told.plan.inverters.len() == 1;
    let mut marks = Vec::new();
    for (n, inverter) in told.plan.inverters.iter().enumerate() {
        let line = |of: &dyn Fn(&response::supply::Settled) -> f64| -> Vec<Spot> {
            let spots = rows.iter().filter_map(|row| Some((row.supply, of(&row.settled.as_ref().ok()?[n]) / 1000.0)));
            straightened(spots, could_give(&told.plan, n, 100.0) / 1000.0 * 2e-3)
        };
        let label = if alone { "Active power".to_owned() } else { inverter.name.to_owned() };
        marks.push(Mark::Line { points: line(&|settled| settled.point.active), label, style: Style::Device(n) });
        if alone {
            let label = "Reactive power: + supplies, - absorbs".to_owned();
            marks.push(Mark::Line { points: line(&|settled| settled.point.reactive), label, style: Style::Device(1) });
        }
    }
    marks.extend(without_rest(&rows));
    // a few voltages that were asked for stand out; a whole range is the picture itself
    if supplies.len() <= 3 {
        marks.extend(asked().map(|at| Mark::Guide { at, label: format!("Supply {at} V") }));
    }
    Figure {
        title: format!("{}: what {} at full output", told.site, if alone { "the inverter gives" } else { "each inverter gives" }),
        description: described(told),
        x: Axis {
            label: "Voltage at the point of supply, inverters off".to_owned(),
            unit: "V".to_owned(),
            second: Some(SecondScale { unit: format!("pu of {} V", told.plan.nominal), one_is: nominal }),
        },
        y: if alone {
            Axis { label: "Power".to_owned(), unit: "kW, kvar".to_owned(), second: None }
        } else {
            Axis { label: "Active power".to_owned(), unit: "kW".to_owned(), second: None }
        },
        marks,
    }
}

/// Where nothing settles, from which supply voltage to which: a line has nothing to show there.
fn without_rest(rows: &[Row]) -> impl Iterator<Item = Mark> {
    let ends = rows.windows(2).filter(|pair| pair[0].settled.is_ok() != pair[1].settled.is_ok());
    ends.map(|pair| {
        let (at, begins) = (f64::midpoint(pair[0].supply, pair[1].supply), pair[1].settled.is_err());
        let label = if begins { format!("Does not settle above {at:.1} V") } else { format!("Settles above {at:.1} V") };
        Mark::Guide { at, label }
    })
}

/// Whether every inverter gives the same in both, to a thousandth.
fn is_alike(one: &Row, other: &Row) -> bool {
    let (Ok(one), Ok(other)) = (&one.settled, &other.settled) else { return one.settled.is_err() && other.settled.is_err() };
    let near = |one: f64, other: f64| (one - other).abs() <= one.abs().max(other.abs()) * 1e-3;
    one.iter().zip(other).all(|(one, other)| near(one.point.active, other.point.active) && near(one.point.reactive, other.point.reactive))
}

fn described(told: &RiseStudy<'_>) -> String {
    let each = told.plan.inverters.iter().zip(&told.begins).map(|(inverter, begins)| match begins.losing[0] {
        From::Volts(volts) => format!("{} loses more than {} % above {volts:.1} V.", inverter.name, LOSSES[0]),
        From::Never => format!("{} loses nothing.", inverter.name),
        From::NotKnown => format!("What {} loses is not known.", inverter.name),
    });
    each.collect::<Vec<_>>().join(" ")
}
