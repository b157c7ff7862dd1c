//! Between the device that leaves as soon as it may and the one that leaves as late lie others that do
//! neither: one rides the first dip and trips in the second. The device is that of the drills
//! (`timelines.rs`); every window was reckoned by hand.

use crate::drilled;

use drilled::{MS, ONE_PHASE, S, device, played, protection};
use response::timeline::{Happening, Merged, Micros, Player, Protection, Ridden, RideThrough, Sample, Side, Stage, Sure, Watched, micros};

/// Trips: stages, seconds at the earliest and at the latest, how sure.
fn trips(story: &[Merged], protection: &Protection) -> Vec<(Vec<&'static str>, [f64; 2], Sure)> {
    let of = |merged: &Merged| match &merged.what {
        Happening::Tripped(stages, _) => {
            Some((protection.functions(stages), [merged.earliest, merged.latest].map(|at| at as f64 / 1e6), merged.sure))
        }
        _ => None,
    };
    story.iter().filter_map(of).collect()
}

fn near(found: [f64; 2], wanted: [f64; 2]) -> bool {
    found.iter().zip(wanted).all(|(found, wanted)| (found - wanted).abs() <= 0.021)
}

/// Plays voltages at moments, in seconds, in steady 50 Hz.
fn rows(protection: &Protection, rows: impl IntoIterator<Item = (f64, f64)>) -> Vec<Merged> {
    let device = device();
    let mut player = Player::new(&device, protection, Some(true), ONE_PHASE);
    for (at, volts) in rows {
        player.push(sample(micros(at), volts));
    }
    player.story()
}

fn sample(at: Micros, volts: f64) -> Sample {
    Sample { at, voltage: [volts, f64::NAN, f64::NAN], frequency: 50.0, available: f64::NAN, load: f64::NAN }
}

/// It may ride the sag of 10.5 s; then it may trip in the swell; then it must have left by the sag of 11.5 s.
#[test]
fn a_device_that_rides_the_first_sag_may_trip_in_the_swell() {
    let calm = |seconds| (seconds, 230.0, 50.0);
    let log = [calm(20.0), (10.5, 175.0, 50.0), calm(19.9), (1.8, 268.0, 50.0), calm(8.0), (11.5, 175.0, 50.0), calm(5.0)];
    let told = trips(&played(20 * MS, true, &log).0, &protection());
    assert_eq!(told.len(), 3, "{told:?}");
    assert!(told[0].0 == ["undervoltage-1"] && near(told[0].1, [30.0, 30.5]) && told[0].2 == Sure::SoonestOnly, "{told:?}");
    assert!(told[1].0 == ["overvoltage-1"] && near(told[1].1, [51.4, 52.2]) && told[1].2 == Sure::SoonestOnly, "{told:?}");
    // one that left before is still off: no trip is certain in itself
    assert!(told[2].0 == ["undervoltage-1"] && near(told[2].1, [70.2, 71.2]) && told[2].2 == Sure::LatestOnly, "{told:?}");
}

#[test]
fn a_trip_in_the_second_of_two_sags_is_as_lawful() {
    let log = [(20.0, 230.0, 50.0), (10.5, 175.0, 50.0), (19.5, 230.0, 50.0), (10.5, 175.0, 50.0), (5.0, 230.0, 50.0)];
    let told = trips(&played(20 * MS, true, &log).0, &protection());
    assert_eq!(told.len(), 2, "{told:?}");
    assert!(near(told[0].1, [30.0, 30.5]) && near(told[1].1, [60.0, 60.5]), "{told:?}");
    assert!(told.iter().all(|(_, _, sure)| *sure == Sure::SoonestOnly), "{told:?}");
}

/// Rows of 10 s: outside at 20 s and 30 s. It began after 10 s, or only at 20 s: then it has until 31 s.
#[test]
fn a_trip_may_come_as_late_as_the_first_value_outside_allows() {
    let told =
        trips(&rows(&protection(), (0..8).map(|n| (f64::from(n) * 10.0, if n == 2 || n == 3 { 175.0 } else { 230.0 }))), &protection());
    assert_eq!(told, [(vec!["undervoltage-1"], [20.0, 31.0], Sure::SoonestOnly)]);
}

