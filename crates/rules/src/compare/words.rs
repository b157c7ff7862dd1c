//! Changes in the words of people: what was asked, what is asked now, and what to do about it.

use super::holdings::{By, between};
use super::instruction::instruction;
use super::reason::Reason;
use super::sets::Relation;
use super::versions::{Change, Sites};
use crate::phrase::{adjustable, complies_within, dimension_of, least_digits, origin};
use crate::sheet::known_by;
use crate::witness::{Witness, WitnessValue};
use settings_model::catalogue::{SettingId, Shape};
use settings_model::cells::Condition;
use settings_model::claim::ProvenanceId;
use settings_model::entry::Entry;
use settings_model::exact::Exact;
use settings_model::facts::Facts;
use settings_model::quantity::{Amount, Dimension};
use settings_model::requirement::Rulebook;
use settings_model::value::{Point, Value};

/// A change, told.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ChangeInWords {
    /// The setting.
    pub setting: SettingId,
    /// In one or two words what happened.
    pub what: &'static str,
    /// Why it deserves its version step.
    pub reason: Reason,
    /// What was asked.
    pub was: String,
    /// What is asked now.
    pub now: String,
    /// How far the value to set has moved: `3 V lower`; of a curve, where its response lies farthest off.
    pub by_how_much: Option<String>,
    /// What an installer does about it.
    pub to_do: String,
    /// Rules that the values have to keep together with others, which each alone would not.
    pub keep: Vec<String>,
    /// For which sites.
    pub sites: String,
    /// Who says so, with document and clause.
    pub by: Option<String>,
    /// The reason given.
    pub because: Option<String>,
}

/// Tells a change between two rulebooks.
#[must_use]
pub fn told(change: &Change, old: &Rulebook, new: &Rulebook) -> ChangeInWords {
    let with_range = change.besides.adjustable;
    let (was, now) = (asked(change.old.as_ref(), with_range), asked(change.new.as_ref(), with_range));
    let speaking = change.new.as_ref().map(|entry| (entry, new)).or(change.old.as_ref().map(|entry| (entry, old)));
    let line = speaking.and_then(|(entry, book)| Some((line_of(change, entry)?, book)));
    ChangeInWords {
        setting: change.setting,
        what: what(change),
        reason: change.reason,
        was,
        now,
        by_how_much: by_how_much(change),
        to_do: to_do(change, new),
        keep: change.tied.keep.iter().filter_map(|tie| rule(*tie, new)).collect(),
        sites: sites(&change.sites),
        by: line.map(|(why, book)| said_by(why, book, change.setting)),
        because: line.and_then(|(why, book)| book.whys.get(why)?.because.as_deref().map(str::to_owned)),
    }
}

fn to_do(change: &Change, new: &Rulebook) -> String {
    let to_do = instruction(change);
    let broken: Vec<String> = change.tied.nobody.iter().filter_map(|tie| rule(*tie, new)).collect();
    match &broken[..] {
        [] => to_do,
        broken => format!("ask the network operator first: no value keeps this rule too: {}; then {to_do}", broken.join("; and ")),
    }
}

/// What a tie says.
fn rule(tie: ProvenanceId, book: &Rulebook) -> Option<String> {
    book.whys.get(tie)?.because.as_deref().map(str::to_owned)
}

/// Who says it. The region is told beside it, and what all regions share is told once.
fn said_by(why: ProvenanceId, book: &Rulebook, setting: SettingId) -> String {
    let origin = origin(why, book, &[], setting);
    let of_region = format!(", {}", book.region_title);
    if book.region_title.is_empty() { origin } else { origin.replacen(&of_region, "", 1) }
}

/// The line that says what changed: of a range alone, the range's own, whose source may be another.
fn line_of(change: &Change, entry: &Entry) -> Option<ProvenanceId> {
    let is_range_alone = what(change) == "adjustable range";
    let range = entry.adjustable.first().filter(|_| is_range_alone);
    range.or(entry.comply.first()).map(|claim| claim.why).or(entry.decided_by())
}

fn what(change: &Change) -> &'static str {
    match (&change.relation, change.besides) {
        (Relation::Added, _) if change.not_covered => "not covered by the older profile",
        (Relation::Removed, _) if change.not_covered => "not covered by the newer profile",
        (Relation::Added, _) if change.new.as_ref().is_some_and(Entry::is_gap) => "not seen",
        (Relation::Same, besides) if besides.required => "value to set moved",
        (Relation::Same, besides) if besides.evidence => "evidence",
        (Relation::Same, besides) if besides.adjustable => "adjustable range",
        (Relation::Same, _) => "source",
        (relation, _) => relation.word(),
    }
}

/// `255 V, evidence: read-out or photo`.
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
        text.push_str(&format!(", evidence: {kinds}"));
    }
    if with_range {
        text.push_str(&format!("; may be changed by {}", entry.moved_by.word()));
        text.push_str(&adjustable(entry, &facts).map(|range| format!(", within {range}")).unwrap_or_default());
    }
    text
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
        (By::Unknown, _) => "depends on the nominal voltage, which is not stated".to_owned(),
        _ => "changed".to_owned(),
    }
}

/// What complied and no longer does: the value that was to be set, or an example.
pub(super) fn no_longer(change: &Change, lost: &Witness) -> Option<String> {
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

/// `phases 1; or phases 3 and nameplate-total over 15 kVA`.
fn sites(sites: &Sites) -> String {
    let Sites::Where(lists) = sites else { return "every site".to_owned() };
    let list = |conditions: &Vec<Condition>| conditions.iter().map(Condition::in_words).collect::<Vec<_>>().join(" and ");
    lists.iter().map(list).collect::<Vec<_>>().join("; or ")
}
