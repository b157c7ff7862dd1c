//! What a log leaves open: gaps, values that are missing or coarse, and what was before it begins. The device is
//! that of the drills (`timelines.rs`).

use crate::drilled;

use drilled::{MS, ONE_PHASE, S, device, played, protection, trips};
use response::timeline::{Happening, Merged, Player, Protection, Sample, State, Sure, Values};

/// A player of a device in service that saw 230 V each second for a while, `seconds` ago; it goes on at 230 V.
fn across_a_gap(seconds: i64, before: f64) -> (Vec<Merged>, [State; 2]) {
    let (device, protection) = (device(), protection());
    let mut player = Player::new(&device, &protection, Some(true), ONE_PHASE);
    let sample = |at, voltage| Sample { at, voltage: [voltage, f64::NAN, f64::NAN], frequency: 50.0, available: f64::NAN, load: f64::NAN };
    (0..100).for_each(|n| player.push(sample(n * S, if n < 98 { 230.0 } else { before })));
    player.gap(99 * S + S);
    (0..50).for_each(|n| player.push(sample((100 + seconds + n) * S, 230.0)));
    (player.story(), player.states())
}

/// One-second values cannot decide a stage of 0.2 s: neither that it tripped, between two of them the
/// voltage may have come back; nor that it did not. A stage of 1 s to 2 s they decide.
#[test]
fn a_coarse_log_does_not_decide_a_fast_stage() {
    for seconds in [1.0, 2.0] {
        let (story, _) = played(S, true, &[(10.0, 230.0, 50.0), (seconds, 280.0, 50.0), (10.0, 230.0, 50.0)]);
        let may = trips(&story);
        // between two rows it may have lain between the two thresholds for as long as the slower one takes
        assert_eq!((may.len(), &may[0].0, may[0].2), (1, &vec!["overvoltage-2", "overvoltage-1"], None), "{may:?}");
        // right after the last value that was inside
        assert!((may[0].1 - 9.0).abs() < 1e-9, "{may:?}");
    }
    let (story, states) = played(S, true, &[(10.0, 230.0, 50.0), (5.0, 280.0, 50.0), (10.0, 230.0, 50.0)]);
    let trip = trips(&story);
    assert!(trip[0].0.contains(&"overvoltage-1"), "{trip:?}");
    assert!((9.0..=10.0).contains(&trip[0].1) && trip[0].2 == Some(12.0), "{trip:?}");
    assert_eq!(states, [State::Observing; 2]);
}

/// In a gap of 900 s it may have left and come back; in one that no stage fits in it cannot.
#[test]
fn in_a_gap_anything_may_have_passed_that_fits_in() {
    let (story, states) = across_a_gap(900, 230.0);
    assert_eq!(states, [State::Observing, State::Running]);
    assert_eq!((story.len(), &story[0].what, story[0].sure), (1, &Happening::LeftUnseen, Sure::SoonestOnly));
    // 30 V for the last two seconds: it may have left; by the end of a short gap it cannot be back
    let (story, states) = across_a_gap(20, 30.0);
    assert!(matches!(story[0].what, Happening::Tripped(..) | Happening::LeftUnseen), "{story:?}");
    assert_eq!(states[0], State::Observing);

    let slow = Protection { stages: protection().stages.into_iter().filter(|stage| stage.least >= S).collect(), ..protection() };
    let device = device();
    let mut player = Player::new(&device, &slow, Some(true), ONE_PHASE);
    let sample = |at| Sample { at, voltage: [230.0, f64::NAN, f64::NAN], frequency: 50.0, available: f64::NAN, load: f64::NAN };
    player.push(sample(0));
    player.gap(20 * MS);
    player.push(sample(900 * MS));
    assert_eq!((player.states(), player.story().len()), ([State::Running; 2], 0));
}

/// An observation of a minute that would end in the very moment from which on the log says nothing: the supply may
/// have turned in it. A moment later it has ended.
#[test]
fn what_ends_where_the_log_ends_is_not_certain() {
    let (device, protection) = (device(), protection());
    let [tie, beyond] = [60 * S, 60 * S + 2].map(|from| {
        let mut player = Player::new(&device, &protection, Some(false), ONE_PHASE);
        let sample = |at| Sample { at, voltage: [230.0, f64::NAN, f64::NAN], frequency: 50.0, available: f64::NAN, load: f64::NAN };
        (0..60).for_each(|n| player.push(sample(n * S)));
        player.gap(from);
        player.push(sample(70 * S));
        player.story().into_iter().find(|merged| merged.what == Happening::Connected).map(|merged| merged.sure)
    });
    assert_eq!((tie, beyond), (Some(Sure::LatestOnly), Some(Sure::Certain)));
}

