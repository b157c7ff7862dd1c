//! What a site states and nobody judged: a device that no requirement speaks of, values that no
//! requirement, tie or rule of practice looks at, what a reading found acting beside them, and cables
//! of which no rise is counted. They are named, so that a site is never plainly fine by
//! what was passed over.
//!
//! Judged with the rest is what a function that is switched off holds, since it does nothing, but where what
//! is asked of the function was not seen: it may have to act; and all of a stage that nobody asked for, since the stage itself is at fault.

use super::{DeviceResult, NotJudged, WhyNotJudged};
use crate::installation;
use crate::judge::is_switched_off;
use crate::judge::speaks_of;
use crate::practice;
use crate::provenance::Verdict;
use crate::rise;
use settings_model::catalogue::{Equipment, HeldBy, MEANINGS_OF_TIME, SettingId};
use settings_model::files::SiteFile;
use settings_model::requirement::Requirement;

/// All that no requirement judged.
pub(super) fn at(site: &SiteFile<'_>, looked_at: &practice::Site<'_>) -> Vec<NotJudged> {
    let mut found: Vec<NotJudged> = Vec::new();
    for (n, device) in looked_at.devices.iter().enumerate() {
        let not_judged = |why| NotJudged { device: device.name.to_owned(), kind: device.kind, why };
        if !device.counted.asks_anything() && device.kind != Equipment::Installation {
            found.push(not_judged(WhyNotJudged::NothingIsAsked));
        } else if device.settings.reach_beyond(&device.counted.judged_alone) {
            let (not_seen, unasked) = left_over(n, device, looked_at);
            let (off, not_seen): (Vec<_>, Vec<_>) = not_seen.into_iter().partition(|setting| may_have_to_act(*setting, device));
            found.extend((!off.is_empty()).then(|| not_judged(WhyNotJudged::MayHaveToAct(off))));
            found.extend((!unasked.is_empty()).then(|| not_judged(WhyNotJudged::NobodyAsksFor(unasked))));
            found.extend((!not_seen.is_empty()).then(|| not_judged(WhyNotJudged::NotSeen(not_seen))));
        }
    }
    found.extend(beside(site, looked_at));
    let whole = looked_at.devices.iter().find(|device| device.kind == Equipment::Installation);
    let is_judged = whole.is_some();
    found.extend(whole.and_then(|whole| cables(site, looked_at, whole)));
    let mut figures: Vec<SettingId> = site.installation.0.iter().map(|(setting, _)| setting).collect();
    if !site.cables.0.is_empty() && !figures.contains(&rise::TOTAL) {
        figures.push(rise::TOTAL);
    }
    if !is_judged && !figures.is_empty() {
        let why = WhyNotJudged::NobodyAsksFor(figures);
        found.push(NotJudged { device: installation::NAME.to_owned(), kind: Equipment::Installation, why });
    }
    found
}

/// What readings found acting beside the settings.
fn beside<'s>(site: &'s SiteFile<'_>, looked_at: &'s practice::Site<'_>) -> impl Iterator<Item = NotJudged> + 's {
    looked_at.devices.iter().filter_map(|device| {
        let left = site.devices.get(device.name)?.as_left.as_ref()?;
        let count = left.captured.as_ref().map_or(0, |captured| captured.acts_beside.len());
        let why = WhyNotJudged::ActsBeside(count);
        (count > 0).then(|| NotJudged { device: device.name.to_owned(), kind: device.kind, why })
    })
}

/// The cables that no requirement on the rise looks at.
fn cables(site: &SiteFile<'_>, looked_at: &practice::Site<'_>, whole: &DeviceResult<'_>) -> Option<NotJudged> {
    let is_asked = |setting| whole.counted.requirement.get(setting).is_some_and(|resolved| !resolved.entry.demands_nothing());
    let passed_over = match [rise::TOTAL, rise::CONSUMER_MAINS].into_iter().any(is_asked) {
        true => rise::uncounted(site, looked_at.facts),
        false => site.cables.iter().map(|(name, _)| name).collect(),
    };
    let why = WhyNotJudged::Cables(passed_over.into_iter().map(str::to_owned).collect());
    (why != WhyNotJudged::Cables(Vec::new())).then(|| NotJudged { device: whole.name.to_owned(), kind: whole.kind, why })
}

