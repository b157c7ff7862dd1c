//! How rows of the table are written down.

use super::{Harm, HeldBy, Parameter, STATES, Shape};
use crate::quantity::Dimension;

pub(super) const fn parameter(
    key: &'static str,
    title: &'static str,
    shape: Shape,
    above: Harm,
    below: Harm,
    meaning: &'static str,
) -> Parameter {
    Parameter { key, title, meaning, shape, held_by: HeldBy::Setting, above, below, to_do: None }
}

pub(super) const fn quantity(
    key: &'static str,
    title: &'static str,
    dimension: Dimension,
    above: Harm,
    below: Harm,
    meaning: &'static str,
) -> Parameter {
    parameter(key, title, Shape::Quantity(dimension), above, below, meaning)
}

pub(super) const fn choice(
    key: &'static str,
    title: &'static str,
    words: &'static [&'static str],
    harm: Harm,
    meaning: &'static str,
) -> Parameter {
    parameter(key, title, Shape::Choice(words), harm, harm, meaning)
}

pub(super) const fn curve(x: Dimension, y: Dimension, harm: Harm, meaning: &'static str) -> Parameter {
    parameter("points", "curve", Shape::Curve { x, y }, harm, harm, meaning)
}

/// A row that is mended otherwise than by entering a value.
pub(super) const fn mended_by(row: Parameter, to_do: &'static str) -> Parameter {
    Parameter { to_do: Some(to_do), ..row }
}

pub(super) const fn type_tested(row: Parameter) -> Parameter {
    Parameter { held_by: HeldBy::TypeTest, ..row }
}

pub(super) const fn calculated(row: Parameter) -> Parameter {
    Parameter { held_by: HeldBy::Calculated, ..row }
}

pub(super) const fn added_up(row: Parameter) -> Parameter {
    Parameter { held_by: HeldBy::AddedUp, ..row }
}

pub(super) const fn state(harm: Harm) -> Parameter {
    choice("state", "state", STATES, harm, "absent: the device lacks it; off: switched off; enabled: acts")
}

/// A time after which something protects: the longer, the less.
pub(super) const fn time(key: &'static str, title: &'static str, meaning: &'static str) -> Parameter {
    quantity(key, title, Dimension::Time, Harm::ProtectsLess, Harm::DropsOutTooEasily, meaning)
}

/// A time within which something supports the network: the longer, the less.
pub(super) const fn answer(key: &'static str, title: &'static str, meaning: &'static str) -> Parameter {
    quantity(key, title, Dimension::Time, Harm::SupportsLess, Harm::Departs, meaning)
}

pub(super) const fn window(key: &'static str, title: &'static str, dimension: Dimension, above: Harm, below: Harm) -> Parameter {
    quantity(key, title, dimension, above, below, "inclusive: a value equal to it is inside the window")
}
