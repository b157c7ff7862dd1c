//! The trip stages, and what each of them is held against: where a device has to stay on.

use settings_model::catalogue::SettingId;
use settings_model::requirement::Requirement;

/// A trip stage, and the withstand that it is held against.
pub(crate) struct Stage {
    pub(crate) threshold: SettingId,
    /// It acts below its threshold, not above it.
    pub(crate) acts_below: bool,
    /// The edge of continuous operation on its side.
    pub(crate) edge: SettingId,
    /// The shortest time to stay on beyond that edge.
    pub(crate) shortest: SettingId,
}

/// Below nominal and above it: the edge of continuous operation, and the shortest time beyond it.
const DIPS: [&str; 3] = ["voltage-withstand", "lower", "dips"];
const SWELLS: [&str; 3] = ["voltage-withstand", "upper", "swells"];
const LOW: [&str; 3] = ["frequency-withstand", "lower", "low"];
const HIGH: [&str; 3] = ["frequency-withstand", "upper", "high"];

const fn stage(function: &str, [withstand, edge, shortest]: [&str; 3], acts_below: bool) -> Stage {
    Stage {
        threshold: SettingId::of(function, "threshold"),
        acts_below,
        edge: SettingId::of(withstand, edge),
        shortest: SettingId::of(withstand, shortest),
    }
}

/// Every stage of moments.
pub(crate) static STAGES: [Stage; 10] = [
    stage("undervoltage-1", DIPS, true),
    stage("undervoltage-2", DIPS, true),
    stage("undervoltage-3", DIPS, true),
    stage("overvoltage-1", SWELLS, false),
    stage("overvoltage-2", SWELLS, false),
    stage("overvoltage-3", SWELLS, false),
    stage("underfrequency-1", LOW, true),
    stage("underfrequency-2", LOW, true),
    stage("overfrequency-1", HIGH, false),
    stage("overfrequency-2", HIGH, false),
];

/// The trip by rate of change, and the rate that the device has to stay on through. Over what time each is measured is
/// another thing: a stage below that rate may act inside it whatever its window.
pub(crate) const RATE_STAGE: SettingId = SettingId::of("rate-of-change-of-frequency", "threshold");
pub(crate) const RATE_TO_STAY_ON: SettingId = SettingId::of("frequency-withstand", "rate");

/// Whether a requirement says where a device has to stay on, so that a trip may lie inside.
#[must_use]
pub fn is_asked(requirement: &Requirement) -> bool {
    let of_stages = STAGES.iter().flat_map(|stage| [stage.edge, stage.shortest]);
    of_stages.chain([RATE_TO_STAY_ON]).any(|setting| requirement.get(setting).is_some())
}
