//! What has to happen at a time: a dip of the supply, lawful devices that are drawn, and devices that stay on, come back
//! early or rise too fast.

use crate::simulated::chance::Chance;
use crate::simulated::{first_seed, how_many};
use behaviour::happened::{Happened, OfDay};
use behaviour::happenings::{Happenings, Margin};
use behaviour::reading::Setup;
use behaviour::thresholds::RESPONSE_TIME;
use response::device::Device;
use response::timeline::{DropOff, Micros, Protection, Reconnection, RideThrough, Sample, Side, Stage, Values, Watched};

const SECOND: Micros = 1_000_000;
const RATED: f64 = 5_000.0;

#[derive(Clone, Copy, Debug, PartialEq)]
enum Does {
    AsSet,
    StaysOn,
    ComesBackAfter20s,
    RisesSixTimesTooFast,
}

/// One stage at 180 V, off from 10 to 11 s; 60 s of observation and a ramp of 6 min.
fn protection() -> Protection {
    let stage = Stage {
        function: "undervoltage-1",
        watched: Watched::AnyPhase,
        side: Side::Below,
        threshold: 180.0,
        least: 10 * SECOND,
        most: 11 * SECOND,
        drop_off: DropOff::at_threshold(180.0),
        rides: RideThrough::default(),
        relay: None,
    };
    let reconnection =
        Reconnection { observation: [60 * SECOND; 2], ramp: 360 * SECOND, voltage: [205.0, 253.0], ..Reconnection::default() };
    Protection { stages: vec![stage], reconnection, ..Protection::default() }
}

/// An hour with a dip of a minute in its middle, in steps of so many seconds.
fn happened(step: i64, does: Does, seed: u64) -> OfDay {
    let mut chance = Chance::of(seed);
    let setup = Setup {
        nominal: 230.0,
        rated: RATED,
        nameplate: RATED,
        phases: vec![0],
        is_net: false,
        step: step * SECOND,
        longest: 3 * step * SECOND,
        response_time: RESPONSE_TIME,
        spread: None,
        day_shift: 0,
    };
    let (device, protection) = (Device::bare(RATED), protection());
    let margin = Margin { volts: 1.15, hertz: 0.01, watts: 0.05 * RATED };
    let values = Values { phases: 1, are_means: false, prove_means: step <= 3 };
    let mut happenings = Happenings::new(&device, &protection, values, &setup, margin);
    let (error, sun) = (chance.between(-1.15, 1.15), chance.between(0.4, 1.0) * RATED);
    let leaves = 1_800.0 + chance.between(10.0, 11.0);
    let wait = if does == Does::ComesBackAfter20s { 20.0 } else { chance.between(60.0, 70.0) };
    let ramp = if does == Does::RisesSixTimesTooFast { 60.0 } else { 360.0 };
    let returns = 1_860.0 + wait;
    for at in (0..3_600).step_by(step as usize) {
        let second = at as f64;
        let supply: f64 = if (1_800..1_860).contains(&at) { 120.0 } else { 232.0 };
        let is_off = second >= leaves && second < returns && does != Does::StaysOn;
        let cap = if second >= returns && does != Does::StaysOn { RATED * (second - returns) / ramp } else { RATED };
        let watts = if is_off { 0.0 } else { sun.min(cap) };
        let voltage = [supply + error + 0.05 * chance.normal(), f64::NAN, f64::NAN];
        happenings.push(Sample { at: at * SECOND, voltage, frequency: 50.0, available: f64::NAN, load: 0.0 }, watts);
    }
    happenings.days.into_values().next().unwrap_or_default()
}

fn times(of: &OfDay, happened: Happened) -> u32 {
    of.get(&happened).map_or(0, |often| often.times)
}

#[test]
fn a_lawful_device_is_never_accused_and_is_seen_to_leave_and_to_wait() {
    for seed in first_seed()..first_seed() + how_many(60) {
        for step in [1, 2, 5, 10] {
            let of = happened(step, Does::AsSet, seed);
            for wrong in [Happened::StayedOn, Happened::CameBackEarly, Happened::RoseTooFast, Happened::StoppedUnexplained] {
                assert_eq!(times(&of, wrong), 0, "{wrong:?} in steps of {step} s, seed {seed}: {of:?}");
            }
            assert_eq!((times(&of, Happened::Left), times(&of, Happened::Waited)), (1, 1), "steps of {step} s, seed {seed}: {of:?}");
        }
        // a step that is longer than half the wait shows no wait
        assert_eq!(times(&happened(60, Does::AsSet, seed), Happened::Waited), 0);
    }
}

#[test]
fn what_is_wrong_at_a_time_is_found() {
    for seed in first_seed()..first_seed() + how_many(60) {
        // one that comes back early in steps of 10 s has risen too far by the time it may be on
        let early = &[Happened::CameBackEarly, Happened::RoseTooFast][..];
        for (does, wrong, steps) in [
            (Does::StaysOn, &[Happened::StayedOn][..], &[1, 5, 10][..]),
            (Does::ComesBackAfter20s, &early[..1], &[1, 5]),
            (Does::ComesBackAfter20s, early, &[10]),
            (Does::RisesSixTimesTooFast, &early[1..], &[1, 5]),
        ] {
            for step in steps {
                let of = happened(*step, does, seed);
                // one that never left has no return to be judged: one cause, one finding
                let returns = [Happened::CameBackEarly, Happened::RoseTooFast].iter().any(|returns| times(&of, *returns) > 0);
                assert!(does != Does::StaysOn || !returns, "{does:?} in steps of {step} s, seed {seed}: {of:?}");
                assert!(wrong.iter().any(|wrong| times(&of, *wrong) == 1), "{does:?} in steps of {step} s, seed {seed}: {of:?}");
            }
        }
    }
}
