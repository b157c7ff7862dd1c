//! Points of a curve as boxes: each coordinate between two edges. An edge may be counted from the
//! neighbouring point or from the curve's reference: `reference - 0.18 pu to next - 0.02 pu`.

use super::{Edges, MAX_POINTS, ValueFault, interval, wrong_count};
use crate::catalogue::{REFERENCE, SettingId};
use crate::claim::{Bound, Claim, Limit, Part, ProvenanceId, Term, Var};
use crate::exact::Exact;
use crate::finding::nearest;
use crate::quantity::{Amount, Dimension};
use crate::slip::Slip;

/// What an edge of a point may be counted from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Anchor {
    /// The reference voltage of the same function; for the measured axis only.
    Reference,
    /// The same coordinate of the point after this one.
    Next,
    /// The same coordinate of the point before this one.
    Previous,
}

impl Anchor {
    const ALL: [Self; 3] = [Self::Reference, Self::Next, Self::Previous];
    const WORDS: [&'static str; 3] = ["reference", "next", "previous"];

    /// The anchor that this word is, or was probably meant to be.
    fn near(word: &str) -> Option<(Self, &'static str)> {
        let meant = nearest(word, Self::WORDS)?;
        let position = Self::WORDS.iter().position(|known| *known == meant)?;
        Some((Self::ALL[position], Self::WORDS[position]))
    }
}

/// An edge, and what it is counted from; from zero, where nothing is said.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Edge {
    from: Option<Anchor>,
    bound: Bound,
}

/// Two edges, either of which may be missing.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PointEdges {
    low: Option<Edge>,
    high: Option<Edge>,
}

/// Reads the interval of one coordinate of a point.
///
/// # Errors
/// What is wrong with the text, and how to mend it.
pub fn point_edges(dimension: Dimension, text: &str) -> Result<PointEdges, Slip> {
    let plain = |bound: Option<Bound>| bound.map(|bound| Edge { from: None, bound });
    match interval(dimension, text) {
        Ok(Edges { low, high }) => Ok(PointEdges { low: plain(low), high: plain(high) }),
        Err(_) if is_counted_from_something(text) => counted(dimension, text.trim()),
        Err(slip) => Err(slip),
    }
}

/// Whether some edge of the text begins with an anchor, or with a word like one.
fn is_counted_from_something(text: &str) -> bool {
    let last_words = |part: &str| super::BOUNDS.iter().find_map(|(words, ..)| part.strip_prefix(words).map(str::to_owned));
    let begins = |part: &str| {
        let part = part.trim();
        let part = last_words(part).unwrap_or_else(|| part.to_owned());
        Anchor::near(word_and_rest(&part).0).is_some()
    };
    text.split(" to ").any(begins)
}

fn word_and_rest(text: &str) -> (&str, &str) {
    let text = text.trim();
    text.split_at(text.find(|c: char| !c.is_alphabetic()).unwrap_or(text.len()))
}

fn counted(dimension: Dimension, text: &str) -> Result<PointEdges, Slip> {
    if let Some((low, high)) = text.split_once(" to ") {
        let (low, high) = (edge(dimension, low, "over ")?, edge(dimension, high, "under ")?);
        let is_alike = low.from == high.from && low.bound.value.of == high.bound.value.of;
        if is_alike && low.bound.value.number > high.bound.value.number {
            return Err(Slip::new(format!("`{text}` runs downwards"), "write the smaller value first"));
        }
        return Ok(PointEdges { low: Some(low), high: Some(high) });
    }
    for (words, is_low, open) in super::BOUNDS {
        if let Some(rest) = text.strip_prefix(words) {
            let edge = edge(dimension, rest, "")?;
            let edge = Some(Edge { bound: Bound { open, ..edge.bound }, ..edge });
            return Ok(if is_low { PointEdges { low: edge, high: None } } else { PointEdges { low: None, high: edge } });
        }
    }
    let only = Some(edge(dimension, text, "")?);
    Ok(PointEdges { low: only, high: only })
}

/// `0.90 pu`, `next`, `reference - 0.18 pu`; left out, where the open word stands before it.
fn edge(dimension: Dimension, text: &str, open_word: &str) -> Result<Edge, Slip> {
    let text = text.trim();
    let (open, text) = match text.strip_prefix(open_word).filter(|_| !open_word.is_empty()) {
        Some(rest) => (true, rest.trim()),
        None => (false, text),
    };
    if !text.starts_with(char::is_alphabetic) {
        return Ok(Edge { from: None, bound: Bound { value: dimension.parse(text)?, open } });
    }
    let (word, rest) = word_and_rest(text);
    let Some((anchor, name)) = Anchor::near(word) else {
        let says = format!("`{word}` is nothing that an edge can be counted from");
        return Err(Slip::new(says, "count it from `reference`, `next` or `previous`, or write it as a value"));
    };
    if name != word {
        let says = format!("`{word}` is nothing that an edge can be counted from");
        return Err(Slip::new(says, format!("did you mean `{name}`?")));
    }
    Ok(Edge { from: Some(anchor), bound: Bound { value: distance(dimension, name, rest.trim())?, open } })
}

