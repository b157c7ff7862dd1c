//! What `sheet --format json` prints.

use super::LayerReport;
use super::attest::ReadReport;
use rules::sheet::{Row, Task};
use rules::standing::Standing;
use schemars::JsonSchema;
use serde::Serialize;
use settings_model::claim::Basis;

/// What `sheet --format json` prints.
#[derive(Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub struct SheetReport {
    /// The site.
    pub site: String,
    /// The day the question was asked for.
    pub as_of: String,
    /// The region to select, as devices and files name it.
    pub region: String,
    /// The layers it stands under, lowest first.
    pub layers: Vec<LayerReport>,
    /// One sheet for each device, and one for the installation as a whole where anything is asked of it.
    pub devices: Vec<DeviceSheetReport>,
    /// What to mind.
    pub cautions: Vec<String>,
}

/// The sheet of one device.
#[derive(Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub struct DeviceSheetReport {
    /// Its name in the site's file.
    pub device: String,
    /// Its required settings.
    pub rows: Vec<RowReport>,
}

/// One required setting.
#[derive(Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub struct RowReport {
    /// `enter`, `verify`, `type-test`, `work-out` or `not-checked`.
    pub task: &'static str,
    /// The setting.
    pub setting: String,
    /// Its name for people.
    pub title: String,
    /// The value to set, as a site file writes it: text, or a list of points. Absent where a range is left as the region sets it.
    pub set: Option<serde_json::Value>,
    /// The value to set, in words.
    pub required: String,
    /// Volts in per unit of the nominal voltage.
    pub per_unit: Option<String>,
    /// What complies.
    pub complies_within: String,
    /// How it has to be known, where that is asked: `read or photo`.
    pub known_by: Option<String>,
    /// Who may change it.
    pub moved_by: &'static str,
    /// Within what.
    pub adjustable: Option<String>,
    /// The layer and clause that asks for it.
    pub origin: String,
    /// How sure the number is by its profile alone.
    pub basis: Option<&'static str>,
    /// How it is known with what offices read: a basis, `attested`, `disputed` or `site-approval`.
    pub standing: Option<&'static str>,
    /// What an office read in its licensed copy; absent where none did.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub read: Option<ReadReport>,
    /// What else to know of its source.
    pub note: Option<String>,
    /// The reason given.
    pub because: Option<String>,
}

/// The word for a task.
pub fn task_word(task: Task) -> &'static str {
    match task {
        Task::Enter => "enter",
        Task::Verify => "verify",
        Task::TypeTest => "type-test",
        Task::WorkOut => "work-out",
        Task::NotChecked => "not-checked",
    }
}

impl From<&Row> for RowReport {
    fn from(row: &Row) -> Self {
        Self {
            task: task_word(row.task),
            setting: row.setting.to_string(),
            title: row.setting.title(),
            set: row.set.as_ref().map(|value| as_written(value, row)),
            required: row.required.clone(),
            per_unit: row.per_unit.clone(),
            complies_within: row.complies_within.clone(),
            known_by: row.known_by.clone(),
            moved_by: row.moved_by.0.word(),
            adjustable: row.moved_by.1.clone(),
            origin: row.origin.clone(),
            basis: row.basis.map(Basis::word),
            standing: row.standing.map(Standing::word),
            read: row.read.as_deref().map(ReadReport::from),
            note: row.citation.as_ref().and_then(|c| c.note.clone()),
            because: row.because.clone(),
        }
    }
}

/// A value as a site file writes it.
fn as_written(value: &settings_model::value::Value, row: &Row) -> serde_json::Value {
    use settings_model::catalogue::Shape;
    use settings_model::value::Value;
    match (value, row.setting.parameter().shape) {
        (Value::Curve(points), Shape::Curve { x, y }) => points.iter().map(|p| serde_json::json!([p.x.show(x), p.y.show(y)])).collect(),
        _ => row.required.clone().into(),
    }
}
