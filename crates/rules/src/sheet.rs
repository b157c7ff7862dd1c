//! What must be set at a site: every required setting, sorted by what a person does with it.

mod crew;
mod display;

pub(crate) use display::asks_for;

use crate::assess::{Assessor, Certificate};
use crate::book::{Book, Counted};
use crate::departures::{Departure, departures, of_device};
use crate::installation;
use crate::phrase::{adjustable, complies_within, origin, to_set, under, value_here};
use crate::provenance::{Figures, Standing, standing};
use settings_model::attested::Read;
use settings_model::catalogue::{Equipment, HeldBy, SettingId, Shape};
use settings_model::claim::{Citation, Evidence, Limit, Term};
use settings_model::entry::{Entry, Who};
use settings_model::exact::Exact;
use settings_model::facts::{FactId, Facts};
use settings_model::files::SiteFile;
use settings_model::labels::{LabelMap, Site};
use settings_model::library::Refusal;
use settings_model::quantity::Dimension;
use settings_model::requirement::{Requirement, Resolved};
use settings_model::slip::one_of;
use settings_model::value::{Point, Value};
use std::rc::Rc;
use std::sync::Arc;

/// Of what nobody sets by hand, where the value would stand.
pub const BY_THE_REGION: &str = "set by the region";

/// How earlier versions wrote it: records keep it.
pub const ONCE_BY_THE_REGION: &str = "by the region";

/// Of what is left to the network operator, where the value would stand: the range alone is no value to set.
pub const BY_THE_OPERATOR: &str = "set by the network operator";

/// Of what has cases and none for such a site, where the value would stand.
pub const NO_CASE: &str = "ask the network operator: the requirement has no case for this site";

/// What to mind, on every sheet.
pub const CAUTIONS: [&str; 4] = [
    "Wrong settings can hurt people. Only licensed persons may change them, under local rules.",
    "The network operator's own document and the connection approval decide; this sheet does not replace them.",
    "Figures marked from memory or single source must be compared with a licensed copy before use.",
    "With storage and backup, opening the supply leaves backup circuits live: prove dead before touching.",
];

/// What a person does with a row.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Task {
    /// Enter the value: the selected region does not bring it.
    Enter,
    /// Read it back: it comes with the selected region.
    Verify,
    /// Nobody sets it: the device's type test shows it.
    TypeTest,
    /// Nobody sets it: it follows from the devices chosen and the cables laid.
    WorkOut,
    /// The demand exists, but its content was not seen.
    NotChecked,
}

/// One required setting.
#[derive(Clone, Debug)]
pub struct Row {
    /// The setting.
    pub setting: SettingId,
    /// What a person does with it.
    pub task: Task,
    /// The value to set; `None` where a range is left as the region sets it.
    pub set: Option<Value>,
    /// The value to set, in words.
    pub required: String,
    /// The same in per unit of the nominal voltage, one for each point of a curve.
    pub per_unit: Option<String>,
    /// What complies.
    pub complies_within: String,
    /// How it has to be known, where that is asked.
    pub known_by: Option<String>,
    /// Who may change it, and within what.
    pub moved_by: (Who, Option<String>),
    /// The layer and line that asks for it.
    pub origin: String,
    /// How it is known, with what offices read.
    pub standing: Option<Standing>,
    /// What an office read of it in its licensed copy.
    pub read: Option<Arc<Read>>,
    /// Where the number was found.
    pub citation: Option<Citation>,
    /// The reason given.
    pub because: Option<String>,
    /// Where it is found on the display, and what to enter there; a curve part by part.
    pub display: Vec<OnDisplay>,
}

/// A setting, or a part of it, on the display of a device. Whether it is entered or only read back, the row's task says.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct OnDisplay {
    /// Of a curve, which part: `point 2`.
    pub part: Option<String>,
    /// The display's words.
    pub words: String,
    /// In which menu they are found.
    pub menu: Option<String>,
    /// What it has to show; `None` where no one value is asked for, or it cannot be worked out.
    pub shows: Option<String>,
    /// What else to know: that it is the nearest that can be shown, that it is another time, or what the
    /// map says.
    pub note: Option<String>,
}

