//! The machine-readable answers: stable, and described by `asleft schema`.

pub mod affected;
pub mod attest;
pub mod behaves;
pub mod behaves_counters;
pub mod behaves_fleet;
pub mod capture;
pub mod diff;
#[cfg(feature = "register")]
pub mod due;
pub mod exercise;
pub mod fleet;
pub mod identify;
pub mod judged;
pub mod lint;
#[cfg(feature = "register")]
pub mod register;
pub mod revision;
pub mod rise;
pub mod sheet;
pub mod test_sheet;
pub mod verify;

use judged::Judged;
use rules::assess::{Assessment, Reservations};
use rules::provenance::{Figures, Judgement, Standing, Verdict};
use schemars::JsonSchema;
use serde::Serialize;
use settings_model::finding::{Because, Finding, Folded, Outcome};
use settings_model::source::{Place, Sources};

/// What `check --format json` prints; with `--format ndjson`, each of its sites is a line.
#[derive(Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub struct CheckReport {
    /// The day the question was asked for.
    pub as_of: String,
    /// Whether unverified figures count as not proven.
    pub require_verified: bool,
    /// Every site, in the order given.
    pub sites: Vec<SiteReport>,
    /// Profiles that kept sites from being judged; absent where there are none.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub stopped_by: Vec<StoppedBy>,
    /// Files of the folders that were left out, since they are no sites; absent where there are none.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub left_out: Vec<String>,
    /// How many sites came to each verdict.
    pub summary: Summary,
    /// The faults, those that most sites have first.
    pub by_fault: Vec<fleet::FaultCount>,
    /// What the sites of each company, branch and crew came to.
    pub answerable: Vec<fleet::AnswerableSites>,
}

/// A profile that cannot be used, and what that did.
#[derive(Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub struct StoppedBy {
    /// The profile's file.
    pub profile: String,
    /// How many sites were not judged for it.
    pub sites: usize,
    /// Its faults.
    pub findings: Vec<FindingReport>,
}

/// How many sites came to each verdict.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub struct Summary {
    /// All sites.
    pub sites: usize,
    /// Every claim is kept.
    pub complies: usize,
    /// Of those, the sites where figures that nobody verified decided.
    pub on_unverified_figures: usize,
    /// Of those that comply, the sites that are not plainly fine for another reason: what they state was not
    /// all judged.
    #[serde(default, skip_serializing_if = "is_none")]
    pub with_reservations: usize,
    /// Some claim is broken.
    pub does_not_comply: usize,
    /// Of those, the sites that break no figure but such as nobody verified.
    pub broken_by_unverified_figures: usize,
    /// No claim is broken, but not all could be shown to be kept.
    pub not_proven: usize,
    /// A file is at fault.
    pub could_not_tell: usize,
    /// Of all sites, those that were made for a lesson; absent where there are none.
    #[serde(default, skip_serializing_if = "is_none")]
    pub training: usize,
}

fn is_none(count: &usize) -> bool {
    *count == 0
}

impl Summary {
    /// Counts a site.
    pub fn count(&mut self, judgement: &Judgement, reservations: &Reservations) {
        self.sites += 1;
        let is_unverified = usize::from(judgement.is_unverified());
        match judgement.verdict {
            Verdict::Complies => {
                self.complies += 1;
                self.on_unverified_figures += is_unverified;
                self.with_reservations += usize::from(!reservations.is_empty());
            }
            Verdict::DoesNotComply => {
                self.does_not_comply += 1;
                self.broken_by_unverified_figures += is_unverified;
            }
            Verdict::NotProven => self.not_proven += 1,
            Verdict::CouldNotTell => self.could_not_tell += 1,
        }
    }
}

/// One site.
#[derive(Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub struct SiteReport {
    /// That the site was made for a lesson; absent for any other.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub training: Option<&'static str>,
    /// The site's own name; absent if its file could not be read that far.
    pub id: Option<String>,
    /// The file it was read from.
    pub file: String,
    /// Its line in a file of one site a line.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub line: Option<usize>,
    /// The company, branch and crew that answer for it; absent where nobody is named.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub answerable: Option<[String; 3]>,
    /// What it came to.
    pub verdict: Verdict,
    /// The same in words; never plain where figures that nobody verified decided.
    pub headline: String,
    /// How the surest of the figures is known that it breaks; absent where it breaks none, or something
    /// else than a figure decides.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub broken_by: Option<Standing>,
    /// The layers it stands under, lowest first.
    pub layers: Vec<LayerReport>,
    /// How many required figures are known in each way.
    pub figures: Figures,
    /// How many of the required values are known in each way.
    pub known_by: Known,
    /// What is asked, but was not seen, and so was not checked.
    pub not_checked: Vec<String>,
    /// What the site states and no requirement judged: devices, and settings with their device in front.
    pub not_judged: Vec<String>,
    /// The findings, gravest first.
    pub findings: Vec<FindingReport>,
}

