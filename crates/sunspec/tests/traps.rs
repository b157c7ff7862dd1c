//! The traps of reading settings over SunSpec models, one by one, on images laid out with pysunspec2. What each image
//! is made to show stands in `tests/sunspec/images.py`.

use crate::images;

use images::captured;
use settings_model::catalogue::SettingId;
use settings_model::exact::Exact;
use sunspec::{Captured, TroubleKind as Trouble};

/// An image, and settings in it: as they are shown, or not read.
type Row = (&'static str, &'static [(&'static str, Option<&'static str>)]);

const IN_FORCE: &str = "44 % at 0.92 pu, 0 % at 0.98 pu, 0 % at 1.02 pu, -44 % at 1.08 pu";
const STORED: &str = "30 % at 0.9 pu, 0 % at 0.97 pu, 0 % at 1.03 pu, -30 % at 1.1 pu";

#[rustfmt::skip]
const SETTINGS: [Row; 52] = [
    // 1: the curve in force
    ("two-curves", &[("volt-var/points", Some(IN_FORCE))]),
    ("second-marked", &[("volt-var/points", None), ("volt-var/state", None)]),
    ("not-marked", &[("volt-var/points", Some(IN_FORCE))]),
    ("older-only", &[("volt-var/points", Some(IN_FORCE)), ("volt-var/state", Some("enabled")), ("volt-watt/state", Some("off"))]),
    ("older-first-curve", &[("volt-var/points", Some(STORED))]),
    ("older-no-curve", &[("volt-var/points", None), ("volt-var/state", Some("off"))]),
    ("older-curve-beyond", &[("volt-var/points", None)]),
    // 2: points in use
    ("nine-stored", &[("volt-var/points", Some(IN_FORCE))]),
    ("nine-points", &[("volt-var/points", Some("44 % at 0.9 pu, 44 % at 0.92 pu, 22 % at 0.95 pu, 0 % at 0.98 pu, 0 % at 1 pu, 0 % at 1.02 pu, -22 % at 1.05 pu, -44 % at 1.08 pu, -44 % at 1.1 pu"))]),
    ("points-beyond", &[("undervoltage-1/threshold", None), ("undervoltage-1/state", None), ("undervoltage-3/state", None)]),
    ("no-points", &[("undervoltage-1/threshold", None), ("undervoltage-1/state", None)]),
    ("points-not-said", &[("overvoltage-1/threshold", None)]),
    // 3, 4: neighbours of the trip curve
    ("neighbours", &[("undervoltage-1/threshold", Some("0.88 pu")), ("undervoltage-1/clearing-time", Some("21 s")), ("undervoltage-2/clearing-time", Some("2 s"))]),
    // 5: what is scaled how
    ("scale-0", &[("undervoltage-1/threshold", Some("0.88 pu"))]),
    ("scale-2", &[("undervoltage-1/threshold", Some("0.88 pu"))]),
    // 6: times of two registers
    ("many-registers", &[("underfrequency-1/clearing-time", Some("300 s")), ("underfrequency-2/threshold", Some("56.5 Hz"))]),
    ("coarse-time", &[("overvoltage-2/clearing-time", Some("0.2 s"))]),
    // 8: of what the level of a curve is
    ("of-var", &[("volt-var/points", Some(IN_FORCE))]),
    ("of-var-one-way", &[("volt-var/points", Some("44 % at 0.92 pu, 0 % at 0.98 pu, 0 % at 1.02 pu, -40 % at 1.08 pu"))]),
    ("of-watts", &[("volt-var/points", Some("43.9736842 % at 0.92 pu, 0 % at 0.98 pu, 0 % at 1.02 pu, -43.9736842 % at 1.08 pu"))]),
    ("of-available", &[("volt-var/points", None), ("volt-var/state", Some("enabled"))]),
    ("older-of-var", &[("volt-var/points", Some(IN_FORCE))]),
    // 9: a time without a scale
    ("time-without-scale", &[("volt-var/reference-time-constant", Some("5000 s"))]),
    // 11: watt-var
    ("no-charging", &[("watt-var/points", Some("0 % at 20 %, 0 % at 50 %, -44 % at 100 %"))]),
    ("conforming", &[("watt-var/points", Some("0 % at 20 %, 0 % at 50 %, -44 % at 100 %")), ("undervoltage-3/state", Some("off")), ("over-frequency-response/droop", Some("5 %"))]),
    // 12: droop
    ("fine-deadband", &[("over-frequency-response/deadband", Some("0.017 Hz")), ("over-frequency-response/droop", Some("2 %")), ("under-frequency-response/droop", Some("5 %"))]),
    // 13: which way a power factor leans
    ("factor-absorbing", &[("fixed-power-factor/power-factor", Some("0.95")), ("fixed-power-factor/direction", Some("absorbing"))]),
    ("older-factor", &[("fixed-power-factor/power-factor", Some("0.95")), ("fixed-power-factor/direction", None), ("fixed-power-factor/state", Some("enabled"))]),
    // 14, 15: off, absent, missing, not said
    ("trip-off", &[("overvoltage-1/state", Some("off")), ("overvoltage-2/state", Some("off")), ("undervoltage-1/state", Some("enabled"))]),
    ("function-absent", &[("volt-watt/state", Some("absent"))]),
    ("model-missing", &[("volt-watt/state", None)]),
    ("contradiction", &[("volt-var/state", None)]),
    ("switch-not-said", &[("volt-var/state", None)]),
    // 16: scales
    ("scale-missing", &[("undervoltage-1/threshold", None), ("overvoltage-1/threshold", Some("1.1 pu"))]),
    ("scale-absurd", &[("overvoltage-1/clearing-time", None), ("undervoltage-1/threshold", Some("0.88 pu"))]),
    // 17: what does not stay
    ("temporary", &[("volt-var/points", None), ("volt-var/state", None)]),
    ("temporary-limit", &[("fixed-power-factor/state", Some("enabled")), ("fixed-power-factor/power-factor", Some("1"))]),
    ("temporary-factor", &[("fixed-power-factor/state", None), ("fixed-reactive-power/state", Some("off"))]),
    ("under-way", &[("volt-var/points", None)]),
    // 18: not implemented is no number
    ("not-implemented", &[("reconnection/upper-voltage", None), ("reconnection/lower-voltage", Some("0.917 pu"))]),
    // 20: ratings stand in for base settings
    ("only-ratings", &[("undervoltage-1/threshold", Some("0.88 pu")), ("volt-var/points", Some(IN_FORCE))]),
    ("no-nominal", &[("undervoltage-1/threshold", None), ("underfrequency-1/threshold", Some("58.5 Hz"))]),
    // ratings and how far it is set to go are held against what is asked
    ("conforming", &[("performance-category/normal", Some("b")), ("performance-category/abnormal", Some("iii")), ("reactive-capability/supplying", Some("44 %"))]),
    ("categories-a-and-i", &[("performance-category/normal", Some("a")), ("performance-category/abnormal", Some("i"))]),
    ("fault-reactive-capability-supplying", &[("reactive-capability/supplying", Some("20 %")), ("reactive-capability/absorbing", Some("44 %"))]),
    ("fault-reactive-capability-absorbing", &[("reactive-capability/absorbing", Some("0 %"))]),
    ("only-ratings", &[("reactive-capability/supplying", Some("44 %"))]),
    ("var-of-rating", &[("reactive-capability/supplying", Some("30 %"))]),
    ("of-var-one-way", &[("reactive-capability/absorbing", Some("40 %"))]),
    ("older-only", &[("reactive-capability/supplying", Some("44 %")), ("reactive-capability/absorbing", Some("44 %"))]),
    // 21: the order of trip points
    ("deepest-first", &[("undervoltage-1/threshold", Some("0.88 pu")), ("undervoltage-2/clearing-time", Some("2 s"))]),
    ("three-stages", &[("undervoltage-2/threshold", Some("0.7 pu")), ("undervoltage-3/threshold", Some("0.5 pu")), ("undervoltage-3/state", Some("enabled"))]),
];

