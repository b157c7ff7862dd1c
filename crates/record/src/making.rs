//! From a site's file and a commissioning file to a record. The same texts, photos, profiles and day
//! always make the same bytes, so that a record can be made again from itself and compared.

mod cautions;
mod devices;
mod findings;
mod missing;
mod people;
mod photos;
mod profiles;
mod site;

pub use cautions::{WHO_MAY_TEST, is_with_storage, of_tests};

use crate::canonical;
use crate::parts::{CameTo, FORMAT, Finding, Given, GivenText, Made, Record, RecordKind, Test};
use crate::site_tests;
use jiff::civil::Date;
use rules::assess::{Assessment, Assessor, GovernedBy, Reservations};
use rules::filled_sheet::FilledSheet;
use rules::provenance::{Judgement, Verdict};
use rules::sheet::{DeviceSheet, sheets};
use settings_model::document::Node;
use settings_model::files::{CommissioningFile, Kind, Pin, SiteFile, Text};
use settings_model::finding::{Finding as Found, nearest};
use settings_model::library::Library;
use settings_model::reader;
use settings_model::source::Sources;
use std::borrow::Cow;
use std::collections::BTreeMap;

/// What a record is made from.
#[derive(Clone, Debug)]
pub struct Job {
    /// What was written down of it.
    pub texts: Texts,
    /// The photos that are there.
    pub photos: Photos,
    /// The version of the program.
    pub version: String,
}

/// What was written down of a job.
#[derive(Clone, Debug)]
pub struct Texts {
    /// The site's file.
    pub site: Input,
    /// The sheet filled by hand that says what its devices hold, where there is one.
    pub sheet: Option<Input>,
    /// What that sheet's columns are called, where they have names of their own.
    pub columns: Option<Input>,
    /// The commissioning file, where there is one.
    pub commissioning: Option<Input>,
}

impl Texts {
    /// Those that a record was made from.
    fn of(given: &Given) -> Self {
        let input = |given: &GivenText| Input { path: given.name.clone(), name: given.name.clone(), text: given.text.clone() };
        Self {
            site: input(&given.site),
            sheet: given.sheet.as_ref().map(input),
            columns: given.columns.as_ref().map(input),
            commissioning: given.commissioning.as_ref().map(input),
        }
    }

    fn all(&self) -> impl Iterator<Item = &Input> {
        [Some(&self.site), self.sheet.as_ref(), self.columns.as_ref(), self.commissioning.as_ref()].into_iter().flatten()
    }

    /// As a record keeps them.
    fn given(&self) -> Given {
        Given {
            site: given_text(&self.site),
            sheet: self.sheet.as_ref().map(given_text),
            columns: self.columns.as_ref().map(given_text),
            commissioning: self.commissioning.as_ref().map(given_text),
        }
    }

    /// The site's tree, with what the sheet says of its devices.
    fn site(&self, assessor: &mut Assessor) -> Result<Node, Vec<Found>> {
        let columns = self.columns.as_ref().map(Input::named);
        let sheet = self.sheet.as_ref().map(|sheet| FilledSheet::new(sheet.named(), columns, &mut assessor.sources)).transpose()?;
        let source = assessor.sources.add(self.site.path.as_str(), self.site.text.as_str());
        assessor.read_site_with(source, &self.site.text, sheet.as_ref())
    }
}

/// The site that a record is of, with what the sheet in it says of its devices.
///
/// # Errors
/// What is wrong with it. Findings point into the assessor's own sources.
pub fn site_of(record: &Record, assessor: &mut Assessor) -> Result<Node, Vec<Found>> {
    Texts::of(&record.given).site(assessor)
}

/// A text and its names.
#[derive(Clone, Debug)]
pub struct Input {
    /// How messages name it: its path.
    pub path: String,
    /// The name of its file, without folders, which the record keeps.
    pub name: String,
    /// The text.
    pub text: String,
}

impl Input {
    fn named(&self) -> (&str, &str) {
        (&self.path, &self.text)
    }
}

/// The photos that are there.
#[derive(Clone, Debug)]
pub enum Photos {
    /// No folder was given.
    NotLookedFor,
    /// The files of a folder, by name, with the SHA-256 of each.
    InFolder(BTreeMap<String, String>),
}

/// Makes the record of a job.
///
/// # Errors
/// What keeps any from being made: a file that cannot be used, requirements that contradict each other,
/// a site that was made for a lesson. Findings point into the assessor's own sources.
pub fn close_out(job: &Job, assessor: &mut Assessor) -> Result<Record, Vec<Found>> {
    make(job, &[], assessor)
}

