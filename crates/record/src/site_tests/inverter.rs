//! The supply is opened, it returns, power ramps; and what a type test stands for.

use super::tolerance::{self, is_too_short_for_a_hand};
use super::{DeviceUnderTest, Expectation, Plan};
use crate::parts::{Certainty, Figure, TestKind};
use settings_model::catalogue::SettingId;
use settings_model::exact::Exact;
use settings_model::quantity::Dimension;

const CEASES: SettingId = SettingId::of("active-anti-islanding", "disconnection");
const WAITS: SettingId = SettingId::of("reconnection", "observation-time");
const RAMP_RATE: SettingId = SettingId::of("reconnection", "ramp-rate");
const RAMP_TIME: SettingId = SettingId::of("reconnection", "ramp-time");
const RANDOM_DELAY: SettingId = SettingId::of("reconnection", "random-delay");

pub(super) fn add(asked: &DeviceUnderTest<'_>, plan: &mut Plan) {
    supply_opened(asked, plan);
    supply_returned(asked, plan);
    ramp(asked, plan);
}

/// The figure is that of active anti-islanding: with the network gone the undervoltage stage may never
/// see its threshold.
fn supply_opened(asked: &DeviceUnderTest<'_>, plan: &mut Plan) {
    let Some(ceases) = asked.expectation(Figure::Time, CEASES, Dimension::Time) else {
        plan.without.push(format!("{}: supply opened: no layer says within what time active anti-islanding acts", asked.sheet.name));
        return;
    };
    let backup = "Measure at the grid terminals of the inverter: a backup output may stay live, as it should.";
    let mut steps = vec![
        "Let the inverter generate, with the load of the site near to what it gives where that can be had: then it is hardest to notice that the network is gone.",
        "Open the main switch for the supply, and time from there until the inverter ceases.",
    ];
    steps.extend(asked.facts().has_storage().then_some(backup));
    steps.push("See that it stays off while the switch is open.");
    plan.tests.push(asked.planned(TestKind::SupplyOpened, "supply-opened", "Supply opened", &steps, vec![ceases]));
}

fn supply_returned(asked: &DeviceUnderTest<'_>, plan: &mut Plan) {
    let Some(mut waits) = asked.expectation(Figure::Waited, WAITS, Dimension::Time) else {
        plan.without.push(format!("{}: supply returned: no layer says how long to wait", asked.sheet.name));
        return;
    };
    // it watches for as long as is asked, and may then wait on
    let random = asked.interval(RANDOM_DELAY).and_then(|interval| interval.high);
    waits.high = random.and_then(|random| waits.high.map(|(high, open)| (high + random.at, open)));
    let steps = [
        "Close the main switch, and time from there until the inverter gives power again.",
        "If voltage or frequency leaves its window meanwhile, the wait begins anew: time again.",
    ];
    plan.tests.push(asked.planned(TestKind::SupplyReturned, "supply-returned", "Supply returned", &steps, vec![waits]));
}

fn ramp(asked: &DeviceUnderTest<'_>, plan: &mut Plan) {
    let by_rate = asked.expectation(Figure::Ramp, RAMP_RATE, Dimension::RampRate);
    let Some(mut rises) = by_rate.or_else(|| by_time(asked)) else { return };
    // a slower rise is no danger, and mostly the sun's doing; whether it was set so is for the settings
    rises.low = None;
    rises.allowance = tolerance::ramp_words(asked.sheet);
    let steps = [
        "Only with sun enough (or a battery charged enough) for power to rise past what the ramp allows: otherwise note that it was not done, why, and by when to try again.",
        "From connecting on, read the power at least twice some minutes apart: the difference, in per cent of rated power, by the minutes between.",
    ];
    plan.tests.push(asked.planned(TestKind::Ramp, "ramp", "Ramp after connecting", &steps, vec![rises]));
}

/// A ramp time is another spelling of a rate: at least so long to full power.
fn by_time(asked: &DeviceUnderTest<'_>) -> Option<Expectation> {
    let mut rises = asked.expectation(Figure::Ramp, RAMP_TIME, Dimension::RampRate)?;
    let (least, open) = rises.low?;
    rises.high = Some((Exact::from(6000).divided_roughly(least, 3)?, open));
    Some(rises)
}

/// Trip stages need a source whose voltage and frequency can be moved, so the type test stands for them.
pub(super) fn add_stages(asked: &DeviceUnderTest<'_>, plan: &mut Plan) {
    let mut stages: Vec<SettingId> = SettingId::all().filter_map(|id| id.sibling("threshold").and(id.sibling("disconnection"))).collect();
    stages.dedup();
    for disconnection in stages {
        let Some(state) = disconnection.state().filter(|state| asked.requires(*state)) else { continue };
        let Some(mut off) = asked.expectation(Figure::Time, disconnection, Dimension::Time) else { continue };
        off.certainty = Certainty::TypeTest;
        let too_short = off.high.is_some_and(|(high, _)| is_too_short_for_a_hand(high));
        let step = match too_short {
            true => {
                "Not done on site: no hand can time this, and it needs a source whose voltage and frequency can be moved. It relies on the type test."
            }
            false => "Not done on site: it needs a source whose voltage and frequency can be moved. It relies on the type test.",
        };
        let function = state.function();
        plan.tests.push(asked.planned(TestKind::TripStage, function.key, function.title, &[step], vec![off]));
    }
}