/// Rows of 1 s: outside from 21 s. It began after 20 s at the earliest, and the stage takes 10 s at least:
/// back inside at 30 s, it lasted less than that; still outside at 30 s, it may have lasted that long.
#[test]
fn an_excursion_that_is_over_as_the_stage_comes_due_lasted_less() {
    let sag_until = |last: u32| {
        let volts = |at| if (21..=last).contains(&at) { 175.0 } else { 230.0 };
        trips(&rows(&protection(), (0..50).map(|at| (f64::from(at), volts(at)))), &protection())
    };
    assert_eq!(sag_until(29), []);
    assert_eq!(sag_until(30), [(vec!["undervoltage-1"], [30.0, 30.999_999], Sure::SoonestOnly)]);
}

/// 60 V and 46.5 Hz together: two stages, 1 s to 2 s each.
#[test]
fn two_stages_that_may_each_have_been_first_are_both_named() {
    let told = trips(&played(20 * MS, true, &[(5.0, 230.0, 50.0), (3.0, 60.0, 46.5), (5.0, 230.0, 50.0)]).0, &protection());
    assert_eq!(told.len(), 1, "{told:?}");
    let (stages, at, sure) = &told[0];
    assert!(stages.contains(&"undervoltage-2") && stages.contains(&"underfrequency-1") && stages.len() == 2, "{told:?}");
    assert!(near(*at, [6.0, 7.0]) && *sure == Sure::Certain, "{told:?}");
}

fn stage(function: &'static str, side: Side, threshold: f64, times: [f64; 2], rides: RideThrough) -> Stage {
    Stage { rides, ..drilled::stage(function, Watched::AnyPhase, side, threshold, times) }
}

/// IEEE 1547-2018: overvoltage 1 above 1.10 pu by 2 s, overvoltage 2 above 1.20 pu by 0.16 s; between
/// them it stays on for 1 s to 1.15 pu, 0.5 s to 1.175 pu and 0.2 s to 1.20 pu (table 14, from memory).
#[test]
fn a_trip_at_1_21_per_unit_belongs_to_the_faster_stage() {
    let part = |from: f64, to: f64, least: Micros| Ridden { from: from * 240.0, to: to * 240.0, least: [least; 2] };
    let rides = RideThrough::of(vec![part(1.10, 1.15, S), part(1.15, 1.175, 500 * MS), part(1.175, 1.20, 200 * MS)]);
    let stages = vec![
        stage("overvoltage-1", Side::Above, 264.0, [0.2, 2.0], rides),
        stage("overvoltage-2", Side::Above, 288.0, [0.0, 0.16], RideThrough::default()),
    ];
    let protection = Protection { stages, ..protection() };
    let log = (0..500).map(|n| (f64::from(n) * 0.02, if (100..200).contains(&n) { 1.21 * 240.0 } else { 240.0 }));
    let told = trips(&rows(&protection, log), &protection);
    assert_eq!(told.len(), 1, "{told:?}");
    assert!(told[0].0 == ["overvoltage-2"] && near(told[0].1, [2.0, 2.16]) && told[0].2 == Sure::Certain, "{told:?}");
}

/// Both are through between two rows, at 11.1 s and at 11.4 s: nobody is on after the first.
#[test]
fn of_two_stages_that_end_between_two_rows_the_first_ends_it() {
    let low = |function, most| stage(function, Side::Below, 180.0, [0.2, most], RideThrough::default());
    let protection = Protection { stages: vec![low("undervoltage-1", 1.4), low("undervoltage-2", 1.1)], ..protection() };
    let log = (0..40).map(|n| (f64::from(n) * 0.5, if (20..30).contains(&n) { 60.0 } else { 230.0 }));
    let told = trips(&rows(&protection, log), &protection);
    assert_eq!(told.len(), 1, "{told:?}");
    assert!(near(told[0].1, [9.7, 11.1]) && told[0].2 == Sure::Certain, "{told:?}");
}

/// IEEE 1547-2018, category II: from 3 s at 0.65 pu on, 8.7 s for each unit more: 3.348 s at 0.69 pu.
#[test]
fn the_least_time_follows_a_slope() {
    let rides = RideThrough::of(vec![Ridden { from: 0.88 * 240.0, to: 0.65 * 240.0, least: [micros(5.001), 3 * S] }]);
    let low = stage("undervoltage-1", Side::Below, 0.70 * 240.0, [3.0, 10.0], rides);
    let protection = Protection { stages: vec![low], ..protection() };
    let sag =
        |to: f64, until: i32| (0..2000).map(move |n| (f64::from(n) * 0.01, if (100..until).contains(&n) { to * 240.0 } else { 240.0 }));
    let told = trips(&rows(&protection, sag(0.69, 700)), &protection);
    assert!((told[0].1[0] - (0.99 + 3.348)).abs() < 1e-3, "{told:?}");
    assert_eq!(trips(&rows(&protection, sag(0.69, 430)), &protection), []);
    let deeper = trips(&rows(&protection, sag(0.66, 700)), &protection);
    assert!((deeper[0].1[0] - (0.99 + 3.087)).abs() < 1e-3, "{deeper:?}");
}

