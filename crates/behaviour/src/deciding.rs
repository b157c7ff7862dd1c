//! From what was counted to an answer: could a device that acts as set have written this log, and could one without
//! the function?

mod change;
pub(crate) mod edge;
mod timed;

pub use change::Change;
pub use timed::decide_timed;

use crate::accuracy::Accuracy;
use crate::band::Judge;
use crate::counters::{Counters, Day, Millis, RuleDay, Tally};
use crate::function::{Answers, Function};
use crate::hypotheses::{Counts, Hypothesis, Place};
use crate::needs::{Lacks, needs};
use crate::reading::LeftOut;
use crate::thresholds::{
    BLOCKS, COARSE, DAYS, FINE, LONG_LOG, OUTSIDE_OF_INFORMATIVE, OUTSIDE_OF_USABLE, SPAN, STRAY_OF_INFORMATIVE, Thresholds, UNSOUND,
};

/// What a log shows of a function.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Answer {
    /// A device that acts so could have written it, and one without the function could not.
    Behaves,
    /// No device that acts so could have written it.
    Departs,
    /// Both could.
    NotShown,
}

/// How sure an answer is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Sure {
    /// It rests on an assumption.
    Likely,
    /// It holds under everything that is stated or published.
    Certain,
}

/// What an answer that is only likely rests on.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum RestsOn {
    /// The accuracy of the meter, which nobody stated.
    Accuracy,
    /// That the meter's error of voltage is the same throughout the log, and that voltage moved no more within means than
    /// between them.
    SteadyError,
    /// How far the terminals may lie above the place where it was measured, which nobody stated.
    Place,
    /// That reactive power above zero is supplied, which nobody stated.
    Sign,
    /// That vars have a sign in this log: none lies clearly below zero.
    Signed,
    /// A tolerance that no standard at hand gives.
    Tolerance,
    /// The upper edge of power, where nobody logged what was available.
    UpperEdge,
    /// That power kept at the limit, where nobody logged what was available.
    AtLimit,
}

/// How far from what is asked, in watts, vars or volt-amperes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Size {
    /// On average over the time outside.
    pub typical: f64,
    /// At the most.
    pub farthest: f64,
    /// Whether more was measured than is asked; vars that are supplied are more than vars that are absorbed.
    pub is_more: bool,
}

/// What is known about a log and a tolerance, as far as it decides how sure an answer is.
#[derive(Clone, Copy, Debug)]
pub struct Known {
    /// How far readings may lie off.
    pub accuracy: Accuracy,
    /// Where it was measured.
    pub place: Place,
    /// Which way it counts vars.
    pub counts: Counts,
    /// Whether nobody gives the tolerance.
    pub is_tolerance_assumed: bool,
    /// Whether the log has what was available.
    pub has_available: bool,
    /// Whether the log has reactive power.
    pub has_reactive: bool,
    /// Whether rows are of moments.
    pub is_fine: bool,
    /// Rated apparent power.
    pub rated: f64,
}

impl Known {
    fn asked(&self) -> Thresholds {
        if self.is_fine { FINE } else { COARSE }
    }
}

/// What came of one function.
#[derive(Clone, Debug)]
pub struct Verdict {
    /// Which.
    pub function: Function,
    /// The answer.
    pub answer: Answer,
    /// How sure; of what is not shown, nothing.
    pub sure: Option<Sure>,
    /// What it rests on, where it is only likely.
    pub rests_on: Vec<RestsOn>,
    /// How far it departs.
    pub size: Option<Size>,
    /// How long rows could be used.
    pub usable: Millis,
    /// How long they would have shown a device without the function.
    pub informative: Millis,
    /// How long the device lay outside.
    pub outside: Millis,
    /// Blocks, and days, that the answer rests on.
    pub blocks: u32,
    /// See `blocks`.
    pub days: u32,
    /// What the function answered to, over the rows that show something: volts or watts.
    pub shown_over: Option<[f64; 2]>,
    /// What it answered to over all rows that could be used.
    pub reached: Option<[f64; 2]>,
    /// The errors that explain the log, of all that were tried.
    pub explained_by: Vec<Hypothesis>,
    /// What would show it.
    pub needs: Option<Lacks>,
    /// From when on it departs, or until when it did, where it changed within the log.
    pub change: Option<Change>,
}