/// A device of which nothing was judged proves nothing, and neither does one that has switched off what may have to act.
pub(super) fn verdict(not_judged: &[NotJudged]) -> Verdict {
    let is_open = |one: &NotJudged| matches!(one.why, WhyNotJudged::NothingIsAsked | WhyNotJudged::MayHaveToAct(_));
    if not_judged.iter().any(is_open) { Verdict::NotProven } else { Verdict::Complies }
}

/// What a device states and nobody looks at: what is asked but was not seen, and what nobody asks for.
fn left_over(n: usize, device: &DeviceResult<'_>, site: &practice::Site<'_>) -> (Vec<SettingId>, Vec<SettingId>) {
    let stated = device.settings.iter().map(|(setting, _)| setting);
    let left = stated.filter(|setting| !device.counted.judged_alone.has(*setting) && !is_judged_with_another(*setting, n, device, site));
    left.partition(|setting| is_unseen(*setting, &device.counted.requirement))
}

/// Whether what is asked of a setting was not seen; of a state, what is asked of any part of its function.
fn is_unseen(setting: SettingId, requirement: &Requirement) -> bool {
    let is_meant = |other: SettingId| other == setting || (setting.is_state() && other.same_function(setting));
    requirement.entries.iter().any(|resolved| is_meant(resolved.entry.setting) && resolved.entry.is_gap())
}

/// Whether a state is off or absent of which something is asked that was not seen.
fn may_have_to_act(setting: SettingId, device: &DeviceResult<'_>) -> bool {
    let is_gap = || device.counted.requirement.get(setting).is_some_and(|resolved| resolved.entry.is_gap());
    setting.is_state() && !device.settings.is_enabled(setting) && is_gap()
}

fn is_judged_with_another(setting: SettingId, n: usize, device: &DeviceResult<'_>, site: &practice::Site<'_>) -> bool {
    let (requirement, held) = (&device.counted.requirement, device.held());
    let acts = |setting: SettingId| device.settings.states(setting) && !is_switched_off(setting, held);
    let tied = || {
        let pairs = requirement.tied.iter().filter_map(|tied| Some((tied.first, tied.other?)));
        pairs.filter(|(one, other)| *one == setting || *other == setting).any(|(one, other)| acts(one) && acts(other))
    };
    // of what was added up nobody stated anything; a function that is off does nothing, and of
    // one that has to act in some way its state decides whether it does
    is_added_up(device, setting)
        || (setting.is_state()
            && (requirement.is_seen_to_ask_of_function(setting)
                || !(device.settings.is_enabled(setting) || is_unseen(setting, requirement))))
        || is_switched_off(setting, held)
        || requirement.keeps_idle(setting)
        || is_of_a_stage_nobody_asked_for(setting, device)
        || is_shown_for_another_time(setting, device)
        || tied()
        || practice::looks_at(site, n, setting)
}

fn is_added_up(device: &DeviceResult<'_>, setting: SettingId) -> bool {
    device.kind == Equipment::Installation && setting.parameter().held_by == HeldBy::AddedUp
}

fn is_of_a_stage_nobody_asked_for(setting: SettingId, device: &DeviceResult<'_>) -> bool {
    let state = setting.state().filter(|state| device.counted.unasked_stages.contains(state));
    state.is_some_and(|state| device.settings.is_enabled(state))
}

/// A time that is judged as another, or under all its meanings, since that one is asked for.
fn is_shown_for_another_time(setting: SettingId, device: &DeviceResult<'_>) -> bool {
    let asked = |key: &&str| {
        let other = setting.sibling(key);
        other.is_some_and(|other| device.counted.judged_alone.has(other) && !device.settings.states(other))
    };
    match setting.bare_time() {
        Some(bare) if bare == setting => MEANINGS_OF_TIME.iter().any(&asked),
        Some(_) if SettingId::set_times().any(|time| time == setting) => speaks_of(setting).iter().any(asked),
        _ => false,
    }
}
