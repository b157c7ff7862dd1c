//! What happens to a device in a lesson: voltage, frequency and power, step by step.

use super::Kind;
use super::pieces::{Measure, Time};
use crate::located::At;
use crate::notation::{self, Level};
use crate::quantity::Dimension;
use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};
use serde::de::{self, Deserialize, Deserializer};
use std::borrow::Cow;
use std::marker::PhantomData;

/// A scenario: how it begins, and what happens then.
#[derive(Clone, Debug, serde::Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct ScenarioFile {
    /// Always `scenario`.
    pub kind: Kind,
    /// Its name in print.
    pub title: String,
    /// What a class learns from it.
    pub teaches: String,
    /// Where its figures come from: `invented`, or a document.
    pub source: String,
    /// Standards whose own figures it shows, such as `as-nzs-4777.2`; without it, any.
    #[serde(default)]
    pub standards: Vec<At<String>>,
    /// Whether the device is on when it begins; `true` without it.
    pub in_service: Option<bool>,
    /// What there is at first.
    pub begin: Begin,
    /// What happens then, one after another.
    pub then: Vec<At<Step>>,
}

/// What there is at first.
#[derive(Clone, Debug, Default, serde::Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct Begin {
    /// Voltage of every phase; nominal without it.
    pub voltage: Option<At<LevelOf<super::pieces::Voltage>>>,
    /// Frequency; nominal without it.
    pub frequency: Option<At<LevelOf<super::pieces::Frequency>>>,
    /// What the source could give, such as `80 %` of rated active power; all of it without it.
    pub available: Option<At<LevelOf<super::pieces::ActivePower>>>,
    /// What the site itself uses; nothing without it.
    pub own_use: Option<At<LevelOf<super::pieces::ActivePower>>>,
}

/// One step: what changes, at once or over some time, and for how long it then stays so.
#[derive(Clone, Debug, Default, serde::Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct Step {
    /// What to tell the class.
    pub says: Option<String>,
    /// Voltage of every phase.
    pub voltage: Option<At<LevelOf<super::pieces::Voltage>>>,
    /// Voltage of the first phase.
    pub voltage_l1: Option<At<LevelOf<super::pieces::Voltage>>>,
    /// Voltage of the second phase.
    pub voltage_l2: Option<At<LevelOf<super::pieces::Voltage>>>,
    /// Voltage of the third phase.
    pub voltage_l3: Option<At<LevelOf<super::pieces::Voltage>>>,
    /// Frequency.
    pub frequency: Option<At<LevelOf<super::pieces::Frequency>>>,
    /// What the source could give.
    pub available: Option<At<LevelOf<super::pieces::ActivePower>>>,
    /// What the site itself uses.
    pub own_use: Option<At<LevelOf<super::pieces::ActivePower>>>,
    /// What is lost as the step begins.
    pub loses: Option<Link>,
    /// What comes back as the step begins.
    pub regains: Option<Link>,
    /// How long it takes to get there, in a straight line; at once without it.
    pub over: Option<At<LevelOf<Time>>>,
    /// How long it then stays so.
    #[serde(rename = "for")]
    pub lasts: Option<At<LevelOf<Time>>>,
    /// How often the steps under `then` happen.
    pub repeat: Option<At<u16>>,
    /// What happens again and again, with `repeat`.
    #[serde(default)]
    pub then: Vec<At<Step>>,
}

/// What a device needs beside its supply to keep a limit.
#[derive(Clone, Copy, Debug, PartialEq, Eq, serde::Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Link {
    /// The connection over which the operator's limits come.
    Communication,
    /// The sensor that measures what flows out of the site.
    ExportSensor,
}

/// A level or a time in the notation of scenarios.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LevelOf<M> {
    /// What it says.
    pub level: Level,
    measures: PhantomData<M>,
}

impl<'de, M: Measure> Deserialize<'de> for LevelOf<M> {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        let text = super::Text::deserialize(deserializer)?;
        let level = notation::level(M::DIMENSION, &text).map_err(de::Error::custom)?;
        Ok(Self { level, measures: PhantomData })
    }
}

impl<M: Measure> JsonSchema for LevelOf<M> {
    fn inline_schema() -> bool {
        true
    }
    fn schema_name() -> Cow<'static, str> {
        format!("level-of-{}", M::DIMENSION.name().replace(' ', "-")).into()
    }
    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        let example = match M::DIMENSION {
            Dimension::Voltage => "undervoltage-1/threshold - 5 V",
            Dimension::Frequency => "reconnection/upper-frequency + 0.02 Hz",
            Dimension::Time => "undervoltage-1/stays-on - 100 ms",
            _ => "80 %",
        };
        json_schema!({
            "type": "string",
            "description": format!("{}, or counted from what is required", M::DIMENSION.a_name()),
            "examples": [M::DIMENSION.example(), example],
            "x-level": M::DIMENSION.name(),
        })
    }
}
