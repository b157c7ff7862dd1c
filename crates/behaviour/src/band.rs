//! What a device that acts by a rule may have shown in one row, and whether it did.

mod showing;

use crate::accuracy::Accuracy;
use crate::function::{Answers, Rule, To};
use crate::hypotheses::{Grid, Hypothesis};
use crate::reading::{Reading, Setup, Stretch};
use crate::thresholds::NO_VARS_BELOW;

/// How far an answer may lie beside its curve, and how far readings may lie beside what was.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Margins {
    /// Of the answer: watts, vars or volt-amperes.
    pub tolerance: f64,
    /// Of what it answers to, in volts, where a test procedure allows that too.
    pub tolerance_volts: f64,
    /// Of readings.
    pub accuracy: Accuracy,
    /// The steps in which volts, watts and vars are written.
    pub resolution: [f64; 3],
}

impl Margins {
    /// How far a reading of an answer may lie off.
    #[must_use]
    pub fn of_answer(&self, answers: Answers) -> f64 {
        let [_, watts, vars] = self.resolution.map(|step| step / 2.0);
        let (watts, vars) = (self.accuracy.watts + watts, self.accuracy.vars + vars);
        match answers {
            Answers::Vars => vars,
            Answers::Watts | Answers::Charging | Answers::Export => watts,
            Answers::Apparent => watts + vars,
        }
    }
}

/// Which errors are allowed for: one of the whole log, or any in each row.
#[derive(Clone, Copy, Debug)]
pub enum Errors<'h> {
    /// These, constant.
    Constant(&'h Hypothesis),
    /// Any of those tried, in each row anew, and a spread within means twice as large: what is outside even so rests on
    /// nothing that nobody stated. The hypothesis says which voltage is followed and which way vars are counted.
    Any(&'h Hypothesis),
}

impl Errors<'_> {
    fn hypothesis(&self) -> &Hypothesis {
        match self {
            Self::Constant(of) | Self::Any(of) => of,
        }
    }
}

/// How a row stands to a rule.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stands {
    /// What was measured.
    pub value: f64,
    /// Least and greatest that a device which acts by the rule may have shown.
    pub band: [f64; 2],
    /// What the rule asks at the middle of what was read.
    pub asked: f64,
    /// What it answers to there.
    pub at: f64,
    /// Whether a device without the function would lie outside.
    pub is_informative: bool,
    /// Whether a device without the function could lie outside.
    pub is_exposed: bool,
}

impl Stands {
    /// Whether it lies above what the rule allows.
    #[must_use]
    pub fn is_above(&self) -> bool {
        self.value > self.band[1]
    }

    /// Whether it lies below.
    #[must_use]
    pub fn is_below(&self) -> bool {
        self.value < self.band[0]
    }
}

/// A rule before a log: what does not change from row to row.
#[derive(Clone, Debug)]
pub struct Judge<'s> {
    /// The rule.
    pub rule: Rule,
    /// What is tried of what it looks at.
    pub grid: Grid,
    setup: &'s Setup,
    margins: Margins,
    /// What else caps the power that the device gives: power that stays below them shows nothing of this rule.
    beside: Vec<Rule>,
    /// The greatest shift of voltage of all that is tried, for what lies beside.
    most_offset: f64,
    most_rise: f64,
    /// Least and greatest shift of voltage, and of rise, of all that is tried of this rule.
    offsets: [f64; 2],
    rises: [f64; 2],
    /// Between which voltages it asks nothing, and what it comes to there.
    rest: Option<([f64; 2], f64)>,
}

impl<'s> Judge<'s> {
    /// For a log of this setup; `beside` is all that the device is set to.
    #[must_use]
    pub fn new(rule: Rule, beside: &[Rule], grid: &Grid, setup: &'s Setup, margins: Margins) -> Self {
        let most = |of: fn(&Hypothesis) -> f64| grid.all.iter().map(of).fold(0.0, f64::max);
        let (most_offset, most_rise) = (most(|of| of.offset), most(|of| of.rise));
        let grid = grid.looking_at(rule.to == To::Volts, rule.answers == Answers::Vars);
        let caps = beside.iter().filter(|other| other.function != rule.function && other.answers.is_cap());
        let beside = caps.filter(|other| other.answers != Answers::Charging).cloned().collect();
        let range = |of: fn(&Hypothesis) -> f64| {
            let values = grid.all.iter().map(of);
            values.fold([f64::INFINITY, f64::NEG_INFINITY], |[low, high], value| [low.min(value), high.max(value)])
        };
        let (offsets, rises) = (range(|of| of.offset), range(|of| of.rise));
        let judge = Self { rule, grid, setup, margins, beside, most_offset, most_rise, offsets, rises, rest: None };
        Self { rest: judge.rest(), ..judge }
    }

