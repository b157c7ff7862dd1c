//! What an installer does about a change, as an instruction.

use super::action::{Action, ToDo};
use super::reason::Reason;
use super::sets::Relation;
use super::versions::Change;
use super::words::no_longer;
use crate::book::export::is_held_at_zero;
use crate::phrase::{adjustable, complies_within, dimension_of};
use settings_model::catalogue::{HeldBy, SettingId};
use settings_model::claim::{Claim, Evidence, Limit, Part, Words};
use settings_model::entry::Entry;
use settings_model::facts::{FactId, Facts};
use settings_model::slip::one_of;

/// The instruction, and what complied and no longer does.
pub(super) fn instruction(change: &Change) -> String {
    let Action { to_do, known_by } = &change.action;
    let of_value = of_value(change, to_do);
    let lost = match (&change.relation, to_do) {
        (_, ToDo::Nothing) => None,
        // nobody complied by what was not said, and nobody knows what is lost by what is not said any more
        _ if matches!(change.reason, Reason::ValueSaid | Reason::CaseAdded | Reason::NoCase) => None,
        (Relation::Narrower(lost) | Relation::Moved { lost, .. }, _) => {
            no_longer(change, lost).map(|lost| format!("; {lost} no longer complies"))
        }
        _ => None,
    };
    let value = of_value.map(|value| format!("{value}{}", lost.unwrap_or_default()));
    let show = known_by.map(|kinds| format!("prove it by {}", words_of(kinds)));
    let nobody = (change.reason == Reason::NobodyComplied).then_some("; what was asked before contradicts itself, so no site complied");
    let text = match (value, show) {
        (Some(value), Some(show)) if !matches!(to_do, ToDo::Nothing) => format!("{value}; {show}"),
        (_, Some(show)) => show,
        (value, None) => value.unwrap_or_else(|| "nothing".to_owned()),
    };
    format!("{text}{}", nobody.unwrap_or_default())
}

fn words_of(kinds: Words) -> String {
    let words: Vec<&str> = Evidence::ALL.into_iter().filter(|kind| kinds.has(*kind as u8)).map(Evidence::in_print).collect();
    one_of(&words)
}

fn of_value(change: &Change, to_do: &ToDo) -> Option<String> {
    let setting = change.setting;
    let complies = || change.new.as_ref().and_then(|entry| complies_within(entry, &Facts::default())).unwrap_or_default();
    Some(match to_do {
        ToDo::Nothing => return nothing(change),
        ToDo::Set(value) => format!("set it to {}", value.show(setting)),
        ToDo::BringWithin(value) => {
            let entry = change.new.as_ref()?;
            bring_within(setting, entry, value.as_ref().map(|value| value.show(setting)), change.relation == Relation::Added)
        }
        ToDo::SwitchOn => "set it to enabled, and set what else is asked of it".to_owned(),
        ToDo::SwitchOff if change.not_covered => {
            "look into the newer document itself: its profile says nothing of it; where it does not ask for the stage, switch it off"
                .to_owned()
        }
        ToDo::SwitchOff => "switch it off: a trip stage that nobody asks for may not be left enabled".to_owned(),
        ToDo::SeeThat => see_that(setting, &complies()),
        ToDo::EnterThePoints => format!("where it is entered in other points, enter {}", asked_points(change, complies())),
        ToDo::UnlessMoved => unless_moved(change),
        ToDo::AskTheOperator => format!("ask the network operator for the value, within {}, and set it", complies()),
        ToDo::AskWhatIsRequired => {
            "ask the network operator what it requires of such a site: none of the cases is for it any more".to_owned()
        }
        ToDo::LookUp if change.new.as_ref().is_some_and(Entry::is_gap) => {
            "look into the document itself: this table is not in the profile".to_owned()
        }
        ToDo::LookUp => "look into the newer document itself: its profile says nothing of it".to_owned(),
    })
}

