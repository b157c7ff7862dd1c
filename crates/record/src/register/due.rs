//! What is due at a site, as its record says.

use crate::parts::{Record, Test, TestResult};
use serde::{Deserialize, Serialize};

/// What kind of thing is due.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum DueKind {
    /// Something has to be told to a register or an operator.
    Registration,
    /// The approval to connect lapses unless the work is done by then.
    ConnectionApproval,
    /// A departure that was approved for the site ends: after that day the site is to be as the rules ask.
    SiteSpecificApproval,
    /// A test has to be done, or done again.
    Test,
    /// The calibration of an instrument ends.
    Calibration,
    /// The certificate of a device ends.
    Certificate,
}

impl DueKind {
    /// In print.
    #[must_use]
    pub fn phrase(self) -> &'static str {
        match self {
            Self::Registration => "to be registered",
            Self::ConnectionApproval => "connection approval lapses",
            Self::SiteSpecificApproval => "approval ends",
            Self::Test => "test",
            Self::Calibration => "calibration ends",
            Self::Certificate => "certificate ends",
        }
    }
}

/// Something that is due.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct Due {
    /// The last day for it; absent where the record names none.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub by: Option<String>,
    /// What kind of thing.
    pub kind: DueKind,
    /// What, in words.
    pub what: String,
}

impl Due {
    /// All that a record says is due, soonest first, what has no day last.
    #[must_use]
    pub fn of(record: &Record) -> Vec<Self> {
        let mut due: Vec<Self> = Vec::new();
        let mut add = |kind, by: Option<&String>, what: String| due.push(Self { by: by.cloned(), kind, what });
        for one in record.registrations.iter().filter(|one| one.done.is_none()) {
            add(DueKind::Registration, one.by.as_ref(), format!("{}, to {}", one.what, one.to));
        }
        let dates = &record.site.dates;
        if let (Some(until), None, None) = (&dates.approved_until, &dates.installed, &record.work) {
            let of = record.site.export.as_ref().and_then(|export| export.reference.clone());
            add(DueKind::ConnectionApproval, Some(until), of.unwrap_or_else(|| "nothing is installed yet".to_owned()));
        }
        for one in record.approvals.iter().filter(|one| one.until.is_some()) {
            add(DueKind::SiteSpecificApproval, one.until.as_ref(), format!("{} ({}), by the {}", one.reference, one.setting, one.role));
        }
        for test in record.tests.iter().filter(|test| is_to_be_done(test)) {
            let why = test.not_done.as_ref().map(|why| format!(": {why}")).unwrap_or_default();
            add(DueKind::Test, test.retry_by.as_ref(), format!("{}{why}", test.name));
        }
        for one in record.instruments.iter().filter(|one| one.calibration_ends.is_some()) {
            let serial = one.serial.as_ref().map(|serial| format!(" {serial}")).unwrap_or_default();
            add(DueKind::Calibration, one.calibration_ends.as_ref(), format!("{}{serial}", one.what));
        }
        for device in &record.devices {
            if let Some(certified) = device.certified.as_ref().filter(|certified| certified.expires.is_some()) {
                let number = certified.certificate.as_ref().map(|number| format!(" {number}")).unwrap_or_default();
                add(DueKind::Certificate, certified.expires.as_ref(), format!("{}: certificate{number}", device.name));
            }
        }
        due.sort_by_key(|one| (one.by.is_none(), one.clone()));
        due
    }
}

/// Whether a test failed, or was said to be left for another day.
fn is_to_be_done(test: &Test) -> bool {
    match test.result {
        TestResult::Failed => true,
        TestResult::NotDone | TestResult::NotProven => test.retry_by.is_some() || test.not_done.is_some(),
        TestResult::Passed | TestResult::ByTypeTest => false,
    }
}
