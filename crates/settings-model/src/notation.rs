//! The notation of values and sets in files: `253 V`, `1 s to under 2 s`, `enabled or off`, points.
//!
//! One grammar for intervals everywhere: `A to B` includes both ends; `at least A`, `at most B`;
//! `over A`, `under B`, `over A to under B` leave the end out; a single value means just that one.
//! Dates also take `from` and `until`, which include the day named. Words are joined with `or`.

use crate::catalogue::{SettingId, Shape};
use crate::cells::FactTest;
use crate::claim::{Bound, Claim, Limit, Part, Term, Var, WhyId, Words};
use crate::exact::Exact;
use crate::facts::{FactId, FactShape, days};
use crate::finding::nearest;
use crate::quantity::{Amount, Dimension};
use crate::value::{Point, Value};

/// "Continuous", of a time that a device holds: above every finite time.
pub const NEVER: &str = "never";

/// Two edges, either of which may be missing.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Edges {
    /// The lower edge.
    pub low: Option<Bound>,
    /// The upper edge.
    pub high: Option<Bound>,
}

impl Edges {
    /// Whether a number of base units lies between the edges, which must be plain.
    #[must_use]
    pub fn hold(&self, number: Exact) -> bool {
        self.low.is_none_or(|b| number > b.value.number || (!b.open && number == b.value.number))
            && self.high.is_none_or(|b| number < b.value.number || (!b.open && number == b.value.number))
    }

    /// The claims that a variable lies between the edges.
    pub fn claims(self, on: Term, why: WhyId) -> impl Iterator<Item = Claim> {
        let low = self.low.map(|b| Claim { on, limit: Limit::AtLeast(b), why });
        let high = self.high.map(|b| Claim { on, limit: Limit::AtMost(b), why });
        low.into_iter().chain(high)
    }
}

/// Reads an interval of quantities.
///
/// # Errors
/// A sentence that says what is wrong and how to mend it.
pub fn interval(dimension: Dimension, text: &str) -> Result<Edges, String> {
    edges(text, |amount| dimension.parse(amount))
}

/// Reads an interval of dates: `from 2032-02-01`, `2032-01-01 to 2032-06-30`.
///
/// # Errors
/// A sentence that says what is wrong and how to mend it.
pub fn date_interval(text: &str) -> Result<Edges, String> {
    let text = text.trim();
    let date = |t: &str| date(t).map(|d| Amount::plain(days(d)));
    if let Some(first) = text.strip_prefix("from ") {
        return Ok(Edges { low: Some(Bound::closed(date(first)?)), high: None });
    }
    if let Some(last) = text.strip_prefix("until ") {
        return Ok(Edges { low: None, high: Some(Bound::closed(date(last)?)) });
    }
    edges(text, date)
}

/// Reads `2032-02-01`.
///
/// # Errors
/// A sentence that says what is wrong and how to mend it.
pub fn date(text: &str) -> Result<jiff::civil::Date, String> {
    plain_date(text.trim().as_bytes()).ok_or_else(|| format!("`{}` is not a date; write year, month, day: `2026-02-03`", text.trim()))
}

fn plain_date(text: &[u8]) -> Option<jiff::civil::Date> {
    let [y1, y2, y3, y4, b'-', m1, m2, b'-', d1, d2] = *text else { return None };
    let number = |digits: &[u8]| digits.iter().try_fold(0i16, |n, d| d.is_ascii_digit().then(|| n * 10 + i16::from(d - b'0')));
    let (year, month, day) = (number(&[y1, y2, y3, y4])?, number(&[m1, m2])?, number(&[d1, d2])?);
    jiff::civil::Date::new(year, month as i8, day as i8).ok()
}

