//! Which device it is, as it says itself.

use super::device::DeviceModels;
use crate::decode::{Decoded, PointValue, Says};
use settings_model::exact::Exact;

/// A device as its registers name and rate it.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Identity {
    /// The maker.
    pub maker: Option<String>,
    /// The model.
    pub model: Option<String>,
    /// Options.
    pub options: Option<String>,
    /// The firmware version.
    pub firmware: Option<String>,
    /// The serial number.
    pub serial: Option<String>,
    /// Rated apparent power, in volt-amperes.
    pub nameplate: Option<Exact>,
    /// Rated active power, in watts.
    pub rated_power: Option<Exact>,
    /// What its apparent power is set to, where that is less than it is rated, in volt-amperes.
    pub limited_to: Option<Exact>,
    /// Phases that it feeds.
    pub phases: Option<&'static str>,
    /// What it is doing: `running`, `connected`.
    pub state: Vec<&'static str>,
}

impl Identity {
    pub(super) fn of(device: &DeviceModels) -> Self {
        let text = |name: &str| match &device.model(1)?.parts.point(name)?.says {
            Says::Text { text, .. } if !text.is_empty() => Some(text.clone()),
            _ => None,
        };
        let number = |id: u16, name: &str| device.model(id)?.parts.point(name)?.number();
        let nameplate = number(702, "VAMaxRtg").or_else(|| number(120, "VARtg"));
        let set = number(702, "VAMax").or_else(|| number(121, "VAMax"));
        Self {
            maker: text("Mn"),
            model: text("Md"),
            options: text("Opt"),
            firmware: text("Vr"),
            serial: text("SN"),
            nameplate,
            rated_power: number(702, "WMaxRtg").or_else(|| number(120, "WRtg")),
            limited_to: set.filter(|set| nameplate.is_some_and(|rating| *set < rating)),
            phases: device.model(701).and_then(|state| state.parts.point("ACType")?.word()),
            state: device.model(701).map(state).unwrap_or_default(),
        }
    }
}

fn state(decoded: &Decoded) -> Vec<&'static str> {
    ["St", "InvSt", "ConnSt"].into_iter().filter_map(|name| decoded.parts.point(name).and_then(PointValue::word)).collect()
}
