//! What once passed without being looked at: a limit that is off, a second reactive mode beside the one that the region
//! brings, limits that every inverter leaves to another, a paper that concerns nothing, values on displays that round.
//!
//! Each site is invented, complies as it stands, and is then altered in one thing.

use crate::judged_site;

use judged_site::{Came, IEEE, ONE, STANDARD, judged, judged_by, of_one_inverter, one_at_rushmere, rushmere, two, with, with_overlay};
use rules::provenance::Verdict;
use settings_model::finding::Outcome;

use Verdict::{Complies, DoesNotComply, NotProven};

fn left(standard: [&str; 2], settings: &str) -> Came {
    judged(&of_one_inverter(standard, "", &format!("settings: {{ {settings} }}")))
}

/// Rushmere limits what larger inverters give, and does not say that the limit acts.
const LIMITS: &str = "  generation-limit:
    soft: { when: { nameplate: over 5 kVA }, comply: at most 5 kVA, source: n1 }
";

fn at_rushmere(nameplate: &str, limit: &str) -> Came {
    let site = with(&one_at_rushmere(), "    nameplate: 6 kVA\n", nameplate);
    judged_by(with_overlay(&rushmere(LIMITS)), &with(&site, "        volt-var:", &format!("{limit}        volt-var:")))
}

#[test]
fn who_asks_for_a_limit_on_power_asks_that_it_acts() {
    let (large, small) = ("    nameplate: 6 kVA\n", "    nameplate: 5 kVA\n");
    let limit = |says: &str| format!("        generation-limit: {{ {says} }}\n");
    let kept = at_rushmere(large, &limit("state: enabled, soft: 5 kVA"));
    assert_eq!(kept.verdict, Complies, "{kept:#?}");
    assert!(!kept.not_judged.iter().any(|path| path.contains("generation-limit")), "{kept:#?}");
    for (says, verdict) in [("state: off, soft: 5 kVA", DoesNotComply), ("state: absent", DoesNotComply), ("soft: 5 kVA", NotProven)] {
        let came = at_rushmere(large, &limit(says));
        assert_eq!(came.verdict, verdict, "{says}: {came:#?}");
    }
    at_rushmere(large, &limit("state: off, soft: 5 kVA")).says("wrong-state", "state is off, required enabled");
    assert_eq!(at_rushmere(large, "").verdict, NotProven);
    // nothing is asked of a small one
    assert_eq!(at_rushmere(small, "").verdict, Complies);
    assert_eq!(at_rushmere(small, &limit("state: off, soft: 5 kVA")).verdict, Complies);
    // whether anything is asked hangs on a rating that nobody states: off proves nothing
    let unknown = at_rushmere("", &limit("state: off, soft: 5 kVA"));
    assert_eq!(unknown.verdict, NotProven, "{unknown:#?}");
}

/// A paper for one site that limits its inverter, where no layer speaks of such a limit.
#[test]
fn a_limit_that_is_approved_has_to_act_too() {
    let paper = |limit: &str| {
        let site = with(ONE, "        volt-var:", &format!("        generation-limit: {{ {limit} }}\n        volt-var:"));
        judged(&format!(
            "{site}site-specific-approvals:
  - setting: inverter-1/generation-limit/soft
    comply: 2 kVA to 4 kVA
    against: {{ network: quillbrook, version: 3.0.0 }}
    exception: {{ reference: QB-X-9, reason: weak feeder }}
    approval: {{ reference: QB-S-9, role: network protection engineer, granted: 2026-10-01 }}
"
        ))
    };
    let kept = paper("state: enabled, soft: 4 kVA");
    assert_eq!(kept.verdict, Complies, "{kept:#?}");
    for (limit, verdict) in [
        ("state: enabled, soft: 4.1 kVA", DoesNotComply),
        ("state: enabled, soft: 1.9 kVA", DoesNotComply),
        ("state: off, soft: 4 kVA", DoesNotComply),
        ("soft: 4 kVA", NotProven),
    ] {
        assert_eq!(paper(limit).verdict, verdict, "{limit}: {:#?}", paper(limit));
    }
}

