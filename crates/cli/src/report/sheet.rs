//! What `sheet --format json` prints.

use super::LayerReport;
use super::attest::ReadReport;
use rules::provenance::Standing;
use rules::sheet::{Labels, OnDisplay, Row, Task};
use schemars::JsonSchema;
use serde::Serialize;
use settings_model::claim::Citation;

/// What `sheet --format json` prints.
#[derive(Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub struct SheetReport {
    /// That the site was made for a lesson; absent for any other.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub training: Option<&'static str>,
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
    /// The label map of its display, where one is for it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub labels: Option<LabelsReport>,
    /// Why no region is to be selected on it: it is certified to another edition; absent where one is.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub no_region: Option<String>,
    /// Its required settings.
    pub rows: Vec<RowReport>,
}

/// The label map of a device.
#[derive(Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub struct LabelsReport {
    /// Its name and the firmware it is for; absent where none is used.
    pub title: Option<String>,
    /// The family's key.
    pub family: Option<String>,
    /// Who confirmed it, when and how.
    pub confirmed: Option<String>,
    /// Whether family and display are made up.
    pub invented: Option<bool>,
    /// Where the region is selected, and by which word.
    pub region: Option<OnDisplayReport>,
    /// Why a map that is there is not used.
    pub not_used: Option<String>,
}

/// A setting, or a part of it, on a display.
#[derive(Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub struct OnDisplayReport {
    /// Of a curve, which part: `point 2`.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub part: Option<String>,
    /// The display's words.
    pub words: String,
    /// In which menu they are found.
    pub menu: Option<String>,
    /// What to enter, as the display shows it; absent where it is only read back, and where none can be worked out.
    pub enter: Option<String>,
    /// What it has to show; absent where no one value is asked for, or none can be worked out.
    pub shows: Option<String>,
    /// What else to know.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub note: Option<String>,
}

impl OnDisplayReport {
    fn of(on: &OnDisplay, is_entered: bool) -> Self {
        let OnDisplay { part, words, menu, shows, note } = on.clone();
        Self { part, words, menu, enter: shows.clone().filter(|_| is_entered), shows, note }
    }
}

impl LabelsReport {
    /// What is to be said of a device's label map; nothing where none is for it.
    pub fn of(labels: &Labels) -> Option<Self> {
        let nothing = Self { title: None, family: None, confirmed: None, invented: None, region: None, not_used: None };
        match labels {
            Labels::None => None,
            Labels::NotUsed(says, hint) => Some(Self { not_used: Some(format!("{says}; {hint}")), ..nothing }),
            Labels::Used { map, region } => Some(Self {
                title: Some(map.name()),
                family: Some(map.family.clone()),
                confirmed: Some(map.confirmed()),
                invented: Some(map.invented),
                region: region.as_ref().map(|region| OnDisplayReport::of(region, false)),
                not_used: None,
            }),
        }
    }
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
    /// By what it has to be proved, where that is asked: `read-out or photo`.
    pub known_by: Option<String>,
    /// Who may change it.
    pub moved_by: &'static str,
    /// Within what.
    pub adjustable: Option<String>,
    /// The layer and clause that asks for it.
    pub origin: String,
    /// How the figure is known.
    pub basis: Option<Standing>,
    /// What an office read in its licensed copy; absent where none did.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub read: Option<ReadReport>,
    /// What else to know of its source.
    pub note: Option<String>,
    /// The reason given.
    pub because: Option<String>,
    /// What the display calls it, in which menu, and what to enter or to read back there; a curve part by part.
    pub display: Vec<OnDisplayReport>,
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
            basis: row.standing,
            read: row.read.as_deref().map(ReadReport::from),
            note: row.citation.as_ref().map(Citation::remarks).filter(|remarks| !remarks.is_empty()).map(|remarks| remarks.join(". ")),
            because: row.because.clone(),
            display: row.display.iter().map(|on| OnDisplayReport::of(on, row.task == Task::Enter)).collect(),
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
