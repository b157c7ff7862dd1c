//! Inverters that share cables settle together.

use num_complex::Complex64;
use proptest::prelude::*;
use response::device::{Device, ReactiveMode};
use response::line::Line;
use response::network::settle::SupplyConditions;
use response::network::{Cable, Feeds, Impedance, Network, Placed};
use response::operating_point::Cap;
use response::supply::{NoPoint, Supply};

fn line(points: &[(i64, i64)], scale: f64) -> Line {
    Line::of(&points.iter().map(|(x, y)| ((*x).into(), (*y).into())).collect(), scale).unwrap()
}

fn answering(apparent: f64, steep: i64) -> Device {
    let of = apparent / 100.0;
    Device {
        volt_watt: Some(line(&[(253, 100), (253 + steep, 20)], of)),
        reactive: ReactiveMode::VoltVar(line(&[(207, 44), (220, 0), (240, 0), (240 + 2 * steep, -60)], of)),
        ..Device::bare(apparent)
    }
}

fn ohms(resistance: f64, reactance: f64, behind: Option<usize>) -> Cable {
    let conductor = Impedance { resistance, reactance };
    Cable { behind, line: conductor, neutral: conductor }
}

fn supply(voltage: f64) -> SupplyConditions {
    SupplyConditions { voltage, frequency: 50.0, load: 0.0 }
}

#[test]
fn one_inverter_settles_as_it_does_behind_one_impedance() {
    for (feeds, phases, factor) in [(Feeds::One(0), 1.0, 2.0), (Feeds::One(2), 1.0, 2.0), (Feeds::Three, 3.0, 1.0)] {
        let device = answering(8000.0, 7);
        let network = Network {
            cables: vec![ohms(0.2, 0.05, None), ohms(0.1, 0.01, Some(0))],
            inverters: vec![Placed { device: device.clone(), cable: Some(1), feeds }],
        };
        let alone = Supply { voltage: 246.0, resistance: 0.3 * factor, reactance: 0.06 * factor, phases };
        let conditions = response::operating_point::Conditions { voltage: 0.0, frequency: 50.0, available: 8000.0, load: 0.0 };
        let (one, other) = (alone.settle(&device, &conditions).unwrap(), network.settle(&supply(246.0), &[8000.0]).unwrap().inverters[0]);
        assert!((one.voltage - other.voltage).abs() < 1e-8 && (one.point.active - other.point.active).abs() < 1e-5);
        assert!((one.loop_gain - other.loop_gain).abs() < 0.02, "{one:?} {other:?}");
    }
}

/// What the others do alike: two on one cable are one of twice the size.
#[test]
fn two_alike_settle_alike() {
    let two = Network {
        cables: vec![ohms(0.2, 0.05, None)],
        inverters: vec![Placed { device: answering(5000.0, 7), cable: Some(0), feeds: Feeds::One(0) }; 2],
    };
    let one = Network { inverters: vec![Placed { device: answering(10_000.0, 7), cable: Some(0), feeds: Feeds::One(0) }], ..two.clone() };
    let (two, one) = (two.settle(&supply(248.0), &[5000.0; 2]).unwrap(), one.settle(&supply(248.0), &[10_000.0]).unwrap());
    for settled in two.inverters {
        assert!((settled.voltage - one.inverters[0].voltage).abs() < 1e-7);
        assert!((settled.point.active * 2.0 - one.inverters[0].point.active).abs() < 1e-3);
        // a gain counts both
        assert!((settled.loop_gain - one.inverters[0].loop_gain).abs() < 1e-6);
    }
}

/// Plain arithmetic: the site may let out 6 kW and its inverters together could give 10 kW.
#[test]
fn an_export_limit_is_shared() {
    let limited = |apparent: f64| Device { export_limit: Some(6000.0), ..Device::bare(apparent) };
    let placed = |apparent| Placed { device: limited(apparent), cable: None, feeds: Feeds::One(0) };
    let mut network = Network { cables: Vec::new(), inverters: vec![placed(5000.0), placed(5000.0)] };
    let settled = network.settle(&supply(240.0), &[5000.0, 5000.0]).unwrap().inverters;
    assert!(settled.iter().all(|one| (one.point.active - 3000.0).abs() < 1e-3 && one.point.held_by == Cap::ExportLimit));
    // what the site uses itself may be given besides
    let with_load = network.settle(&SupplyConditions { load: 2000.0, ..supply(240.0) }, &[5000.0, 5000.0]).unwrap().inverters;
    assert!(with_load.iter().all(|one| (one.point.active - 4000.0).abs() < 1e-3));
    // one without a limit leaves the other what remains
    network.inverters[1].device.export_limit = None;
    let settled = network.settle(&supply(240.0), &[5000.0, 5000.0]).unwrap().inverters;
    assert!((settled[0].point.active - 1000.0).abs() < 1e-3 && settled[1].point.active == 5000.0);
}

/// Plain arithmetic: of three single-phase units with one off, each of the others shares its neutral.
#[test]
fn a_phase_that_is_off_loads_the_neutral() {
    let on = |phase| Placed { device: Device::bare(5000.0), cable: Some(0), feeds: Feeds::One(phase) };
    let network = Network { cables: vec![ohms(0.2, 0.0, None)], inverters: vec![on(0), on(1), on(2)] };
    let all = network.settle(&supply(240.0), &[5000.0; 3]).unwrap();
    let one_off = network.settle(&supply(240.0), &[5000.0, 5000.0, 0.0]).unwrap();
    let balanced = Supply { voltage: 240.0, resistance: 0.2, reactance: 0.0, phases: 3.0 }.terminal(15_000.0, 0.0).unwrap();
    assert!(all.inverters.iter().all(|one| (one.voltage - balanced).abs() < 1e-7));
    // two thirds of a period apart they leave a whole current in the neutral
    assert!(one_off.inverters[0].voltage > all.inverters[0].voltage + 1.0);
    assert!(one_off.inverters[2].voltage < 240.0);
    assert!((network.voltage_at(0, 0, &one_off) - one_off.inverters[0].voltage).abs() < 1e-7);
}