/// `- 0.18 pu`, `+ 0.02 pu`, or nothing.
fn distance(dimension: Dimension, anchor: &str, text: &str) -> Result<Amount, Slip> {
    if text.is_empty() {
        return Ok(Amount::plain(Exact::ZERO));
    }
    let (is_below, rest) = match (text.strip_prefix('-'), text.strip_prefix('+')) {
        (Some(rest), _) => (true, rest.trim()),
        (_, Some(rest)) => (false, rest.trim()),
        _ => {
            let amount = dimension.parse(text).map_or_else(|_| dimension.example().to_owned(), |amount| amount.show(dimension));
            let help = format!("write `{anchor} - {amount}` or `{anchor} + {amount}`");
            return Err(Slip::new(format!("`{anchor} {text}` does not say to which side"), help));
        }
    };
    let amount = dimension.parse(rest)?;
    if amount.number < Exact::ZERO {
        let turned = if is_below { '+' } else { '-' };
        let positive = Amount { number: -amount.number, ..amount }.show(dimension);
        return Err(Slip::new(format!("`{anchor} {text}` has two signs"), format!("write `{anchor} {turned} {positive}`")));
    }
    Ok(if is_below { Amount { number: -amount.number, ..amount } } else { amount })
}

/// One coordinate of one point of a curve.
#[derive(Clone, Copy, Debug)]
pub struct Coordinate {
    /// The curve.
    pub setting: SettingId,
    /// Number of the point, from 0.
    pub point: usize,
    /// How many points there are.
    pub of: usize,
    /// 0 for the measured axis, 1 for the one that follows.
    pub axis: usize,
}

impl Coordinate {
    fn var(self, point: usize) -> Var {
        let part = if self.axis == 0 { Part::X(point as u8) } else { Part::Y(point as u8) };
        Var { setting: self.setting, part }
    }

    /// What an anchor is to this coordinate.
    fn anchored(self, anchor: Anchor) -> Result<Var, Slip> {
        let neighbour = |says: &str, help: &str| Slip::new(says, help);
        match anchor {
            Anchor::Next if self.point + 1 < self.of => Ok(self.var(self.point + 1)),
            Anchor::Previous if self.point > 0 => Ok(self.var(self.point - 1)),
            Anchor::Next => Err(neighbour("the last point has no next one", "count from `previous`, or write the edge as a value")),
            Anchor::Previous => Err(neighbour("the first point has no previous one", "count from `next`, or write the edge as a value")),
            Anchor::Reference if self.axis == 1 => {
                Err(neighbour("a level has no reference", "count from `next` or `previous`, or write the edge as a value"))
            }
            Anchor::Reference => self.setting.sibling(REFERENCE).map(Var::from).ok_or_else(|| {
                let says = format!("`{}` has no `{REFERENCE}` to count from", self.setting.function().key);
                Slip::new(says, "count from `next` or `previous`, or write the edge as a value")
            }),
        }
    }

    /// The claims that this coordinate lies between edges.
    ///
    /// # Errors
    /// Where an edge is counted from something that this coordinate lacks.
    pub fn claims(self, edges: PointEdges, why: ProvenanceId) -> Result<Vec<Claim>, Slip> {
        let mut claims = Vec::new();
        let sides = [(edges.low, Limit::AtLeast as fn(Bound) -> Limit), (edges.high, Limit::AtMost)];
        for (edge, limit) in sides.into_iter().filter_map(|(edge, limit)| Some((edge?, limit))) {
            let own = self.var(self.point);
            let on = match edge.from {
                None => Term::Var(own),
                Some(anchor) => Term::Gap(own, self.anchored(anchor)?),
            };
            claims.push(Claim { on, limit: limit(edge.bound), why });
        }
        Ok(claims)
    }
}

