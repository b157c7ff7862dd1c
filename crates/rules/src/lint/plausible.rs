//! Requirements that nobody can have meant so: numbers that are what the layer below asks, written in another reading;
//! levels beyond all that a device has; two functions that set reactive power; settings of a function that has to be off.

use crate::misread::misread;
use crate::phrase::value_here;
use crate::practice::reactive_modes;
use settings_model::catalogue::{SettingId, Shape};
use settings_model::claim::{LayerId, Limit, Part};
use settings_model::exact::Exact;
use settings_model::facts::Facts;
use settings_model::finding::{Finding, Outcome};
use settings_model::quantity::Dimension;
use settings_model::requirement::{Requirement, Rulebook};
use settings_model::source::Place;
use settings_model::value::Value;

/// What the topmost layer of a rulebook says, and of that what acts in some kind of site.
pub(super) struct Own {
    top: LayerId,
    said: Vec<(SettingId, Place)>,
    acts: Vec<SettingId>,
}

impl Own {
    /// What the topmost file of a rulebook says; `None` where no file says anything.
    pub(super) fn of(rulebook: &Rulebook) -> Option<Self> {
        let top = rulebook.topmost_file()?;
        let said = SettingId::all().filter_map(|setting| Some((setting, place_in(rulebook, setting, top)?))).collect();
        Some(Self { top, said, acts: Vec::new() })
    }

    /// Everything that it cannot have meant so in one kind of site.
    pub(super) fn of_kind(&mut self, rulebook: &Rulebook, requirement: &Requirement, facts: &Facts) -> Vec<Finding> {
        self.acts.extend(self.said.iter().map(|(setting, _)| *setting).filter(|setting| !requirement.keeps_idle(*setting)));
        self.acts.sort_unstable();
        self.acts.dedup();
        let told = self.said.iter().flat_map(|(setting, place)| {
            let as_written = written_otherwise(rulebook, requirement, *setting, facts, self.top);
            as_written.into_iter().chain(beyond(requirement, *setting, facts)).map(|said| said.at(*setting, *place))
        });
        told.chain(two_modes(requirement, &self.said)).collect()
    }

    /// Settings of functions that have to be off in every kind of site. A standard says them for those that an operator
    /// switches on.
    pub(super) fn asks_nothing(&self, rulebook: &Rulebook) -> impl Iterator<Item = Finding> {
        let is_of_network = rulebook.layers[usize::from(self.top.0)].kind.is_of_a_network();
        let idle = self.said.iter().filter(move |(setting, _)| is_of_network && !setting.is_state() && !self.acts.contains(setting));
        idle.map(|(setting, place)| {
            let headline = format!("{}: this asks nothing: its function has to be off wherever it is said", setting.title());
            let finding = Finding::new(Outcome::Remark, "asks-nothing", *place, headline);
            finding.hint("leave it out, or see whether the function is meant to be enabled")
        })
    }
}

/// Where a layer speaks of a setting.
fn place_in(rulebook: &Rulebook, setting: SettingId, layer: LayerId) -> Option<Place> {
    rulebook.stated(setting).iter().find(|(own, _)| *own == layer).map(|(_, stated)| stated.place)
}

/// Something about a setting.
struct Remark {
    name: &'static str,
    says: String,
    hint: &'static str,
}

impl Remark {
    fn at(self, setting: SettingId, place: Place) -> Finding {
        Finding::new(Outcome::DoesNotComply, self.name, place, format!("{}: {}", setting.title(), self.says)).hint(self.hint)
    }
}

/// What is asked is what the layer below asks in another reading: between lines, per unit, with the decimal point moved.
/// No network moves a voltage or a frequency so far; times and powers may move.
fn written_otherwise(rulebook: &Rulebook, requirement: &Requirement, setting: SettingId, facts: &Facts, top: LayerId) -> Option<Remark> {
    let asked = requirement.get(setting)?.entry.require.as_ref()?;
    let below = rulebook.entry_below(setting, facts, top);
    below.require.as_ref()?;
    let dimension = match setting.parameter().shape {
        Shape::Quantity(dimension) => dimension,
        Shape::Curve { x, .. } => x,
        Shape::Choice(_) => return None,
    };
    if !matches!(dimension, Dimension::Voltage | Dimension::Frequency) {
        return None;
    }
    let misread = misread(setting, asked, &below, facts)?;
    let was = below.require.as_ref().map(|value| value_here(value, facts).show(setting)).unwrap_or_default();
    Some(Remark {
        name: "may-be-written-otherwise",
        says: format!("{}; the layer below asks for {was}", misread.first),
        hint: "see what the source means, and write it as files count: line to neutral, volts, seconds",
    })
}

/// Numbers that no device can hold: below zero, or reactive or active power beyond all of the rating.
fn beyond(requirement: &Requirement, setting: SettingId, facts: &Facts) -> Option<Remark> {
    let entry = &requirement.get(setting)?.entry;
    let most = entry.comply.iter().filter(|claim| claim.on.subject().part == Part::Whole).find_map(|claim| match claim.limit {
        Limit::AtMost(bound) => bound.value.at(facts),
        _ => None,
    });
    if most.is_some_and(|most| most < Exact::ZERO) {
        let says = "asks for less than zero, which nothing can hold".to_owned();
        let hint = "write the amount; which way it goes is said by the setting's name or its direction";
        return Some(Remark { name: "below-zero", says, hint });
    }
    let (Some(Value::Curve(points)), Shape::Curve { y: Dimension::Percent, .. }) = (&entry.require, setting.parameter().shape) else {
        return None;
    };
    let level = points.iter().map(|point| point.y.number).find(|level| level.abs() > Exact::HUNDRED)?;
    Some(Remark {
        name: "beyond-rating",
        says: format!("asks for {}, and a device has no more than 100 %", Dimension::Percent.show(level)),
        hint: "write the level as a percentage of what the standard takes it",
    })
}

/// Two functions that set reactive power, both to be enabled: told where the topmost layer speaks of either.
fn two_modes(requirement: &Requirement, own: &[(SettingId, Place)]) -> Option<Finding> {
    let (one, other) = reactive_modes::asked_together(requirement)?;
    let place = |mode: SettingId| own.iter().find(|(setting, _)| *setting == mode).map(|(_, place)| *place);
    let place = place(other).or_else(|| place(one))?;
    let [one, other] = [one, other].map(|mode| mode.function().title.to_lowercase());
    let headline = format!("{one} and {other} have to be enabled together; which of them acts is not defined");
    Some(Finding::new(Outcome::DoesNotComply, reactive_modes::NAME, place, headline).hint("require one, and have the other switched off"))
}
