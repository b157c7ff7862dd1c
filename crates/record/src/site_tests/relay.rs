//! Stages of a grid protection relay, by secondary injection.

use super::{DeviceUnderTest, Plan, tolerance};
use crate::parts::{Figure, TestKind};
use settings_model::catalogue::{SettingId, Shape};
use settings_model::exact::Exact;
use settings_model::quantity::Dimension;

const RATIO: SettingId = SettingId::of("drop-off", "ratio");
/// The times of a stage, the one that a test set times first.
const TIMES: [&str; 4] = ["operate-time", "definite-delay", "clearing-time", "disconnection"];

pub(super) fn add(asked: &DeviceUnderTest<'_>, plan: &mut Plan) {
    let mut thresholds: Vec<SettingId> = SettingId::all().filter_map(|id| id.sibling("threshold")).collect();
    thresholds.dedup();
    let before = plan.tests.len();
    for threshold in thresholds {
        if threshold.state().is_some_and(|state| asked.requires(state)) {
            stage(asked, threshold, plan);
        }
    }
    if plan.tests.len() == before {
        plan.without.push(format!("{}: no layer asks for a stage of this relay", asked.sheet.name));
    }
}

fn stage(asked: &DeviceUnderTest<'_>, threshold: SettingId, plan: &mut Plan) {
    let Shape::Quantity(dimension) = threshold.parameter().shape else { return };
    let mut expects = Vec::new();
    if let Some(mut picks_up) = asked.expectation(Figure::PickUp, threshold, dimension) {
        let edge = picks_up.high.or(picks_up.low).map(|(edge, _)| edge.abs()).unwrap_or_default();
        picks_up.allowance = Some(tolerance::of_pick_up(dimension, edge));
        expects.push(picks_up);
    }
    let time = TIMES.iter().find_map(|key| asked.expectation(Figure::Time, threshold.sibling(key)?, Dimension::Time));
    expects.extend(time.map(|mut time| {
        let edge = time.high.or(time.low).map(|(edge, _)| edge).unwrap_or(Exact::ZERO);
        time.allowance = Some(tolerance::of_relay_time(edge));
        time
    }));
    if dimension == Dimension::Voltage {
        expects.extend(asked.expectation(Figure::DropOff, RATIO, Dimension::Percent));
    }
    if expects.is_empty() {
        return;
    }
    let function = threshold.function();
    let steps = [
        "By secondary injection, with the voltage inputs and the trip circuit isolated as the relay's manual and the network operator's rules say.",
        "Move the value slowly past the threshold: note where the stage picks up, and on the way back where it lets go.",
        "Step it well past the threshold: time until the trip contact moves. Do each three times, and note the worst.",
        "Put everything back, and show once that the trip opens the switch that it is meant for.",
    ];
    let mut test =
        asked.planned(TestKind::RelayStage, function.key, format!("{}, by secondary injection", function.title), &steps, expects);
    test.is_under = function.key.starts_with("under");
    plan.tests.push(test);
}
