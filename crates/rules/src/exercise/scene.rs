//! What a fault works on: a complying site, what each of its inverters is asked, and what was changed so far.

use super::draft::{Draft, written};
use super::model::value_of;
use super::trouble::{Spot, What};
use crate::assess::Assessor;
use crate::book::{Book, Counted};
use crate::sheet::{Task, rows};
use serde_json::Value as Json;
use settings_model::catalogue::{Equipment, SettingId, Shape};
use settings_model::exact::Exact;
use settings_model::facts::Facts;
use settings_model::quantity::{Amount, Dimension};
use std::collections::BTreeSet;
use std::rc::Rc;

/// A site that a fault is put into.
pub struct Scene<'a> {
    /// The site.
    pub draft: Draft,
    /// Its inverters.
    pub inverters: Vec<Inverter>,
    /// What knows of other regions, editions and issues.
    pub assessor: &'a mut Assessor,
    /// What was changed.
    pub edited: BTreeSet<Spot>,
}

/// One inverter of it.
#[derive(Clone)]
pub struct Inverter {
    /// Its name in the site's file.
    pub name: String,
    /// Its facts, and those of the site.
    pub facts: Facts,
    /// What its layers say.
    pub book: Rc<Book>,
    /// What it is asked.
    pub asked: Rc<Counted>,
}

/// The inverters of a site, and what each is asked; none where the site cannot be judged.
pub fn inverters(draft: &Draft, assessor: &mut Assessor) -> Vec<Inverter> {
    let all = draft.judged(assessor, |assessment, _| {
        let inverters = assessment.devices.iter().filter(|device| device.kind == Equipment::Inverter);
        let of = inverters.map(|device| Inverter {
            name: device.name.to_owned(),
            facts: device.facts.clone(),
            book: device.book.clone(),
            asked: device.counted.clone(),
        });
        of.collect()
    });
    all.unwrap_or_default()
}

impl Inverter {
    /// What a book asks of it, setting by setting, as values to state.
    #[must_use]
    pub fn values_of(&self, book: &Book) -> Vec<(SettingId, Json)> {
        let counted = book.requirement(&self.facts, &[]);
        let rows = rows(book, &counted.requirement, &self.facts, &[]);
        let set = rows.iter().filter(|row| matches!(row.task, Task::Enter | Task::Verify));
        set.filter_map(|row| Some((row.setting, value_of(row, &counted.requirement, &self.facts)?))).collect()
    }

    /// Whether a network asks for something else than the region brings.
    #[must_use]
    pub fn is_moved_by_network(&self, setting: SettingId) -> bool {
        self.asked.requirement.get(setting).is_some_and(|resolved| resolved.entry.require != resolved.base.require)
    }

    /// What the region alone brings, where it names a value.
    #[must_use]
    pub fn of_region_alone(&self, setting: SettingId) -> Option<Json> {
        written(self.asked.requirement.get(setting)?.base.require.as_ref()?, setting, &self.facts)
    }
}

impl Scene<'_> {
    /// Puts a value into an inverter.
    pub fn hold(&mut self, inverter: usize, setting: SettingId, value: Json) {
        let device = &self.inverters[inverter].name;
        if self.draft.held(device, setting) != Some(&value) {
            self.draft.hold(device, setting, value);
            self.edited.insert(Spot { device: device.clone(), what: What::Setting(setting) });
        }
    }

    /// Has an inverter record another region as selected, or none.
    pub fn select(&mut self, inverter: usize, region: Option<&str>) {
        let device = &self.inverters[inverter].name;
        self.draft.select(device, region);
        self.edited.insert(Spot { device: device.clone(), what: What::Region });
    }

    /// What an inverter states of a setting.
    #[must_use]
    pub fn held(&self, inverter: usize, setting: SettingId) -> Option<&Json> {
        self.draft.held(&self.inverters[inverter].name, setting)
    }

    /// Whether an inverter states this word of a setting.
    #[must_use]
    pub fn holds(&self, inverter: usize, setting: SettingId, word: &str) -> bool {
        self.held(inverter, setting).and_then(Json::as_str) == Some(word)
    }

    /// The number that an inverter states, in base units, and its dimension.
    #[must_use]
    pub fn number(&self, inverter: usize, setting: SettingId) -> Option<(Exact, Dimension)> {
        let Shape::Quantity(dimension) = setting.parameter().shape else { return None };
        let held = self.held(inverter, setting)?;
        let text = held.as_str().map_or_else(|| held.to_string(), str::to_owned);
        Some((dimension.parse(&text).ok()?.at(&self.inverters[inverter].facts)?, dimension))
    }

    /// Puts a number into an inverter.
    pub fn hold_number(&mut self, inverter: usize, setting: SettingId, number: Exact, dimension: Dimension) {
        self.hold(inverter, setting, Amount::plain(number).show(dimension).into());
    }

    /// The settings that an inverter states.
    pub fn stated(&self, inverter: usize) -> Vec<SettingId> {
        SettingId::all().filter(|setting| self.held(inverter, *setting).is_some()).collect()
    }

    /// The trip stages that an inverter states as enabled, by their thresholds.
    pub fn thresholds(&self, inverter: usize) -> Vec<SettingId> {
        let acts = |setting: &SettingId| {
            let state = setting.state();
            setting.parameter().key == "threshold" && state.is_none_or(|state| !self.holds(inverter, state, "off"))
        };
        self.stated(inverter).into_iter().filter(acts).collect()
    }

    /// The edition that the site stands under: `as-nzs-4777.2/2020-amd2`.
    #[must_use]
    pub fn standard(&self) -> String {
        self.inverters.first().map(|first| first.book.rulebook.base_key()).unwrap_or_default()
    }

    /// The region that an inverter stands under.
    #[must_use]
    pub fn region(&self, inverter: usize) -> String {
        self.inverters[inverter].book.rulebook.region.clone()
    }
}
