//! One cause behind many faults; `assess/cause` looks for it.

use settings_model::catalogue::SettingId;

/// A cause, and what it explains.
#[derive(Clone, Debug)]
pub struct Cause {
    /// A stable name for it.
    pub name: &'static str,
    /// One phrase that stands alone, without the device's name.
    pub says: String,
    /// The settings that are at fault because of it.
    pub explains: Vec<SettingId>,
    /// Whether a wrong region, recorded as selected, is what it says.
    pub is_selected_region: bool,
    /// What to do.
    pub hint: String,
}
