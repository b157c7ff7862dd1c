//! Membership: does what a device holds keep every claim?
//!
//! Each claim holds, fails, or is not proven; a fault is added to a list, which a complying
//! device never touches. Nothing is guessed: a value that is not stated is not proven, unless the
//! region that the certified device has selected stands for it.

mod resolution;
mod ties;
mod times;

pub(crate) use ties::is_as_required;

use settings_model::catalogue::{COUNT, ENABLED, MEANINGS_OF_TIME, SettingId};
use settings_model::claim::{Claim, Limit, Part, Term, Var};
use settings_model::curve;
use settings_model::entry::Entry;
use settings_model::exact::Exact;
use settings_model::facts::{FactId, Facts};
use settings_model::quantity::Amount;
use settings_model::requirement::{Requirement, Resolved, Tied};
use settings_model::settings::{Known, Settings};
use settings_model::value::{Point, Value};
pub(crate) use times::speaks_of;
use times::{is_shown_otherwise, judge_other_times};

/// Whether one claim is satisfied; what a site comes to is its [verdict](crate::provenance::Verdict).
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Satisfaction {
    /// It is kept.
    Holds,
    /// It is not kept.
    Fails,
    /// Neither could be shown.
    NotProven(MissingEvidence),
}

/// What is missing.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum MissingEvidence {
    /// The value is not stated, and no selected region stands for it.
    NotStated,
    /// The value is known, but not by a kind of evidence that is asked for.
    Evidence,
    /// A site fact that the limit depends on is not stated.
    Fact(FactId),
    /// The limit is counted from another setting, which is not stated.
    Beside(SettingId),
    /// What is asked for depends on a site fact that is not stated.
    Hangs(FactId),
    /// The display rounds, and what it may stand for lies on both sides of the edge.
    Rounded,
    /// The display's steps are so far apart that it cannot tell the set point from a wrong value.
    Coarse,
    /// The display says only "time", and not under every meaning would it comply.
    MeaningOfTime,
    /// The network operator says the value within a range, and no layer here has its word.
    LeftOpen,
    /// Two figures are known of it that differ, and one of them does not comply.
    TwoFigures,
    /// A layer asks by cases, and none is for such a site.
    NoCase,
    /// Another time of the stage is stated, and the device's own time between the two is not known.
    OwnTime,
}

/// A claim that is not kept, or not proven.
#[derive(Clone, Debug, PartialEq)]
pub struct UnmetClaim {
    /// The setting that it is about.
    pub setting: SettingId,
    /// The claim; of a setting that is not stated, the first on it.
    pub claim: Claim,
    /// What it came to.
    pub kind: UnmetKind,
    /// How far inside (positive) or outside (negative) the limit the value lies, in base units.
    pub slack: Option<Exact>,
    /// Of a response outside its lines, where on the measured axis it lies farthest outside.
    pub at: Option<Exact>,
}

impl UnmetClaim {
    /// A fault of which no more is known than its kind.
    fn bare(setting: SettingId, claim: &Claim, kind: UnmetKind) -> Self {
        Self { setting, claim: claim.clone(), kind, slack: None, at: None }
    }
}

/// What one claim came to, and by how much.
#[derive(Clone, Copy, PartialEq)]
pub(crate) struct Judged {
    pub(crate) satisfaction: Satisfaction,
    pub(crate) slack: Option<Exact>,
    pub(crate) at: Option<Exact>,
}

impl Judged {
    fn by(satisfaction: Satisfaction, slack: Option<Exact>) -> Self {
        Self { satisfaction, slack, at: None }
    }
}

impl From<Satisfaction> for Judged {
    fn from(satisfaction: Satisfaction) -> Self {
        Self::by(satisfaction, None)
    }
}

/// What a fault came to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum UnmetKind {
    /// Does not comply.
    Fails,
    /// Not proven.
    NotProven(MissingEvidence),
    /// Complies: the curve is the same function, written with other points.
    SameResponse,
}

/// Whether a value keeps all that is asked of its setting, as far as that does not depend on the site.
pub(crate) fn keeps_all(value: &Value, entry: &Entry) -> bool {
    entry.comply.iter().all(|claim| value.keeps(claim) != Some(false))
}

/// What one device holds, and what stands for the rest.
#[derive(Clone, Copy, Debug)]
pub struct DeviceSettings<'s> {
    /// The values.
    pub settings: &'s Settings,
    /// How they are known, unless they say otherwise themselves.
    pub evidence: Option<settings_model::claim::Evidence>,
    /// Whether the device is certified to the standard and has the required region selected.
    pub region_stands: bool,
    /// What is asked of it: where the region stands for a setting, that is what it holds.
    pub asked: &'s Requirement,
}

