//! What a device did over each stretch of a log, to draw it from: flat memory however long the log is.

use crate::overview::wider;
use crate::stretches::{Kept, Stretches};
use response::timeline::{Micros, Player, State, Watched};

/// What a picture tells apart, in the order of [`Did::shares`].
pub const DOING: [State; 5] = [State::Waiting, State::Observing, State::Ramping, State::Running, State::Ceased];

/// What was done over a stretch, at the least and at the most that a device which does nothing forbidden may have done.
#[derive(Clone, Copy, Debug)]
pub struct Did {
    /// Lowest and highest mean that a stage looks at.
    mean: [f64; 2],
    /// How long a state lasted.
    states: [[Micros; DOING.len()]; 2],
    /// How long it was held back.
    held_back: [Micros; 2],
    /// Watts times microseconds given.
    given: [f64; 2],
    /// How long the log says what could have been given.
    powered: Micros,
}

impl Kept for Did {
    const NOTHING: Self =
        Self { mean: [f64::INFINITY, f64::NEG_INFINITY], states: [[0; DOING.len()]; 2], held_back: [0; 2], given: [0.0; 2], powered: 0 };

    fn joined(mut self, other: Self) -> Self {
        self.mean = wider(self.mean, other.mean);
        for n in 0..2 {
            self.states[n].iter_mut().zip(other.states[n]).for_each(|(one, other)| *one += other);
            self.held_back[n] += other.held_back[n];
            self.given[n] += other.given[n];
        }
        self.powered += other.powered;
        self
    }
}

impl Did {
    /// Lowest and highest mean that a stage looks at, once its window was full.
    pub fn mean(&self) -> Option<[f64; 2]> {
        self.mean[0].is_finite().then_some(self.mean)
    }

    /// Mean watts given, at the least and at the most.
    pub fn watts(&self) -> Option<[f64; 2]> {
        let [one, other] = self.given.map(|energy| energy / self.powered as f64);
        (self.powered > 0).then(|| [one.min(other), one.max(other)])
    }

    /// Shares of the time that the log speaks of: the states of [`DOING`], then held back, which is taken
    /// out of running and coming up.
    pub fn shares(&self) -> Option<[[f64; DOING.len() + 1]; 2]> {
        let all: Micros = self.states[0].iter().sum();
        let of = |n: usize| {
            let [waiting, observing, ramping, running, ceased] = self.states[n];
            let held = self.held_back[n].min(running + ramping);
            let from_running = held.min(running);
            let parts = [waiting, observing, ramping - (held - from_running), running - from_running, ceased, held];
            parts.map(|part| part as f64 / all as f64)
        };
        (all > 0).then(|| [of(0), of(1)])
    }
}

/// Follows a player.
#[derive(Debug)]
pub struct Trace {
    /// What was done over each.
    pub stretches: Stretches<Did>,
    /// Which stage's mean is drawn: the first that looks at one.
    pub mean_of: Option<usize>,
    /// From when on something is known.
    since: Option<Micros>,
    /// What each did since then.
    states: [usize; 2],
    counted: [Counted; 2],
    mean: Option<f64>,
    /// Whether the row before said what could have been given.
    is_powered: bool,
}

/// What was counted up to a moment.
#[derive(Clone, Copy, Debug, Default)]
struct Counted {
    given: f64,
    held_back: Micros,
}

impl Trace {
    /// Of a device with these stages, on a log with this usual step.
    pub fn new(stages: &[response::timeline::Stage], usual: Micros) -> Self {
        let mean_of = stages.iter().position(|stage| matches!(stage.watched, Watched::MeanOfAnyPhase(_)));
        Self {
            stretches: Stretches::new(usual),
            mean_of,
            since: None,
            states: [0; 2],
            counted: [Counted::default(); 2],
            mean: None,
            is_powered: false,
        }
    }

    /// Looks at a player after a row of the log; `seen` is what it says could have been given, `None` of a
    /// row without a voltage. Where the log said nothing before it, `gap` is from when on.
    pub fn look(&mut self, at: Micros, gap: Option<Micros>, seen: Option<f64>, player: &Player<'_>) {
        let counted = player.given_and_held_back().map(|(given, held_back)| Counted { given, held_back });
        if let Some(since) = self.since {
            let until = gap.unwrap_or(at);
            self.count(since, until, counted);
        }
        self.counted = counted;
        self.states = player.states().map(|state| DOING.iter().position(|one| *one == state).unwrap_or(0));
        self.since = seen.map(|_| at);
        self.is_powered = seen.is_some_and(|watts| !watts.is_nan());
        self.mean = self.mean_of.and_then(|stage| player.mean(stage));
        let did = self.stretches.at(at);
        if let Some(mean) = self.mean {
            did.mean = wider(did.mean, [mean; 2]);
        }
    }

