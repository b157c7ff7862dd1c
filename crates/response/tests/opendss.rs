//! Where inverters settle, against OpenDSS: `tests/outside/operating_points.py` says how its circuits
//! were told, and what is its own.

use response::device::{Device, Priority, ReactiveMode};
use response::line::Line;
use response::network::settle::SupplyConditions;
use response::network::{Cable, Feeds, Impedance, Network, Placed};
use serde_json::Value as Json;
use settings_model::exact::Exact;

fn circuits() -> Vec<Json> {
    let file = concat!(env!("CARGO_MANIFEST_DIR"), "/../../tests/outside/operating-points.json");
    let whole: Json = serde_json::from_str(&std::fs::read_to_string(file).unwrap()).unwrap();
    whole["circuits"].as_array().unwrap().clone()
}

fn line(points: &Json, scale: f64) -> Line {
    let exact = |number: &Json| Exact::parse(&number.to_string()).unwrap();
    Line::of(&points.as_array().unwrap().iter().map(|point| (exact(&point[0]), exact(&point[1]))).collect(), scale).unwrap()
}

fn device(site: &Json) -> Device {
    let apparent = site["kva"].as_f64().unwrap() * 1000.0;
    let of = |function: &str, scale| site["functions"].get(function).map(|points| line(points, scale));
    let by_voltage = of("volt-var", apparent / 100.0).map(ReactiveMode::VoltVar);
    let by_power = of("watt-var", apparent / 100.0).map(|line| ReactiveMode::VarByPower(line.stretched(apparent / 100.0)));
    Device {
        volt_watt: of("volt-watt", apparent / 100.0),
        reactive: by_voltage.or(by_power).unwrap_or(ReactiveMode::Unity),
        priority: if site["first"] == "active" { Priority::Active } else { Priority::Reactive },
        ..Device::bare(apparent)
    }
}

fn network(circuit: &Json) -> Network {
    let impedance = |cable: &Json| Impedance { resistance: cable[0].as_f64().unwrap(), reactance: cable[1].as_f64().unwrap() };
    let cables = circuit["cables"].as_array().unwrap();
    let inverters = circuit["inverters"].as_array().unwrap();
    let four_wires = circuit["kind"] == "four-wires";
    // a single-phase line of the reference is told out and back
    let whole = |cable: &Json, behind| Cable { behind, line: impedance(cable), neutral: Impedance::default() };
    let feeds = |site: &Json| match (site["phases"].as_u64(), site["on"].as_u64()) {
        (Some(3), _) => Feeds::Three,
        (_, on) => Feeds::One(on.map_or(0, |on| on as usize - 1)),
    };
    let cables = match four_wires {
        true => vec![Cable { behind: None, line: impedance(&cables[0]), neutral: impedance(&cables[1]) }],
        false => cables.iter().enumerate().map(|(n, cable)| whole(cable, (n > 0).then_some(0))).collect(),
    };
    let at = |n: usize| if circuit["kind"] == "shared" { n + 1 } else { 0 };
    let placed = inverters.iter().enumerate().map(|(n, site)| Placed { device: device(site), cable: Some(at(n)), feeds: feeds(site) });
    Network { cables, inverters: placed.collect() }
}

/// Whether reactive power that follows active power meets the apparent-power limit. There OpenDSS ends
/// on its curve but inside the limit, whichever kind of power comes first; by our order active power
/// first leaves no vars, and reactive power first ends where curve and limit meet.
fn is_its_own_affair(site: &Json) -> bool {
    site["functions"].get("watt-var").is_some() && site["available"] == 1.0
}

/// Within 0.05 V, and 0.2 % of the rating of each inverter.
#[test]
fn inverters_settle_where_opendss_says() {
    let (mut compared, mut left_out, mut apart) = (0, 0, Vec::new());
    for circuit in circuits() {
        let network = network(&circuit);
        let supply = SupplyConditions { voltage: circuit["supply"].as_f64().unwrap(), frequency: 50.0, load: 0.0 };
        let inverters = circuit["inverters"].as_array().unwrap();
        let available: Vec<f64> =
            inverters.iter().map(|site| site["available"].as_f64().unwrap() * site["kva"].as_f64().unwrap() * 1000.0).collect();
        let settlement = network.settle(&supply, &available).unwrap();
        for ((found, wanted), site) in settlement.inverters.iter().zip(circuit["settled"].as_array().unwrap()).zip(inverters) {
            if is_its_own_affair(site) {
                left_out += 1;
                continue;
            }
            let most = site["kva"].as_f64().unwrap() * 1000.0 * 0.002;
            let off = |found: f64, key: &str| (found - wanted[key].as_f64().unwrap()).abs();
            let off = [off(found.voltage, "volts"), off(found.point.active, "watts"), off(found.point.reactive, "vars")];
            compared += 1;
            if off[0] > 0.05 || off[1] > most || off[2] > most {
                apart.push(format!("{off:?} {found:?}\n  {circuit}"));
            }
        }
    }
    assert_eq!((compared, left_out), (194, 16));
    assert!(apart.is_empty(), "{} of {compared} apart:\n{}", apart.len(), apart.join("\n"));
}
