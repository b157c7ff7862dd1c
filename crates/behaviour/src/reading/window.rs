//! A row between its neighbours.

use super::stuck::Stuck;
use super::{LeftOut, Moment, Reading, Setup, Stretch};
use crate::thresholds::{BEYOND_RATING, LEAST_SPREAD, ON_FROM, PLAUSIBLE_VOLTS, REACTIVE_FROM, SPREAD_OF_STEP, STEADY};
use logs::Row;
use response::timeline::{Micros, micros};
use std::collections::VecDeque;

/// What becomes of a row.
pub enum Became<'r> {
    /// It can be judged, for some functions at least.
    Reading(&'r Reading, Option<LeftOut>),
    /// It cannot; how long it stands for, its day.
    LeftOut(LeftOut, u64, i32),
}

/// Where readings go.
pub type Out<'o> = &'o mut dyn FnMut(Became<'_>);

/// Turns rows into readings; each is handed on once the row after it is known.
pub struct Readings<'s> {
    setup: &'s Setup,
    stuck: Stuck,
    known: Vec<Moment>,
    before: Option<Moment>,
    this: Option<Moment>,
    /// Rows as far back as a response may take, oldest first.
    past: VecDeque<Moment>,
}

impl<'s> Readings<'s> {
    /// Of a log.
    #[must_use]
    pub fn new(setup: &'s Setup) -> Self {
        Self { setup, stuck: Stuck::default(), known: Vec::new(), before: None, this: None, past: VecDeque::new() }
    }

    /// Takes in a row, later than all before.
    pub fn push(&mut self, row: &Row, out: Out<'_>) {
        let moment = Moment::of(row, self.setup);
        let mut known = std::mem::take(&mut self.known);
        self.stuck.push(moment, self.is_on(&moment), &mut known);
        known.drain(..).for_each(|moment| self.follow(Some(moment), out));
        self.known = known;
    }

    /// The log is over.
    pub fn end(&mut self, out: Out<'_>) {
        let mut known = std::mem::take(&mut self.known);
        self.stuck.end(&mut known);
        known.drain(..).for_each(|moment| self.follow(Some(moment), out));
        self.follow(None, out);
    }

    fn follow(&mut self, next: Option<Moment>, out: Out<'_>) {
        if let Some(this) = self.this {
            match self.became(&this, next.as_ref()) {
                Ok((reading, why)) => out(Became::Reading(&reading, why)),
                Err((why, lasted, day)) => out(Became::LeftOut(why, lasted, day)),
            }
            self.keep(this);
        }
        self.before = self.this;
        self.this = next;
    }

    fn keep(&mut self, moment: Moment) {
        if self.setup.are_means() {
            return;
        }
        self.past.push_back(moment);
        let from = moment.at - micros(self.setup.response_time) - self.setup.step;
        while self.past.front().is_some_and(|first| first.at < from) {
            self.past.pop_front();
        }
    }

    fn is_on(&self, moment: &Moment) -> bool {
        moment.watts.abs() > ON_FROM * self.setup.rated
    }

    fn became(&self, this: &Moment, next: Option<&Moment>) -> Result<(Reading, Option<LeftOut>), (LeftOut, u64, i32)> {
        let setup = self.setup;
        let lasted = next.map_or(setup.step, |next| (next.at - this.at).min(setup.step)) as u64 / 1_000;
        let day = setup.day(this.at);
        let left_out = |why| Err((why, lasted, day));
        if this.is_stuck {
            return left_out(LeftOut::Stuck);
        }
        if this.volts[0].is_nan() || this.watts.is_nan() {
            return left_out(LeftOut::Blank);
        }
        let [least, most] = PLAUSIBLE_VOLTS.map(|share| share * setup.nominal);
        if !(least..=most).contains(&this.volts[0]) {
            return left_out(LeftOut::Implausible);
        }
        // vars and watts without end are none
        if this.watts.abs() > BEYOND_RATING * setup.nameplate || this.vars.abs() > BEYOND_RATING * setup.nameplate {
            return left_out(LeftOut::BeyondRating);
        }
        if !self.is_on(this) {
            return left_out(LeftOut::Off);
        }
        let is_beside = |other: &&Moment| (other.at - this.at).abs() <= setup.longest && !other.is_stuck;
        let Some((before, next)) = self.before.as_ref().filter(is_beside).zip(next.filter(is_beside)) else {
            return left_out(LeftOut::BesideGap);
        };
        let why = self.unloaded(this, before, next);
        let volts = |n: usize| self.stretch(this, before, next, |moment| moment.volts[n], setup.spread, LEAST_SPREAD);
        let mean = volts(0);
        let reading = Reading {
            moment: *this,
            lasted,
            day,
            // of one phase all are the same
            volts: if setup.phases.len() == 1 { [mean; 3] } else { [mean, volts(1), volts(2)] },
            watts: self.stretch(this, before, next, |moment| moment.watts, None, 0.0),
            is_on: self.is_on(before) && self.is_on(next),
            is_loaded: why.is_none(),
            off_for: if setup.are_means() { off_for(this, before, next) } else { 0.0 },
        };
        Ok((reading, why))
    }

    /// Why reactive power cannot be judged in it.
    fn unloaded(&self, this: &Moment, before: &Moment, next: &Moment) -> Option<LeftOut> {
        let most = this.watts.abs();
        if most < REACTIVE_FROM * self.setup.rated {
            return Some(LeftOut::LowPower);
        }
        let is_less = |other: &Moment| most < STEADY * other.watts.abs();
        let has_stop = !self.is_on(before) || !self.is_on(next) || (is_less(before) && is_less(next));
        // a row of a moment holds no stop
        (has_stop && self.setup.are_means()).then_some(LeftOut::Unsteady)
    }

    fn stretch(
        &self,
        this: &Moment,
        before: &Moment,
        next: &Moment,
        of: impl Fn(&Moment) -> f64,
        stated: Option<f64>,
        least: f64,
    ) -> Stretch {
        let (now, was, will) = (of(this), of(before), of(next));
        let swing = [now.min(was).min(will), now.max(was).max(will)];
        if self.setup.are_means() {
            let step = f64::midpoint((now - was).abs(), (will - now).abs());
            let spread = stated.unwrap_or_else(|| (SPREAD_OF_STEP * step).max(least));
            // a neighbour without a value says nothing of what moved
            let spread = if spread.is_nan() { least } else { spread };
            return Stretch { low: now, high: now, spread, swing };
        }
        let from: Micros = this.at - micros(self.setup.response_time) - self.setup.step;
        let past = self.past.iter().filter(|moment| moment.at >= from).map(&of);
        let [low, high] = past.fold([now.min(was), now.max(was)], |[low, high], value| [low.min(value), high.max(value)]);
        Stretch { low, high, spread: 0.0, swing }
    }
}

/// The share of a row for which a device may have been off that gave as much as in the rows beside it while it was on.
fn off_for(this: &Moment, before: &Moment, next: &Moment) -> f64 {
    let [this, before, next] = [this, before, next].map(|moment| moment.watts.abs());
    let most = this.max(before).max(next);
    if most > 0.0 { 1.0 - this / most } else { 0.0 }
}
