//! Why a change deserves its version step: breaking where something that complied no longer does,
//! minor where only more is admitted, patch where nothing but words changed.

use super::sets::{Relation, beyond, evidence};
use super::step::Step;
use super::versions::{Besides, Circumstances, asks_for_one_response};
use crate::unproven::Unproven;
use settings_model::claim::{Claim, Words};
use settings_model::curve;
use settings_model::entry::Entry;
use settings_model::facts::Facts;
use settings_model::value::Value;

/// Why a change deserves its step.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Reason {
    /// Some values no longer comply.
    ValuesLost,
    /// Something is asked that was not. Even where every value complies it now has to be known.
    NewlyAsked,
    /// The network operator has to say the value, and no layer says it any more.
    LeftOpen,
    /// The network operator had to say the value, so that nobody complied without; it is said now.
    ValueSaid,
    /// What is asked has cases, and none for such a site any more, so that nobody is shown to comply.
    NoCase,
    /// No case was for such a site, so that nobody was shown to comply; one is now.
    CaseAdded,
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
    /// A function had to be off and may be enabled now; this is asked of it then.
    MayBeEnabled,
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
    /// Of a device of a kind of which nothing was asked before, so that no site with one was shown to
    /// comply; and no site that complied without has to have one now.
    NoneWasJudged,
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
            | Self::LeftOpen
            | Self::NoCase
            | Self::OtherPointsLost
            | Self::StageUnasked
            | Self::EvidenceDemanded
            | Self::RangeNarrower
            | Self::FewerMayMove => Step::Breaking,
            Self::MoreComplies
            | Self::MayBeEnabled
            | Self::ValueSaid
            | Self::CaseAdded
            | Self::NoneWasJudged
            | Self::NoLongerAsked
            | Self::RequiredMoved
            | Self::EvidenceRelaxed
            | Self::RangeWider => Step::Minor,
            Self::NobodyComplied | Self::WordsOnly | Self::NotShown(_) => Step::Patch,
        }
    }

    /// Whether no site was shown to comply before: nobody loses anything, and what is asked now has to be done
    /// all the same.
    #[must_use]
    pub fn nobody_complied(self) -> bool {
        matches!(self, Self::NobodyComplied | Self::NoneWasJudged | Self::ValueSaid | Self::CaseAdded)
    }

    /// Whether the step may have to be greater than what is shown.
    #[must_use]
    pub fn is_open(self) -> bool {
        matches!(self, Self::NotShown(_))
    }

    /// `breaking`, `minor`, `patch` or `not-proven`.
    #[must_use]
    pub fn step_word(self) -> &'static str {
        if self.is_open() { NOT_PROVEN } else { self.step().word() }
    }

    /// For people.
    #[must_use]
    pub fn phrase(self) -> String {
        match self {
            Self::ValuesLost => "some values no longer comply".to_owned(),
            Self::NewlyAsked => "something is asked that was not".to_owned(),
            Self::LeftOpen => "the network operator has to say the value, and none is said here any more".to_owned(),
            Self::ValueSaid => "the value was left to the network operator, and is said now".to_owned(),
            Self::NoCase => "none of its cases is for such a site any more, so what is required is not known".to_owned(),
            Self::CaseAdded => "none of its cases was for such a site, so no site was shown to comply; one is now".to_owned(),
            Self::OtherPointsLost => "the response that was required no longer complies where it is written in other points".to_owned(),
            Self::StageUnasked => "a trip stage that nobody asks for any more may not be left enabled".to_owned(),
            Self::EvidenceDemanded => "it has to be known in a way that was not asked for".to_owned(),
            Self::RangeNarrower => "the range in which it may be moved is narrower".to_owned(),
            Self::FewerMayMove => "fewer may move it".to_owned(),
            Self::NotShown(why) => format!("unproven: {why}"),
            Self::MoreComplies => "more values comply".to_owned(),
            Self::MayBeEnabled => "the function had to be off and may be enabled now".to_owned(),
            Self::NoLongerAsked => "it is no longer asked".to_owned(),
            Self::RequiredMoved => "another value is to be set; the same values comply".to_owned(),
            Self::EvidenceRelaxed => "less evidence is demanded".to_owned(),
            Self::RangeWider => "it may be moved further, or by more people".to_owned(),
            Self::NobodyComplied => "what was asked contradicts itself, so nobody complied".to_owned(),
            Self::NoneWasJudged => {
                "nothing was asked of such a device before, so no site with one was shown to comply, and none has to have one now"
                    .to_owned()
            }
            Self::WordsOnly => "only document, clause or reason".to_owned(),
        }
    }
}

/// The word for a step that could not be weighed.
pub const NOT_PROVEN: &str = "not-proven";

