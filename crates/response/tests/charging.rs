//! An export limit beside the site's own use, and storage that charges, over time: plain arithmetic.
//! The curves are those of AS/NZS 4777.2:2020, Australia A (from memory).

use crate::drilled;

use drilled::{S, stage};
use response::device::{Device, FrequencyAnswer, FrequencyBase};
use response::line::Line;
use response::operating_point::Cap;
use response::timeline::{Cause, Energy, Player, Protection, Reconnection, Sample, Side, Values, Watched};
use settings_model::exact::Exact;

fn line(points: &[(&str, &str)], scale: f64) -> Line {
    let exact = |text: &&str| Exact::parse(text).unwrap();
    Line::of(&points.iter().map(|(x, y)| (exact(x), exact(y))).collect(), scale).unwrap()
}

/// An hour of one value, a row each second: voltage, frequency, available, load. Both devices, in kilowatt-hours.
fn hour(device: &Device, protection: &Protection, in_service: bool, value: [f64; 4]) -> [Energy; 2] {
    let [voltage, frequency, available, load] = value;
    let mut player = Player::new(device, protection, Some(in_service), Values { phases: 1, are_means: false, prove_means: true });
    for second in 0..=3600 {
        player.push(Sample { at: second * S, voltage: [voltage, f64::NAN, f64::NAN], frequency, available, load });
    }
    player.energy()
}

fn kilowatt_hours(energy: f64) -> f64 {
    (energy / 3.6e12 * 1e6).round() / 1e6
}

#[test]
fn an_export_limit_is_held_as_net_flow() {
    let device = Device { export_limit: Some(5_000.0), ..Device::bare(10_000.0) };
    // kilowatts available and used, kilowatt-hours given; what is used is nothing by itself
    for (available, load, given) in
        [(9.0, 0.0, 5.0), (9.0, 2.5, 7.5), (9.0, 6.0, 9.0), (4.9, 2.5, 4.9), (4.5, -1.0, 4.0), (9.0, -7.0, 0.0), (9.0, f64::NAN, 5.0)]
    {
        for energy in hour(&device, &Protection::default(), true, [230.0, 50.0, available * 1e3, load * 1e3]) {
            assert_eq!(kilowatt_hours(energy.given), given, "{available} {load}");
            let lost = energy.lost.get(&Cause::Cap(Cap::ExportLimit)).map_or(0.0, |lost| kilowatt_hours(lost.energy));
            assert_eq!(lost, kilowatt_hours(energy.available) - given, "{available} {load}");
        }
    }
}

fn storage() -> Device {
    let answer = |points: &[(&str, &str)], start| FrequencyAnswer {
        line: line(points, 1.0),
        start,
        hysteresis: 0.0,
        hold: 0.0,
        of: FrequencyBase::Momentary,
    };
    Device {
        stores: true,
        volt_watt_charging: Some(line(&[("207", "20"), ("215", "100")], 100.0)),
        over_frequency: Some(answer(&[("50.25", "100"), ("50.75", "0"), ("52", "-100")], 50.25)),
        under_frequency: Some(answer(&[("48", "100"), ("49", "0"), ("49.75", "-100")], 49.75)),
        ..Device::bare(10_000.0)
    }
}

#[test]
fn storage_charges_by_its_own_curves() {
    let held_back = |voltage, frequency, wanted: f64| {
        let [one, other] = hour(&storage(), &Protection::default(), true, [voltage, frequency, -wanted * 1e3, f64::NAN]);
        assert_eq!(one, other);
        assert_eq!((one.available, one.given, kilowatt_hours(one.wanted)), (0.0, 0.0, wanted));
        let lost: Vec<_> = one.lost.iter().map(|(cause, lost)| (*cause, kilowatt_hours(lost.energy))).collect();
        (kilowatt_hours(one.charged), lost)
    };
    assert_eq!(held_back(230.0, 50.0, 9.0), (9.0, vec![]));
    assert_eq!(held_back(211.0, 50.0, 9.0), (6.0, vec![(Cause::Charging(Cap::VoltWatt), 3.0)]));
    assert_eq!(held_back(211.0, 50.0, 5.0), (5.0, vec![]));
    assert_eq!(held_back(200.0, 50.0, 9.0), (2.0, vec![(Cause::Charging(Cap::VoltWatt), 7.0)]));
    assert_eq!(held_back(230.0, 49.375, 9.0), (5.0, vec![(Cause::Charging(Cap::Frequency), 4.0)]));
    // it gives then, which no log says; it charges nothing
    assert_eq!(held_back(230.0, 48.5, 9.0), (0.0, vec![(Cause::Charging(Cap::Frequency), 9.0)]));
    // high frequency asks for more charging, never for less
    assert_eq!(held_back(230.0, 50.5, 9.0), (9.0, vec![]));
    assert_eq!(held_back(230.0, 51.375, 3.0), (5.0, vec![]));
    assert_eq!(held_back(230.0, 50.0, 12.0), (10.0, vec![(Cause::Charging(Cap::RatedActive), 2.0)]));
}

/// Solar that takes a little at night charges nothing, and loses nothing.
#[test]
fn what_a_source_takes_itself_is_no_charging() {
    for energy in hour(&Device::bare(10_000.0), &Protection::default(), true, [230.0, 50.0, -20.0, f64::NAN]) {
        assert_eq!(energy, Energy::default());
    }
}

/// Off, nothing is charged: that counts as time and not as energy that was not given. Back on, charging
/// comes up the same ramp, which counts by itself.
#[test]
fn charging_waits_and_ramps_as_giving_does() {
    let reconnection = Reconnection { observation: [600 * S; 2], ramp: 600 * S, ..Reconnection::default() };
    let stage = stage("overvoltage-1", Watched::AnyPhase, Side::Above, 265.0, [1.0, 2.0]);
    let protection = Protection { stages: vec![stage], reconnection, ..Protection::default() };
    for energy in hour(&storage(), &protection, false, [230.0, 50.0, -10_000.0, f64::NAN]) {
        // 10 min off, 10 min at half on the average, 40 min at all
        assert!((energy.charged / 3.6e12 - 10.0 * (5.0 + 40.0) / 60.0).abs() < 1e-3, "{energy:?}");
        let [start, ramp] = [Cause::Start, Cause::Ramp].map(|cause| &energy.lost[&cause]);
        assert_eq!((start.energy, start.lasted, ramp.lasted), (0.0, 600 * S, 600 * S));
    }
}
