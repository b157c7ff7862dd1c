//! A time of a trip stage that is shown under another meaning than the one that is asked for.
//!
//! A clearing time holds the trip delay and the device's own time; a delay says how long the stage
//! waits, and not when the device is off; an operate time lies between, and may be as short as the delay.
//! The device's own time is never zero and mostly not known, so each bounds the other from one side only:
//! a clearing time of 1 s shows that the delay is below 1 s, and no more. What that leaves open is not
//! proven. Where the own time is known, reading the display states both times, and nothing is left to
//! this room.

use super::{DeviceSettings, Judged, MissingEvidence, Satisfaction, UnmetClaim, UnmetKind, is_switched_off, judge_claim};
use settings_model::catalogue::SettingId;
use settings_model::claim::{Claim, Limit, Part};
use settings_model::exact::Exact;
use settings_model::facts::Facts;
use settings_model::settings::{Known, Settings};

/// Whether another time of the stage is stated in place of this one.
pub(crate) fn is_shown_otherwise(setting: SettingId, settings: &Settings) -> bool {
    let keys: &[&str] = match setting.parameter().key {
        "definite-delay" => &["operate-time", "clearing-time"],
        "operate-time" => &["definite-delay", "clearing-time"],
        "clearing-time" => &["definite-delay", "operate-time"],
        "disconnection" => &["clearing-time"],
        _ => return false,
    };
    keys.iter().filter_map(|key| setting.sibling(key)).any(|other| settings.states(other))
}

/// What a time that is stated says something of, where that is not stated itself.
pub(crate) fn speaks_of(shown: SettingId) -> &'static [&'static str] {
    match shown.parameter().key {
        "definite-delay" => &["operate-time", "clearing-time"],
        "operate-time" => &["definite-delay", "clearing-time"],
        _ => &["definite-delay", "operate-time", "disconnection"],
    }
}

/// Where a time stands in a stage: the delay ends first, then comes the trip command, then the device is off.
fn place(time: SettingId) -> u8 {
    match time.parameter().key {
        "definite-delay" => 0,
        "operate-time" => 1,
        _ => 2,
    }
}

/// Judges what is asked of one time of a stage by the other one that is stated; a region that is
/// selected does not stand for a time that the device shows otherwise.
pub(crate) fn judge_other_times(held: DeviceSettings<'_>, facts: &Facts, faults: &mut Vec<UnmetClaim>) {
    for shown in SettingId::set_times().filter(|time| held.settings.states(*time)) {
        let Some(known) = held.settings.get(shown).filter(|_| !is_switched_off(shown, held)) else { continue };
        for asked in speaks_of(shown).iter().filter_map(|key| shown.sibling(key)).filter(|asked| !held.settings.states(*asked)) {
            let Some(resolved) = held.asked.get(asked) else { continue };
            let judged = resolved.entry.comply.iter().map(|claim| (claim, judge(claim, &resolved.entry.comply, shown, known, held, facts)));
            let worst = judged
                .filter(|(_, judged)| judged.satisfaction != Satisfaction::Holds)
                .min_by_key(|(_, judged)| judged.satisfaction != Satisfaction::Fails);
            let Some((claim, Judged { satisfaction, slack, at })) = worst else { continue };
            let kind = if let Satisfaction::NotProven(lack) = satisfaction { UnmetKind::NotProven(lack) } else { UnmetKind::Fails };
            faults.push(UnmetClaim { setting: shown, claim: claim.clone(), kind, slack, at });
        }
    }
}

fn judge(claim: &Claim, all: &[Claim], shown: SettingId, known: &Known, held: DeviceSettings<'_>, facts: &Facts) -> Judged {
    let asked = claim.on.subject().setting;
    // who sets a device to be off within a time has it off within that time
    if asked.parameter().key == "disconnection" {
        return judge_claim(claim, all, known, held, facts);
    }
    let (Limit::AtLeast(bound) | Limit::AtMost(bound)) = &claim.limit else { return judge_claim(claim, all, known, held, facts) };
    let open = Judged::from(Satisfaction::NotProven(MissingEvidence::OwnTime));
    let (Some(edge), Some(time)) = (bound.value.at(facts), known.value.part(Part::Whole).and_then(|time| time.at(facts))) else {
        return open;
    };
    let half = known.step.as_deref().filter(|step| !step.exact).map_or(Exact::ZERO, |step| step.size.half());
    let is_least = matches!(claim.limit, Limit::AtLeast(_));
    // between the delay and the trip command there may be nothing; the device's own time is never zero
    let may_be_equal = place(shown) + place(asked) == 1;
    if place(asked) < place(shown) {
        let fails = if may_be_equal { time + half < edge } else { time + half <= edge };
        match (is_least, fails, time + half <= edge) {
            (true, true, _) => Satisfaction::Fails.into(),
            (false, _, true) => Satisfaction::Holds.into(),
            _ => open,
        }
    } else {
        let fails = if may_be_equal { time - half > edge } else { time - half >= edge };
        match (is_least, fails, time - half >= edge) {
            (true, _, true) => Satisfaction::Holds.into(),
            (false, true, _) => Satisfaction::Fails.into(),
            _ => open,
        }
    }
}
