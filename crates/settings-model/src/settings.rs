//! What one device holds: values by setting, and how each is known.
//!
//! One hand-written visitor reads the `settings` block from located YAML and from JSON lines alike,
//! straight into slots by [`SettingId`]; there is no second definition. It keeps no places: a
//! finding names its setting, and the line is located again only when the finding is printed.

mod reading;

use crate::catalogue::{COUNT, ENABLED, SettingId};
use crate::claim::{Evidence, Part};
use crate::exact::Exact;
use crate::value::Value;

/// A value and how it is known.
#[derive(Clone, Debug, PartialEq)]
pub struct Known {
    /// The value as the device shows it.
    pub value: Value,
    /// How it is known; `None` takes the word of the whole block.
    pub evidence: Option<Evidence>,
    /// The device's resolution for this value.
    pub step: Option<Box<Step>>,
}

impl Known {
    /// Whether the value stands for all that is rounded to it.
    #[must_use]
    pub fn rounds(&self) -> bool {
        self.step.as_deref().is_some_and(|step| !step.exact)
    }
}

/// How finely a device takes and shows a value.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Step {
    /// From one value to the next, in base units; of a curve, along the measured axis.
    pub size: Exact,
    /// Of a curve, the same across it.
    pub level: Option<Exact>,
    /// Whether the device holds just what it shows. Otherwise a value stands for all that is rounded to it.
    pub exact: bool,
}

impl Step {
    /// The step of one part of a value, where it has one.
    #[must_use]
    pub fn of(&self, part: Part) -> Option<Exact> {
        match part {
            Part::Whole | Part::X(_) => Some(self.size),
            Part::Y(_) => self.level,
            Part::PointCount => None,
        }
    }
}

/// What one device holds. A setting that is not stated is `None`, never a default.
#[derive(Clone, Debug, Default)]
pub struct Settings(Option<Box<Stated>>);

/// What is stated of an installation: the figures that are calculated for it.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Figures(pub Settings);

/// What is stated: most devices state a few dozen of all settings.
#[derive(Clone, Debug)]
struct Stated {
    /// For each row of the catalogue where its value stands, from 1; 0 where nothing is stated.
    positions: [u8; COUNT],
    known: Vec<Known>,
}

const _: () = assert!(COUNT < u8::MAX as usize, "a position takes one byte");

impl Default for Stated {
    fn default() -> Self {
        Self { positions: [0; COUNT], known: Vec::with_capacity(32) }
    }
}

impl Stated {
    #[inline(always)]
    fn set(&mut self, setting: SettingId, known: Known) {
        match usize::from(self.positions[setting.index()]).checked_sub(1) {
            Some(position) => self.known[position] = known,
            None => {
                self.known.push(known);
                self.positions[setting.index()] = self.known.len() as u8;
            }
        }
    }

    fn has(&self, setting: SettingId) -> bool {
        self.positions[setting.index()] != 0
    }
}

/// The same values, in whatever order they were stated.
impl PartialEq for Settings {
    fn eq(&self, other: &Self) -> bool {
        self.iter().eq(other.iter())
    }
}

impl Settings {
    /// What is stated of a setting.
    #[must_use]
    pub fn get(&self, setting: SettingId) -> Option<&Known> {
        let stated = self.0.as_ref()?;
        let position = usize::from(stated.positions[setting.index()]);
        stated.known.get(position.wrapping_sub(1))
    }

    /// Whether anything is stated of a setting.
    #[must_use]
    #[inline]
    pub fn states(&self, setting: SettingId) -> bool {
        self.0.as_ref().is_some_and(|stated| stated.has(setting))
    }

    /// Whether a function is stated to act; by its state.
    #[must_use]
    pub fn is_enabled(&self, state: SettingId) -> bool {
        self.get(state).is_some_and(|known| known.value == Value::Word(ENABLED))
    }

    /// States a setting, in place of what was stated before.
    pub fn set(&mut self, setting: SettingId, known: Known) {
        self.0.get_or_insert_default().set(setting, known);
    }

    /// The same with all that is stated of two functions, named by one setting of each, exchanged.
    #[must_use]
    pub fn exchanged(&self, one: SettingId, other: SettingId) -> Self {
        let counterpart = |id: SettingId| match (id.same_function(one), id.same_function(other)) {
            (true, _) => other.sibling(id.parameter().key).unwrap_or(id),
            (_, true) => one.sibling(id.parameter().key).unwrap_or(id),
            _ => id,
        };
        let mut exchanged = Self::default();
        self.iter().for_each(|(id, known)| exchanged.set(counterpart(id), known.clone()));
        exchanged
    }

    /// Whether anything is stated of a setting that a list has no place for.
    #[must_use]
    pub fn reach_beyond(&self, covered: &Covered) -> bool {
        let Some(stated) = &self.0 else { return false };
        // without an early end: the whole comparison takes a few instructions
        stated.positions.iter().zip(&covered.0).fold(0, |any, (position, left_out)| any | (position & left_out)) != 0
    }

    /// Everything stated, in catalogue order.
    pub fn iter(&self) -> impl Iterator<Item = (SettingId, &Known)> {
        SettingId::all().filter_map(|id| Some((id, self.get(id)?)))
    }
}

