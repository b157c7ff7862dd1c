//! What `attest list` and `attest check` print for programs.

use super::PlaceReport;
use rules::attestation::ListedFigure;
use schemars::JsonSchema;
use serde::Serialize;
use settings_model::attested::{Read, Verb};

/// What `attest list --format json` prints.
#[derive(Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub struct AttestListReport {
    /// The day the question was asked for.
    pub as_of: String,
    /// Who was counted as a user of a figure: `sites`, or `regions-and-versions` of the profiles at hand.
    pub counted: &'static str,
    /// How many of them were looked at.
    pub users: usize,
    /// How many figures of these profiles offices read wherever they hold.
    pub attested: usize,
    /// Of each network whose sites were given, on how many unverified figures they rest; sites on none come under an
    /// empty name.
    pub networks: Vec<NetworkReport>,
    /// The figures that nobody read, those used most first; with `--all` every one, in the order of its profile.
    pub figures: Vec<FigureReport>,
}

/// What the sites of a network rest on.
#[derive(Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub struct NetworkReport {
    /// Its key.
    pub network: String,
    /// How many sites were given.
    pub sites: usize,
    /// On how many figures they rest that are unverified; a figure that several use counts once.
    pub unverified: usize,
}

/// A figure of a profile.
#[derive(Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub struct FigureReport {
    /// The profile.
    pub profile: String,
    /// What it is asked of: `inverter`, `grid-protection-relay` or `installation`.
    pub of: &'static str,
    /// The setting.
    pub setting: String,
    /// The word of the profile that it stands under, such as `require` or `adjustable`; `gap` where it was not seen.
    pub verb: &'static str,
    /// The value as the profile writes it; of a gap what was not seen.
    pub value: String,
    /// The regions; empty for a profile without.
    pub regions: Vec<String>,
    /// For which sites, where not for all.
    pub when: Option<String>,
    /// The clause as the profile cites it.
    pub clause: Option<String>,
    /// The document that the profile cites.
    pub document: Option<String>,
    /// Who published the figure, and where.
    pub found_in: Vec<String>,
    /// What another source says, and which value was taken.
    pub conflict: Option<String>,
    /// What else is known of the source.
    pub note: Option<String>,
    /// The day or month in which it was last held against a copy or its sources.
    pub confirmed: Option<String>,
    /// `memory`, `single-source` or `disputed`; with `--all` any.
    pub standing: &'static str,
    /// How many use it.
    pub used_by: usize,
}

impl FigureReport {
    /// A figure, and how many use it.
    pub fn new(figure: &ListedFigure, used_by: usize) -> Self {
        let source = figure.source.as_ref();
        Self {
            profile: figure.profile.clone(),
            of: figure.kind.word(),
            setting: figure.setting.to_string(),
            verb: figure.verb.map_or("gap", Verb::word),
            value: figure.value.clone(),
            regions: figure.regions.clone(),
            when: figure.when.clone(),
            clause: figure.clause.clone(),
            document: source.map(|source| source.document.clone()),
            found_in: source.map(|source| source.found_in.clone()).unwrap_or_default(),
            conflict: source.and_then(|source| source.conflict.clone()),
            note: source.and_then(|source| source.note.clone()),
            confirmed: figure.confirmed.clone(),
            standing: figure.standing.word(),
            used_by,
        }
    }
}

/// What `attest check --format json` prints.
#[derive(Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub struct AttestCheckReport {
    /// The attestation's file.
    pub file: String,
    /// The profile that it is of.
    pub profile: String,
    /// The office.
    pub office: String,
    /// Who read it.
    pub read_by: String,
    /// The day.
    pub read_on: String,
    /// The copy.
    pub document: String,
    /// The amendments that it includes, in its own words.
    pub amendments: String,
    /// Whether it was made by the day that is asked about; a later one changes nothing.
    pub counts: bool,
    /// How many figures came to each.
    pub summary: AttestSummary,
    /// Each figure that it speaks of: first what disagrees, then what is not yet read.
    pub figures: Vec<ComparedReport>,
}

/// How many figures came to each.
#[derive(Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub struct AttestSummary {
    /// The copy says the same.
    pub agree: usize,
    /// The copy says something else.
    pub disagree: usize,
    /// Left empty.
    pub not_yet_read: usize,
    /// Unverified figures of the profile of which it does not speak.
    pub not_listed: usize,
}

/// One figure as an attestation speaks of it.
#[derive(Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub struct ComparedReport {
    /// `disagrees`, `not-yet-read` or `agrees`.
    pub outcome: &'static str,
    /// What it is asked of.
    pub of: &'static str,
    /// The setting.
    pub setting: String,
    /// The word of the profile that it stands under.
    pub verb: &'static str,
    /// The regions; empty for a profile without.
    pub regions: Vec<String>,
    /// The clause in which it was read.
    pub clause: Option<String>,
    /// What was read; absent while it was not.
    pub read: Option<String>,
    /// What the profile says.
    pub profile: String,
    /// Where the attestation speaks of it.
    pub place: Option<PlaceReport>,
}

/// What an office read of a figure.
#[derive(Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub struct ReadReport {
    /// Whether it is what the profile says.
    pub agrees: bool,
    /// The office.
    pub office: String,
    /// Who read it.
    pub read_by: String,
    /// The day.
    pub read_on: String,
    /// The copy.
    pub document: String,
    /// The amendments that it includes, in its own words.
    pub amendments: String,
    /// The clause.
    pub clause: String,
    /// What was read.
    pub value: String,
}

impl From<&Read> for ReadReport {
    fn from(read: &Read) -> Self {
        Self {
            agrees: read.agrees,
            office: read.by.office.clone(),
            read_by: read.by.read_by.clone(),
            read_on: read.by.read_on.to_string(),
            document: read.by.document.clone(),
            amendments: read.by.amendments.clone(),
            clause: read.clause.clone(),
            value: read.value.clone(),
        }
    }
}