impl SiteReport {
    /// What is to be said of a site.
    pub fn new(judged: &Judged, sources: &Sources) -> Self {
        Self {
            training: judged.training,
            id: judged.id.clone(),
            file: judged.file.clone(),
            line: judged.line,
            answerable: judged.answerable.iter().any(|name| !name.is_empty()).then(|| judged.answerable.clone()),
            verdict: judged.judgement.verdict,
            headline: judged.headline(),
            broken_by: judged.judgement.broken_by,
            layers: judged.layers.clone(),
            figures: judged.judgement.figures,
            known_by: judged.known_by,
            not_checked: judged.not_checked.clone(),
            not_judged: judged.not_judged.clone(),
            findings: judged.findings.iter().map(|finding| FindingReport::new(finding, sources)).collect(),
        }
    }
}

/// One layer.
#[derive(Clone, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub struct LayerReport {
    /// Its name in print.
    pub title: String,
    /// The key of its standard or network.
    pub key: String,
    /// Its version or edition.
    pub version: String,
}

/// One finding.
#[derive(Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub struct FindingReport {
    /// A stable name for the kind of fault.
    pub name: &'static str,
    /// What kind of message.
    pub outcome: Outcome,
    /// The setting it is about, with its device in front.
    pub setting: Option<String>,
    /// One phrase that stands alone.
    pub headline: String,
    /// Where it is; absent for what no file says.
    pub place: Option<PlaceReport>,
    /// The lines that explain it.
    pub because: Vec<BecauseReport>,
    /// How the figure is known that decides it; absent where no figure does.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub basis: Option<Standing>,
    /// Consequences of the same fault, and what it names together.
    pub folded: Vec<Folded>,
    /// What else to know.
    pub notes: Vec<String>,
    /// What to do.
    pub hint: Option<String>,
}

/// A line that explains a finding.
#[derive(Serialize, JsonSchema)]
pub struct BecauseReport {
    /// What it says.
    pub text: String,
    /// How the figure there is known; absent where no figure stands there.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub basis: Option<Standing>,
    /// Where.
    pub place: Option<PlaceReport>,
}

/// A place in a file; lines and columns from 1, columns in characters.
#[derive(Serialize, JsonSchema)]
pub struct PlaceReport {
    /// The file; `shipped:…` for profiles that come with the program.
    pub file: String,
    /// The line.
    pub line: usize,
    /// The column.
    pub column: usize,
}

impl PlaceReport {
    /// A place of a text; `None` for what no file says.
    pub fn new(place: Place, sources: &Sources) -> Option<Self> {
        sources.locate(place).map(|at| Self { file: at.file.to_owned(), line: at.line, column: at.column })
    }
}

impl FindingReport {
    /// A finding with its places worked out.
    pub fn new(finding: &Finding, sources: &Sources) -> Self {
        let because = |line: &Because| BecauseReport {
            text: line.text.clone().unwrap_or_else(|| line.label.clone()),
            basis: line.basis,
            place: PlaceReport::new(line.place, sources),
        };
        Self {
            name: finding.name,
            outcome: finding.outcome,
            setting: finding.setting.clone(),
            headline: finding.headline.clone(),
            place: PlaceReport::new(finding.place, sources),
            because: finding.because.iter().map(because).collect(),
            basis: finding.basis,
            folded: finding.folded.clone(),
            notes: finding.notes.clone(),
            hint: finding.hint.clone(),
        }
    }
}

/// How the required values of a site's devices are known: how many in each way.
#[derive(Clone, Copy, Default, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub struct Known {
    /// Read from the device by a program.
    pub read: usize,
    /// Photographed.
    pub photo: usize,
    /// Taken from the display.
    pub display: usize,
    /// Tested on site.
    pub test: usize,
    /// Not looked at: the region selected on a certified device stands for them.
    pub region: usize,
    /// Stated, without saying how they are known.
    pub statement: usize,
    /// Of those that the region stands for: a register would tell, and the device does not implement it.
    pub region_for_registers: usize,
}

impl Known {
    /// Of a site.
    pub fn at(assessment: &Assessment<'_>) -> Self {
        let [read, photo, display, test, region, statement] = assessment.known();
        Self { read, photo, display, test, region, statement, region_for_registers: assessment.not_implemented() }
    }

    /// In words.
    pub fn words(&self) -> String {
        let Self { read, photo, display, test, region, statement, region_for_registers } = *self;
        rules::assess::known_by_words([read, photo, display, test, region, statement], region_for_registers)
    }
}

/// The layers a site stands under, without the catalogue's own rules.
pub fn layers(assessment: &Assessment<'_>) -> Vec<LayerReport> {
    let layers = assessment.book.iter().flat_map(|book| &book.rulebook.layers);
    let files = layers.filter(|layer| layer.kind != settings_model::claim::LayerKind::Catalogue);
    files.map(|l| LayerReport { title: l.title.clone(), key: l.key.clone(), version: l.version.clone() }).collect()
}
