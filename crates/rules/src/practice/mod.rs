//! Rules of practice that no linear claim can say: they look at a device, or at a whole site.
//!
//! Each has a page (sentence, source, an example that breaks it and one that just does not) beside
//! its code; the examples run as tests.

mod export_limits;
pub(crate) mod reactive_modes;
mod reconnection;
mod ride_through;
mod stages;
pub(crate) mod withstand;

pub use crate::outcome::Broken;
use crate::outcome::DeviceResult;
use settings_model::catalogue::SettingId;
use settings_model::facts::Facts;
use settings_model::ties::Example;

pub(crate) use ride_through::has_to_act;

/// What no source says but every practitioner does.
const PRACTICE: &str = "common practice, no source";

/// A rule.
pub struct Rule {
    /// Its name in findings.
    pub name: &'static str,
    /// What it says, in one sentence.
    pub sentence: &'static str,
    /// Where it comes from.
    pub source: &'static str,
    /// An example that breaks it, and one that just keeps it.
    pub example: Example,
    /// Looks for what breaks it.
    check: fn(&Site<'_>) -> Vec<Broken>,
    /// Whether it looks at a setting of a device, by its position, so that a value there is judged.
    looks_at: fn(&Site<'_>, usize, SettingId) -> bool,
}

/// Every rule.
pub const RULES: [&Rule; 9] = [
    &reactive_modes::TWO_REACTIVE_MODES,
    &stages::STAGE_NOBODY_ASKED_FOR,
    &export_limits::LIMIT_HELD_TWICE,
    &export_limits::LIMIT_HELD_BY_NOBODY,
    &export_limits::LIMIT_COUNTED_PER_PHASE,
    &export_limits::LIMIT_CANNOT_SEE,
    &reconnection::RECONNECTS_ABOVE_AVERAGE_LIMIT,
    &withstand::TRIP_INSIDE_WITHSTAND,
    &ride_through::RIDE_THROUGH_OFF,
];

/// What the rules look at.
pub struct Site<'a> {
    /// The devices, and the installation.
    pub devices: &'a [DeviceResult<'a>],
    /// The facts of the site.
    pub facts: &'a Facts,
}

/// Everything at a site that breaks a rule of practice.
#[must_use]
pub fn broken(site: &Site<'_>) -> Vec<Broken> {
    RULES.iter().flat_map(|rule| (rule.check)(site)).collect()
}

/// Whether some rule looks at what a device, by its position, states of a setting.
#[must_use]
pub(crate) fn looks_at(site: &Site<'_>, device: usize, setting: SettingId) -> bool {
    RULES.iter().any(|rule| (rule.looks_at)(site, device, setting))
}

/// The rule of this name.
#[must_use]
pub fn named(name: &str) -> Option<&'static Rule> {
    RULES.into_iter().find(|rule| rule.name == name)
}
