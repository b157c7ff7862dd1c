//! A time of a trip stage that is shown under another meaning than the one that is asked for.
//!
//! A clearing time holds the trip delay and the device's own time; a delay says how long the stage
//! waits, and not when the device is off. The device's own time is never zero and mostly not known, so
//! each bounds the other from one side only: a clearing time of 1 s shows that the delay is below 1 s,
//! and no more. What that leaves open is not proven. Where the own time is known, reading the display
//! states both times, and nothing is left to this room.

use crate::judge::{Fault, FaultKind, Held, Judged, Lack, Sink, Verdict, is_switched_off, judge_claim};
use settings_model::catalogue::SettingId;
use settings_model::claim::{Claim, Limit, Part};
use settings_model::exact::Exact;
use settings_model::facts::Facts;
use settings_model::settings::{Known, Settings};

/// Whether another time of the stage is stated in place of this one.
pub(crate) fn is_shown_otherwise(setting: SettingId, settings: &Settings) -> bool {
    let key = match setting.parameter().key {
        "definite-delay" | "disconnection" => "clearing-time",
        "clearing-time" => "definite-delay",
        _ => return false,
    };
    setting.sibling(key).is_some_and(|other| settings.states(other))
}

/// Judges what is asked of one time of a stage by the other one that is stated; a region that is
/// selected does not stand for a time that the device shows otherwise.
pub(crate) fn judge_other_times(held: Held<'_>, facts: &Facts, sink: &mut impl Sink) {
    for shown in SettingId::set_times().filter(|time| held.settings.states(*time)) {
        let Some(known) = held.settings.get(shown).filter(|_| !is_switched_off(shown, held)) else { continue };
        let asked: &[&str] =
            if shown.parameter().key == "clearing-time" { &["definite-delay", "disconnection"] } else { &["clearing-time"] };
        for asked in asked.iter().filter_map(|key| shown.sibling(key)).filter(|asked| !held.settings.states(*asked)) {
            let Some(resolved) = held.asked.get(asked) else { continue };
            let judged = resolved.entry.comply.iter().map(|claim| (claim, judge(claim, &resolved.entry.comply, shown, known, held, facts)));
            let worst =
                judged.filter(|(_, judged)| judged.verdict != Verdict::Holds).min_by_key(|(_, judged)| judged.verdict != Verdict::Fails);
            let Some((claim, Judged { verdict, slack, at })) = worst else { continue };
            let kind = if let Verdict::NotProven(lack) = verdict { FaultKind::NotProven(lack) } else { FaultKind::Fails };
            sink.fault(Fault { setting: shown, claim: claim.clone(), kind, slack, at });
        }
    }
}

fn judge(claim: &Claim, all: &[Claim], shown: SettingId, known: &Known, held: Held<'_>, facts: &Facts) -> Judged {
    let asked = claim.on.subject().setting;
    // who sets a device to be off within a time has it off within that time
    if asked.parameter().key == "disconnection" {
        return judge_claim(claim, all, known, held, facts);
    }
    let (Limit::AtLeast(bound) | Limit::AtMost(bound)) = &claim.limit else { return judge_claim(claim, all, known, held, facts) };
    let open = Judged::from(Verdict::NotProven(Lack::OwnTime));
    let (Some(edge), Some(time)) = (bound.value.at(facts), known.value.part(Part::Whole).and_then(|time| time.at(facts))) else {
        return open;
    };
    let half = known.step.as_deref().filter(|step| !step.exact).map_or(Exact::ZERO, |step| step.size.half());
    let is_least = matches!(claim.limit, Limit::AtLeast(_));
    if shown.parameter().key == "clearing-time" {
        // the delay lies below it
        match (time + half <= edge, is_least) {
            (true, true) => Verdict::Fails.into(),
            (true, false) => Verdict::Holds.into(),
            (false, _) => open,
        }
    } else {
        // the clearing time lies above it
        match (time - half >= edge, is_least) {
            (true, true) => Verdict::Holds.into(),
            (true, false) => Verdict::Fails.into(),
            (false, _) => open,
        }
    }
}