#[rustfmt::skip]
const TROUBLES: [(&str, &[Trouble]); 57] = [
    ("conforming", &[]),
    ("base-0", &[]),
    ("base-50000", &[]),
    ("older-and-newer", &[Trouble::OlderModelToo]),
    ("older-only", &[Trouble::StoredNotInForce]),
    ("older-no-curve", &[Trouble::NoCurveInForce]),
    ("older-curve-beyond", &[Trouble::InForceUnclear]),
    ("older-offset", &[Trouble::BaseUnknown, Trouble::BaseUnknown, Trouble::BaseUnknown, Trouble::BaseUnknown, Trouble::StoredNotInForce]),
    ("older-factor", &[Trouble::DirectionUnknown, Trouble::StoredNotInForce]),
    ("two-curves", &[Trouble::StoredNotInForce]),
    ("second-marked", &[Trouble::InForceUnclear]),
    ("not-marked", &[Trouble::InForceNotMarked]),
    ("points-beyond", &[Trouble::PointsBeyondLayout]),
    ("no-points", &[Trouble::NoPoints]),
    ("points-not-said", &[Trouble::NoPoints]),
    ("neighbours", &[]),
    ("many-registers", &[Trouble::StoredNotInForce]),
    ("of-available", &[Trouble::BaseUnknown]),
    ("no-charging", &[]),
    ("trip-off", &[Trouble::TripOff]),
    ("function-absent", &[]),
    ("model-missing", &[Trouble::ModelMissing]),
    ("contradiction", &[Trouble::Contradiction]),
    ("scale-missing", &[Trouble::ScaleMissing]),
    ("scale-absurd", &[Trouble::ScaleAbsurd]),
    ("scale-tiny", &[Trouble::NumberTooLong]),
    ("temporary", &[Trouble::Temporary]),
    ("temporary-limit", &[Trouble::ActsBeside, Trouble::PowerLimited]),
    ("temporary-factor", &[Trouble::Temporary]),
    ("under-way", &[Trouble::ChangeUnderWay, Trouble::StoredNotInForce]),
    ("change-failed", &[Trouble::StoredNotInForce, Trouble::ChangeFailed]),
    ("not-implemented", &[]),
    ("point-missing", &[Trouble::PointMissing]),
    ("damaged-text", &[Trouble::TextDamaged]),
    ("two-at-one", &[Trouble::TripPointsUnclear]),
    ("deeper-slower", &[Trouble::TripPointsUnclear]),
    ("four-stages", &[Trouble::MoreStages]),
    ("earlier-layout", &[Trouble::LayoutDoesNotFit]),
    ("many-counted", &[Trouble::LayoutDoesNotFit]),
    ("short-identity", &[]),
    ("length-0", &[Trouble::ChainBroken]),
    ("length-past-end", &[Trouble::ChainBroken]),
    ("no-end", &[Trouble::ChainBroken]),
    ("end-alone", &[]),
    ("unknown-models", &[]),
    ("twice", &[Trouble::ModelTwice, Trouble::ModelTwice]),
    ("identity-later", &[Trouble::NoIdentity]),
    ("local-control", &[Trouble::LocalControl]),
    ("power-limit", &[Trouble::PowerLimited]),
    ("power-limit-of-all", &[Trouble::ActsBeside]),
    ("power-held", &[Trouble::PowerLimited]),
    ("power-limit-not-said", &[Trouble::CodeUnknown]),
    ("older-power-limit", &[Trouble::StoredNotInForce, Trouble::PowerLimited]),
    ("set-below-rating", &[Trouble::SetBelowRating, Trouble::SetBelowRating]),
    ("categories-a-and-i", &[]),
    ("three-phase", &[]),
    ("no-settings", &[Trouble::NothingRead]),
];

