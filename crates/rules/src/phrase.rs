//! Requirements and origins in words, the same in findings, sheets and explanations.

use crate::departure::Departure;
use crate::judge::{MissingEvidence, keeps_all};
use crate::provenance::Standing;
use settings_model::attested::{Read, Reader};
use settings_model::catalogue::{REFERENCE, SettingId, Shape};
use settings_model::claim::{Bound, Claim, LayerKind, Limit, Line, Part, Provenance, ProvenanceId, Term, Var};
use settings_model::entry::Entry;
use settings_model::exact::Exact;
use settings_model::facts::{FactId, Facts};
use settings_model::quantity::{Amount, Dimension};
use settings_model::requirement::Rulebook;
use settings_model::value::{Point, Value};
use std::cmp::Ordering;

/// With a capital letter in front.
#[must_use]
pub fn capitalised(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

/// A space that is not folded at, while text is laid out.
pub const UNBROKEN: char = '\u{a0}';

/// Numbers keep their units beside them: `50.5 Hz` is never folded.
#[must_use]
pub fn unbroken(text: &str) -> String {
    let keeps = |word: &str, next: &str| word.ends_with(|c: char| c.is_ascii_digit()) && is_unit(next);
    let mut words = text.split(' ').peekable();
    let mut kept = String::with_capacity(text.len());
    while let Some(word) = words.next() {
        kept.push_str(word);
        match words.peek() {
            Some(next) if keeps(word, next) => kept.push(UNBROKEN),
            Some(_) => kept.push(' '),
            None => {}
        }
    }
    kept
}

fn is_unit(word: &str) -> bool {
    let word = word.trim_end_matches([',', ';', ')', '.']);
    Dimension::ALL.iter().any(|dimension| dimension.symbols().any(|symbol| symbol == word))
}

/// The dimension of a part of a setting; points have two.
#[must_use]
pub fn dimension_of(setting: SettingId, part: Part) -> Option<Dimension> {
    match (setting.parameter().shape, part) {
        (Shape::Quantity(dimension), _) => Some(dimension),
        (Shape::Curve { x, .. }, Part::X(_)) => Some(x),
        (Shape::Curve { y, .. }, Part::Y(_)) => Some(y),
        (Shape::Curve { .. }, Part::PointCount) => Some(Dimension::Count),
        _ => None,
    }
}

/// What complies with a list of claims on one part of a setting: `1 s to under 2 s`, `off or
/// absent`, `at most 5 kW`, `reference - 0.18 pu to next point - 0.02 pu`. `None` where nothing is
/// asked of that part.
#[must_use]
pub fn within(claims: &[Claim], setting: SettingId, part: Part, facts: &Facts) -> Option<String> {
    let of_part = |claim: &&Claim| claim.on.subject() == Var { setting, part };
    let (mut low, mut high, mut words): (Option<Bound>, Option<Bound>, Option<_>) = (None, None, None);
    let (mut counted_low, mut counted_high) = (Vec::new(), Vec::new());
    for claim in claims.iter().filter(of_part) {
        if let Term::Gap(own, other) = claim.on {
            match &claim.limit {
                Limit::AtLeast(bound) => counted_low.push((anchor(own, other), *bound)),
                Limit::AtMost(bound) => counted_high.push((anchor(own, other), *bound)),
                _ => {}
            }
            continue;
        }
        match &claim.limit {
            Limit::AtLeast(bound) => low = Some(tighter(low, *bound, facts, false)),
            Limit::AtMost(bound) => high = Some(tighter(high, *bound, facts, true)),
            Limit::OneOf(set) => words = Some(words.map_or(*set, |w: settings_model::claim::Words| w.and(*set))),
            Limit::Above(_) | Limit::Below(_) | Limit::Stated(_) | Limit::NotSeen | Limit::NoCase => {}
        }
    }
    if let (Some(words), Shape::Choice(known)) = (words, setting.parameter().shape) {
        let names: Vec<&str> = words.iter().filter_map(|w| known.get(usize::from(w)).copied()).collect();
        return Some(names.join(" or "));
    }
    let dimension = dimension_of(setting, part)?;
    let plain = |bound: Bound| (here(bound.value, facts).show(dimension), bound.open);
    let counted = |(anchor, bound): (String, Bound)| (from_anchor(&anchor, bound, dimension), bound.open);
    // an edge of its own comes first; what is counted from elsewhere narrows it
    let mut lows = low.map(plain).into_iter().chain(counted_low.into_iter().map(counted));
    let mut highs = high.map(plain).into_iter().chain(counted_high.into_iter().map(counted));
    let first = edges(lows.next(), highs.next());
    let more = lows.map(|low| edges(Some(low), None)).chain(highs.map(|high| edges(None, Some(high))));
    let all: Vec<String> = std::iter::once(first).chain(more).flatten().collect();
    (!all.is_empty()).then(|| all.join(" and "))
}

/// An amount as it is read at a site: in volts, where the nominal voltage is known.
#[must_use]
pub fn here(amount: Amount, facts: &Facts) -> Amount {
    let is_per_unit = amount.of == Some(FactId::NominalVoltage);
    amount.at(facts).filter(|_| is_per_unit).map_or(amount, Amount::plain)
}

/// A value as it is read at a site.
#[must_use]
pub fn value_here(value: &Value, facts: &Facts) -> Value {
    match value {
        Value::Quantity(amount) => Value::Quantity(here(*amount, facts)),
        Value::Curve(points) => {
            Value::Curve(points.iter().map(|point| Point { x: here(point.x, facts), y: here(point.y, facts) }).collect())
        }
        Value::Never | Value::Word(_) => value.clone(),
    }
}

/// What an edge is counted from, for people.
fn anchor(own: Var, other: Var) -> String {
    match (own.part, other.part) {
        (Part::X(n) | Part::Y(n), Part::X(m) | Part::Y(m)) if own.setting == other.setting && m == n + 1 => "next point".to_owned(),
        (Part::X(n) | Part::Y(n), Part::X(m) | Part::Y(m)) if own.setting == other.setting && n == m + 1 => "previous point".to_owned(),
        _ if other.setting.parameter().key == REFERENCE => "reference".to_owned(),
        _ => other.setting.title().to_lowercase(),
    }
}

/// `reference - 0.18 pu`.
fn from_anchor(anchor: &str, bound: Bound, dimension: Dimension) -> String {
    let distance = Amount { number: bound.value.number.abs(), ..bound.value };
    match bound.value.number.cmp(&Exact::ZERO) {
        Ordering::Equal => anchor.to_owned(),
        Ordering::Less => format!("{anchor} - {}", distance.show(dimension)),
        Ordering::Greater => format!("{anchor} + {}", distance.show(dimension)),
    }
}

/// Of two edges the one that leaves less; the first where that depends on an unknown fact.
fn tighter(old: Option<Bound>, new: Bound, facts: &Facts, is_high: bool) -> Bound {
    let Some(old) = old else { return new };
    match (old.value.at(facts), new.value.at(facts)) {
        (Some(o), Some(n)) if (is_high && n < o) || (!is_high && n > o) || (n == o && new.open) => new,
        _ => old,
    }
}

/// An edge in words, and whether it is left out.
type Edge = (String, bool);

fn edges(low: Option<Edge>, high: Option<Edge>) -> Option<String> {
    Some(match (low, high) {
        (Some(low), Some(high)) if low == high && !low.1 => low.0,
        (Some((low, low_open)), Some((high, high_open))) => {
            format!("{}{low} to {}{high}", if low_open { "over " } else { "" }, if high_open { "under " } else { "" })
        }
        (Some((low, open)), None) => format!("{} {low}", if open { "over" } else { "at least" }),
        (None, Some((high, open))) => format!("{} {high}", if open { "under" } else { "at most" }),
        (None, None) => return None,
    })
}

/// What complies with an entry, of the whole setting. Curves give one line for each point.
#[must_use]
pub fn complies_within(entry: &Entry, facts: &Facts) -> Option<String> {
    set_of(&entry.comply, entry.setting, facts)
}

/// The range in which the entitled may move a setting, if there is one.
#[must_use]
pub fn adjustable(entry: &Entry, facts: &Facts) -> Option<String> {
    let range = set_of(&entry.adjustable, entry.setting, facts)?;
    let Some((step, dimension)) = entry.step.zip(dimension_of(entry.setting, Part::Whole)) else { return Some(range) };
    Some(format!("{range} in steps of {}", here(step, facts).show(dimension)))
}

fn set_of(claims: &[Claim], setting: SettingId, facts: &Facts) -> Option<String> {
    let Shape::Curve { .. } = setting.parameter().shape else { return within(claims, setting, Part::Whole, facts) };
    let points = (0..settings_model::notation::MAX_POINTS as u8).map_while(|n| {
        let x = within(claims, setting, Part::X(n), facts)?;
        let y = within(claims, setting, Part::Y(n), facts)?;
        Some(format!("{y} at {x}"))
    });
    let points = points.collect::<Vec<_>>().join(", ");
    let lines = lines_around(claims, setting, facts);
    match (points.is_empty(), lines.is_empty()) {
        (true, true) => None,
        (true, false) => Some(lines),
        (false, true) => Some(points),
        (false, false) => Some(format!("{points}, and {lines}")),
    }
}

/// `nowhere below -2 % at 239 V, -62 % at 257 V, nor above 2 % at 241 V, -58 % at 259 V`.
fn lines_around(claims: &[Claim], setting: SettingId, facts: &Facts) -> String {
    let shown = |line: &Line| value_here(&Value::Curve(line.to_vec()), facts).show(setting);
    let line = |claim: &Claim| match &claim.limit {
        Limit::Above(line) => Some(("below", shown(line))),
        Limit::Below(line) => Some(("above", shown(line))),
        _ => None,
    };
    let mut text = String::new();
    for (side, points) in claims.iter().filter_map(line) {
        let (join, word) = if text.is_empty() { ("", "nowhere") } else { (", ", "nor") };
        text.push_str(&format!("{join}{word} {side} {points}"));
    }
    text
}

/// The value to set: the required one if it keeps every claim, else the closed edge of what complies.
#[must_use]
pub fn to_set(entry: &Entry, ties: &[Claim], facts: &Facts) -> Option<Value> {
    if entry.no_case().is_some() {
        return None;
    }
    if let Some(value) = entry.require.as_ref().filter(|value| keeps_all(value, entry)) {
        return Some(value.clone());
    }
    // an edge of what is left to the network operator is no value to set
    if entry.is_left_open() {
        return None;
    }
    let setting = entry.setting;
    match setting.parameter().shape {
        // of several words nobody but the installer can choose
        Shape::Choice(_) => entry.comply.iter().find_map(|claim| match &claim.limit {
            Limit::OneOf(words) => words.only().map(Value::Word),
            _ => None,
        }),
        Shape::Quantity(_) => edge_to_set(entry, ties, facts).map(Value::Quantity),
        Shape::Curve { .. } => None,
    }
}

fn edge_to_set(entry: &Entry, ties: &[Claim], facts: &Facts) -> Option<Amount> {
    let own = |claim: &&Claim| claim.on == Term::Var(entry.setting.into());
    let edge = |want_high: bool| {
        let bounds = entry.comply.iter().chain(ties).filter(own).filter_map(|claim| match claim.limit {
            Limit::AtMost(bound) if want_high => Some(bound),
            Limit::AtLeast(bound) if !want_high => Some(bound),
            _ => None,
        });
        let tightest = bounds.fold(None, |old, new| Some(tighter(old, new, facts, want_high)))?;
        (!tightest.open).then_some(tightest.value)
    };
    edge(true).or_else(|| edge(false))
}

/// What a device stands under: `Quillbrook Network, Issue 3 (3.0.0) on AS/NZS 4777.2:2020 Amd 2,
/// Australia A, with AS/NZS 4777.1:2024`.
#[must_use]
pub fn under(rulebook: &Rulebook) -> String {
    let from_top = || rulebook.layers.iter().rev();
    let on = from_top().filter_map(|layer| match layer.kind {
        LayerKind::Overlay => Some(format!("{} ({})", layer.title, layer.version)),
        LayerKind::Standard => Some(layer.title.clone()),
        _ => None,
    });
    let on = on.collect::<Vec<_>>().join(" on ");
    let with = from_top().filter(|layer| layer.kind == LayerKind::InstallationStandard).map(|layer| layer.title.clone());
    std::iter::once(on).chain(with).collect::<Vec<_>>().join(", with ")
}

/// A difference in two decimals, or in as many as it takes not to say that there is none.
#[must_use]
pub fn least_digits(number: Exact) -> Exact {
    let shown = |decimals: &u32| number.rounded(*decimals) != Exact::ZERO;
    (2..=Exact::MOST_DECIMALS).find(shown).map_or(number, |decimals| number.rounded(decimals))
}

/// Where a claim comes from.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Origin {
    /// Who asks: `Quillbrook Network, Issue 2`.
    pub who: String,
    /// Where that is written, and how sure it is: `Quillbrook connection guide 4.2; invented`.
    pub known: Option<String>,
}

