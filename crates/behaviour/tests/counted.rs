//! Laws of counting and deciding over drawn logs: what changes nothing, and what may only take an answer away.

use crate::simulated::device::Fault;
use crate::simulated::{Like, drawn, first_seed, how_many};
use behaviour::deciding::{Answer, Verdict};
use behaviour::hypotheses::{Counts, Grid};

fn like(seed: u64) -> Like {
    Like::draw(&mut crate::simulated::chance::Chance::of(seed ^ 0x5eed))
}

fn faults(seed: u64) -> Fault {
    [Fault::None, Fault::ReactiveOff, Fault::CapOff, Fault::ReactiveShare(0.5)][(seed % 4) as usize]
}

fn answers(verdicts: &[Verdict]) -> Vec<(Answer, u64, u64)> {
    verdicts.iter().map(|verdict| (verdict.answer, verdict.informative, verdict.outside)).collect()
}

/// Days counted apart and added up, in any order, are the days counted together, but for the rows beside the cuts.
#[test]
fn days_add_up_in_any_order() {
    for seed in first_seed()..first_seed() + how_many(20) {
        let log = drawn(seed, Like { step: 300, days: 5, has_available: true, is_plain: true }, faults(seed));
        let mut parts: Vec<_> =
            log.rows.chunk_by(|one, other| log.setup.day(one.at) == log.setup.day(other.at)).map(|rows| log.counted_of(rows)).collect();
        let mut forwards = parts[0].clone();
        parts[1..].iter().for_each(|part| forwards.add(part).unwrap());
        parts.reverse();
        let mut backwards = parts[0].clone();
        parts[1..].iter().for_each(|part| backwards.add(part).unwrap());
        assert_eq!(forwards, backwards, "{}", log.told);
        // nights lie beside the cuts: nothing is usable there
        assert_eq!(answers(&log.decided(&forwards)), answers(&log.verdicts()), "{}", log.told);
        let text = serde_json::to_string(&forwards).unwrap();
        assert_eq!(serde_json::from_str::<behaviour::counters::Counters>(&text).unwrap(), forwards);
    }
}

/// A log that counts what is absorbed as positive says the same, where that is stated.
#[test]
fn the_sign_of_vars_is_a_matter_of_words() {
    for seed in first_seed()..first_seed() + how_many(20) {
        let log = drawn(seed, like(seed), faults(seed));
        let before = answers(&log.verdicts());
        let log = log.turned();
        assert_eq!(answers(&log.verdicts()), before, "{}", log.told);
    }
}

/// A meter that is said to be less exact adds no answer.
#[test]
fn a_wider_accuracy_only_takes_answers_away() {
    for seed in first_seed()..first_seed() + how_many(40) {
        let mut log = drawn(seed, like(seed), faults(seed));
        let before = log.verdicts();
        let accuracy = &mut log.margins.accuracy;
        (accuracy.volts, accuracy.watts, accuracy.vars) = (accuracy.volts * 2.0, accuracy.watts * 2.0, accuracy.vars * 2.0);
        log.grid = Grid::new(accuracy.volts, 0.0, 1, Counts::Supplies);
        log.known.accuracy = log.margins.accuracy;
        for (before, after) in before.iter().zip(log.verdicts()) {
            let is_added = after.answer == Answer::Departs && before.answer != Answer::Departs;
            assert!(!is_added, "{:?}: {:?} was {:?}; {}", after.function, after.answer, before.answer, log.told);
        }
    }
}

/// Rows that are no measurement never make an answer of what was not shown.
#[test]
fn rows_that_are_no_measurement_show_nothing() {
    for seed in first_seed()..first_seed() + how_many(20) {
        let mut log = drawn(seed, like(seed), faults(seed));
        let before = log.verdicts();
        let rows = log.rows.len();
        for (n, row) in log.rows.iter_mut().enumerate() {
            // the last two thirds are blank
            if n > rows / 3 {
                row.values[0] = f64::NAN;
            }
        }
        for (before, after) in before.iter().zip(log.verdicts()) {
            assert_eq!(after.answer, Answer::NotShown, "{:?} was {:?}; {}", after.function, before.answer, log.told);
        }
    }
}
