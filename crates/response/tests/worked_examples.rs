//! Worked values of responses, from settings as files write them to watts and vars.
//!
//! Most are plain arithmetic ("derived"), freely chosen or with parameters of national rules that
//! are from memory. Some were computed with pandapower 3.5.6, a general-purpose open library
//! (`QVCurve`, `CosphiPCurve`), and one set is printed in its own tests: each says so.
//!
//! Not expressible in the catalogue: active power that falls with voltage into charging. Its values are
//! held against a line by itself.

use response::characteristic::Circumstances;
use response::device::{Device, FrequencyBase, device};
use response::operating_point::{Cap, Conditions, OperatingPoint};
use settings_model::exact::Exact;
use settings_model::facts::{FactId, Facts};
use settings_model::files::{PercentOf, PowerBase};
use settings_model::settings::Settings;

/// A device of 10 kVA on 230 V and 50 Hz, percentages of rated apparent power.
fn holding(settings: &str, base: FrequencyBase) -> Device {
    let settings: Settings = serde_json::from_str(settings).unwrap();
    let mut facts = Facts::default();
    facts.set_number(FactId::NominalVoltage, 230.into());
    facts.set_number(FactId::Nameplate, 10_000.into());
    facts.set_number(FactId::LimitedTo, 10_000.into());
    let circumstances = Circumstances { facts: &facts, nominal_frequency: Some(Exact::from(50)) };
    let of = PercentOf { active: PowerBase::RatedApparentPower, reactive: PowerBase::RatedApparentPower, frequency_response: Some(base) };
    device(&|id| settings.get(id).map(|known| &known.value), circumstances, Some(of)).0.unwrap()
}

fn at(device: &Device, voltage: f64, frequency: f64, percent: f64) -> OperatingPoint {
    device.at(&Conditions { voltage, frequency, available: percent * 100.0, load: 0.0 })
}

/// Found against wanted, both per cent of 10 kVA, to the last digit that is printed.
fn close(found: f64, wanted: f64, digit: f64, what: &str) {
    assert!((found - wanted).abs() <= digit / 2.0 + 1e-9, "{what}: {found}, wanted {wanted}");
}

fn active(device: &Device, frequency: f64, percent: f64) -> f64 {
    at(device, 230.0, frequency, percent).active / 100.0
}

fn over(settings: &str, base: FrequencyBase) -> Device {
    holding(&format!("{{\"over-frequency-response\":{{\"state\":\"enabled\",{settings}}}}}"), base)
}

