//! Devices and meters that are drawn, and the logs that they write. All of it is invented, but for what the shipped
//! codes ask of some devices.

pub mod chance;
mod codes;
mod course;
pub mod device;
mod meter;
mod scene;

use behaviour::accuracy::{Accuracy, Basis};
use behaviour::band::{Judge, Margins};
use behaviour::counters::Counters;
use behaviour::counting::Counting;
use behaviour::deciding::{Known, Verdict, decide};
use behaviour::function::{Rule, rules};
use behaviour::hypotheses::{Counts, Grid, Place};
use behaviour::reading::Setup;
use behaviour::thresholds::{MOST_RISE, RESPONSE_TIME};
use chance::Chance;
use device::{Fault, Set};
use logs::Row;
use scene::Scene;

/// A log with all that is known of it.
pub struct Drawn {
    pub setup: Setup,
    pub margins: Margins,
    pub grid: Grid,
    pub known: Known,
    pub rules: Vec<Rule>,
    pub rows: Vec<Row>,
    /// In words, to find it again.
    pub told: String,
}

/// What a log is like.
#[derive(Clone, Copy, Debug)]
pub struct Like {
    /// Seconds between rows.
    pub step: i64,
    pub days: i64,
    /// Whether it has what was available.
    pub has_available: bool,
    /// Whether device, place and meter are plain: a clear curve, one phase, the terminals, constant errors.
    pub is_plain: bool,
}

impl Like {
    pub fn draw(chance: &mut Chance) -> Self {
        let (step, days) = *chance.one_of(&[(1, 1), (60, 2), (60, 4), (300, 5), (300, 14), (900, 14)]);
        Self { step, days, has_available: chance.flips(), is_plain: true }
    }

    /// Of any device, place and meter.
    pub fn any(chance: &mut Chance) -> Self {
        let (step, days) = *chance.one_of(&[(1, 1), (2, 1), (5, 1), (20, 1), (60, 2), (300, 2), (300, 6), (900, 14)]);
        Self { step, days, has_available: chance.flips(), is_plain: false }
    }
}

/// A device with this fault, on a drawn supply, read by a drawn meter that keeps within its limits.
pub fn drawn(seed: u64, like: Like, fault: Fault) -> Drawn {
    let mut chance = Chance::of(seed);
    let set = if like.is_plain { Set::plain(&mut chance) } else { Set::any(&mut chance) };
    let rated = set.device.ratings.apparent;
    let accuracy = Accuracy {
        volts: *chance.one_of(&[0.002, 0.005, 0.005, 0.01]) * set.nominal,
        watts: *chance.one_of(&[0.005, 0.01, 0.02]) * rated,
        vars: *chance.one_of(&[0.01, 0.02]) * rated,
        of_volts: Basis::Stated,
        of_powers: Basis::Stated,
    };
    let of_volts = if like.is_plain { [0.0, 0.1, 0.1, 0.5] } else { [0.0, 0.1, 0.5, 1.0] };
    let resolution = [*chance.one_of(&of_volts), *chance.one_of(&[0.0, 1.0, 10.0, 50.0]), *chance.one_of(&[0.0, 1.0, 10.0, 50.0])];
    let tolerance = 0.04 * rated;
    let rules = rules(&set.device);
    let scene = if like.is_plain { Scene::plain(&mut chance, set) } else { Scene::any(&mut chance, set) };
    let setup = Setup {
        nominal: scene.set.nominal,
        rated,
        nameplate: rated,
        phases: (0..scene.phases).collect(),
        is_net: true,
        step: like.step * 1_000_000,
        longest: 3 * like.step * 1_000_000,
        response_time: scene.set.response_time.max(RESPONSE_TIME),
        spread: None,
        day_shift: 0,
    };
    let margins = Margins { tolerance, tolerance_volts: 0.0, accuracy, resolution };
    let known = Known {
        accuracy,
        place: scene.place,
        counts: scene.counts,
        is_tolerance_assumed: false,
        has_available: like.has_available,
        has_reactive: true,
        is_fine: setup.is_fine(),
        rated,
    };
    let most_rise = if scene.place == Place::Terminals { 0.0 } else { MOST_RISE * setup.nominal };
    let grid = Grid::new(accuracy.volts, most_rise, scene.phases, scene.counts);
    let told = format!("seed {seed}, {like:?}, {fault:?}, V ±{:.2} V in steps of {} V, {}", accuracy.volts, resolution[0], scene.told());
    let rows = scene.log(&mut chance, like, fault, &margins);
    Drawn { setup, margins, grid, known, rules, rows, told }
}

impl Drawn {
    pub fn counted(&self) -> Counters {
        self.counted_of(&self.rows)
    }

    pub fn counted_of(&self, rows: &[Row]) -> Counters {
        let mut counting = Counting::new(&self.rules, &self.rules, &self.grid, &self.setup, self.margins);
        rows.iter().for_each(|row| counting.push(row));
        counting.end().0
    }

    pub fn decided(&self, counters: &Counters) -> Vec<Verdict> {
        let judges = self.rules.iter().map(|rule| Judge::new(rule.clone(), &self.rules, &self.grid, &self.setup, self.margins));
        judges.enumerate().map(|(place, judge)| decide(&judge, place, counters, &self.known)).collect()
    }

    pub fn verdicts(&self) -> Vec<Verdict> {
        self.decided(&self.counted())
    }

    /// The log as it counts vars the other way round.
    pub fn turned(mut self) -> Self {
        self.rows = scene::turned(self.rows);
        self.grid = Grid::new(self.margins.accuracy.volts, 0.0, 1, Counts::Absorbs);
        self.known.counts = Counts::Absorbs;
        self
    }
}

/// How many logs are drawn: `ASLEFT_DRAWN_LOGS` of them, or so many.
pub fn how_many(usual: u64) -> u64 {
    std::env::var("ASLEFT_DRAWN_LOGS").ok().and_then(|text| text.parse().ok()).unwrap_or(usual)
}

/// The first seed: `ASLEFT_SEED`, or 1.
pub fn first_seed() -> u64 {
    std::env::var("ASLEFT_SEED").ok().and_then(|text| text.parse().ok()).unwrap_or(1)
}
