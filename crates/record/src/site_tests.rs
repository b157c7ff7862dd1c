//! The tests that are done on site: what a requirement leads to, and what measurements come to.
//!
//! A figure that is expected comes from the resolved requirement; how far a measurement may lie off
//! belongs to the test alone. What is measured decides only where all that the reading may stand for lies
//! on one side.

mod export;
mod inverter;
mod judging;
mod relay;
mod tolerance;

pub use judging::{figure_title, judge, overall, unplanned};
pub use tolerance::Allowance;

use crate::parts::{Certainty, Figure, TestKind};
use rules::provenance::Standing;
use rules::range::{Interval, Range, range};
use rules::sheet::{DeviceSheet, Row};
use settings_model::catalogue::{ENABLED, Equipment, SettingId};
use settings_model::claim::Claim;
use settings_model::exact::Exact;
use settings_model::facts::Facts;
use settings_model::files::{Holding, SiteFile};
use settings_model::quantity::Dimension;
use settings_model::value::Value;

/// The tests of a site.
#[derive(Clone, Debug, Default)]
pub struct Plan {
    /// The tests, device by device, in the order in which they are done.
    pub tests: Vec<Planned>,
    /// Tests that one would look for here and that no figure is known for, and why.
    pub without: Vec<String>,
}

/// A test that is to be done, or that the type test stands for.
#[derive(Clone, Debug)]
pub struct Planned {
    /// Its name, `inverter-1/supply-opened`.
    pub name: String,
    /// What is tested.
    pub kind: TestKind,
    /// The device.
    pub device: String,
    /// In a few words.
    pub title: String,
    /// What to do, step by step.
    pub steps: Vec<String>,
    /// What has to come of it.
    pub expects: Vec<Expectation>,
    /// Whether a lower reading picks the stage up, as with undervoltage.
    pub is_under: bool,
    /// Whether the device is stated to be certified, so that its type test stands for something.
    pub is_certified: bool,
}

/// What has to come of a test, in exact figures.
#[derive(Clone, Debug)]
pub struct Expectation {
    /// Of which figure.
    pub figure: Figure,
    /// The setting that it is from.
    pub setting: SettingId,
    /// In what it is measured.
    pub dimension: Dimension,
    /// The lowest that passes, and whether that itself does not.
    pub low: Option<(Exact, bool)>,
    /// The highest that passes, and whether that itself does not.
    pub high: Option<(Exact, bool)>,
    /// How far beyond a device may lie all the same.
    pub allowance: Option<Allowance>,
    /// By what it can be shown.
    pub certainty: Certainty,
    /// Who asks for it.
    pub from: String,
    /// How sure that is.
    pub basis: Option<Standing>,
}

impl Expectation {
    /// In words: `at most 2 s`.
    #[must_use]
    pub fn says(&self) -> String {
        let show = |n: Exact| self.dimension.show(n);
        match (self.low, self.high) {
            (Some((low, false)), Some((high, false))) if low == high => show(low),
            (Some((low, low_open)), Some((high, high_open))) => {
                format!("{}{} to {}{}", if low_open { "over " } else { "" }, show(low), if high_open { "under " } else { "" }, show(high))
            }
            (Some((low, open)), None) => format!("{} {}", if open { "over" } else { "at least" }, show(low)),
            (None, Some((high, open))) => format!("{} {}", if open { "under" } else { "at most" }, show(high)),
            (None, None) => "any".to_owned(),
        }
    }
}

/// The tests that a site's requirements lead to.
#[must_use]
pub fn plan(site: &SiteFile<'_>, sheets: &[DeviceSheet]) -> Plan {
    let mut plan = Plan::default();
    for sheet in sheets {
        let device = site.devices.get(&sheet.name);
        let asked = DeviceUnderTest {
            sheet,
            claims: sheet.counted.requirement.claims().collect(),
            left: device.and_then(|device| device.as_left.as_ref()),
            is_certified: device.is_some_and(|device| device.certified.is_some()),
        };
        match sheet.kind {
            Equipment::Inverter => {
                inverter::add(&asked, &mut plan);
                export::add(&asked, &mut plan);
                inverter::add_stages(&asked, &mut plan);
            }
            Equipment::GridProtectionRelay => relay::add(&asked, &mut plan),
            Equipment::Installation => {}
        }
    }
    plan
}

/// What is asked of one device, as tests look at it.
struct DeviceUnderTest<'a> {
    sheet: &'a DeviceSheet,
    claims: Vec<Claim>,
    left: Option<&'a Holding<'a>>,
    is_certified: bool,
}

impl DeviceUnderTest<'_> {
    fn facts(&self) -> &Facts {
        &self.sheet.facts
    }

    /// All that the requirement leaves of a quantity; `None` where nothing is asked of it itself.
    fn interval(&self, setting: SettingId) -> Option<Interval> {
        self.row(setting)?;
        match range(&self.claims, self.facts(), setting.into()) {
            Ok(Range::Numbers(interval)) if interval.low.is_some() || interval.high.is_some() => Some(interval),
            _ => None,
        }
    }

    /// Whether a function has to be enabled, by its state; one without a state of its own is not.
    fn requires(&self, state: SettingId) -> bool {
        match range(&self.claims, self.facts(), state.into()) {
            Ok(Range::Words(allowed)) => allowed.words.only() == Some(ENABLED),
            _ => false,
        }
    }

    fn row(&self, setting: SettingId) -> Option<&Row> {
        self.sheet.rows.iter().find(|row| row.setting == setting)
    }

    /// What a setting was left with, where that was stated.
    fn held(&self, setting: SettingId) -> Option<&Value> {
        self.left.and_then(|left| left.settings.get(setting)).map(|known| &known.value)
    }

    /// What is expected of a figure, by what is asked of a setting; `None` where nothing is.
    fn expectation(&self, figure: Figure, setting: SettingId, dimension: Dimension) -> Option<Expectation> {
        let Interval { low, high, .. } = self.interval(setting)?;
        let row = self.row(setting)?;
        Some(Expectation {
            figure,
            setting,
            dimension,
            low: low.map(|edge| (edge.at, edge.open)),
            high: high.map(|edge| (edge.at, edge.open)),
            allowance: None,
            certainty: Certainty::Measured,
            from: row.origin.clone(),
            basis: row.standing,
        })
    }

    fn planned(&self, kind: TestKind, what: &str, title: impl Into<String>, steps: &[&str], expects: Vec<Expectation>) -> Planned {
        Planned {
            name: format!("{}/{what}", self.sheet.name),
            kind,
            device: self.sheet.name.clone(),
            title: title.into(),
            steps: steps.iter().map(|&step| step.to_owned()).collect(),
            expects,
            is_under: false,
            is_certified: self.is_certified,
        }
    }
}
