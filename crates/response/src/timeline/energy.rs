//! What was given and what was lost, by cause.

use super::Micros;
use crate::operating_point::Cap;
use std::collections::BTreeMap;

/// To what energy was lost.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Cause {
    /// It had not connected yet.
    Start,
    /// Off after this stage tripped.
    Trip(usize),
    /// On, and coming up after it connected.
    Ramp,
    /// It gave nothing for a moment.
    Ceased,
    /// A cap.
    Cap(Cap),
    /// A cap on what storage charges with.
    Charging(Cap),
    /// It was off after a part that the log does not say.
    Gap,
    /// Off after it lost what it needs to keep a limit.
    Link,
}

impl Cause {
    /// Whether an answer or a limit keeps power back that a rating would allow.
    #[must_use]
    pub fn holds_back(self) -> bool {
        matches!(self, Self::Cap(Cap::VoltWatt | Cap::Frequency | Cap::ExportLimit | Cap::GenerationLimit | Cap::ReactivePower))
    }
}

/// Watt-microseconds given and lost, and how long.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Energy {
    /// What could have been given.
    pub available: f64,
    /// What was given.
    pub given: f64,
    /// What storage wanted to charge with.
    pub wanted: f64,
    /// What it charged with.
    pub charged: f64,
    /// What was not, by cause.
    pub lost: BTreeMap<Cause, Lost>,
    /// For how long something other than its ratings held it back while it was on.
    pub held_back: Micros,
    /// How many times it left; a stretch of which the log says nothing counts once.
    pub drop_outs: u64,
}

/// What one cause took.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Lost {
    /// Watt-microseconds; 0 where the log does not say what was available.
    pub energy: f64,
    /// For how long.
    pub lasted: Micros,
    /// The smallest share of what was available that was left.
    pub least_left: f64,
    /// First and last moment.
    pub between: [Micros; 2],
    /// How many times; two that less than a minute parts are one.
    pub times: u64,
    /// The longest of them.
    pub longest: [Micros; 2],
    /// When the one that goes on began.
    began: Micros,
}

/// What parts two losses.
const APART: Micros = 60_000_000;

/// What flows while a value of the log holds.
#[derive(Clone, Copy, Debug)]
pub(super) struct Flow {
    /// Whether the log says what was available.
    pub is_known: bool,
    /// Watts that could be given.
    pub available: f64,
    /// Watts that storage wants to charge with.
    pub wanted: f64,
    /// Watts given; below zero, charged.
    pub given: f64,
    /// What keeps it from being more.
    pub cause: Option<Cause>,
}

/// What one cause takes of a flow.
#[derive(Clone, Copy)]
struct Loss {
    cause: Cause,
    watts: f64,
    /// Share of what was available that is left.
    left: f64,
}

impl Flow {
    /// What the cause takes.
    fn loss(&self, cause: Option<Cause>) -> Option<Loss> {
        if self.wanted > 0.0 {
            let charged = (-self.given).max(0.0);
            let (cause, watts) = match cause.filter(|_| charged < self.wanted)? {
                Cause::Cap(cap) => (Cause::Charging(cap), self.wanted - charged),
                // what could not be charged while it was off is nothing that it did not give
                off => (off, 0.0),
            };
            return Some(Loss { cause, watts, left: charged / self.wanted });
        }
        // a limit of output takes nothing where nobody knows what there was to give
        let is_standing = |cause: &Cause| matches!(cause, Cause::Cap(cap) if !matches!(cap, Cap::VoltWatt | Cap::Frequency));
        let cause = cause.filter(|cause| self.available > self.given && (self.is_known || !is_standing(cause)))?;
        let given = self.given.max(0.0);
        let watts = if self.is_known { self.available - given } else { 0.0 };
        Some(Loss { cause, watts, left: given / self.available })
    }
}

impl Energy {
    /// Counts what was given over a stretch.
    fn give(&mut self, flow: &Flow, lasted: Micros) {
        let lasted = lasted as f64;
        if flow.wanted > 0.0 {
            self.wanted += flow.wanted * lasted;
            self.charged += (-flow.given).max(0.0) * lasted;
        } else if flow.is_known {
            self.available += flow.available * lasted;
            self.given += flow.given.max(0.0) * lasted;
            self.charged += (-flow.given).max(0.0) * lasted;
        }
    }

    /// Counts what a cause took over a stretch.
    fn lose(&mut self, Loss { cause, watts, left }: Loss, [from, until]: [Micros; 2]) {
        let lost = self.lost.entry(cause).or_insert(Lost {
            energy: 0.0,
            lasted: 0,
            least_left: f64::INFINITY,
            between: [from, from],
            times: 0,
            longest: [from, from],
            began: from,
        });
        if lost.times == 0 || from - lost.between[1] > APART {
            lost.times += 1;
            lost.began = from;
        }
        lost.energy += watts * (until - from) as f64;
        lost.lasted += until - from;
        lost.least_left = lost.least_left.min(left);
        lost.between[1] = until;
        if until - lost.began > lost.longest[1] - lost.longest[0] {
            lost.longest = [lost.began, until];
        }
    }

