//! What displays leave open: a time under another meaning than the one that is asked for, and the step
//! between two values that can be shown.

use crate::judged_site;

use judged_site::{IEEE, STANDARD, of_one_inverter};
use rules::provenance::Verdict;

/// What a site of one inverter comes to, and the names of its findings.
fn judged(standard: [&str; 2], device: &str, left: &str) -> (Verdict, Vec<&'static str>) {
    let came = judged_site::judged(&of_one_inverter(standard, device, left));
    (came.verdict, came.findings.iter().map(|finding| finding.name).collect())
}

/// AS/NZS asks for a delay of 1 s to under 2 s and to be off by 2 s (from memory). A clearing time bounds
/// the delay from above, and no region stands for it.
#[test]
fn a_clearing_time_bounds_the_delay_from_above() {
    for (time, verdict, names) in [
        ("0.9 s", Verdict::DoesNotComply, vec!["too-low"]),
        ("1 s", Verdict::DoesNotComply, vec!["too-low"]),
        ("1.000001 s", Verdict::NotProven, vec!["own-time-unknown"]),
        ("2 s", Verdict::NotProven, vec!["own-time-unknown"]),
        ("2.000001 s", Verdict::DoesNotComply, vec!["too-high"]),
    ] {
        let left = format!("settings: {{ overvoltage-1: {{ threshold: 265 V, clearing-time: {time} }} }}");
        assert_eq!(judged(STANDARD, "phases: 1", &left), (verdict, names), "{time}");
    }
}

/// Below 0.2 s is asked (from memory): a clearing time of 0.2 s shows it.
#[test]
fn a_clearing_time_may_prove_that_a_delay_is_short_enough() {
    for (time, verdict) in [("0.2 s", Verdict::Complies), ("0.21 s", Verdict::DoesNotComply)] {
        let left = format!("settings: {{ overvoltage-2: {{ threshold: 275 V, clearing-time: {time} }} }}");
        assert_eq!(judged(STANDARD, "phases: 1", &left).0, verdict, "{time}");
    }
}

/// IEEE 1547 asks for clearing times: 13 s is the default of overvoltage 1 in category III (published by
/// EPRI and NREL, see the profile). A delay bounds it from below.
#[test]
fn a_delay_bounds_the_clearing_time_from_below() {
    for (time, verdict) in [("12.9 s", Verdict::NotProven), ("13 s", Verdict::DoesNotComply), ("14 s", Verdict::DoesNotComply)] {
        let left = format!("settings: {{ overvoltage-1: {{ definite-delay: {time} }} }}");
        assert_eq!(judged(IEEE, "phases: 1", &left).0, verdict, "{time}");
    }
}

/// A stage that is off has no time.
#[test]
fn a_stage_that_is_off_is_one_finding_whatever_its_times() {
    let left = "settings: { overvoltage-1: { state: off, clearing-time: 1 s } }";
    assert_eq!(judged(STANDARD, "phases: 1", left).1, ["wrong-state"]);
}

/// The Fernhill K shows the ramp rate in whole per cent and holds more (invented): 17 is what 16.67 looks
/// like. What a program read has no such excuse, nor has a device whose map is not known.
#[test]
fn the_displays_step_is_taken_from_its_label_map() {
    let fernhill = "model: Fernhill K6\n    firmware: 2.4.1";
    let other_firmware = "model: Fernhill K6\n    firmware: 3.0.0";
    let stated = |rate: &str, known: &str| format!("settings: {{ reconnection: {{ ramp-rate: {{ value: {rate}, known-by: {known} }} }} }}");
    for (device, left, verdict) in [
        (fernhill, stated("17 %/min", "display"), Verdict::Complies),
        (fernhill, stated("17 %/min", "photo"), Verdict::Complies),
        (fernhill, "displayed: { Climb: 17 }".to_owned(), Verdict::Complies),
        (fernhill, stated("17 %/min", "read"), Verdict::DoesNotComply),
        (fernhill, stated("18 %/min", "display"), Verdict::DoesNotComply),
        // no such value can be shown, so it is taken as it stands
        (fernhill, stated("17.1 %/min", "display"), Verdict::DoesNotComply),
        (other_firmware, stated("17 %/min", "display"), Verdict::DoesNotComply),
        ("model: Plain 6", stated("17 %/min", "display"), Verdict::DoesNotComply),
        // the site's own word comes first
        (fernhill, "settings: { reconnection: { ramp-rate: { value: 17 %/min, step: 0.1 %/min } } }".to_owned(), Verdict::DoesNotComply),
    ] {
        assert_eq!(judged(STANDARD, device, &left).0, verdict, "{device}: {left}");
    }
}

/// A limit is never widened: at the edge a device that holds what it shows complies, a display that
/// rounds proves nothing.
#[test]
fn at_a_limit_only_a_device_that_holds_what_it_shows_complies() {
    for (left, verdict) in [
        ("displayed: { Quiet time: 60 s }", Verdict::Complies),
        ("settings: { reconnection: { observation-time: { value: 60 s, step: 1 s, exact: true } } }", Verdict::Complies),
        ("settings: { reconnection: { observation-time: { value: 60 s, step: 1 s, exact: false } } }", Verdict::NotProven),
        ("settings: { overvoltage-1: { definite-delay: { value: 1 s, step: 0.1 s, exact: true } } }", Verdict::Complies),
        ("settings: { overvoltage-1: { definite-delay: { value: 1 s, step: 0.1 s } } }", Verdict::NotProven),
        ("settings: { overvoltage-1: { definite-delay: { value: 1.1 s, step: 0.1 s } } }", Verdict::Complies),
        ("displayed: { Ceiling 1 wait: 1.0 s }", Verdict::Complies),
        ("displayed: { Ceiling 1 wait: 0.9 s }", Verdict::DoesNotComply),
        ("displayed: { Ceiling 1 wait: 2.0 s }", Verdict::DoesNotComply),
    ] {
        assert_eq!(judged(STANDARD, "model: Fernhill K6\n    firmware: 2.4.1", left).0, verdict, "{left}");
    }
}

/// A curve is as coarse as its display along each axis: 30 % of 6 kVA in steps of half a per cent.
#[test]
fn a_curve_may_lie_off_by_less_than_a_step_at_each_point() {
    let tidewell = "labels: tidewell-p\n    firmware: 2.0.0";
    let curve = |first: &str, level: &str| {
        format!(
            "displayed: {{ Home grid: One, Helps with: Volts by var, Step 1 at: {first}, Step 2 at: 381, Step 3 at: 415.5, Step 4 at: 447, Step 1 var: {level}, Step 2 var: 0, Step 3 var: 0, Step 4 var: -60 }}"
        )
    };
    // 207 V between line and neutral are 358.53 V between lines
    for (first, level, verdict) in [
        ("358.5 V", "44 %", Verdict::Complies),
        ("359 V", "44 %", Verdict::Complies),
        ("358 V", "44 %", Verdict::DoesNotComply),
        ("358.5 V", "44.5 %", Verdict::DoesNotComply),
        ("358.5 V", "43.5 %", Verdict::DoesNotComply),
    ] {
        let left = curve(first, level);
        let text = left.replace("Home grid: One, ", "");
        assert_eq!(judged(STANDARD, tidewell, &text).0, verdict, "{first} {level}");
    }
}