impl std::fmt::Display for Origin {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match &self.known {
            Some(known) => write!(f, "{} ({known})", self.who),
            None => f.write_str(&self.who),
        }
    }
}

/// Where a claim comes from, in words: `Quillbrook Network, Issue 2 (Quillbrook connection guide 4.2; invented)`.
#[must_use]
pub fn origin(why: ProvenanceId, rulebook: &Rulebook, departures: &[Departure], setting: SettingId) -> String {
    origin_of(why, rulebook, departures, setting).to_string()
}

/// Where a claim comes from.
#[must_use]
pub fn origin_of(why: ProvenanceId, rulebook: &Rulebook, departures: &[Departure], setting: SettingId) -> Origin {
    let by = |who: String| Origin { who, known: None };
    if why == ProvenanceId::NO_EXPORT {
        return by("the site's own approval: no export".to_owned());
    }
    let Some((why, layer)) = rulebook.why(why) else { return by(approval(departures, setting)) };
    let Some(citation) = &why.citation else { return by(layer.title.clone()) };
    let document = (!layer.title.starts_with(&citation.document)).then_some(citation.document.as_str());
    let found: Vec<&str> = document.into_iter().chain(citation.clause.as_deref()).collect();
    let found = if found.is_empty() { String::new() } else { format!("{}; ", found.join(", ")) };
    Origin { who: layer.title.clone(), known: Some(format!("{found}{}", known_phrase(why))) }
}

