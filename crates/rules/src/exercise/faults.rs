//! The catalogue of faults: what goes wrong with settings on real jobs.
//!
//! Each is made from what the site is asked, so that it exists under every standard that asks for the setting.
//! Whether it does harm at a given site is not believed: the site is judged, and a fault of which nothing comes
//! is not drawn.

mod approvals;
mod export;
mod responses;
mod stages;
mod whole_device;

pub use approvals::approve;

use super::chance::Chance;
use super::scene::Scene;

/// One kind of fault.
#[derive(Debug)]
pub struct UnmetKind {
    /// Its name, in keys and in diagnoses.
    pub name: &'static str,
    /// What happened, in one sentence.
    pub happened: &'static str,
    /// How it is told from others: what the student sees.
    pub looks_like: &'static str,
    /// What a class learns from it.
    pub teaches: &'static str,
    /// What is done about it.
    pub mended_by: &'static str,
    /// The fewest settings that have to be wrong, so that it can be told from a single slip.
    pub fewest: usize,
    /// Puts it into a site; `None` where the site has nothing that it could happen to.
    pub(super) put: fn(&mut Scene<'_>, &mut Chance) -> Option<()>,
}

/// Every kind of fault, in the order in which they are listed.
pub const FAULTS: [&UnmetKind; 25] = [
    &whole_device::REGION_NEVER_SELECTED,
    &whole_device::OTHER_REGION_SELECTED,
    &whole_device::LABEL_OVER_OTHER_VALUES,
    &whole_device::FIRMWARE_DEFAULTS,
    &whole_device::WARRANTY_SWAP,
    &whole_device::SUPERSEDED_ISSUE,
    &whole_device::READ_BETWEEN_LINES,
    &stages::NUISANCE_TRIPS_LOOSENED,
    &stages::DELAY_SHORTENED,
    &stages::STAGE_OFF,
    &stages::STAGE_NOBODY_ASKED_FOR,
    &stages::DIGITS_SWAPPED,
    &stages::RECONNECTS_TOO_SOON,
    &responses::VOLT_VAR_SIGNS_REVERSED,
    &responses::TWO_REACTIVE_MODES,
    &responses::SUPERSEDED_CURVE,
    &responses::RESPONSE_OFF,
    &approvals::APPROVAL_EXPIRED,
    &export::SENSOR_REVERSED,
    &export::SENSOR_ON_OTHER_PHASE,
    &export::SENSOR_RATIO_WRONG,
    &export::LIMIT_PER_PHASE,
    &export::LIMIT_HELD_TWICE,
    &export::LIMIT_ABOVE_APPROVAL,
    &export::LIMIT_OFF,
];

/// The fault of this name.
#[must_use]
pub fn named(name: &str) -> Option<&'static UnmetKind> {
    FAULTS.into_iter().find(|kind| kind.name == name)
}
