//! A rule of practice that is broken; `practice` looks for it.

use crate::provenance::Standing;
use settings_model::catalogue::SettingId;
use settings_model::finding::Outcome;

/// A rule that is broken.
#[derive(Clone, Debug)]
pub struct Broken {
    /// Its name.
    pub rule: &'static str,
    /// The position of the device among those looked at.
    pub device: usize,
    /// The setting to point at; with others, that explain it.
    pub setting: SettingId,
    /// The others.
    pub with: Vec<SettingId>,
    /// What it comes to.
    pub outcome: Outcome,
    /// How the figure is known by which it is broken; `None` of a rule that looks at the device's own values, or at what
    /// was approved for the site.
    pub basis: Option<Standing>,
    /// One phrase that stands alone, without the device's name.
    pub says: String,
    /// What to do.
    pub hint: String,
}
