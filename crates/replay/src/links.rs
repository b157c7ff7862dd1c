//! What a device does when it loses what it needs to keep a limit: the operator's words, or its sensor.

use crate::acting::{Equipment, Values};
use crate::held::DeviceAtMoment;
use response::device::Device;
use response::timeline::{Micros, micros};
use settings_model::catalogue::SettingId;
use settings_model::files::Link;
use settings_model::value::Value;

/// What it does, and when at the earliest and at the latest after the loss.
pub struct OnLoss {
    /// After the loss.
    pub within: [Micros; 2],
    /// What.
    pub does: Does,
}

/// What a device does.
pub enum Does {
    /// It goes on as if nothing had happened.
    Nothing,
    /// It acts as this device: without its limit, or with another one.
    ActsAs(Box<Device>),
    /// It leaves, until what it lost is back.
    Leaves,
}

/// What a device does when it loses each, with what had to be taken for granted.
pub struct OnLosses {
    communication: OnLoss,
    sensor: OnLoss,
    /// In words, by what is lost.
    pub taken: Vec<(Link, String)>,
}

impl OnLosses {
    /// By what a device holds, or its region brings, or is required.
    pub fn of(held: &DeviceAtMoment<'_>, equipment: &Equipment) -> Self {
        let values = if held.is_requirement { Values::or_as_required(held) } else { Values::of(held) };
        let mut taken = Vec::new();
        let communication = communication(&values, equipment).unwrap_or_else(|says| nothing(Link::Communication, says, &mut taken));
        let sensor = sensor(&values, equipment).unwrap_or_else(|says| nothing(Link::ExportSensor, says, &mut taken));
        if matches!(&sensor.does, Does::ActsAs(device) if device.generation_limit == Some(0.0)) {
            let says = "Export sensor: without it, zero export is assumed to mean that it gives nothing (common practice, no source)";
            taken.push((Link::ExportSensor, says.to_owned()));
        }
        Self { communication, sensor, taken }
    }

    /// What it does when it loses this.
    pub fn losing(&self, link: Link) -> &OnLoss {
        match link {
            Link::Communication => &self.communication,
            Link::ExportSensor => &self.sensor,
        }
    }
}

fn nothing(link: Link, says: String, taken: &mut Vec<(Link, String)>) -> OnLoss {
    taken.push((link, says));
    OnLoss { within: [0; 2], does: Does::Nothing }
}

/// It falls back to a limit of its own.
fn communication(values: &Values<'_>, equipment: &Equipment) -> Result<OnLoss, String> {
    if values.is_enabled("remote-control") != Some(true) {
        return Err("Remote control: whether it is enabled is not stated, or it is off; losing communication changes nothing".to_owned());
    }
    let device = fallen_back(values, equipment)?;
    let Some([_, latest]) = values.span("remote-control", "fallback-after").filter(|[_, latest]| latest.is_finite()) else {
        return Err("Remote control: when it falls back is not known; it is assumed to go on as before".to_owned());
    };
    // by then at the latest: when it does so before is its own business
    Ok(OnLoss { within: [0, micros(latest)], does: Does::ActsAs(Box::new(device)) })
}

fn fallen_back(values: &Values<'_>, equipment: &Equipment) -> Result<Device, String> {
    let fallback = values.exactly("remote-control", "fallback");
    let fallback = fallback.ok_or("Remote control: its fallback limit is not known; it is assumed to go on as before")?;
    Ok(Device { export_limit: Some(fallback), ..equipment.device.clone() })
}

/// What it was set to do.
fn sensor(values: &Values<'_>, equipment: &Equipment) -> Result<OnLoss, String> {
    const ON_LOSS: SettingId = SettingId::of("export-sensor", "on-loss");
    if equipment.device.export_limit.is_none() {
        return Err("Export sensor: it keeps no export limit, so that losing the sensor changes nothing".to_owned());
    }
    let settings_model::catalogue::Shape::Choice(words) = ON_LOSS.parameter().shape else { unreachable!("on-loss is one of a few words") };
    let word = match values.value(ON_LOSS) {
        Some(Value::Word(word)) => words[usize::from(*word)],
        _ => return Err("Export sensor: what it does without it is not stated; it is assumed to go on as before".to_owned()),
    };
    let device = equipment.device.clone();
    let does = match word {
        // nothing holds it to the limit any more
        "goes-on" => Does::ActsAs(Box::new(Device { export_limit: None, ..device })),
        "falls-back" => Does::ActsAs(Box::new(fallen_back(values, equipment)?)),
        "zero-export" => Does::ActsAs(Box::new(Device { generation_limit: Some(0.0), ..device })),
        _ => Does::Leaves,
    };
    let latest = values.span("export-sensor", "loss-noticed").map(|[_, latest]| latest).filter(|latest| latest.is_finite());
    match (latest, word) {
        (_, "goes-on") => Ok(OnLoss { within: [0; 2], does }),
        (Some(latest), _) => Ok(OnLoss { within: [0, micros(latest)], does }),
        (None, _) => {
            Err(format!("Export sensor: it {}, but when it notices is not known; it is assumed to go on as before", word.replace('-', " ")))
        }
    }
}
