//! Whom a breaking change strands: a whole site that complied and no longer does.
//!
//! The algebra finds a device that keeps all that was asked of its kind and breaks a claim that is
//! asked now; what else the site needs to comply is found beside it. The site is then written as a
//! file, read back and judged, so that what is shown is never only believed.

use super::{Reason, Weighed};
use crate::assess::{Assessment, Assessor, Books};
use crate::compare::asked_in::{asked_in, sum_of_fact};
use crate::compare::relay;
use crate::compare::versions::{CELLS_TRIED, Change};
use crate::core::core;
use crate::escape::{Proof, escape};
use crate::example_site::{Under, site_text};
use crate::judge::{UnmetClaim, UnmetKind};
use crate::provenance::Verdict;
use crate::satisfy::satisfy;
use crate::witness::{Witness, WitnessValue};
use settings_model::catalogue::{Equipment, SettingId};
use settings_model::cells::Partition;
use settings_model::claim::{Claim, Limit, Part, Var};
use settings_model::curve;
use settings_model::entry::Entry;
use settings_model::exact::Exact;
use settings_model::facts::{FactId, Facts};
use settings_model::files::{Kind, SiteFile};
use settings_model::reader;
use settings_model::requirement::Rulebook;
use settings_model::value::Value;

/// A site that complied and no longer does.
#[derive(Clone, Debug, PartialEq)]
pub struct Example {
    /// The facts that were needed.
    pub facts: Facts,
    /// The device that the change is about.
    pub witness: Witness,
    /// All that the site has, each with what it holds.
    pub devices: Vec<(Equipment, Witness)>,
    /// The whole site, as a file.
    pub site: String,
}

/// Looks for a site that the change strands. That none is found proves nothing.
pub(super) fn stranded(weighed: &Weighed, old: &Books, new: &Books, under: Under<'_>, assessor: &mut Assessor) -> Option<Example> {
    sites_before(&weighed.change, weighed.kind, (old, new), under).find_map(|example| {
        let undated = is_stranded(&example, weighed, (old, new), assessor).then_some(example)?;
        let dated = dated(&undated, (old, new), under, assessor);
        Some(dated.filter(|dated| is_stranded(dated, weighed, (old, new), assessor)).unwrap_or(undated))
    })
}

/// Of a change of a relay where nothing was asked of one before: a site that complied without, and has to have
/// one now.
pub(super) fn without_relay(weighed: &Weighed, all: &[Weighed], old: &Books) -> Option<Example> {
    let kind = Equipment::GridProtectionRelay;
    if weighed.kind != kind || old.on(kind).rulebook.says_anything() {
        return None;
    }
    let needed = all.iter().filter(|one| one.kind == Equipment::Installation && one.change.setting == relay());
    let stranded = needed.filter_map(|one| one.example.as_ref());
    let mut without = stranded.filter(|example| example.devices.iter().all(|(other, _)| *other != kind));
    let concerned = without.find(|example| weighed.change.sites.hold(&example.facts) == Some(true))?;
    Some(Example { witness: Witness { facts: concerned.facts.clone(), ..Witness::default() }, ..concerned.clone() })
}

