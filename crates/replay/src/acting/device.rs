//! What a device gives: its ratings and its responses.

use super::values::Values;
use crate::held::DeviceAtMoment;
use response::characteristic::Circumstances;
use response::device::{Device, FrequencyBase, Unclear, device};
use settings_model::catalogue::SettingId;
use settings_model::facts::Facts;
use settings_model::files::PercentOf;

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
    /// Whether nobody says that volt-watt acts, or that it does not.
    volt_watt_is_open: bool,
}

impl Acting {
    /// Whether volt-watt may act, and nobody knows how: a device of which nothing is known may lose power.
    pub fn has_unknown_volt_watt(&self) -> bool {
        self.volt_watt_is_open || self.unclear.iter().any(is_of_volt_watt)
    }
}

const VOLT_WATT: &str = "volt-watt";

/// Whether it is volt-watt that is not clear.
pub fn is_of_volt_watt(unclear: &Unclear) -> bool {
    matches!(unclear, Unclear::State(id) | Unclear::Setting(id) if id.function().key == VOLT_WATT)
}

/// What a device does by its settings; of a device of which nothing is recorded, by those required.
/// `fall_of` says of what power its response to high frequency falls, in place of the standard.
pub fn acting(held: &DeviceAtMoment<'_>, fall_of: Option<FrequencyBase>) -> Acting {
    let values = Values::or_as_required(held);
    let (device, unclear) = responses(&values, &held.facts, fall_of);
    let sustained_limit = values.exactly("sustained-overvoltage", "threshold");
    // the region that is selected on a device, or a requirement, has no volt-watt where it speaks of none
    let volt_watt_is_open = !held.region_stands && held.holding.is_some() && values.is_enabled(VOLT_WATT).is_none();
    Acting { device, unclear, sustained_limit, as_required: held.holding.is_none(), volt_watt_is_open }
}

/// What a device does by its settings, with what had to be taken for granted of functions that
/// somebody asks for; of the others, nothing is said.
pub(super) fn responses(values: &Values<'_>, facts: &Facts, fall_of: Option<FrequencyBase>) -> (Option<Device>, Vec<Unclear>) {
    let asked = values.held.asked.as_ref();
    let rulebook = asked.map(|(book, _)| &book.rulebook);
    let circumstances = Circumstances { facts, nominal_frequency: rulebook.and_then(|rulebook| rulebook.nominal_frequency) };
    let percent_of = rulebook.and_then(|rulebook| rulebook.percent_of);
    let percent_of = percent_of.map(|of| PercentOf { frequency_response: fall_of.or(of.frequency_response), ..of });
    let (device, unclear) = device(&|id| values.value(id), circumstances, percent_of);
    let is_asked = |state: SettingId| {
        let resolved = asked.and_then(|(_, counted)| counted.requirement.get(state));
        resolved.is_some_and(|resolved| !resolved.entry.keeps_off())
    };
    let unclear = unclear.into_iter().filter(|unclear| !matches!(unclear, Unclear::State(state) if !is_asked(*state)));
    (device, unclear.collect())
}
