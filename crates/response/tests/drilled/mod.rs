//! A device and its protection, that drills and logs are played on.

#![allow(dead_code, reason = "each test file uses some of it")]

use response::device::Device;
use response::timeline::{
    Ceasing, DropOff, Happening, Merged, Micros, Player, Protection, Reconnection, RideThrough, Sample, Side, Stage, State, Sure, Values,
    Watched, micros,
};

/// A single-phase log of values of a moment.
pub const ONE_PHASE: Values = Values { phases: 1, are_means: false, prove_means: true };

pub const MS: Micros = 1_000;
pub const S: Micros = 1_000_000;

pub fn device() -> Device {
    Device::bare(5_000.0)
}

/// A stage of a device itself, with its least and its longest time in seconds.
pub fn stage(function: &'static str, watched: Watched, side: Side, threshold: f64, [least, most]: [f64; 2]) -> Stage {
    Stage {
        function,
        watched,
        side,
        threshold,
        least: micros(least),
        most: micros(most),
        drop_off: DropOff::at_threshold(threshold),
        rides: RideThrough::default(),
        relay: None,
    }
}

/// The stages of moments of AS/NZS 4777.2:2020, region A (from memory).
pub fn of_moments() -> Vec<Stage> {
    vec![
        stage("undervoltage-1", Watched::AnyPhase, Side::Below, 180.0, [10.0, 11.0]),
        stage("undervoltage-2", Watched::AnyPhase, Side::Below, 70.0, [1.0, 2.0]),
        stage("overvoltage-1", Watched::AnyPhase, Side::Above, 265.0, [1.0, 2.0]),
        stage("overvoltage-2", Watched::AnyPhase, Side::Above, 275.0, [0.0, 0.2]),
        stage("underfrequency-1", Watched::Frequency, Side::Below, 47.0, [1.0, 2.0]),
        stage("overfrequency-1", Watched::Frequency, Side::Above, 52.0, [0.0, 0.2]),
    ]
}

pub fn protection() -> Protection {
    let mut stages = of_moments();
    stages.insert(4, stage("sustained-overvoltage", Watched::MeanOfAnyPhase(600 * S), Side::Above, 258.0, [0.0, 3.0]));
    Protection {
        stages,
        reconnection: Reconnection {
            voltage: [205.0, 253.0],
            frequency: [47.5, 50.15],
            observation: [60 * S; 2],
            random: 0,
            ramp: 360 * S,
        },
        ceasing: Ceasing::default(),
        relays: Vec::new(),
    }
}

/// A log by stretches: so many seconds of a voltage and a frequency, at a spacing.
pub fn played(spacing: Micros, in_service: bool, stretches: &[(f64, f64, f64)]) -> (Vec<Merged>, [State; 2]) {
    let (device, protection) = (device(), protection());
    let mut player = Player::new(&device, &protection, Some(in_service), ONE_PHASE);
    let mut at = 0;
    for (seconds, voltage, frequency) in stretches {
        let ends = at + micros(*seconds);
        while at < ends {
            player.push(Sample { at, voltage: [*voltage, f64::NAN, f64::NAN], frequency: *frequency, available: 4_000.0, load: f64::NAN });
            at += spacing;
        }
    }
    (player.story(), player.states())
}

pub fn trips(story: &[Merged]) -> Vec<(Vec<&'static str>, f64, Option<f64>)> {
    let protection = protection();
    let seconds = |at: Micros| at as f64 / 1e6;
    let of = |merged: &Merged| match &merged.what {
        Happening::Tripped(stages, _) => {
            let latest = (merged.sure == Sure::Certain).then(|| seconds(merged.latest));
            Some((protection.functions(stages), seconds(merged.earliest), latest))
        }
        _ => None,
    };
    story.iter().filter_map(of).collect()
}
