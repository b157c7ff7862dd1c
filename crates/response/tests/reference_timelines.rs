//! Timelines against EPRI's public reference model of IEEE Std 1547-2018 (`tests/outside/timelines.py`).
//!
//! The reference plays one device with definite times, so here too a stage's least and longest time are
//! both its clearing time. Its acceptance window is two of its own steps: it counts a whole step for the
//! first sample outside, and sums steps as binary numbers, which makes some timers one step late.

use response::device::Device;
use response::timeline::{
    Ceasing, DropOff, Happening, Merged, Micros, Player, Protection, Reconnection, RideThrough, Sample, Side, Stage, State, Sure, Values,
    Watched, micros,
};
use serde_json::Value;

const STAGES: [(&str, Watched, Side); 8] = [
    ("uv1", Watched::AnyPhase, Side::Below),
    ("uv2", Watched::AnyPhase, Side::Below),
    ("ov1", Watched::AnyPhase, Side::Above),
    ("ov2", Watched::AnyPhase, Side::Above),
    ("uf1", Watched::Frequency, Side::Below),
    ("uf2", Watched::Frequency, Side::Below),
    ("of1", Watched::Frequency, Side::Above),
    ("of2", Watched::Frequency, Side::Above),
];

fn device() -> Device {
    Device::bare(10_000.0)
}

fn number(value: &Value) -> f64 {
    value.as_f64().unwrap()
}

fn pair(value: &Value) -> [f64; 2] {
    [number(&value[0]), number(&value[1])]
}

/// The device of a timeline, with voltages per unit.
fn protection(timeline: &Value) -> Protection {
    let stages = STAGES.iter().map(|(function, watched, side)| {
        let [threshold, time] = pair(&timeline["stages"][function]);
        Stage {
            function,
            watched: *watched,
            side: *side,
            threshold,
            least: micros(time),
            most: micros(time),
            drop_off: DropOff::at_threshold(threshold),
            rides: RideThrough::default(),
            relay: None,
        }
    });
    let enter = &timeline["enter-service"];
    Protection {
        stages: stages.collect(),
        reconnection: Reconnection {
            voltage: pair(&enter["voltage"]),
            frequency: pair(&enter["frequency"]),
            observation: [micros(number(&enter["delay"])); 2],
            random: 0,
            ramp: micros(number(&enter["ramp"])),
        },
        ceasing: Ceasing::default(),
        relays: Vec::new(),
    }
}

/// What our two devices did: windows by what happened, and when each was up.
fn ours(timeline: &Value, protection: &Protection) -> (Vec<Merged>, [Vec<Micros>; 2]) {
    let device = device();
    let values = Values { phases: 1, are_means: false, prove_means: true };
    let mut player = Player::new(&device, protection, timeline["in-service"].as_bool(), values);
    let step = number(&timeline["step"]);
    let mut n = 0;
    for stretch in timeline["stretches"].as_array().unwrap() {
        let [seconds, volts] = pair(stretch);
        for _ in 0..(seconds / step).round() as i64 {
            let at = micros(n as f64 * step);
            player.push(Sample {
                at,
                voltage: [volts, f64::NAN, f64::NAN],
                frequency: number(&stretch[2]),
                available: f64::NAN,
                load: f64::NAN,
            });
            n += 1;
        }
    }
    let ups = player.changes().map(|changes| {
        let pairs = changes.windows(2).filter(|pair| pair[0].to == State::Ramping && pair[1].to == State::Running);
        pairs.map(|pair| pair[1].at).collect()
    });
    (player.story(), ups)
}

/// Whether a window, widened by what the reference's own steps leave open, holds a moment.
fn holds(earliest: Micros, latest: Micros, step: Micros, at: Micros) -> bool {
    earliest - step <= at && at <= latest + 2 * step
}

/// Everything that the reference did and ours did not, or the other way round.
fn differences(timeline: &Value) -> Vec<String> {
    let protection = protection(timeline);
    let (story, ups) = ours(timeline, &protection);
    let step = micros(number(&timeline["step"]));
    let mut left: Vec<&Merged> = story.iter().collect();
    let mut differences = Vec::new();
    for event in timeline["happened"].as_array().unwrap() {
        let at = micros(number(&event["at"]));
        let is_same = |merged: &&Merged| {
            let same_kind = match (&merged.what, event["what"].as_str()) {
                (Happening::Tripped(stages, _), Some("tripped")) => {
                    let theirs: Vec<&str> = event["stages"].as_array().unwrap().iter().filter_map(Value::as_str).collect();
                    protection.functions(stages).iter().any(|stage| theirs.contains(stage))
                }
                (Happening::Connected, Some("entered")) => true,
                _ => false,
            };
            same_kind && holds(merged.earliest, merged.latest, step, at)
        };
        match (event["what"].as_str(), left.iter().position(is_same)) {
            (Some("up"), _) => {
                // the end or a trip may come between the ups of the two
                if !ups.iter().flatten().any(|up| holds(*up, *up, step, at)) {
                    differences.push(format!("up at {at}: ours {ups:?}"));
                }
            }
            (_, Some(same)) => drop(left.remove(same)),
            (_, None) => differences.push(format!("{event}: ours {story:?}")),
        }
    }
    // what only one of our two devices did needs no counterpart
    differences.extend(
        left.iter()
            .filter(|merged| merged.sure == Sure::Certain && !matches!(merged.what, Happening::BrokenOff(..)))
            .map(|merged| format!("only ours: {merged:?}")),
    );
    differences
}

#[test]
fn every_timeline_lies_within_the_reference_models_steps() {
    let text = include_str!("../../../tests/outside/timelines.json");
    let fixture: Value = serde_json::from_str(text).unwrap();
    let timelines = fixture["timelines"].as_array().unwrap();
    assert!(timelines.len() >= 40, "{}", timelines.len());
    let happened: usize = timelines.iter().map(|timeline| timeline["happened"].as_array().unwrap().len()).sum();
    assert!(happened >= 60, "{happened}");
    let wrong: Vec<String> = timelines
        .iter()
        .flat_map(|timeline| differences(timeline).into_iter().map(|text| format!("{}: {text}", timeline["name"])))
        .collect();
    assert!(wrong.is_empty(), "{} of {}:\n{}", wrong.len(), timelines.len(), wrong.join("\n"));
}
