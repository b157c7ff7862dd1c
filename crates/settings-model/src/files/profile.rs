//! What standards and network operators ask for: the two kinds of file in `profiles/`.

use super::Kind;
use super::percent_of::PercentOfSaid;
use super::pieces::{Day, Frequency, Month, Named, Nominal, Percent, Quantity};
use super::versions::{Version, VersionRange};
use crate::catalogue::Equipment;
use crate::claim::Basis;
use crate::entry::Who;
use crate::located::At;
use crate::notation::Written;
use schemars::JsonSchema;
use serde::Deserialize;

/// A base standard, one edition.
#[derive(Clone, Debug, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct StandardFile {
    /// Always `standard`.
    pub kind: Kind,
    /// Its key, which is the name of its folder.
    pub standard: At<String>,
    /// Its name in print.
    pub title: String,
    /// Edition and amendment.
    pub edition: At<Edition>,
    /// Editions of standards of another name that it took the place of: `erec-g83/2012`. A device left
    /// with the values of one of them is recognised.
    #[serde(default)]
    pub supersedes: Vec<At<String>>,
    /// Editions whose certified devices bring these values with a selected region; without it, just
    /// the edition of this file.
    #[serde(default)]
    pub certified: Vec<Edition>,
    /// Nominal voltage that per unit counts from, unless a site states another.
    pub nominal: Option<Nominal>,
    /// Nominal frequency of the networks that it is for.
    pub nominal_frequency: Option<Quantity<Frequency>>,
    /// Of what percentages are taken.
    pub percent_of: Option<PercentOfSaid>,
    /// How far what a device does may lie off what it is set to, in a test; it widens no setting.
    pub response_tolerance: Option<ResponseToleranceSaid>,
    /// What every reader of its numbers should know.
    #[serde(default)]
    pub notes: Vec<String>,
    /// Where the numbers come from.
    pub sources: Named<String, CitationText>,
    /// What it asks of every inverter, in every region.
    #[serde(default)]
    pub settings: Statements,
    /// What it asks of a grid protection relay, where there is one.
    #[serde(default)]
    #[schemars(schema_with = "crate::schema::relay_statements")]
    pub grid_protection_relay: Statements,
    /// What it asks of the installation as a whole.
    #[serde(default)]
    #[schemars(schema_with = "crate::schema::installation_statements")]
    pub installation: Statements,
    /// Blocks of statements that several regions share, by a name of the standard's own.
    #[serde(default)]
    pub parts: Named<String, PartOfRegions>,
    /// What holds for each region; a standard of installation has none.
    #[serde(default)]
    pub regions: Named<String, Region>,
}

/// How far a response may lie off in a test, and who says so.
#[derive(Clone, Debug, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct ResponseToleranceSaid {
    /// Per cent of the device's rating, either way.
    pub of_rating: Quantity<Percent>,
    /// One of the file's `sources`.
    pub source: At<String>,
}

/// Edition of a standard.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct Edition {
    /// Year of the edition.
    pub year: u16,
    /// Number of the last amendment it includes.
    #[serde(default)]
    pub amendment: u8,
}

impl Edition {
    /// How files name it: `2020`, `2020-amd2`.
    #[must_use]
    pub fn key(self) -> String {
        if self.amendment == 0 { self.year.to_string() } else { format!("{}-amd{}", self.year, self.amendment) }
    }
}

/// A block of statements that several regions share.
#[derive(Clone, Debug, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct PartOfRegions {
    /// What it asks of inverters.
    #[serde(default)]
    pub settings: Statements,
    /// What it asks of a grid protection relay, where there is one.
    #[serde(default)]
    #[schemars(schema_with = "crate::schema::relay_statements")]
    pub grid_protection_relay: Statements,
    /// What it asks of the installation as a whole.
    #[serde(default)]
    #[schemars(schema_with = "crate::schema::installation_statements")]
    pub installation: Statements,
}

