//! What a site states and nobody judged: a device that no requirement speaks of, and values that no
//! requirement, tie or rule of practice looks at. They are named, so that a site is never plainly fine by
//! what was passed over.
//!
//! Judged with the rest is what a function that is switched off holds, since it does nothing; and all of
//! a stage that nobody asked for, since the stage itself is at fault.

use super::DeviceResult;
use crate::installation;
use crate::judge::is_switched_off;
use crate::practice;
use crate::provenance::Verdict;
use crate::rise;
use crate::times::speaks_of;
use settings_model::catalogue::{Equipment, HeldBy, MEANINGS_OF_TIME, SettingId};
use settings_model::files::SiteFile;

/// Something that no requirement judged.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct NotJudged {
    /// The device, as the site's file names it, or the installation.
    pub device: String,
    /// What it is.
    pub kind: Equipment,
    /// Why.
    pub why: WhyNotJudged,
}

/// Why something was not judged.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum WhyNotJudged {
    /// No layer of the site asks anything of such a device: nothing of it was judged.
    NothingIsAsked,
    /// No layer asks for these settings, and no rule looks at them.
    NobodyAsksFor(Vec<SettingId>),
    /// These settings are asked for, and what is asked was not seen by those who wrote the profiles.
    NotSeen(Vec<SettingId>),
}

impl NotJudged {
    /// What was not judged, as paths: `relay-1`, `inverter-1/volt-watt/points`.
    pub fn paths(&self) -> impl Iterator<Item = String> {
        let settings = match &self.why {
            WhyNotJudged::NothingIsAsked => None,
            WhyNotJudged::NobodyAsksFor(settings) | WhyNotJudged::NotSeen(settings) => Some(settings),
        };
        let whole = settings.is_none().then(|| self.device.clone());
        whole.into_iter().chain(settings.into_iter().flatten().map(|setting| format!("{}/{setting}", self.device)))
    }
}

/// All that no requirement judged.
pub(super) fn at(site: &SiteFile<'_>, looked_at: &practice::Site<'_>) -> Vec<NotJudged> {
    let mut found: Vec<NotJudged> = Vec::new();
    for (n, device) in looked_at.devices.iter().enumerate() {
        let not_judged = |why| NotJudged { device: device.name.to_owned(), kind: device.kind, why };
        if !device.counted.asks_anything() && device.kind != Equipment::Installation {
            found.push(not_judged(WhyNotJudged::NothingIsAsked));
        } else if device.settings.reach_beyond(&device.counted.judged_alone) {
            let (not_seen, unasked) = left_over(n, device, looked_at);
            found.extend((!unasked.is_empty()).then(|| not_judged(WhyNotJudged::NobodyAsksFor(unasked))));
            found.extend((!not_seen.is_empty()).then(|| not_judged(WhyNotJudged::NotSeen(not_seen))));
        }
    }
    let is_judged = looked_at.devices.iter().any(|device| device.kind == Equipment::Installation);
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

/// A device of which nothing was judged proves nothing.
pub(super) fn verdict(not_judged: &[NotJudged]) -> Verdict {
    let is_whole = |one: &NotJudged| one.why == WhyNotJudged::NothingIsAsked;
    if not_judged.iter().any(is_whole) { Verdict::NotProven } else { Verdict::Complies }
}

/// What a device states and nobody looks at: what is asked but was not seen, and what nobody asks for.
fn left_over(n: usize, device: &DeviceResult<'_>, site: &practice::Site<'_>) -> (Vec<SettingId>, Vec<SettingId>) {
    let stated = device.settings.iter().map(|(setting, _)| setting);
    let left = stated.filter(|setting| !device.counted.judged_alone.has(*setting) && !is_judged_with_another(*setting, n, device, site));
    left.partition(|setting| device.counted.requirement.get(*setting).is_some_and(|resolved| resolved.entry.is_gap()))
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
        || (setting.is_state() && (!device.settings.is_enabled(setting) || requirement.is_seen_to_ask_of_function(setting)))
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
