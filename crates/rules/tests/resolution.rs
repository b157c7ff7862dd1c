//! How far the step of a display or a register is believed: a step never makes a wrong value pass, and what
//! a display cannot tell is not proven.

use crate::judged_site;

use judged_site::{IEEE, STANDARD, of_one_inverter};
use proptest::prelude::*;
use rules::provenance::Verdict;

use Verdict::{Complies, DoesNotComply, NotProven};

/// What a site of one inverter comes to that states one setting; its selected region stands for the rest.
fn judged(standard: [&str; 2], function: &str, stated: &str) -> Verdict {
    judged_site::judged(&of_one_inverter(standard, "", &format!("settings: {{ {function}: {{ {stated} }} }}"))).verdict
}

#[test]
fn a_step_makes_no_wrong_value_pass() {
    for (of, function, stated, verdict) in [
        // a display of thousands of volts tells nothing
        (STANDARD, "overvoltage-1", "threshold: { value: 900 V, step: 1000 V }", NotProven),
        (STANDARD, "overvoltage-1", "threshold: { value: 265 V, step: 1000 V }", NotProven),
        (STANDARD, "overvoltage-1", "threshold: { value: 2000 V, step: 1000 V }", DoesNotComply),
        (STANDARD, "overvoltage-1", "threshold: { value: 300 V, step: 100 V }", NotProven),
        // a device that holds exactly what it shows holds a wrong value
        (STANDARD, "overvoltage-1", "threshold: { value: 900 V, step: 1000 V, exact: true }", DoesNotComply),
        (STANDARD, "overvoltage-1", "threshold: { value: 265 V, step: 1000 V, exact: true }", Complies),
        // displays of the trade
        (STANDARD, "overvoltage-1", "threshold: { value: 265 V, step: 1 V }", Complies),
        (STANDARD, "overvoltage-1", "threshold: { value: 264 V, step: 1 V }", DoesNotComply),
        (STANDARD, "overvoltage-1", "threshold: { value: 266 V, step: 1 V }", DoesNotComply),
        (STANDARD, "overfrequency-1", "threshold: { value: 52 Hz, step: 0.1 Hz }", Complies),
        (STANDARD, "overfrequency-1", "threshold: { value: 52 Hz, step: 1 Hz }", NotProven),
        (STANDARD, "reconnection", "ramp-rate: { value: 10 %/min, step: 100 %/min }", NotProven),
        // one step is the whole set point: it cannot be told from none
        (STANDARD, "over-frequency-response", "hysteresis: { value: 0.1 Hz, step: 0.01 Hz }", Complies),
        (STANDARD, "over-frequency-response", "hysteresis: { value: 0.1 Hz, step: 0.1 Hz }", NotProven),
        (STANDARD, "over-frequency-response", "hysteresis: { value: 0.1 Hz, step: 0.1 Hz, exact: true }", Complies),
        (STANDARD, "over-frequency-response", "hysteresis: { value: 0.1009 Hz, step: 0.1 Hz, exact: true }", DoesNotComply),
        // a limit: all that the display may stand for has to keep it, the limit itself too
        (STANDARD, "reconnection", "observation-time: { value: 60 s, step: 60 s }", NotProven),
        (STANDARD, "reconnection", "observation-time: { value: 61 s, step: 60 s }", NotProven),
        (STANDARD, "reconnection", "observation-time: { value: 60 s, step: 1 s }", NotProven),
        (STANDARD, "reconnection", "observation-time: { value: 60 s, step: 1 s, exact: true }", Complies),
        (STANDARD, "reconnection", "observation-time: { value: 61 s, step: 1 s }", Complies),
        // registers, which hold what they say
        (IEEE, "overvoltage-2", "clearing-time: { value: 100 s, step: 100 s, exact: true }", DoesNotComply),
        (IEEE, "overvoltage-2", "clearing-time: { value: 1 s, step: 1 s, exact: true }", DoesNotComply),
        (IEEE, "overvoltage-2", "clearing-time: { value: 0.2 s, step: 0.1 s, exact: true }", Complies),
        (IEEE, "overvoltage-2", "clearing-time: { value: 0.3 s, step: 0.1 s, exact: true }", DoesNotComply),
        (IEEE, "overvoltage-2", "clearing-time: { value: 0.16 s, step: 0.01 s, exact: true }", Complies),
        (IEEE, "overvoltage-2", "clearing-time: { value: 0.17 s, step: 0.01 s, exact: true }", DoesNotComply),
    ] {
        assert_eq!(judged(of, function, stated), verdict, "{function}: {stated}");
    }
}