/// A list of settings, for asking of many devices whether all that they state is on it.
#[derive(Clone, Debug)]
pub struct Covered([u8; COUNT]);

impl Default for Covered {
    /// An empty list.
    fn default() -> Self {
        Self([u8::MAX; COUNT])
    }
}

impl Covered {
    /// Puts a setting on it.
    pub fn add(&mut self, setting: SettingId) {
        self.0[setting.index()] = 0;
    }

    /// Whether a setting is on it.
    #[must_use]
    pub fn has(&self, setting: SettingId) -> bool {
        self.0[setting.index()] == 0
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn any_order_of_keys_reads_into_the_same_slots() {
        let forwards = r#"{"overvoltage-1":{"threshold":"265 V","definite-delay":"1.5 s"},"volt-var":{"state":"enabled"}}"#;
        let backwards = r#"{"volt-var":{"state":"enabled"},"overvoltage-1":{"definite-delay":"1500 ms","threshold":"0.265 kV"}}"#;
        let (one, other): (Settings, Settings) = (serde_json::from_str(forwards).unwrap(), serde_json::from_str(backwards).unwrap());
        assert_eq!(one.iter().count(), 3);
        for (id, known) in one.iter() {
            assert_eq!(other.get(id), Some(known), "{id}");
        }
    }

    #[test]
    fn evidence_step_and_points_are_kept() {
        let text = r#"{"sustained-overvoltage":{"threshold":{"value":"257 V","known-by":"photo","photo":12,"step":"1 V"}},
            "volt-var":{"points":[["207 V","44 %"],["220 V","0 %"]]}}"#;
        let settings: Settings = serde_json::from_str(text).unwrap();
        let threshold = settings.get(SettingId::named("sustained-overvoltage/threshold").unwrap()).unwrap();
        let step = Step { size: Exact::ONE, level: None, exact: false };
        assert_eq!((threshold.evidence, threshold.step.as_deref()), (Some(Evidence::Photo), Some(&step)));
        let curve = settings.get(SettingId::named("volt-var/points").unwrap()).unwrap();
        assert!(matches!(&curve.value, Value::Curve(points) if points.len() == 2));
    }

    #[test]
    fn what_is_not_a_setting_is_refused() {
        for text in [
            r#"{"overvoltage-9":{"threshold":"265 V"}}"#,
            r#"{"overvoltage-1":{"points":"265 V"}}"#,
            r#"{"overvoltage-1":{"threshold":"265"}}"#,
            r#"{"overvoltage-1":{"threshold":[["1 V","1 %"],["2 V","1 %"]]}}"#,
            r#"{"volt-var":{"points":[["220 V","0 %"],["207 V","44 %"]]}}"#,
            r#"{"volt-var":{"points":[["220 V","0 %"]]}}"#,
            r#"{"volt-var":{"state":"on"}}"#,
            r#"{"overvoltage-1":{"threshold":"300 V","threshold":"265 V"}}"#,
            r#"{"overvoltage-1":{"threshold":"300 V"},"overvoltage-1":{"threshold":"265 V"}}"#,
            r#"{"overvoltage-1":{"threshold":{"known-by":"photo"}}}"#,
            r#"{"overvoltage-1":{"threshold":{"value":"265 V","step":"0 V"}}}"#,
            r#"{"overvoltage-1":{"threshold":{"value":"265 V","known-by":"region"}}}"#,
            r#"{"voltage-rise":{"total":"1 %"}}"#,
            r#"{"fixed-power-factor":{"power-factor":"1.2 "}}"#,
            r#"{"fixed-power-factor":{"power-factor":1.2}}"#,
            r#"{"overvoltage-1":{"threshold":"300 V"},"overvoltage-1":{"definite-delay":"1 s"}}"#,
            r#"{"overvoltage-1":{"threshold":{"value":"300 V","value":"265 V"}}}"#,
            r#"{"overvoltage-1":{"threshold":{"value":"265 V","known-by":"photo","known-by":"display"}}}"#,
        ] {
            assert!(serde_json::from_str::<Settings>(text).is_err(), "{text}");
        }
    }

    #[test]
    fn an_installation_states_what_is_calculated_and_nothing_else() {
        let read = |text: &str| serde_json::from_str::<Figures>(text);
        assert_eq!(read(r#"{"voltage-rise":{"total":"1.4 %"}}"#).unwrap().0.iter().count(), 1);
        for text in [r#"{"site-rating":{"nameplate-total":"12 kVA"}}"#, r#"{"overvoltage-1":{"threshold":"265 V"}}"#] {
            assert!(read(text).is_err(), "{text}");
        }
    }

    #[test]
    fn plain_numbers_need_no_quotes_where_there_is_no_unit() {
        let text = r#"{"power-dependent-power-factor":{"points":[["50 %",1],["100 %",0.95]]},"export-sensor":{"ratio-fitted":40}}"#;
        let quoted = r#"{"power-dependent-power-factor":{"points":[["50 %","1"],["100 %","0.95"]]},"export-sensor":{"ratio-fitted":"40"}}"#;
        let (plain, quoted): (Settings, Settings) = (serde_json::from_str(text).unwrap(), serde_json::from_str(quoted).unwrap());
        assert_eq!(plain, quoted);
    }
}