/// Derived: slope in %/Hz is 100 / (droop × nominal frequency).
#[test]
fn a_droop_is_a_slope() {
    for (droop, slope, digit) in
        [("2", 100.0, 1e-6), ("2.4", 83.33, 0.01), ("2.6", 76.92, 0.01), ("5", 40.0, 1e-6), ("10", 20.0, 1e-6), ("12", 16.67, 0.01)]
    {
        let device = over(&format!(r#""start":"50.2 Hz","droop":"{droop} %""#), FrequencyBase::Rated);
        close((100.0 - active(&device, 50.7, 100.0)) / 0.5, slope, 2.0 * digit, droop);
    }
}

/// Derived, with parameters as recalled: the European default, Great Britain, Italy.
#[test]
fn answers_to_high_frequency_from_full_output() {
    for (settings, values) in [
        (r#""start":"50.2 Hz","droop":"5 %""#, &[(50.2, 100.0), (51.2, 60.0)][..]),
        (r#""start":"50.2 Hz","droop":"5 %""#, &[(50.25, 98.0), (50.5, 88.0), (50.7, 80.0), (50.8, 76.0), (51.15, 62.0), (51.5, 48.0)]),
        (r#""start":"50.4 Hz","droop":"10 %""#, &[(50.4, 100.0), (50.45, 99.0), (50.7, 94.0), (50.8, 92.0), (51.15, 85.0), (52.0, 68.0)]),
        (r#""start":"50.2 Hz","droop":"2.6 %""#, &[(50.8, 53.85), (51.5, 0.0)]),
        (r#""start":"50.3 Hz","droop":"2.4 %""#, &[(50.8, 58.33), (51.5, 0.0)]),
    ] {
        for base in [FrequencyBase::Momentary, FrequencyBase::Rated] {
            let device = over(settings, base);
            for (frequency, percent) in values {
                close(active(&device, *frequency, 100.0), *percent, 0.01, &format!("{settings} at {frequency} Hz"));
            }
        }
    }
    // the trap: in binary 1 − (51.5 − 50.2)/(0.026 × 50) is not zero
    for settings in [r#""start":"50.2 Hz","droop":"2.6 %""#, r#""start":"50.3 Hz","droop":"2.4 %""#] {
        assert_eq!(at(&over(settings, FrequencyBase::Momentary), 230.0, 51.5, 100.0).active, 0.0);
    }
    // a droop is per cent of nominal: 1.5 Hz is 3 % of it, and 2.913 % of the 51.5 Hz that are there
    assert_eq!(active(&over(r#""start":"50 Hz","droop":"3 %""#, FrequencyBase::Rated), 51.5, 100.0), 0.0);
}

/// Derived: 70 % of rated at the crossing, 50 %/Hz from 50.25 Hz, 60 %/Hz below 49.75 Hz.
#[test]
fn of_what_the_answer_takes_its_per_cents_matters() {
    let settings = r#""start":"50.25 Hz","end":"52.25 Hz""#;
    let (rated, momentary) = (over(settings, FrequencyBase::Rated), over(settings, FrequencyBase::Momentary));
    for (frequency, percent) in [(50.25, 70.0), (50.5, 57.5), (50.75, 45.0), (51.25, 20.0), (51.65, 0.0), (51.8, 0.0)] {
        close(active(&rated, frequency, 70.0), percent, 1e-6, "rated");
    }
    for (frequency, percent) in [(50.75, 52.5), (51.25, 35.0)] {
        close(active(&momentary, frequency, 70.0), percent, 1e-6, "momentary");
    }
    // 60 %/Hz is all of rated power over 5/3 Hz
    let low = holding(r#"{"under-frequency-response":{"state":"enabled","start":"49.75 Hz","end":"48.0833333 Hz"}}"#, FrequencyBase::Rated);
    let answer = low.under_frequency.as_ref().unwrap();
    for (frequency, percent) in [(49.5, 85.0), (49.25, 100.0), (49.0, 100.0)] {
        close(answer.least(frequency, 7000.0, 10_000.0, &low) / 100.0, percent, 1e-4, "with power in reserve");
    }
    // without a reserve nothing is added, and no cap is lifted
    close(active(&low, 49.5, 70.0), 70.0, 1e-9, "no reserve");
}

#[test]
fn low_frequency_lifts_no_cap() {
    let device = holding(
        r#"{"volt-watt":{"state":"enabled","points":[["253 V","100 %"],["260 V","20 %"]]},
            "under-frequency-response":{"state":"enabled","start":"49.75 Hz","end":"48 Hz"}}"#,
        FrequencyBase::Rated,
    );
    let point = at(&device, 256.5, 48.0, 100.0);
    assert_eq!((point.active, point.held_by), (6000.0, Cap::VoltWatt));
}

/// Derived: 1.09 to 1.13 of 230 V, down to nothing: 10.870 %/V.
#[test]
fn a_steep_volt_watt() {
    let device = holding(r#"{"volt-watt":{"state":"enabled","points":[["1.09 pu","100 %"],["1.13 pu","0 %"]]}}"#, FrequencyBase::Rated);
    for (voltage, percent) in [(250.7, 100.0), (253.0, 75.0), (255.0, 53.26), (255.3, 50.0), (256.0, 42.39), (257.6, 25.0), (259.9, 0.0)] {
        close(at(&device, voltage, 50.0, 100.0).active / 100.0, percent, 0.01, &format!("{voltage} V"));
    }
}

/// pandapower's `QVCurve` (the first and the last), derived (the second); shares of the most.
#[test]
fn volt_var_between_its_points() {
    let curve = |points: [(f64, f64); 4], most: f64| {
        let points: Vec<String> = points.iter().map(|(x, y)| format!("[\"{x} pu\",\"{:.6} %\"]", y * most)).collect();
        holding(&format!("{{\"volt-var\":{{\"state\":\"enabled\",\"points\":[{}]}}}}", points.join(",")), FrequencyBase::Rated)
    };
    let check = |points, values: &[(f64, f64)]| {
        for (pu, share) in values {
            close(at(&curve(points, 40.0), pu * 230.0, 50.0, 50.0).reactive / 4000.0, *share, 1e-4, &format!("{pu} pu"));
        }
    };
    let of_germany = [(0.93, 1.0), (0.97, 0.0), (1.03, 0.0), (1.07, -1.0)];
    let values = [
        (0.93, 1.0),
        (0.95, 0.5),
        (0.96, 0.25),
        (0.97, 0.0),
        (1.03, 0.0),
        (1.04, -0.25),
        (1.05, -0.5),
        (1.06, -0.75),
        (1.07, -1.0),
        (1.08, -1.0),
    ];
    check(of_germany, &values);
    check(
        [(0.90, 1.0), (0.96, 0.0), (1.04, 0.0), (1.07, -1.0)],
        &[(0.93, 0.5), (0.96, 0.0), (1.04, 0.0), (1.05, -0.3333), (1.055, -0.5), (1.06, -0.6667), (1.07, -1.0), (1.09, -1.0)],
    );
    check([(0.90, 1.0), (0.92, 0.0), (1.08, 0.0), (1.10, -1.0)], &[(0.91, 0.5), (1.08, 0.0), (1.09, -0.5), (1.10, -1.0)]);
    // derived: the most is sin(acos 0.9) of 10 kVA
    let most = 0.9_f64.acos().sin() * 100.0;
    close(at(&curve(of_germany, most), 1.06 * 230.0, 50.0, 50.0).reactive, -3269.0, 1.0, "in vars");
}

/// Printed as bounds in pandapower's own tests (`test_der_control.py`, `test_qofv`): interpolating
/// the power factor and interpolating reactive power differ. The mid-points are derived.
#[test]
fn a_power_factor_and_vars_are_not_interpolated_alike() {
    let most = 0.9_f64.acos().tan() * 100.0;
    let vars = holding(
        &format!(
            "{{\"volt-var\":{{\"state\":\"enabled\",\"points\":[[\"0.96 pu\",\"{most:.7} %\"],[\"1 pu\",\"0 %\"],[\"1.04 pu\",\"-{most:.7} %\"]]}}}}"
        ),
        FrequencyBase::Rated,
    );
    // printed: at both ends |Q| is P × tan(acos 0.9), here with 10 kW for P
    for (pu, wanted) in [(0.93, 0.48432), (1.05, -0.48432)] {
        close(at(&vars, pu * 230.0, 50.0, 50.0).reactive / 10_000.0, wanted, 1e-5, &format!("{pu} pu"));
    }
    let share = at(&vars, 0.98 * 230.0, 50.0, 80.0).reactive / 10_000.0;
    assert!((0.20..=0.243).contains(&share));
    close(share, 0.2422, 1e-4, "vars half way");
    let factor = holding(
        r#"{"power-dependent-power-factor":{"state":"enabled","points":[["0 %",1],["100 %",0.9]],"direction":"supplying"}}"#,
        FrequencyBase::Rated,
    );
    let point = at(&factor, 230.0, 50.0, 50.0);
    let cosine = point.active / point.apparent();
    assert!((0.95 - 1e-12..=0.96).contains(&cosine));
    close(point.reactive / point.active, 0.3287, 1e-4, "power factor half way");
}

/// pandapower's `CosphiPCurve`: vars by 10 kVA.
#[test]
fn a_power_factor_that_depends_on_power() {
    for (least, values) in
        [("0.9", &[(50.0, 0.0), (60.0, -0.12184), (75.0, -0.24651), (80.0, -0.29036), (90.0, -0.38340)][..]), ("0.95", &[(75.0, -0.17093)])]
    {
        let device = holding(
            &format!(
                "{{\"power-dependent-power-factor\":{{\"state\":\"enabled\",\"points\":[[\"50 %\",1],[\"100 %\",{least}]],\"direction\":\"absorbing\"}}}}"
            ),
            FrequencyBase::Rated,
        );
        for (percent, share) in values {
            close(at(&device, 230.0, 50.0, *percent).reactive / 10_000.0, *share, 1e-5, &format!("{percent} %"));
        }
        // all of the power beside its vars is more than 10 kVA, so the last value is of what was asked
        let asked = if least == "0.9" { -0.48432 } else { -0.32868 };
        close(at(&device, 230.0, 50.0, 100.0).reactive_asked / 10_000.0, asked, 1e-5, "100 %");
    }
}

/// Derived: cos φ(P) from 40 % to 0.90 at 80 %, which begins to act above 241.5 V (1.05) and ends below
/// 225.4 V (0.98); the shape is that of CEI 0-21, from memory.
#[test]
fn a_power_factor_that_locks_in_and_out_with_voltage() {
    let device = holding(
        r#"{"power-dependent-power-factor":{"state":"enabled","points":[["40 %",1],["80 %",0.9]],"direction":"absorbing",
            "lock-in-voltage":"1.05 pu","lock-out-voltage":"0.98 pu","lock-in-power":"20 %"}}"#,
        FrequencyBase::Rated,
    );
    for (percent, factor) in [(40.0, 1.0), (50.0, 0.975), (60.0, 0.95), (70.0, 0.925), (80.0, 0.9), (90.0, 0.9)] {
        let point = at(&device, 242.0, 50.0, percent);
        close(point.active / point.apparent(), factor, 1e-9, &format!("{percent} %"));
        assert!(point.reactive <= 0.0, "it absorbs");
        assert_eq!(at(&device, 239.0, 50.0, percent).reactive, 0.0, "at 239 V it has not begun");
    }
    // up to 239 V, to 242 V, back to 230 V, down to 225.3 V; then up again with too little power
    let lock_in = device.lock_in.unwrap();
    let mut acts = false;
    let mut after = |voltage, active| {
        acts = lock_in.acts(acts, voltage, active);
        acts
    };
    let story = [(239.0, 6000.0), (242.0, 6000.0), (230.0, 6000.0), (225.4, 6000.0), (225.3, 6000.0), (242.0, 1900.0), (242.0, 2100.0)];
    assert_eq!(story.map(|(voltage, active)| after(voltage, active)), [false, true, true, true, false, false, true]);
}

/// Derived: half of rated power, falling from 250 V at 5 %/V into charging, and rising below 212 V at 5 %/V;
/// a cap of a plant without storage ends at nothing.
#[test]
fn active_power_that_falls_with_voltage_into_charging() {
    let exact = |text: &str| Exact::parse(text).unwrap();
    let points = [("202", "100"), ("212", "50"), ("250", "50"), ("260", "0"), ("280", "-100")];
    let line = response::line::Line::of(&points.map(|(x, y)| (exact(x), exact(y))).to_vec(), 1.0).unwrap();
    for (voltage, percent) in [(254.0, 30.0), (260.0, 0.0), (262.0, -10.0), (206.0, 80.0), (202.0, 100.0), (200.0, 100.0)] {
        close(line.at(voltage), percent, 1e-9, &format!("{voltage} V"));
    }
    let cap = holding(r#"{"volt-watt":{"state":"enabled","points":[["250 V","50 %"],["260 V","0 %"]]}}"#, FrequencyBase::Rated);
    for (voltage, percent) in [(254.0, 30.0), (260.0, 0.0), (262.0, 0.0)] {
        close(at(&cap, voltage, 50.0, 50.0).active / 100.0, percent, 1e-9, &format!("{voltage} V, no storage"));
    }
}

/// Derived: at full output P/pf(P) has to fit 10 kVA, so P = 1.1 − 0.2 P: both are 0.91667.
#[test]
fn at_full_apparent_power_a_power_factor_comes_down_along_its_own_line() {
    let device = holding(
        r#"{"power-dependent-power-factor":{"state":"enabled","points":[["50 %",1],["100 %",0.9]],"direction":"absorbing"},"power-priority":{"first":"reactive-power"}}"#,
        FrequencyBase::Rated,
    );
    let point = at(&device, 230.0, 50.0, 100.0);
    close(point.active, 9166.667, 0.001, "active power");
    close(point.apparent(), 10_000.0, 1e-3, "apparent power");
    assert_eq!(point.held_by, Cap::ReactivePower);
}

/// Derived: 50 % nothing, 90 % −45 %; the corner itself lies just outside 10 kVA (1.0062).
#[test]
fn reactive_power_that_depends_on_power() {
    let holds = |priority: &str| {
        holding(
            &format!(
                r#"{{"watt-var":{{"state":"enabled","points":[["50 %","0 %"],["90 %","-45 %"]]}},"power-priority":{{"first":"{priority}"}}}}"#
            ),
            FrequencyBase::Rated,
        )
    };
    for (percent, vars) in [(50.0, 0.0), (60.0, -11.25), (70.0, -22.5)] {
        close(at(&holds("reactive-power"), 230.0, 50.0, percent).reactive / 100.0, vars, 1e-6, "vars");
    }
    let corner = at(&holds("active-power"), 230.0, 50.0, 90.0);
    close(corner.active, 9000.0, 1e-9, "active power is kept");
    close(corner.reactive, -(1e8_f64 - 81e6).sqrt(), 1e-6, "43.59 % is what fits beside 90 %");
    let corner = at(&holds("reactive-power"), 230.0, 50.0, 90.0);
    close(corner.apparent(), 10_000.0, 1e-3, "it fits");
    close(corner.reactive / 100.0, -(corner.active / 100.0 - 50.0) * 45.0 / 40.0, 1e-6, "and lies on its line");
}

/// Derived: sin(acos) is of apparent power, tan(acos) of active power.
#[test]
fn a_fixed_power_factor_in_vars() {
    for (factor, of_apparent, of_active) in [("0.95", 31.22, 32.87), ("0.9", 43.59, 48.43), ("0.85", 52.68, 61.97), ("0.7", 71.41, 102.02)]
    {
        let device = holding(
            &format!(
                r#"{{"fixed-power-factor":{{"state":"enabled","power-factor":{factor},"direction":"absorbing"}},"power-priority":{{"first":"reactive-power"}}}}"#
            ),
            FrequencyBase::Rated,
        );
        close(-at(&device, 230.0, 50.0, 100.0).reactive / 100.0, of_apparent, 0.01, factor);
        let part = at(&device, 230.0, 50.0, 50.0);
        close(-part.reactive / part.active * 100.0, of_active, 0.01, factor);
    }
}

/// A capability is a cap of its own, whatever asks for more; a generation limit is of apparent power.
#[test]
fn caps_of_their_own() {
    let device = holding(
        r#"{"volt-var":{"state":"enabled","points":[["240 V","0 %"],["258 V","-60 %"]]},"reactive-capability":{"absorbing":"44 %","supplying":"44 %"},
            "generation-limit":{"state":"enabled","soft":"8 kVA"},"power-priority":{"first":"reactive-power"}}"#,
        FrequencyBase::Rated,
    );
    let point = at(&device, 258.0, 50.0, 100.0);
    assert_eq!((point.reactive_asked, point.reactive), (-6000.0, -4400.0));
    close(point.apparent(), 8000.0, 1e-6, "8 kVA");
    assert_eq!(at(&device, 230.0, 50.0, 100.0).held_by, Cap::GenerationLimit);
}

/// The number entered on a device that counts each phase is allowed on every phase of the site.
#[test]
fn an_export_limit_counted_on_each_phase_lets_three_times_as_much_out() {
    let settings: Settings =
        serde_json::from_str(r#"{"export-limit":{"state":"enabled","site-total":"2 kW","counts":"each-phase"}}"#).unwrap();
    let mut facts = Facts::default();
    facts.set_number(FactId::LimitedTo, 10_000.into());
    facts.set_number(FactId::Phases, 3.into());
    let circumstances = Circumstances { facts: &facts, nominal_frequency: None };
    let (device, _) = device(&|id| settings.get(id).map(|known| &known.value), circumstances, None);
    assert_eq!(at(&device.unwrap(), 230.0, 50.0, 100.0).active, 6000.0);
}