/// Whole sites in the cells of a change that may have complied before it: what the algebra finds, not yet
/// judged. First those that break what is asked now.
pub fn sites_before<'s>(
    change: &'s Change,
    kind: Equipment,
    (old, new): (&'s Books, &'s Books),
    under: Under<'s>,
) -> impl Iterator<Item = Example> + 's {
    let (rulebook, newer) = (&old.on(kind).rulebook, &new.on(kind).rulebook);
    // of the newer version's other conditions not every answer is tried: first one by which a sum that is a fact of the
    // site breaks what is asked of it
    let is_sum = sum_of_fact(change.setting).is_some();
    let answered = move |facts: Facts| {
        let mut answers = newer.examples_of_cells(&facts).filter_map(possible).filter(|_| is_sum);
        let breaks = answers.find(|facts| sum_breaks(change, facts));
        let all = newer.examples_of_cells(&facts).filter_map(possible).take(CELLS_TRIED);
        breaks.into_iter().chain(all.filter(|facts| has_cases(rulebook, facts)).take(2)).collect::<Vec<_>>()
    };
    let of_one_site = change.examples.iter().cloned().filter_map(possible);
    let cells =
        of_one_site.flat_map(|facts| rulebook.examples_of_cells(&facts).collect::<Vec<_>>()).filter_map(possible).flat_map(answered);
    let cells = cells.filter(move |facts| has_cases(rulebook, facts));
    let of_cell = move |facts: Facts| {
        let before = asked_in(rulebook, kind, &facts);
        let witnesses = if core(&before, &facts).is_some() { Vec::new() } else { witnesses(change, &before, &facts) };
        let completed = move |witness| completed(kind, asked_for(witness, old, kind, &facts, Some(change.setting)), old, under);
        witnesses.into_iter().filter_map(completed)
    };
    cells.take(CELLS_TRIED).flat_map(of_cell)
}

/// Whether what is asked by cases has one for such a site: where it has none, no site complied.
fn has_cases(rulebook: &Rulebook, facts: &Facts) -> bool {
    rulebook.resolve(facts).entries.iter().all(|resolved| resolved.entry.no_case().is_none())
}

/// Whether a site of these facts breaks what a change asks of a sum, however its devices are set.
fn sum_breaks(change: &Change, facts: &Facts) -> bool {
    let sum = sum_of_fact(change.setting).and_then(|fact| facts.number(fact));
    let claims = change.new.iter().flat_map(|asked| &asked.comply);
    let edges = claims.filter_map(|claim| if let Limit::AtMost(bound) = claim.limit { bound.value.at(facts) } else { None });
    sum.is_some_and(|sum| edges.min().is_some_and(|most| sum > most))
}

/// Devices that keep what was asked and may not keep what is asked now; then others that keep it.
fn witnesses(change: &Change, before: &[Claim], facts: &Facts) -> Vec<Witness> {
    let setting = change.setting;
    let own_state: Vec<SettingId> = setting.state().into_iter().collect();
    let satisfying = |enabled: &[SettingId]| satisfy(before, facts, enabled).ok().flatten();
    let claims = change.new.iter().flat_map(|asked| &asked.comply);
    let escapes = claims.filter_map(|claim| match escape(before, claim, &[], facts) {
        Proof::Escapes(witness) => Some(*witness),
        Proof::Implied | Proof::Unproven(_) => None,
    });
    let mut witnesses: Vec<Witness> = escapes.collect();
    if change.reason == Reason::OtherPointsLost {
        let required = change.old.as_ref().and_then(|entry| entry.require.as_ref());
        let written = satisfying(&own_state).zip(required).and_then(|(witness, required)| in_other_points(witness, setting, required));
        witnesses.splice(..0, written);
    }
    // of what was not asked nothing had to be stated
    if change.old.as_ref().is_none_or(Entry::demands_nothing) {
        let unstated = satisfying(&[]).map(|mut witness| {
            witness.settings.retain(|var, _| var.setting != setting);
            witness
        });
        witnesses.extend(unstated);
    }
    witnesses.extend(satisfying(&own_state));
    witnesses.extend(satisfying(&[]));
    witnesses
}

/// The device with the required response written with a further point on its flat end.
fn in_other_points(mut witness: Witness, setting: SettingId, required: &Value) -> Option<Witness> {
    let Value::Curve(points) = required else { return None };
    let mut points = curve::at_site(points, &witness.facts)?;
    let (last, level) = *points.last()?;
    points.push((last + Exact::ONE, level));
    witness.settings.retain(|var, _| var.setting != setting);
    let mut hold = |part, number| _ = witness.settings.insert(Var { setting, part }, WitnessValue::Number(number));
    hold(Part::PointCount, Exact::from(i64::try_from(points.len()).ok()?));
    for (n, (x, y)) in (0..).zip(points) {
        hold(Part::X(n), x);
        hold(Part::Y(n), y);
    }
    Some(witness)
}

