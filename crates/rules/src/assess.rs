//! From a site to its verdict: which rulebook, which cell, what each device keeps.

mod candidates;
mod cause;
mod labels;
mod not_judged;
mod notes;
mod pins;
mod ratings;
mod read_out;
mod statements;

pub use crate::book::Books;
pub use crate::outcome::{
    Assessment, Certificate, DeviceResult, NotJudged, Note, RegionStands, Reservations, WhyNotJudged, known_by_words,
};
pub use candidates::candidates;
pub(crate) use candidates::{of_version, regions_of};
pub use notes::{OUT_OF_ORDER, descending};

use crate::book::{Book, Counted};
use crate::candidate::Candidate;
use crate::departure::Departure;
use crate::departures::{departures, of_device, of_nothing};
use crate::hanging::judge_hanging;
use crate::installation;
use crate::judge::{DeviceSettings, MissingEvidence, UnmetClaim, UnmetKind, judge};
use crate::outcome::{verdict, verdict_by_disputes};
use crate::pairing::exchanged;
use crate::practice;
use crate::rise;
use jiff::civil::Date;
use notes::{
    by_whole_impedance, no_devices, nobody_can_comply, nothing_recorded, of_rise, refused, required_points_descend, stages_exchanged,
    wrong_region,
};
use settings_model::catalogue::Equipment;
use settings_model::cells::{CellKey, Partition};
use settings_model::claim::Evidence;
use settings_model::document::Node;
use settings_model::facts::{FactId, Facts};
use settings_model::files::{Device, Holding, Kind, SiteFile};
use settings_model::finding::{Finding, in_order};
use settings_model::labels::LabelMap;
use settings_model::library::{Library, Refusal, Request};
use settings_model::reader;
use settings_model::requirement::Rulebook;
use settings_model::settings::Settings;
use settings_model::source::{SourceId, Sources};
use std::borrow::Cow;
use std::collections::BTreeMap;
use std::rc::Rc;

/// Judges sites, keeping what it read for the next one.
pub struct Assessor {
    /// The profiles at hand.
    pub library: Library,
    /// The texts read so far.
    pub sources: Sources,
    /// The day the question is asked for.
    pub today: Date,
    /// What decides under which versions a site stands.
    pub governed_by: GovernedBy,
    routes: BTreeMap<String, Route>,
    request_key: String,
    versions: BTreeMap<[String; 3], Option<Rc<Books>>>,
    /// By the profiles that sites pin, the edition of a device's own, and the region.
    pinned: BTreeMap<String, Rc<Books>>,
    /// What values might be instead, by the layers of a site; see `cause`.
    pub(crate) others: BTreeMap<String, Rc<Vec<Candidate>>>,
}

/// What decides under which versions a site stands.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum GovernedBy {
    /// Its dates, within the range that it names.
    #[default]
    DatesWithinRange,
    /// Its dates alone.
    DatesAlone,
    /// What it pins: what it was judged against before.
    Pins,
}

/// Finds what a device that stands under an edition of its own is asked.
type OwnBooks<'o> = dyn FnMut(&mut Assessor, &Device<'_>, &Facts) -> Result<Rc<Books>, Refusal> + 'o;

/// So many requests are kept: a fleet may name any number of regions that are not there.
const MOST_ROUTES: usize = 10_000;

/// From a request and the dates that decide to a book.
struct Route {
    partition: Partition,
    books: BTreeMap<CellKey, Rc<Books>>,
}

impl Assessor {
    /// An assessor over a library, for a day.
    #[must_use]
    pub fn new(mut library: Library, today: Date) -> Self {
        library.set_asked(today);
        Self {
            library,
            sources: Sources::default(),
            today,
            governed_by: GovernedBy::default(),
            routes: BTreeMap::new(),
            request_key: String::new(),
            versions: BTreeMap::new(),
            pinned: BTreeMap::new(),
            others: BTreeMap::new(),
        }
    }

