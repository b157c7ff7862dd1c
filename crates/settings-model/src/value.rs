//! Values: what a device holds, or a layer requires, for one setting.

use crate::catalogue::{SettingId, Shape};
use crate::claim::{Bound, Claim, Limit, Part, ProvenanceId, Term, Var, Words};
use crate::curve;
use crate::exact::Exact;
use crate::facts::Facts;
use crate::quantity::Amount;

/// A value of one setting.
#[derive(Clone, Debug, PartialEq)]
pub enum Value {
    /// A quantity, possibly a multiple of a site fact.
    Quantity(Amount),
    /// "Continuous": above every finite time.
    Never,
    /// A word, by its index in the catalogue's list.
    Word(u8),
    /// Points, ascending in x.
    Curve(Vec<Point>),
}

/// The first less the second, in the units of a bound; `None` where they are multiples of different
/// things, so that it depends on a site fact.
#[must_use]
pub fn gap(first: Amount, second: Amount, bound: Amount) -> Option<Amount> {
    let number = (first.of == second.of).then(|| first.number - second.number)?;
    // no distance at all is the same in every unit
    let of = if bound.number == Exact::ZERO { bound.of } else { first.of };
    Some(Amount { number, of })
}

/// A point of a curve.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Point {
    /// The measured axis.
    pub x: Amount,
    /// The following axis.
    pub y: Amount,
}

impl Value {
    /// For people, with the catalogue's units and words.
    #[must_use]
    pub fn show(&self, setting: SettingId) -> String {
        match (self, setting.parameter().shape) {
            (Self::Quantity(amount), Shape::Quantity(dimension)) => amount.show(dimension),
            (Self::Word(word), Shape::Choice(words)) => words.get(usize::from(*word)).copied().unwrap_or("?").to_owned(),
            (Self::Curve(points), Shape::Curve { x, y }) => {
                let points = points.iter().map(|p| format!("{} at {}", p.y.show(y), p.x.show(x)));
                points.collect::<Vec<_>>().join(", ")
            }
            (Self::Never, _) => "never".to_owned(),
            _ => "?".to_owned(),
        }
    }

    /// Whether it is the same at every site: no part of it is a multiple of a site fact.
    #[must_use]
    pub fn is_plain(&self) -> bool {
        match self {
            Self::Quantity(amount) => amount.of.is_none(),
            Self::Curve(points) => points.iter().all(|point| point.x.of.is_none() && point.y.of.is_none()),
            Self::Never | Self::Word(_) => true,
        }
    }

    /// The amount of one part; `None` for words, "never", and points the curve lacks.
    #[must_use]
    pub fn part(&self, part: Part) -> Option<Amount> {
        match (self, part) {
            (Self::Quantity(amount), Part::Whole) => Some(*amount),
            (Self::Curve(points), Part::PointCount) => Some(Amount::plain(Exact::from(i64::try_from(points.len()).ok()?))),
            (Self::Curve(points), Part::X(n)) => points.get(usize::from(n)).map(|p| p.x),
            (Self::Curve(points), Part::Y(n)) => points.get(usize::from(n)).map(|p| p.y),
            _ => None,
        }
    }

    /// Whether the value keeps a claim on one or two of its parts; `None` where that depends on a site fact,
    /// or the claim is about something else.
    #[must_use]
    pub fn keeps(&self, claim: &Claim) -> Option<bool> {
        let (var, other) = match claim.on {
            Term::Var(var) => (var, None),
            Term::Gap(var, other) if var.setting == other.setting => (var, Some(other)),
            Term::Gap(..) => return None,
        };
        match (&claim.limit, self) {
            (Limit::Above(line) | Limit::Below(line), Self::Curve(points)) => {
                let plain = Facts::default();
                let (curve, line) = (curve::at_site(points, &plain)?, curve::at_site(line, &plain)?);
                let lies_outside = if matches!(claim.limit, Limit::Above(_)) {
                    curve::rises_above(&line, &curve)
                } else {
                    curve::rises_above(&curve, &line)
                };
                Some(lies_outside.is_none())
            }
            (Limit::OneOf(words), Self::Word(word)) => Some(words.has(*word)),
            (Limit::AtLeast(bound) | Limit::AtMost(bound), _) => {
                let part = self.part(var.part)?;
                let amount = match other {
                    None => part,
                    Some(other) => gap(part, self.part(other.part)?, bound.value)?,
                };
                let inside = if matches!(claim.limit, Limit::AtMost(_)) {
                    amount.number < bound.value.number
                } else {
                    amount.number > bound.value.number
                };
                (amount.of == bound.value.of).then_some(inside || (!bound.open && amount.number == bound.value.number))
            }
            _ => None,
        }
    }

    /// The claims that only this value keeps.
    #[must_use]
    pub fn exactly(&self, setting: SettingId, why: ProvenanceId) -> Vec<Claim> {
        let mut claims = Vec::new();
        let mut pin = |part: Part, amount: Amount| {
            let on = Term::Var(Var { setting, part });
            claims.push(Claim { on, limit: Limit::AtLeast(Bound::closed(amount)), why });
            claims.push(Claim { on, limit: Limit::AtMost(Bound::closed(amount)), why });
        };
        match self {
            Self::Quantity(amount) => pin(Part::Whole, *amount),
            Self::Curve(points) => {
                pin(Part::PointCount, Amount::plain(Exact::from(points.len() as i64)));
                for (n, point) in (0u8..).zip(points) {
                    pin(Part::X(n), point.x);
                    pin(Part::Y(n), point.y);
                }
            }
            Self::Word(word) => claims.push(Claim { on: Term::Var(setting.into()), limit: Limit::OneOf(Words::one(*word)), why }),
            Self::Never => {} // no finite bound says it; files write `state: off` or a shortest time instead
        }
        claims
    }
}