/// The example without what nobody asks for: nobody would state it, and rules that no claim says may
/// see more in it than was meant.
fn asked_for(mut witness: Witness, books: &Books, kind: Equipment, facts: &Facts, besides: Option<SettingId>) -> Witness {
    let requirement = books.on(kind).rulebook.resolve(facts);
    let is_asked = |setting: SettingId| match setting.is_state() {
        true => requirement.asks_of_function(setting) && requirement.get(setting).is_none_or(|resolved| !resolved.entry.is_gap()),
        false => requirement.get(setting).is_some_and(|resolved| !resolved.entry.demands_nothing() && !resolved.entry.is_gap()),
    };
    let belongs = |setting: SettingId| is_asked(setting) || besides.is_some_and(|one| setting == one || one.state() == Some(setting));
    witness.settings.retain(|var, _| belongs(var.setting));
    witness.evidence.retain(|var, _| belongs(var.setting));
    witness
}

/// The facts of a site of one inverter, whose ratings are those of the site; `None` where they could
/// not be of one site.
fn possible(mut facts: Facts) -> Option<Facts> {
    for (of_device, of_site) in
        [(FactId::Nameplate, FactId::NameplateTotal), (FactId::LimitedTo, FactId::LimitedTotal), (FactId::DevicePhases, FactId::Phases)]
    {
        match (facts.get(of_device), facts.get(of_site)) {
            (Some(one), Some(other)) if one != other => return None,
            (Some(known), None) => facts.set(of_site, known),
            (None, Some(known)) => facts.set(of_device, known),
            _ => {}
        }
    }
    let in_order = |ids: &[FactId]| ids.iter().filter_map(|id| facts.number(*id)).is_sorted();
    let dates = [FactId::Applied, FactId::Approved, FactId::Installed, FactId::Altered];
    let limited_within = in_order(&[FactId::LimitedTo, FactId::Nameplate]);
    let other_day = facts.get(FactId::Today).is_some();
    (in_order(&dates) && limited_within && !other_day).then_some(facts)
}

/// The site around a device: what complies of every other kind of equipment that is asked for.
fn completed(kind: Equipment, witness: Witness, old: &Books, under: Under<'_>) -> Option<Example> {
    let mut facts = possible(witness.facts.clone())?;
    let mut devices: Vec<(Equipment, Witness)> = Vec::new();
    for other in Equipment::ALL {
        if other == kind {
            devices.push((kind, witness.clone()));
            continue;
        }
        let rulebook = &old.on(other).rulebook;
        if !rulebook.says_anything() {
            continue;
        }
        let known = facts.clone();
        let mut cells = rulebook.examples_of_cells(&known).filter_map(possible);
        let filled = cells.by_ref().take(CELLS_TRIED).find(|facts| has_cases(rulebook, facts)).or_else(|| cells.next())?;
        let found = satisfy(&asked_in(rulebook, other, &filled), &filled, &[]).ok()??;
        facts = possible(found.facts.clone())?;
        devices.push((other, asked_for(found, old, other, &filled, None)));
    }
    let relay = devices.iter().position(|(kind, _)| *kind == Equipment::GridProtectionRelay);
    if let Some(relay) = relay.filter(|_| kind != Equipment::GridProtectionRelay && !has_relay(&devices)) {
        devices.remove(relay);
    }
    let of: Vec<(Equipment, &Witness)> = devices.iter().map(|(kind, witness)| (*kind, witness)).collect();
    let site = site_text(under, &facts, &of);
    Some(Example { facts, witness, devices, site })
}