/// Makes a record again from what it says it was made from, by the profiles that it names, for its own
/// day. Where nothing was altered and those profiles are at hand, it is the same record byte for byte;
/// another version of the program may say it in other words.
///
/// # Errors
/// What keeps it from being made, with the texts that this points into: a profile that is not at hand,
/// or has other content now, foremost.
pub fn again(record: &Record, library: Library) -> Result<Record, (Vec<Found>, Sources)> {
    let Ok(day) = settings_model::notation::date(&record.made.as_of) else {
        let says = format!("`{}` is no day", record.made.as_of);
        return Err((vec![Found::unusable("as-of", settings_model::source::Place::NOWHERE, says)], Sources::default()));
    };
    let mut assessor = Assessor::new(library, day);
    assessor.governed_by = GovernedBy::Pins;
    let pins: Vec<Pin<'_>> = record.requirement.profiles.iter().filter(|pin| profiles::is_layer(&pin.profile)).map(pin).collect();
    make(&job_of(record), &pins, &mut assessor).map_err(|findings| (findings, assessor.sources))
}

fn pin(pin: &crate::parts::Pin) -> Pin<'_> {
    Pin { profile: Text(Cow::Borrowed(&pin.profile)), sha256: Text(Cow::Borrowed(&pin.sha256)) }
}

/// What a record was made from.
fn job_of(record: &Record) -> Job {
    Job { texts: Texts::of(&record.given), photos: photos::those_of(&record.photos), version: record.made.version.clone() }
}

fn make(job: &Job, pins: &[Pin<'_>], assessor: &mut Assessor) -> Result<Record, Vec<Found>> {
    opened(&job.texts, pins, assessor, &mut |open, assessor| {
        let Open { work, assessment, plan, names } = open;
        refuse_lesson(work.root)?;
        let tests = work.tests(plan)?;
        let (photos, mut of_evidence) = photos::photos(work, &job.photos);
        of_evidence.extend(people::findings(work));
        let missing = missing::missing(work, &tests);
        let shows_all = missing.is_empty() && of_evidence.iter().all(|finding| finding.outcome == settings_model::finding::Outcome::Remark);
        let mut found = rules::wording::findings(assessment, work.root);
        found.append(&mut of_evidence);
        found.sort_by_key(|finding| finding.outcome);
        let findings: Vec<Finding> = found.iter().map(|finding| findings::told(finding, names, &assessor.sources)).collect();
        Ok(Record {
            kind: RecordKind::CloseOut,
            format: FORMAT,
            made: Made { tool: "asleft".to_owned(), version: job.version.clone(), as_of: assessor.today.to_string() },
            site: site::site(work.site),
            requirement: site::requirement(assessment, profiles::of(assessment, assessor)),
            verdict: came_to(assessment, site_tests::overall(&tests), shows_all),
            devices: devices::devices(work, assessment),
            findings,
            not_checked: assessment.not_checked(),
            approvals: site::approvals(work.root, work.site, &assessor.sources),
            tests,
            not_planned: plan.without.clone(),
            photos,
            instruments: people::instruments(work),
            work: people::worker(work),
            registrations: people::registrations(work),
            missing,
            cautions: cautions::of_record(assessment, work.site),
            given: job.texts.given(),
        })
    })
}

/// The tests of a site, and what they came to.
#[derive(Clone, Debug)]
pub struct TestSheet {
    /// The site's own name.
    pub site: String,
    /// What it stands under, in words.
    pub under: String,
    /// The tests, device by device.
    pub tests: Vec<Test>,
    /// What they came to; `None` where no results were given.
    pub outcome: Option<Verdict>,
    /// Tests that one would look for here and that no figure is known for, and why.
    pub without: Vec<String>,
    /// The photos that the site's file names.
    pub photos: Vec<String>,
    /// What to mind.
    pub cautions: Vec<String>,
}

/// The tests that are to be done at a site; with the results of a commissioning file, what they came to.
///
/// # Errors
/// What keeps the question from being put. Findings point into the assessor's own sources.
pub fn test_sheet(texts: &Texts, assessor: &mut Assessor) -> Result<TestSheet, Vec<Found>> {
    opened(texts, &[], assessor, &mut |open, _| {
        let Open { work, assessment, plan, .. } = open;
        let tests = work.tests(plan)?;
        let lesson = work.root.get("training").map(|_| "Made for a lesson: this is no real site.".to_owned());
        Ok(TestSheet {
            site: work.site.site.to_string(),
            under: assessment.under(),
            outcome: work.file.map(|_| site_tests::overall(&tests)),
            tests,
            without: plan.without.clone(),
            photos: photos::named(work.root),
            cautions: lesson.into_iter().chain(of_tests(work.site)).collect(),
        })
    })
}

/// The files read, judged and held together.
struct Open<'o> {
    work: Work<'o>,
    assessment: &'o Assessment<'o>,
    plan: site_tests::Plan,
    names: findings::Names,
}

/// Makes something of what was read.
type Then<'t, T> = dyn FnMut(&Open<'_>, &Assessor) -> Result<T, Vec<Found>> + 't;

