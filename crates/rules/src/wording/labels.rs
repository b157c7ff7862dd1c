//! What the display calls the setting of a finding, and what to enter there.

use super::Wording;
use settings_model::catalogue::SettingId;
use settings_model::claim::{Part, Var};
use settings_model::labels::Site;

impl Wording<'_> {
    /// `the display calls this "Ceiling 1" (Guard > Volts), where it has to show 265 V`, where a label map knows it. It is
    /// for reading first: what to do says the remedy.
    pub(super) fn on_display(&self, setting: SettingId, part: Part) -> Option<String> {
        let map = self.device.labels.as_ref()?;
        let of = Var { setting, part };
        let label = map.label_of(of)?;
        let menu = label.menu.as_ref().map(|menu| format!(" ({menu})")).unwrap_or_default();
        let site = Site { facts: &self.device.facts, percent_of: Some(self.rulebook.percent_of) };
        let required = self.device.counted.requirement.get(setting).and_then(|resolved| resolved.entry.require.as_ref());
        let asked = |setting: SettingId, word: u8| self.asks_for(setting, word);
        let enter = required.and_then(|value| label.enter(of, value, site, &asked));
        let enter = enter.map(|enter| match enter.is_exact {
            true => format!("; it has to show {}", enter.text),
            false => format!("; it has to show {}, the nearest that it can", enter.text),
        });
        let unit = label.unit().filter(|unit| unit.contains(' ')).map(|unit| format!(", in {unit}")).unwrap_or_default();
        let way = label.way().map(|way| format!(", {way}")).unwrap_or_default();
        Some(format!("the display calls this \"{}\"{menu}{unit}{way}{}", label.words, enter.unwrap_or_default()))
    }

    /// `on the display: "V1" 207 V, "Q1" -44 %`, all of what is required of a setting.
    pub(super) fn whole_on_display(&self, setting: SettingId) -> Option<String> {
        let map = self.device.labels.as_ref()?;
        let site = Site { facts: &self.device.facts, percent_of: Some(self.rulebook.percent_of) };
        let required = self.device.counted.requirement.get(setting)?.entry.require.as_ref()?;
        let parts = map.on_display(setting, Some(required), site, &|setting, word| self.asks_for(setting, word));
        let shown = parts.iter().filter_map(|part| Some(format!("\"{}\" {}", part.label.words, part.enter.as_ref()?.text)));
        let shown: Vec<String> = shown.collect();
        (!shown.is_empty()).then(|| format!("on the display: {}", shown.join(", ")))
    }

    /// Whether a word of a setting is as asked, or nothing is asked of it.
    fn asks_for(&self, setting: SettingId, word: u8) -> bool {
        crate::sheet::asks_for(&self.device.counted.requirement, setting, word)
    }
}
