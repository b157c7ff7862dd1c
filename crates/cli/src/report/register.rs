//! What `register` and `due` print with `--format json`.

use record::register::{Due, DueKind, Entry, Header};
use record::{Answerable, canonical};
use rules::provenance::{Figures, Verdict};
use schemars::JsonSchema;
use serde::Serialize;

/// What `register list --format json` prints.
#[derive(Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub struct RegisterListReport {
    /// How many entries the register has in all.
    pub entries: u64,
    /// The entries asked for, by site.
    pub sites: Vec<EntryReport>,
}

/// One entry.
#[derive(Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub struct EntryReport {
    /// Its number, from 1.
    pub entry: u64,
    /// The site.
    pub site: String,
    /// The day that the record was made for.
    pub as_of: String,
    /// What it came to.
    pub verdict: Verdict,
    /// The same in words.
    pub headline: String,
    /// How its required figures are known.
    pub figures: Figures,
    /// Under what, in words.
    pub under: String,
    /// Who answers for the site.
    pub answerable: Answerable,
    /// What is due.
    pub due: Vec<Due>,
    /// When it was added.
    pub added: String,
    /// SHA-256 of the record.
    pub record_sha256: String,
    /// The keys that sealed it.
    pub sealed_by: Vec<String>,
    /// The link that ties it to all entries before it.
    pub link: String,
}

impl From<Entry> for EntryReport {
    fn from(entry: Entry) -> Self {
        let header = entry.header;
        Self {
            entry: entry.number,
            site: header.site,
            as_of: header.as_of,
            verdict: header.verdict,
            headline: header.headline,
            figures: header.figures.unwrap_or_default(),
            under: header.under,
            answerable: header.answerable,
            due: header.due,
            added: header.added,
            record_sha256: canonical::hex(&entry.record_sha256),
            sealed_by: entry.signatures.into_iter().map(|signature| signature.key).collect(),
            link: canonical::hex(&entry.link),
        }
    }
}

/// What `register roll-up --format json` prints.
#[derive(Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub struct RollUpReport {
    /// All sites.
    pub all: Counts,
    /// Each company, branch and crew, and each of their parts together: a crew that is absent stands for
    /// all crews of its branch, a branch that is absent for all of its company.
    pub answerable: Vec<RollUpRow>,
}

/// What the sites of somebody came to.
#[derive(Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub struct RollUpRow {
    /// The company; empty where nobody is named.
    pub company: String,
    /// The branch; absent for the company as a whole.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub branch: Option<String>,
    /// The crew; absent for the branch as a whole.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub crew: Option<String>,
    /// How many sites came to what.
    pub sites: Counts,
}

/// How many sites came to what, in their newest state.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub struct Counts {
    /// All of them.
    pub sites: usize,
    /// Those that comply.
    pub complies: usize,
    /// Those of them that do by figures that nobody verified.
    pub unverified: usize,
    /// Those of them again that do by a figure that a licensed copy contradicts.
    pub disputed: usize,
    /// Those where not everything was shown to be right.
    pub not_proven: usize,
    /// Those where something is wrong.
    pub does_not_comply: usize,
    /// Those of them that break no figure but such as nobody verified.
    pub broken_by_unverified: usize,
}

impl Counts {
    /// Counts a site.
    pub fn count(&mut self, header: &Header) {
        self.sites += 1;
        let judgement = header.judgement();
        let (is_unverified, is_disputed) = (usize::from(judgement.is_unverified()), usize::from(judgement.is_disputed()));
        match header.verdict {
            Verdict::Complies => {
                self.complies += 1;
                self.unverified += is_unverified;
                self.disputed += is_disputed;
            }
            // a record is made of what could be judged
            Verdict::NotProven | Verdict::CouldNotTell => self.not_proven += 1,
            Verdict::DoesNotComply => {
                self.does_not_comply += 1;
                self.broken_by_unverified += is_unverified;
            }
        }
    }
}

/// What `register verify --format json` prints.
#[derive(Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub struct RegisterVerifyReport {
    /// Whether it is as it was written.
    pub as_written: bool,
    /// The first fault, where it is not.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub fault: Option<String>,
    /// How many entries it has, where it is.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub entries: Option<u64>,
    /// How many profiles are kept with them.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub profiles: Option<u64>,
    /// How many signatures its records have.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub signatures: Option<u64>,
    /// The link of its last entry, to note down elsewhere.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub last_link: Option<String>,
    /// Whether the file as a whole is as its last writer left it; absent where a writer is at work, or was stopped.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub file_as_left: Option<bool>,
}

/// What `due --format json` prints.
#[derive(Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub struct DueReport {
    /// The day the question was asked for.
    pub as_of: String,
    /// How many of them are overdue.
    pub overdue: usize,
    /// What is due, soonest first, what has no day last.
    pub due: Vec<DueRow>,
}

/// Something that is due.
#[derive(Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub struct DueRow {
    /// The last day for it; absent where the record names none.
    pub by: Option<String>,
    /// In how many days; below zero when it is overdue.
    pub in_days: Option<i64>,
    /// What kind of thing.
    pub kind: DueKind,
    /// What, in words.
    pub what: String,
    /// The sites; several for one instrument.
    pub sites: Vec<String>,
    /// Who answers for the first of them.
    pub answerable: Answerable,
}
