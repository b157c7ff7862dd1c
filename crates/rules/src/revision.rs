//! Which version step a change deserves: breaking where something that complied no longer does,
//! minor where only more is admitted, patch where nothing but words changed.
//!
//! A breaking change comes with a site that complied and no longer does ([`Example`]). Where a demand
//! was not seen nothing of the kind can be shown, and the answer says so.

mod example;

pub use example::Example;

use crate::assess::{Assessor, Books};
use crate::compare::sets::{Relation, beyond, evidence};
use crate::compare::versions::{Change, changes};
use crate::example_site::Under;
use crate::unproven::Unproven;
use example::{Stranded, stranded};
use settings_model::catalogue::Equipment;
use settings_model::claim::{Claim, WhyId};
use settings_model::curve;
use settings_model::entry::Entry;
use settings_model::facts::Facts;
use settings_model::ties::space;
use settings_model::value::Value;

/// A version step, as semantic versioning counts.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Step {
    /// Words only.
    Patch,
    /// More is admitted; what complied still does.
    Minor,
    /// Something that complied no longer does.
    Breaking,
}

impl Step {
    /// The word for it.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Patch => "patch",
            Self::Minor => "minor",
            Self::Breaking => "breaking",
        }
    }

    /// The step from one version to a later one; `None` where it is not later. Below 1.0.0 the second
    /// number takes the part of the first.
    #[must_use]
    pub fn between(old: &semver::Version, new: &semver::Version) -> Option<Self> {
        if new <= old {
            return None;
        }
        let unstable = old.major == 0 && new.major == 0;
        Some(match (old.major != new.major, old.minor != new.minor) {
            (true, _) => Self::Breaking,
            (false, true) if unstable => Self::Breaking,
            (false, true) => Self::Minor,
            (false, false) => Self::Patch,
        })
    }

    /// The least version that takes this step.
    #[must_use]
    pub fn after(self, old: &semver::Version) -> semver::Version {
        let (major, minor, patch) = (old.major, old.minor, old.patch);
        match self {
            Self::Breaking if major > 0 => semver::Version::new(major + 1, 0, 0),
            Self::Breaking | Self::Minor => semver::Version::new(major, minor + 1, 0),
            Self::Patch => semver::Version::new(major, minor, patch + 1),
        }
    }
}

/// A change, and the step it deserves.
#[derive(Clone, Debug)]
pub struct Weighed {
    /// The change.
    pub change: Change,
    /// Of what kind of equipment.
    pub kind: Equipment,
    /// The step.
    pub step: Step,
    /// Why.
    pub reason: Reason,
    /// Of a breaking change, a site that complied and no longer does.
    pub example: Option<Example>,
}

/// Why a change deserves its step.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Reason {
    /// Some values no longer comply.
    ValuesLost,
    /// Something is asked that was not. Even where every value complies it now has to be known.
    NewlyAsked,
    /// Of a curve, the required response in other points than those required was let pass, and is no
    /// longer.
    OtherPointsLost,
    /// Nothing is asked of a trip stage any more, so that it may not be left enabled.
    StageUnasked,
    /// Evidence is demanded that was not, or fewer kinds of it are accepted.
    EvidenceDemanded,
    /// The range in which a value may be moved is narrower.
    RangeNarrower,
    /// Fewer may move it.
    FewerMayMove,
    /// A demand that was not seen, or the like, keeps it from being shown.
    NotShown(Unproven),
    /// More complies.
    MoreComplies,
    /// It is no longer asked.
    NoLongerAsked,
    /// Another value is to be set, and the same values comply.
    RequiredMoved,
    /// Less evidence is demanded.
    EvidenceRelaxed,
    /// The range in which a value may be moved is wider, or more may move it.
    RangeWider,
    /// What was asked contradicts itself, so that nobody complied.
    NobodyComplied,
    /// Document, clause or reason.
    WordsOnly,
}

impl Reason {
    /// The step that it deserves, as far as that is shown.
    #[must_use]
    pub fn step(self) -> Step {
        match self {
            Self::ValuesLost
            | Self::NewlyAsked
            | Self::OtherPointsLost
            | Self::StageUnasked
            | Self::EvidenceDemanded
            | Self::RangeNarrower
            | Self::FewerMayMove => Step::Breaking,
            Self::MoreComplies | Self::NoLongerAsked | Self::RequiredMoved | Self::EvidenceRelaxed | Self::RangeWider => Step::Minor,
            Self::NobodyComplied | Self::WordsOnly | Self::NotShown(_) => Step::Patch,
        }
    }

    /// Whether the step may have to be greater than what is shown.
    #[must_use]
    pub fn is_open(self) -> bool {
        matches!(self, Self::NotShown(_))
    }

