//! What a site's layers ask of it: a rulebook, and the requirement it gives in one cell.

mod rulebook;

pub use rulebook::Rulebook;

use crate::catalogue::SettingId;
use crate::claim::{Claim, Evidence, Limit, ProvenanceId, Term};
use crate::entry::Entry;
use crate::notation::Edges;
use crate::settings::Known;
use crate::value::{Point, Value};
use std::cell::RefCell;

/// What is asked in one cell.
#[derive(Clone, Debug)]
pub struct Requirement {
    /// One entry for each setting that a layer speaks of, in catalogue order.
    pub entries: Vec<Resolved>,
    /// What ties settings to one another.
    pub ties: Vec<Claim>,
    /// For each entry, the value that keeps it without further ado.
    pub shortcuts: Vec<Shortcut>,
    /// For each tie, what it ties.
    pub tied: Vec<Tied>,
}

/// The settings of a tie, so that a device that does not state them both is passed over at once.
#[derive(Clone, Copy, Debug)]
pub struct Tied {
    /// The setting that the tie is about.
    pub first: SettingId,
    /// The other one; `None` for a tie to a fact of the site.
    pub other: Option<SettingId>,
}

impl Tied {
    fn of(tie: &Claim) -> Self {
        Self { first: tie.on.subject().setting, other: tie.on.vars().nth(1).map(|var| var.setting) }
    }
}

/// The common answers to an entry, in little space: what keeps it without further ado, and silence
/// where the region stands for it.
#[derive(Clone, Debug)]
pub struct Shortcut {
    /// The setting.
    pub setting: SettingId,
    /// See [`Resolved::covered_by_region`].
    pub covered_by_region: bool,
    /// What keeps every claim.
    pub keeps: Keeps,
    /// Whether just one plain value complies, at every site alike. Such values keep the plain ties
    /// among themselves, or the requirement would contradict itself.
    pub pins_plain_value: bool,
}

/// What keeps an entry without further ado.
#[derive(Clone, Debug)]
pub enum Keeps {
    /// Just this value.
    Value(Value),
    /// A plain quantity between these plain edges.
    Between(Edges),
    /// The claims need a look.
    LookAtClaims,
}

impl Shortcut {
    fn of(resolved: &Resolved) -> Self {
        let entry = &resolved.entry;
        let exactly = |value: &Value, claim: &Claim| value.exactly(entry.setting, claim.why);
        let enough = |value: &&Value| entry.comply.iter().all(|claim| exactly(value, claim).contains(claim));
        let keeps = match entry.require.as_ref().filter(enough) {
            Some(value) => Keeps::Value(value.clone()),
            None if entry.is_left_open() => Keeps::LookAtClaims,
            None => plain_edges(entry).map_or(Keeps::LookAtClaims, Keeps::Between),
        };
        let pins_plain_value = match &keeps {
            Keeps::Value(value) => value.is_plain() && entry.comply.first().is_some_and(|c| exactly(value, c).len() == entry.comply.len()),
            Keeps::Between(_) | Keeps::LookAtClaims => false,
        };
        Self { setting: entry.setting, covered_by_region: resolved.covered_by_region, keeps, pins_plain_value }
    }

    /// Whether a value keeps every claim; `false` may also mean that the claims need a look.
    #[must_use]
    pub fn is_kept_by(&self, known: &Known) -> bool {
        match (&self.keeps, &known.value) {
            // what a rounded value may stand for is not seen here
            _ if known.rounds() => false,
            (Keeps::Value(required), value) => required == value,
            (Keeps::Between(edges), Value::Quantity(amount)) if amount.of.is_none() => edges.hold(amount.number),
            _ => false,
        }
    }
}

/// The edges of an entry that asks for a plain interval and nothing else.
fn plain_edges(entry: &Entry) -> Option<Edges> {
    let mut edges = Edges { low: None, high: None };
    for claim in &entry.comply {
        let side = match claim.limit {
            Limit::AtLeast(bound) if bound.value.of.is_none() => (&mut edges.low, bound),
            Limit::AtMost(bound) if bound.value.of.is_none() => (&mut edges.high, bound),
            _ => return None,
        };
        let whole = claim.on == Term::Var(entry.setting.into());
        if !whole || side.0.replace(side.1).is_some() {
            return None;
        }
    }
    (!entry.comply.is_empty()).then_some(edges)
}

/// An entry, and what follows from it alone.
#[derive(Clone, Debug)]
pub struct Resolved {
    /// What holds for the setting.
    pub entry: Entry,
    /// Whether a certified device that has the region selected, and is untouched, keeps every claim.
    pub covered_by_region: bool,
    /// What the standard's region asks, before other layers.
    pub base: Entry,
    /// The last response that was found to keep every claim.
    pub last_kept: LastKept,
}

