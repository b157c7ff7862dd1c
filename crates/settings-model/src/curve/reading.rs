//! What a response says at one place.

use super::{Level, Side};
use crate::exact::Exact;

/// What a response says at one place of the measured axis.
///
/// An enum and not a number, so that whoever shows it has to say what stands at a step.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Reading {
    /// One level: the response does not step here.
    Level(Exact),
    /// A step: the level as the place is approached from below, and the one just above it.
    Step {
        /// Just below the place.
        before: Exact,
        /// Just above it.
        after: Exact,
    },
}

/// The response at `x`: flat outside its ends, straight between its points. `None` without points.
///
/// Exact where nine decimals can write it, else rounded to nine: for showing, never for a verdict.
/// Whether it steps is decided by cross products, so a rounded level never hides or makes a step.
#[must_use]
pub fn value_at(points: &[(Exact, Exact)], x: Exact) -> Option<Reading> {
    let (before, after) = (Level::of(points, x, Side::Left)?, Level::of(points, x, Side::Right)?);
    let steps = before.top * after.bottom != after.top * before.bottom;
    Some(if steps { Reading::Step { before: before.shown(), after: after.shown() } } else { Reading::Level(before.shown()) })
}
