//! Devices and meters that are drawn, and the logs that they write. All of it is invented.

pub mod chance;
mod course;
pub mod device;

use behaviour::accuracy::{Accuracy, Basis};
use behaviour::band::{Judge, Margins};
use behaviour::counters::Counters;
use behaviour::counting::Counting;
use behaviour::deciding::{Known, Verdict, decide};
use behaviour::function::{Rule, rules};
use behaviour::hypotheses::{Counts, Grid, Place};
use behaviour::reading::Setup;
use chance::Chance;
use device::{Fault, Simulated};
use logs::Row;

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
}

impl Like {
    pub fn draw(chance: &mut Chance) -> Self {
        let (step, days) = *chance.one_of(&[(1, 1), (60, 2), (60, 4), (300, 5), (300, 14), (900, 14)]);
        Self { step, days, has_available: chance.flips() }
    }
}

/// A device with this fault, on a drawn supply, read by a drawn meter that keeps within its limits.
pub fn drawn(seed: u64, like: Like, fault: Fault) -> Drawn {
    let mut chance = Chance::of(seed);
    let simulated = Simulated::draw(&mut chance, like);
    let rated = simulated.device.ratings.apparent;
    let accuracy = Accuracy {
        volts: *chance.one_of(&[0.002, 0.005, 0.005, 0.01]) * 230.0,
        watts: *chance.one_of(&[0.005, 0.01, 0.02]) * rated,
        vars: *chance.one_of(&[0.01, 0.02]) * rated,
        of_volts: Basis::Stated,
        of_powers: Basis::Stated,
    };
    let resolution =
        [*chance.one_of(&[0.0, 0.1, 0.1, 0.5]), *chance.one_of(&[0.0, 1.0, 10.0, 50.0]), *chance.one_of(&[0.0, 1.0, 10.0, 50.0])];
    let tolerance = 0.04 * rated;
    let (rules, course) = (rules(&simulated.device), simulated.told());
    let rows = simulated.log(&mut chance, like, fault, &accuracy, resolution, tolerance);
    let setup = Setup {
        nominal: 230.0,
        rated,
        phases: vec![0],
        is_net: false,
        step: like.step * 1_000_000,
        longest: 3 * like.step * 1_000_000,
        spread: None,
        day_shift: 0,
    };
    let margins = Margins { tolerance, tolerance_volts: 0.0, accuracy, resolution };
    let known = Known {
        accuracy,
        place: Place::Terminals,
        counts: Counts::Supplies,
        is_tolerance_assumed: false,
        has_available: like.has_available,
        has_reactive: true,
        is_fine: setup.is_fine(),
        rated,
    };
    let told = format!("seed {seed}, {like:?}, {fault:?}, V ±{:.2} V, {}", accuracy.volts, course);
    let grid = Grid::new(accuracy.volts, 0.0, 1, Counts::Supplies);
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
}

/// How many logs are drawn: `ASLEFT_DRAWN_LOGS` of them, or so many.
pub fn how_many(usual: u64) -> u64 {
    std::env::var("ASLEFT_DRAWN_LOGS").ok().and_then(|text| text.parse().ok()).unwrap_or(usual)
}

/// The first seed: `ASLEFT_SEED`, or 1.
pub fn first_seed() -> u64 {
    std::env::var("ASLEFT_SEED").ok().and_then(|text| text.parse().ok()).unwrap_or(1)
}
