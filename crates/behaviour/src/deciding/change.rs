//! Whether a device changed within a log: settings and firmware change without notice, and what a good and a bad part
//! come to together is neither.

use super::{Answer, Known, Verdict, decide_as_one};
use crate::band::Judge;
use crate::counters::{Counters, Day, RuleDay};
use crate::thresholds::LONG_LOG;

/// Where a device changed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Change {
    /// The first day after it.
    pub day: i32,
    /// Whether it departs from that day on, and not until then.
    pub departs_after: bool,
}

/// The verdict on the part that departs, where the other part behaves: parted at the day at which the time outside,
/// summed up over the days, lies farthest from an even share.
pub(super) fn departing_part(judge: &Judge<'_>, place: usize, counters: &Counters, known: &Known) -> Option<Verdict> {
    let day = parting(counters, place)?;
    let is_long = |part: &Counters| part.days.values().filter(|day| usable(day, place) > 0).count() >= LONG_LOG;
    let parts = [false, true].map(|is_after| counters.only(|of| (of >= day) == is_after));
    if !parts.iter().all(is_long) {
        return None;
    }
    let [before, after] = parts.map(|part| decide_as_one(judge, place, &part, known));
    let (departs, other, departs_after) = if after.answer == Answer::Departs { (after, before, true) } else { (before, after, false) };
    let has_changed = departs.answer == Answer::Departs && other.answer == Answer::Behaves;
    has_changed.then_some(Verdict { change: Some(Change { day, departs_after }), ..departs })
}

fn of(day: &Day, place: usize) -> Option<&RuleDay> {
    day.rules.get(place)
}

fn usable(day: &Day, place: usize) -> u64 {
    of(day, place).map_or(0, |rule| rule.usable)
}

/// The first day of the later part: of all errors that were tried those under which the parts differ most.
fn parting(counters: &Counters, place: usize) -> Option<i32> {
    let tried = counters.days.values().filter_map(|day| of(day, place)).map(|rule| rule.constant.len()).max()?;
    let all = (0..tried).filter_map(|n| {
        let days = || counters.days.iter().filter_map(|(day, counted)| Some((*day, of(counted, place)?)));
        let outside = |rule: &RuleDay| rule.constant.get(n).map_or(0, |tally| tally.outside()) as f64;
        let (sum, usable) = days().fold((0.0, 0.0), |(sum, usable), (_, rule)| (sum + outside(rule), usable + rule.usable as f64));
        let share = sum / usable.max(1.0);
        let mut beyond = 0.0;
        let sums = days().map(|(day, rule)| {
            let before = beyond;
            beyond += outside(rule) - share * rule.usable as f64;
            (day, f64::abs(before))
        });
        sums.max_by(|one, other| one.1.total_cmp(&other.1))
    });
    let (day, beyond) = all.max_by(|one, other| one.1.total_cmp(&other.1))?;
    (beyond > 0.0).then_some(day)
}
