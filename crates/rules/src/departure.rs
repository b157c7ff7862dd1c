//! A departure from what is required that is approved for a site.

use jiff::civil::Date;
use settings_model::catalogue::{Equipment, SettingId};
use settings_model::entry::{Verbs, Who};

/// A departure that is approved, and holds, for one device or for all of a site.
#[derive(Clone, Debug)]
pub struct Departure {
    /// The one device meant; `None` for all.
    pub device: Option<String>,
    /// The setting.
    pub setting: SettingId,
    /// What is asked instead.
    pub verbs: Verbs,
    /// The approval's reference.
    pub reference: String,
    /// The role that approved it.
    pub role: String,
    /// For whom that role speaks; `None` where the file does not say, and the role does not either.
    pub by: Option<Who>,
    /// What it is excepted by from the range, or from the version that it was granted against.
    pub exception: Option<Exception>,
    /// Whether the exception is needed.
    pub is_excepted: bool,
    /// The last day on which it holds.
    pub until: Option<Date>,
    /// Its position in the site's file.
    pub position: usize,
}

/// Why an approval may reach further than any other.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Exception {
    /// The network operator's reference for it.
    pub reference: String,
    /// The reason given.
    pub reason: String,
}

impl Departure {
    /// Whether it is meant for a device of this kind.
    #[must_use]
    pub fn applies_to(&self, device: &str, kind: Equipment) -> bool {
        self.setting.function().held_by.contains(&kind) && self.device.as_deref().is_none_or(|own| own == device)
    }
}