/// The label map of a device.
#[derive(Clone, Debug)]
pub enum Labels {
    /// None is for it.
    None,
    /// It is used.
    Used {
        /// The map.
        map: Rc<LabelMap>,
        /// Where the region is selected, and by which word.
        region: Option<OnDisplay>,
    },
    /// One is there, and is not used; why, and what to do.
    NotUsed(String, String),
}

/// Every required setting of a site, in catalogue order within each task.
#[must_use]
pub fn rows(book: &Book, requirement: &Requirement, facts: &Facts, departures: &[Departure]) -> Vec<Row> {
    let hanging = book.rulebook.hanging(facts);
    let mut rows: Vec<Row> = requirement
        .entries
        .iter()
        .filter(|resolved| !resolved.entry.demands_nothing() && !requirement.keeps_idle(resolved.entry.setting))
        .map(|resolved| row(book, requirement, resolved, facts, departures))
        .collect();
    for (setting, unknown) in hanging {
        rows.retain(|row| row.setting != setting);
        rows.push(hanging_row(book, setting, &unknown, facts));
    }
    rows.sort_by_key(|row| (row.task, row.setting));
    rows
}

/// The sheet of one device, or of the installation as a whole.
#[derive(Clone, Debug)]
pub struct DeviceSheet {
    /// Its name in the site's file.
    pub name: String,
    /// What it is.
    pub kind: Equipment,
    /// The region to select.
    pub region: String,
    /// Why none is to be selected, where the device is certified to another edition, which has none of these regions.
    pub no_region: Option<String>,
    /// Whether the region, once it is selected, stands for values that it brings: the device is stated to be certified.
    pub region_stands: bool,
    /// What it stands under.
    pub under: String,
    /// Its rows.
    pub rows: Vec<Row>,
    /// What its display calls them.
    pub labels: Labels,
    /// The key of the base standard that it stands under.
    pub standard: String,
    /// How far a response may lie off in a test, per cent of the rating, and where that is from.
    pub response_tolerance: Option<(Exact, Arc<Citation>)>,
    /// What its rows are from.
    pub counted: Rc<Counted>,
    /// The facts of the site and the device.
    pub facts: Facts,
}

impl DeviceSheet {
    /// How the figures on it are known.
    #[must_use]
    pub fn figures(&self) -> Figures {
        self.rows.iter().filter_map(|row| row.standing).collect()
    }
}

/// The sheets of a site: one for each device, recorded or not, and one for the installation where
/// anything is asked of it.
///
/// # Errors
/// See [`Refusal`].
pub fn sheets(assessor: &mut Assessor, site: &SiteFile<'_>, facts: &Facts) -> Result<Vec<DeviceSheet>, Refusal> {
    let devices = site.devices.iter().map(|(name, device)| (name, Equipment::from(device.kind), device.facts(facts.clone()), Some(device)));
    let whole = (installation::NAME, Equipment::Installation, facts.clone(), None);
    let mut sheets = Vec::new();
    for (name, kind, facts, device) in devices.chain([whole]) {
        let books = assessor.books_for(site, device, &facts)?;
        let book = books.on(kind);
        let departures = departures(site, &book.rulebook, assessor.today, &mut Vec::new());
        let own = of_device(&departures, (name, kind), book, &facts, &mut Vec::new());
        let laid: Vec<_> = own.iter().map(|d| (d.setting, d.verbs.clone())).collect();
        let counted = book.requirement(&facts, &laid);
        let mut rows = rows(book, &counted.requirement, &facts, &own);
        let labels = device.map_or(Ok(Labels::None), |device| display::labels(assessor, device, book))?;
        if let Labels::Used { map, .. } = &labels {
            let site = Site { facts: &facts, percent_of: Some(book.rulebook.percent_of) };
            rows.iter_mut().for_each(|row| row.display = display::of_row(map, row, &counted.requirement, site));
        }
        if kind != Equipment::Installation || !rows.is_empty() {
            sheets.push(DeviceSheet {
                name: name.to_owned(),
                kind,
                region: book.rulebook.region_title.clone(),
                no_region: device
                    .filter(|_| kind == Equipment::Inverter)
                    .and_then(|device| Certificate::of(device, &book.rulebook).keeps_from_selecting(&book.rulebook.region_title)),
                region_stands: device.is_some_and(|device| Certificate::of(device, &book.rulebook) == Certificate::Fits),
                under: under(&book.rulebook),
                rows,
                labels,
                standard: book.rulebook.standard.0.clone(),
                response_tolerance: book.rulebook.response_tolerance.clone(),
                counted,
                facts,
            });
        }
    }
    Ok(sheets)
}

