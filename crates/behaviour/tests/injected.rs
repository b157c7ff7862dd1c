//! Devices that act as set are never accused, and those that do not are found where the log exercises them. The
//! confusion table is printed with `--nocapture`; `ASLEFT_DRAWN_LOGS=3000` draws as many as bound false alarms at one
//! in a thousand with 95 % confidence, `ASLEFT_SEED` others.

use crate::simulated::chance::Chance;
use crate::simulated::device::Fault;
use crate::simulated::{Like, drawn, first_seed, how_many};
use behaviour::deciding::{Answer, Sure, Verdict};
use behaviour::function::Function;
use std::collections::BTreeMap;

/// What is wrong, which function shows it, and whether it is clear: farther off than tolerance and meter together allow.
const INJECTED: [(Fault, Shows, bool); 8] = [
    (Fault::ReactiveOff, Shows::Reactive, true),
    (Fault::ReactiveReversed, Shows::Reactive, true),
    (Fault::ReactiveHalf, Shows::Reactive, false),
    (Fault::OtherCurve, Shows::VoltVar, false),
    (Fault::CapOff, Shows::VoltWatt, true),
    (Fault::CapHigher(0.12), Shows::VoltWatt, false),
    (Fault::CapHigher(0.20), Shows::VoltWatt, false),
    (Fault::LimitHigher(0.12), Shows::Limit, false),
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

fn like(seed: u64) -> Like {
    Like::draw(&mut Chance::of(seed.wrapping_mul(0x9e37_79b9)))
}

#[test]
fn a_device_that_acts_as_set_is_never_accused() {
    let (mut functions, mut likely, mut behaves) = (0, Vec::new(), 0);
    for seed in first_seed()..first_seed() + how_many(100) {
        let log = drawn(seed, like(seed), Fault::None);
        for verdict in log.verdicts() {
            functions += 1;
            behaves += usize::from(verdict.answer == Answer::Behaves);
            if verdict.answer == Answer::Departs {
                assert_eq!(verdict.sure, Some(Sure::Likely), "{verdict:?}\n{}", log.told);
                likely.push(format!("{:?} {}", verdict.function, log.told));
            }
        }
    }
    println!("{functions} functions of devices that act as set: {behaves} behave, {} depart, likely", likely.len());
    likely.iter().for_each(|told| println!("  {told}"));
    assert!(likely.len() * 100 <= functions, "{} of {functions}", likely.len());
    assert!(behaves * 10 > functions, "{behaves} of {functions}");
}

#[test]
fn what_is_wrong_is_found_where_the_log_exercises_it() {
    let mut table: BTreeMap<String, [usize; 5]> = BTreeMap::new();
    // clear departures that the log exercises: how many were found
    let mut clear = [0; 2];
    for (fault, shows, is_clear) in INJECTED {
        for seed in first_seed()..first_seed() + how_many(100) / 5 {
            // the same supply and meter with a device that acts as set says whether the log exercises it
            let (log, sound) = (drawn(seed, like(seed), fault), drawn(seed, like(seed), Fault::None));
            let of = |verdicts: Vec<Verdict>| verdicts.into_iter().find(|verdict| shows.is(verdict.function));
            let (Some(found), Some(sound)) = (of(log.verdicts()), of(sound.verdicts())) else { continue };
            let row = table.entry(format!("{fault:?}")).or_default();
            let is_exercised = sound.answer == Answer::Behaves;
            row[match found.answer {
                Answer::Departs if found.sure == Some(Sure::Certain) => 0,
                Answer::Departs => 1,
                Answer::NotShown => 2,
                Answer::Behaves => 3,
            }] += 1;
            row[4] += usize::from(is_exercised);
            let is_off = matches!(fault, Fault::ReactiveOff | Fault::CapOff);
            assert!(!is_off || found.answer != Answer::Behaves, "a function that is off behaves: {found:?}\n{}", log.told);
            if is_clear && is_exercised {
                clear[1] += 1;
                clear[0] += usize::from(found.answer == Answer::Departs);
            }
        }
    }
    println!("{:24} {:>8} {:>8} {:>10} {:>8} {:>10}", "fault", "certain", "likely", "not shown", "behaves", "exercised");
    for (fault, [certain, likely, not_shown, behaves, exercised]) in &table {
        println!("{fault:24} {certain:>8} {likely:>8} {not_shown:>10} {behaves:>8} {exercised:>10}");
    }
    println!("of {} clear departures that the logs exercise, {} were found", clear[1], clear[0]);
    assert!(clear[0] * 100 >= clear[1] * 95, "{clear:?}");
    assert_eq!(table.len(), INJECTED.len(), "every fault was drawn");
}
