//! Where a value comes from: what is stated of the device, what its region brings, what is required.

use crate::held::DeviceAtMoment;
use rules::phrase::to_set;
use rules::provenance::{Figures, standing};
use rules::range::{Edge, Range, range};
use settings_model::catalogue::{ENABLED, SettingId};
use settings_model::claim::{Claim, Part, Var};
use settings_model::entry::Entry;
use settings_model::exact::Exact;
use settings_model::requirement::{Requirement, Resolved};
use settings_model::value::Value;

/// A value between two edges, in base units.
pub type Span = [f64; 2];

/// What a device holds, as far as anybody knows.
pub struct Values<'h> {
    /// The device.
    pub held: &'h DeviceAtMoment<'h>,
    /// What is required, where the device is taken to hold that.
    required: Option<Vec<(SettingId, Value)>>,
}

impl<'h> Values<'h> {
    /// What is stated, and what the selected region stands for.
    pub fn of(held: &'h DeviceAtMoment<'h>) -> Self {
        Self { held, required: None }
    }

    /// The same; a device of which nothing is recorded is taken to hold what is required of it.
    pub fn or_as_required(held: &'h DeviceAtMoment<'h>) -> Self {
        let requirement = held.asked.as_ref().map(|(_, counted)| &counted.requirement).filter(|_| held.holding.is_none());
        let values = |requirement: &Requirement| {
            let all = requirement.entries.iter();
            all.filter_map(|resolved| Some((resolved.entry.setting, to_set(&resolved.entry, &requirement.ties, &held.facts)?))).collect()
        };
        Self { held, required: requirement.map(values) }
    }

    /// Whether it is taken to hold what is required.
    pub fn are_as_required(&self) -> bool {
        self.required.is_some()
    }

    /// The value of a setting; of one that the requirement leaves between edges, the edge to set.
    pub fn value(&self, id: SettingId) -> Option<&Value> {
        let own = self.held.holding.and_then(|holding| holding.settings.get(id)).map(|known| &known.value);
        let asked = || self.required.iter().flatten().find(|(other, _)| *other == id).map(|(_, value)| value);
        own.or_else(|| self.brought(id)?.base.require.as_ref()).or_else(asked)
    }

    /// What the region stands for, where it does.
    fn brought(&self, id: SettingId) -> Option<&'h Resolved> {
        self.resolved(id).filter(|resolved| self.held.region_stands && resolved.covered_by_region)
    }

    fn resolved(&self, id: SettingId) -> Option<&'h Resolved> {
        self.held.asked.as_ref()?.1.requirement.get(id)
    }

    /// What the layers ask, all of them where the device holds what is required, else the standard alone.
    fn asked_of(&self, resolved: &'h Resolved) -> &'h Entry {
        if self.are_as_required() { &resolved.entry } else { &resolved.base }
    }

    /// How the figures of some functions are known, as far as they are not the device's own.
    pub fn figures(&self, is_played: impl Fn(&str) -> bool) -> Figures {
        let Some((book, counted)) = &self.held.asked else { return Figures::default() };
        let is_asked = |id| self.are_as_required() || self.brought(id).is_some();
        let entries = counted.requirement.entries.iter().map(|resolved| &resolved.entry);
        let played = entries.filter(|entry| is_played(entry.setting.function().key));
        let asked = played.filter(|entry| !self.states(entry.setting) && is_asked(entry.setting));
        asked.filter_map(|entry| standing(entry, &book.rulebook)).collect()
    }

    /// Whether the device itself shows a value.
    pub fn states(&self, id: SettingId) -> bool {
        self.held.holding.is_some_and(|holding| holding.settings.states(id))
    }

    /// Whether a function is enabled; `None` where nobody knows.
    pub fn is_enabled(&self, function: &str) -> Option<bool> {
        let id = SettingId::find(function, "state")?;
        let kept_off = || self.are_as_required() && self.resolved(id).is_some_and(|resolved| resolved.entry.keeps_off());
        self.value(id).map(|value| *value == Value::Word(ENABLED)).or_else(|| kept_off().then_some(false))
    }

    /// Whether anybody speaks of a function: the device, or what is asked of it.
    pub fn is_spoken_of(&self, function: &str) -> bool {
        let own = self.held.holding.is_some_and(|holding| holding.settings.iter().any(|(id, _)| id.function().key == function));
        let asks = |id| self.held.asked.as_ref().is_some_and(|(_, counted)| counted.requirement.asks_of_function(id));
        own || SettingId::of_function(function).is_some_and(asks)
    }

    /// The value, or the edges between which whoever stands for it leaves it.
    pub fn span(&self, function: &str, key: &str) -> Option<Span> {
        let id = SettingId::find(function, key)?;
        match (self.value(id), self.are_as_required()) {
            (Some(value), false) => self.number(value).map(|number| [number; 2]),
            (None, false) => self.edges(&self.brought(id)?.base.comply, id),
            (_, true) => {
                let entry = &self.resolved(id)?.entry;
                let exact = entry.require.as_ref().and_then(|value| self.number(value));
                exact.map(|number| [number; 2]).or_else(|| self.edges(&entry.comply, id))
            }
        }
    }

    /// The one number of a setting; of one that the requirement leaves between edges, the edge to set.
    pub fn exactly(&self, function: &str, key: &str) -> Option<f64> {
        let span = self.span(function, key).filter(|[low, high]| low == high).map(|[low, _]| low);
        span.or_else(|| self.number(self.value(SettingId::find(function, key)?)?))
    }

    /// Whether a number is only an edge of what the requirement leaves open.
    pub fn is_left_open(&self, function: &str, key: &str) -> bool {
        self.are_as_required() && self.span(function, key).is_some_and(|[low, high]| low < high)
    }

    /// What a certified device was type tested for, whatever was selected on it.
    pub fn type_tested(&self, function: &str, key: &str) -> Option<Span> {
        let asked = || self.demanded(function, key).filter(|_| self.held.device.certified.is_some());
        self.span(function, key).or_else(asked)
    }

    /// The edges between which the layers below it ask for a setting.
    pub fn demanded(&self, function: &str, key: &str) -> Option<Span> {
        let id = SettingId::find(function, key)?;
        self.edges(&self.asked_of(self.resolved(id)?).comply, id)
    }

    fn number(&self, value: &Value) -> Option<f64> {
        value.part(Part::Whole)?.at(&self.held.facts).map(Exact::approximate)
    }

    fn edges(&self, claims: &[Claim], id: SettingId) -> Option<Span> {
        match range(claims, &self.held.facts, Var::from(id)).ok()? {
            Range::Numbers(interval) if interval.low.is_some() || interval.high.is_some() => {
                let edge = |edge: Option<Edge>, open: f64| edge.map_or(open, |edge| edge.at.approximate());
                Some([edge(interval.low, f64::NEG_INFINITY), edge(interval.high, f64::INFINITY)])
            }
            _ => None,
        }
    }
}
