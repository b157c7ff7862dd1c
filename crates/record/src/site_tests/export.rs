//! Export is held to its limit, also without its sensor and without communication.

use super::{DeviceUnderTest, Expectation, Plan, tolerance};
use crate::parts::{Figure, TestKind};
use settings_model::catalogue::{SettingId, Shape};
use settings_model::exact::Exact;
use settings_model::quantity::Dimension;
use settings_model::value::Value;

const LIMIT: SettingId = SettingId::of("export-limit", "site-total");
const LIMIT_STATE: SettingId = SettingId::of("export-limit", "state");
const REMOVAL: SettingId = SettingId::of("export-limit", "removal-time");
const MASTER: SettingId = SettingId::of("export-sensor", "master");
const ON_LOSS: SettingId = SettingId::of("export-sensor", "on-loss");
const LOSS_NOTICED: SettingId = SettingId::of("export-sensor", "loss-noticed");
const REMOTE_STATE: SettingId = SettingId::of("remote-control", "state");
const FALLBACK: SettingId = SettingId::of("remote-control", "fallback");
const FALLBACK_AFTER: SettingId = SettingId::of("remote-control", "fallback-after");

pub(super) fn add(asked: &DeviceUnderTest<'_>, plan: &mut Plan) {
    // a device that another one limits has nothing of its own to show
    if word(asked, MASTER) == Some("another-device") {
        return;
    }
    if asked.requires(LIMIT_STATE)
        && let Some(limit) = power(asked, LIMIT)
    {
        with_load(asked, limit, plan);
        sensor_off(asked, plan);
    }
    if asked.requires(REMOTE_STATE)
        && let (Some(fallback), Some(after)) = (power(asked, FALLBACK), asked.expectation(Figure::Time, FALLBACK_AFTER, Dimension::Time))
    {
        let steps = [
            "With generation above the fallback limit, take the communication link off at the device.",
            "Time until the net export is down to the fallback limit, and read the most that flows out from then on.",
            "Put the link back, and see that limits are taken again.",
        ];
        plan.tests.push(asked.planned(
            TestKind::CommunicationLost,
            "communication-lost",
            "Communication lost",
            &steps,
            vec![after, fallback],
        ));
    }
}

fn with_load(asked: &DeviceUnderTest<'_>, limit: Expectation, plan: &mut Plan) {
    let removal = asked.expectation(Figure::Time, REMOVAL, Dimension::Time);
    let steps = [
        "With generation above the limit, switch a known load on: the net export, read at the connection point, has to fall by it or stay at the limit.",
        "Switch it off: time until the net export is back at the limit, and read the most that flows out from then on.",
        "On three phases, once with the load on each phase: a sensor on a wrong phase shows here.",
    ];
    let steps = if asked.facts().number(settings_model::facts::FactId::Phases) == Some(Exact::from(3)) { &steps[..] } else { &steps[..2] };
    plan.tests.push(asked.planned(
        TestKind::ExportLimit,
        "export-limit",
        "Export limit, load switched",
        steps,
        std::iter::once(limit).chain(removal).collect(),
    ));
}

fn sensor_off(asked: &DeviceUnderTest<'_>, plan: &mut Plan) {
    let noticed = asked.expectation(Figure::Time, LOSS_NOTICED, Dimension::Time);
    let export = match word(asked, ON_LOSS) {
        Some("zero-export" | "disconnects") => power(asked, LIMIT).map(|limit| Expectation {
            setting: ON_LOSS,
            low: None,
            high: Some((Exact::ZERO, false)),
            from: "what the device was set to do on loss of its sensor".to_owned(),
            basis: None,
            ..limit
        }),
        Some("falls-back") => power(asked, FALLBACK),
        _ => None,
    };
    // the limit holds with the lead off, too, whatever else is asked
    let export = export.or_else(|| power(asked, LIMIT));
    if noticed.is_none() {
        plan.without.push(format!("{}: no layer says within what time the loss of the export sensor has to be noticed", asked.sheet.name));
    }
    let steps = [
        "Never open the secondary of a current transformer that carries current: unplug a lead only at the device's own connector where its manual allows it, or short the secondary first. An open secondary can kill.",
        "With generation above the site's own use, take the sensor's lead off: time until the device does what it was set to do, and read the most that flows out from then on.",
        "Put the lead back, and repeat the test of the export limit in short: the direction has to be right again.",
    ];
    let expects = noticed.into_iter().chain(export).collect();
    plan.tests.push(asked.planned(TestKind::ExportSensorOff, "export-sensor-off", "Export sensor's lead off", &steps, expects));
}

/// The most that may flow out.
fn power(asked: &DeviceUnderTest<'_>, setting: SettingId) -> Option<Expectation> {
    let mut most = asked.expectation(Figure::Export, setting, Dimension::ActivePower)?;
    most.high?;
    most.low = None;
    most.allowance = tolerance::of_power(asked.sheet);
    Some(most)
}

fn word(asked: &DeviceUnderTest<'_>, setting: SettingId) -> Option<&'static str> {
    match (asked.held(setting)?, setting.parameter().shape) {
        (Value::Word(word), Shape::Choice(words)) => words.get(usize::from(*word)).copied(),
        _ => None,
    }
}
