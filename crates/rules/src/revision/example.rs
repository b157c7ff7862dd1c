//! Whom a breaking change strands: a whole site that complied and no longer does.
//!
//! The algebra finds a device that keeps all that was asked of its kind and breaks a claim that is
//! asked now; what else the site needs to comply is found beside it. The site is then written as a
//! file, read back and judged, so that what is shown is never only believed.

use super::{Reason, Weighed};
use crate::assess::{Assessor, Books};
use crate::core::core;
use crate::escape::{Proof, escape};
use crate::example_site::{Under, site_text};
use crate::provenance::Verdict;
use crate::satisfy::satisfy;
use crate::witness::{Witness, WitnessValue};
use settings_model::catalogue::{Equipment, SettingId};
use settings_model::claim::{Bound, Claim, Limit, Part, Term, Var, WhyId};
use settings_model::curve;
use settings_model::entry::Entry;
use settings_model::exact::Exact;
use settings_model::facts::{FactId, Facts};
use settings_model::files::{Kind, SiteFile};
use settings_model::quantity::Amount;
use settings_model::reader;
use settings_model::ties::space;
use settings_model::value::Value;

/// A site that complied and no longer does.
#[derive(Clone, Debug, PartialEq)]
pub struct Example {
    /// The facts that were needed.
    pub facts: Facts,
    /// The device that the change is about.
    pub witness: Witness,
    /// The whole site, as a file.
    pub site: String,
}

/// What looking for an example came to.
pub(super) enum Stranded {
    /// This one.
    Example(Box<Example>),
    /// None was found, which proves nothing.
    NotFound,
    /// Nobody could comply before, so nobody is stranded.
    NobodyComplied,
}

/// Of the cells that the change does not tell apart, so many are tried.
const CELLS_TRIED: usize = 64;

/// Looks for a site that the change strands.
pub(super) fn stranded(weighed: &Weighed, old: &Books, new: &Books, under: Under<'_>, assessor: &mut Assessor) -> Stranded {
    let rulebook = &old.on(weighed.kind).rulebook;
    let of_one_site: Vec<Facts> = weighed.change.examples.iter().cloned().filter_map(possible).collect();
    let mut cells = of_one_site.iter().flat_map(|facts| rulebook.examples_of_cells(facts)).filter_map(possible);
    let (mut could_comply, mut looked_at) = (false, 0);
    for facts in cells.by_ref().take(CELLS_TRIED) {
        looked_at += 1;
        let before = asked_in(old, weighed.kind, &facts);
        if core(&before, &facts).is_some() {
            continue;
        }
        could_comply = true;
        for witness in witnesses(weighed, &before, &facts) {
            let witness = asked_for(witness, old, weighed.kind, &facts, Some(weighed.change.setting));
            if let Some(example) = completed(weighed.kind, witness, old, under).filter(|example| is_stranded(example, old, new, assessor)) {
                return Stranded::Example(Box::new(example));
            }
        }
    }
    // cells that were not looked at prove nothing
    let nobody_complied = !could_comply && looked_at > 0 && cells.next().is_none();
    if nobody_complied { Stranded::NobodyComplied } else { Stranded::NotFound }
}

