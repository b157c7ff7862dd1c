#!/usr/bin/env python3
"""Breaks what a log shows of a device, one line at a time, and sees that a test notices.

    python3 tests/breaking/behaviour.py          # all, in a copy of the tree; about a minute each
    python3 tests/breaking/behaviour.py clouds   # those whose words contain `clouds`

Ends with 1 where a broken line passes every test of `crates/behaviour`, or no longer stands in the code.
"""

import sys

from broken import every

CODE = "crates/behaviour/src"

# what is meant, where, what it is, what it becomes
BROKEN = [
    ("tolerance is part of a band", "band.rs", "let band = [band[0] - margin, band[1] + margin];", "let band = [band[0] + margin, band[1] - margin];"),
    ("the meter's error of voltage moves the band", "band.rs", "let shift = of.offset + of.rise * share;", "let shift = of.rise * share;"),
    ("whatever the errors is every one that is tried", "band.rs", "self.offsets[1] + low.max(high)];", "self.offsets[0] + low.max(high)];"),
    ("a cap is no set point: below it nothing is outside", "counting.rs", "(stands.is_below() && !self.judge.rule.answers.is_cap())", "stands.is_below()"),
    ("a function that is off would look the same: that shows nothing", "band/showing.rs", "let is_informative = band[0] > error || band[1] < -error;", "let is_informative = true;"),
    ("what else caps power shows nothing of this cap", "band/showing.rs", "(wanted - watts).min(rated).min(others)", "(wanted - watts).min(rated)"),
    ("vars yield to power where that is kept first", "band.rs", "band = [band[0].min(left), band[1].max(-left)];", "let _ = left;"),
    ("what locks in may rest", "band.rs", "if self.rule.may_rest { [band[0].min(0.0), band[1].max(0.0)] } else { band }", "band"),
    ("what locks in is asked all the same where it acts", "function.rs", "let acting = Device { lock_in: None, ..device.clone() };", "let acting = device.clone();"),
    ("clouds within a row bend the mean of what follows power", "band.rs", "To::Watts if self.setup.are_means() => self.within_what_is_given(low, high),", "To::Watts if false => self.within_what_is_given(low, high),"),
    ("for some of a row it may have given too little", "band.rs", "Errors::Any(_) => reading.off_for.max(self.may_rest_for(reading)),", "Errors::Any(_) => 0.0,"),
    ("voltage that moves within a row bends the mean", "curve.rs", "let moved = by * 0.5 * (spread.hypot(away) - away);", "let moved = 0.0 * by * (spread.hypot(away) - away);"),
    ("a mean lies above the hull's lower edge", "curve.rs", "[envelope(&places, mean, 1.0), -envelope(&places, mean, -1.0)]", "[self.at(mean), -envelope(&places, mean, -1.0)]"),
    ("one error of the meter has to explain the whole log", "deciding.rs", "(0..tried).all(|n| self.is_departing", "(0..tried).any(|n| self.is_departing"),
    ("certain only where no error helps", "deciding.rs", "if !self.is_departing(&self.total.any, |day| Some(&day.any)) {", "if false {"),
    ("it behaves only where enough of it shows", "deciding.rs", "tally.informative >= self.known.asked().informative && tally.informative_blocks >= BLOCKS", "tally.informative_blocks >= BLOCKS || tally.informative == 0"),
    ("a log of rows that are no measurement shows nothing", "deciding.rs", "if unsound as f64 > UNSOUND * total.read as f64 {", "if false {"),
    ("signs that nobody states leave reversed ones open", "deciding.rs", "self.known.counts != Counts::NotStated || !self.judge.grid.all[**n].is_reversed", "true"),
    ("the part that departs is told by itself", "deciding.rs", "change::departing_part(judge, place, counters, known).unwrap_or_else(||", "None.or_else(|| change::departing_part(judge, place, counters, known).filter(|_| false)).unwrap_or_else(||"),
    ("the day of a change is where the parts differ most", "deciding/change.rs", "beyond += outside(rule) - share * rule.usable as f64;", "beyond += outside(rule);"),
    ("a row beside a gap is not used", "reading/window.rs", "(other.at - this.at).abs() <= setup.longest && !other.is_stuck", "!other.is_stuck"),
    ("a response may lag behind in rows of moments", "reading/window.rs", "let past = self.past.iter().filter(|moment| moment.at >= from).map(&of);", "let past = self.past.iter().filter(|moment| moment.at > this.at).map(&of);"),
    ("rows that repeat each other are stuck", "reading/stuck.rs", "if self.run.len() >= STUCK_ROWS && lasted >= STUCK_FOR {", "if false {"),
    ("it is off by its own time, not by the first row outside", "happenings.rs", "is_off_asked: most.iter().all(is_off),", "is_off_asked: least.iter().any(is_off),"),
    ("one row is not enough for a departure at a time", "happenings.rs", "            ROWS => self.add(happened, at, 1, before),", "            1 => self.add(happened, at, 1, before),"),
    ("a device that left as early as it may has left", "happenings.rs", "        if !row.may_be_off {\n            self.was_on = is_on;\n        }", "        self.was_on = is_on;"),
    ("a response may still be on its way when power is above", "happenings.rs", "let most = self.most_lately(sample.at, most);", ""),
    ("one that stayed on has no return to be judged", "happenings.rs", "State::Ramping if is_above && self.has_left", "State::Ramping if is_above"),
    ("a likeness is named only where no other fits", "looks_like.rs", "let is_clear = next.is_none_or(|next| best.is_clear_of(next)) && fares[1..].iter().all(|other| !other.fits());", "let is_clear = true;"),
    ("days add up in any order", "counters.rs", "self.farthest = self.farthest.max(other.farthest);", "self.farthest = other.farthest;"),
]


if __name__ == "__main__":
    sys.exit(every(BROKEN, CODE, ["-p", "behaviour"], sys.argv[1:]))
