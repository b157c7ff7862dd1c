//! What a row would show of a device without the function.

use super::Judge;
use crate::function::{Answers, Rule};
use crate::reading::Reading;

impl Judge<'_> {
    /// The least that anything else may have capped active power at, whatever the errors; not a number where nobody can
    /// tell.
    fn least_beside(&self, reading: &Reading) -> f64 {
        let moment = &reading.moment;
        let of = |rule: &Rule| {
            let level = match rule.answers {
                Answers::Watts => {
                    let share = moment.watts / self.setup.rated;
                    let ends = reading.volts.iter().map(|volts| volts.high + self.most_offset + self.most_rise * share.max(0.0));
                    let high = ends.fold(f64::NEG_INFINITY, f64::max) + reading.volts[0].spread;
                    rule.curve.range(high, high)[0]
                }
                // what the site uses may be given too
                Answers::Export => rule.curve.extremes()[0] + moment.watts - moment.export,
                _ => rule.curve.extremes()[0],
            };
            level - self.margins.tolerance - self.margins.of_answer(rule.answers)
        };
        // a limit that nobody can follow may hold power anywhere
        self.beside
            .iter()
            .map(of)
            .fold(f64::INFINITY, |least, level| if level.is_nan() || least.is_nan() { f64::NAN } else { least.min(level) })
    }

    /// Whether a device without the function would lie outside, and whether it could.
    pub(super) fn shows(&self, reading: &Reading, band: [f64; 2]) -> (bool, bool) {
        let error = self.margins.of_answer(self.rule.answers);
        if self.rule.answers == Answers::Vars {
            let is_informative = band[0] > error || band[1] < -error;
            return (is_informative, is_informative);
        }
        let moment = &reading.moment;
        let watts = self.margins.accuracy.watts;
        // beside the vars that it gives
        let vars = if moment.vars.is_nan() { 0.0 } else { moment.vars.abs().min(self.setup.rated) };
        let rated = (self.setup.rated * self.setup.rated - vars * vars).sqrt();
        let wanted = match self.rule.answers {
            Answers::Charging => -moment.available,
            _ => moment.available,
        };
        let others = self.least_beside(reading);
        let free = if others.is_nan() || wanted.is_nan() { f64::NAN } else { (wanted - watts).min(rated).min(others) };
        let rated = if others.is_nan() { rated } else { rated.min(others) };
        let (free, most) = match self.rule.answers {
            // what is not given now would leave the site too
            Answers::Export => (moment.export + free - moment.watts, moment.export + rated - moment.watts),
            _ => (free, rated),
        };
        // what is not known is not greater than anything
        (free - error > band[1], most - error > band[1])
    }
}