impl<'s> DeviceSettings<'s> {
    /// The value of a setting: the one stated, or else the one that the region brings.
    pub(crate) fn value_of(&self, setting: SettingId) -> Option<&'s Value> {
        let brought = || self.asked.get(setting).filter(|resolved| self.region_stands && resolved.covered_by_region);
        let stated = self.settings.get(setting).map(|known| &known.value);
        stated.or_else(|| brought()?.base.require.as_ref())
    }
}

/// Judges a device against what is asked of it, and then the ties between its settings.
pub fn judge(held: DeviceSettings<'_>, facts: &Facts, faults: &mut Vec<UnmetClaim>) {
    let requirement = held.asked;
    let mut as_required = [false; COUNT];
    for (shortcut, resolved) in requirement.shortcuts.iter().zip(&requirement.entries) {
        let known = held.settings.get(shortcut.setting);
        let kept = match known {
            Some(known) => shortcut.is_kept_by(known),
            None => shortcut.covered_by_region && held.region_stands,
        };
        as_required[shortcut.setting.index()] = kept && known.is_some() && shortcut.pins_plain_value;
        // of a function that has to be off, its state is the finding
        let idle = || requirement.keeps_idle(shortcut.setting);
        if !kept && !idle() {
            judge_entry(resolved, held, facts, faults);
        }
    }
    for setting in SettingId::bare_times().filter(|setting| held.settings.states(*setting)) {
        if let Some(known) = held.settings.get(setting) {
            judge_unnamed(setting, known, held, facts, faults);
        }
    }
    judge_other_times(held, facts, faults);
    for (tie, Tied { first, other }) in requirement.ties.iter().zip(&requirement.tied) {
        let is_stated = held.settings.states(*first) && other.is_none_or(|other| held.settings.states(other));
        // a tie to a fact of the site, such as the approved export, is always looked at
        let is_settled = other.is_some_and(|other| as_required[first.index()] && as_required[other.index()]);
        if is_stated && !is_settled {
            ties::judge_tie(tie, held, facts, faults);
        }
    }
}

/// Judges one setting.
pub fn judge_entry(resolved: &Resolved, held: DeviceSettings<'_>, facts: &Facts, faults: &mut Vec<UnmetClaim>) {
    let setting = resolved.entry.setting;
    let no_case = resolved.entry.no_case();
    faults.extend(no_case.map(|claim| UnmetClaim::bare(setting, claim, UnmetKind::NotProven(MissingEvidence::NoCase))));
    if is_switched_off(setting, held) || resolved.entry.is_all_gap() {
        return;
    }
    match held.settings.get(setting) {
        Some(known) => judge_known(resolved, known, held, facts, faults),
        None if is_shown_unnamed(setting, held.settings) => {} // judged once, under all its meanings
        None if is_shown_otherwise(setting, held.settings) => {} // judged by the time that is shown
        None if resolved.covered_by_region && held.region_stands => {}
        None if no_case.is_some() => {} // what it would have to be is not known
        None => {
            let first = resolved.entry.comply.first();
            first
                .into_iter()
                .for_each(|claim| faults.push(UnmetClaim::bare(setting, claim, UnmetKind::NotProven(MissingEvidence::NotStated))));
        }
    }
}

/// Whether the function does not act, as the device states or its region brings; its other settings
/// then claim nothing.
pub(crate) fn is_switched_off(setting: SettingId, held: DeviceSettings<'_>) -> bool {
    if setting.is_state() {
        return false;
    }
    let state = setting.state().and_then(|state| held.value_of(state));
    matches!(state, Some(Value::Word(word)) if *word != ENABLED)
}

fn judge_known(resolved: &Resolved, known: &Known, held: DeviceSettings<'_>, facts: &Facts, faults: &mut Vec<UnmetClaim>) {
    let entry = &resolved.entry;
    let rounds = known.rounds();
    if !rounds && resolved.last_kept.is(&known.value) {
        return;
    }
    let mut failed = Vec::new();
    for claim in &entry.comply {
        let judged = judge_claim(claim, &entry.comply, known, held, facts);
        if judged.satisfaction != Satisfaction::Holds {
            failed.push((claim, judged));
        }
    }
    if failed.is_empty() && entry.is_left_open() {
        faults.push(UnmetClaim::bare(entry.setting, &entry.comply[0], UnmetKind::NotProven(MissingEvidence::LeftOpen)));
        return;
    }
    if failed.is_empty() {
        if !rounds {
            resolved.last_kept.remember(&known.value, entry);
        }
        return;
    }
    let only_points_fail = failed.iter().all(|(claim, judged)| judged.satisfaction == Satisfaction::Fails && claim.bound().is_some());
    if only_points_fail && resolution::is_fine_enough(known, entry.setting, facts) && responds_as_asked(entry, known, held, facts) {
        faults.push(UnmetClaim::bare(entry.setting, failed[0].0, UnmetKind::SameResponse));
        return;
    }
    for (claim, Judged { satisfaction, slack, at }) in failed {
        let kind = match satisfaction {
            Satisfaction::NotProven(lack) => UnmetKind::NotProven(lack),
            _ => UnmetKind::Fails,
        };
        faults.push(UnmetClaim { setting: entry.setting, claim: claim.clone(), kind, slack, at });
    }
}

