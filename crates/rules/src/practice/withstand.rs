//! Trips that may act where the device has to stay on.

use super::{Broken, Rule, Site};
use crate::judge::{is_as_required, rounded_off};
use crate::outcome::DeviceResult;
use crate::phrase::value_here;
use crate::provenance::{Standing, standing};
use crate::withstand::{RATE_STAGE, RATE_TO_STAY_ON, STAGES, Stage};
use settings_model::catalogue::{Harm, SettingId, Shape};
use settings_model::claim::{Claim, Limit, Part};
use settings_model::curve;
use settings_model::exact::Exact;
use settings_model::facts::{FactId, Facts};
use settings_model::finding::Outcome;
use settings_model::quantity::Dimension;
use settings_model::requirement::Requirement;
use settings_model::ties::{CATEGORIES_B_AND_III, Example};

pub(super) const TRIP_INSIDE_WITHSTAND: Rule = Rule {
    name: "trip-inside-withstand",
    sentence: "a trip stage does not act inside continuous operation, nor sooner past its threshold than the device has to stay on there, unless the network operator asks for it",
    source: "follows from the meaning of ride-through, as in IEEE Std 1547-2018",
    example: Example {
        failing: "inverter-1: { undervoltage-1: { state: enabled, threshold: 0.88 pu, clearing-time: 19.9 s } }",
        near_miss: "inverter-1: { undervoltage-1: { state: enabled, threshold: 0.88 pu, clearing-time: 20 s } }",
        under: CATEGORIES_B_AND_III,
    },
    check,
    looks_at: |site, device, setting| {
        let of = &site.devices[device];
        of.counted.asks_to_stay_on && STAGES.iter().any(|stage| stage.looks_at(setting, of))
    },
};

/// How what a stage is held against is known, no better than the worst of it: a rule on where to stay on is as sure as
/// what is asked there.
fn basis(held_against: &[SettingId], device: &DeviceResult<'_>) -> Option<Standing> {
    let asked = held_against.iter().filter_map(|setting| device.counted.requirement.get(*setting));
    asked.filter_map(|resolved| standing(&resolved.entry, &device.book.rulebook)).max()
}

/// The stages that a requirement itself has act where the device has to stay on: threshold, the setting
/// that cuts in, and one phrase of how.
#[must_use]
pub fn asked_inside(requirement: &Requirement, facts: &Facts) -> Vec<(SettingId, SettingId, String)> {
    let asked = |setting| requirement.get(setting)?.entry.require.as_ref()?.part(Part::Whole)?.at(facts);
    // no network has a nominal voltage of one volt: it stands for one per unit
    let is_per_unit = facts.number(FactId::NominalVoltage) == Some(Exact::ONE);
    let inside = |stage: &Stage| {
        let time = stage.set_by(|setting| asked(setting).is_some());
        let Shape::Quantity(dimension) = stage.threshold.parameter().shape else { return None };
        let show = |at: Exact| if dimension == Dimension::Voltage && is_per_unit { format!("{at} pu") } else { dimension.show(at) };
        Some(match stage.cut(asked, time, (requirement, facts))? {
            Cut::Threshold(edge) => {
                (stage.threshold, stage.threshold, format!("lies inside continuous operation, whose edge is {}", show(edge)))
            }
            Cut::Time { setting, acts, stays, at } => {
                let [acts, stays] = [acts, stays].map(|seconds| Dimension::Time.show(seconds.rounded(3)));
                (stage.threshold, setting, format!("acts after {acts}, and at {} the device has to stay on for {stays}", show(at)))
            }
        })
    };
    let mut all: Vec<_> = STAGES.iter().filter_map(inside).collect();
    let acts_from =
        requirement.get(RATE_STAGE).filter(|_| !requirement.keeps_idle(RATE_STAGE)).and_then(|r| lowest(&r.entry.comply, facts));
    if let (Some(acts_from), Some(rate)) = (acts_from, rate_to_stay_on(requirement, facts))
        && acts_from < rate
    {
        let [acts_from, rate] = [acts_from, rate].map(|rate| Dimension::FrequencyRate.show(rate));
        all.push((RATE_STAGE, RATE_STAGE, format!("acts from {acts_from}, and the device has to stay on at rates up to {rate}")));
    }
    all
}

/// The rate of change of frequency that a device has to stay on through.
fn rate_to_stay_on(requirement: &Requirement, facts: &Facts) -> Option<Exact> {
    lowest(&requirement.get(RATE_TO_STAY_ON)?.entry.comply, facts)
}

/// The least that claims on a quantity admit.
fn lowest(claims: &[Claim], facts: &Facts) -> Option<Exact> {
    claims
        .iter()
        .find_map(|claim| match claim.limit {
            Limit::AtLeast(bound) if claim.on.subject().part == Part::Whole => Some(bound),
            _ => None,
        })?
        .value
        .at(facts)
}