    /// What the layers of a site say.
    ///
    /// # Errors
    /// See [`Refusal`].
    pub fn books(&mut self, request: Request<'_>, facts: &Facts) -> Result<Rc<Books>, Refusal> {
        let request = if self.governed_by == GovernedBy::DatesAlone { Request { overlay: None, ..request } } else { request };
        self.request_key.clear();
        let Request { network, overlay, standard, in_place, installation, region } = request;
        let (other, its_region) = in_place.map(|other| (other.standard, other.region)).unzip();
        for part in [network, overlay, standard, other, its_region, installation, Some(region)] {
            self.request_key.push_str(part.unwrap_or_default());
            self.request_key.push('\n');
        }
        let cell = match self.routes.get(&self.request_key) {
            Some(route) => {
                let cell = route.partition.key(facts);
                if let Some(books) = route.books.get(&cell) {
                    return Ok(books.clone());
                }
                cell
            }
            None => {
                let conditions = self.library.deciding_conditions(request.network, &mut self.sources)?;
                if self.routes.len() >= MOST_ROUTES {
                    self.routes.clear();
                }
                let route = Route { partition: Partition::of(&conditions), books: BTreeMap::new() };
                let cell = route.partition.key(facts);
                self.routes.insert(self.request_key.clone(), route);
                cell
            }
        };
        let rulebooks = self.library.rulebooks(request, facts, &mut self.sources)?;
        let books = Rc::new(Books::usable(rulebooks, request.in_place)?);
        if let Some(route) = self.routes.get_mut(&self.request_key) {
            route.books.insert(cell, books.clone());
        }
        Ok(books)
    }

    /// Reads the text of a site into a checked tree, what its devices display turned into settings.
    ///
    /// # Errors
    /// Every fault found.
    pub fn read_site(&mut self, source: SourceId, text: &str) -> Result<Node, Vec<Finding>> {
        match reader::read(source, text, Kind::Site) {
            Ok(root) => self.displayed(root),
            Err(mut findings) => {
                let root = settings_model::document::parse(source, text, &mut Vec::new());
                let displayed = root.map(|root| settings_model::labels::faults_beside(&root, &mut self.library, &mut self.sources));
                findings.extend(displayed.unwrap_or_default());
                Err(in_order(findings))
            }
        }
    }

    /// A site's checked tree with what its devices display turned into settings.
    ///
    /// # Errors
    /// See [`settings_model::labels::displayed()`].
    pub fn displayed(&mut self, root: Node) -> Result<Node, Vec<Finding>> {
        settings_model::labels::displayed(root, &mut self.library, self.today, &mut self.sources)
    }

    /// What one version of a network says, whatever dates it is for; `None` where it has no such
    /// region, or a file is at fault.
    pub(crate) fn books_of(&mut self, network: &str, version: &semver::Version, region: &str) -> Option<Rc<Books>> {
        let key = [network.to_owned(), version.to_string(), region.to_owned()];
        if let Some(books) = self.versions.get(&key) {
            return books.clone();
        }
        let rulebooks = self.library.rulebooks_of((network, version), region, &mut self.sources);
        let books = rulebooks.and_then(|rulebooks| Books::usable(rulebooks, None)).ok().map(Rc::new);
        self.versions.insert(key, books.clone());
        books
    }

    /// Judges a site as it was left: each device, and the installation as a whole.
    pub fn assess<'s>(&mut self, site: &'s SiteFile<'_>) -> Assessment<'s> {
        if self.governed_by == GovernedBy::Pins {
            return self.assess_pinned(site);
        }
        let facts = site.facts(self.today, None);
        match self.books(request(site), &facts) {
            Ok(books) => self.assess_under(site, &books),
            Err(refusal) => refused(refusal, None, facts),
        }
    }

    /// Judges a site by these requirements, whatever its dates call for.
    pub fn assess_under<'s>(&mut self, site: &'s SiteFile<'_>, books: &Books) -> Assessment<'s> {
        self.assess_by(site, books, &mut |assessor, device, facts| assessor.books(request_of(site, device), facts))
    }

