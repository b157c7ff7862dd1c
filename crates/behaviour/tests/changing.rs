//! A device that changes within a log: the day of the change is found, and the part that departs is told by itself; one
//! that does not change is told as one.

use crate::simulated::device::Fault;
use crate::simulated::{Drawn, Like, drawn, first_seed, how_many};
use behaviour::deciding::{Answer, Change, Verdict};
use behaviour::function::Function;

const DAYS: i64 = 12;
const DAY: i64 = 86_400_000_000;

/// The same supply and meter, with a device that does one thing until the end of a day and another after.
fn changing(seed: u64, [before, after]: [Fault; 2], day: i64) -> Drawn {
    let like = Like { step: 300, days: DAYS, has_available: false, is_plain: true };
    let (mut log, other) = (drawn(seed, like, before), drawn(seed, like, after));
    log.rows.retain(|row| row.at < day * DAY);
    log.rows.extend(other.rows.iter().filter(|row| row.at >= day * DAY));
    log
}

fn reactive(log: &Drawn) -> Verdict {
    log.verdicts().into_iter().find(|verdict| verdict.function.is_reactive()).unwrap()
}

#[test]
fn a_change_is_found_at_its_day() {
    let (mut found, mut asked) = (0, 0);
    for seed in first_seed()..first_seed() + how_many(12) {
        let as_one = |fault| reactive(&changing(seed, [fault; 2], 1));
        let (sound, off) = (as_one(Fault::None), as_one(Fault::ReactiveOff));
        if sound.answer != Answer::Behaves || off.answer != Answer::Departs || sound.function != Function::VoltVar {
            continue;
        }
        assert_eq!((sound.change, off.change), (None, None), "seed {seed}");
        for (faults, departs_after) in [([Fault::None, Fault::ReactiveOff], true), ([Fault::ReactiveOff, Fault::None], false)] {
            for day in [3, 6, 9] {
                let log = changing(seed, faults, day);
                let verdict = reactive(&log);
                asked += 1;
                let Some(Change { day: told, departs_after: is_after }) = verdict.change else { continue };
                // a day on which nothing shows may be told to either part
                assert!((i64::from(told) - day).abs() <= 1, "{told} and not {day}: {}", log.told);
                assert_eq!((verdict.answer, is_after), (Answer::Departs, departs_after), "{}", log.told);
                found += 1;
            }
        }
    }
    println!("{found} of {asked} changes were found");
    assert!(asked >= 12 && found * 10 >= asked * 9, "{found} of {asked}");
}