fn approval(departures: &[Departure], setting: SettingId) -> String {
    let Some(departure) = departures.iter().find(|d| d.setting == setting) else { return "a site-specific approval".to_owned() };
    let until = departure.until.map_or_else(String::new, |day| format!(", until {day}"));
    let exception = departure.exception.as_ref().filter(|_| departure.is_excepted);
    let exception = exception.map_or_else(String::new, |by| format!(", by exception {} ({})", by.reference, by.reason));
    format!("site-specific approval {} by the {}{until}{exception}", departure.reference, departure.role)
}

/// How sure what a line says is: `from memory, unverified`; `attested by Fernhold Compliance,
/// 2026-05-04`; `DISPUTED by …, which read 266 V`.
#[must_use]
pub fn known_phrase(why: &Provenance) -> String {
    match &why.read {
        None => why.standing().map_or("", Standing::phrase).to_owned(),
        Some(read) if read.agrees => format!("attested by {}, {}", read.by.office, read.by.read_on),
        Some(read) => format!("DISPUTED by {}, {}, which read {}", read.by.office, read.by.read_on, read.value),
    }
}

/// Who read a value, when, in which copy and clause: `read by the compliance officer of …, on …, in …`.
#[must_use]
pub fn reading_phrase(read: &Read) -> String {
    let Reader { office, read_by, read_on, document, amendments } = &*read.by;
    let says = if read.agrees { format!("{} agrees", read.verb.word()) } else { format!("{} is {} there", read.verb.word(), read.value) };
    format!("{office}: read by {read_by} on {read_on} in {document} ({amendments}), {}; {says}", read.clause)
}

