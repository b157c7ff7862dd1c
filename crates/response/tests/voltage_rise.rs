//! Voltage rise by the simple method, against values worked by hand.
//!
//! The values are derived, no authority claimed: V = I × L × Vc with the millivolts of a three-phase
//! table as recalled from AS/NZS 3008.1.1 (copper, 75 °C; from memory), 1.155 between the three-phase
//! and the single-phase figure. Here that factor is 2/√3, so the last digit may differ by 0.03 %.

use response::device::Device;
use response::network::{Cable, Feeds, Impedance, Network, Placed};

/// A route of so many metres with the three-phase figure of a table, in mV/A·m.
fn cable(millivolts: f64, metres: f64) -> Cable {
    let conductor = Impedance { resistance: millivolts / 3.0_f64.sqrt() * metres / 1000.0, reactance: 0.0 };
    Cable { behind: None, line: conductor, neutral: conductor }
}

fn rise(cable: Cable, feeds: Feeds, amperes: f64) -> f64 {
    let placed = Placed { device: Device::bare(5000.0), cable: Some(0), feeds };
    let network = Network { cables: vec![cable], inverters: vec![placed] };
    let rise = network.simple_rise(0, &[amperes])[0].1;
    // a table speaks of three phases from line to line
    if feeds == Feeds::Three { rise * 3.0_f64.sqrt() } else { rise }
}

fn close(found: f64, wanted: f64, what: &str) {
    assert!((found - wanted).abs() <= wanted * 3e-4 + 5e-4, "{what}: {found}, wanted {wanted}");
}

#[test]
fn worked_rises() {
    const ONE: Feeds = Feeds::One(0);
    const THREE: Feeds = Feeds::Three;
    for (id, feeds, amperes, metres, millivolts, volts, percent) in [
        ("D1", ONE, 21.74, 18.0, 9.71, 4.389, 1.908),
        ("D2", ONE, 21.74, 18.5, 9.71, 4.511, 1.961),
        ("D3", ONE, 21.74, 19.0, 9.71, 4.632, 2.014),
        ("D4", ONE, 21.74, 20.0, 9.71, 4.876, 2.120),
        ("D5", ONE, 43.48, 20.0, 3.86, 3.877, 1.686),
        ("D6", ONE, 43.48, 25.0, 3.86, 4.846, 2.107),
        ("D7", ONE, 13.04, 25.0, 15.6, 5.874, 2.554),
        ("D8", THREE, 43.30, 40.0, 3.86, 6.686, 1.671),
        ("D9", THREE, 21.65, 30.0, 9.71, 6.307, 1.577),
        ("D10", THREE, 14.43, 35.0, 15.6, 7.879, 1.970),
        ("D11", THREE, 28.0, 46.0, 9.71, 12.506, 3.127),
        ("D12", ONE, 5.0, 26.0, 28.6, 4.294, 1.867),
        ("D13", ONE, 15.0, 15.0, 9.71, 2.523, 1.097),
        ("D14", THREE, 15.0, 10.0, 9.71, 1.457, 0.364),
    ] {
        let found = rise(cable(millivolts, metres), feeds, amperes);
        close(found, volts, id);
        let base = if feeds == THREE { 400.0 } else { 230.0 };
        close(found / base * 100.0, percent, id);
    }
}

/// D3: the same rise passes 2 % of 230 V and not that of 240 V.
#[test]
fn the_base_flips_a_verdict() {
    let found = rise(cable(9.71, 19.0), Feeds::One(0), 21.74);
    assert!(found / 230.0 > 0.02 && found / 240.0 < 0.02);
}

/// D15: 20 A over 24 m, at most 2.83 V: a three-phase figure of 5.105 mV/A·m; 10 mm² gives 2.140 V.
#[test]
fn the_conductor_that_fits() {
    close(2.83 * 1000.0 / (20.0 * 24.0) / 1.155, 5.105, "D15");
    close(rise(cable(5.105, 24.0), Feeds::One(0), 20.0), 2.83, "D15");
    close(rise(cable(3.86, 24.0), Feeds::One(0), 20.0), 2.140, "D15");
}

/// D16 from ohms per kilometre, D17 from resistivity: out and back.
#[test]
fn from_resistance() {
    let of = |ohms: f64| {
        let conductor = Impedance { resistance: ohms, reactance: 0.0 };
        Cable { behind: None, line: conductor, neutral: conductor }
    };
    close(rise(of(0.927 * 15.0 / 1000.0), Feeds::Three, 123.6), 2.977, "D16");
    let found = rise(of(0.0175 * 43.0 / 2.5), Feeds::One(0), 1000.0 / 230.0);
    close(found, 2.617, "D17");
    close(found / 230.0 * 100.0, 1.138, "D17");
}

/// D18: 100 kVA at 400 V, with √3 and not 1.73.
#[test]
fn a_three_phase_current() {
    close(100_000.0 / (3.0_f64.sqrt() * 400.0), 144.34, "D18");
    close(100_000.0 / 3.0 / (400.0 / 3.0_f64.sqrt()), 144.34, "D18");
}

/// Plain arithmetic: what shares a cable adds up there.
#[test]
fn inverters_on_a_shared_segment_add_up() {
    let ohms = |ohms: f64, behind| {
        let conductor = Impedance { resistance: ohms, reactance: 0.0 };
        Cable { behind, line: conductor, neutral: conductor }
    };
    let on = |cable, phase| Placed { device: Device::bare(5000.0), cable: Some(cable), feeds: Feeds::One(phase) };
    let network = |phases: [usize; 3]| Network {
        cables: vec![ohms(0.05, None), ohms(0.1, Some(0))],
        inverters: vec![on(1, phases[0]), on(0, phases[1]), on(0, phases[2])],
    };
    let rises = |phases| network(phases).simple_rise(0, &[10.0, 20.0, 20.0]).into_iter().map(|(_, volts)| volts).collect::<Vec<_>>();
    // all on one phase: 50 A out and back through 0.05 ohm, then 10 A through 0.1 ohm
    assert_eq!(rises([0, 0, 0]), [5.0, 2.0]);
    // one on each phase: what the others leave of 10 A in the neutral is 10 − 10 − 10 along the first
    let spread = rises([0, 1, 2]);
    assert!((spread[0] - 0.05 * (10.0 - 10.0)).abs() < 1e-12 && spread[1] == 2.0, "{spread:?}");
    assert_eq!(network([0, 0, 0]).simple_current(0, 0, &[10.0, 20.0, 20.0]), 50.0);
    assert_eq!(network([0, 1, 2]).simple_current(0, 1, &[10.0, 20.0, 20.0]), 20.0);
}
