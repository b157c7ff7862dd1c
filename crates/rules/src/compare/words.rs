//! Changes in the words of people: what was asked, what is asked now, and what to do about it.

use super::holdings::{By, between};
use super::sets::Relation;
use super::versions::{Change, Sites};
use crate::phrase::{adjustable, complies_within, dimension_of, least_digits, origin, to_set};
use crate::sheet::known_by;
use crate::witness::{Witness, WitnessValue};
use settings_model::catalogue::{HeldBy, SettingId, Shape};
use settings_model::cells::Condition;
use settings_model::claim::WhyId;
use settings_model::entry::Entry;
use settings_model::exact::Exact;
use settings_model::facts::Facts;
use settings_model::quantity::{Amount, Dimension};
use settings_model::requirement::Rulebook;
use settings_model::source::Sources;
use settings_model::value::{Point, Value};

/// A change, told.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Told {
    /// The setting.
    pub setting: SettingId,
    /// In one or two words what happened.
    pub what: &'static str,
    /// Whether something that complied may comply no longer.
    pub may_strand: bool,
    /// What was asked.
    pub was: String,
    /// What is asked now.
    pub now: String,
    /// How far the value to set has moved: `3 V lower`; of a curve, where its response lies farthest off.
    pub by_how_much: Option<String>,
    /// What an installer does about it.
    pub to_do: String,
    /// For which sites.
    pub sites: String,
    /// Who says so, with document and clause.
    pub by: Option<String>,
    /// The reason given.
    pub because: Option<String>,
}

/// What is done about a trip stage that nobody asks for any more.
const SWITCH_OFF: &str = "switch it off: a trip stage that nobody asks for may not be left enabled";

/// Tells a change between two rulebooks; `sources` has the text of their files.
#[must_use]
pub fn told(change: &Change, old: &Rulebook, new: &Rulebook, sources: &Sources) -> Told {
    let with_range = change.besides.adjustable;
    let (was, now) = (asked(change.old.as_ref(), with_range), asked(change.new.as_ref(), with_range));
    let speaking = change.new.as_ref().map(|entry| (entry, new)).or(change.old.as_ref().map(|entry| (entry, old)));
    let line = speaking.and_then(|(entry, book)| Some((line_of(change, entry)?, book)));
    let to_switch_off = change.relation == Relation::Removed && change.setting.is_state() && change.leaves_stage_unasked([old, new]);
    Told {
        setting: change.setting,
        what: what(change),
        may_strand: may_strand(change) || to_switch_off,
        was,
        now,
        by_how_much: by_how_much(change),
        to_do: if to_switch_off { SWITCH_OFF.to_owned() } else { to_do(change) },
        sites: sites(&change.sites, sources),
        // the region is told beside it, and what all regions share is told once
        by: line.map(|(why, book)| origin(why, book, &[], change.setting).replacen(&format!(", {}", book.region_title), "", 1)),
        because: line.and_then(|(why, book)| book.whys.get(why)?.because.as_deref().map(str::to_owned)),
    }
}

/// The line that says what changed: of a range alone, the range's own, whose source may be another.
fn line_of(change: &Change, entry: &Entry) -> Option<WhyId> {
    let is_range_alone = what(change) == "adjustable range";
    let range = entry.adjustable.first().filter(|_| is_range_alone);
    range.or(entry.comply.first()).map(|claim| claim.why).or(entry.decided_by())
}

/// Evidence that is newly demanded strands sites too.
fn may_strand(change: &Change) -> bool {
    let asks_evidence = change.new.as_ref().is_some_and(|entry| known_by(entry).is_some());
    change.relation.may_strand() || (change.besides.evidence && asks_evidence)
}

fn what(change: &Change) -> &'static str {
    match (&change.relation, change.besides) {
        (Relation::Same, besides) if besides.required => "value to set moved",
        (Relation::Same, besides) if besides.evidence => "evidence",
        (Relation::Same, besides) if besides.adjustable => "adjustable range",
        (Relation::Same, _) => "source",
        (relation, _) => relation.word(),
    }
}