#[test]
fn a_second_reactive_mode_is_seen_beside_the_one_that_the_region_brings() {
    // volt-var comes with the region, and is not stated
    let came = left(STANDARD, "watt-var: { state: enabled }");
    assert_eq!(came.verdict, NotProven, "{came:#?}");
    came.says("two-reactive-modes", "volt-var, which the selected region brings, and reactive power that depends on power");
    let both = left(STANDARD, "volt-var: { state: enabled }, watt-var: { state: enabled }");
    assert_eq!(both.verdict, DoesNotComply, "{both:#?}");
    assert_eq!(left(STANDARD, "watt-var: { state: off }").verdict, Complies);
    // one alone that nobody asks for is no second one: it is named
    let alone = left(IEEE, "volt-var: { state: off }, power-dependent-power-factor: { state: enabled }");
    assert!(alone.verdict != Complies || !alone.not_judged.is_empty(), "{alone:#?}");
}

#[test]
fn somebody_has_to_hold_the_limit() {
    for (first, second, verdict) in [
        ("this-device", "another-device", Complies),
        ("controller", "controller", Complies),
        ("another-device", "another-device", NotProven),
    ] {
        let came = judged(&two(first, second));
        assert_eq!(came.verdict, verdict, "{first}, {second}: {came:#?}");
    }
    judged(&two("another-device", "another-device")).says("limit-held-by-nobody", "no device of the site holds the limit");
    // both inverters are named, whichever comes first
    let both = judged(&two("this-device", "this-device"));
    both.says("limit-held-twice", "inverter-1 10 kW, inverter-2 10 kW, 20 kW together");
}

#[test]
fn a_paper_that_concerns_nothing_is_told() {
    for setting in ["inverter-1/voltage-rise/total", "reverse-power/threshold", "inverter-1/neutral-voltage-displacement/threshold"] {
        let value = if setting.contains("rise") {
            "5 %"
        } else if setting.contains("reverse") {
            "40 kW"
        } else {
            "20 V"
        };
        let came = judged(&format!(
            "{ONE}site-specific-approvals:
  - setting: {setting}
    require: {value}
    against: {{ network: quillbrook, version: 3.0.0 }}
    approval: {{ reference: QB-S-7, role: network protection engineer, granted: 2026-10-01 }}
"
        ));
        came.says("approval-of-nothing", "QB-S-7");
        assert_eq!(came.of("approval-of-nothing").map(|finding| finding.outcome), Some(Outcome::Remark));
    }
}

/// Of two papers for one setting neither wins by its place in the file.
#[test]
fn two_papers_that_contradict_prove_nothing() {
    let papers = |first: (&str, &str), second: (&str, &str), held: &str| {
        let paper = |(value, reference): (&str, &str)| {
            format!(
                "  - setting: inverter-1/sustained-overvoltage/threshold
    require: {value}
    against: {{ network: quillbrook, version: 3.0.0 }}
    approval: {{ reference: {reference}, role: network protection engineer, granted: 2026-10-01 }}
"
            )
        };
        let site = with(ONE, "threshold: 255 V", &format!("threshold: {held}"));
        judged(&format!("{site}site-specific-approvals:\n{}{}", paper(first), paper(second)))
    };
    for held in ["256 V", "257 V"] {
        for (first, second) in [("257 V", "256 V"), ("256 V", "257 V")] {
            let came = papers((first, "P-1"), (second, "P-2"), held);
            assert!(came.verdict >= NotProven, "{came:#?}");
            came.says("approvals-contradict", "P-1 and P-2");
        }
    }
    assert_eq!(papers(("257 V", "P-1"), ("257 V", "P-2"), "257 V").verdict, Complies);
}