/// What is asked of one setting before and after, in cells where that is the same.
pub(super) struct Move<'m> {
    pub(super) old: Option<&'m Entry>,
    pub(super) new: Option<&'m Entry>,
    pub(super) relation: &'m Relation,
    pub(super) besides: Besides,
    pub(super) circumstances: Circumstances,
    pub(super) space: &'m [Claim],
}

impl Move<'_> {
    /// Why it deserves its step, if somebody complied before.
    pub(super) fn reason(&self) -> Reason {
        let is_left_open = |entry: Option<&Entry>| entry.is_some_and(Entry::is_left_open);
        let has_no_case = |entry: Option<&Entry>| entry.is_some_and(|entry| entry.no_case().is_some());
        match (has_no_case(self.old), has_no_case(self.new)) {
            (false, true) => return Reason::NoCase,
            (true, false) if !self.new.is_none_or(Entry::demands_nothing) => return Reason::CaseAdded,
            _ => {}
        }
        match self.relation {
            Relation::Removed if self.circumstances.leaves_stage_unasked => return Reason::StageUnasked,
            Relation::Added | Relation::Removed if self.circumstances.not_covered => {
                return Reason::NotShown(Unproven::NotCovered);
            }
            Relation::Narrower(_) | Relation::Moved { .. } if is_left_open(self.old) && !is_left_open(self.new) => {
                return Reason::ValueSaid;
            }
            Relation::Unproven(why) => return Reason::NotShown(*why),
            Relation::Narrower(_) | Relation::Moved { .. } => return Reason::ValuesLost,
            Relation::Added if self.new.is_some_and(Entry::is_gap) => return Reason::NotShown(Unproven::NotSeen),
            Relation::Added if self.circumstances.may_stay_off => return Reason::MayBeEnabled,
            Relation::Added => return Reason::NewlyAsked,
            _ if is_left_open(self.new) && !is_left_open(self.old) => return Reason::LeftOpen,
            Relation::Same | Relation::Wider(_) if self.loses_other_points() => return Reason::OtherPointsLost,
            _ => {}
        }
        if let Some(narrower) = self.narrower() {
            return narrower;
        }
        match self.relation {
            Relation::Removed => Reason::NoLongerAsked,
            Relation::Wider(_) => Reason::MoreComplies,
            _ if self.besides.required => Reason::RequiredMoved,
            _ if self.besides.evidence => Reason::EvidenceRelaxed,
            _ if self.besides.adjustable => Reason::RangeWider,
            _ => Reason::WordsOnly,
        }
    }

    /// Whether devices that hold the required response in other points, which passes with a remark, are
    /// let pass no longer. A curve is judged with the fewest points that it needs too, so they are lost
    /// only where those required are more.
    fn loses_other_points(&self) -> bool {
        let Some((old, new)) = self.old.zip(self.new).filter(|(old, new)| !asks_for_one_response(old, new)) else { return false };
        let Some(Value::Curve(points)) = &old.require else { return false };
        // whether points are to spare does not depend on the unit that all of them share
        let points: Vec<_> = points.iter().map(|point| (point.x.number, point.y.number)).collect();
        let asks_for_points = |entry: &Entry| entry.comply.iter().any(|claim| claim.bound().is_some());
        let has_points_to_spare = curve::fewest_points(&points).len() < points.len();
        has_points_to_spare && asks_for_points(old) && asks_for_points(new) && old.require != new.require
    }

    /// What a change takes away besides values.
    fn narrower(&self) -> Option<Reason> {
        if asks_more_evidence(self.old, self.new) {
            return Some(Reason::EvidenceDemanded);
        }
        let (old, new) = self.old.zip(self.new)?;
        if new.moved_by < old.moved_by {
            return Some(Reason::FewerMayMove);
        }
        if old.adjustable.is_empty() {
            return None;
        }
        if new.adjustable.is_empty() {
            return Some(Reason::RangeNarrower);
        }
        match beyond(&old.adjustable, &new.adjustable, self.space, &Facts::default()) {
            Ok(None) => None,
            Ok(Some(_)) => Some(Reason::RangeNarrower),
            Err(why) => Some(Reason::NotShown(why)),
        }
    }
}

/// Whether some kind of evidence that was accepted no longer is.
pub(super) fn asks_more_evidence(old: Option<&Entry>, new: Option<&Entry>) -> bool {
    let of = |entry: Option<&Entry>| entry.map_or_else(Vec::new, |entry| evidence(&entry.comply));
    let (before, after) = (of(old), of(new));
    let demands = |(on, kinds): &(_, Words)| {
        let accepted = before.iter().find(|(other, _)| other == on).map(|(_, accepted)| *accepted);
        accepted.is_none_or(|accepted| !accepted.without(*kinds).is_empty())
    };
    after.iter().any(demands)
}