/// Each coordinate an interval: so many points, each within its own box.
///
/// # Errors
/// Each fault, with the number of the point it is in.
pub(super) fn band(
    points: &[(String, String)],
    setting: SettingId,
    axes: [Dimension; 2],
    why: ProvenanceId,
) -> Result<Vec<Claim>, Vec<ValueFault>> {
    if !(2..=MAX_POINTS).contains(&points.len()) {
        return Err(wrong_count(points.len()));
    }
    let count = Bound::closed(Amount::plain(Exact::from(points.len() as i64)));
    let on = Term::Var(Var { setting, part: Part::PointCount });
    let mut claims: Vec<Claim> = Edges { low: Some(count), high: Some(count) }.claims(on, why).collect();
    let mut faults = Vec::new();
    for (point, (x, y)) in points.iter().enumerate() {
        for (axis, text) in [x, y].into_iter().enumerate() {
            let coordinate = Coordinate { setting, point, of: points.len(), axis };
            match point_edges(axes[axis], text).and_then(|edges| coordinate.claims(edges, why)) {
                Ok(own) => claims.extend(own),
                Err(slip) => faults.push(ValueFault { slip, at: Some((point, axis)) }),
            }
        }
    }
    if faults.is_empty() { Ok(claims) } else { Err(faults) }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::facts::FactId;

    fn claims(points: &[(&str, &str)]) -> Result<Vec<Claim>, Vec<ValueFault>> {
        let points: Vec<_> = points.iter().map(|(x, y)| ((*x).to_owned(), (*y).to_owned())).collect();
        let setting = SettingId::named("volt-var/points").unwrap();
        band(&points, setting, [Dimension::Voltage, Dimension::Percent], ProvenanceId(0))
    }

    #[test]
    fn edges_may_be_counted_from_the_reference_and_from_neighbours() {
        let setting = SettingId::named("volt-var/points").unwrap();
        let x = |n| Var { setting, part: Part::X(n) };
        let reference = Var::from(setting.sibling(REFERENCE).unwrap());
        let pu = |mantissa| Amount::times(Exact::new(mantissa, 2), FactId::NominalVoltage);
        let found = claims(&[("reference - 0.18 pu to next - 0.02 pu", "0 %"), ("over previous+0.02 pu to reference", "at most previous")]);
        let limits: Vec<(Term, Limit)> = found.unwrap().into_iter().map(|claim| (claim.on, claim.limit)).collect();
        for expected in [
            (Term::Gap(x(0), reference), Limit::AtLeast(Bound::closed(pu(-18)))),
            (Term::Gap(x(0), x(1)), Limit::AtMost(Bound::closed(pu(-2)))),
            (Term::Gap(x(1), x(0)), Limit::AtLeast(Bound::open(pu(2)))),
            (Term::Gap(x(1), reference), Limit::AtMost(Bound::closed(Amount::plain(Exact::ZERO)))),
        ] {
            assert!(limits.contains(&expected), "{expected:?} in {limits:?}");
        }
        assert!(limits.iter().any(|(on, _)| matches!(on, Term::Gap(Var { part: Part::Y(1), .. }, Var { part: Part::Y(0), .. }))));
    }

    #[test]
    fn slips_in_a_relative_edge_say_how_to_mend_them() {
        for (x, says, help) in [
            ("refernce - 0.18 pu to 0.98 pu", "`refernce` is nothing that an edge can be counted from", "did you mean `reference`?"),
            ("reference - 0.18 to next", "`0.18` has no unit", "write `0.18 "),
            ("reference - 0.18 Hz to next", "`0.18 Hz` is a frequency", ""),
            ("reference 0.18 pu", "`reference 0.18 pu` does not say to which side", "write `reference - 0.18 pu`"),
            ("reference - -0.18 pu", "`reference - -0.18 pu` has two signs", "write `reference + 0.18 pu`"),
            ("reference + 0.02 pu to reference - 0.02 pu", "`reference + 0.02 pu to reference - 0.02 pu` runs downwards", "write the"),
            ("previous + 0.02 pu to next", "the first point has no previous one", "count from `next`"),
            ("around 253 V", "`around 253 V` is not how an interval is written", "write `A to B`"),
        ] {
            let faults = claims(&[(x, "0 %"), ("1 pu", "0 %")]).unwrap_err();
            assert_eq!(faults[0].at, Some((0, 0)), "{x}");
            let slip = &faults[0].slip;
            assert!(slip.says.starts_with(says) && slip.help.starts_with(help), "{x}: {slip:?}");
        }
        let last = claims(&[("1 pu", "0 %"), ("1.02 pu to next", "at least reference")]).unwrap_err();
        assert_eq!(last.iter().map(|fault| fault.at).collect::<Vec<_>>(), [Some((1, 0)), Some((1, 1))]);
    }
}
