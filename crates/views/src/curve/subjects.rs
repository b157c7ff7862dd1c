//! Whose curves are shown: each device, with what is asked of it, or requirements by themselves.

use replay::held::{DeviceAtMoment, devices, site};
use response::characteristic::{Base, Circumstances, Points, Response};
use rules::assess::Assessor;
use rules::book::{Book, Counted};
use rules::envelope::Envelope;
use rules::operand::{Moment, Operand, OperandError, RequirementsOperand, SiteOperand};
use rules::percentages;
use rules::phrase::to_set;
use rules::provenance::{Figures, standing};
use settings_model::catalogue::{ENABLED, Equipment, SettingId};
use settings_model::claim::{Claim, Part};
use settings_model::exact::Exact;
use settings_model::facts::{FactId, Facts};
use settings_model::files::{Percentage, PowerBase};
use settings_model::quantity::Dimension;
use settings_model::requirement::Requirement;
use settings_model::value::Value;
use std::collections::BTreeMap;

/// One device or one set of requirements, as far as one response goes.
pub struct Subject {
    /// Site and device, or the requirements.
    pub title: String,
    /// What is required.
    pub required: Option<Points>,
    /// What complies, where claims say so.
    pub complies: Option<Envelope>,
    /// Within what the entitled may move it.
    pub adjustable: Option<Envelope>,
    /// Where, on the measured axis, the device has to trip sooner or later: as required, and as it holds.
    pub trips: Vec<Trip>,
    /// Whether the function has to be off or absent.
    pub must_be_idle: bool,
    /// What the device holds.
    pub held: HeldCurve,
    /// How many figures of what is asked there are, and how many of them nobody verified.
    pub figures: Figures,
    /// What a percentage is of, where that is known.
    pub rating: Option<Rating>,
    /// The facts it counts in.
    pub facts: Facts,
}

/// A threshold that says how much of a response is ever reached.
#[derive(Clone, Debug, PartialEq)]
pub struct Trip {
    /// The threshold.
    pub at: Exact,
    /// On which side of it the device trips: `above`.
    pub side: &'static str,
    /// What is held against it, where that is no moment: `10-minute average`.
    pub of: Option<&'static str>,
    /// Whether the device holds it; otherwise it is required.
    pub is_held: bool,
}

