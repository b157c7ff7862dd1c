//! A device of a site as it acts: what it holds, and where nothing is stated, what its region brings.

use super::held::Held;
use response::characteristic::Circumstances;
use response::device::{Device, FrequencyBase, Unclear, device};
use rules::phrase::to_set;
use settings_model::catalogue::SettingId;
use settings_model::claim::Part;
use settings_model::exact::Exact;
use settings_model::files::PercentOf;
use settings_model::value::Value;

/// A device as it acts.
pub struct Acting {
    /// What it does; `None` while its rating is not known.
    pub device: Option<Device>,
    /// What had to be taken for granted.
    pub unclear: Vec<Unclear>,
    /// Its limit on the 10-minute average, in volts, where it is known.
    pub sustained_limit: Option<f64>,
    /// Whether nothing is recorded of it, so that what is required stands for it.
    pub as_required: bool,
}

/// What a device does by its settings; of a device of which nothing is recorded, by those required.
/// `fall_of` says of what power its response to high frequency falls, in place of the standard.
pub fn acting(held: &Held<'_>, fall_of: Option<FrequencyBase>) -> Acting {
    let rulebook = held.asked.as_ref().map(|(book, _)| &book.rulebook);
    let requirement = held.asked.as_ref().map(|(_, counted)| &counted.requirement);
    let required: Vec<(SettingId, Value)> = match (held.holding, requirement) {
        (None, Some(requirement)) => {
            let all = requirement.entries.iter();
            all.filter_map(|resolved| Some((resolved.entry.setting, to_set(&resolved.entry, &requirement.ties, &held.facts)?))).collect()
        }
        _ => Vec::new(),
    };
    let value = |setting: SettingId| -> Option<&Value> {
        let stated = held.holding.and_then(|holding| holding.settings.get(setting)).map(|known| &known.value);
        let brought =
            || requirement?.get(setting).filter(|resolved| held.region_stands && resolved.covered_by_region)?.base.require.as_ref();
        let asked = || required.iter().find(|(other, _)| *other == setting).map(|(_, value)| value);
        stated.or_else(brought).or_else(asked)
    };
    let circumstances = Circumstances { facts: &held.facts, nominal_frequency: rulebook.and_then(|rulebook| rulebook.nominal_frequency) };
    let percent_of = rulebook.and_then(|rulebook| rulebook.percent_of);
    let percent_of = percent_of.map(|of| PercentOf { frequency_response: fall_of.or(of.frequency_response), ..of });
    let (device, unclear) = device(&value, circumstances, percent_of);
    // of what nobody asks for and nobody states, nothing is said
    let is_asked =
        |state: SettingId| requirement.and_then(|requirement| requirement.get(state)).is_some_and(|resolved| !resolved.entry.keeps_off());
    let unclear = unclear.into_iter().filter(|unclear| !matches!(unclear, Unclear::State(state) if !is_asked(*state))).collect();
    let limit = value(SettingId::of("sustained-overvoltage", "threshold")).and_then(|value| value.part(Part::Whole)?.at(&held.facts));
    Acting { device, unclear, sustained_limit: limit.map(Exact::approximate), as_required: held.holding.is_none() }
}

/// What had to be taken for granted, in words.
pub fn taken_for_granted(unclear: &Unclear) -> String {
    match unclear {
        Unclear::State(setting) => format!("whether {} acts is not stated; it is taken not to", setting.function().title.to_lowercase()),
        Unclear::Setting(setting) => {
            let (function, parameter) = (setting.function().title.to_lowercase(), setting.parameter().title);
            format!("of {function}, {parameter} is not stated; the function is taken not to act")
        }
        Unclear::ReactiveModes(modes) => format!("{} are enabled together; {} is taken to act", modes.join(" and "), modes[0]),
        Unclear::Rating(fact) => format!("the {} is not stated; its apparent power is taken instead", fact.row().title),
        Unclear::Priority => "which kind of power comes first at full apparent power is not stated; reactive power is taken to".to_owned(),
        Unclear::FrequencyBase => "of what power the response to high frequency falls is not known; that of the moment is taken".to_owned(),
    }
}
