//! What an office calls the columns of its sheets.

use super::Kind;
use crate::filled::Columns;
use schemars::JsonSchema;
use serde::Deserialize;

/// An office's own names for the columns of a sheet filled by hand.
#[derive(Clone, Debug, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct ColumnMapFile {
    /// Always `column-map`.
    pub kind: Kind,
    /// The names; a column that is not named keeps the one that `asleft sheet --format csv` writes.
    pub columns: ColumnNames,
}

/// Names of columns.
#[derive(Clone, Debug, Default, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct ColumnNames {
    /// The device, by its name in the site's file.
    pub device: Option<String>,
    /// The setting, such as `overvoltage-1/threshold`.
    pub setting: Option<String>,
    /// What was found before the work.
    pub as_found: Option<String>,
    /// What was left after it.
    pub as_left: Option<String>,
    /// The number of the photo that shows it.
    pub photo: Option<String>,
    /// Whose sheet it is: the site's own name.
    pub site: Option<String>,
    /// In which unit a number without one is meant.
    pub unit: Option<String>,
    /// Who read the value, by initials.
    pub initials: Option<String>,
}

impl ColumnMapFile {
    /// The names of all columns.
    #[must_use]
    pub fn columns(self) -> Columns {
        let usual = Columns::default();
        let ColumnNames { device, setting, as_found, as_left, photo, site, unit, initials } = self.columns;
        Columns {
            device: device.unwrap_or(usual.device),
            setting: setting.unwrap_or(usual.setting),
            as_found: as_found.unwrap_or(usual.as_found),
            as_left: as_left.unwrap_or(usual.as_left),
            photo: photo.unwrap_or(usual.photo),
            site: site.unwrap_or(usual.site),
            unit: unit.unwrap_or(usual.unit),
            initials: initials.unwrap_or(usual.initials),
        }
    }
}