/// What a device holds of a response.
pub enum HeldCurve {
    /// No device is looked at.
    NoDevice,
    /// Nothing is stated.
    NotStated,
    /// Nothing is stated, and the region selected on the certified device stands for it.
    ByRegion,
    /// It is switched off, or the device lacks it.
    Idle(&'static str),
    /// This function.
    Points(Points),
}

/// What a percentage is of.
pub struct Rating {
    /// In watts or volt-amperes.
    pub of: Exact,
    /// Which rating.
    pub base: PowerBase,
    /// How that is known, where nobody verified it.
    pub unverified: Option<&'static str>,
}

impl Rating {
    /// `rated apparent power, 5 kVA`.
    pub fn shown(&self) -> String {
        let (words, dimension) = match self.base {
            PowerBase::RatedApparentPower => ("rated apparent power", Dimension::ApparentPower),
            PowerBase::RatedActivePower => ("rated active power", Dimension::ActivePower),
        };
        let known = self.unverified.map_or_else(String::new, |how| format!(" (that it is this rating: {how})"));
        format!("{words}, {}{known}", dimension.show(self.of))
    }
}

/// Everything that was named, in its order, where it requires or states something of a response.
/// Requirements are shown at `nominal` where it is said; those that leave it to the site, at that of a site beside them.
pub fn of_all(
    response: &Response,
    operands: &[(&str, Operand)],
    nominal: Option<Exact>,
    assessor: &mut Assessor,
) -> Result<Vec<Subject>, OperandError> {
    let mut sites = Vec::new();
    for (_, operand) in operands {
        sites.push(if let Operand::Site(site) = operand { of_site(response, site, assessor)? } else { Vec::new() });
    }
    let beside = sites.iter().flatten().find_map(|subject| subject.facts.number(FactId::NominalVoltage));
    let mut subjects = Vec::new();
    for ((word, operand), of_site) in operands.iter().zip(sites) {
        subjects.extend(of_site);
        if let Operand::Requirements(requirements) = operand {
            subjects.extend(of_requirements(response, requirements, word, [nominal, beside])?);
        }
    }
    Ok(subjects)
}

fn of_site(response: &Response, operand: &SiteOperand, assessor: &mut Assessor) -> Result<Vec<Subject>, OperandError> {
    let site = site(operand)?;
    let held = devices(operand, &site, operand.moment.unwrap_or(Moment::AsLeft), assessor)?;
    let inverters = held.into_iter().filter(|held| Equipment::from(held.device.kind) == Equipment::Inverter);
    Ok(inverters.filter_map(|held| of_device(response, held)).collect())
}

fn of_device(response: &Response, held: DeviceAtMoment<'_>) -> Option<Subject> {
    let asked = held.asked.as_ref().map(|(book, counted)| (&**book, &**counted));
    let circumstances = circumstances(asked.map(|(book, _)| book), &held.facts);
    let curve = held_curve(response, &held, circumstances);
    let points = response.setting("points").or(response.setting("start"));
    let covered = || asked.and_then(|(_, counted)| counted.requirement.get(points?)).is_some_and(|resolved| resolved.covered_by_region);
    let curve = if matches!(curve, HeldCurve::NotStated) && held.region_stands && covered() { HeldCurve::ByRegion } else { curve };
    let holding = held.holding.map(|holding| &holding.settings);
    let own = |setting: SettingId| holding?.get(setting)?.value.part(Part::Whole)?.at(&held.facts);
    let own = trips(response, true, own);
    let mut subject = Subject { held: curve, ..of_requirement(response, held.title, asked, held.facts) };
    subject.trips.extend(own);
    let says_something =
        subject.required.is_some() || subject.complies.is_some() || !matches!(subject.held, HeldCurve::NotStated | HeldCurve::ByRegion);
    says_something.then_some(subject)
}

fn of_requirements(
    response: &Response,
    operand: &RequirementsOperand,
    word: &str,
    [stated, beside]: [Option<Exact>; 2],
) -> Result<Option<Subject>, OperandError> {
    let (title, books) = operand.of_one_region(word)?;
    let book = books.on(Equipment::Inverter);
    let mut facts = Facts::default();
    // where nobody says of how many volts, one per unit counts as one
    let nominal = stated.or(book.rulebook.nominal).or(beside).unwrap_or(Exact::ONE);
    facts.set_number(FactId::NominalVoltage, nominal);
    let counted = book.requirement(&facts, &[]);
    let subject = of_requirement(response, title, Some((book, &counted)), facts);
    Ok((subject.required.is_some() || subject.complies.is_some()).then_some(subject))
}

fn of_requirement(response: &Response, title: String, asked: Option<(&Book, &Counted)>, facts: Facts) -> Subject {
    let requirement = asked.map(|(_, counted)| &counted.requirement);
    let circumstances = circumstances(asked.map(|(book, _)| book), &facts);
    let required = requirement.and_then(|requirement| required(response, requirement, circumstances));
    let envelope = |claims: Vec<Claim>| Envelope::of(&claims, response.setting("points")?, &facts);
    Subject {
        title,
        required,
        complies: requirement.and_then(|requirement| envelope(claims(response, requirement, |entry| &entry.comply))),
        adjustable: requirement.and_then(|requirement| envelope(claims(response, requirement, |entry| &entry.adjustable))),
        trips: trips(response, false, |setting| requirement?.get(setting)?.entry.require.as_ref()?.part(Part::Whole)?.at(&facts)),
        must_be_idle: requirement.zip(response.setting("state")).is_some_and(|(requirement, _)| is_kept_idle(response, requirement)),
        held: HeldCurve::NoDevice,
        figures: asked.map(|(book, counted)| figures(response, book, counted)).unwrap_or_default(),
        rating: asked.and_then(|(book, _)| rating(response.base, book, &facts)),
        facts,
    }
}

/// How the figures of a function are known.
fn figures(response: &Response, book: &Book, counted: &Counted) -> Figures {
    let of_function = counted.requirement.entries.iter().filter(|resolved| resolved.entry.setting.function().key == response.function);
    of_function.filter_map(|resolved| standing(&resolved.entry, &book.rulebook)).collect()
}

/// The nearest trips beyond nominal, which say how much of a response is ever reached.
fn trips(response: &Response, is_held: bool, at: impl Fn(SettingId) -> Option<Exact>) -> Vec<Trip> {
    let stage: Option<(&str, &str, Option<&str>)> = match response.axes[0].dimension {
        Dimension::Voltage => Some(("sustained-overvoltage", "above", Some("10-minute average"))),
        Dimension::Frequency if response.function == "over-frequency-response" => Some(("overfrequency-1", "above", None)),
        Dimension::Frequency => Some(("underfrequency-1", "below", None)),
        _ => None,
    };
    let trip = |(function, side, of)| Some(Trip { at: at(SettingId::find(function, "threshold")?)?, side, of, is_held });
    stage.and_then(trip).into_iter().collect()
}

/// What is required, as if a device held it.
fn required(response: &Response, requirement: &Requirement, circumstances: Circumstances<'_>) -> Option<Points> {
    let of_function = requirement.entries.iter().filter(|resolved| resolved.entry.setting.function().key == response.function);
    let values: BTreeMap<SettingId, Value> =
        of_function.filter_map(|r| Some((r.entry.setting, to_set(&r.entry, &requirement.ties, circumstances.facts)?))).collect();
    response.points(|id| values.get(&id), circumstances)
}

/// The claims on a function; those on other settings than its points say what its points count from.
fn claims(response: &Response, requirement: &Requirement, of: impl Fn(&settings_model::entry::Entry) -> &Vec<Claim>) -> Vec<Claim> {
    let points = response.setting("points");
    let of_function = requirement.entries.iter().filter(|resolved| resolved.entry.setting.function().key == response.function);
    // what a curve may be is shown even where it is switched off
    of_function
        .filter(|r| !r.entry.setting.is_state())
        .flat_map(|r| if Some(r.entry.setting) == points { of(&r.entry) } else { &r.entry.comply })
        .cloned()
        .collect()
}

fn is_kept_idle(response: &Response, requirement: &Requirement) -> bool {
    let others = requirement.entries.iter().map(|r| r.entry.setting).filter(|id| id.function().key == response.function && !id.is_state());
    others.into_iter().any(|id| requirement.keeps_idle(id))
}

fn held_curve(response: &Response, held: &DeviceAtMoment<'_>, circumstances: Circumstances<'_>) -> HeldCurve {
    let Some(settings) = held.holding.map(|holding| &holding.settings) else { return HeldCurve::NotStated };
    let state = response.setting("state").and_then(|state| settings.get(state));
    if let Some(Value::Word(word)) = state.map(|known| &known.value).filter(|value| **value != Value::Word(ENABLED)) {
        return HeldCurve::Idle(settings_model::catalogue::STATES[usize::from(*word)]);
    }
    let points = response.points(|id| settings.get(id).map(|known| &known.value), circumstances);
    points.map_or(HeldCurve::NotStated, HeldCurve::Points)
}

fn circumstances<'c>(book: Option<&Book>, facts: &'c Facts) -> Circumstances<'c> {
    Circumstances { facts, nominal_frequency: book.and_then(|book| book.rulebook.nominal_frequency) }
}

/// The rating that the standard takes percentages of, where the site states it.
fn rating(base: Base, book: &Book, facts: &Facts) -> Option<Rating> {
    let percent_of = book.rulebook.percent_of?;
    let (base, kind) = match base {
        Base::Active => (percent_of.active, Percentage::OfActivePower),
        Base::Reactive => (percent_of.reactive, Percentage::OfReactivePower),
        Base::Nothing => return None,
    };
    Some(Rating { of: facts.number(base.fact())?, base, unverified: percentages::unverified(&book.rulebook, kind) })
}