fn shown(captured: &Captured, setting: &str) -> Option<String> {
    let setting = SettingId::named(setting).unwrap_or_else(|| panic!("no setting {setting}"));
    let reading = captured.reading(setting)?;
    Some(reading.known.value.show(setting))
}

#[test]
fn settings_are_read_as_they_are_in_force_or_not_at_all() {
    for (image, settings) in SETTINGS {
        let captured = captured(image, None);
        for (setting, expected) in settings {
            assert_eq!(shown(&captured, setting).as_deref(), *expected, "{image}: {setting}");
        }
    }
}

#[test]
fn every_trouble_has_its_name_and_nothing_else_is_troubled() {
    for (image, expected) in TROUBLES {
        let captured = captured(image, None);
        let kinds: Vec<Trouble> = captured.troubles.iter().map(|trouble| trouble.kind).collect();
        assert_eq!(kinds, expected, "{image}: {:?}", captured.troubles);
    }
}

/// No setting of an inverter is passed over: each was read, or is named with a reason; and none is both.
#[test]
fn what_was_not_read_is_named() {
    for (image, _) in SETTINGS.iter().map(|(image, _)| (image, ())).chain(TROUBLES.iter().map(|(image, _)| (image, ()))) {
        let captured = captured(image, None);
        for setting in SettingId::all() {
            use settings_model::catalogue::{Equipment, HeldBy};
            let is_set = setting.parameter().held_by == HeldBy::Setting && setting.function().held_by.contains(&Equipment::Inverter);
            let reasons = captured.not_read.iter().filter(|not| not.setting == setting && !not.why.is_empty()).count();
            let readings = captured.readings.iter().filter(|reading| reading.setting == setting).count();
            assert!(readings + reasons <= 1, "{image}: {setting}");
            assert!(!is_set || readings + reasons == 1, "{image}: {setting}");
        }
    }
}