/// `255 V, known by read or photo`.
fn asked(entry: Option<&Entry>, with_range: bool) -> String {
    let Some(entry) = entry.filter(|entry| with_range || !entry.demands_nothing()) else { return "nothing asked".to_owned() };
    if entry.is_gap() {
        return "asked for, but not seen".to_owned();
    }
    let facts = Facts::default();
    let complies = complies_within(entry, &facts).unwrap_or_else(|| "any value".to_owned());
    let required = entry.require.as_ref().map(|value| value.show(entry.setting));
    let mut text = match required {
        Some(required) if required != complies => format!("{required}; {complies} complies"),
        _ => complies,
    };
    if let Some(kinds) = known_by(entry) {
        text.push_str(&format!(", known by {kinds}"));
    }
    if with_range {
        text.push_str(&format!("; may be changed by {}", entry.moved_by.word()));
        text.push_str(&adjustable(entry, &facts).map(|range| format!(", within {range}")).unwrap_or_default());
    }
    text
}

fn to_do(change: &Change) -> String {
    let evidence = change.new.as_ref().filter(|_| change.besides.evidence || change.relation == Relation::Added).and_then(known_by);
    let show = evidence.map(|kinds| format!("have it known by {kinds}"));
    let of_value = match &change.relation {
        Relation::Same if change.besides.required => Some(match change.new.as_ref().and_then(|entry| entry.require.as_ref()) {
            Some(value) => format!("set it to {} from now on; what complied still does", value.show(change.setting)),
            None => "nothing: what complied still does".to_owned(),
        }),
        Relation::Same if change.besides.adjustable => Some("nothing, unless it was moved within its range".to_owned()),
        Relation::Same => None,
        Relation::Wider(_) => Some("nothing: what complied still does".to_owned()),
        Relation::Removed => Some("nothing: it is no longer asked".to_owned()),
        Relation::Added => Some(set_to(change)),
        Relation::Narrower(lost) | Relation::Moved { lost, .. } => {
            let lost = no_longer(change, lost).map(|lost| format!("; {lost} no longer complies")).unwrap_or_default();
            Some(format!("{}{lost}", set_to(change)))
        }
        Relation::Unproven(_) if change.new.as_ref().is_some_and(Entry::is_gap) => Some(set_to(change)),
        Relation::Unproven(why) => Some(format!("{}; that what complied still does is not shown: {why}", set_to(change))),
    };
    match (of_value, show) {
        (Some(value), Some(show)) => format!("{value}; {show}"),
        (value, show) => value.or(show).unwrap_or_else(|| "nothing".to_owned()),
    }
}

/// How the setting is brought to what is asked now.
fn set_to(change: &Change) -> String {
    let Some(entry) = &change.new else { return "leave it as the region sets it".to_owned() };
    if entry.is_gap() {
        return "find out from the document itself what is asked; it was not seen here".to_owned();
    }
    let parameter = change.setting.parameter();
    let complies = complies_within(entry, &Facts::default()).unwrap_or_default();
    match (parameter.held_by, parameter.to_do) {
        (_, Some(to_do)) => format!("see that it is {complies}; where it is not, {to_do}"),
        (HeldBy::TypeTest, None) => format!("see that the device's certificate shows {complies}"),
        (HeldBy::Calculated | HeldBy::AddedUp, None) => format!("see that it is {complies}"),
        (HeldBy::Setting | HeldBy::AmbiguousDisplay, None) => match to_set(entry, &[], &Facts::default()) {
            Some(value) => format!("set it to {}", value.show(change.setting)),
            None => format!("keep it at {complies}"),
        },
    }
}

