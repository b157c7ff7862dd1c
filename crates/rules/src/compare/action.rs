//! What an installer does about a change, at a site that complied before.
//!
//! Whoever does it complies afterwards, and whoever is told to do nothing still does: `tests/change_notes.rs`
//! holds every line against the judge.

use super::reason::{Move, Reason, asks_more_evidence};
use super::sets::{Relation, alike, evidence};
use crate::judge::keeps_all;
use crate::phrase::to_set;
use crate::unproven::Unproven;
use settings_model::catalogue::{HeldBy, SettingId};
use settings_model::claim::{Claim, ProvenanceId, Words};
use settings_model::entry::Entry;
use settings_model::facts::Facts;
use settings_model::value::Value;

/// What an installer does about a change.
#[derive(Clone, Debug, PartialEq)]
pub struct Action {
    /// With the value.
    pub to_do: ToDo,
    /// How the value then has to be known, where that is newly asked.
    pub known_by: Option<Words>,
}

/// What is done with a value.
#[derive(Clone, Debug, PartialEq)]
pub enum ToDo {
    /// Nothing: what complied still does.
    Nothing,
    /// Set it to this value, the only one that complies.
    Set(Value),
    /// Where it does not comply, set it to what does: to this value, where one is named.
    BringWithin(Option<Value>),
    /// Switch the function on, with its other settings as they are asked for.
    SwitchOn,
    /// Switch the trip stage off.
    SwitchOff,
    /// Nobody sets it: see that it complies.
    SeeThat,
    /// Where the curve is entered in other points than asked for, enter those.
    EnterThePoints,
    /// Where somebody moved it within the range that it may be moved in, move it within the new one.
    UnlessMoved,
    /// Have the network operator say the value.
    AskTheOperator,
    /// Ask the network operator what it requires: no case is for such a site.
    AskWhatIsRequired,
    /// Look into the document itself: what it asks was not seen.
    LookUp,
}

impl Action {
    pub(super) fn of(setting: SettingId, one: &Move<'_>, reason: Reason) -> Self {
        let known_by = one.new.filter(|_| asks_more_evidence(one.old, one.new));
        let known_by = known_by.and_then(|entry| evidence(&entry.comply).first().map(|(_, kinds)| *kinds));
        Self { to_do: to_do(setting, one, reason), known_by }
    }
}

fn to_do(setting: SettingId, one: &Move<'_>, reason: Reason) -> ToDo {
    match reason {
        Reason::StageUnasked => ToDo::SwitchOff,
        Reason::LeftOpen => ToDo::AskTheOperator,
        Reason::NoCase => ToDo::AskWhatIsRequired,
        Reason::OtherPointsLost => ToDo::EnterThePoints,
        Reason::RangeNarrower | Reason::FewerMayMove => ToDo::UnlessMoved,
        Reason::NotShown(Unproven::NotCovered) if one.new.is_none_or(Entry::demands_nothing) => ToDo::LookUp,
        // what is not shown is of the range in which it may be moved, or of the values
        Reason::NotShown(_) if matches!(one.relation, Relation::Same | Relation::Wider(_)) => ToDo::UnlessMoved,
        Reason::ValuesLost | Reason::ValueSaid | Reason::CaseAdded | Reason::NewlyAsked | Reason::NotShown(_) => {
            one.new.map_or(ToDo::LookUp, |entry| to_ask(setting, one, entry))
        }
        Reason::EvidenceDemanded
        | Reason::MoreComplies
        | Reason::MayBeEnabled
        | Reason::NoLongerAsked
        | Reason::RequiredMoved
        | Reason::EvidenceRelaxed
        | Reason::RangeWider
        | Reason::NobodyComplied
        | Reason::NoneWasJudged
        | Reason::WordsOnly => ToDo::Nothing,
    }
}

/// How the setting is brought to what is asked now.
fn to_ask(setting: SettingId, one: &Move<'_>, entry: &Entry) -> ToDo {
    let parameter = setting.parameter();
    let is_set = matches!(parameter.held_by, HeldBy::Setting | HeldBy::AmbiguousDisplay) && parameter.to_do.is_none();
    match to_set(entry, &[], &Facts::default()) {
        _ if entry.is_gap() => ToDo::LookUp,
        _ if entry.is_left_open() => ToDo::AskTheOperator,
        _ if !is_set => ToDo::SeeThat,
        _ if one.circumstances.has_to_act => ToDo::SwitchOn,
        Some(value) if is_only(&value, entry) => ToDo::Set(value),
        _ => ToDo::BringWithin(entry.require.clone().filter(|value| keeps_all(value, entry))),
    }
}

/// Whether no other value complies.
pub(super) fn is_only(value: &Value, entry: &Entry) -> bool {
    let exactly = value.exactly(entry.setting, ProvenanceId::SITE_APPROVAL);
    let asked: Vec<Claim> = entry.comply.iter().filter(|claim| !claim.is_about_evidence()).cloned().collect();
    keeps_all(value, entry)
        && exactly.iter().all(|pin| asked.iter().any(|claim| alike(std::slice::from_ref(pin), std::slice::from_ref(claim))))
}