/// Off before a gap of half a minute: an observation of a minute does not fit in.
#[test]
fn it_does_not_come_back_faster_through_a_gap() {
    let (device, protection) = (device(), protection());
    let mut player = Player::new(&device, &protection, Some(false), ONE_PHASE);
    let sample = |at| Sample { at, voltage: [230.0, f64::NAN, f64::NAN], frequency: 50.0, available: f64::NAN, load: f64::NAN };
    (0..10).for_each(|n| player.push(sample(n * S)));
    player.gap(10 * S);
    (40..65).for_each(|n| player.push(sample(n * S)));
    // the soonest counts from 0, the latest from 40
    assert_eq!(player.states(), [State::Observing, State::Ramping]);
    assert_eq!(player.changes()[1].last().unwrap().at, 60 * S);
    // nor is it counted as back before it can be: a value outside at 45 s finds it still off
    let mut player = Player::new(&device, &protection, Some(false), ONE_PHASE);
    (0..10).for_each(|n| player.push(sample(n * S)));
    player.gap(10 * S);
    (40..45).for_each(|n| player.push(sample(n * S)));
    player.push(Sample { voltage: [254.0, f64::NAN, f64::NAN], ..sample(45 * S) });
    assert_eq!(player.states(), [State::Waiting; 2]);
}

/// 262 V before and after a gap: nobody knows the mean until a whole window has passed again.
#[test]
fn a_mean_is_not_known_across_a_gap() {
    let (device, protection) = (device(), protection());
    let mut player = Player::new(&device, &protection, Some(true), ONE_PHASE);
    let sample = |at| Sample { at, voltage: [262.0, f64::NAN, f64::NAN], frequency: 50.0, available: f64::NAN, load: f64::NAN };
    (0..500).for_each(|n| player.push(sample(n * S)));
    player.gap(500 * S);
    (800..1300).for_each(|n| player.push(sample(n * S)));
    assert_eq!(trips(&player.story()), []);
    (1300..1500).for_each(|n| player.push(sample(n * S)));
    // one that did not leave in the gap trips from the moment on at which the mean is known, and by 3 s after
    let story = player.story();
    let trip = story.iter().find(|merged| matches!(merged.what, Happening::Tripped(..))).unwrap();
    assert_eq!((protection.functions(&[4]), [trip.earliest, trip.latest]), (vec!["sustained-overvoltage"], [1400 * S, 1403 * S]));
    assert_eq!((&trips(&story)[0].0, trip.sure), (&vec!["sustained-overvoltage"], Sure::LatestOnly), "{story:?}");
}

/// A log that begins outside: nobody knows since when.
#[test]
fn what_a_log_begins_in_may_have_begun_before() {
    let (story, _) = played(20 * MS, true, &[(15.0, 175.0, 50.0), (5.0, 230.0, 50.0)]);
    let trip = &trips(&story)[0];
    assert!(trip.1 == 0.0 && (trip.2.unwrap() - 11.0).abs() < 0.03, "{trip:?}");
}

/// A phase that is not a number may be anywhere: nothing is proven by it, nothing is cleared, and any stage may act.
#[test]
fn a_value_that_is_missing_decides_nothing() {
    let (device, protection) = (device(), protection());
    let mut player = Player::new(&device, &protection, Some(true), ONE_PHASE);
    let mut push = |n: i64, voltage| {
        player.push(Sample {
            at: n * 100 * MS,
            voltage: [voltage, f64::NAN, f64::NAN],
            frequency: 50.0,
            available: f64::NAN,
            load: f64::NAN,
        });
    };
    for n in 0..400 {
        // 175 V for 8 s, missing for 4 s, 175 V for 8 s: it must not have lasted 11 s, it may have lasted 10 s
        push(
            n,
            if (100..180).contains(&n) || (220..300).contains(&n) {
                175.0
            } else if (180..220).contains(&n) {
                f64::NAN
            } else {
                230.0
            },
        );
    }
    let trips = trips(&player.story());
    // while it is missing any stage of the voltage may act, the fastest at once; so the two cannot be told apart
    assert_eq!((trips.len(), trips[0].2), (1, None), "{trips:?}");
    let mut stages = trips[0].0.clone();
    stages.sort_unstable();
    assert_eq!(stages, ["overvoltage-1", "overvoltage-2", "undervoltage-1", "undervoltage-2"]);
    assert!((trips[0].1 - 17.9).abs() < 0.11, "{trips:?}");
}