/// What would make up for a lack.
#[must_use]
pub fn missing_evidence_remedy(lack: MissingEvidence) -> String {
    match lack {
        MissingEvidence::NotStated => "read the value on the device and state it; missing evidence is never a pass".to_owned(),
        MissingEvidence::Evidence => "get evidence of one of these kinds, and write which under `known-by`".to_owned(),
        MissingEvidence::Fact(fact) | MissingEvidence::Hangs(fact) => format!("state {}", fact.row().stated_as),
        MissingEvidence::Beside(other) => format!("read {other} on the device and state it; the limit is counted from it"),
        MissingEvidence::Rounded | MissingEvidence::Coarse => "read the value where the device shows more digits".to_owned(),
        MissingEvidence::MeaningOfTime => "find out from the device's manual which time it shows, and state that one".to_owned(),
        MissingEvidence::LeftOpen => "state the `network`, where its requirements give the value; else ask the network operator for it".to_owned(),
        MissingEvidence::NoCase => "ask the network operator what it requires of such a site; the profile needs a case for it".to_owned(),
        MissingEvidence::TwoFigures => "find out which of the figures is right, and correct the other in the file".to_owned(),
        MissingEvidence::OwnTime => "look up the device's own operating time, and add it to the label map as `own-time`; or write the time that is required under `settings`".to_owned(),
    }
}

/// The lack, for people.
#[must_use]
pub fn missing_evidence_phrase(lack: MissingEvidence) -> String {
    match lack {
        MissingEvidence::NotStated => "not stated".to_owned(),
        MissingEvidence::Evidence => "not known by a kind of evidence that is accepted here".to_owned(),
        MissingEvidence::Fact(fact) => format!("the limit depends on a fact that is not stated: {}", fact.row().title),
        MissingEvidence::Hangs(fact) => format!("what is required depends on a fact that is not stated: {}", fact.row().title),
        MissingEvidence::Beside(other) => format!("the limit is counted from {other}, which is not stated"),
        MissingEvidence::Rounded => "the display rounds: the value behind it may lie on either side of the limit".to_owned(),
        MissingEvidence::Coarse => "the steps of the display are too coarse to tell the required value from a wrong one".to_owned(),
        MissingEvidence::MeaningOfTime => {
            "the display says only \"time\"; as one kind of time it complies, as another it does not".to_owned()
        }
        MissingEvidence::LeftOpen => "the network operator decides the value, and the file names no network".to_owned(),
        MissingEvidence::NoCase => {
            "the requirement names cases, and none of them is for a site like this, so what is required is not known".to_owned()
        }
        MissingEvidence::TwoFigures => "two figures are stated, and only one of them complies".to_owned(),
        MissingEvidence::OwnTime => {
            "it is not the time that is required, and the device's own time, which lies between the two, is not known".to_owned()
        }
    }
}
