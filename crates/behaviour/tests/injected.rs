//! Devices that act as set are never accused, and those that do not are found where the log exercises them. The
//! confusion table is printed with `--nocapture`; `ASLEFT_DRAWN_LOGS=3000` draws as many as bound false alarms at one
//! in a thousand with 95 % confidence, `ASLEFT_SEED` others.

use crate::simulated::chance::Chance;
use crate::simulated::device::Fault;
use crate::simulated::{Drawn, Like, drawn, first_seed, how_many};
use behaviour::deciding::{Answer, Sure, Verdict};
use behaviour::function::Function;
use behaviour::hypotheses::Counts;
use behaviour::thresholds::{COARSE, FINE};
use std::collections::BTreeMap;

/// What is wrong, in words, which function shows it, and whether it is clear: farther off than tolerance and meter
/// together allow.
const INJECTED: [(&str, Fault, Shows, bool); 13] = [
    ("vars off", Fault::ReactiveOff, Shows::Reactive, true),
    ("vars reversed", Fault::ReactiveReversed, Shows::Reactive, true),
    ("half of the vars", Fault::ReactiveShare(0.5), Shows::Reactive, false),
    ("vars of 44 % of the base", Fault::ReactiveShare(0.44), Shows::Reactive, false),
    ("vars of 90 % of the base", Fault::ReactiveShare(0.9), Shows::Reactive, false),
    ("another region's volt-var", Fault::OtherCurve, Shows::VoltVar, false),
    ("vars 90 s late", Fault::Late(90.0), Shows::VoltVar, false),
    ("volt-watt off", Fault::CapOff, Shows::VoltWatt, true),
    ("cap 3 % higher", Fault::CapHigher(0.03), Shows::VoltWatt, false),
    ("cap 8 % higher", Fault::CapHigher(0.08), Shows::VoltWatt, false),
    ("cap 12 % higher", Fault::CapHigher(0.12), Shows::VoltWatt, false),
    ("cap 20 % higher", Fault::CapHigher(0.20), Shows::VoltWatt, false),
    ("limit 12 % higher", Fault::LimitHigher(0.12), Shows::Limit, false),
];

#[derive(Clone, Copy, Debug, PartialEq)]
enum Shows {
    Reactive,
    VoltVar,
    VoltWatt,
    Limit,
}

impl Shows {
    fn is(self, function: Function) -> bool {
        match self {
            Self::Reactive => function.is_reactive(),
            Self::VoltVar => function == Function::VoltVar,
            Self::VoltWatt => function == Function::VoltWatt,
            Self::Limit => function == Function::GenerationLimit,
        }
    }
}

/// Every other log is of a plain device, place and meter.
fn like(seed: u64) -> Like {
    let mut chance = Chance::of(seed.wrapping_mul(0x9e37_79b9));
    if seed.is_multiple_of(2) { Like::draw(&mut chance) } else { Like::any(&mut chance) }
}

#[test]
fn a_device_that_acts_as_set_is_never_accused() {
    let (mut functions, mut accused, mut behaves) = (0, Vec::new(), 0);
    for seed in first_seed()..first_seed() + how_many(120) {
        let log = drawn(seed, like(seed), Fault::None);
        for verdict in log.verdicts() {
            functions += 1;
            behaves += usize::from(verdict.answer == Answer::Behaves);
            if verdict.answer == Answer::Departs {
                let Verdict { function, sure, size, usable, outside, shown_over, rests_on, .. } = verdict;
                println!("  {function:?} {sure:?} {rests_on:?} {size:?} {outside} of {usable} ms {shown_over:?}\n    {}", log.told);
                accused.push(sure);
            }
        }
    }
    let certain = accused.iter().filter(|sure| **sure != Some(Sure::Likely)).count();
    println!("{functions} functions of devices that act as set: {behaves} behave, {} depart, {certain} of them for certain", accused.len());
    assert_eq!(certain, 0);
    assert!(accused.len() * 100 <= functions, "{} of {functions}", accused.len());
    assert!(behaves * 10 > functions, "{behaves} of {functions}");
}