/// Voltages at the terminals with these powers, found in another way: sweeping from the supply and
/// back with every power as it is, all inverters on one phase or all on three.
fn swept(network: &Network, supply: f64, phases: f64, powers: &[(f64, f64)]) -> Vec<Complex64> {
    let factor = if phases == 1.0 { 2.0 } else { 1.0 };
    let impedance = |one: usize, other: usize| -> Complex64 {
        let (one, other) = (network.path(network.inverters[one].cable), network.path(network.inverters[other].cable));
        let shared = one.iter().filter(|cable| other.contains(cable)).map(|cable| network.cables[*cable].line);
        shared.map(|line| Complex64::new(line.resistance, line.reactance) * factor).sum()
    };
    let mut voltages = vec![Complex64::from(supply); powers.len()];
    for _ in 0..400 {
        let currents: Vec<Complex64> =
            voltages.iter().zip(powers).map(|(voltage, (p, q))| (Complex64::new(*p, *q) / (voltage * phases)).conj()).collect();
        voltages =
            (0..powers.len()).map(|n| (0..powers.len()).map(|m| impedance(n, m) * currents[m]).sum::<Complex64>() + supply).collect();
    }
    voltages
}

/// How many random sites; `ASLEFT_SITES=100000` takes a minute.
fn sites() -> u32 {
    std::env::var("ASLEFT_SITES").ok().and_then(|sites| sites.parse().ok()).unwrap_or(3_000)
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(sites()) })]

    /// Weak supplies, steep curves, up to six inverters behind a shared segment: a point is found, and
    /// its powers really bring the terminals there.
    #[test]
    fn all_settle_together(
        voltage in 216.0..253.0f64,
        (resistance, reactance) in (0.0..0.5f64, 0.0..0.2f64),
        branches in proptest::collection::vec((0.0..0.15f64, 0.0..0.05f64, 1_000.0..8_000.0f64, 0.0..1.2f64), 1..6),
        steep in 1i64..20,
        three in any::<bool>(),
    ) {
        let feeds = if three { Feeds::Three } else { Feeds::One(1) };
        let mut network = Network { cables: vec![ohms(resistance, reactance, None)], inverters: Vec::new() };
        for (r, x, apparent, _) in &branches {
            network.cables.push(ohms(*r, *x, Some(0)));
            network.inverters.push(Placed { device: answering(*apparent, steep), cable: Some(network.cables.len() - 1), feeds });
        }
        let available: Vec<f64> = branches.iter().map(|(_, _, apparent, share)| apparent * share).collect();
        match network.settle(&supply(voltage), &available) {
            Ok(settlement) => {
                let powers: Vec<(f64, f64)> = settlement.inverters.iter().map(|one| (one.point.active, one.point.reactive)).collect();
                let swept = swept(&network, voltage, if three { 3.0 } else { 1.0 }, &powers);
                for (one, swept) in settlement.inverters.iter().zip(swept) {
                    prop_assert!((one.voltage - swept.norm()).abs() < 1e-4, "{} against {}", one.voltage, swept.norm());
                }
            }
            Err(no) => prop_assert_eq!(no, NoPoint::TooWeak),
        }
    }

    /// Single-phase units anywhere on three phases, beside three-phase ones.
    #[test]
    fn mixed_phases_settle_too(
        voltage in 225.0..250.0f64,
        (resistance, neutral) in (0.0..0.4f64, 0.0..0.4f64),
        units in proptest::collection::vec((0usize..4, 1_000.0..6_000.0f64, 0.0..1.2f64), 1..6),
        steep in 2i64..20,
    ) {
        let cable = Cable {
            behind: None,
            line: Impedance { resistance, reactance: resistance / 5.0 },
            neutral: Impedance { resistance: neutral, reactance: neutral / 5.0 },
        };
        let placed = |(phase, apparent, _): &(usize, f64, f64)| Placed {
            device: answering(*apparent, steep),
            cable: Some(0),
            feeds: if *phase == 3 { Feeds::Three } else { Feeds::One(*phase) },
        };
        let network = Network { cables: vec![cable], inverters: units.iter().map(placed).collect() };
        let available: Vec<f64> = units.iter().map(|(_, apparent, share)| apparent * share).collect();
        let settlement = network.settle(&supply(voltage), &available);
        prop_assert!(settlement.is_ok(), "{settlement:?}");
        let settlement = settlement.unwrap();
        for (one, placed) in settlement.inverters.iter().zip(&network.inverters) {
            let at = |phase| network.voltage_at(0, phase, &settlement);
            let there = match placed.feeds {
                Feeds::One(phase) => at(phase),
                Feeds::Three => (0..3).map(at).fold(0.0, f64::max),
            };
            prop_assert!((one.voltage - there).abs() < 1e-6);
            let again = placed.device.at(&response::operating_point::Conditions { voltage: one.voltage, frequency: 50.0, available: f64::INFINITY, load: 0.0 });
            prop_assert!(one.point.active <= again.active + 1e-6);
        }
    }
}
