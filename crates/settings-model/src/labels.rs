//! Label maps: what the display of a family of devices calls each setting, what its numbers count,
//! and which way round its signs go.
//!
//! A map is used in two directions. [`displayed()`] turns a site's values in the words of the display
//! into settings, each at its own place; [`LabelMap::on_display`] says where a setting is found and
//! what to enter there. Nothing is guessed: a word that is not in the map, or a number that depends on a
//! fact nobody stated, is a finding.
//!
//! - `unit`: what numbers count, and how they convert
//! - `building`: from a file to a map, every fault at its place
//! - `reading`: from what is shown to settings
//! - `showing`: from settings to what is to be entered
//! - `displayed`, `holding`: whole blocks of a site's file

mod building;
mod displayed;
mod holding;
mod reading;
mod showing;
mod unit;

pub use building::{faults, labelled};
pub use displayed::{displayed, faults_beside};
pub use reading::Unfound;
pub use showing::{Enter, OnDisplay};
pub use unit::{Lacks, Site, Unit};

use crate::catalogue::SettingId;
use crate::claim::{Part, Var};
use crate::exact::Exact;
use crate::files::{ConfirmedBy, DirectionWord, DirectionWords, FirmwareRange};
use crate::source::{Place, SourceId};

/// What the display of a family of devices says, for a range of its firmware.
#[derive(Clone, Debug)]
pub struct LabelMap {
    /// Its text.
    pub source: SourceId,
    /// The family's key.
    pub family: String,
    /// Its name in print.
    pub title: String,
    /// Whether family and display are made up.
    pub invented: bool,
    /// The models it is for.
    pub models: Vec<String>,
    /// The firmware it is for, and where the file says so.
    pub firmware: (FirmwareRange, Place),
    /// Standards and editions that the family is certified to, and where the file says so.
    pub certified_to: Vec<(String, Place)>,
    /// Who compared it with the device.
    pub confirmed: ConfirmedBy,
    /// What a clearing time on this display holds besides the trip delay, in seconds.
    pub own_time: Option<Exact>,
    /// The display's labels.
    pub labels: Vec<Label>,
}

/// One label of a display.
#[derive(Clone, Debug)]
pub struct Label {
    /// The display's words; empty for a part that it does not show.
    pub words: String,
    /// In which menu they are found.
    pub menu: Option<String>,
    /// What it takes.
    pub takes: Takes,
    /// What else to know.
    pub note: Option<String>,
    /// Where the map says so.
    pub place: Place,
}

/// What a label takes.
#[derive(Clone, Debug)]
pub enum Takes {
    /// A number.
    Number {
        /// Of which part of a setting.
        of: Var,
        /// How it is shown.
        number: Number,
        /// Of a part that the display does not show: what it is fixed at, as it would be shown.
        fixed: Option<String>,
    },
    /// One of a few words, each for one of the catalogue's.
    Words(SettingId, Vec<(String, u8)>),
    /// One of a few words, each for a region of a standard.
    Regions(Vec<(String, String)>),
    /// One of a few words, each for several settings at once.
    Modes(Vec<(String, Vec<(SettingId, u8)>)>),
}

/// How a number is shown.
#[derive(Clone, Debug)]
pub struct Number {
    /// What it counts.
    pub unit: &'static Unit,
    /// From one value that it can show to the next.
    pub resolution: Option<Exact>,
    /// Whether the device holds more digits than it shows.
    pub rounded: bool,
    /// Which way it goes, where it has a direction.
    pub sign: Sign,
}

/// Which way a number of reactive power goes.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Sign {
    /// As in the catalogue, or it has none.
    None,
    /// Without a minus sign this way.
    Positive(DirectionWord),
    /// As the words behind it say.
    Words(DirectionWords),
}

impl LabelMap {
    /// `Fernhill K (invented), firmware 2.0 to under 3.0`.
    #[must_use]
    pub fn name(&self) -> String {
        format!("{}, firmware {}", self.title, self.firmware.0)
    }