/// A region of a standard.
#[derive(Clone, Debug, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct Region {
    /// Its name in print, as a person selects it.
    pub title: String,
    /// What every reader of its numbers should know, besides what is said of the standard.
    #[serde(default)]
    pub notes: Vec<String>,
    /// The parts that it is made of, in the order in which they speak; what it says itself comes last.
    #[serde(default)]
    pub made_of: Vec<String>,
    /// What it asks of inverters.
    #[serde(default)]
    pub settings: Statements,
    /// What it asks of a grid protection relay, where there is one.
    #[serde(default)]
    #[schemars(schema_with = "crate::schema::relay_statements")]
    pub grid_protection_relay: Statements,
    /// What it asks of the installation as a whole.
    #[serde(default)]
    #[schemars(schema_with = "crate::schema::installation_statements")]
    pub installation: Statements,
}

/// Where a number was found.
#[derive(Clone, Debug, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct CitationText {
    /// The document.
    #[schemars(length(min = 1), extend("x-one-line" = true))]
    pub document: String,
    /// Clause or table, where known.
    pub clause: Option<String>,
    /// How sure it is.
    pub basis: Basis,
    /// Who published it, and where: told by `explain` and `list figures` alone. What is handed to an owner or
    /// a crew names the document and the kind of source.
    #[serde(default)]
    pub found_in: Vec<String>,
    /// The month in which its figures were last held against these: `2026-11`.
    pub confirmed: Option<Month>,
    /// What another source says, where sources disagree, and which of the values was taken: told wherever the figure is.
    pub conflict: Option<String>,
    /// What else a reader of the figure should know: the kind of source, drafts, and the like.
    pub note: Option<String>,
}

/// A network operator's own requirements, one version.
#[derive(Clone, Debug, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct OverlayFile {
    /// Always `overlay`.
    pub kind: Kind,
    /// The network's key, which is the name of its folder.
    pub network: At<String>,
    /// Its name in print.
    pub title: String,
    /// The version, which is the name of the file.
    pub version: At<Version>,
    /// How people cite it.
    pub issue: Issue,
    /// What it stands on.
    pub extends: At<Extends>,
    /// The regions of the standard that its sites stand under; without it, any.
    #[serde(default)]
    #[schemars(length(min = 1))]
    pub regions: Vec<At<String>>,
    /// When it governs: any line, and within a line every condition.
    #[schemars(length(min = 1))]
    pub in_force: Vec<Conditions>,
    /// An older version that is still accepted for some sites.
    pub older_accepted: Option<OlderAccepted>,
    /// What every reader of its numbers should know.
    #[serde(default)]
    pub notes: Vec<String>,
    /// Where the numbers come from.
    pub sources: Named<String, CitationText>,
    /// What it asks of inverters.
    #[serde(default)]
    pub settings: Statements,
    /// What it asks of a grid protection relay, where there is one.
    #[serde(default)]
    #[schemars(schema_with = "crate::schema::relay_statements")]
    pub grid_protection_relay: Statements,
    /// What it asks of the installation as a whole.
    #[serde(default)]
    #[schemars(schema_with = "crate::schema::installation_statements")]
    pub installation: Statements,
}

/// How people cite a version.
#[derive(Clone, Debug, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct Issue {
    /// Such as `Issue 4`.
    pub name: String,
    /// When it was published.
    pub published: Day,
}

/// What an overlay stands on: a standard's edition, or a range of another network's versions.
#[derive(Clone, Debug, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct Extends {
    /// A base standard and edition, such as `as-nzs-4777.2/2020-amd2`.
    pub standard: Option<At<String>>,
    /// A standard of installation and edition, such as `as-nzs-4777.1/2024`, that holds besides.
    pub installation: Option<At<String>>,
    /// Another network.
    pub network: Option<At<String>>,
    /// The range of its versions.
    pub version: Option<VersionRange>,
    /// Standards and editions that a device of its sites may stand under besides that standard and its earlier
    /// editions: `erec-g83/2012`.
    #[serde(default)]
    pub accepts: Vec<At<String>>,
}