fn row(book: &Book, requirement: &Requirement, resolved: &Resolved, facts: &Facts, departures: &[Departure]) -> Row {
    let entry = &resolved.entry;
    let setting = entry.setting;
    let set = to_set(entry, &requirement.ties, facts).filter(|_| entry.require.is_some() || !resolved.covered_by_region);
    let complies = complies_at_site(entry, requirement, facts).unwrap_or_default();
    let why = entry.comply.first().map(|claim| claim.why).or(entry.decided_by());
    let line = why.and_then(|why| book.rulebook.whys.get(why));
    let disputed = entry.comply.iter().find_map(|claim| book.rulebook.whys.get(claim.why)?.disputed());
    let required = match &set {
        Some(value) => shown(value, setting, facts),
        None if entry.no_case().is_some() => NO_CASE.to_owned(),
        None if entry.is_left_open() => BY_THE_OPERATOR.to_owned(),
        None if resolved.covered_by_region => BY_THE_REGION.to_owned(),
        None => complies.clone(),
    };
    // which of the two holds nobody can tell from here
    let required = match disputed {
        Some(read) => format!("{required}; a licensed copy says {}", read.value),
        None => required,
    };
    Row {
        setting,
        task: task(resolved),
        per_unit: set.as_ref().and_then(|value| per_unit(value, setting, facts)),
        required,
        complies_within: with_unknown(entry, complies),
        known_by: known_by(entry),
        moved_by: (entry.moved_by, adjustable(entry, facts)),
        origin: why.map(|why| origin(why, &book.rulebook, departures, setting)).unwrap_or_default(),
        standing: standing(entry, &book.rulebook),
        read: disputed.or(line.and_then(|l| l.read.as_ref())).cloned(),
        citation: line.and_then(|l| l.citation.as_deref()).cloned(),
        because: line.and_then(|l| l.because.as_deref()).map(str::to_owned),
        set,
        display: Vec::new(),
    }
}

/// What complies with an entry, with what of it nobody knows: `at most 255 V; what else is asked was not seen`.
#[must_use]
pub fn with_unknown(entry: &Entry, complies: String) -> String {
    let (alone, beside) = match (entry.no_case(), entry.is_gap()) {
        (Some(_), _) => ("not known", "is not known"),
        (None, true) => ("not seen", "was not seen"),
        (None, false) => return complies,
    };
    if complies.is_empty() { alone.to_owned() } else { format!("{complies}; what else is asked {beside}") }
}

/// What complies here: a limit tied to a fact of the site, such as the approved export, counts too.
fn complies_at_site(entry: &Entry, requirement: &Requirement, facts: &Facts) -> Option<String> {
    let tied = requirement.ties.iter().filter(|tie| tie.on == Term::Var(entry.setting.into()));
    let claims = entry.comply.iter().chain(tied).cloned().collect();
    complies_within(&Entry { comply: claims, ..entry.clone() }, facts)
}

fn task(resolved: &Resolved) -> Task {
    match (resolved.entry.is_all_gap(), resolved.entry.setting.parameter().held_by) {
        (true, _) => Task::NotChecked,
        (false, HeldBy::TypeTest) => Task::TypeTest,
        (false, HeldBy::AddedUp | HeldBy::Calculated) => Task::WorkOut,
        (false, _) if resolved.covered_by_region && comes_with_region(resolved) => Task::Verify,
        (false, _) => Task::Enter,
    }
}