    /// Where it rests: no vars are asked, or so much power is allowed that more would not be noticed.
    fn rest(&self) -> Option<([f64; 2], f64)> {
        let level = if self.rule.answers.is_cap() { self.rule.curve.extremes()[1] } else { 0.0 };
        let is_limit = self.rule.answers.is_cap() && level + self.margin() < self.setup.rated;
        let stretch = self.rule.curve.stretch_at(level).filter(|_| self.rule.to == To::Volts && !is_limit);
        stretch.map(|stretch| (stretch, level))
    }

    /// One of each that differs in more than errors of voltage.
    #[must_use]
    pub fn kinds(&self) -> Vec<Hypothesis> {
        let mut kinds: Vec<Hypothesis> = Vec::new();
        for of in &self.grid.all {
            if !kinds.iter().any(|kind| kind.follows == of.follows && kind.is_reversed == of.is_reversed) {
                kinds.push(*of);
            }
        }
        kinds
    }

    /// Rated apparent power, in volt-amperes.
    #[must_use]
    pub fn rated(&self) -> f64 {
        self.setup.rated
    }

    /// Nominal voltage.
    #[must_use]
    pub fn nominal(&self) -> f64 {
        self.setup.nominal
    }

    /// Whether rows stand for what moved within them.
    #[must_use]
    pub fn are_means(&self) -> bool {
        self.setup.are_means()
    }

    /// How far beside its curve a device that acts by the rule may be read.
    #[must_use]
    pub fn margin(&self) -> f64 {
        self.margins.tolerance + self.margins.of_answer(self.rule.answers)
    }

    /// Whether a limit that is the same everywhere lies so far below the rating that more would be noticed.
    #[must_use]
    pub fn limits(&self) -> bool {
        self.rule.curve.extremes()[1] + self.margin() < self.setup.rated
    }

    /// Whether the row can be used for this rule.
    #[must_use]
    pub fn uses(&self, reading: &Reading) -> bool {
        let is_known = !self.value(reading, false).is_nan();
        match self.rule.answers {
            Answers::Vars => is_known && reading.is_loaded,
            Answers::Charging => is_known && reading.moment.watts < 0.0,
            Answers::Watts | Answers::Apparent => is_known && reading.moment.watts > 0.0,
            Answers::Export => is_known,
        }
    }

    /// What was measured of what it answers with.
    #[must_use]
    pub fn value(&self, reading: &Reading, is_reversed: bool) -> f64 {
        let moment = &reading.moment;
        match self.rule.answers {
            Answers::Vars if is_reversed => -moment.vars,
            Answers::Vars => moment.vars,
            Answers::Watts => moment.watts,
            Answers::Charging => -moment.watts,
            // without vars, active power alone is less
            Answers::Apparent => {
                if moment.vars.is_nan() {
                    moment.watts
                } else {
                    moment.watts.hypot(moment.vars)
                }
            }
            Answers::Export => moment.export,
        }
    }

    /// What was read of what it answers to: volts, watts, or what is limited.
    #[must_use]
    pub fn read(&self, reading: &Reading) -> f64 {
        match self.rule.to {
            To::Volts => reading.moment.volts[0],
            To::Watts => reading.moment.watts,
            To::Nothing => self.value(reading, false),
        }
    }

    /// How a row stands.
    #[must_use]
    pub fn stands(&self, reading: &Reading, errors: Errors<'_>) -> Stands {
        let of = errors.hypothesis();
        let value = self.value(reading, of.is_reversed);
        let (at, ends, stretch, factor) = self.answered_to(reading, errors);
        let off_for = match errors {
            Errors::Constant(_) => reading.off_for,
            Errors::Any(_) => reading.off_for.max(self.may_rest_for(reading)),
        };
        let band = self.allowed(reading, ends, stretch, factor, off_for);
        let margin = self.margin();
        let band = [band[0] - margin, band[1] + margin];
        let (is_informative, is_exposed) = self.shows(reading, band);
        Stands { value, band, asked: self.rule.curve.at(at), at, is_informative, is_exposed }
    }

    /// Whether a row lies where the rule asks nothing, and nothing was done, whatever the errors: it would be inside of every
    /// band, and would tell no device without the function from one with it. Most rows are such.
    #[must_use]
    pub fn rests(&self, reading: &Reading, kinds: &[Hypothesis]) -> bool {
        let Some(([from, to], level)) = self.rest else { return false };
        let margin = self.margin();
        let (value, is_cap) = (self.value(reading, false), self.rule.answers.is_cap());
        // a band around rest holds what lies within a margin of it: means, lags and limits only widen it
        let is_within = if is_cap { value <= level + margin } else { value.abs() <= margin };
        is_within
            && kinds.iter().all(|kind| {
                let (_, [low, high], ..) = self.answered_to(reading, Errors::Any(kind));
                from <= low && high <= to
            })
    }