/// Decides one rule, the one at a place among those that were counted; where the device changed within the log, the part
/// of it that departs.
#[must_use]
pub fn decide(judge: &Judge<'_>, place: usize, counters: &Counters, known: &Known) -> Verdict {
    change::departing_part(judge, place, counters, known).unwrap_or_else(|| decide_as_one(judge, place, counters, known))
}

/// Decides one rule over all days alike.
fn decide_as_one(judge: &Judge<'_>, place: usize, counters: &Counters, known: &Known) -> Verdict {
    let total = counters.numbers();
    let empty = RuleDay::default();
    let rule_days: Vec<&RuleDay> = counters.days.values().map(|day| day.rules.get(place).unwrap_or(&empty)).collect();
    let seen = Seen { judge, total: total.rules.get(place).unwrap_or(&empty), days: rule_days, known };
    if let Some(lacks) = seen.cannot_be_shown(&total) {
        return seen.not_shown(Some(lacks));
    }
    if let Some(departs) = seen.departs(counters) {
        return departs;
    }
    let behaves = seen.behaves().or_else(|| seen.at_limit()).or_else(|| seen.upper_edge(counters));
    behaves.unwrap_or_else(|| seen.not_shown(None))
}

/// What was seen of one rule.
struct Seen<'a> {
    judge: &'a Judge<'a>,
    total: &'a RuleDay,
    days: Vec<&'a RuleDay>,
    known: &'a Known,
}