/// 21 s are 1260 cycles of 60 Hz. Their step does not come out even, and is rounded up; a whole step off is
/// another value all the same.
#[test]
fn a_whole_cycle_off_is_another_time() {
    for (cycles, verdict) in [(1258, DoesNotComply), (1259, DoesNotComply), (1260, Complies), (1261, DoesNotComply)] {
        let seconds = format!("{:.7}", f64::from(cycles) / 60.0);
        let stated = format!("clearing-time: {{ value: {seconds} s, step: 0.0166669 s }}");
        assert_eq!(judged(IEEE, "undervoltage-1", &stated), verdict, "{cycles}: {stated}");
    }
}

/// Four points that a display in steps shows; absurd steps prove nothing about the response or the points.
#[test]
fn a_curve_on_a_coarse_display_is_not_proven() {
    const POINTS: &str = "[[207 V, 44 %], [220 V, 0 %], [240 V, 0 %], [258 V, -60 %]]";
    const MORE: &str = "[[207 V, 44 %], [220 V, 0 %], [230 V, 0 %], [240 V, 0 %], [258 V, -60 %]]";
    for (points, step, verdict) in [
        (POINTS, "[1 V, 1 %]", Complies),
        (POINTS, "[100 V, 1 %]", NotProven),
        (POINTS, "[1 V, 100 %]", NotProven),
        (MORE, "[1 V, 1 %]", Complies),
    ] {
        let stated = format!("points: {{ value: {points}, step: {step} }}");
        assert_eq!(judged(STANDARD, "volt-var", &stated), verdict, "{stated}");
    }
    let stated = format!("points: {{ value: {MORE}, step: [100 V, 100 %] }}");
    assert_ne!(judged(STANDARD, "volt-var", &stated), Complies);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(400))]

    /// Whatever step is claimed, a threshold that lies off the set point by more than a display of the trade
    /// rounds never complies.
    #[test]
    fn no_step_carries_a_threshold_further_than_displays_round(off in 35_u32..9000, step in 1_u32..99_999, above: bool, exact: bool) {
        let tenths = if above { 2650 + off } else { 2650_u32.saturating_sub(off) };
        let stated = format!(
            "threshold: {{ value: {}.{} V, step: {}.{} V, exact: {exact} }}",
            tenths / 10, tenths % 10, step / 10, step % 10 + 1
        );
        prop_assert_ne!(judged(STANDARD, "overvoltage-1", &stated), Complies, "{}", stated);
    }

    /// A coarser display never decides for a set point what a finer one left open, nor the other way round: from a
    /// step on, what complied is not proven.
    #[test]
    fn a_coarser_step_never_makes_not_proven_comply(fine in 1_u32..2000, coarser in 1_u32..2000, hundredths in 25_000_u32..28_000) {
        let stated = |step: u32| format!(
            "threshold: {{ value: {}.{:02} V, step: {}.{:02} V }}",
            hundredths / 100, hundredths % 100, step / 100, step % 100
        );
        let (with_fine, with_coarse) = (judged(STANDARD, "overvoltage-1", &stated(fine)), judged(STANDARD, "overvoltage-1", &stated(fine + coarser)));
        prop_assert!(with_fine != NotProven || with_coarse == NotProven, "{}: {:?}, {}: {:?}", stated(fine), with_fine, stated(fine + coarser), with_coarse);
    }

    /// A limit is never widened: what complies by a rounded display complies at both ends of what it may stand for.
    #[test]
    fn a_limit_holds_for_all_that_a_display_may_stand_for(tenths in 1_u32..2000, step in 1_u32..1000) {
        let stated = |value: f64, with: &str| format!("observation-time: {{ value: {value:.2} s{with} }}");
        let (value, half) = (f64::from(tenths) / 10.0, f64::from(step) / 20.0);
        let shown = judged(STANDARD, "reconnection", &stated(value, &format!(", step: {:.1} s", f64::from(step) / 10.0)));
        let lowest = if value > half { judged(STANDARD, "reconnection", &stated(value - half, "")) } else { DoesNotComply };
        let highest = judged(STANDARD, "reconnection", &stated(value + half, ""));
        let wanted = match (lowest, highest) {
            (Complies, Complies) => Complies,
            (DoesNotComply, DoesNotComply) => DoesNotComply,
            _ => NotProven,
        };
        prop_assert_eq!(shown, wanted);
    }
}
