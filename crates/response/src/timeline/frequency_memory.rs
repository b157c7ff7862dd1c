//! The answer to high frequency has a memory: the lowest level that was reached is held until the
//! frequency has come back far enough and for long enough; then power moves back up a ramp.

use super::Micros;
use crate::device::FrequencyAnswer;

/// What is remembered of one excursion.
#[derive(Clone, Debug, Default)]
pub(super) struct FrequencyMemory(Option<Excursion>);

#[derive(Clone, Debug)]
struct Excursion {
    /// What was given when it began.
    from: f64,
    /// The most that it left since.
    lowest: f64,
    /// Since when the frequency has been back.
    back: Option<Micros>,
}

impl FrequencyMemory {
    pub(super) fn forget(&mut self) {
        self.0 = None;
    }

    pub(super) fn is_quiet(&self) -> bool {
        self.0.is_none()
    }

    /// The most that may be given from this moment on; `None` where nothing limits it. `given` is what
    /// was given before, `ramp` the time from nothing to `rated`.
    pub(super) fn step(
        &mut self,
        answer: &FrequencyAnswer,
        at: Micros,
        frequency: f64,
        given: f64,
        rated: f64,
        ramp: Micros,
    ) -> Option<f64> {
        if frequency > answer.start {
            let excursion = self.0.get_or_insert(Excursion { from: given, lowest: given, back: None });
            let most = answer.most(frequency, excursion.from, rated);
            // an answer without hysteresis and hold follows the frequency both ways
            let remembers = answer.hysteresis > 0.0 || answer.hold > 0.0;
            excursion.lowest = if remembers { excursion.lowest.min(most) } else { most };
            excursion.back = None;
            return Some(excursion.lowest);
        }
        let excursion = self.0.as_mut()?;
        if answer.hysteresis == 0.0 && answer.hold == 0.0 && !frequency.is_nan() {
            self.0 = None;
            return None;
        }
        // what the log does not say is not back
        if frequency.is_nan() || frequency > answer.start - answer.hysteresis {
            excursion.back = None;
            return Some(excursion.lowest);
        }
        let back = *excursion.back.get_or_insert(at);
        let released = at - back - super::micros(answer.hold);
        let most = match (released >= 0, ramp) {
            (false, _) => excursion.lowest,
            (true, 0) => f64::INFINITY,
            (true, ramp) => excursion.lowest + rated * released as f64 / ramp as f64,
        };
        if most >= rated {
            self.0 = None;
            return None;
        }
        Some(most)
    }
}
