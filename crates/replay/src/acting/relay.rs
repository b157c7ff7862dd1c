//! A grid protection relay before an inverter: its stages with their drop-off, and when it closes again.

use super::equipment::{Building, Measured};
use super::values::Values;
use crate::held::DeviceAtMoment;
use response::timeline::{DropOff, Micros, Relay, Side, Stage, Watched, micros};
use settings_model::exact::Exact;
use settings_model::facts::FactId;

/// A relay as it acts.
pub(super) struct ActingRelay {
    /// Its stages, as of the first relay.
    pub stages: Vec<Stage>,
    /// What it is.
    pub relay: Relay,
    /// Stages that are not played, and why.
    pub not_played: Vec<String>,
    /// How many of them could be.
    pub could_not_play: usize,
    /// What was taken for granted.
    pub taken: Vec<String>,
}

/// Builds a relay from what it holds; `None` where a requirement asks nothing of one.
pub(super) fn relay(held: &DeviceAtMoment<'_>, measured: Measured) -> Option<ActingRelay> {
    if held.is_requirement && held.asked.as_ref().is_none_or(|(book, _)| !book.rulebook.says_anything()) {
        return None;
    }
    let values = if held.is_requirement { Values::or_as_required(held) } else { Values::of(held) };
    let mut building = Building::of(values);
    let mut stages = building.stages(measured);
    building.let_go(&mut stages);
    let reconnection = building.reconnection(measured, false);
    let named = |words: Vec<String>| words.into_iter().map(|words| format!("{}: {words}", held.name)).collect();
    building.taken.push("it is assumed to be closed when the log begins, and to sit before every inverter".to_owned());
    Some(ActingRelay {
        stages,
        relay: Relay { phases: measured.phases, reconnection },
        could_not_play: building.could_not_play,
        not_played: named(building.not_played),
        taken: named(building.taken),
    })
}

impl Building<'_> {
    /// Gives each stage its drop-off.
    fn let_go(&mut self, stages: &mut [Stage]) {
        let momentary = |stage: &&mut Stage| !matches!(stage.watched, Watched::MeanOfAnyPhase(_));
        let ratio = self.values.exactly("drop-off", "ratio").map(|percent| percent / 100.0).filter(|ratio| *ratio > 0.0);
        let reset = self.values.exactly("drop-off", "reset-time").map(micros);
        let nominal = self.values.held.facts.number(FactId::NominalVoltage).map(Exact::approximate);
        let book = self.values.held.asked.as_ref().map(|(book, _)| &book.rulebook);
        let hertz = book.and_then(|book| book.nominal_frequency).map(Exact::approximate);
        let mut has_frequency = false;
        for stage in stages.iter_mut().filter(momentary) {
            let is_frequency = stage.watched == Watched::Frequency;
            has_frequency |= is_frequency;
            let nominal = if is_frequency { hertz } else { nominal };
            let back_at_nominal = nominal.unwrap_or(stage.threshold);
            let at = match ratio {
                Some(ratio) if !is_frequency => [share(stage, ratio); 2],
                // a relay that counts it for frequency too lets go at nominal frequency at the latest
                Some(ratio) => [stage.threshold, nearer(stage, share(stage, ratio), back_at_nominal)],
                None => [stage.threshold, back_at_nominal],
            };
            let reset: [Micros; 2] = reset.map_or([0, stage.least], |reset| [reset; 2]);
            stage.drop_off = DropOff { at, reset };
        }
        if ratio.is_none() {
            self.taken.push("its drop-off ratio is not known; a stage that has picked up is assumed to let go between its threshold and the nominal value".to_owned());
        } else if has_frequency {
            self.taken.push("whether its drop-off ratio counts for frequency too is not known; both are played".to_owned());
        }
        if reset.is_none() {
            self.taken.push("its reset time is not known; it is assumed to be no longer than the delay of each stage".to_owned());
        }
    }
}

/// Where a stage lets go at a ratio of its threshold. A ratio below one is that of a stage that acts
/// above, and its inverse that of one that acts below (common practice, no source).
fn share(stage: &Stage, ratio: f64) -> f64 {
    let ratio = ratio.min(1.0 / ratio);
    if stage.side == Side::Above { stage.threshold * ratio } else { stage.threshold / ratio }
}

/// Of two places on the inner side of a threshold the one that is nearer to it.
fn nearer(stage: &Stage, one: f64, other: f64) -> f64 {
    if stage.side == Side::Above { one.max(other).min(stage.threshold) } else { one.min(other).max(stage.threshold) }
}

#[cfg(test)]
mod tests {
    use super::*;
    use response::timeline::RideThrough;

    /// Worked values, plain arithmetic: 250 V at a reset ratio of 96 % lets go at 240 V, 200 V at 104 % at 208 V.
    #[test]
    fn a_reset_ratio_is_a_share_of_the_threshold_on_the_inner_side() {
        for (side, threshold, percent, lets_go) in [(Side::Above, 250.0, 96.0, 240.0), (Side::Below, 200.0, 104.0, 208.0)] {
            let stage = Stage {
                function: "overvoltage-1",
                watched: Watched::AnyPhase,
                side,
                threshold,
                least: 0,
                most: 0,
                drop_off: DropOff::at_threshold(threshold),
                rides: RideThrough::default(),
                relay: None,
            };
            assert!((share(&stage, percent / 100.0) - lets_go).abs() < 1e-9, "{threshold} V at {percent} %");
        }
    }
}
