//! How long a device has to stay on before a stage may trip, where that depends on how far the value lies
//! beyond its threshold.

use super::Micros;
use super::protection::Side;

/// Values beyond a threshold, between two edges.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Ridden {
    /// The edge that is nearer to the threshold, in volts or hertz.
    pub from: f64,
    /// The farther one; it may be infinite.
    pub to: f64,
    /// The least time at either edge; a straight line leads from one to the other.
    pub least: [Micros; 2],
}

impl Ridden {
    fn least_at(&self, value: f64) -> Micros {
        let [near, far] = self.least;
        let share = (value - self.from) / (self.to - self.from);
        if near == far || !share.is_finite() {
            near.min(far)
        } else {
            near + ((far - near) as f64 * share.clamp(0.0, 1.0)).round() as Micros
        }
    }
}

/// Parts beyond a threshold, from the nearest outwards, with the least time in each.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct RideThrough(Vec<Ridden>);

impl RideThrough {
    /// Of these parts, from the nearest to the threshold outwards.
    #[must_use]
    pub fn of(parts: Vec<Ridden>) -> Self {
        Self(parts)
    }

    /// Of level parts: the farther edge of each, from the nearest outwards, with the least time up to it.
    #[must_use]
    pub fn new(edges: Vec<(f64, Micros)>) -> Self {
        let mut from = f64::NAN;
        let part = |(to, least): (f64, Micros)| Ridden { from: std::mem::replace(&mut from, to), to, least: [least; 2] };
        Self(edges.into_iter().map(part).collect())
    }

    /// The least time at a value; `None` where nothing is said of it.
    pub(super) fn least_at(&self, value: f64, side: Side) -> Option<Micros> {
        let is_within = |edge: f64| if side == Side::Above { value <= edge } else { value >= edge };
        self.0.iter().find(|part| is_within(part.to)).map(|part| part.least_at(value))
    }

    /// The shortest of all; `None` where nothing is said.
    #[must_use]
    pub fn shortest(&self) -> Option<Micros> {
        self.0.iter().flat_map(|part| part.least).min()
    }
}