    /// For people.
    #[must_use]
    pub fn phrase(self) -> String {
        match self {
            Self::ValuesLost => "some values no longer comply".to_owned(),
            Self::NewlyAsked => "something is asked that was not".to_owned(),
            Self::OtherPointsLost => "the response that was required no longer complies where it is written in other points".to_owned(),
            Self::StageUnasked => "a trip stage that nobody asks for any more may not be left enabled".to_owned(),
            Self::EvidenceDemanded => "it has to be known in a way that was not asked for".to_owned(),
            Self::RangeNarrower => "the range in which it may be moved is narrower".to_owned(),
            Self::FewerMayMove => "fewer may move it".to_owned(),
            Self::NotShown(why) => format!("unproven: {why}"),
            Self::MoreComplies => "more values comply".to_owned(),
            Self::NoLongerAsked => "it is no longer asked".to_owned(),
            Self::RequiredMoved => "another value is to be set; the same values comply".to_owned(),
            Self::EvidenceRelaxed => "less evidence is demanded".to_owned(),
            Self::RangeWider => "it may be moved further, or by more people".to_owned(),
            Self::NobodyComplied => "what was asked contradicts itself, so nobody complied".to_owned(),
            Self::WordsOnly => "only document, clause or reason".to_owned(),
        }
    }
}

/// Every change between two books of requirements, with the step it deserves. Examples are whole
/// sites, and each was judged: it complied before and does not after.
#[must_use]
pub fn weighed(old: &Books, new: &Books, under: Under<'_>, assessor: &mut Assessor) -> Vec<Weighed> {
    let mut weighed = Vec::new();
    for kind in Equipment::ALL {
        let space = space(kind, WhyId::SITE_APPROVAL);
        for change in changes(&old.on(kind).rulebook, &new.on(kind).rulebook, kind) {
            let reason = match reason(&change, &space) {
                Reason::NoLongerAsked if change.leaves_stage_unasked([old, new].map(|books| &books.on(kind).rulebook)) => {
                    Reason::StageUnasked
                }
                reason => reason,
            };
            let mut one = Weighed { change, kind, step: reason.step(), reason, example: None };
            if one.step == Step::Breaking {
                match stranded(&one, old, new, under, assessor) {
                    Stranded::Example(example) => one.example = Some(*example),
                    Stranded::NotFound => {}
                    Stranded::NobodyComplied => (one.reason, one.step) = (Reason::NobodyComplied, Reason::NobodyComplied.step()),
                }
            }
            weighed.push(one);
        }
    }
    weighed
}

fn reason(change: &Change, space: &[Claim]) -> Reason {
    match &change.relation {
        Relation::Unproven(why) => return Reason::NotShown(*why),
        Relation::Narrower(_) | Relation::Moved { .. } => return Reason::ValuesLost,
        Relation::Added if change.new.as_ref().is_some_and(Entry::is_gap) => return Reason::NotShown(Unproven::NotSeen),
        Relation::Added => return Reason::NewlyAsked,
        Relation::Same | Relation::Wider(_) if loses_other_points(change) => return Reason::OtherPointsLost,
        _ => {}
    }
    if let Some(narrower) = narrower(change, space) {
        return narrower;
    }
    match &change.relation {
        Relation::Removed => Reason::NoLongerAsked,
        Relation::Wider(_) => Reason::MoreComplies,
        _ if change.besides.required => Reason::RequiredMoved,
        _ if change.besides.evidence => Reason::EvidenceRelaxed,
        _ if change.besides.adjustable => Reason::RangeWider,
        _ => Reason::WordsOnly,
    }
}

/// Whether devices that hold the required response in other points, which passes with a remark, are let
/// pass no longer. A curve is judged with the fewest points that it needs too, so they are lost only
/// where those required are more.
fn loses_other_points(change: &Change) -> bool {
    let Some((old, new)) = change.old.as_ref().zip(change.new.as_ref()) else { return false };
    let Some(Value::Curve(points)) = &old.require else { return false };
    // whether points are to spare does not depend on the unit that all of them share
    let points: Vec<_> = points.iter().map(|point| (point.x.number, point.y.number)).collect();
    let asks_for_points = |entry: &Entry| entry.comply.iter().any(|claim| claim.bound().is_some());
    let has_points_to_spare = curve::fewest_points(&points).len() < points.len();
    has_points_to_spare && asks_for_points(old) && asks_for_points(new) && old.require != new.require
}

/// What a change takes away besides values.
fn narrower(change: &Change, space: &[Claim]) -> Option<Reason> {
    let of = |entry: &Option<Entry>| entry.as_ref().map_or_else(Vec::new, |entry| evidence(&entry.comply));
    let (before, after) = (of(&change.old), of(&change.new));
    let demands = |(on, kinds): &(_, settings_model::claim::Words)| {
        let accepted = before.iter().find(|(other, _)| other == on).map(|(_, accepted)| *accepted);
        accepted.is_none_or(|accepted| !accepted.without(*kinds).is_empty())
    };
    if after.iter().any(demands) {
        return Some(Reason::EvidenceDemanded);
    }
    let (old, new) = change.old.as_ref().zip(change.new.as_ref())?;
    if new.moved_by < old.moved_by {
        return Some(Reason::FewerMayMove);
    }
    if old.adjustable.is_empty() {
        return None;
    }
    if new.adjustable.is_empty() {
        return Some(Reason::RangeNarrower);
    }
    match beyond(&old.adjustable, &new.adjustable, space, &Facts::default()) {
        Ok(None) => None,
        Ok(Some(_)) => Some(Reason::RangeNarrower),
        Err(why) => Some(Reason::NotShown(why)),
    }
}
