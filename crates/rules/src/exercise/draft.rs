//! A site's file while it is made: a tree in which values are put and taken, and its text.

use crate::assess::{Assessment, Assessor};
use serde::Deserialize;
use serde_json::{Map, Value as Json, json};
use settings_model::catalogue::{Equipment, SettingId, Shape};
use settings_model::facts::Facts;
use settings_model::files::SiteFile;
use settings_model::value::Value;

/// A site whose devices hold, as left, what the student will find.
#[derive(Clone, Debug, PartialEq)]
pub struct Draft(pub Json);

impl Draft {
    /// The names of its devices.
    #[must_use]
    pub fn devices(&self) -> Vec<String> {
        self.0["devices"].as_object().map(|devices| devices.keys().cloned().collect()).unwrap_or_default()
    }

    /// What a device is left with, to change it.
    fn holding(&mut self, device: &str) -> &mut Json {
        &mut self.0["devices"][device]["as-left"]
    }

    /// The value of a setting as it is written, without how it is known.
    #[must_use]
    pub fn held(&self, device: &str, setting: SettingId) -> Option<&Json> {
        let settings = self.0.get("devices")?.get(device)?.get("as-left")?.get("settings")?;
        let held = settings.get(setting.function().key)?.get(setting.parameter().key)?;
        Some(held.get("value").unwrap_or(held))
    }

    /// States a setting, keeping how it was known.
    pub fn hold(&mut self, device: &str, setting: SettingId, value: Json) {
        let settings = group(self.holding(device), "settings");
        let slot = &mut group(settings, setting.function().key)[setting.parameter().key];
        match slot.as_object_mut() {
            Some(known) => _ = known.insert("value".to_owned(), value),
            None => *slot = value,
        }
    }

    /// States how a setting is known.
    pub fn known_by(&mut self, device: &str, setting: SettingId, kind: &str, photo: Option<usize>) {
        let Some(value) = self.held(device, setting).cloned() else { return };
        let mut known = json!({ "value": value, "known-by": kind });
        if let Some(photo) = photo {
            known["photo"] = json!(photo);
        }
        group(group(self.holding(device), "settings"), setting.function().key)[setting.parameter().key] = known;
    }

    /// The region that a device has selected, as it is recorded.
    #[must_use]
    pub fn region(&self, device: &str) -> Option<&str> {
        self.0["devices"][device]["as-left"]["region-selected"].as_str()
    }

    /// Records another region, or none, as selected.
    pub fn select(&mut self, device: &str, region: Option<&str>) {
        let Some(holding) = self.holding(device).as_object_mut() else { return };
        match region {
            Some(region) => _ = holding.insert("region-selected".to_owned(), json!(region)),
            None => _ = holding.remove("region-selected"),
        }
    }

    /// What kind of work was done.
    #[must_use]
    pub fn work(&self) -> Option<&str> {
        self.0.get("work")?.get("kind")?.as_str()
    }

    /// Judges it, and says what came of it; `None` where it cannot be read as a site.
    pub fn judged<T>(&self, assessor: &mut Assessor, then: impl FnOnce(&Assessment<'_>, &SiteFile<'_>) -> T) -> Option<T> {
        let text = self.0.to_string();
        let site = SiteFile::deserialize(&mut serde_json::Deserializer::from_str(&text)).ok()?;
        Some(then(&assessor.assess(&site), &site))
    }
}

/// A group within a group, made where it is not there.
fn group<'j>(within: &'j mut Json, key: &str) -> &'j mut Json {
    if !within[key].is_object() {
        within[key] = Json::Object(Map::new());
    }
    &mut within[key]
}

/// A value as a site's file states it; `None` for what no file can say.
#[must_use]
pub fn written(value: &Value, setting: SettingId, facts: &Facts) -> Option<Json> {
    match (crate::phrase::value_here(value, facts), setting.parameter().shape) {
        (Value::Curve(points), Shape::Curve { x, y }) => Some(points.iter().map(|p| json!([p.x.show(x), p.y.show(y)])).collect()),
        (Value::Quantity(amount), Shape::Quantity(dimension)) => {
            let shown = amount.at(facts).map_or_else(|| amount.show(dimension), |number| dimension.show(number));
            dimension.parse(&shown).is_ok().then(|| json!(shown))
        }
        (Value::Word(word), Shape::Choice(words)) => words.get(usize::from(word)).map(|word| json!(word)),
        _ => None,
    }
}

/// Whether a device of a draft is of a kind.
#[must_use]
pub fn is_of_kind(draft: &Draft, device: &str, kind: Equipment) -> bool {
    let word = draft.0["devices"][device]["kind"].as_str().unwrap_or("inverter");
    (word == "grid-protection-relay") == (kind == Equipment::GridProtectionRelay)
}