/// How a stage cuts into the withstand.
enum Cut {
    /// Its threshold lies inside continuous operation, which ends here.
    Threshold(Exact),
    /// It acts after this long, where the device has to stay on longer.
    Time { setting: SettingId, acts: Exact, stays: Exact, at: Exact },
}

fn check(site: &Site<'_>) -> Vec<Broken> {
    let stages = |(n, device)| STAGES.iter().filter_map(move |stage| stage.broken(n, device)).chain(rate_stage_broken(n, device));
    site.devices.iter().enumerate().filter(|(_, device)| device.counted.asks_to_stay_on).flat_map(stages).collect()
}

/// A trip by rate of change of frequency that acts at rates through which the device has to stay on, unless what is asked
/// of it lies there too.
fn rate_stage_broken(n: usize, device: &DeviceResult<'_>) -> Option<Broken> {
    let (requirement, facts) = (&device.counted.requirement, &device.facts);
    let state = RATE_STAGE.state()?;
    if device.settings.get(state).is_some() && !device.settings.is_enabled(state) {
        return None;
    }
    let held = device.settings.get(RATE_STAGE)?.value.part(Part::Whole)?.at(facts)?;
    let off = rounded_off(device.settings.get(RATE_STAGE), Part::Whole);
    let rate = rate_to_stay_on(requirement, facts).filter(|rate| held - off < *rate)?;
    let outcome = if held + off < rate { Outcome::DoesNotComply } else { Outcome::NotProven };
    let asked = requirement.get(RATE_STAGE).and_then(|resolved| lowest(&resolved.entry.comply, facts));
    if asked.is_some_and(|asked| asked < rate) || (outcome == Outcome::NotProven && is_as_required(RATE_STAGE, device.held(), facts)) {
        return None;
    }
    let [held, rate] = [held, rate].map(|rate| Dimension::FrequencyRate.show(rate));
    let title = RATE_STAGE.function().title;
    Some(Broken {
        rule: TRIP_INSIDE_WITHSTAND.name,
        device: n,
        setting: RATE_STAGE,
        with: Vec::new(),
        outcome,
        basis: basis(&[RATE_TO_STAY_ON], device),
        says: format!(
            "{title} acts from {held}, and the device has to stay on at rates up to {rate}; {}",
            Harm::DropsOutTooEasily.phrase()
        ),
        hint: format!("set it to at least {rate}, or have the network operator ask for it in writing"),
    })
}

impl Stage {
    fn broken(&self, n: usize, device: &DeviceResult<'_>) -> Option<Broken> {
        let (requirement, facts) = (&device.counted.requirement, &device.facts);
        let state = self.threshold.state()?;
        let is_off = device.settings.get(state).is_some() && !device.settings.is_enabled(state);
        let stated = |setting| device.settings.get(setting);
        let asked = |setting| requirement.get(setting)?.entry.require.as_ref()?.part(Part::Whole)?.at(facts);
        let time_stated = self.set_by(|setting| stated(setting).is_some());
        // what is not stated is as asked, and what is as asked is meant so
        let is_as_asked = |setting| stated(setting).is_none() || is_as_required(setting, device.held(), facts);
        if is_off || (is_as_asked(self.threshold) && time_stated.is_none_or(is_as_asked)) {
            return None;
        }
        let time_asked = self.set_by(|setting| asked(setting).is_some());
        let (asks, time) = ((requirement, facts), time_stated.or(time_asked));
        // what the region brings is as asked, so what is not stated may be taken from there; what is shown in steps
        // stands for all that is rounded to it, `inwards` by so many halves of a step
        let held = |inwards: i64| {
            move |setting: SettingId| {
                let Some(known) = stated(setting) else { return asked(setting) };
                let deeper = if setting == self.threshold && self.acts_below { inwards } else { -inwards };
                Some(known.value.part(Part::Whole)?.at(facts)? + rounded_off(Some(known), Part::Whole) * Exact::from(deeper))
            }
        };
        let cut = self.cut(held(1), time, asks)?;
        // where the operator's own values lie there too, they are meant so
        if self.cut(asked, time_asked, asks).is_some() {
            return None;
        }
        let outcome = if self.cut(held(-1), time, asks).is_some() { Outcome::DoesNotComply } else { Outcome::NotProven };
        let told = self.cut(held(0), time, asks).filter(|_| outcome == Outcome::DoesNotComply).unwrap_or(cut);
        Some(self.worded(n, &told, outcome, device))
    }

