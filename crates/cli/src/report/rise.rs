//! What `rise --format json` prints.

use super::LayerReport;
use jiff::civil::Date;
use rules::provenance::{Standing, Verdict};
use schemars::JsonSchema;
use serde::Serialize;

/// What `rise --format json` prints. Volts are between phase and neutral; powers are of a whole inverter.
#[derive(Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub struct RiseReport {
    /// The site's own name.
    pub site: String,
    /// The day the question was asked for.
    pub as_of: String,
    /// What it comes to: within the limit, above it, or not proven.
    pub verdict: Verdict,
    /// How the limits and conductors' figures are known that decided; absent where none did.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub decided_by: Option<Standing>,
    /// What the site stands under, lowest layer first.
    pub layers: Vec<LayerReport>,
    /// What keeps the rise from being worked out; nothing below is given then.
    pub missing: Vec<String>,
    /// Nominal voltage that percentages are of, in volts.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub nominal: Option<f64>,
    /// Figures with a limit, and the whole rise.
    pub figures: Vec<FigureReport>,
    /// Each cable, in the order of the file.
    pub cables: Vec<CableReport>,
    /// Each inverter.
    pub inverters: Vec<InverterReport>,
    /// Where the inverters settle, for each supply voltage and share of output that was asked for.
    pub settled: Vec<SettledReport>,
    /// What nobody stated, and how it was reckoned.
    pub taken_as: Vec<String>,
}

/// A figure of the installation.
#[derive(Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub struct FigureReport {
    /// The setting, such as `voltage-rise/total`.
    pub setting: String,
    /// By the simple method, in volts.
    pub volts: f64,
    /// The same in per cent of the nominal voltage, as it is held against the limit.
    pub percent: Option<f64>,
    /// What complies, in words.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub complies_within: Option<String>,
    /// Who says so.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub required_by: Option<String>,
    /// How the limit is known.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub basis: Option<Standing>,
    /// What it comes to; not proven where nobody limits it.
    pub verdict: Verdict,
    /// With resistance and reactance each for itself, R cos φ + X sin φ at the power factor of rated output; `volts`
    /// counts the whole impedance, |Z|.
    pub by_parts: ByPartsReport,
    /// Other bases, in volts, that the trade takes percentages of, under which it would be judged otherwise.
    pub otherwise_from: Vec<f64>,
}

/// A figure of the installation with resistance and reactance each for itself.
#[derive(Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub struct ByPartsReport {
    /// In volts.
    pub volts: f64,
    /// In per cent of the nominal voltage.
    pub percent: Option<f64>,
    /// What it would come to.
    pub verdict: Verdict,
}

/// A cable.
#[derive(Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub struct CableReport {
    /// Its name in the site's file.
    pub cable: String,
    /// Current of the phase that carries most, in amperes, every inverter at its rated current.
    pub current: f64,
    /// Rise along it by the simple method, in volts.
    pub volts: f64,
    /// Whether it counts towards the limit.
    pub counts: bool,
    /// How sure the conductor's figure is; absent where the site states it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub basis: Option<Standing>,
}

/// An inverter.
#[derive(Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub struct InverterReport {
    /// Its name in the site's file.
    pub inverter: String,
    /// Rise to it by the simple method, in volts.
    pub volts: f64,
    /// The same by phasors with its power fixed; null where no such power can flow.
    pub volts_by_phasors: Option<f64>,
    /// By the simple method with those inverters off that would lower it, in volts.
    pub volts_with_others_off: f64,
    /// Its limit on the 10-minute average, in volts.
    pub limit: Option<f64>,
    /// Supply voltage above which the voltage takes more than 1 % of what ratings and limits leave at full output; null
    /// where it never does, or nobody knows (`not-known`).
    pub loses_1_percent_above: Option<f64>,
    /// The same for 10 %.
    pub loses_10_percent_above: Option<f64>,
    /// Supply voltage above which its terminals pass its limit at full output.
    pub passes_limit_above: Option<f64>,
    /// Those of the three before that nobody knows, so that null is not "never".
    pub not_known: Vec<&'static str>,
}

/// Where the inverters settle at one supply voltage and share of output.
#[derive(Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub struct SettledReport {
    /// At the point of supply, inverters off, in volts.
    pub supply: f64,
    /// Of rated active power, in per cent.
    pub share: f64,
    /// `not-acting` or `acting`: whether reactive power that locks in acted before, where that decides.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub before: Option<&'static str>,
    /// Each inverter; null where they settle nowhere.
    pub inverters: Option<Vec<SettledInverter>>,
    /// Why they settle nowhere: `too-weak`, `not-a-figure`, `not-found` or `swings`.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub no_point: Option<&'static str>,
    /// The inverters that swing.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub swings: Vec<SwingReport>,
}

/// An inverter without rest: its response jumps, and on either side its current brings the terminals to the other.
#[derive(Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub struct SwingReport {
    /// Its name in the site's file.
    pub inverter: String,
    /// The voltage at which its curve steps, in volts; null where its reactive power locks in and out.
    pub steps_at: Option<f64>,
    /// Before the jump, and after it.
    pub ends: [SwingEnd; 2],
}

/// One end of a swing: what the inverter gives there, and the voltage to which its cables bring its terminals by it.
#[derive(Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub struct SwingEnd {
    /// At its terminals, in volts.
    pub voltage: f64,
    /// In watts.
    pub active: f64,
    /// In vars.
    pub reactive: f64,
}

/// Where an inverter settles.
#[derive(Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub struct SettledInverter {
    /// Its name in the site's file.
    pub inverter: String,
    /// At its terminals, in volts.
    pub voltage: f64,
    /// In watts.
    pub active: f64,
    /// In vars: above zero supplies, below absorbs.
    pub reactive: f64,
    /// Less than it could give, in watts.
    pub curtailed: f64,
    /// What keeps active power where it is.
    pub held_by: &'static str,
    /// How much a change of voltage comes back through all inverters; for screening only.
    pub loop_gain: f64,
    /// Whether reactive power that locks in acts; absent where none does.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub acts: Option<bool>,
}

impl RiseReport {
    /// Of a site whose rise cannot be worked out.
    pub fn not_proven(site: &str, as_of: &Date, layers: Vec<LayerReport>, missing: Vec<String>) -> Self {
        Self {
            site: site.to_owned(),
            as_of: as_of.to_string(),
            verdict: Verdict::NotProven,
            decided_by: None,
            layers,
            missing,
            nominal: None,
            figures: Vec::new(),
            cables: Vec::new(),
            inverters: Vec::new(),
            settled: Vec::new(),
            taken_as: Vec::new(),
        }
    }
}