#[test]
fn a_value_comes_with_its_registers_and_the_devices_resolution() {
    let captured = captured("conforming", Some(120));
    let of = |setting: &str| captured.reading(SettingId::named(setting).unwrap()).unwrap();
    let threshold = of("undervoltage-1/threshold");
    assert_eq!((threshold.from.model, threshold.from.register, &threshold.from.raw[..]), (707, 40_433, &[880][..]));
    // 0.1 % of 120 V
    assert_eq!(threshold.known.step.as_ref().unwrap().size, Exact::new(12, 2));
    let time = of("overvoltage-2/clearing-time");
    assert_eq!((time.from.register, &time.from.raw[..]), (40_495, &[0, 16][..]));
    // a thousandth per unit, as a percentage
    assert_eq!(of("over-frequency-response/droop").known.step.as_ref().unwrap().size, Exact::new(1, 1));
    let curve = of("volt-var/points").known.step.clone().unwrap();
    assert_eq!((curve.size, curve.level), (Exact::new(12, 2), Some(Exact::new(1, 1))));
    assert_eq!(of("volt-var/points").from.raw, [920, 440, 980, 0, 1020, 0, 1080, 0x10000 - 440].map(|word: u32| word as u16));
}

/// The nominal voltage of a device is told between lines on more than one phase. The same 88 % at sites of other
/// nominal voltages: per unit where the device counts from the site's own, in volts where it does not.
#[test]
fn per_cent_counts_from_the_devices_own_nominal_voltage() {
    for (image, nominal, expected, trouble) in [
        ("conforming", Some(120), "0.88 pu", None),
        ("conforming", Some(230), "105.6 V", Some(Trouble::NominalDiffers)), // 240 V split is 120 V to neutral
        ("three-phase", Some(277), "0.88 pu", None),
        ("three-phase", Some(230), "243.872754 V", Some(Trouble::NominalDiffers)), // 0.88 × 480 V / √3 = 243.872754…
        ("other-nominal", Some(120), "101.2 V", Some(Trouble::NominalDiffers)),    // 0.88 × 115 V
        ("older-only", Some(240), "0.88 pu", None),
        ("older-only", Some(120), "211.2 V", Some(Trouble::NominalDiffers)), // single phase, so 240 V to neutral
    ] {
        let captured = captured(image, nominal);
        assert_eq!(shown(&captured, "undervoltage-1/threshold").as_deref(), Some(expected), "{image} at {nominal:?}");
        let named = captured
            .troubles
            .iter()
            .map(|trouble| trouble.kind)
            .find(|kind| matches!(kind, Trouble::NominalDiffers | Trouble::NominalUnclear));
        assert_eq!(named, trouble, "{image} at {nominal:?}");
    }
}

/// A value told with √3 stands for an interval that holds the true one.
#[test]
fn what_does_not_come_out_even_is_an_interval() {
    let curve = captured("of-watts", Some(120));
    let curve = curve.reading(SettingId::named("volt-var/points").unwrap()).unwrap().known.step.clone().unwrap();
    assert!(!curve.exact, "55.7 % of 6 kW is no short percentage of 7.6 kVA");
    let captured = captured("three-phase", Some(230));
    let reading = captured.reading(SettingId::named("undervoltage-1/threshold").unwrap()).unwrap();
    let step = reading.known.step.as_ref().unwrap();
    assert!(!step.exact);
    let settings_model::value::Value::Quantity(amount) = reading.known.value else { panic!() };
    // 3 × V² is (0.88 × 480 V)² for some V within half a step
    let square = |volts: Exact| volts * volts * Exact::from(3);
    let whole = Exact::new(42_240, 2) * Exact::new(42_240, 2);
    assert!(square(amount.number - step.size.half()) < whole && whole < square(amount.number + step.size.half()));
}

#[test]
fn a_device_names_itself() {
    let identity = captured("conforming", None).identity;
    assert_eq!(identity.model.as_deref(), Some("Sedge 7600"));
    assert_eq!(identity.firmware.as_deref(), Some("4.2.1"));
    assert_eq!((identity.nameplate, identity.limited_to), (Some(Exact::from(7600)), None));
    assert_eq!(captured("conforming", None).nominal, Some(Exact::from(120)), "of 240 V split");
    assert_eq!((identity.phases, &identity.state[..]), (Some("split-phase"), &["on", "running", "connected"][..]));
    // a NUL, an 0xFF and an escape were inside
    assert_eq!(captured("damaged-text", None).identity.serial.as_deref(), Some("HF[417"));
}

#[test]
fn without_a_map_nothing_is_guessed() {
    let Err(sunspec::walk::NoMap::NotFound(tried)) = images::walked("no-map") else { panic!() };
    assert_eq!(tried.iter().map(|(at, _)| *at).collect::<Vec<_>>(), [40_000, 0, 50_000]);
}

#[test]
fn a_map_is_found_at_each_of_its_bases() {
    let bases = ["conforming", "base-0", "base-50000"].map(|image| images::walked(image).unwrap().base);
    assert_eq!(bases, [40_000, 0, 50_000]);
    let [one, other] = ["conforming", "base-0"].map(|image| captured(image, None));
    let values = |captured: &Captured| captured.readings.iter().map(|reading| (reading.setting, reading.known.clone())).collect::<Vec<_>>();
    assert_eq!(values(&one), values(&other));
}