/// Whether a curve whose points are not as asked responds as one whose points are: the required one,
/// or itself with no more points than its response needs.
fn responds_as_asked(entry: &Entry, known: &Known, held: DeviceSettings<'_>, facts: &Facts) -> bool {
    let Value::Curve(points) = &known.value else { return false };
    let Some(points) = curve::at_site(points, facts) else { return false };
    let required = match &entry.require {
        Some(Value::Curve(required)) => curve::at_site(required, facts),
        _ => None,
    };
    if required.is_some_and(|required| curve::same_response(&required, &points)) {
        return true;
    }
    let fewest = curve::fewest_points(&points);
    let point = |(x, y)| Point { x: Amount::plain(x), y: Amount::plain(y) };
    let plain = Known { value: Value::Curve(fewest.iter().copied().map(point).collect()), ..known.clone() };
    let holds = |claim| judge_claim(claim, &entry.comply, &plain, held, facts).satisfaction == Satisfaction::Holds;
    fewest.len() < points.len() && entry.comply.iter().all(holds)
}

pub(crate) fn judge_claim(claim: &Claim, all: &[Claim], known: &Known, held: DeviceSettings<'_>, facts: &Facts) -> Judged {
    let part = claim.on.subject().part;
    let bound = match &claim.limit {
        // of a site without a case the entry tells as a whole
        Limit::NotSeen | Limit::NoCase => return Satisfaction::Holds.into(),
        Limit::OneOf(words) => return holds_if(matches!(known.value, Value::Word(word) if words.has(word))).into(),
        Limit::Stated(kinds) => {
            let evidence = known.evidence.or(held.evidence);
            let shown = evidence.is_some_and(|e| kinds.has(e as u8));
            return if shown { Satisfaction::Holds } else { Satisfaction::NotProven(MissingEvidence::Evidence) }.into();
        }
        Limit::Above(line) => return response_within(known, line, facts, |curve, line| curve::rises_above(line, curve)),
        Limit::Below(line) => return response_within(known, line, facts, curve::rises_above),
        Limit::AtLeast(bound) | Limit::AtMost(bound) => bound,
    };
    if known.value == Value::Never {
        return holds_if(matches!(claim.limit, Limit::AtLeast(_))).into();
    }
    let Some(edge) = bound.value.at(facts) else { return Satisfaction::NotProven(MissingEvidence::Fact(fact_of(bound.value))).into() };
    let value = match claim.on {
        Term::Var(_) => known.value.part(part),
        Term::Gap(_, other) => return gap_within(claim, known, other, edge, held, facts),
    };
    // a point that the curve lacks is reported by the number of points
    let Some(amount) = value else { return Satisfaction::Holds.into() };
    let Some(value) = amount.at(facts) else { return Satisfaction::NotProven(MissingEvidence::Fact(fact_of(amount))).into() };
    if known.step.is_none() && keeps(&claim.limit, value, edge, bound.open) {
        return Satisfaction::Holds.into();
    }
    let slack = if matches!(claim.limit, Limit::AtMost(_)) { edge - value } else { value - edge };
    let step = known.step.as_deref().and_then(|step| Some((step.of(part)?, step.exact)));
    let satisfaction = match step {
        None => holds_if(resolution::is_inside(slack, bound.open)),
        Some(step) if is_set_point(claim, all) => {
            let coarsest = resolution::coarsest(claim.on.subject(), edge, facts);
            resolution::of_set_point(slack, step, edge, coarsest)
        }
        Some(step) => resolution::of_limit(slack, bound.open, step),
    };
    Judged::by(satisfaction, Some(slack))
}

/// Whether a response stays on its side of a line; `beyond` finds where it is farthest beyond. Where the
/// display rounds, so does everything that it may stand for, or it is not proven.
fn response_within(
    known: &Known,
    line: &[Point],
    facts: &Facts,
    beyond: impl Fn(&[(Exact, Exact)], &[(Exact, Exact)]) -> Option<curve::Excess>,
) -> Judged {
    let Value::Curve(points) = &known.value else { return Satisfaction::Fails.into() };
    let at = |points: &[Point]| curve::at_site(points, facts);
    let (Some(curve), Some(line)) = (at(points), at(line)) else {
        let unknown = |amount: &Amount| amount.of.filter(|fact| facts.number(*fact).is_none());
        let fact = points.iter().chain(line).flat_map(|point| [point.x, point.y]).find_map(|amount| unknown(&amount));
        return Satisfaction::NotProven(MissingEvidence::Fact(fact.unwrap_or(FactId::NominalVoltage))).into();
    };
    let outside = resolution::may_stand_for(&curve, known.step.as_deref()).map(|curve| beyond(&curve, &line));
    let outside: Vec<_> = outside.collect();
    match (outside.iter().any(Option::is_none), outside.into_iter().flatten().next()) {
        (_, None) => Satisfaction::Holds.into(),
        (true, Some(_)) => Satisfaction::NotProven(MissingEvidence::Rounded).into(),
        (false, Some(excess)) => Judged { satisfaction: Satisfaction::Fails, slack: Some(-excess.by), at: Some(excess.at) },
    }
}