fn by_how_much(change: &Change) -> Option<String> {
    let required = |entry: &Option<Entry>| entry.as_ref().and_then(|entry| entry.require.clone());
    let (plain, old, new) = (Facts::default(), required(&change.old)?, required(&change.new)?);
    let by = between((&old, &plain), (&new, &plain)).filter(|by| !matches!(by, By::Kind | By::Unknown))?;
    Some(in_words(change.setting, by, true))
}

/// `2 V lower`, `response up to 12 % lower, at 250 V`.
#[must_use]
pub fn in_words(setting: SettingId, by: By, was_stated: bool) -> String {
    let amount = |by: Exact, dimension: Dimension, words: [&str; 2]| {
        format!("{} {}", dimension.show(by.abs()), if by < Exact::ZERO { words[0] } else { words[1] })
    };
    match (by, setting.parameter().shape) {
        (By::OneSideOnly, _) => (if was_stated { "no longer stated" } else { "newly stated" }).to_owned(),
        (By::Amount(by), Shape::Quantity(Dimension::Time)) => amount(by, Dimension::Time, ["shorter", "longer"]),
        (By::Amount(by), Shape::Quantity(dimension)) => amount(by, dimension, ["lower", "higher"]),
        (By::Response { by, at }, Shape::Curve { x, y }) => {
            format!("response up to {}, at {}", amount(least_digits(by), y, ["lower", "higher"]), x.show(at.rounded(2)))
        }
        (By::EntriesOnly, _) => "response equal, entries differ".to_owned(),
        (By::Unknown, _) => "hangs on the nominal voltage, which is not stated".to_owned(),
        _ => "another word".to_owned(),
    }
}

/// What complied and no longer does: the value that was to be set, or an example.
fn no_longer(change: &Change, lost: &Witness) -> Option<String> {
    let new = change.new.as_ref()?;
    let was_set = change.old.as_ref().and_then(|old| old.require.as_ref());
    let is_lost = |value: &&Value| new.comply.iter().any(|claim| value.keeps(claim) == Some(false));
    match was_set.filter(is_lost) {
        Some(_) => Some("what was set before".to_owned()),
        None => example(lost, change.setting).map(|value| format!("{value}, for example,")),
    }
}

/// The value of one setting in an example, for people.
#[must_use]
pub fn example(witness: &Witness, setting: SettingId) -> Option<String> {
    if let Shape::Curve { .. } = setting.parameter().shape {
        let points = witness.curve(setting)?;
        let points = points.into_iter().map(|(x, y)| Point { x: Amount::plain(x), y: Amount::plain(y) });
        return Some(Value::Curve(points.collect()).show(setting));
    }
    let var = settings_model::claim::Var::from(setting);
    match witness.settings.get(&var)? {
        WitnessValue::Number(number) => Some(dimension_of(setting, var.part)?.show(*number)),
        WitnessValue::Word(word) => Some(Value::Word(*word).show(setting)),
    }
}

/// `phases 1, or phases 3 and nameplate-total over 15 kVA`, as the files say it.
fn sites(sites: &Sites, sources: &Sources) -> String {
    let Sites::Where(cases) = sites else { return "every site".to_owned() };
    // a case that is part of another says nothing more
    let holds = |case: &[Condition], one: &Condition| case.iter().any(|c| (c.fact, c.test) == (one.fact, one.test));
    let is_within = |case: &[Condition], other: &[Condition]| other.len() < case.len() && other.iter().all(|c| holds(case, c));
    let cases = cases.iter().filter(|case| !cases.iter().any(|other| !other.is_empty() && is_within(case, other)));
    let condition = |condition: &Condition| format!("{} {}", condition.fact.row().key, sources.written(condition.place));
    let case = |conditions: &Vec<Condition>| match &conditions[..] {
        [] => "the sites that no case names".to_owned(),
        some => some.iter().map(condition).collect::<Vec<_>>().join(" and "),
    };
    cases.map(case).collect::<Vec<_>>().join("; or ")
}
