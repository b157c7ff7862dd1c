//! Counts rows: the one pass over a log. What decides is [`crate::deciding`], from what was counted.

use crate::band::{Errors, Judge, Margins, Stands};
use crate::counters::{Counted, Counters, Day, Histogram, Millis, RuleDay, Tally, thousandths, wider};
use crate::function::{Answers, Rule, To};
use crate::hypotheses::{Grid, Hypothesis};
use crate::reading::{LeftOut, Reading, Readings, Setup};
use crate::stretches::Stretches;
use crate::thresholds::{COARSE, FINE, REMOVAL_TIME};
use logs::Row;
use response::timeline::{Micros, micros};
use std::collections::btree_map::Entry;

/// A log on its way into counters.
pub struct Counting<'s> {
    readings: Readings<'s>,
    counts: Counts<'s>,
}

/// What is counted.
struct Counts<'s> {
    setup: &'s Setup,
    judges: Vec<Counter<'s>>,
    counters: Counters,
    block: Micros,
    open: OpenDay,
}

/// The day that is being counted: it goes to the others when the next begins.
#[derive(Default)]
struct OpenDay {
    number: Option<i32>,
    day: Day,
    /// Where its rows were, not yet added up.
    vars: Vec<Cell>,
    watts: Vec<Cell>,
}

/// A cell of a histogram, and how long.
type Cell = ((i16, i16), Millis);

/// So many rows are kept before they are added up.
const ROWS_KEPT: usize = 4_096;

/// One rule.
struct Counter<'s> {
    judge: Judge<'s>,
    kinds: Vec<Hypothesis>,
    /// The last block with an informative row, and with one outside, for each set of errors; then with any errors.
    blocks: Vec<[Micros; 2]>,
    at_limit_block: Micros,
    /// Since when net export lies above its limit.
    above_since: Option<Micros>,
    /// When it lay outside whatever the errors.
    stretches: Stretches,
}

const NEVER: Micros = Micros::MIN;

impl<'s> Counting<'s> {
    /// For rules that a device is held against; `beside` is all that it is set to.
    #[must_use]
    pub fn new(rules: &[Rule], beside: &[Rule], grid: &Grid, setup: &'s Setup, margins: Margins) -> Self {
        let asked = if setup.is_fine() { FINE } else { COARSE };
        let judges: Vec<Counter<'s>> =
            rules.iter().map(|rule| Counter::new(Judge::new(rule.clone(), beside, grid, setup, margins))).collect();
        let counted = judges.iter().map(|counter| {
            let Judge { rule, grid, .. } = &counter.judge;
            Counted { function: rule.function, points: rule.curve.points().to_vec(), tried: grid.all.clone() }
        });
        let counters = Counters { days: std::collections::BTreeMap::new(), counted: counted.collect() };
        let block = (asked.block * 1_000) as Micros;
        Self { readings: Readings::new(setup), counts: Counts { setup, judges, counters, block, open: OpenDay::default() } }
    }

    /// Counts a row, later than all before.
    pub fn push(&mut self, row: &Row) {
        let Self { readings, counts } = self;
        readings.push(row, &mut |became| counts.count(became));
    }

    /// What was counted, and for each rule when the device lay outside.
    #[must_use]
    pub fn end(mut self) -> (Counters, Vec<Stretches>) {
        let Self { readings, counts } = &mut self;
        readings.end(&mut |became| counts.count(became));
        counts.close_day();
        (self.counts.counters, self.counts.judges.into_iter().map(|counter| counter.stretches).collect())
    }
}

impl Counts<'_> {
    fn day(&mut self, number: i32) -> &mut Day {
        if self.open.number != Some(number) {
            self.close_day();
            self.open.number = Some(number);
            self.open.day.rules.resize_with(self.judges.len(), RuleDay::default);
        }
        &mut self.open.day
    }

    fn close_day(&mut self) {
        self.open.add_up();
        let Some(number) = self.open.number.take() else { return };
        let day = std::mem::take(&mut self.open.day);
        match self.counters.days.entry(number) {
            Entry::Vacant(free) => {
                free.insert(day);
            }
            Entry::Occupied(mut begun) => begun.get_mut().add(&day),
        }
    }

    fn count(&mut self, became: crate::reading::Became<'_>) {
        use crate::reading::Became;
        match became {
            Became::LeftOut(why, lasted, day) => self.leave_out(why, lasted, day, true),
            Became::Reading(reading, why) => {
                why.into_iter().for_each(|why| self.leave_out(why, reading.lasted, reading.day, false));
                self.count_reading(reading);
            }
        }
    }

    fn leave_out(&mut self, why: LeftOut, lasted: Millis, day: i32, is_row: bool) {
        let day = self.day(day);
        *day.left_out.entry(why).or_default() += lasted;
        if is_row {
            day.rows += 1;
            day.read += lasted;
        }
    }

    fn count_reading(&mut self, reading: &Reading) {
        let (rated, block) = (self.setup.rated, reading.moment.at.div_euclid(self.block));
        let volts = reading.moment.volts[0];
        let day = self.day(reading.day);
        day.rows += 1;
        day.read += reading.lasted;
        let Self { judges, open, setup, .. } = self;
        open.watts.push((Histogram::cell(volts, reading.moment.watts / rated), reading.lasted));
        if reading.is_loaded && !reading.moment.vars.is_nan() {
            open.vars.push((Histogram::cell(volts, reading.moment.vars / rated), reading.lasted));
        }
        if open.watts.len() >= ROWS_KEPT {
            open.add_up();
        }
        for (counter, counted) in judges.iter_mut().zip(&mut open.day.rules) {
            counter.count(reading, block, setup.step, counted);
        }
    }
}