/// `read-out or photo`, where evidence is asked for.
pub(crate) fn known_by(entry: &Entry) -> Option<String> {
    let kinds = entry.comply.iter().find_map(|claim| if let Limit::Stated(kinds) = claim.limit { Some(kinds) } else { None })?;
    let words: Vec<&str> = Evidence::ALL.into_iter().filter(|kind| kinds.has(*kind as u8)).map(Evidence::in_print).collect();
    Some(one_of(&words))
}

/// Whether a device brings with its region what is asked: a value that a network moves has to be
/// entered, even where what the region brings would do.
fn comes_with_region(resolved: &Resolved) -> bool {
    resolved.entry.require.is_none() || resolved.entry.require == resolved.base.require
}

/// A row that depends on a fact the site does not state: every possibility is shown.
fn hanging_row(book: &Book, setting: SettingId, unknown: &[FactId], facts: &Facts) -> Row {
    let alternatives = book.rulebook.alternatives(setting, facts);
    let mut possible: Vec<String> = Vec::new();
    for complies in alternatives.iter().filter_map(|a| complies_within(&a.entry, facts)) {
        if !possible.contains(&complies) {
            possible.push(complies);
        }
    }
    let titles: Vec<&str> = unknown.iter().map(|fact| fact.row().title).collect();
    let stated_as: Vec<&str> = unknown.iter().map(|fact| fact.row().stated_as).collect();
    let why = alternatives.first().and_then(|a| a.entry.decided_by());
    let line = why.and_then(|why| book.rulebook.whys.get(why));
    // no better than the worst of what may be asked
    let standings = || alternatives.iter().filter_map(|possible| standing(&possible.entry, &book.rulebook));
    let unverified = standings().filter(|standing| standing.is_unverified()).max();
    Row {
        setting,
        task: match setting.parameter().held_by {
            HeldBy::TypeTest => Task::TypeTest,
            HeldBy::AddedUp | HeldBy::Calculated => Task::WorkOut,
            HeldBy::Setting | HeldBy::AmbiguousDisplay => Task::Enter,
        },
        set: None,
        required: format!("depends on the {}: fill in {}", titles.join(" and the "), stated_as.join(" and ")),
        per_unit: None,
        complies_within: possible.join(", or "),
        known_by: None,
        moved_by: (Who::Nobody, None),
        origin: why.map(|why| origin(why, &book.rulebook, &[], setting)).unwrap_or_default(),
        standing: unverified.or_else(|| standings().next()),
        read: None,
        citation: line.and_then(|line| line.citation.as_deref()).cloned(),
        because: None,
        display: Vec::new(),
    }
}

/// A value in the units of the site: a multiple of a fact is worked out where the fact is known.
#[must_use]
pub fn shown(value: &Value, setting: SettingId, facts: &Facts) -> String {
    match (value, setting.parameter().shape) {
        (Value::Quantity(amount), Shape::Quantity(dimension)) => {
            amount.at(facts).map_or_else(|| amount.show(dimension), |n| dimension.show(n))
        }
        _ => value_here(value, facts).show(setting),
    }
}

/// Volts in per unit of the nominal voltage, to four decimals, for reading only.
fn per_unit(value: &Value, setting: SettingId, facts: &Facts) -> Option<String> {
    let nominal = facts.number(FactId::NominalVoltage)?;
    let of = |volts: Exact| volts.divided_roughly(nominal, 4).map(|pu| pu.to_string());
    match (value, setting.parameter().shape) {
        (Value::Quantity(amount), Shape::Quantity(Dimension::Voltage)) => of(amount.at(facts)?),
        (Value::Curve(points), Shape::Curve { x: Dimension::Voltage, .. }) => {
            let each: Option<Vec<String>> = points.iter().map(|Point { x, .. }| of(x.at(facts)?)).collect();
            each.map(|points| points.join(", "))
        }
        _ => None,
    }
}