fn edges(text: &str, amount: impl Fn(&str) -> Result<Amount, String>) -> Result<Edges, String> {
    let text = text.trim();
    if let Some((low, high)) = text.split_once(" to ") {
        let low = edge(low, "over ", &amount)?;
        let high = edge(high, "under ", &amount)?;
        if let (Some(low), Some(high)) = (low.value.of.is_none().then_some(low), high.value.of.is_none().then_some(high))
            && low.value.number > high.value.number
        {
            return Err(format!("`{text}` runs downwards; write the smaller value first"));
        }
        return Ok(Edges { low: Some(low), high: Some(high) });
    }
    for (words, is_low, open) in [("at least ", true, false), ("over ", true, true), ("at most ", false, false), ("under ", false, true)] {
        if let Some(rest) = text.strip_prefix(words) {
            let bound = Some(Bound { value: amount(rest)?, open });
            return Ok(if is_low { Edges { low: bound, high: None } } else { Edges { low: None, high: bound } });
        }
    }
    if text.starts_with(['<', '>', '=']) {
        return Err(format!("`{text}`: write bounds in words: `at least`, `at most`, `over`, `under`, `A to B`"));
    }
    let only = Some(Bound::closed(amount(text)?));
    Ok(Edges { low: only, high: only })
}

fn edge(text: &str, open_word: &str, amount: impl Fn(&str) -> Result<Amount, String>) -> Result<Bound, String> {
    let text = text.trim();
    match text.strip_prefix(open_word) {
        Some(rest) => Ok(Bound::open(amount(rest)?)),
        None => Ok(Bound::closed(amount(text)?)),
    }
}

/// Reads one of a few words.
///
/// # Errors
/// A sentence that lists the words, and the nearest one.
pub fn word(words: &[&str], text: &str) -> Result<u8, String> {
    let text = text.trim();
    if let Some(index) = words.iter().position(|w| *w == text) {
        return Ok(index as u8);
    }
    let meant = nearest(text, words.iter().copied()).map(|w| format!("; did you mean `{w}`?")).unwrap_or_default();
    Err(format!("expected {}, found `{text}`{meant}", one_of(words)))
}

fn one_of(words: &[&str]) -> String {
    match words {
        [only] => format!("`{only}`"),
        _ => format!("one of {}", words.join(", ")),
    }
}

/// Reads `enabled or off`.
///
/// # Errors
/// As [`word`].
pub fn words(known: &[&str], text: &str) -> Result<Words, String> {
    text.split(" or ").try_fold(Words::default(), |set, part| Ok(set.or(Words::one(word(known, part)?))))
}

