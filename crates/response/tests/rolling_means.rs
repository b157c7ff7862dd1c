//! Ten-minute means against pandas (`tests/outside/rolling_means.py`): logs of every second and
//! irregular ones, on which the plain mean of the values is off by minutes.

use response::device::Device;
use response::timeline::{DropOff, Happening, Micros, Player, Protection, RideThrough, Sample, Side, Stage, Values, Watched, micros};
use serde_json::Value;

#[test]
fn means_are_those_of_pandas() {
    let fixture: Value = serde_json::from_str(include_str!("../../../tests/outside/rolling-means.json")).unwrap();
    let limit = fixture["limit"].as_f64().unwrap();
    let stage = Stage {
        function: "sustained-overvoltage",
        watched: Watched::MeanOfAnyPhase(micros(600.0)),
        side: Side::Above,
        threshold: limit,
        least: 0,
        most: Micros::MAX,
        drop_off: DropOff::at_threshold(limit),
        rides: RideThrough::default(),
        relay: None,
    };
    let protection = Protection { stages: vec![stage], ..Protection::default() };
    let device = Device::bare(5_000.0);
    let (mut compared, mut crossed) = (0, 0);
    for log in fixture["logs"].as_array().unwrap() {
        let mut player = Player::new(&device, &protection, Some(true), Values { phases: 1, are_means: false, prove_means: true });
        let mut expected = log["means"].as_array().unwrap().iter().peekable();
        for row in log["log"].as_array().unwrap() {
            let (second, volts) = (row[0].as_f64().unwrap(), row[1].as_f64().unwrap());
            player.push(Sample {
                at: micros(second),
                voltage: [volts, f64::NAN, f64::NAN],
                frequency: 50.0,
                available: f64::NAN,
                load: f64::NAN,
            });
            if let Some(mean) = expected.next_if(|mean| mean[0] == row[0]) {
                let (ours, theirs) = (player.mean(0).unwrap(), mean[1].as_f64().unwrap());
                assert!((ours - theirs).abs() < 1e-6, "at {second} s: {ours}, pandas {theirs}");
                compared += 1;
            }
        }
        assert!(expected.next().is_none());
        // pandas knows whole seconds; ours passes within the second before
        let first = player.story().into_iter().find(|merged| matches!(merged.what, Happening::Tripped(..)));
        let first = first.map(|merged| (merged.earliest as f64 / 1e6).ceil());
        match log["first above"].as_f64() {
            Some(second) => assert!(first.is_some_and(|first| (first - second).abs() <= 1.0), "{first:?}, pandas {second}"),
            None => assert_eq!(first, None),
        }
        crossed += usize::from(first.is_some());
    }
    assert!(compared >= 1000 && crossed >= 8, "{compared} {crossed}");
}