/// The last response that was found to keep every claim: devices of one model state the same one, and
/// to hold it against a line takes long. Remembered only where it keeps them at every site alike.
#[derive(Clone, Debug, Default)]
pub struct LastKept(RefCell<Option<Value>>);

impl LastKept {
    /// Whether it is this one.
    #[must_use]
    pub fn is(&self, value: &Value) -> bool {
        matches!(value, Value::Curve(_)) && self.0.borrow().as_ref() == Some(value)
    }

    /// Remembers a value that keeps every claim of an entry, if it is a plain response that is held
    /// against plain lines and nothing else.
    pub fn remember(&self, value: &Value, entry: &Entry) {
        let is_plain = |point: &Point| point.x.of.is_none() && point.y.of.is_none();
        let by_line = |claim: &Claim| matches!(&claim.limit, Limit::Above(line) | Limit::Below(line) if line.iter().all(is_plain));
        if matches!(value, Value::Curve(_)) && value.is_plain() && entry.comply.iter().all(by_line) {
            *self.0.borrow_mut() = Some(value.clone());
        }
    }
}

impl Requirement {
    fn new(entries: Vec<Resolved>, ties: Vec<Claim>) -> Self {
        Self { shortcuts: entries.iter().map(Shortcut::of).collect(), tied: ties.iter().map(Tied::of).collect(), entries, ties }
    }

    /// The entry of a setting, if a layer speaks of it.
    #[must_use]
    pub fn get(&self, setting: SettingId) -> Option<&Resolved> {
        self.entries.binary_search_by_key(&setting, |r| r.entry.setting).ok().map(|at| &self.entries[at])
    }

    /// Whether anything is asked of the function of a setting.
    #[must_use]
    pub fn asks_of_function(&self, setting: SettingId) -> bool {
        // mostly it is its state that is asked for
        let own = self.get(setting).is_some_and(|r| !r.entry.demands_nothing());
        own || self.entries.iter().any(|r| r.entry.setting.same_function(setting) && !r.entry.demands_nothing())
    }

    /// Whether anything is asked of the function of a setting that was seen.
    #[must_use]
    pub fn is_seen_to_ask_of_function(&self, setting: SettingId) -> bool {
        let is_asked = |entry: &Entry| !entry.demands_nothing() && !entry.is_gap();
        self.entries.iter().any(|resolved| resolved.entry.setting.same_function(setting) && is_asked(&resolved.entry))
    }

    /// Whether the function of a setting may not be enabled, so that its other settings claim nothing.
    #[must_use]
    pub fn keeps_idle(&self, setting: SettingId) -> bool {
        let state = setting.state().filter(|state| *state != setting).and_then(|state| self.get(state));
        state.is_some_and(|resolved| resolved.entry.keeps_off())
    }

    /// Every claim, of entries and ties.
    pub fn claims(&self) -> impl Iterator<Item = Claim> {
        self.entries.iter().flat_map(|r| &r.entry.comply).chain(&self.ties).cloned()
    }
}

fn resolved(entry: Entry, base: Entry) -> Resolved {
    // where the region pins a value, that value says too whether a response lies within lines, or points
    // far enough apart
    let pinned =
        base.require.as_ref().filter(|value| value.exactly(base.setting, ProvenanceId::SITE_APPROVAL).iter().all(|pin| tight(&base, pin)));
    let kept_by_pin = |claim: &Claim| pinned.is_some_and(|value| value.keeps(claim) == Some(true));
    let covered = |claim: &Claim| match claim.limit {
        Limit::NotSeen => true,
        Limit::NoCase => false,
        Limit::Stated(kinds) => kinds.has(Evidence::Region as u8),
        _ => tight(&base, claim) || kept_by_pin(claim),
    };
    let covered_by_region = !base.comply.is_empty() && entry.comply.iter().all(covered);
    Resolved { entry, covered_by_region, base, last_kept: LastKept::default() }
}

fn tight(base: &Entry, claim: &Claim) -> bool {
    base.comply.iter().any(|below| at_least_as_tight(below, claim))
}

/// Whether keeping `below` keeps `claim`, seen from these two alone.
#[must_use]
pub fn at_least_as_tight(below: &Claim, claim: &Claim) -> bool {
    if below.on != claim.on {
        return false;
    }
    match (&below.limit, &claim.limit) {
        (Limit::AtLeast(b), Limit::AtLeast(c)) if b.value.of == c.value.of => (b.value.number, b.open) >= (c.value.number, c.open),
        (Limit::AtMost(b), Limit::AtMost(c)) if b.value.of == c.value.of => {
            b.value.number < c.value.number || (b.value.number == c.value.number && b.open >= c.open)
        }
        (Limit::OneOf(b), Limit::OneOf(c)) => b.without(*c).is_empty(),
        (b, c) => b == c,
    }
}