/// An older version that is still accepted for some sites.
#[derive(Clone, Debug, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct OlderAccepted {
    /// The range of versions.
    pub version: VersionRange,
    /// For which sites: every condition must hold.
    pub when: Conditions,
}

/// What a profile, or a region of it, states of each kind of equipment.
pub trait Blocks {
    /// The statements on one kind.
    fn on(&self, kind: Equipment) -> &Statements;
}

macro_rules! blocks {
    ($($file:ty),*) => {$(
        impl Blocks for $file {
            fn on(&self, kind: Equipment) -> &Statements {
                match kind {
                    Equipment::Inverter => &self.settings,
                    Equipment::GridProtectionRelay => &self.grid_protection_relay,
                    Equipment::Installation => &self.installation,
                }
            }
        }
    )*};
}
blocks!(StandardFile, PartOfRegions, Region, OverlayFile);

/// The keys of the blocks of statements, in the order of [`Equipment::ALL`].
pub const BLOCKS: [&str; Equipment::ALL.len()] = ["settings", "grid-protection-relay", "installation"];

/// Statements by function and setting. Its schema comes from the catalogue (`crate::schema`).
#[derive(Clone, Debug, Default, Deserialize)]
pub struct Statements(pub Named<At<String>, Named<At<String>, At<Statement>>>);

/// Demands on site facts, all of which must hold. Its schema comes from the catalogue of facts.
#[derive(Clone, Debug, Default, PartialEq, Deserialize)]
pub struct Conditions(pub Named<At<String>, At<String>>);

/// Who may move a value.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize, JsonSchema)]
pub enum WhoWord {
    /// Fixed by the standard.
    #[serde(rename = "nobody")]
    Nobody,
    /// The network operator, or somebody on its written word.
    #[serde(rename = "network operator")]
    NetworkOperator,
    /// The licensed installer.
    #[serde(rename = "installer")]
    Installer,
}

impl From<WhoWord> for Who {
    fn from(word: WhoWord) -> Self {
        match word {
            WhoWord::Nobody => Self::Nobody,
            WhoWord::NetworkOperator => Self::NetworkOperator,
            WhoWord::Installer => Self::Installer,
        }
    }
}

/// What a layer says of one setting. Its schema comes from the catalogue (`crate::schema`).
#[derive(Clone, Debug, Default, Deserialize)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct Statement {
    /// The value required.
    pub require: Option<At<Written>>,
    /// How the value has to be known: `read or photo`.
    pub evidence: Option<At<String>>,
    /// What complies, where it is not just the value required.
    pub comply: Option<At<Written>>,
    /// What must hold besides what the layers below ask.
    pub also: Option<At<Written>>,
    /// The range in which the entitled may move the value.
    pub adjustable: Option<At<Written>>,
    /// How far the response may lie from the required one: along the measured axis, and across it.
    pub response_within: Option<At<(String, String)>>,
    /// A response that complies where it lies nowhere below this one.
    pub nowhere_below: Option<At<Written>>,
    /// A response that complies where it lies nowhere above this one.
    pub nowhere_above: Option<At<Written>>,
    /// How far apart the points of a curve must be.
    pub spacing: Option<At<String>>,
    /// The steps in which the adjustable range can be set, counted from its lower end.
    pub step: Option<At<String>>,
    /// Who may move it.
    pub moved_by: Option<WhoWord>,
    /// Why it is so.
    pub because: Option<String>,
    /// Why the range reaches outside the one below.
    pub outside_because: Option<At<String>>,
    /// There is a demand here whose content was not seen.
    pub gap: Option<At<String>>,
    /// Which of the file's sources it rests on.
    pub source: Option<At<String>>,
    /// Which of the file's sources the adjustable range rests on, where that is another.
    pub range_source: Option<At<String>>,
    /// For which sites; within a case, or in place of cases.
    pub when: Option<Conditions>,
    /// Statements for some sites only. They may not overlap.
    pub cases: Option<Vec<At<Statement>>>,
    /// The last of the cases: what holds where none of the others does.
    pub otherwise: Option<At<String>>,
}
