//! Where nothing happens: most of most logs, so it is passed over quickly.

use super::Sample;
use super::protection::{Protection, Side, Watched};
use crate::device::{Device, Priority, ReactiveMode};

/// A range of voltage and of frequency in which a running device just runs: no stage, no answer, no
/// cap, no edge of a window.
#[derive(Clone, Copy, Debug)]
pub(super) struct Calm {
    voltage: [f64; 2],
    frequency: [f64; 2],
    /// Active power, in watts, that always has room beside reactive power.
    room: f64,
    /// Voltages at which more of it has room too.
    free: [f64; 2],
    /// The least limit of output, in watts.
    limit: f64,
    phases: usize,
    /// Whether a stage looks at the frequency, so that one which the log lacks is not calm.
    needs_frequency: bool,
}

impl Calm {
    pub(super) fn of(device: &Device, protection: &Protection, phases: usize) -> Self {
        let phases = protection.relays.iter().map(|relay| relay.phases).fold(phases, usize::max);
        let anywhere = [f64::NEG_INFINITY, f64::INFINITY];
        let needs_frequency = protection.stages.iter().any(|stage| stage.watched == Watched::Frequency);
        let limit = f64::INFINITY;
        let mut calm = Self { voltage: anywhere, frequency: anywhere, room: 0.0, free: anywhere, limit, phases, needs_frequency };
        let mut shrink = |is_frequency: bool, side: Side, to: f64| {
            let range = if is_frequency { &mut calm.frequency } else { &mut calm.voltage };
            match side {
                Side::Above => range[1] = range[1].min(to),
                Side::Below => range[0] = range[0].max(to),
            }
        };
        for stage in protection.stages.iter().filter(|stage| !matches!(stage.watched, Watched::MeanOfAnyPhase(_))) {
            shrink(stage.watched == Watched::Frequency, stage.side, stage.threshold);
        }
        shrink(false, Side::Below, protection.ceasing.below);
        shrink(false, Side::Above, protection.ceasing.above);
        // a cap begins to act where its line leaves the level that ratings allow anyway
        if let Some([low, high]) = device.volt_watt.as_ref().map(|line| line.idle_within(device.ratings.active)) {
            shrink(false, Side::Below, low);
            shrink(false, Side::Above, high);
        }
        if let Some(answer) = &device.over_frequency {
            shrink(true, Side::Above, answer.start);
        }
        calm.limit = device.export_limit.unwrap_or(f64::INFINITY).min(device.generation_limit.unwrap_or(f64::INFINITY));
        (calm.room, calm.free) = beside_reactive(device);
        calm
    }

    pub(super) fn holds(&self, sample: &Sample) -> bool {
        let inside = |value: f64, [low, high]: [f64; 2]| low <= value && value <= high;
        let frequency = inside(sample.frequency, self.frequency) || (sample.frequency.is_nan() && !self.needs_frequency);
        // what is not a number is nowhere inside
        let voltage = &sample.voltage[..self.phases];
        let is_beside = sample.available <= self.room || voltage.iter().all(|v| inside(*v, self.free));
        // a site's own use raises an export limit; what others give there lowers it
        let is_within = sample.available.is_nan() || (0.0 <= sample.available && sample.available <= self.limit + sample.load.min(0.0));
        frequency && is_beside && is_within && voltage.iter().all(|v| inside(*v, self.voltage))
    }
}

/// Active power that always has room beside reactive power, and voltages at which there is none of it.
fn beside_reactive(device: &Device) -> (f64, [f64; 2]) {
    let anywhere = [f64::NEG_INFINITY, f64::INFINITY];
    let nowhere = [f64::INFINITY, f64::NEG_INFINITY];
    let most = match (&device.reactive, device.priority) {
        (ReactiveMode::Unity, _) | (_, Priority::Active) => return (f64::INFINITY, anywhere),
        (ReactiveMode::VoltVar(line), _) => line.points().iter().map(|[_, vars]| vars.abs()).fold(0.0, f64::max),
        (ReactiveMode::Fixed(vars), _) => vars.abs(),
        _ => return (0.0, nowhere),
    };
    let apparent = device.ratings.apparent;
    let room = (apparent * apparent - most * most).max(0.0).sqrt();
    let free = if let ReactiveMode::VoltVar(line) = &device.reactive { line.zero_within() } else { nowhere };
    (room, free)
}