    /// `confirmed on a device by the technical office, 2026-05-11`.
    #[must_use]
    pub fn confirmed(&self) -> String {
        format!("confirmed {} by {}, {}", self.confirmed.how.word(), self.confirmed.by, self.confirmed.on.0)
    }

    /// Whether a model is one of those that it is for.
    #[must_use]
    pub fn is_for(&self, model: &str) -> bool {
        self.models.iter().any(|own| own.trim().eq_ignore_ascii_case(model.trim()))
    }

    /// How many points a curve has on this display.
    #[must_use]
    pub fn points(&self, setting: SettingId) -> usize {
        let parts = self.labels.iter().filter_map(Label::part).filter(|var| var.setting == setting);
        parts.filter_map(|var| if let Part::X(n) | Part::Y(n) = var.part { Some(usize::from(n) + 1) } else { None }).max().unwrap_or(0)
    }
}

impl Label {
    /// The part of a setting that it is the number of.
    #[must_use]
    pub fn part(&self) -> Option<Var> {
        match &self.takes {
            Takes::Number { of, .. } => Some(*of),
            _ => None,
        }
    }

    /// Whether the display shows it.
    #[must_use]
    pub fn is_shown(&self) -> bool {
        !self.words.is_empty()
    }

    /// Every setting that it says something of.
    #[must_use]
    pub fn settings(&self) -> Vec<SettingId> {
        match &self.takes {
            Takes::Number { of, number, .. } => {
                let direction = of.setting.sibling("direction").filter(|_| number.sign != Sign::None);
                std::iter::once(of.setting).chain(direction).collect()
            }
            Takes::Words(setting, _) => vec![*setting],
            Takes::Regions(_) => Vec::new(),
            Takes::Modes(modes) => {
                let mut settings: Vec<SettingId> = modes.iter().flat_map(|(_, means)| means.iter().map(|(setting, _)| *setting)).collect();
                settings.sort_unstable();
                settings.dedup();
                settings
            }
        }
    }

    /// What its number counts, as label maps name it.
    #[must_use]
    pub fn unit(&self) -> Option<&'static str> {
        match &self.takes {
            Takes::Number { number, .. } => Some(number.unit.word),
            _ => None,
        }
    }

    /// Which way a number of reactive power goes: `absorbing without a minus sign`.
    #[must_use]
    pub fn way(&self) -> Option<String> {
        let Takes::Number { number, .. } = &self.takes else { return None };
        match &number.sign {
            Sign::None => None,
            Sign::Positive(DirectionWord::Absorbing) => Some("absorbing without a minus sign".to_owned()),
            Sign::Positive(DirectionWord::Supplying) => Some("supplying without a minus sign".to_owned()),
            Sign::Words(words) => Some(format!("\"{}\" absorbing and \"{}\" supplying", words.absorbing, words.supplying)),
        }
    }

    /// What its numbers count, with the part of a curve and the way of a sign: `point 2, V line-line`.
    #[must_use]
    pub fn counts(&self) -> Option<String> {
        let Takes::Number { of, number, .. } = &self.takes else { return None };
        let way = self.way().map(|way| format!(", {way}")).unwrap_or_default();
        let steps = number.resolution.map(|step| format!(", in steps of {}", number.unit.show(step))).unwrap_or_default();
        let part = building::part_words(of.part);
        let unit = [part.as_str(), number.unit.word].into_iter().filter(|words| !words.is_empty()).collect::<Vec<_>>().join(", ");
        Some(format!("{}{steps}{way}", if unit.is_empty() { "a plain number" } else { &unit }))
    }

    /// `Protection > Voltage > High line 1`.
    #[must_use]
    pub fn path(&self) -> String {
        self.menu.iter().map(String::as_str).chain([self.words.as_str()]).collect::<Vec<_>>().join(" > ")
    }
}