/// What a condition on a fact says.
///
/// # Errors
/// A sentence that says what is wrong and how to mend it.
pub fn fact_test(fact: FactId, text: &str) -> Result<FactTest, String> {
    let edges = match fact.row().shape {
        FactShape::Choice(known) => return words(known, text).map(FactTest::OneOf),
        FactShape::Quantity(dimension) => interval(dimension, text)?,
        FactShape::Date => date_interval(text)?,
    };
    if edges.low.into_iter().chain(edges.high).any(|bound| bound.value.of.is_some()) {
        return Err(format!("`{text}`: a condition needs plain units, not per unit"));
    }
    Ok(FactTest::Within { low: edges.low, high: edges.high })
}

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
    pub fn value(&self, setting: SettingId) -> Result<Value, Vec<Fault>> {
        match (self, setting.parameter().shape) {
            (Self::Text(text), Shape::Quantity(Dimension::Time)) if text.trim() == NEVER => {
                Err(Fault::whole("no limit says `never`; require the function's `state` to be off, or a longest time".to_owned()))
            }
            (Self::Text(text), Shape::Quantity(dimension)) => dimension.parse(text).map(Value::Quantity).map_err(Fault::whole),
            (Self::Text(text), Shape::Choice(known)) => word(known, text).map(Value::Word).map_err(Fault::whole),
            (Self::Points(points), Shape::Curve { x, y }) => curve(points, x, y).map(Value::Curve),
            (_, shape) => Err(Fault::whole(expected(shape))),
        }
    }

    /// Reads a set of values of a setting, as claims.
    ///
    /// # Errors
    /// Each fault, with the number of the point it is in.
    pub fn claims(&self, setting: SettingId, why: WhyId) -> Result<Vec<Claim>, Vec<Fault>> {
        let on = Term::Var(setting.into());
        match (self, setting.parameter().shape) {
            (Self::Text(text), Shape::Quantity(dimension)) => {
                interval(dimension, text).map(|e| e.claims(on, why).collect()).map_err(Fault::whole)
            }
            (Self::Text(text), Shape::Choice(known)) => {
                words(known, text).map(|set| vec![Claim { on, limit: Limit::OneOf(set), why }]).map_err(Fault::whole)
            }
            (Self::Points(points), Shape::Curve { x, y }) => band(points, setting, (x, y), why),
            (_, shape) => Err(Fault::whole(expected(shape))),
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
            // a number lacks its unit; it is kept as text so that the setting can say which one
            fn visit_i64<E: serde::de::Error>(self, number: i64) -> Result<Written, E> {
                Ok(Written::Text(number.to_string()))
            }
            fn visit_u64<E: serde::de::Error>(self, number: u64) -> Result<Written, E> {
                Ok(Written::Text(number.to_string()))
            }
            fn visit_f64<E: serde::de::Error>(self, number: f64) -> Result<Written, E> {
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
pub struct Fault {
    /// What is wrong and how to mend it.
    pub says: String,
    /// Number of the point, and of its coordinate, from 0.
    pub at: Option<(usize, usize)>,
}

impl Fault {
    fn whole(says: String) -> Vec<Self> {
        vec![Self { says, at: None }]
    }
}

fn expected(shape: Shape) -> String {
    match shape {
        Shape::Curve { x, y } => format!("expected points such as `[[{}, {}], …]`", x.example(), y.example()),
        Shape::Quantity(dimension) => format!("expected {} such as `{}`", dimension.a_name(), dimension.example()),
        Shape::Choice(words) => format!("expected {}", one_of(words)),
    }
}

/// At most this many points: more than any standard or open device model has.
pub const MAX_POINTS: usize = 32;

fn curve(points: &[(String, String)], x: Dimension, y: Dimension) -> Result<Vec<Point>, Vec<Fault>> {
    let mut faults = Vec::new();
    let mut read = Vec::with_capacity(points.len());
    for (n, (px, py)) in points.iter().enumerate() {
        let mut part = |dimension: Dimension, text: &str, axis| match dimension.parse(text) {
            Ok(amount) => Some(amount),
            Err(says) => {
                faults.push(Fault { says, at: Some((n, axis)) });
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
            let says = format!("points must ascend: {} comes after {}", after.x.show(x), before.x.show(x));
            faults.push(Fault { says, at: Some((n, 0)) });
        }
    }
    if !(2..=MAX_POINTS).contains(&points.len()) {
        faults.extend(Fault::whole(format!("a curve has 2 to {MAX_POINTS} points, found {}", points.len())));
    }
    if faults.is_empty() { Ok(read.into_iter().map(|(_, p)| p).collect()) } else { Err(faults) }
}

/// Each coordinate an interval: so many points, each within its own box.
fn band(points: &[(String, String)], setting: SettingId, (x, y): (Dimension, Dimension), why: WhyId) -> Result<Vec<Claim>, Vec<Fault>> {
    let count = Bound::closed(Amount::plain(Exact::from(points.len() as i64)));
    let on = Term::Var(Var { setting, part: Part::PointCount });
    let mut claims: Vec<Claim> = Edges { low: Some(count), high: Some(count) }.claims(on, why).collect();
    let mut faults = Vec::new();
    if !(2..=MAX_POINTS).contains(&points.len()) {
        return Err(Fault::whole(format!("a curve has 2 to {MAX_POINTS} points, found {}", points.len())));
    }
    for (n, (px, py)) in points.iter().enumerate() {
        for (axis, dimension, part, text) in [(0, x, Part::X(n as u8), px), (1, y, Part::Y(n as u8), py)] {
            match interval(dimension, text) {
                Ok(edges) => claims.extend(edges.claims(Term::Var(Var { setting, part }), why)),
                Err(says) => faults.push(Fault { says, at: Some((n, axis)) }),
            }
        }
    }
    if faults.is_empty() { Ok(claims) } else { Err(faults) }
}

/// Each point at least so far above its lower neighbour: `at least 0.02 pu`.
///
/// # Errors
/// A sentence that says what is wrong and how to mend it.
pub fn spacing(setting: SettingId, points: usize, text: &str, why: WhyId) -> Result<Vec<Claim>, String> {
    let Shape::Curve { x, .. } = setting.parameter().shape else { return Err("only a curve's points have a spacing".to_owned()) };
    let edges = interval(x, text)?;
    let at = |n: usize| Var { setting, part: Part::X(n as u8) };
    Ok((1..points).flat_map(|n| edges.claims(Term::Gap(at(n), at(n - 1)), why)).collect())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn volts(n: i64) -> Amount {
        Amount::plain(Exact::from(n))
    }

    #[test]
    fn one_grammar_for_every_interval() {
        let closed = |n| Some(Bound::closed(volts(n)));
        let open = |n| Some(Bound::open(volts(n)));
        for (text, low, high) in [
            ("244 V to 258 V", closed(244), closed(258)),
            ("244 V to under 258 V", closed(244), open(258)),
            ("over 244 V to 258 V", open(244), closed(258)),
            ("at least 244 V", closed(244), None),
            ("over 244 V", open(244), None),
            ("at most 258 V", None, closed(258)),
            ("under 258 V", None, open(258)),
            ("0.253 kV", closed(253), closed(253)),
        ] {
            assert_eq!(interval(Dimension::Voltage, text), Ok(Edges { low, high }), "{text}");
        }
    }

    #[test]
    fn slips_in_an_interval_say_how_to_mend_them() {
        for (text, says) in [
            ("258 V to 244 V", "runs downwards"),
            (">= 244 V", "write bounds in words"),
            ("244 to 258 V", "`244` has no unit"),
            ("244 V to 258 Hz", "`Hz` is not a unit of voltage"),
        ] {
            assert!(interval(Dimension::Voltage, text).unwrap_err().contains(says), "{text}");
        }
        assert!(date_interval("from 2032-13-01").unwrap_err().contains("is not a date"));
        assert!(date("2032-2-1").is_err() && date("02/01/2032").is_err() && date("2032-02-+1").is_err());
    }

    #[test]
    fn every_fault_of_a_curve_is_found() {
        let setting = SettingId::named("volt-var/points").unwrap();
        let points = |p: &[(&str, &str)]| Written::Points(p.iter().map(|(x, y)| ((*x).to_owned(), (*y).to_owned())).collect());
        let faults = points(&[("207 V", "44"), ("240 Hz", "0 %"), ("220 V", "0 %"), ("210 V", "-60 %")]).value(setting).unwrap_err();
        assert_eq!(faults.iter().map(|f| f.at).collect::<Vec<_>>(), [Some((0, 1)), Some((1, 0)), Some((3, 0))]);
        assert!(points(&[("207 V", "44 %")]).value(setting).is_err());
    }

    #[test]
    fn conditions_take_words_quantities_and_dates() {
        assert_eq!(fact_test(FactId::ExportKind, "fixed or dynamic"), Ok(FactTest::OneOf(Words::one(1).or(Words::one(2)))));
        let until = date_interval("until 2032-04-30").unwrap().high.unwrap();
        assert!(!until.open, "the day named is included");
        assert!(fact_test(FactId::NominalVoltage, "over 1 pu").is_err());
    }
}
