//! What was not read, and why: no setting of an inverter is passed over in silence.

use super::collected::Collected;
use super::device::DeviceModels;
use settings_model::catalogue::{Equipment, HeldBy, SettingId};

/// Which models say something of a function: newer ones first.
const SAID_BY: [(&str, &[u16]); 22] = [
    ("undervoltage-1", &[707, 129]),
    ("undervoltage-2", &[707, 129]),
    ("undervoltage-3", &[707, 129]),
    ("overvoltage-1", &[708, 130]),
    ("overvoltage-2", &[708, 130]),
    ("overvoltage-3", &[708, 130]),
    ("underfrequency-1", &[709, 135]),
    ("underfrequency-2", &[709, 135]),
    ("overfrequency-1", &[710, 136]),
    ("overfrequency-2", &[710, 136]),
    ("reconnection", &[703]),
    ("active-power-ramp", &[704]),
    ("active-anti-islanding", &[704]),
    ("volt-watt", &[706, 132]),
    ("volt-var", &[705, 126]),
    ("fixed-power-factor", &[704, 123]),
    ("fixed-reactive-power", &[704, 123]),
    ("watt-var", &[712]),
    ("over-frequency-response", &[711, 127, 134]),
    ("under-frequency-response", &[711]),
    ("power-priority", &[705]),
    ("power-dependent-power-factor", &[131]),
];

/// Names every setting of an inverter of which nothing was said.
pub(super) fn name(device: &DeviceModels, collected: &mut Collected) {
    for setting in SettingId::all() {
        let function = setting.function();
        let is_set = setting.parameter().held_by == HeldBy::Setting && function.held_by.contains(&Equipment::Inverter);
        if !is_set || !collected.is_new(setting) {
            continue;
        }
        let models = SAID_BY.iter().find(|(key, _)| *key == function.key).map_or(&[][..], |(_, models)| models);
        let why = match (models, device.first_of(models)) {
            ([], _) => "no model says it".to_owned(),
            ([first, ..], None) if !device.is_whole => format!("model {first} was not reached"),
            ([first, ..], None) => format!("the device has no model {first}"),
            (_, Some(there)) if device.model(there).is_none() => format!("model {there} could not be used"),
            (_, Some(there)) => format!("model {there} does not say it"),
        };
        collected.not_read(Some(setting), &why);
    }
}
