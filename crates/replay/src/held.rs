//! A device of a site at one moment: what it holds, and what is asked of it today.

use rules::assess::{Assessor, Note, OUT_OF_ORDER, RegionStands, descending, region_stands, request_of};
use rules::book::{Book, Counted};
use rules::departures::{departures, of_device};
use rules::operand::{Moment, OperandError, SiteOperand};
use settings_model::catalogue::Equipment;
use settings_model::document::Node;
use settings_model::exact::Exact;
use settings_model::facts::{FactId, Facts};
use settings_model::files::{Device, Holding, SiteFile};
use settings_model::finding::Finding;
use settings_model::places::Places;
use settings_model::reader;
use std::rc::Rc;

/// A device of a site at one moment.
#[derive(Clone)]
pub struct DeviceAtMoment<'s> {
    /// Site and device, for people.
    pub title: String,
    /// Its name in the site's file.
    pub name: &'s str,
    /// The device.
    pub device: &'s Device<'s>,
    /// What it holds; `None` where nothing is recorded.
    pub holding: Option<&'s Holding<'s>>,
    /// Whether the region selected on it stands for what is not stated.
    pub region_stands: bool,
    /// The facts of the site and the device.
    pub facts: Facts,
    /// What is asked of it, where the site's requirements can be told.
    pub asked: Option<(Rc<Book>, Rc<Counted>)>,
    /// Whether it stands for a requirement: a device that holds what is asked, and nothing else.
    pub is_requirement: bool,
}

/// Where nobody says otherwise, in hertz.
const USUAL_FREQUENCY: f64 = 50.0;

impl DeviceAtMoment<'_> {
    /// Nominal frequency of its network, in hertz, as its standard has it.
    pub fn nominal_frequency(&self) -> f64 {
        let rulebook = self.asked.as_ref().map(|(book, _)| &book.rulebook);
        rulebook.and_then(|rulebook| rulebook.nominal_frequency).map_or(USUAL_FREQUENCY, Exact::approximate)
    }

    /// A device with the facts of this one that holds what a book asks of it.
    pub fn as_required(&self, title: String, book: &Rc<Book>) -> Self {
        let facts = self.facts.clone();
        let asked = Some((book.clone(), book.requirement(&facts, &[])));
        Self { title, name: self.name, device: self.device, holding: None, region_stands: false, facts, asked, is_requirement: true }
    }
}

/// The typed site of an operand.
pub fn site(operand: &SiteOperand) -> Result<SiteFile<'_>, OperandError> {
    Ok(reader::typed(&operand.root)?)
}

/// The devices of a site that an operand means, or that one device, at its moment.
pub fn devices<'s>(
    operand: &SiteOperand,
    site: &'s SiteFile<'s>,
    moment: Moment,
    assessor: &mut Assessor,
) -> Result<Vec<DeviceAtMoment<'s>>, OperandError> {
    let names: Vec<&str> = site.devices.iter().map(|(name, _)| name).collect();
    let wanted = operand.device.as_deref();
    if let Some(device) = wanted.filter(|device| !names.contains(device)) {
        return Err(OperandError::Words(format!("{} has no device `{device}`; it has {}", site.site, names.join(", "))));
    }
    // without what its region brings, a device would seem to do less than it does
    let assessment = assessor.assess(site);
    let findings = if assessment.book.is_none() { rules::wording::findings(&assessment, &operand.root) } else { Vec::new() };
    if !findings.is_empty() {
        return Err(findings.into());
    }
    let is_required = |note: &&Note| note.name == OUT_OF_ORDER && note.path.first().is_some_and(|step| step != "devices");
    let mut notes: Vec<Note> = assessment.notes.iter().filter(is_required).cloned().collect();
    let held = held(site, moment, assessor, |name, _| wanted.is_none_or(|device| device == name));
    notes.extend(held.iter().flat_map(|held| out_of_order(held, moment)));
    let findings: Vec<Finding> = notes.into_iter().map(|note| finding(note, &operand.root)).collect();
    if findings.is_empty() { Ok(held) } else { Err(findings.into()) }
}

/// Curves that are no function of anything, so that nobody can play them.
fn out_of_order(held: &DeviceAtMoment<'_>, moment: Moment) -> Vec<Note> {
    let moment = match moment {
        Moment::AsFound => "as-found",
        Moment::AsLeft => "as-left",
    };
    held.holding.map(|holding| descending(held.name, moment, &holding.settings, &held.facts)).unwrap_or_default()
}

fn finding(note: Note, root: &Node) -> Finding {
    let path: Vec<&str> = note.path.iter().map(String::as_str).collect();
    Finding { hint: note.hint, ..Finding::new(note.outcome, note.name, root.place(&path), note.headline) }
}

/// The grid protection relays of a site, whichever device an operand means.
pub fn relays<'s>(site: &'s SiteFile<'s>, moment: Moment, assessor: &mut Assessor) -> Vec<DeviceAtMoment<'s>> {
    held(site, moment, assessor, |_, device| Equipment::from(device.kind) == Equipment::GridProtectionRelay)
}

fn held<'s>(
    site: &'s SiteFile<'s>,
    moment: Moment,
    assessor: &mut Assessor,
    is_meant: impl Fn(&str, &Device<'_>) -> bool,
) -> Vec<DeviceAtMoment<'s>> {
    let assessment = assessor.assess(site);
    let is_settled = assessment.book.is_some();
    let meant = site.devices.iter().filter(|(name, device)| is_meant(name, device));
    let held = meant.map(|(name, device)| {
        let mut facts = device.facts(assessment.facts.clone());
        let asked = if is_settled { asked(site, device, name, &facts, assessor) } else { None };
        if facts.get(FactId::NominalVoltage).is_none() {
            facts.set_number(FactId::NominalVoltage, 230.into()); // AS 60038 and IEC 60038, line to neutral
        }
        let holding = match moment {
            Moment::AsFound => device.as_found.as_ref(),
            Moment::AsLeft => device.as_left.as_ref(),
        };
        let stands =
            |(holding, (book, _)): (&Holding<'_>, &(Rc<Book>, _))| region_stands(device, holding, &book.rulebook) == RegionStands::Yes;
        let region_stands = holding.zip(asked.as_ref()).is_some_and(stands);
        DeviceAtMoment {
            region_stands,
            title: format!("{} / {name}", site.title()),
            name,
            device,
            holding,
            facts,
            asked,
            is_requirement: false,
        }
    });
    held.collect()
}

fn asked(site: &SiteFile<'_>, device: &Device<'_>, name: &str, facts: &Facts, assessor: &mut Assessor) -> Option<(Rc<Book>, Rc<Counted>)> {
    let books = assessor.books(request_of(site, device), facts).ok()?;
    let kind = Equipment::from(device.kind);
    let book = books.on(kind).clone();
    let departures = departures(site, &book.rulebook, assessor.today, &mut Vec::new());
    let own = of_device(&departures, (name, kind), &book, facts, &mut Vec::new());
    let own: Vec<_> = own.into_iter().map(|d| (d.setting, d.verbs)).collect();
    let counted = book.requirement(facts, &own);
    Some((book, counted))
}