/// Whether the installation is one with a grid protection relay.
fn has_relay(devices: &[(Equipment, Witness)]) -> bool {
    let installation = devices.iter().find(|(kind, _)| *kind == Equipment::Installation);
    installation.is_some_and(|(_, witness)| witness.word(relay().into()) == Some(settings_model::catalogue::ENABLED))
}

/// The example with the dates of a site that the newer version governs, where its window leaves any:
/// whoever tries it with `check` is then told the same.
fn dated(example: &Example, books: (&Books, &Books), under: Under<'_>, assessor: &mut Assessor) -> Option<Example> {
    let facts = dates(&example.facts, books, under, assessor)?;
    let devices: Vec<(Equipment, &Witness)> = example.devices.iter().map(|(kind, witness)| (*kind, witness)).collect();
    Some(Example { site: site_text(under, &facts, &devices), facts, ..example.clone() })
}

/// Facts with dates by which the newer version governs, those first by which the older one would govern
/// without it.
fn dates(facts: &Facts, (old, new): (&Books, &Books), under: Under<'_>, assessor: &mut Assessor) -> Option<Facts> {
    let network = under.network?;
    let version = |books: &Books| books.on(Equipment::Inverter).rulebook.version_of(network);
    let (older, newer) = (version(old)?, version(new)?);
    let conditions = assessor.library.deciding_conditions(Some(network), &mut assessor.sources).ok()?;
    let partition = Partition::of(&conditions);
    let mut asked = facts.clone();
    asked.set_date(FactId::Today, assessor.today);
    let mut found = None;
    for mut dated in partition.cells(&asked).take(MOST_DATES) {
        let governs = |version: &semver::Version, assessor: &mut Assessor| {
            assessor.library.governs((network, version), &dated, &mut assessor.sources).unwrap_or(false)
        };
        let governing = assessor.library.governing_version(network, &dated, &mut assessor.sources).ok().flatten();
        if governing.as_ref() != Some(&newer) {
            continue;
        }
        let both = governs(&older, assessor);
        dated.unset(FactId::Today);
        let Some(dated) = possible(dated) else { continue };
        if both {
            return Some(dated);
        }
        found = found.or(Some(dated));
    }
    found
}

/// Of the ways in which dates may lie to the windows of a network's versions, so many are tried.
const MOST_DATES: usize = 4096;

/// Whether the site, read and judged, complied before and does not after, by what changed.
fn is_stranded(example: &Example, weighed: &Weighed, (old, new): (&Books, &Books), assessor: &mut Assessor) -> bool {
    let kept = assessor.sources.len();
    let source = assessor.sources.add("example", example.site.as_str());
    let read = reader::read(source, &example.site, Kind::Site);
    assessor.sources.forget_after(kept);
    let Ok(root) = read else { return false };
    let Ok(site) = reader::typed::<SiteFile<'_>>(&root) else { return false };
    if assessor.assess_under(&site, old).verdict != Verdict::Complies {
        return false;
    }
    let after = assessor.assess_under(&site, new);
    after.verdict != Verdict::Complies && is_at_fault(&after, weighed.kind, weighed.change.setting)
}

/// Whether something is wrong with a setting: by a line that asks something of it or of its function's state, for
/// a function that is off keeps none of its settings; or by a rule that no line says, such as that of an enabled
/// stage that nobody asks for.
fn is_at_fault(assessment: &Assessment<'_>, kind: Equipment, setting: SettingId) -> bool {
    let mut faults = assessment.devices.iter().filter(|device| device.kind == kind).flat_map(|device| &device.faults);
    let mut broken = assessment.broken.iter().filter(|broken| assessment.devices[broken.device].kind == kind);
    let is_of_it = |fault: &UnmetClaim| fault.setting == setting || Some(fault.setting) == setting.state();
    faults.any(|fault| is_of_it(fault) && fault.kind != UnmetKind::SameResponse)
        || broken.any(|broken| broken.setting.same_function(setting))
}