    /// Counts what was done from one moment to another.
    fn count(&mut self, since: Micros, until: Micros, counted: [Counted; 2]) {
        let (before, states, is_powered) = (self.counted, self.states, self.is_powered);
        // most rows lie within one stretch
        if let Some(did) = self.stretches.whole(since, until) {
            for n in 0..2 {
                did.states[n][states[n]] += until - since;
                did.given[n] += counted[n].given - before[n].given;
                did.held_back[n] += counted[n].held_back - before[n].held_back;
            }
            did.powered += if is_powered { until - since } else { 0 };
            return;
        }
        let lasted = (until - since).max(1) as f64;
        let mean = self.mean;
        self.stretches.over(since, until, |did, part| {
            let share = part as f64 / lasted;
            for n in 0..2 {
                did.states[n][states[n]] += part;
                did.given[n] += (counted[n].given - before[n].given) * share;
                did.held_back[n] += ((counted[n].held_back - before[n].held_back) as f64 * share).round() as Micros;
            }
            did.powered += if is_powered { part } else { 0 };
            if let (Some(mean), None) = (mean, did.mean()) {
                did.mean = [mean; 2];
            }
        });
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use response::device::Device;
    use response::timeline::{DropOff, Protection, Reconnection, RideThrough, Sample, Side, Stage, Values};

    const S: Micros = 1_000_000;

    /// Minutes of 230 V, one of 100 V that trips it, then 230 V again; a gap, and a row without a voltage.
    #[test]
    fn what_is_drawn_adds_up_to_what_was_played() {
        let device = Device::bare(5_000.0);
        let stage = Stage {
            function: "undervoltage-1",
            watched: Watched::AnyPhase,
            side: Side::Below,
            threshold: 180.0,
            least: 10 * S,
            most: 11 * S,
            drop_off: DropOff::at_threshold(180.0),
            rides: RideThrough::default(),
            relay: None,
        };
        let momentary = stage.clone();
        let mean = Stage {
            function: "sustained-overvoltage",
            watched: Watched::MeanOfAnyPhase(60 * S),
            side: Side::Above,
            threshold: 258.0,
            drop_off: DropOff::at_threshold(258.0),
            ..stage
        };
        let reconnection = Reconnection { observation: [60 * S; 2], ramp: 100 * S, voltage: [205.0, 253.0], ..Reconnection::default() };
        let protection = Protection { stages: vec![momentary, mean], reconnection, ..Protection::default() };
        let values = Values { phases: 1, are_means: false, prove_means: true };
        let mut player = Player::new(&device, &protection, Some(true), values);
        let mut trace = Trace::new(&protection.stages, S);
        assert_eq!(trace.mean_of, Some(1));
        for second in (0..2_000).filter(|second| !(900..=1_000).contains(second)) {
            let (at, gap) = (second * S, (second == 1_001).then_some(900 * S));
            if let Some(from) = gap {
                player.gap(from);
            }
            let is_blank = (1_500..1_520).contains(&second);
            let volts = if (300..360).contains(&second) { 100.0 } else { 230.0 };
            match is_blank {
                true => player.gap(at),
                false => player.push(Sample { at, voltage: [volts, f64::NAN, f64::NAN], frequency: 50.0, available: 3_000.0, load: 0.0 }),
            }
            trace.look(at, gap, (!is_blank).then_some(3_000.0), &player);
        }
        let all = &trace.stretches.all;
        assert!(all.len() <= 512 && trace.stretches.width == 4 * S, "{}", trace.stretches.width);
        for (n, energy) in player.energy().into_iter().enumerate() {
            let given: f64 = all.iter().map(|did| did.given[n]).sum();
            assert!((given - energy.given).abs() <= 1e-9 * energy.given, "{given} {}", energy.given);
        }
        // known for all but the gap and the rows without a voltage; the row after those begins anew
        let known: Micros = all.iter().map(|did| did.states[1].iter().sum::<Micros>()).sum();
        assert_eq!(known, (1_999 - 101 - 20) * S);
        let at = |second: Micros| &all[(second / 4) as usize];
        assert_eq!(at(100).shares().unwrap()[1], [0.0, 0.0, 0.0, 1.0, 0.0, 0.0]);
        assert_eq!(at(340).shares().unwrap()[1], [1.0, 0.0, 0.0, 0.0, 0.0, 0.0]);
        assert_eq!(at(400).shares().unwrap()[1], [0.0, 1.0, 0.0, 0.0, 0.0, 0.0]);
        assert_eq!((at(952).shares(), at(1_508).watts(), at(100).watts()), (None, None, Some([3_000.0; 2])));
        assert_eq!((at(40).mean(), at(100).mean()), (None, Some([230.0; 2])));
        assert!(at(356).mean().unwrap()[0] < 110.0);
    }
}