/// Nobody knows how the log began: one device is on, one comes up.
#[test]
fn the_state_at_the_start_is_told_or_open() {
    let (device, protection) = (device(), protection());
    let mut player = Player::new(&device, &protection, None, ONE_PHASE);
    let sample = |at| Sample { at, voltage: [230.0, f64::NAN, f64::NAN], frequency: 50.0, available: f64::NAN, load: f64::NAN };
    player.push(sample(0));
    assert_eq!(player.states(), [State::Observing, State::Running]);
    (1..500).for_each(|n| player.push(sample(n * S)));
    assert_eq!(player.states(), [State::Running; 2]);
    let story = player.story();
    assert_eq!((story.len(), &story[0].what, story[0].sure), (1, &Happening::Connected, Sure::SoonestOnly));
}

/// The mean is undecided for ten minutes, unless the history is told.
#[test]
fn a_mean_waits_for_its_window_or_a_history() {
    let (device, protection) = (device(), protection());
    let run = |history: Option<f64>| {
        let mut player = Player::new(&device, &protection, Some(true), ONE_PHASE);
        if let Some(voltage) = history {
            player.assume(0, voltage);
        }
        for n in 0..590i64 {
            player.push(Sample { at: n * S, voltage: [264.0, f64::NAN, f64::NAN], frequency: 50.0, available: f64::NAN, load: f64::NAN });
        }
        trips(&player.story())
    };
    assert_eq!(run(None), []);
    // (600 − t)·250 + t·264 = 600·258 at t = 342.857 s
    let told = run(Some(250.0));
    assert!((told[0].1 - 342.857).abs() < 0.01, "{told:?}");
}

/// A coarse mean proves an excursion and not how long it lasted; a ten-minute mean above the limit
/// proves itself at its end.
#[test]
fn a_log_of_means_proves_excursions() {
    let (device, protection) = (device(), protection());
    let means = Values { are_means: true, ..ONE_PHASE };
    let play = |spacing: i64, log: &[f64]| {
        let mut player = Player::new(&device, &protection, Some(true), means);
        for (n, voltage) in log.iter().enumerate() {
            player.push(Sample {
                at: n as i64 * spacing,
                voltage: [*voltage, f64::NAN, f64::NAN],
                frequency: 50.0,
                available: f64::NAN,
                load: f64::NAN,
            });
        }
        trips(&player.story())
    };
    let minute = play(60 * S, &[230.0, 230.0, 270.0, 230.0, 230.0]);
    assert_eq!((minute.len(), minute[0].2), (1, None), "{minute:?}");
    assert_eq!(play(600 * S, &[250.0, 257.5, 257.5, 250.0]), []);
    let above = play(600 * S, &[250.0, 258.5, 258.5, 250.0, 250.0]);
    assert_eq!(above[0].0, ["sustained-overvoltage"]);
    assert!(above[0].1 >= 600.0 && above[0].2 == Some(1203.0), "{above:?}");
}

/// Ten minutes far above the limit on the average, in values that are too coarse to prove one: it may have
/// tripped, and nobody can be sure.
#[test]
fn coarse_values_do_not_prove_a_mean() {
    let (device, protection) = (device(), protection());
    let run = |prove_means: bool| {
        let mut player = Player::new(&device, &protection, Some(true), Values { prove_means, ..ONE_PHASE });
        (0..40).for_each(|n| {
            let voltage = [262.0, f64::NAN, f64::NAN];
            player.push(Sample { at: n * 60 * S, voltage, frequency: 50.0, available: f64::NAN, load: f64::NAN });
        });
        player.story().first().map(|merged| merged.sure)
    };
    assert_eq!(run(true), Some(Sure::Certain));
    assert_eq!(run(false), Some(Sure::SoonestOnly));
}

/// Five seconds outside before a gap and six after it: what lasted through the gap nobody knows.
#[test]
fn a_timer_does_not_count_through_a_gap() {
    let (device, protection) = (device(), protection());
    let mut player = Player::new(&device, &protection, Some(true), ONE_PHASE);
    let sample = |at: i64, volts: f64| Sample {
        at: at * S,
        voltage: [volts, f64::NAN, f64::NAN],
        frequency: 50.0,
        available: f64::NAN,
        load: f64::NAN,
    };
    (0..100).for_each(|at| player.push(sample(at, 230.0)));
    (100..105).for_each(|at| player.push(sample(at, 175.0)));
    player.gap(105 * S);
    (108..114).for_each(|at| player.push(sample(at, 175.0)));
    (114..130).for_each(|at| player.push(sample(at, 230.0)));
    // the one that leaves as late as it may is still on
    assert_eq!(player.states()[1], State::Running);
}
