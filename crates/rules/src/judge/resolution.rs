//! What the steps of a display or a register leave open, and how far they are believed.
//!
//! A device takes and shows values in steps. Where it holds exactly what it shows (`exact: true`), the
//! value is known; where it rounds, the value shown stands for all that lies within half a step of it.
//!
//! - **A limit is never widened.** A value that is held exactly lies on one side of it. A rounded one
//!   complies only where all that it may stand for does, fails where none of it does, and is otherwise
//!   not proven. A value equal to a limit is no exception.
//! - **A set point** is one value, which few devices hit. A device that came as near as its steps let it
//!   complies: off by less than one step where the step is fine (up to a tenth of the set point, as
//!   a device that cuts digits off would hold it), and by no more than half a step where it is not. A whole
//!   step off is another value.
//! - **A step is believed only up to what the set point needs to be told from a wrong value**: the
//!   [`coarsest`] that a set point allows is a row for each dimension. Beyond it, a device that holds
//!   exactly what it shows has to hold the set point itself, and a display that rounds proves nothing: what
//!   lies within a step is not proven, what lies farther off fails.

use super::{MissingEvidence, Satisfaction};
use settings_model::catalogue::{SettingId, Shape};
use settings_model::claim::{Part, Var};
use settings_model::exact::Exact;
use settings_model::facts::{FactId, Facts};
use settings_model::quantity::Dimension;
use settings_model::settings::{Known, Step};
use settings_model::value::Value;

/// The coarsest step by which a set point can still be told from a wrong value; common practice, no source.
///
/// Displays go in 1 V or 1 % of nominal, 0.1 Hz, 1 %, in tenths of a second or in cycles; clearing times of
/// 0.16 s stand in registers of tenths. Anything much coarser could not hold neighbouring stages apart.
enum Coarsest {
    /// This share of the nominal voltage, which steps in per cent of another nominal just keep within.
    OfNominal(Exact),
    /// This much, and of a small set point, such as a hysteresis, no more than [`of_small`].
    Fixed(Exact),
    /// This share of the set point.
    OfSetPoint(Exact),
}

/// The share of a small set point that a step may be: a display needs more than one step up to it to tell it from none.
fn of_small() -> Exact {
    Exact::new(65, 2)
}

fn row(dimension: Dimension) -> Coarsest {
    match dimension {
        Dimension::Voltage => Coarsest::OfNominal(Exact::new(15, 3)),
        Dimension::Frequency => Coarsest::Fixed(Exact::new(1, 1)),
        Dimension::Percent => Coarsest::Fixed(Exact::from(2)),
        Dimension::Time => Coarsest::OfSetPoint(of_small()),
        Dimension::FrequencyRate | Dimension::Angle | Dimension::Current => Coarsest::OfSetPoint(Exact::new(2, 1)),
        Dimension::ActivePower
        | Dimension::ApparentPower
        | Dimension::PowerFactor
        | Dimension::RampRate
        | Dimension::Count
        | Dimension::Length
        | Dimension::Area
        | Dimension::Resistance
        | Dimension::ImpedancePerLength
        | Dimension::VoltageDrop => Coarsest::OfSetPoint(Exact::new(1, 1)),
    }
}

/// The coarsest step by which this set point of a variable can be told from a wrong value.
pub(crate) fn coarsest(of: Var, set_point: Exact, facts: &Facts) -> Exact {
    let Some(dimension) = dimension_of(of) else { return Exact::ZERO };
    let size = set_point.abs();
    match row(dimension) {
        Coarsest::OfNominal(share) => facts.number(FactId::NominalVoltage).map_or(size, Exact::abs) * share,
        Coarsest::Fixed(most) if size == Exact::ZERO => most,
        Coarsest::Fixed(most) => most.min(size * of_small()),
        Coarsest::OfSetPoint(share) => size * share,
    }
}

fn dimension_of(of: Var) -> Option<Dimension> {
    match (of.setting.parameter().shape, of.part) {
        (Shape::Quantity(dimension), _) => Some(dimension),
        (Shape::Curve { x, .. }, Part::X(_)) => Some(x),
        (Shape::Curve { y, .. }, Part::Y(_)) => Some(y),
        (Shape::Curve { .. } | Shape::Choice(_), _) => None,
    }
}

/// Whether what lies off an edge by this much inwards keeps to it.
pub(crate) fn is_inside(slack: Exact, open: bool) -> bool {
    slack > Exact::ZERO || (!open && slack == Exact::ZERO)
}

/// What a value with a step comes to against a limit that it lies inside of by `slack`.
pub(crate) fn of_limit(slack: Exact, open: bool, (step, exact): (Exact, bool)) -> Satisfaction {
    let within = if exact { Exact::ZERO } else { step.half() };
    match (is_inside(slack - within, open), is_inside(slack + within, open)) {
        (true, true) => Satisfaction::Holds,
        (false, false) => Satisfaction::Fails,
        _ => Satisfaction::NotProven(MissingEvidence::Rounded),
    }
}

/// What a value with a step comes to against one edge of a set point that it lies inside of by `slack`.
pub(crate) fn of_set_point(slack: Exact, (step, exact): (Exact, bool), set_point: Exact, coarsest: Exact) -> Satisfaction {
    let is_believed = step <= coarsest;
    let is_fine = step <= set_point.abs() * Exact::new(1, 1);
    // a step that was converted is rounded up in its last digit
    let almost_a_step = step * Exact::new(99, 2);
    let reach = if is_fine { almost_a_step } else { step.half() };
    match (is_believed, exact) {
        (true, _) if slack + reach >= Exact::ZERO => Satisfaction::Holds,
        (false, true) if slack >= Exact::ZERO => Satisfaction::Holds,
        // the other edge of the set point says whether it lies too far on the other side
        (false, false) if slack.abs() < step => Satisfaction::NotProven(MissingEvidence::Coarse),
        (false, false) if slack > Exact::ZERO => Satisfaction::Holds,
        _ => Satisfaction::Fails,
    }
}

/// Whether every part of a curve is shown finely enough for its response to be told.
pub(crate) fn is_fine_enough(known: &Known, setting: SettingId, facts: &Facts) -> bool {
    let (Value::Curve(points), Some(step)) = (&known.value, known.step.as_deref().filter(|step| !step.exact)) else { return true };
    (0u8..).zip(points).all(|(n, point)| {
        [(Part::X(n), point.x), (Part::Y(n), point.y)].into_iter().all(|(part, amount)| {
            let step = step.of(part).unwrap_or_default();
            amount.at(facts).is_some_and(|value| step <= coarsest(Var { setting, part }, value, facts))
        })
    })
}

/// The curves at the corners of all that a curve shown may stand for; the curve itself comes first.
pub(crate) fn may_stand_for(curve: &[(Exact, Exact)], step: Option<&Step>) -> impl Iterator<Item = Vec<(Exact, Exact)>> {
    let half = |size: Exact| [Exact::ZERO, size.half(), -size.half()];
    let step = step.filter(|step| !step.exact);
    let by: Vec<(Exact, Exact)> = match step {
        None => vec![(Exact::ZERO, Exact::ZERO)],
        Some(step) => half(step.size).into_iter().flat_map(|x| half(step.level.unwrap_or_default()).map(|y| (x, y))).collect(),
    };
    by.into_iter().map(|(right, up)| curve.iter().map(|(x, y)| (*x + right, *y + up)).collect())
}