/// Reads the files, judges the site, and hands on what came of it.
fn opened<T>(texts: &Texts, pins: &[Pin<'_>], assessor: &mut Assessor, then: &mut Then<'_, T>) -> Result<T, Vec<Found>> {
    let root = texts.site(assessor)?;
    let names = findings::Names::of(texts, assessor);
    let mut typed: SiteFile<'_> = reader::typed(&root)?;
    if assessor.governed_by == GovernedBy::Pins {
        typed.pinned = pins.to_vec();
    }
    let given = texts.commissioning.as_ref();
    let given = given.map(|input| (assessor.sources.add(input.path.as_str(), input.text.as_str()), input));
    let tree = given.map(|(source, input)| reader::read(source, &input.text, Kind::Commissioning)).transpose()?;
    let file: Option<CommissioningFile> = tree.as_ref().map(reader::typed).transpose()?;
    let assessment = assessor.assess(&typed);
    let sheets = match sheets(assessor, &typed, &assessment.facts) {
        Ok(sheets) if assessment.book.is_some() && assessment.verdict != Verdict::CouldNotTell => sheets,
        _ => return Err(rules::wording::findings(&assessment, &root)),
    };
    let plan = site_tests::plan(&typed, &sheets);
    let work = Work { site: &typed, root: &root, file: file.as_ref(), tree: tree.as_ref(), sheets: &sheets, as_of: assessor.today };
    let faults = work.faults(&plan);
    if !faults.is_empty() {
        return Err(faults);
    }
    then(&Open { work, assessment: &assessment, plan, names }, assessor)
}

/// A site that was made for a lesson is no site.
fn refuse_lesson(root: &Node) -> Result<(), Vec<Found>> {
    let Some((key, _)) = root.entry("training") else { return Ok(()) };
    let finding = Found::unusable("training", key.place, "this site was made for a lesson, and no record is made of one");
    Err(vec![finding.hint("name the file of a real site")])
}

/// What is known of the work at a site.
struct Work<'w> {
    site: &'w SiteFile<'w>,
    root: &'w Node,
    file: Option<&'w CommissioningFile>,
    /// The tree of the same.
    tree: Option<&'w Node>,
    sheets: &'w [DeviceSheet],
    as_of: Date,
}

impl Work<'_> {
    /// What does not fit together between the two files.
    fn faults(&self, plan: &site_tests::Plan) -> Vec<Found> {
        let (Some(file), Some(tree)) = (self.file, self.tree) else { return Vec::new() };
        let mut faults = Vec::new();
        if file.site.value != *self.site.site {
            let says = format!("a commissioning file of `{}`, with the site `{}`", file.site.value, self.site.site);
            faults.push(Found::unusable("another-site", file.site.place, says).hint("name the commissioning file of this site"));
        }
        if file.work.date.value.0 > self.as_of {
            let says = format!("the work ended on {}, which is still to come", file.work.date.value.0);
            faults.push(
                Found::unusable("in-future", file.work.date.place, says)
                    .hint("write the day on which it ended, or ask for a later day with `--as-of`"),
            );
        }
        let devices: Vec<&str> = self.site.devices.iter().map(|(name, _)| name).collect();
        for (name, _) in file.devices.0.iter().filter(|(name, _)| !devices.contains(&name.value.as_str())) {
            let finding = Found::unusable("unknown-device", name.place, format!("the site has no device `{}`", name.value));
            faults.push(match nearest(&name.value, devices.iter().copied()) {
                Some(meant) => finding.hint(format!("did you mean `{meant}`?")),
                None => finding.hint(format!("its devices: {}", devices.join(", "))),
            });
        }
        faults.extend(site_tests::unplanned(tree, &plan.tests));
        faults
    }

    fn tests(&self, plan: &site_tests::Plan) -> Result<Vec<Test>, Vec<Found>> {
        let (mut tests, mut faults) = (Vec::new(), Vec::new());
        for planned in &plan.tests {
            let Some(sheet) = self.sheets.iter().find(|sheet| sheet.name == planned.device) else { continue };
            match site_tests::judge(planned, self.file, sheet, self.as_of) {
                Ok(test) => tests.push(test),
                Err(fault) => faults.push(*fault),
            }
        }
        if faults.is_empty() { Ok(tests) } else { Err(faults) }
    }
}

fn came_to(assessment: &Assessment<'_>, tests: Verdict, shows_all: bool) -> CameTo {
    let Judgement { verdict: settings, figures, broken_by } = assessment.judgement();
    let evidence = if shows_all { Verdict::Complies } else { Verdict::NotProven };
    let (outcome, known_by) = (settings.max(tests).max(evidence), assessment.known_by());
    let came_to = CameTo { outcome, headline: String::new(), settings, tests, evidence, figures, broken_by, known_by };
    CameTo { headline: Reservations::of(assessment).add_to(came_to.whole().headline(), outcome), ..came_to }
}

fn given_text(input: &Input) -> GivenText {
    GivenText { name: input.name.clone(), sha256: canonical::hex(&canonical::sha256(input.text.as_bytes())), text: input.text.clone() }
}