/// Why nothing has to be done.
fn nothing(change: &Change) -> Option<String> {
    let still = "what complied still does";
    Some(match change.reason {
        Reason::RequiredMoved | Reason::MoreComplies if change.besides.required => {
            match change.new.as_ref().and_then(|entry| entry.require.as_ref()) {
                Some(value) => format!("set it to {} from now on; {still}", value.show(change.setting)),
                None => format!("nothing: {still}"),
            }
        }
        Reason::MoreComplies => format!("nothing: {still}"),
        Reason::MayBeEnabled => "nothing, unless its function is enabled".to_owned(),
        Reason::NoLongerAsked if may_concern_zero_export(change) => {
            "nothing: it is no longer asked; a site that may not export stays limited to 0 W".to_owned()
        }
        Reason::NoLongerAsked => "nothing: it is no longer asked".to_owned(),
        Reason::RangeWider => format!("nothing: {still}"),
        _ => return None,
    })
}

/// Whether a site that exports nothing may be among those that a change of its limit concerns.
fn may_concern_zero_export(change: &Change) -> bool {
    let may_be_without = |facts: &Facts| facts.get(FactId::ExportKind).is_none() || facts.is_without_export();
    is_held_at_zero(change.setting) && change.examples.iter().any(may_be_without)
}

fn asked_points(change: &Change, complies: String) -> String {
    let required = change.new.as_ref().and_then(|entry| entry.require.as_ref());
    required.map_or(complies, |value| value.show(change.setting))
}

fn unless_moved(change: &Change) -> String {
    let Some(entry) = &change.new else { return "nothing".to_owned() };
    match adjustable(entry, &Facts::default()) {
        Some(range) => format!("nothing, unless somebody moved it: then it may only be within {range}, by {}", entry.moved_by.word()),
        None => "nothing, unless somebody moved it: then it has to be as required".to_owned(),
    }
}

fn see_that(setting: SettingId, complies: &str) -> String {
    let parameter = setting.parameter();
    match (parameter.held_by, parameter.to_do) {
        (_, Some(to_do)) => format!("see that it is {complies}; where it is not, {to_do}"),
        (HeldBy::TypeTest, None) => format!("see that the device's certificate shows {complies}"),
        _ => format!("see that it is {complies}"),
    }
}

/// `where it is over 12 kW, set it to 12 kW or less`; of what was not asked before, `set it to 12 kW or
/// less`.
fn bring_within(setting: SettingId, entry: &Entry, value: Option<String>, is_new: bool) -> String {
    let complies = complies_within(entry, &Facts::default()).unwrap_or_default();
    let numbers: Vec<&Claim> = entry.comply.iter().filter(|claim| claim.bound().is_some()).collect();
    let others = entry.comply.iter().any(|claim| claim.bound().is_none() && !claim.is_about_evidence());
    let shown = |claim: &Claim| Some(claim.bound()?.value.show(dimension_of(setting, Part::Whole)?));
    let one_sided = match (&numbers[..], others) {
        ([claim], false) => shown(claim).map(|edge| match (&claim.limit, claim.bound().is_some_and(|bound| bound.open)) {
            (Limit::AtMost(_), false) => (format!("is above {edge}"), format!("{edge} or less")),
            (Limit::AtMost(_), true) => (format!("is {edge} or more"), format!("less than {edge}")),
            (_, false) => (format!("is below {edge}"), format!("{edge} or more")),
            (_, true) => (format!("is {edge} or less"), format!("more than {edge}")),
        }),
        _ => None,
    };
    let (wrong, right) = one_sided.unwrap_or_else(|| match setting.parameter().shape {
        settings_model::catalogue::Shape::Choice(_) => (format!("is not {complies}"), complies.clone()),
        _ => (format!("is not within {complies}"), format!("a value within {complies}")),
    });
    match (is_new, value) {
        (true, Some(value)) => format!("set it to {value}; {complies} complies"),
        (true, None) => format!("set it to {right}"),
        (false, Some(value)) => format!("where it {wrong}, set it to {value}"),
        (false, None) => format!("where it {wrong}, set it to {right}"),
    }
}
