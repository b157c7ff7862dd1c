#!/usr/bin/env python3
"""Breaks what the timeline of a log means, one line at a time, and sees that a test notices.

    python3 tests/breaking/timeline.py           # all, in a copy of the tree; about 3 s each
    python3 tests/breaking/timeline.py equal     # those whose words contain `equal`

Ends with 1 where a broken line passes every test of `crates/response`, or no longer stands in the code.
"""

import sys

from broken import every

CODE = "crates/response/src/timeline"

# what is meant, where, what it is, what it becomes
BROKEN = [
    ("equal is not outside, above", "protection.rs", "Side::Above if value > self", "Side::Above if value >= self"),
    ("equal is not outside, below", "protection.rs", "Side::Below if value < self", "Side::Below if value <= self"),
    ("a window of reconnection includes its low edge", "protection.rs", "low <= value && value <= high", "low < value && value <= high"),
    ("a window of reconnection includes its high edge", "protection.rs", "low <= value && value <= high", "low <= value && value < high"),
    ("a stage trips at its time, not before", "condition.rs", "let earliest = since + self.may.least(stage);", "let earliest = since;"),
    ("a stage is off by its longest time", "protection.rs", "since.saturating_add(self.most)", "since.saturating_add(self.least)"),
    ("a trip may come as late as the first value outside allows", "condition.rs", "_ => self.proven.since().unwrap_or(self.began_latest),", "_ => since,"),
    ("how deep it is decides how long it is ridden through", "timer.rs", "{ stage.least_at(now, phases) } else { stage.least };", "{ stage.least } else { stage.least };"),
    ("the least time follows a slope", "ride_through.rs", "near + ((far - near) as f64 * share.clamp(0.0, 1.0)).round() as Micros", "near.min(far)"),
    ("one value inside clears the timer", "timer.rs", "if self.back.is_some_and(|back| now.at - back >= stage.drop_off.reset(count)) {", "if false {"),
    ("the stage that is proven first ends it", "states.rs", "Some((window.must?, window.stage))).min();", "Some((window.must?, window.stage))).max();"),
    ("a value holds until the next: it may have begun right after the one before", "timer.rs", "self.since.get_or_insert(last.at);", "self.since.get_or_insert(now.at);"),
    ("a value holds until the next: it is certain from its own row on", "timer.rs", ".map_or(now.at, |since| since + held));", ".map_or(last.at, |since| since + held));"),
    ("rows too far apart never prove a stage", "timer.rs", "if now.at - last.at > stage.most {", "if false {"),
    ("back inside at this value: it lasted less", "condition.rs", "let end = if standing == Position::Inside { now.at - 1 } else { now.at };", "let end = now.at;"),
    ("one that may trip may also go on", "states.rs", "self.on = gone_on.filter(|_| emptied.is_none());", "self.on = gone_on.filter(|_| trips.is_empty());"),
    ("a trip is certain only if none had left before", "story.rs", "let began_with_all = all_are_on && self.by_link.is_none();", "let began_with_all = true;"),
    ("what a gap hides is a window", "story.rs", "earliest, latest, sure: Sure::SoonestOnly, unseen: 0 });\n    }\n\n    /// Devices that are on may leave because", "earliest, latest: earliest, sure: Sure::SoonestOnly, unseen: 0 });\n    }\n\n    /// Devices that are on may leave because"),
    ("an observation starts again at an excursion", "observation.rs", "Some(false) => *self = Self::default(),", "Some(false) => {}"),
    ("an observation lasts its whole time", "observation.rs", "self.earliest?.saturating_add(wait[0])", "self.earliest?.saturating_add(1)"),
    ("just before a value outside an observation may still end", "states/returning.rs", "let of = if is_inside == Some(false) { before } else { *observation };", "let of = *observation;"),
    ("both voltage and frequency are inside", "observation.rs", " || outside(sample.frequency, self.frequency);", ";"),
    ("a trip sets the ramp back", "on.rs", "[last, first].map(|connected| Lane { connected, ..Lane::default() })", "[last, first].map(|_| Lane { connected: LONG_AGO, ..Lane::default() })"),
    ("to cease for a moment is not a trip", "on.rs", "_ if ceases => State::Ceased,", "_ if ceases => State::Waiting,"),
    ("a mean is weighted by time", "rolling_mean.rs", "(entering[phase] - left).saturating_mul(lasted)", "(entering[phase] - left).saturating_mul(1_000_000)"),
    ("a mean covers its window and not a value more", "rolling_mean.rs", "let is_leaving = from >= front_from + self.window;", "let is_leaving = from >= front_from + self.window + 1_000_000;"),
    ("a mean is not known before its window is full", "rolling_mean.rs", "self.since[phase].is_some_and(|since| since + self.window <= self.until)", "self.since[phase].is_some_and(|since| since <= self.until)"),
    ("no trip before a window is full", "mean_watch.rs", "since[phase].map(|since| since + window)", "since[phase]"),
    ("what rests is passed over, and only that: by the value", "condition.rs", "stage.standing(now, phases, Count::AtMost) == Position::Inside {\n            self.stood", "true {\n            self.stood"),
    ("what rests is passed over, and only that: by the count", "condition.rs", "if self.is_at_rest() && stage", "if stage"),
    ("one that observes is passed over until its time comes", "states/returning.rs", "latest.is_some() && at.saturating_add(wait) > step.now.at", "latest.is_some()"),
    ("one that waits is passed over while the supply is outside", "states/returning.rs", "Observation { earliest: None, .. } => is_inside[1] == Some(false),", "Observation { earliest: None, .. } => true,"),
    ("an observation is passed over only while the supply is inside", "states/returning.rs", "is_inside == [Some(true); 2] && latest.is_some()", "latest.is_some()"),
    ("a history stands for the window before the log", "rolling_mean.rs", "self.push(at - self.window, [voltage; 3], |_| {});", "let _ = (at, voltage);"),
    ("a mean equal to its threshold is not above", "rolling_mean.rs", "((threshold * SCALE).round() as i64).saturating_mul(self.window)", "((threshold * SCALE).round() as i64).saturating_mul(self.window) - 1"),
    ("coarse values do not prove a mean", "condition.rs", "let latest = if mean.proves {", "let latest = if true {"),
    ("a gap is not drawn through: means", "player.rs", "        self.means.iter_mut().flatten().for_each(MeanWatch::forget);\n", ""),
    ("a gap is not drawn through: timers", "gap.rs", "        self.conditions.fill(Condition::default());\n", ""),
    ("a gap is not drawn through: it may have left unseen", "gap.rs", "if let Some(first) = first {\n                self.story.left_unseen([first, until]);", "if let Some(first) = first {\n                let _ = first;"),
    ("a missing value is no nought", "rolling_mean.rs", "if v.is_nan() { None } else", "if false { None } else"),
    ("none connects onto a stage that stands", "states/returning.rs", "let end = (!goes_on).then_some(run.to);", "let end = Some(step.last.at).filter(|_| goes_on || !goes_on);"),
    ("one that is held off does not come back", "off.rs", "!self.is_held && ", ""),
    ("to leave is counted", "off.rs", "        energy.leave();\n", "        let _ = &mut energy;\n"),
    ("one that is on has not left", "energy.rs", "self.drop_outs = self.drop_outs.min(other.drop_outs);", "self.drop_outs = self.drop_outs.max(other.drop_outs);"),
    ("one that left in any of several dips has left", "energy.rs", "self.drop_outs = self.drop_outs.max(other.drop_outs);", "self.drop_outs = self.drop_outs.min(other.drop_outs);"),
    ("one that came back between two values has left", "states/returning.rs", ".leaving_as(&off.energy)", ""),
]


if __name__ == "__main__":
    sys.exit(every(BROKEN, CODE, ["-p", "response"], sys.argv[1:]))