    /// Judges a site by these requirements; `own` finds those of a device that stands under an edition
    /// of its own.
    fn assess_by<'s>(&mut self, site: &'s SiteFile<'_>, books: &Books, own: &mut OwnBooks<'_>) -> Assessment<'s> {
        let mut facts = site.facts(self.today, None);
        let book = books.on(Equipment::Inverter).clone();
        if let (None, Some(nominal)) = (facts.get(FactId::NominalVoltage), book.rulebook.nominal) {
            facts.set_number(FactId::NominalVoltage, nominal);
        }
        let mut notes = statements::of_site(site, &book.rulebook, self.today);
        let departures = departures(site, &book.rulebook, self.today, &mut notes);
        let mut devices = Vec::with_capacity(site.devices.0.len() + 1);
        for (name, device) in site.devices.iter() {
            let kind = Equipment::from(device.kind);
            let book = match &device.stands_under {
                None => books.on(kind).clone(),
                Some(_) => match own(self, device, &facts) {
                    Ok(own) => own.on(kind).clone(),
                    Err(refusal) => return refused(refusal.of_device(), Some(name), facts),
                },
            };
            let asked = Subject::of(name, kind, book.clone(), device.facts(facts.clone()), &departures, &mut notes);
            notes.extend(statements::edition(name, device, site, &book.rulebook, &asked.facts));
            notes.extend(ratings::of_device(name, device, site));
            let Some(left) = &device.as_left else {
                notes.push(nothing_recorded(name));
                continue;
            };
            let (region, certificate) = (region_stands(device, left, &book.rulebook), Certificate::of(device, &book.rulebook));
            if region == RegionStands::OtherRegion {
                notes.push(wrong_region(name, left, &book.rulebook, &certificate));
            }
            notes.extend(read_out::left_open(name, left));
            let moments = [("as-found", device.as_found.as_ref()), ("as-left", Some(left))];
            let held = moments.into_iter().filter_map(|(moment, holding)| Some((moment, &holding?.settings)));
            notes.extend(held.flat_map(|(moment, settings)| descending(name, moment, settings, &asked.facts)));
            let as_found = device.as_found.as_ref().map(|found| &found.settings);
            let labels = match self.labels(name, device, &mut notes) {
                Ok(labels) => labels,
                Err(findings) => return refused(findings.into(), Some(name), facts),
            };
            let percent_of = Some(book.rulebook.percent_of);
            let settings = labels::as_shown(left, labels.as_deref(), settings_model::labels::Site { facts: &asked.facts, percent_of });
            let held = Holds { settings, as_found, evidence: left.known_by, region, labels };
            let mut judged = judge_one(asked, held, &mut notes);
            judged.certificate = certificate;
            judged.not_implemented = read_out::not_implemented(left, &judged);
            notes.extend(read_out::beside(left, &judged));
            devices.push(judged);
        }
        devices.extend(installation(site, books, &facts, &departures, &mut notes));
        let is_installation_asked = books.on(Equipment::Installation).rulebook.says_anything();
        notes.extend(of_nothing(&departures, site, is_installation_asked));
        if site.devices.0.is_empty() {
            notes.push(no_devices());
        }
        for device in &mut devices {
            if device.faults.iter().any(|fault| fault.kind == UnmetKind::Fails) {
                device.cause = self.cause(site, device);
            }
        }
        let looked_at = practice::Site { devices: &devices, facts: &facts };
        let broken = practice::broken(&looked_at);
        let not_judged = not_judged::at(site, &looked_at);
        let verdict = verdict(&devices, &notes, &broken).max(not_judged::verdict(&not_judged)).max(verdict_by_disputes(&devices));
        Assessment { verdict, book: Some(book), facts, devices, broken, notes, not_judged, profile_findings: Vec::new() }
    }
}

/// The installation as a whole, where anything is asked of it.
fn installation<'s>(
    site: &SiteFile<'_>,
    books: &Books,
    facts: &Facts,
    departures: &[Departure],
    notes: &mut Vec<Note>,
) -> Option<DeviceResult<'s>> {
    let (name, kind) = (installation::NAME, Equipment::Installation);
    let book = books.on(kind).clone();
    let is_asked = book.rulebook.says_anything();
    let asked = is_asked.then(|| Subject::of(name, kind, book.clone(), facts.clone(), departures, notes));
    let figures = match &asked {
        Some(asked) => installation::figures(site, facts, &asked.counted.requirement),
        None if site.cables.0.is_empty() => return None,
        None => installation::figures(site, facts, &book.requirement(facts, &[]).requirement),
    };
    notes.extend(of_rise(&figures));
    let holds = |settings| Holds { settings, as_found: None, evidence: None, region: RegionStands::NotStated, labels: None };
    let mut judged = judge_one(asked?, holds(Cow::Owned(figures.highest)), notes);
    if let Some(lowest) = figures.lowest {
        let by_lowest = faults_of(&judged.counted, &judged.book, &lowest, None, RegionStands::NotStated, facts);
        let is_kept = |fault: &UnmetClaim| !by_lowest.iter().any(|other| other.setting == fault.setting && other.kind == fault.kind);
        let of_rise = |fault: &&mut UnmetClaim| [rise::TOTAL, rise::CONSUMER_MAINS].contains(&fault.setting);
        for fault in judged.faults.iter_mut().filter(of_rise).filter(|fault| is_kept(fault)) {
            fault.kind = UnmetKind::NotProven(MissingEvidence::TwoFigures);
        }
    }
    let is_of_cables = |fault: &UnmetClaim| figures.of_cables.contains(&fault.setting);
    let passed = |fault: &&UnmetClaim| matches!(fault.kind, UnmetKind::Fails | UnmetKind::NotProven(MissingEvidence::TwoFigures));
    notes.extend(judged.faults.iter().filter(passed).any(is_of_cables).then(by_whole_impedance));
    Some(judged)
}

