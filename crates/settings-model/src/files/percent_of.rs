//! Of what the percentages of a standard are taken.

use crate::facts::FactId;
use crate::located::At;
use schemars::JsonSchema;
use serde::Deserialize;

/// Of what percentages are taken, and who says so.
#[derive(Clone, Debug, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct PercentOfSaid {
    /// Of what those of active power are.
    pub active: PowerBaseSaid,
    /// Of what those of reactive power are.
    pub reactive: PowerBaseSaid,
    /// Of what power the answer to high frequency takes its fall; not stated means that nobody knows.
    #[serde(default)]
    pub frequency_response: Option<FrequencyBaseSaid>,
}

/// A rating that percentages are taken of, and who says so.
#[derive(Clone, Debug, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct PowerBaseSaid {
    /// The rating.
    pub of: PowerBase,
    /// One of the file's `sources`.
    pub source: At<String>,
}

/// Of what power the answer to high frequency takes its percentages, and who says so.
#[derive(Clone, Debug, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct FrequencyBaseSaid {
    /// The power.
    pub of: FrequencyBase,
    /// One of the file's `sources`.
    pub source: At<String>,
}

impl PercentOfSaid {
    /// The powers by themselves.
    #[must_use]
    pub fn bases(&self) -> PercentOf {
        let frequency_response = self.frequency_response.as_ref().map(|said| said.of);
        PercentOf { active: self.active.of, reactive: self.reactive.of, frequency_response }
    }

    /// Each kind of percentage that is spoken of, with its source.
    pub fn sources(&self) -> impl Iterator<Item = (Percentage, &At<String>)> {
        let frequency = self.frequency_response.as_ref().map(|said| (Percentage::OfFrequencyResponse, &said.source));
        [(Percentage::OfActivePower, &self.active.source), (Percentage::OfReactivePower, &self.reactive.source)]
            .into_iter()
            .chain(frequency)
    }
}

/// A kind of percentage, as standards tell them apart.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Percentage {
    /// Levels of active power.
    OfActivePower,
    /// Levels of reactive power.
    OfReactivePower,
    /// The fall of active power at high frequency.
    OfFrequencyResponse,
}

/// Of what percentages are taken.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct PercentOf {
    /// Of what those of active power are.
    pub active: PowerBase,
    /// Of what those of reactive power are.
    pub reactive: PowerBase,
    /// Of what power the answer to high frequency takes its fall; `None` means that nobody knows.
    pub frequency_response: Option<FrequencyBase>,
}

/// Of what power the answer to high frequency takes its percentages.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize, JsonSchema)]
pub enum FrequencyBase {
    /// Of the power at the moment of passing the start: 50 % of 70 % is 35 %.
    #[serde(rename = "momentary power")]
    Momentary,
    /// Of rated active power: 70 % less 50 % is 20 %.
    #[serde(rename = "rated active power")]
    Rated,
}

impl FrequencyBase {
    /// The words in files and in print.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Momentary => "momentary power",
            Self::Rated => "rated active power",
        }
    }
}

/// A rating that percentages are taken of.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize, JsonSchema)]
pub enum PowerBase {
    /// The apparent power on the device's nameplate.
    #[serde(rename = "rated apparent power")]
    RatedApparentPower,
    /// The device's rated active power.
    #[serde(rename = "rated active power")]
    RatedActivePower,
}

impl PowerBase {
    /// The words in files and in print.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::RatedApparentPower => "rated apparent power",
            Self::RatedActivePower => "rated active power",
        }
    }

    /// The fact of a device that states it.
    #[must_use]
    pub fn fact(self) -> FactId {
        match self {
            Self::RatedApparentPower => FactId::Nameplate,
            Self::RatedActivePower => FactId::RatedPower,
        }
    }
}