/// It may have left at any moment of a gap that a stage fits in.
#[test]
fn what_a_gap_hides_is_a_window() {
    let (device, protection) = (device(), protection());
    let mut player = Player::new(&device, &protection, Some(true), ONE_PHASE);
    (0..=10).for_each(|n| player.push(sample(n * S, 230.0)));
    player.gap(11 * S);
    (0..10).for_each(|n| player.push(sample((911 + n) * S, 230.0)));
    let unseen = player.story().into_iter().find(|merged| merged.what == Happening::LeftUnseen).unwrap();
    assert_eq!((unseen.earliest, unseen.latest, unseen.sure), (11 * S, 911 * S, Sure::SoonestOnly));
}

/// Its observation ends between two rows, and the second row is outside: it connected just before, or not at all.
#[test]
fn a_device_may_connect_just_before_the_value_that_would_have_stopped_it() {
    let (device, protection) = (device(), protection());
    let mut player = Player::new(&device, &protection, Some(false), ONE_PHASE);
    let voltage = |n: Micros| if n < 64 { 230.0 } else { 175.0 };
    (0..90).for_each(|n| player.push(sample(n * S + if n == 0 { 500 * MS } else { 0 }, voltage(n))));
    // a row at 60 s and one at 61 s: it connects at 60.5 s
    let told = trips(&player.story(), &protection);
    assert_eq!(told, [(vec!["undervoltage-1"], [73.0, 75.0], Sure::Certain)]);
    let mut player = Player::new(&device, &protection, Some(false), ONE_PHASE);
    let voltage = |n: Micros| if n < 61 { 230.0 } else { 175.0 };
    (0..90).for_each(|n| player.push(sample(n * S + if n == 0 { 500 * MS } else { 0 }, voltage(n))));
    let told = trips(&player.story(), &protection);
    assert_eq!(told, [(vec!["undervoltage-1"], [70.5, 72.0], Sure::LatestOnly)]);
}

/// How often a device drops out, at the least and at the most.
fn drop_outs(spacing: Micros, log: &[(f64, f64)]) -> [u64; 2] {
    let (device, protection) = (device(), protection());
    let mut player = Player::new(&device, &protection, Some(true), ONE_PHASE);
    let mut at = 0;
    for (seconds, volts) in log {
        let ends = at + micros(*seconds);
        while at < ends {
            player.push(sample(at, *volts));
            at += spacing;
        }
    }
    player.energy().map(|energy| energy.drop_outs)
}

/// Three dips within half a minute, each of which may trip and need not: who left in one is off in the others, for 60 s.
/// A dip that comes just as devices connect: those that had to begin to observe again drop out once, the others twice.
#[test]
fn a_device_that_is_off_does_not_drop_out_again() {
    assert_eq!(
        drop_outs(100 * MS, &[(10.0, 230.0), (1.5, 50.0), (5.0, 230.0), (1.6, 45.0), (5.0, 230.0), (1.7, 40.0), (9.0, 230.0)]),
        [0, 1]
    );
    assert_eq!(drop_outs(100 * MS, &[(10.0, 230.0), (1.5, 50.0), (5.0, 230.0), (3.0, 45.0), (5.0, 230.0)]), [1, 1]);
    assert_eq!(drop_outs(S, &[(10.0, 230.0), (3.0, 60.0), (60.0, 230.0), (3.0, 60.0), (99.0, 230.0)]), [1, 2]);
    assert_eq!(drop_outs(100 * MS, &[(10.0, 230.0), (3.0, 60.0), (90.0, 230.0), (3.0, 60.0), (99.0, 230.0)]), [2, 2]);
    assert_eq!(drop_outs(100 * MS, &[(10.0, 230.0), (0.9, 60.0), (90.0, 230.0)]), [0, 0]);
}
