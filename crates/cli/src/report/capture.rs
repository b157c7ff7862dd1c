//! What `capture --format json` and `decode --format json` print.

use schemars::JsonSchema;
use serde::Serialize;
use settings_model::catalogue::Shape;
use sunspec::image::ReadFrom;
use sunspec::mapping::{Identity, NotRead, Reading};
use sunspec::models::title;
use sunspec::walk::Block;
use sunspec::{Captured, Trouble, Walk};

/// What `capture --format json` and `decode --format json` print.
#[derive(Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub struct CaptureReport {
    /// That the site was made for a lesson; absent for any other.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub training: Option<&'static str>,
    /// What was read: a peer, or a file of registers.
    pub read: String,
    /// The unit id, where it is known.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub unit: Option<u8>,
    /// When it was read, in UTC, where that is known.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub at: Option<String>,
    /// Where the map of registers begins, as the protocol counts: from 0.
    pub base: u16,
    /// Which device it is, as it says itself.
    pub device: DeviceRead,
    /// The models, in order.
    pub models: Vec<ModelRead>,
    /// The settings that were read, in catalogue order.
    pub settings: Vec<SettingRead>,
    /// Settings of an inverter that were not read, in catalogue order: never taken as right.
    pub not_read: Vec<SettingNotRead>,
    /// What leaves something open, first, and what else has to be known.
    pub troubles: Vec<TroubleRead>,
    /// Whether something is left open, so that nothing is proven by this reading.
    pub leaves_open: bool,
    /// What the site came to, as `check --format json` has it, where it was judged.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub site: Option<serde_json::Value>,
}

/// A device as its registers name and rate it.
#[derive(Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub struct DeviceRead {
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
    /// Rated apparent power.
    pub nameplate: Option<String>,
    /// Rated active power.
    pub rated_power: Option<String>,
    /// What its apparent power is set to, where that is less than it is rated.
    pub limited_to: Option<String>,
    /// `single-phase`, `split-phase` or `three-phase`.
    pub phases: Option<&'static str>,
    /// The nominal voltage to neutral that per-unit values count from.
    pub nominal: Option<String>,
    /// What it was doing.
    pub state: Vec<&'static str>,
}

/// A model along the chain.
#[derive(Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub struct ModelRead {
    /// Its number.
    pub model: u16,
    /// What it is about.
    pub title: &'static str,
    /// The address of its number.
    pub register: u16,
    /// Its length behind its number and length.
    pub length: u16,
    /// How many of these registers were read; none of models that are not decoded.
    pub registers_read: usize,
}

/// A setting that was read.
#[derive(Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub struct SettingRead {
    /// The setting, such as `overvoltage-1/threshold`.
    pub setting: String,
    /// Its value, with its unit.
    pub value: String,
    /// The device's resolution; of a curve, along both axes.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub step: Option<String>,
    /// Whether the device holds just this value; otherwise the value stands for an interval of one step.
    pub exact: bool,
    /// The registers that say it.
    pub read_from: OriginRead,
}

/// Registers that say a setting.
#[derive(Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub struct OriginRead {
    /// The model.
    pub model: u16,
    /// The point, or the group of points.
    pub point: String,
    /// The first register.
    pub register: u16,
    /// The raw registers.
    pub raw: Vec<u16>,
}

/// A setting that was not read.
#[derive(Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub struct SettingNotRead {
    /// The setting.
    pub setting: String,
    /// Why.
    pub why: String,
    /// Whether the device has a register for it, and does not implement it.
    pub not_implemented: bool,
}

/// Something that is wrong, or has to be known.
#[derive(Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub struct TroubleRead {
    /// Its name.
    pub name: &'static str,
    /// Whether it leaves open what the device holds.
    pub leaves_open: bool,
    /// What is wrong.
    pub says: String,
    /// The model, where it is one's.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub model: Option<u16>,
    /// The register, where it is one's.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub register: Option<u16>,
    /// The settings that were not read because of it.
    pub keeps_from: Vec<String>,
}

impl CaptureReport {
    /// What was read, and the site that was judged by it.
    pub fn new(
        walk: &Walk,
        name: &str,
        from: Option<&ReadFrom>,
        captured: &Captured,
        training: Option<&'static str>,
        site: Option<serde_json::Value>,
    ) -> Self {
        Self {
            training,
            read: from.map_or(name, |from| &from.peer).to_owned(),
            unit: from.map(|from| from.unit),
            at: from.map(|from| from.at.clone()),
            base: walk.base,
            device: DeviceRead::of(&captured.identity, captured),
            models: walk.blocks.iter().map(ModelRead::of).collect(),
            settings: captured.readings.iter().map(SettingRead::of).collect(),
            not_read: captured.not_read.iter().map(SettingNotRead::of).collect(),
            troubles: captured.troubles.iter().map(TroubleRead::of).collect(),
            leaves_open: captured.leaves_open(),
            site,
        }
    }
}

impl DeviceRead {
    fn of(identity: &Identity, captured: &Captured) -> Self {
        let with = |number: Option<settings_model::exact::Exact>, unit: &str| number.map(|number| format!("{number} {unit}"));
        Self {
            maker: identity.maker.clone(),
            model: identity.model.clone(),
            options: identity.options.clone(),
            firmware: identity.firmware.clone(),
            serial: identity.serial.clone(),
            nameplate: with(identity.nameplate, "VA"),
            rated_power: with(identity.rated_power, "W"),
            limited_to: with(identity.limited_to, "VA"),
            phases: identity.phases,
            nominal: with(captured.nominal, "V"),
            state: identity.state.clone(),
        }
    }
}

impl ModelRead {
    fn of(block: &Block) -> Self {
        let registers_read = block.words.len().saturating_sub(2);
        Self { model: block.id, title: title(block.id), register: block.at, length: block.length, registers_read }
    }
}

impl SettingRead {
    fn of(reading: &Reading) -> Self {
        let from = &reading.from;
        Self {
            setting: reading.setting.to_string(),
            value: reading.known.value.show(reading.setting),
            step: step(reading),
            exact: reading.known.step.as_ref().is_none_or(|step| step.exact),
            read_from: OriginRead { model: from.model, point: from.point.clone(), register: from.register, raw: from.raw.clone() },
        }
    }
}

/// The resolution in words: `0.12 V`, of a curve `0.12 V by 0.1 %`.
pub fn step(reading: &Reading) -> Option<String> {
    let step = reading.known.step.as_deref()?;
    match reading.setting.parameter().shape {
        Shape::Quantity(dimension) => Some(dimension.show(step.size)),
        Shape::Curve { x, y } => step.level.map(|level| format!("{} by {}", x.show(step.size), y.show(level))),
        Shape::Choice(_) => None,
    }
}

impl SettingNotRead {
    fn of(not: &NotRead) -> Self {
        Self { setting: not.setting.to_string(), why: not.why.clone(), not_implemented: not.not_implemented }
    }
}

impl TroubleRead {
    fn of(trouble: &Trouble) -> Self {
        Self {
            name: trouble.kind.name(),
            leaves_open: trouble.kind.leaves_open(),
            says: trouble.says.clone(),
            model: trouble.model,
            register: trouble.register,
            keeps_from: trouble.keeps_from.iter().map(ToString::to_string).collect(),
        }
    }
}
