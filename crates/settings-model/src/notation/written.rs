//! A value or a set as a file writes it, before its setting gives it a type.

use super::band::band;
use super::{interval, word, words};
use crate::catalogue::{SettingId, Shape};
use crate::claim::{Claim, Limit, Part, ProvenanceId, Term, Var};
use crate::quantity::{Amount, Dimension};
use crate::slip::{Slip, one_of};
use crate::value::{Point, Value};

/// A value or a set as a file writes it, before its setting gives it a type.
#[derive(Clone, Debug, PartialEq)]
pub enum Written {
    /// `253 V`, `1 s to 2 s`, `enabled`.
    Text(String),
    /// `[[207 V, 44 %], [220 V, 0 %]]`.
    Points(Vec<(String, String)>),
}

impl Written {
    /// Reads one value of a setting.
    ///
    /// # Errors
    /// Each fault, with the number of the point it is in.
    pub fn value(&self, setting: SettingId) -> Result<Value, Vec<ValueFault>> {
        match (self, setting.parameter().shape) {
            (Self::Text(text), Shape::Quantity(dimension)) => dimension.parse(text).map(Value::Quantity).map_err(ValueFault::whole),
            (Self::Text(text), Shape::Choice(known)) => word(known, text).map(Value::Word).map_err(ValueFault::whole),
            (Self::Points(points), Shape::Curve { x, y }) => curve(points, x, y).map(Value::Curve),
            (_, shape) => Err(ValueFault::whole(expected(shape))),
        }
    }

    /// Reads a set of values of a setting, as claims.
    ///
    /// # Errors
    /// Each fault, with the number of the point it is in.
    pub fn claims(&self, setting: SettingId, why: ProvenanceId) -> Result<Vec<Claim>, Vec<ValueFault>> {
        let on = Term::Var(setting.into());
        match (self, setting.parameter().shape) {
            (Self::Text(text), Shape::Quantity(dimension)) => {
                interval(dimension, text).map(|e| e.claims(on, why).collect()).map_err(ValueFault::whole)
            }
            (Self::Text(text), Shape::Choice(known)) => {
                words(known, text).map(|set| vec![Claim { on, limit: Limit::OneOf(set), why }]).map_err(ValueFault::whole)
            }
            (Self::Points(points), Shape::Curve { x, y }) => band(points, setting, [x, y], why),
            (_, shape) => Err(ValueFault::whole(expected(shape))),
        }
    }
}

/// Text, or a list of pairs of texts.
impl<'de> serde::Deserialize<'de> for Written {
    fn deserialize<D: serde::Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        struct TextOrPoints;
        impl<'de> serde::de::Visitor<'de> for TextOrPoints {
            type Value = Written;
            fn expecting(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
                f.write_str("a value, or a list of points")
            }
            fn visit_str<E: serde::de::Error>(self, text: &str) -> Result<Written, E> {
                Ok(Written::Text(text.to_owned()))
            }
            fn visit_i64<E: serde::de::Error>(self, number: i64) -> Result<Written, E> {
                Ok(Written::Text(number.to_string()))
            }
            fn visit_seq<A: serde::de::SeqAccess<'de>>(self, mut items: A) -> Result<Written, A::Error> {
                let mut points = Vec::new();
                while let Some(point) = items.next_element::<(String, String)>()? {
                    points.push(point);
                }
                Ok(Written::Points(points))
            }
        }
        deserializer.deserialize_any(TextOrPoints)
    }
}

/// A fault in a written value: in the whole of it, or in one coordinate of one point.
#[derive(Clone, Debug, PartialEq)]
pub struct ValueFault {
    /// What is wrong and how to mend it.
    pub slip: Slip,
    /// Number of the point, and of its coordinate, from 0.
    pub at: Option<(usize, usize)>,
}

impl ValueFault {
    fn whole(slip: Slip) -> Vec<Self> {
        vec![Self { slip, at: None }]
    }
}

fn expected(shape: Shape) -> Slip {
    match shape {
        Shape::Curve { x, y } => Slip::new("expected points", format!("write `[[{}, {}], …]`", x.example(), y.example())),
        Shape::Quantity(dimension) => {
            Slip::new(format!("expected {}", dimension.a_name()), format!("write it as `{}`", dimension.example()))
        }
        Shape::Choice(words) => Slip::new("expected a word", format!("write {}", one_of(words))),
    }
}

pub(super) fn wrong_count(points: usize) -> Vec<ValueFault> {
    ValueFault::whole(Slip::new(
        format!("a curve has 2 to {MAX_POINTS} points, found {points}"),
        "write every point at which the curve bends",
    ))
}

/// The slip of a point that lies left of the one before it.
#[must_use]
pub fn descending(x: Dimension, before: Amount, after: Amount) -> Slip {
    Slip::new(
        format!("points must ascend: {} comes after {}", after.show(x), before.show(x)),
        format!("write the points from the lowest {} to the highest", x.name()),
    )
}

/// At most this many points: more than any standard or open device model has.
pub const MAX_POINTS: usize = 32;

fn curve(points: &[(String, String)], x: Dimension, y: Dimension) -> Result<Vec<Point>, Vec<ValueFault>> {
    let mut faults = Vec::new();
    let mut read = Vec::with_capacity(points.len());
    for (n, (px, py)) in points.iter().enumerate() {
        let mut part = |dimension: Dimension, text: &str, axis| match dimension.parse(text) {
            Ok(amount) => Some(amount),
            Err(slip) => {
                faults.push(ValueFault { slip, at: Some((n, axis)) });
                None
            }
        };
        if let (Some(x), Some(y)) = (part(x, px, 0), part(y, py, 1)) {
            read.push((n, Point { x, y }));
        }
    }
    for pair in read.windows(2) {
        let ((_, before), (n, after)) = (pair[0], pair[1]);
        if before.x.of == after.x.of && before.x.number > after.x.number {
            faults.push(ValueFault { slip: descending(x, before.x, after.x), at: Some((n, 0)) });
        }
    }
    if !(2..=MAX_POINTS).contains(&points.len()) {
        faults.extend(wrong_count(points.len()));
    }
    if faults.is_empty() { Ok(read.into_iter().map(|(_, p)| p).collect()) } else { Err(faults) }
}

/// Each point at least so far above its lower neighbour: `at least 0.02 pu`.
///
/// # Errors
/// What is wrong with the text, and how to mend it.
pub fn spacing(setting: SettingId, points: usize, text: &str, why: ProvenanceId) -> Result<Vec<Claim>, Slip> {
    let Shape::Curve { x, .. } = setting.parameter().shape else {
        return Err(Slip::new("only the points of a curve have a spacing", "leave `spacing` out"));
    };
    let edges = interval(x, text)?;
    let at = |n: usize| Var { setting, part: Part::X(n as u8) };
    Ok((1..points).flat_map(|n| edges.claims(Term::Gap(at(n), at(n - 1)), why)).collect())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_fault_of_a_curve_is_found() {
        let setting = SettingId::named("volt-var/points").unwrap();
        let points = |p: &[(&str, &str)]| Written::Points(p.iter().map(|(x, y)| ((*x).to_owned(), (*y).to_owned())).collect());
        let faults = points(&[("207 V", "44"), ("240 Hz", "0 %"), ("220 V", "0 %"), ("210 V", "-60 %")]).value(setting).unwrap_err();
        assert_eq!(faults.iter().map(|f| f.at).collect::<Vec<_>>(), [Some((0, 1)), Some((1, 0)), Some((3, 0))]);
        assert!(points(&[("207 V", "44 %")]).value(setting).is_err());
    }
}