/// A tie that is kept by the value shown and not by all that it may stand for is not proven.
#[test]
fn a_tie_is_kept_by_all_that_a_display_may_stand_for() {
    let hard = |limit: &str, hard: &str| {
        left(STANDARD, &format!("generation-limit: {{ state: enabled, soft: {limit}, hard: {hard} }}").replace("kW", "kVA"))
    };
    for (limit, above, verdict) in [
        ("5 kW", "5 kW", Complies),
        ("{ value: 5 kW, step: 0.1 kW }", "5 kW", NotProven),
        ("{ value: 5 kW, step: 0.1 kW, exact: true }", "5 kW", Complies),
        ("{ value: 5 kW, step: 0.1 kW }", "5.05 kW", Complies),
        ("{ value: 5 kW, step: 0.1 kW }", "{ value: 5.05 kW, step: 0.1 kW }", NotProven),
        ("{ value: 5 kW, step: 0.1 kW }", "4.95 kW", NotProven),
        ("{ value: 5 kW, step: 0.1 kW }", "4.94 kW", DoesNotComply),
    ] {
        let came = hard(limit, above);
        assert_eq!(came.verdict, verdict, "{limit} below {above}: {came:#?}");
    }
    // what has to be the same is taken to be so where it rounds to the same, as a set point is
    let ratio = |entered: &str| left(STANDARD, &format!("export-sensor: {{ ratio-fitted: 40, ratio-entered: {entered} }}")).verdict;
    let of_step = |entered: &str| ratio(&format!("{{ value: {entered}, step: 1 }}"));
    assert_eq!([of_step("40"), of_step("41"), ratio("40.5")], [Complies, DoesNotComply, DoesNotComply]);
    // two values that are as required, each as near as its display tells, keep what is required of both
    let near = left(
        STANDARD,
        "overvoltage-1: { threshold: { value: 265 V, step: 1 V } }, overvoltage-2: { threshold: { value: 275 V, step: 1 V } }",
    );
    assert_eq!(near.verdict, Complies, "{near:#?}");
}

/// An export limit that two inverters share, and one that is counted on each phase.
#[test]
fn shared_limits_are_kept_by_all_that_displays_may_stand_for() {
    let share = |limit: &str| {
        let site = two("this-device", "this-device").replace("site-total: 10 kW", &format!("site-total: {limit}"));
        let site = site.replace("hard-limit: 12 kW", "hard-limit: 6 kW");
        judged(&site).verdict
    };
    assert_eq!(share("5 kW"), Complies);
    assert_eq!(share("{ value: 5 kW, step: 0.1 kW }"), NotProven);
    assert_eq!(share("{ value: 4.9 kW, step: 0.1 kW }"), Complies);
    assert_eq!(share("{ value: 5.2 kW, step: 0.1 kW }"), DoesNotComply);
}

/// A third stage at half of 120 V: above it the device stays on for 10 s, below it for 1 s (categories B and III).
#[test]
fn a_trip_on_a_coarse_display_may_lie_inside_the_withstand() {
    let inside = |threshold: &str, time: &str| {
        let text =
            of_one_inverter(IEEE, "", &format!("settings: {{ undervoltage-3: {{ threshold: {threshold}, clearing-time: {time} }} }}"));
        let came = judged(&text.replacen("230 V line-neutral", "120 V line-neutral", 1));
        came.of("trip-inside-withstand").map(|finding| finding.outcome)
    };
    for (threshold, time, outcome) in [
        ("60 V", "2 s", None),
        ("{ value: 60 V, step: 1 V, exact: true }", "2 s", None),
        ("{ value: 60 V, step: 1 V }", "2 s", Some(Outcome::NotProven)),
        ("{ value: 60 V, step: 1 V }", "10 s", None),
        ("{ value: 60 V, step: 1 V }", "{ value: 10 s, step: 1 s }", Some(Outcome::NotProven)),
        ("{ value: 59 V, step: 1 V }", "2 s", None),
        ("{ value: 61 V, step: 1 V }", "2 s", Some(Outcome::DoesNotComply)),
        ("{ value: 59 V, step: 1 V }", "{ value: 0.5 s, step: 0.1 s }", Some(Outcome::DoesNotComply)),
    ] {
        assert_eq!(inside(threshold, time), outcome, "{threshold}, {time}");
    }
}