/// What a device, or the installation, is asked.
struct Subject<'s> {
    name: &'s str,
    kind: Equipment,
    facts: Facts,
    book: Rc<Book>,
    counted: Rc<Counted>,
    departures: Vec<Departure>,
}

impl<'s> Subject<'s> {
    /// Lines that nobody can keep together are noted, whether or not anything was recorded yet: no
    /// sheet is printed on the strength of them.
    fn of(name: &'s str, kind: Equipment, book: Rc<Book>, facts: Facts, departures: &[Departure], notes: &mut Vec<Note>) -> Self {
        let departures = of_device(departures, (name, kind), &book, &facts, notes);
        let counted = book.requirement(&facts, &departures.iter().map(|d| (d.setting, d.verbs.clone())).collect::<Vec<_>>());
        if let Some(lines) = counted.contradiction_at(&facts) {
            notes.push(nobody_can_comply(name, (book.clone(), lines)));
        }
        notes.extend(counted.descent.map(|descent| required_points_descend(name, &book, descent, &departures)));
        Self { name, kind, facts, book, counted, departures }
    }
}

/// What it holds.
struct Holds<'s> {
    settings: Cow<'s, Settings>,
    as_found: Option<&'s Settings>,
    evidence: Option<Evidence>,
    region: RegionStands,
    labels: Option<Rc<LabelMap>>,
}

fn judge_one<'s>(asked: Subject<'s>, holds: Holds<'s>, notes: &mut Vec<Note>) -> DeviceResult<'s> {
    let Subject { name, kind, facts, book, counted, departures } = asked;
    let Holds { mut settings, as_found, evidence, region, labels } = holds;
    let mut faults = faults_of(&counted, &book, &settings, evidence, region, &facts);
    let exchanged = if faults.is_empty() { Vec::new() } else { exchanged(&settings, &counted.requirement, &facts) };
    if !exchanged.is_empty() {
        notes.extend(exchanged.iter().map(|pair| stages_exchanged(name, *pair)));
        settings = Cow::Owned(exchanged.iter().fold(settings.into_owned(), |settings, (one, other)| settings.exchanged(*one, *other)));
        faults = faults_of(&counted, &book, &settings, evidence, region, &facts);
    }
    DeviceResult {
        name,
        kind,
        settings,
        exchanged,
        evidence,
        as_found,
        labels,
        facts,
        book,
        counted,
        faults,
        cause: None,
        region,
        certificate: Certificate::NotStated,
        not_implemented: Vec::new(),
        departures,
    }
}

fn faults_of(
    counted: &Counted,
    book: &Book,
    settings: &Settings,
    evidence: Option<Evidence>,
    region: RegionStands,
    facts: &Facts,
) -> Vec<UnmetClaim> {
    let held = DeviceSettings { settings, evidence, region_stands: region == RegionStands::Yes, asked: &counted.requirement };
    let mut faults = Vec::new();
    judge(held, facts, &mut faults);
    judge_hanging(&counted.hanging, held, facts, |fault| book.rulebook.is_tie(fault.claim.why), &mut faults);
    faults
}

/// What a site asks the library for.
#[must_use]
pub fn request<'r>(site: &'r SiteFile<'_>) -> Request<'r> {
    Request::of(site)
}

/// What one device of a site asks the library for.
#[must_use]
pub fn request_of<'r>(site: &'r SiteFile<'_>, device: &'r Device<'_>) -> Request<'r> {
    Request::of_device(site, device)
}

/// Whether the region selected on a device stands for what is not stated of one moment.
#[must_use]
pub fn region_stands(device: &Device<'_>, holding: &Holding<'_>, rulebook: &Rulebook) -> RegionStands {
    let Some(selected) = &holding.region_selected else { return RegionStands::NotStated };
    if !rulebook.is_region(selected) {
        return RegionStands::OtherRegion;
    }
    if Certificate::of(device, rulebook) == Certificate::Fits { RegionStands::Yes } else { RegionStands::NotCertified }
}
