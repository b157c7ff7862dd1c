//! The machine-readable answers: stable, and described by `asleft schema`.

pub mod affected;
pub mod attest;
pub mod capture;
pub mod curve;
pub mod diff;
pub mod events;
pub mod exercise;
pub mod fleet;
pub mod identify;
pub mod lint;
pub mod register;
pub mod revision;
pub mod rise;
pub mod scenario;
pub mod sheet;
pub mod test_sheet;
pub mod trip_map;
pub mod verify;

use crate::walk::Judged;
use rules::assess::{Assessment, NotJudged, Reservations, SiteVerdict};
use rules::book::{Counted, Tally};
use schemars::JsonSchema;
use serde::Serialize;
use settings_model::catalogue::{Equipment, SettingId};
use settings_model::claim::{Basis, Evidence};
use settings_model::finding::{Because, Finding};
use settings_model::source::{Place, Sources};
use std::rc::Rc;

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
    /// How many sites came to each verdict.
    pub summary: Summary,
    /// The faults, those that most sites have first.
    pub by_fault: Vec<fleet::FaultCount>,
    /// What the sites of each company, branch and crew came to.
    pub answerable: Vec<fleet::AnswerableSites>,
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
    /// Of those again, the sites where a figure decided that a licensed copy contradicts.
    pub on_disputed_figures: usize,
    /// Of those that comply, the sites that are not plainly fine for another reason: what they state was not
    /// all judged.
    pub with_reservations: usize,
    /// Some claim is broken.
    pub does_not_comply: usize,
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
    pub fn count(&mut self, verdict: SiteVerdict, figures: Figures, reservations: &Reservations) {
        self.sites += 1;
        let among_compliant = |some: usize| usize::from(some > 0 && verdict == SiteVerdict::Complies);
        self.on_unverified_figures += among_compliant(figures.unverified());
        self.on_disputed_figures += among_compliant(figures.disputed);
        self.with_reservations += among_compliant(usize::from(!reservations.is_empty()));
        match verdict {
            SiteVerdict::Complies => self.complies += 1,
            SiteVerdict::DoesNotComply => self.does_not_comply += 1,
            SiteVerdict::NotProven => self.not_proven += 1,
            SiteVerdict::CouldNotTell => self.could_not_tell += 1,
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
    /// `complies`, `does-not-comply`, `not-proven` or `could-not-tell`.
    pub verdict: &'static str,
    /// The verdict in words; never plain "complies" where unverified figures decided.
    pub headline: String,
    /// The layers it stands under, lowest first.
    pub layers: Vec<LayerReport>,
    /// How many required figures rest on each basis.
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
            verdict: judged.verdict.word(),
            headline: headline(judged.verdict, judged.figures, &judged.reservations),
            layers: judged.layers.clone(),
            figures: judged.figures,
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

/// How many required figures rest on each basis.
#[derive(Clone, Copy, Default, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub struct Figures {
    /// Two independent published sources.
    pub published: usize,
    /// Made up for teaching and testing.
    pub invented: usize,
    /// One published source: unverified.
    pub single_source: usize,
    /// Recalled: unverified.
    pub memory: usize,
    /// Set by a site-specific approval.
    pub site_approval: usize,
    /// Read by an office in its licensed copy, whatever they rested on before.
    pub attested: usize,
    /// Of which a licensed copy says something else: unverified.
    pub disputed: usize,
}

/// One finding.
#[derive(Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub struct FindingReport {
    /// A stable name for the kind of fault.
    pub name: &'static str,
    /// `does-not-comply`, `not-proven`, `remark` or `unusable`.
    pub outcome: &'static str,
    /// The setting it is about, with its device in front.
    pub setting: Option<String>,
    /// One phrase that stands alone.
    pub headline: String,
    /// Where it is; absent for what no file says.
    pub place: Option<PlaceReport>,
    /// The lines that explain it.
    pub because: Vec<BecauseReport>,
    /// Consequences of the same fault.
    pub folded: Vec<String>,
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
            place: PlaceReport::new(line.place, sources),
        };
        Self {
            name: finding.name,
            outcome: finding.outcome.word(),
            setting: finding.setting.clone(),
            headline: finding.headline.clone(),
            place: PlaceReport::new(finding.place, sources),
            because: finding.because.iter().map(because).collect(),
            folded: finding.folded.clone(),
            notes: finding.notes.clone(),
            hint: finding.hint.clone(),
        }
    }
}

