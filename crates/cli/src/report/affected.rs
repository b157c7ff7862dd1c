//! What `affected --format json` prints; text, Markdown and CSV are written from the same.

use rules::affected::{Affected, Effect, Work};
use rules::provenance::{Figures, Standing, Verdict};
use schemars::JsonSchema;
use serde::Serialize;
use settings_model::files::Answerable;
use std::collections::BTreeMap;

/// What `affected --format json` prints.
#[derive(Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub struct AffectedReport {
    /// The older version.
    pub old: String,
    /// The newer version.
    pub new: String,
    /// The day the question was asked for.
    pub as_of: String,
    /// Which older versions the newer one still accepts, and where.
    pub older_accepted: Option<String>,
    /// How many sites each effect has: `stranded`, `no-longer-proven`, `work-added`, `newly-fine`, `unchanged`, `may-stay`, `not-governed`, `could-not-tell`, `of-another-network`.
    pub summary: BTreeMap<&'static str, usize>,
    /// How many sites that the newer version governs, and that comply now, do so by figures that nobody verified.
    pub on_unverified_figures: usize,
    /// How many of the sites at which nothing changes do not comply, or are not proven, by either version.
    pub at_fault_already: usize,
    /// The settings that most sites have to change, most first.
    pub by_setting: Vec<SettingCount>,
    /// How many sites of each company, branch and crew have work.
    pub answerable: Vec<AnswerableCount>,
    /// The sites of the network of which something is to be told, in the order given; those that are
    /// `unchanged` or `not-governed` are only counted.
    pub sites: Vec<AffectedSite>,
    /// Files and lines that could not be read.
    pub unreadable: Vec<String>,
}

/// How many sites have to change a setting.
#[derive(Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub struct SettingCount {
    /// The setting.
    pub setting: String,
    /// How many sites.
    pub sites: usize,
}

/// How many sites of a company, branch and crew have work, of how many.
#[derive(Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub struct AnswerableCount {
    /// The company; empty where a site does not say.
    pub company: String,
    /// The branch.
    pub branch: String,
    /// The crew.
    pub crew: String,
    /// Sites with work.
    pub with_work: usize,
    /// All sites of the network.
    pub sites: usize,
}

/// One site.
#[derive(Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub struct AffectedSite {
    /// Its name.
    pub site: String,
    /// Its file.
    pub file: String,
    /// Its line, where a file holds one site a line.
    pub line: Option<usize>,
    /// What the newer version does to it.
    pub effect: &'static str,
    /// Its verdict before.
    pub before: Verdict,
    /// Its verdict now.
    pub after: Verdict,
    /// The verdict now in words; never plain where figures that nobody verified decided.
    pub headline: &'static str,
    /// How its required figures are known now.
    pub figures: Figures,
    /// Why it could not be told, where it could not.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub reason: Option<String>,
    /// What it stood under.
    pub was_under: String,
    /// What it stands under now.
    pub is_under: String,
    /// The company, branch and crew that answer for it.
    pub answerable: [String; 3],
    /// What has to be done there that did not have to be done before.
    pub work: Vec<WorkReport>,
}

/// One thing to do at a site.
#[derive(Clone, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub struct WorkReport {
    /// The device.
    pub device: String,
    /// The setting.
    pub setting: String,
    /// Its name for people.
    pub title: String,
    /// What the device holds.
    pub holds: String,
    /// What is required.
    pub required: String,
    /// How far off it is, or what is missing.
    pub off_by: String,
    /// Who may change it.
    pub moved_by: &'static str,
    /// Who asks for it.
    pub by: String,
    /// In which document and clause.
    pub clause: String,
    /// How the figure is known that asks for it; absent where no figure does.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub basis: Option<Standing>,
}

impl WorkReport {
    /// How the figure is known that asks for it, in a word for a column.
    pub fn known(&self) -> &'static str {
        self.basis.map_or("", Standing::column)
    }
}

impl From<Work> for WorkReport {
    fn from(work: Work) -> Self {
        Self {
            device: work.device,
            setting: work.setting.map(|setting| setting.to_string()).unwrap_or_default(),
            title: work.setting.map(settings_model::catalogue::SettingId::title).unwrap_or_default(),
            holds: work.holds,
            required: work.required,
            off_by: work.off_by,
            moved_by: work.moved_by.word(),
            by: work.by,
            clause: work.clause,
            basis: work.basis,
        }
    }
}

impl AffectedSite {
    /// A site and what the newer version does to it.
    pub fn new(site: String, file: &str, line: Option<usize>, answerable: Option<&Answerable<'_>>, affected: Affected) -> Self {
        let named = |part: Option<&settings_model::files::Text<'_>>| part.map(ToString::to_string).unwrap_or_default();
        let [company, branch, crew] = match answerable {
            Some(one) => [one.company.as_ref(), one.branch.as_ref(), one.crew.as_ref()].map(named),
            None => Default::default(),
        };
        Self {
            site,
            file: file.to_owned(),
            line,
            effect: affected.effect.word(),
            before: affected.before.verdict,
            after: affected.after.verdict,
            headline: affected.after.headline(),
            figures: affected.after.figures,
            reason: affected.reason,
            was_under: affected.was_under,
            is_under: affected.is_under,
            answerable: [company, branch, crew],
            work: affected.work.into_iter().map(WorkReport::from).collect(),
        }
    }

    /// What the newer version does to it.
    pub fn effect(&self) -> Option<Effect> {
        Effect::ALL.into_iter().find(|effect| effect.word() == self.effect)
    }
}