    /// What it answers to: the middle, the least and greatest that it may have been, as read, and how many times the
    /// spread is taken.
    fn answered_to<'r>(&self, reading: &'r Reading, errors: Errors<'_>) -> (f64, [f64; 2], &'r Stretch, f64) {
        let of = errors.hypothesis();
        if self.rule.to == To::Nothing {
            let value = self.value(reading, of.is_reversed);
            return (value, [value; 2], &reading.watts, 0.0);
        }
        if self.rule.to == To::Watts {
            let error = self.margins.accuracy.watts + self.margins.resolution[1] / 2.0;
            let stretch = &reading.watts;
            return (reading.moment.watts, [stretch.low - error, stretch.high + error], stretch, 1.0);
        }
        let stretch = reading.followed(of.follows);
        let share = reading.moment.watts / self.setup.rated;
        let own = self.margins.resolution[0] / 2.0 + self.margins.tolerance_volts;
        let error = own + self.grid.offset_half + self.grid.rise_half * share.abs();
        let middle = f64::midpoint(stretch.low, stretch.high) + of.offset + of.rise * share;
        match errors {
            Errors::Constant(_) => {
                let shift = of.offset + of.rise * share;
                (middle, [stretch.low + shift - error, stretch.high + shift + error], stretch, 1.0)
            }
            Errors::Any(_) => {
                let [low, high] = [self.rises[0] * share, self.rises[1] * share];
                let shift = [self.offsets[0] + low.min(high), self.offsets[1] + low.max(high)];
                let twice = if self.setup.spread.is_some() { 1.0 } else { 2.0 };
                (middle, [stretch.low + shift[0] - error, stretch.high + shift[1] + error], stretch, twice)
            }
        }
    }

    /// What the rule comes to over the row, without tolerance and errors of the answer.
    fn allowed(&self, reading: &Reading, [low, high]: [f64; 2], stretch: &Stretch, factor: f64, off_for: f64) -> [f64; 2] {
        let curve = &self.rule.curve;
        let mut band = match self.rule.to {
            // clouds come and go within a row, and no row beside it says how deep they were
            To::Watts if self.setup.are_means() => self.within_what_is_given(low, high),
            _ if stretch.spread > 0.0 => curve.mean_with_spread(low, high, factor * stretch.spread),
            _ => curve.range(low, high),
        };
        if self.setup.are_means() && self.rule.to != To::Nothing {
            // the answer may lag behind for so long of each row
            let shift = low - stretch.low;
            let [least, most] = curve.range(stretch.swing[0] + shift, stretch.swing[1] + shift);
            let lag = (most - least) * (self.setup.response_time / self.setup.seconds()).min(1.0);
            band = [band[0] - lag, band[1] + lag];
        }
        if !self.rule.answers.is_cap() {
            // while it is off it gives no vars
            let on_for = 1.0 - off_for;
            band = [band[0].min(on_for * band[0]), band[1].max(on_for * band[1])];
        }
        if let Some(limit) = self.rule.yields_to {
            let watts = reading.watts.low.abs().max(reading.watts.high.abs()) + self.margins.accuracy.watts;
            let left = (limit * limit - watts * watts).max(0.0).sqrt();
            band = [band[0].min(left), band[1].max(-left)];
        }
        if self.rule.may_rest { [band[0].min(0.0), band[1].max(0.0)] } else { band }
    }

    /// The greatest share of a row of means for which it may have given too little for vars to be asked of it: the rest
    /// of it at all that is rated.
    fn may_rest_for(&self, reading: &Reading) -> f64 {
        let given = reading.moment.watts.abs() / self.setup.rated;
        if self.setup.are_means() { ((1.0 - given) / (1.0 - NO_VARS_BELOW)).clamp(0.0, 1.0) } else { 0.0 }
    }

    /// What a mean comes to of power that may have been anything, from none to all that is rated.
    fn within_what_is_given(&self, low: f64, high: f64) -> [f64; 2] {
        let rated = self.setup.rated.max(low.abs()).max(high.abs());
        let ends = [if low < 0.0 { -rated } else { 0.0 }, if high > 0.0 { rated } else { 0.0 }];
        let [one, other] = [low, high].map(|mean| self.rule.curve.mean_between(mean, ends[0], ends[1]));
        // between the two means a hull bends at points of the curve only
        let within = self.rule.curve.range(low, high);
        [one[0].min(other[0]).min(within[0]), one[1].max(other[1]).max(within[1])]
    }
}