    /// Whether another value of a setting could cut in: a time only where the threshold is within what the device
    /// has to stay on through.
    fn looks_at(&self, setting: SettingId, device: &DeviceResult<'_>) -> bool {
        let (requirement, facts) = (&device.counted.requirement, &device.facts);
        if self.threshold == setting {
            return self.edge(requirement, facts).is_some() || self.shortest(requirement, facts).is_some();
        }
        let stated = |of: SettingId| device.settings.get(of).map(|known| &known.value);
        let held = |of: SettingId| {
            let value = || stated(of).or_else(|| requirement.get(of)?.entry.require.as_ref());
            if of == setting { Some(Exact::ZERO) } else { value()?.part(Part::Whole)?.at(facts) }
        };
        let is_set_by = self.set_by(|time| stated(time).is_some()) == Some(setting);
        is_set_by && matches!(self.cut(held, Some(setting), (requirement, facts)), Some(Cut::Time { .. }))
    }

    /// The time that the stage is set by, of those that are known.
    fn set_by(&self, is_known: impl Fn(SettingId) -> bool) -> Option<SettingId> {
        self.threshold.stage_times().find(|setting| is_known(*setting))
    }

    /// Where a stage of these values cuts in, if it does.
    fn cut(
        &self,
        value: impl Fn(SettingId) -> Option<Exact>,
        time: Option<SettingId>,
        (asked, facts): (&Requirement, &Facts),
    ) -> Option<Cut> {
        let threshold = value(self.threshold)?;
        if let Some(edge) = self.edge(asked, facts)
            && (if self.acts_below { threshold > edge } else { threshold < edge })
        {
            return Some(Cut::Threshold(edge));
        }
        let setting = time?;
        let acts = value(setting)?;
        let shortest = self.shortest(asked, facts)?;
        // beyond its threshold the stage acts after its time; on the near side, never
        let never = shortest.iter().map(|(_, time)| *time).fold(acts, Exact::max) + Exact::ONE;
        let (before, after) = if self.acts_below { (acts, never) } else { (never, acts) };
        let excess = curve::rises_above(&shortest, &[(threshold, before), (threshold, after)])?;
        Some(Cut::Time { setting, acts, stays: acts + excess.by, at: excess.at })
    }

    /// The edge of continuous operation that is asked for.
    pub(crate) fn edge(&self, asked: &Requirement, facts: &Facts) -> Option<Exact> {
        let claims = &asked.get(self.edge)?.entry.comply;
        let bound = claims.iter().find_map(|claim| match claim.limit {
            Limit::AtMost(bound) if self.acts_below => Some(bound),
            Limit::AtLeast(bound) if !self.acts_below => Some(bound),
            _ => None,
        });
        bound?.value.at(facts)
    }

    /// The shortest time to stay on that is asked for, against what is measured.
    pub(crate) fn shortest(&self, asked: &Requirement, facts: &Facts) -> Option<Vec<(Exact, Exact)>> {
        let line = asked.get(self.shortest)?.entry.comply.iter().find_map(|claim| match &claim.limit {
            Limit::Above(line) => Some(line),
            _ => None,
        });
        curve::at_site(line?, facts)
    }

    fn worded(&self, device: usize, cut: &Cut, outcome: Outcome, of: &DeviceResult<'_>) -> Broken {
        let title = self.threshold.function().title;
        let is_proven = outcome == Outcome::DoesNotComply;
        let (trips, acts_after) = if is_proven { ("trips", "acts") } else { ("may trip", "may act") };
        let Shape::Quantity(dimension) = self.threshold.parameter().shape else { unreachable!("a threshold is a quantity") };
        let threshold =
            of.settings.get(self.threshold).map(|known| value_here(&known.value, &of.facts).show(self.threshold)).unwrap_or_default();
        let time = |seconds: Exact| Dimension::Time.show(seconds.rounded(3));
        let (setting, says, bound) = match cut {
            Cut::Threshold(edge) => {
                let edge = dimension.show(*edge);
                let (side, bound) = if self.acts_below { ("down to", "at most") } else { ("up to", "at least") };
                let says = format!("{title} {trips} at {threshold}, inside continuous operation, which goes {side} {edge}");
                (self.threshold, says, format!("{bound} {edge}"))
            }
            Cut::Time { setting, acts, stays, at } => {
                let (acts, stays, at) = (time(*acts), time(*stays), dimension.show(*at));
                let says = format!("{title} {acts_after} after {acts}, and at {at} the device has to stay on for {stays}");
                (*setting, says, format!("at least {stays}"))
            }
        };
        let why = if is_proven { "trips too early" } else { "the display rounds, and what it may stand for lies on both sides" };
        let says = format!("{says}; {why}");
        let with = std::iter::once(self.threshold).chain(self.threshold.stage_times());
        let with = with.filter(|other| *other != setting && of.settings.get(*other).is_some()).collect();
        let hint = format!("set it to {bound}, or have the network operator ask for it in writing");
        let basis = basis(&[self.edge, self.shortest], of);
        Broken { rule: TRIP_INSIDE_WITHSTAND.name, device, setting, with, outcome, basis, says, hint }
    }
}