/// Devices that keep what was asked and may not keep what is asked now.
fn witnesses(weighed: &Weighed, before: &[Claim], facts: &Facts) -> Vec<Witness> {
    let setting = weighed.change.setting;
    let satisfying = |enabled: &[SettingId]| satisfy(before, facts, enabled).ok().flatten();
    if weighed.reason == Reason::StageUnasked {
        return satisfying(&setting.state().into_iter().collect::<Vec<_>>()).into_iter().collect();
    }
    if weighed.reason == Reason::OtherPointsLost {
        let required = weighed.change.old.as_ref().and_then(|entry| entry.require.as_ref());
        let with_state = satisfying(&setting.state().into_iter().collect::<Vec<_>>());
        return with_state.zip(required).and_then(|(witness, required)| in_other_points(witness, setting, required)).into_iter().collect();
    }
    let claims = weighed.change.new.iter().flat_map(|asked| &asked.comply);
    let escapes = claims.filter_map(|claim| match escape(before, claim, &[], facts) {
        Proof::Escapes(witness) => Some(*witness),
        Proof::Implied | Proof::Unproven(_) => None,
    });
    let mut witnesses: Vec<Witness> = escapes.collect();
    // of what was not asked nothing had to be stated
    if weighed.change.old.as_ref().is_none_or(Entry::demands_nothing) {
        let unstated = satisfying(&[]).map(|mut witness| {
            witness.settings.retain(|var, _| var.setting != setting);
            witness
        });
        witnesses.extend(unstated);
    }
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

/// What is asked of one kind of equipment in a cell, and what holds of every site.
fn asked_in(books: &Books, kind: Equipment, facts: &Facts) -> Vec<Claim> {
    let requirement = books.on(kind).rulebook.resolve(facts);
    let mut claims: Vec<Claim> = requirement.claims().chain(space(kind, WhyId::SITE_APPROVAL)).collect();
    if kind == Equipment::Installation {
        claims.extend(sums());
    }
    claims
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

/// The figures of an installation that are sums are those of its facts, and a site of one inverter on
/// every phase has no difference between phases.
fn sums() -> Vec<Claim> {
    let equal = |setting: SettingId, value: Amount| {
        let claim = |limit| Claim { on: Term::Var(setting.into()), limit, why: WhyId::SITE_APPROVAL };
        [claim(Limit::AtLeast(Bound::closed(value))), claim(Limit::AtMost(Bound::closed(value)))]
    };
    let of_fact = |setting, fact| equal(setting, Amount::times(Exact::ONE, fact));
    [
        of_fact(SettingId::of("site-rating", "nameplate-total"), FactId::NameplateTotal),
        of_fact(SettingId::of("site-rating", "limited-total"), FactId::LimitedTotal),
        equal(SettingId::of("site-rating", "phase-difference"), Amount::plain(Exact::ZERO)),
    ]
    .concat()
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
        let filled = rulebook.examples_of_cells(&facts).find_map(possible)?;
        let found = satisfy(&asked_in(old, other, &filled), &filled, &[]).ok()??;
        facts = possible(found.facts.clone())?;
        devices.push((other, asked_for(found, old, other, &filled, None)));
    }
    let relay = devices.iter().position(|(kind, _)| *kind == Equipment::GridProtectionRelay);
    if let Some(relay) = relay.filter(|_| kind != Equipment::GridProtectionRelay && !has_relay(&devices)) {
        devices.remove(relay);
    }
    let of: Vec<(Equipment, &Witness)> = devices.iter().map(|(kind, witness)| (*kind, witness)).collect();
    let site = site_text(under, &facts, &of);
    Some(Example { facts, witness, site })
}

/// Whether the installation is one with a grid protection relay.
fn has_relay(devices: &[(Equipment, Witness)]) -> bool {
    let relay = SettingId::of("central-protection", "state");
    let installation = devices.iter().find(|(kind, _)| *kind == Equipment::Installation);
    installation.is_some_and(|(_, witness)| witness.word(relay.into()) == Some(settings_model::catalogue::ENABLED))
}

/// Whether the site, read and judged, complied before and does not after.
fn is_stranded(example: &Example, old: &Books, new: &Books, assessor: &mut Assessor) -> bool {
    let kept = assessor.sources.len();
    let source = assessor.sources.add("example", example.site.as_str());
    let read = reader::read(source, &example.site, Kind::Site);
    assessor.sources.forget_after(kept);
    let Ok(root) = read else { return false };
    let Ok(site) = reader::typed::<SiteFile<'_>>(&root) else { return false };
    let before = assessor.assess_under(&site, old).verdict;
    before == Verdict::Complies && assessor.assess_under(&site, new).verdict != Verdict::Complies
}
