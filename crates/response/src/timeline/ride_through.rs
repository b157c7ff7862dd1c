//! How long a device has to stay on before a stage may trip, where that hangs on how far the value lies
//! beyond its threshold.

use super::Micros;
use super::protection::Side;

/// Edges beyond a threshold, from the nearest outwards, with the least time up to each.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct RideThrough(Vec<(f64, Micros)>);

impl RideThrough {
    /// Of these edges, from the nearest to the threshold outwards.
    #[must_use]
    pub fn new(edges: Vec<(f64, Micros)>) -> Self {
        Self(edges)
    }

    /// The least time at a value; `None` where nothing is said of it.
    pub(super) fn least_at(&self, value: f64, side: Side) -> Option<Micros> {
        let is_within = |edge: f64| if side == Side::Above { value <= edge } else { value >= edge };
        self.0.iter().find(|(edge, _)| is_within(*edge)).map(|(_, least)| *least)
    }

    /// The shortest of all; `None` where nothing is said.
    #[must_use]
    pub fn shortest(&self) -> Option<Micros> {
        self.0.iter().map(|(_, least)| *least).min()
    }
}