impl OpenDay {
    fn add_up(&mut self) {
        self.day.vars_by_volts.take_in(&mut self.vars);
        self.day.watts_by_volts.take_in(&mut self.watts);
    }
}

impl<'s> Counter<'s> {
    fn new(judge: Judge<'s>) -> Self {
        let blocks = vec![[NEVER; 2]; judge.grid.all.len() + 1];
        let kinds = judge.kinds();
        Self { judge, kinds, blocks, at_limit_block: NEVER, above_since: None, stretches: Stretches::default() }
    }

    fn count(&mut self, reading: &Reading, block: Micros, step: Micros, counted: &mut RuleDay) {
        if !self.judge.uses(reading) {
            self.above_since = None;
            return;
        }
        counted.usable += reading.lasted;
        let tried = self.judge.grid.all.len();
        counted.constant.resize_with(tried, Tally::default);
        counted.reached = wider(counted.reached, Some([thousandths(self.judge.read(reading)); 2]));
        if self.judge.rests(reading, &self.kinds) {
            return;
        }
        for n in 0..tried {
            let stands = self.judge.stands(reading, Errors::Constant(&self.judge.grid.all[n]));
            let is_outside = self.is_outside(&stands, reading, step);
            tally(&mut counted.constant[n], &stands, is_outside, reading.lasted);
            self.count_blocks(n, block, stands.is_informative, is_outside, &mut counted.constant[n]);
        }
        self.count_any(reading, block, step, counted);
        self.count_at_limit(reading, block, counted);
    }

    /// Outside whatever the errors: of all kinds the one that is nearest to the band.
    fn count_any(&mut self, reading: &Reading, block: Micros, step: Micros, counted: &mut RuleDay) {
        let away = |stands: &Stands| (stands.value - stands.asked).abs();
        let (mut nearest, mut is_outside): (Option<Stands>, bool) = (None, true);
        for kind in &self.kinds {
            let stands = self.judge.stands(reading, Errors::Any(kind));
            is_outside &= self.is_outside(&stands, reading, step);
            let [is_informative, is_exposed] = nearest.map_or([true; 2], |other| [other.is_informative, other.is_exposed]);
            let nearer = nearest.filter(|other| away(other) <= away(&stands)).unwrap_or(stands);
            nearest = Some(Stands {
                is_informative: is_informative && stands.is_informative,
                is_exposed: is_exposed && stands.is_exposed,
                ..nearer
            });
        }
        let Some(stands) = nearest else { return };
        tally(&mut counted.any, &stands, is_outside, reading.lasted);
        self.count_blocks(self.blocks.len() - 1, block, stands.is_informative, is_outside, &mut counted.any);
        if is_outside {
            self.stretches.add(reading.moment.at, reading.moment.at + step, step, away(&stands));
        }
        if self.judge.rule.answers == Answers::Export {
            self.above_since = if stands.is_above() { self.above_since.or(Some(reading.moment.at)) } else { None };
        }
    }

    /// Net export may lie above its limit for a while, and only as much as the device itself gives is its doing.
    fn is_outside(&self, stands: &Stands, reading: &Reading, step: Micros) -> bool {
        let is_outside = stands.is_above() || (stands.is_below() && !self.judge.rule.answers.is_cap());
        if self.judge.rule.answers != Answers::Export {
            return is_outside;
        }
        let lasted = self.above_since.map_or(0, |since| reading.moment.at - since);
        is_outside && lasted >= micros(REMOVAL_TIME) + step && reading.moment.watts >= stands.value - stands.asked
    }

    fn count_blocks(&mut self, n: usize, block: Micros, is_informative: bool, is_outside: bool, tally: &mut Tally) {
        let [informative, outside] = &mut self.blocks[n];
        if is_informative && *informative != block {
            *informative = block;
            tally.informative_blocks += 1;
        }
        if is_outside && *outside != block {
            *outside = block;
            tally.outside_blocks += 1;
        }
    }

    /// Whether it sits at a limit that is the same at any voltage.
    fn count_at_limit(&mut self, reading: &Reading, block: Micros, counted: &mut RuleDay) {
        if self.judge.rule.to != To::Nothing {
            return;
        }
        let stands = self.judge.stands(reading, Errors::Constant(&self.judge.grid.all[0]));
        if stands.is_exposed && (stands.band[0]..=stands.band[1]).contains(&stands.value) {
            counted.at_limit += reading.lasted;
            counted.reached_limit = wider(counted.reached_limit, Some([thousandths(stands.value); 2]));
            if self.at_limit_block != block {
                self.at_limit_block = block;
                counted.at_limit_blocks += 1;
            }
        }
    }
}

fn tally(tally: &mut Tally, stands: &Stands, is_outside: bool, lasted: Millis) {
    if stands.is_exposed {
        tally.exposed += lasted;
    }
    if stands.is_informative {
        tally.informative += lasted;
        tally.at = wider(tally.at, Some([thousandths(stands.at); 2]));
        tally.asked = wider(tally.asked, Some([thousandths(stands.asked); 2]));
    }
    if is_outside {
        *(if stands.is_above() { &mut tally.above } else { &mut tally.below }) += lasted;
        let away = (stands.value - stands.asked).abs();
        // thousandths of a unit times seconds are units times milliseconds
        tally.missed += (away * lasted as f64).round() as u64;
        tally.farthest = tally.farthest.max(thousandths(away).unsigned_abs());
    }
}