    fn least_of(&mut self, other: &Self) {
        self.given = self.given.min(other.given);
        self.charged = self.charged.min(other.charged);
        self.held_back = self.held_back.min(other.held_back);
        self.drop_outs = self.drop_outs.min(other.drop_outs);
        self.lost.retain(|cause, _| other.lost.contains_key(cause));
        for (cause, lost) in &mut self.lost {
            let other = other.lost[cause];
            lost.energy = lost.energy.min(other.energy);
            lost.lasted = lost.lasted.min(other.lasted);
            lost.times = lost.times.min(other.times);
            lost.longest = [lost.longest, other.longest].into_iter().min_by_key(|[from, until]| until - from).unwrap_or(lost.longest);
        }
    }

    fn most_of(&mut self, other: &Self) {
        self.given = self.given.max(other.given);
        self.charged = self.charged.max(other.charged);
        self.held_back = self.held_back.max(other.held_back);
        self.drop_outs = self.drop_outs.max(other.drop_outs);
        for (cause, other) in &other.lost {
            let lost = self.lost.entry(*cause).or_insert(*other);
            lost.energy = lost.energy.max(other.energy);
            lost.lasted = lost.lasted.max(other.lasted);
            lost.least_left = lost.least_left.min(other.least_left);
            lost.times = lost.times.max(other.times);
            lost.longest = [lost.longest, other.longest].into_iter().max_by_key(|[from, until]| until - from).unwrap_or(lost.longest);
            lost.began = if other.between[1] > lost.between[1] { other.began } else { lost.began };
            lost.between = [lost.between[0].min(other.between[0]), lost.between[1].max(other.between[1])];
        }
    }
}

/// The least and the most of each that a lawful device gave, lost and charged. No device need have done
/// the least, or the most, of everything.
#[derive(Clone, Debug, Default)]
pub(super) struct Bounds([Energy; 2]);

impl Bounds {
    /// The least and the most.
    pub fn of_each(&self) -> &[Energy; 2] {
        &self.0
    }

    /// What holds of either of two.
    #[must_use]
    pub fn or(mut self, other: &Self) -> Self {
        self.0[0].least_of(&other.0[0]);
        self.0[1].most_of(&other.0[1]);
        self
    }

    /// It leaves.
    pub fn leave(&mut self) {
        self.0.iter_mut().for_each(|energy| energy.drop_outs += 1);
    }

    /// The same of a device that left as often as another.
    #[must_use]
    pub fn leaving_as(mut self, other: &Self) -> Self {
        for (own, other) in self.0.iter_mut().zip(&other.0) {
            own.drop_outs = other.drop_outs;
        }
        self
    }

    /// Counts what a device that is off does not give, to one of these causes.
    pub fn count_off(&mut self, flow: &Flow, causes: &[Cause], stretch: [Micros; 2]) {
        let [least, most] = &mut self.0;
        let lasted = stretch[1] - stretch[0];
        least.give(flow, lasted);
        most.give(flow, lasted);
        for cause in causes {
            let Some(loss) = flow.loss(Some(*cause)) else { continue };
            most.lose(loss, stretch);
            if causes.len() == 1 {
                least.lose(loss, stretch);
            }
        }
    }

    /// Counts what a device that is on gives, where all give the same.
    pub fn count(&mut self, flow: &Flow, stretch: [Micros; 2]) {
        self.count_between([flow; 2], stretch);
    }

    /// The same, where it lies between two flows.
    pub fn count_between(&mut self, flows: [&Flow; 2], stretch: [Micros; 2]) {
        let lasted = stretch[1] - stretch[0];
        let in_order = if flows[0].given <= flows[1].given { flows } else { [flows[1], flows[0]] };
        for (energy, flow) in self.0.iter_mut().zip(in_order) {
            energy.give(flow, lasted);
        }
        let charges = |flow: &Flow| (-flow.given).max(0.0);
        if charges(in_order[0]) != charges(in_order[1]) {
            // more given is less charged
            let [least, most] = &mut self.0;
            least.charged += (charges(in_order[1]) - charges(in_order[0])) * lasted as f64;
            most.charged += (charges(in_order[0]) - charges(in_order[1])) * lasted as f64;
        }
        let losses = in_order.map(|flow| flow.loss(flow.cause));
        let holds_back = losses.map(|loss| loss.is_some_and(|loss| loss.cause.holds_back()));
        let [least, most] = &mut self.0;
        least.held_back += if holds_back[0] && holds_back[1] { lasted } else { 0 };
        most.held_back += if holds_back[0] || holds_back[1] { lasted } else { 0 };
        match losses {
            [Some(more), Some(less)] if more.cause == less.cause => {
                least.lose(less, stretch);
                most.lose(more, stretch);
            }
            _ => losses.into_iter().flatten().for_each(|loss| most.lose(loss, stretch)),
        }
    }

    /// Counts what a device gives that gives all there is.
    pub fn give_all(&mut self, watts: f64, lasted: Micros) {
        for energy in &mut self.0 {
            energy.available += watts * lasted as f64;
            energy.given += watts * lasted as f64;
        }
    }
}