impl Seen<'_> {
    /// What keeps it from being shown whatever the rows say.
    fn cannot_be_shown(&self, total: &Day) -> Option<Lacks> {
        let unsound: Millis = total.left_out.iter().filter(|(why, _)| why.is_unsound()).map(|(_, lasted)| lasted).sum();
        let beyond = total.left_out.get(&LeftOut::BeyondRating).copied().unwrap_or_default();
        if beyond >= self.known.asked().outside {
            return Some(Lacks::ThisDevice(beyond));
        }
        if unsound as f64 > UNSOUND * total.read as f64 {
            return Some(Lacks::SoundRows);
        }
        let is_vars = self.judge.rule.answers == Answers::Vars;
        if is_vars && !self.known.has_reactive {
            return Some(Lacks::Column("Q [kvar]"));
        }
        (is_vars && self.known.place == Place::Supply).then_some(Lacks::OwnReactivePower)
    }

    /// Departs where it does under everything that was tried.
    fn departs(&self, counters: &Counters) -> Option<Verdict> {
        let tried = self.total.constant.len();
        if tried == 0 || !(0..tried).all(|n| self.is_departing(&self.total.constant[n], |day| day.constant.get(n))) {
            return None;
        }
        // the errors that excuse the most
        let n = (0..tried).min_by_key(|n| self.total.constant[*n].outside())?;
        let tally = &self.total.constant[n];
        let mut rests_on = self.rests_on();
        if !self.is_departing(&self.total.any, |day| Some(&day.any)) {
            rests_on.push(RestsOn::SteadyError);
        }
        let asks_below = tally.asked.is_some_and(|[low, _]| low < 0);
        if self.judge.rule.answers == Answers::Vars && asks_below && self.are_above_zero(counters) {
            rests_on.push(RestsOn::Signed);
        }
        let size = Size {
            typical: tally.missed as f64 / tally.outside().max(1) as f64,
            farthest: tally.farthest as f64 / 1e3,
            is_more: tally.above >= tally.below,
        };
        let days = self.days.iter().filter(|day| day.constant.get(n).is_some_and(|tally| tally.outside() > 0)).count();
        Some(Verdict {
            size: Some(size),
            outside: tally.outside(),
            blocks: tally.outside_blocks,
            days: days as u32,
            shown_over: tally.at.or(self.total.reached).map(units),
            ..self.verdict(Answer::Departs, rests_on)
        })
    }

    /// Whether vars lie above zero and never clearly below it, as in a log that lost their signs.
    fn are_above_zero(&self, counters: &Counters) -> bool {
        let error = self.judge.margin() / self.known.rated;
        let beyond = |is_beyond: &dyn Fn(f64) -> bool| {
            let cells = counters.days.values().flat_map(|day| day.vars_by_volts.cells()).filter(|(_, share, _)| is_beyond(*share));
            cells.map(|(_, _, lasted)| lasted).sum::<Millis>()
        };
        beyond(&|share| share > error) >= self.known.asked().outside && beyond(&|share| share < -error) == 0
    }

    fn is_departing(&self, tally: &Tally, of: impl Fn(&RuleDay) -> Option<&Tally>) -> bool {
        let outside = tally.outside();
        let days = self.days.iter().filter(|day| of(day).is_some_and(|tally| tally.outside() > 0)).count();
        let share = |whole: Millis, share: f64| outside as f64 >= share * whole as f64;
        outside >= self.known.asked().outside
            && tally.outside_blocks >= BLOCKS
            && self.are_enough(days)
            && (share(self.total.usable, OUTSIDE_OF_USABLE) || share(tally.telling(), OUTSIDE_OF_INFORMATIVE))
    }

    /// Of a long log, several days are asked for.
    fn are_enough(&self, days: usize) -> bool {
        let logged = self.days.len();
        days >= if logged >= LONG_LOG { DAYS as usize } else { 1 }
    }

    fn explains(&self, n: usize) -> bool {
        let tally = &self.total.constant[n];
        let within = |whole: Millis, share: f64| tally.outside() as f64 <= share * whole as f64;
        within(self.total.usable, OUTSIDE_OF_USABLE) && within(tally.telling(), STRAY_OF_INFORMATIVE)
    }

    /// Behaves where one of what was tried explains the log, and enough of it would show a device without the function.
    fn behaves(&self) -> Option<Verdict> {
        let explained: Vec<usize> = (0..self.total.constant.len()).filter(|n| self.explains(*n)).collect();
        let is_counted_so = |n: &&usize| self.known.counts != Counts::NotStated || !self.judge.grid.all[**n].is_reversed;
        let shown: Vec<usize> = explained.iter().filter(is_counted_so).copied().filter(|n| self.is_shown(*n)).collect();
        let Some(n) = shown.iter().copied().min_by_key(|n| self.total.constant[*n].outside()) else {
            let is_reversed = explained.iter().any(|n| self.is_shown(*n));
            return is_reversed.then(|| self.not_shown(Some(Lacks::CountingOfVars)));
        };
        let tally = &self.total.constant[n];
        let days = self.days.iter().filter(|day| day.constant.get(n).is_some_and(|tally| tally.informative > 0)).count();
        let mut rests_on = self.rests_on();
        if self.judge.rule.answers == Answers::Vars && self.known.counts == Counts::NotStated {
            rests_on.push(RestsOn::Sign);
        }
        Some(Verdict {
            informative: tally.informative,
            outside: tally.outside(),
            blocks: tally.informative_blocks,
            days: days as u32,
            shown_over: tally.at.map(units),
            explained_by: shown.iter().map(|n| self.judge.grid.all[*n]).collect(),
            ..self.verdict(Answer::Behaves, rests_on)
        })
    }

    fn is_shown(&self, n: usize) -> bool {
        let tally = &self.total.constant[n];
        let days = self.days.iter().filter(|day| day.constant.get(n).is_some_and(|tally| tally.informative > 0)).count();
        let spans = tally.asked.map(units).is_some_and(|[low, high]| high - low >= self.judge.span() * self.known.rated);
        tally.informative >= self.known.asked().informative && tally.informative_blocks >= BLOCKS && self.are_enough(days) && spans
    }

    /// Of a limit that is the same at any voltage: power keeps at it.
    fn at_limit(&self) -> Option<Verdict> {
        let days = self.days.iter().filter(|day| day.at_limit > 0).count();
        let total = self.total;
        let is_shown = total.at_limit >= self.known.asked().informative && total.at_limit_blocks >= BLOCKS && self.are_enough(days);
        let is_kept = total.constant.first().is_some_and(|_| self.explains(0));
        (is_shown && is_kept).then(|| Verdict {
            informative: total.at_limit,
            blocks: total.at_limit_blocks,
            shown_over: total.reached_limit.map(units),
            days: days as u32,
            ..self.verdict(Answer::Behaves, self.rests_on().into_iter().chain([RestsOn::AtLimit]).collect())
        })
    }

    /// Of a cap that falls with voltage, where nobody logged what was available: the upper edge of power falls with it.
    fn upper_edge(&self, counters: &Counters) -> Option<Verdict> {
        let is_asked = self.judge.rule.answers == Answers::Watts && !self.known.has_available && self.known.place == Place::Terminals;
        let over = if is_asked { edge::follows_cap(&counters.watts_by_volts(), self.judge, self.known) } else { None }?;
        let stated = self.judge.grid.all.iter().position(|of| of.offset == 0.0)?;
        let days = self.days.iter().filter(|day| day.constant.get(stated).is_some_and(|tally| tally.exposed > 0)).count();
        (self.explains(stated) && self.are_enough(days)).then(|| Verdict {
            informative: over.lasted,
            days: days as u32,
            shown_over: Some(over.volts),
            ..self.verdict(Answer::Behaves, self.rests_on().into_iter().chain([RestsOn::UpperEdge]).collect())
        })
    }

    fn rests_on(&self) -> Vec<RestsOn> {
        let looks_at_volts = self.judge.grid.all.len() > 1 || self.judge.grid.all.iter().any(|of| of.offset != 0.0);
        let all = [
            (self.known.accuracy.is_assumed(), RestsOn::Accuracy),
            (self.known.place != Place::Terminals && (looks_at_volts || self.judge.rule.answers == Answers::Vars), RestsOn::Place),
            (self.known.is_tolerance_assumed, RestsOn::Tolerance),
        ];
        all.into_iter().filter(|(rests, _)| *rests).map(|(_, on)| on).collect()
    }

    fn not_shown(&self, lacks: Option<Lacks>) -> Verdict {
        let lacks = lacks.unwrap_or_else(|| needs(self.judge, self.total, self.known.asked(), self.known.has_available));
        let most = self.total.constant.iter().max_by_key(|tally| tally.informative);
        Verdict {
            sure: None,
            needs: Some(lacks),
            informative: most.map_or(0, |tally| tally.informative),
            ..self.verdict(Answer::NotShown, Vec::new())
        }
    }

    fn verdict(&self, answer: Answer, rests_on: Vec<RestsOn>) -> Verdict {
        let sure = if rests_on.is_empty() { Sure::Certain } else { Sure::Likely };
        Verdict {
            function: self.judge.rule.function,
            answer,
            sure: Some(sure),
            rests_on,
            size: None,
            usable: self.total.usable,
            informative: 0,
            outside: 0,
            blocks: 0,
            days: 0,
            shown_over: None,
            reached: self.total.reached.map(units),
            explained_by: Vec::new(),
            needs: None,
            change: None,
        }
    }
}

/// Thousandths, in units.
fn units([low, high]: [i64; 2]) -> [f64; 2] {
    [low as f64 / 1e3, high as f64 / 1e3]
}

impl Judge<'_> {
    /// How much of what is asked has to be visited, as a share of rated apparent power: nothing of what is the same
    /// everywhere.
    #[must_use]
    pub fn span(&self) -> f64 {
        match self.rule.answers {
            _ if self.rule.curve.points().len() == 1 => 0.0,
            Answers::Vars => SPAN,
            _ => crate::thresholds::CAP_SPAN,
        }
    }
}
