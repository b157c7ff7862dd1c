//! Which version step a change deserves: breaking where something that complied no longer does,
//! minor where only more is admitted, patch where nothing but words changed.
//!
//! A breaking change comes with a site that complied and no longer does ([`Example`]). Where a demand
//! was not seen nothing of the kind can be shown, and the answer says so.

mod example;

pub use example::{Example, sites_before};

pub use crate::compare::reason::Reason;
pub use crate::compare::step::Step;

use crate::assess::{Assessor, Books};
use crate::compare::all_changes;
use crate::compare::versions::Change;
use crate::example_site::Under;
use example::{stranded, without_relay};
use settings_model::catalogue::Equipment;

/// A change, and the step it deserves.
#[derive(Clone, Debug)]
pub struct Weighed {
    /// The change.
    pub change: Change,
    /// Of what kind of equipment.
    pub kind: Equipment,
    /// Of a breaking change, a site that complied and no longer does.
    pub example: Option<Example>,
}

impl Weighed {
    /// The step that it deserves.
    #[must_use]
    pub fn step(&self) -> Step {
        self.change.reason.step()
    }
}

/// Every change between two books of requirements, with the step it deserves. Examples are whole
/// sites, and each was judged: it complied before and does not after.
#[must_use]
pub fn weighed(old: &Books, new: &Books, under: Under<'_>, assessor: &mut Assessor) -> Vec<Weighed> {
    let mut weighed: Vec<Weighed> = Vec::new();
    for (kind, change) in all_changes(old, new) {
        let mut one = Weighed { change, kind, example: None };
        if one.step() == Step::Breaking {
            one.example = stranded(&one, old, new, under, assessor);
        }
        weighed.push(one);
    }
    for at in 0..weighed.len() {
        if weighed[at].step() == Step::Breaking && weighed[at].example.is_none() {
            weighed[at].example = without_relay(&weighed[at], &weighed, old);
        }
    }
    weighed
}