/// What is late shows where rows are of moments.
fn like_for(fault: Fault, seed: u64) -> Like {
    let like = like(seed);
    if matches!(fault, Fault::Late(_)) { Like { step: 1, days: 1, is_plain: true, ..like } } else { like }
}

/// Whether the log could show it at all: reversed signs are open where nobody says which way it counts.
fn may_show(fault: Fault, log: &Drawn) -> bool {
    fault != Fault::ReactiveReversed || log.known.counts != Counts::NotStated
}

/// Whether a device that acts as set behaves, and one without the function would show whatever the meter's errors.
fn is_exercised(sound: &Drawn, shows: Shows) -> bool {
    let Some(place) = sound.rules.iter().position(|rule| shows.is(rule.function)) else { return false };
    let counters = sound.counted();
    let asked = if sound.setup.is_fine() { FINE } else { COARSE };
    let tells =
        counters.total().rules.get(place).is_some_and(|rule| rule.constant.iter().all(|tally| tally.informative >= asked.informative));
    tells && sound.decided(&counters)[place].answer == Answer::Behaves
}

#[test]
fn what_is_wrong_is_found_where_the_log_exercises_it() {
    let mut table: BTreeMap<usize, [usize; 6]> = BTreeMap::new();
    for (n, (_, fault, shows, is_clear)) in INJECTED.into_iter().enumerate() {
        for seed in first_seed()..first_seed() + how_many(100) / 5 {
            let like = like_for(fault, seed);
            let log = drawn(seed, like, fault);
            let of = |verdicts: Vec<Verdict>| verdicts.into_iter().find(|verdict| shows.is(verdict.function));
            let Some(found) = of(log.verdicts()).filter(|_| may_show(fault, &log)) else { continue };
            // the same supply and meter with a device that acts as set says whether the log exercises it
            let is_exercised = is_exercised(&drawn(seed, like, Fault::None), shows);
            let row = table.entry(n).or_default();
            row[match found.answer {
                Answer::Departs if found.sure == Some(Sure::Certain) => 0,
                Answer::Departs => 1,
                Answer::NotShown => 2,
                Answer::Behaves => 3,
            }] += 1;
            row[4] += usize::from(is_exercised);
            row[5] += usize::from(is_exercised && found.answer == Answer::Departs);
            let is_off = matches!(fault, Fault::ReactiveOff | Fault::CapOff);
            assert!(!is_off || found.answer != Answer::Behaves, "a function that is off behaves: {found:?}\n{}", log.told);
            if is_clear && is_exercised && found.answer != Answer::Departs {
                println!("  not found: {found:?}\n    {}", log.told);
            }
        }
    }
    let found = told(&table);
    println!("of {} clear departures that the logs exercise, {} were found", found[1], found[0]);
    assert!(found[0] * 100 >= found[1] * 95, "{found:?}");
    assert_eq!(table.len(), INJECTED.len(), "every fault was drawn");
}

/// Prints the table; how many clear departures were found, of how many that are exercised.
fn told(table: &BTreeMap<usize, [usize; 6]>) -> [usize; 2] {
    println!(
        "{:26} {:>8} {:>7} {:>10} {:>8} {:>10} {:>6}",
        "what is wrong", "certain", "likely", "not shown", "behaves", "exercised", "found"
    );
    let mut clear = [0; 2];
    for (n, [certain, likely, not_shown, behaves, exercised, found]) in table {
        let (name, .., is_clear) = INJECTED[*n];
        println!("{name:26} {certain:>8} {likely:>7} {not_shown:>10} {behaves:>8} {exercised:>10} {found:>6}");
        clear[0] += if is_clear { *found } else { 0 };
        clear[1] += if is_clear { *exercised } else { 0 };
    }
    clear
}