/// The figures of a site, those that several devices share counted once.
pub fn figures(assessment: &Assessment<'_>) -> Figures {
    distinct(assessment).fold(Figures::default(), |figures, counted| figures.and(&counted.tally))
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
}

impl Known {
    /// Over all devices of a site; what is added up for the installation is known by itself.
    pub fn at(assessment: &Assessment<'_>) -> Self {
        let mut all = Self::default();
        for device in assessment.devices.iter().filter(|device| device.kind != Equipment::Installation) {
            let [read, photo, display, test, region, statement] = device.known();
            all.read += read;
            all.photo += photo;
            all.display += display;
            all.test += test;
            all.region += region;
            all.statement += statement;
        }
        all
    }

    /// `12 taken from the display, 40 covered by the selected region`.
    pub fn phrase(self) -> String {
        let counts = [self.read, self.photo, self.display, self.test, self.region, self.statement];
        let each = Evidence::ALL.into_iter().zip(counts).filter(|(_, count)| *count > 0);
        each.map(|(kind, count)| format!("{count} {}", kind.phrase())).collect::<Vec<_>>().join(", ")
    }
}

/// What was asked for, but not seen.
pub fn not_checked(assessment: &Assessment<'_>) -> Vec<String> {
    let mut unseen: Vec<SettingId> = distinct(assessment).flat_map(|counted| &counted.not_checked).copied().collect();
    unseen.sort_unstable();
    unseen.dedup();
    unseen.iter().map(ToString::to_string).collect()
}

/// What the site states and no requirement judged.
pub fn not_judged(assessment: &Assessment<'_>) -> Vec<String> {
    assessment.not_judged.iter().flat_map(NotJudged::paths).collect()
}

/// Each requirement that some device of the site was asked.
fn distinct<'a>(assessment: &'a Assessment<'_>) -> impl Iterator<Item = &'a Counted> {
    let devices = &assessment.devices;
    let is_first = move |n: usize| devices[..n].iter().all(|earlier| !Rc::ptr_eq(&earlier.counted, &devices[n].counted));
    (0..devices.len()).filter(move |n| is_first(*n)).map(|n| &*devices[n].counted)
}

impl Figures {
    /// Those of one requirement.
    pub fn of(tally: &Tally) -> Self {
        Self::default().and(tally)
    }

    /// With those of a requirement besides.
    fn and(self, tally: &Tally) -> Self {
        Self {
            published: self.published + tally.of(Basis::Published),
            invented: self.invented + tally.of(Basis::Invented),
            single_source: self.single_source + tally.of(Basis::SingleSource),
            memory: self.memory + tally.of(Basis::Memory),
            site_approval: self.site_approval + tally.approved,
            attested: self.attested + tally.attested,
            disputed: self.disputed + tally.disputed,
        }
    }

    /// The figures that nobody compared with a licensed copy, and those that one contradicts.
    pub fn unverified(self) -> usize {
        self.single_source + self.memory + self.disputed
    }
    /// All figures.
    pub fn total(self) -> usize {
        self.published + self.invented + self.site_approval + self.attested + self.unverified()
    }
}

/// The layers a site stands under, without the catalogue's own rules.
pub fn layers(assessment: &Assessment<'_>) -> Vec<LayerReport> {
    let layers = assessment.book.iter().flat_map(|book| &book.rulebook.layers);
    let files = layers.filter(|layer| layer.kind != settings_model::claim::LayerKind::Catalogue);
    files.map(|l| LayerReport { title: l.title.clone(), key: l.key.clone(), version: l.version.clone() }).collect()
}

/// The verdict in words.
pub fn headline(verdict: SiteVerdict, figures: Figures, reservations: &Reservations) -> String {
    match verdict {
        SiteVerdict::Complies if figures.disputed > 0 => reservations.add_to("agrees with disputed figures"),
        SiteVerdict::Complies if figures.unverified() > 0 => reservations.add_to("agrees with unverified figures"),
        SiteVerdict::Complies => reservations.add_to("complies"),
        SiteVerdict::DoesNotComply => "does not comply".to_owned(),
        SiteVerdict::NotProven => "not proven".to_owned(),
        SiteVerdict::CouldNotTell => "could not tell".to_owned(),
    }
}