/// Whether just one value complies: the claim's edge is the other edge too. A limit is no set point,
/// even where the value that is required lies on it.
fn is_set_point(claim: &Claim, all: &[Claim]) -> bool {
    let opposite = |other: &&Claim| other.on == claim.on && other.limit != claim.limit;
    claim.bound().is_some_and(|bound| !bound.open && all.iter().filter(opposite).any(|other| other.bound() == Some(bound)))
}

fn keeps(limit: &Limit, value: Exact, edge: Exact, open: bool) -> bool {
    let inside = if matches!(limit, Limit::AtMost(_)) { value < edge } else { value > edge };
    inside || (!open && value == edge)
}

/// Two points of the same curve, or a point against another setting, such as the curve's reference.
fn gap_within(claim: &Claim, known: &Known, other: Var, edge: Exact, held: DeviceSettings<'_>, facts: &Facts) -> Judged {
    let (subject, open) = (claim.on.subject(), claim.bound().is_some_and(|bound| bound.open));
    let beside = if other.setting == subject.setting { Some(&known.value) } else { held.value_of(other.setting) };
    let Some(beside) = beside else { return Satisfaction::NotProven(MissingEvidence::Beside(other.setting)).into() };
    let parts = known.value.part(subject.part).zip(beside.part(other.part));
    let Some((x, y)) = parts.and_then(|(x, y)| Some((x.at(facts)?, y.at(facts)?))) else { return Satisfaction::Holds.into() };
    let gap = x - y;
    let slack = if matches!(claim.limit, Limit::AtMost(_)) { edge - gap } else { gap - edge };
    let beside = if other.setting == subject.setting { Some(known) } else { held.settings.get(other.setting) };
    let off = rounded_off(Some(known), subject.part) + rounded_off(beside, other.part);
    Judged::by(resolution::of_limit(slack, open, (off + off, false)), Some(slack))
}

fn holds_if(inside: bool) -> Satisfaction {
    if inside { Satisfaction::Holds } else { Satisfaction::Fails }
}

fn fact_of(amount: Amount) -> FactId {
    amount.of.unwrap_or(FactId::NominalVoltage)
}

/// Whether the setting is a time for which the display shows a bare time instead.
fn is_shown_unnamed(setting: SettingId, settings: &Settings) -> bool {
    setting.is_meaning_of_time() && setting.bare_time().is_some_and(|bare| settings.states(bare))
}

/// A bare time complies only if it would under every meaning that is asked about; where it would
/// under none, it fails.
fn judge_unnamed(unnamed: SettingId, known: &Known, held: DeviceSettings<'_>, facts: &Facts, faults: &mut Vec<UnmetClaim>) {
    if is_switched_off(unnamed, held) {
        return;
    }
    let (mut asked, mut failing, mut first) = (0, 0, None);
    for meaning in MEANINGS_OF_TIME.iter().filter_map(|key| unnamed.sibling(key)) {
        let Some(resolved) = held.asked.get(meaning).filter(|_| held.settings.get(meaning).is_none()) else { continue };
        asked += 1;
        let judged = resolved.entry.comply.iter().map(|claim| (claim, judge_claim(claim, &resolved.entry.comply, known, held, facts)));
        let fault = judged.into_iter().find(|(_, judged)| judged.satisfaction != Satisfaction::Holds);
        failing += usize::from(fault.is_some_and(|(_, judged)| judged.satisfaction == Satisfaction::Fails));
        first = first.or(fault);
    }
    let Some((claim, judged)) = first else { return };
    let kind = if failing == asked { UnmetKind::Fails } else { UnmetKind::NotProven(MissingEvidence::MeaningOfTime) };
    faults.push(UnmetClaim { slack: judged.slack, ..UnmetClaim::bare(unnamed, claim, kind) });
}

/// How far a part of a value may lie off what is shown, either way.
pub(crate) fn rounded_off(known: Option<&Known>, part: Part) -> Exact {
    let step = known.and_then(|known| known.step.as_deref()).filter(|step| !step.exact);
    step.and_then(|step| step.of(part)).unwrap_or_default().half()
}
