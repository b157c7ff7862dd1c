//! What a site states and cannot be so, or passes by too little being looked at: limits that inverters hold phase by
//! phase, days of work before it was asked for, a rise below zero, cables that lead nowhere, ride-through that is off,
//! what a reading found beside its values, devices of an older edition where a layer speaks of those.
//!
//! Each site is invented, complies as it stands, and is then altered in one thing.

use crate::judged_site;

use judged_site::{Came, IEEE, ONE, STANDARD, judged, judged_by, of_one_inverter, one_at_rushmere, rushmere, two, with, with_overlay};
use rules::provenance::Verdict;
use settings_model::finding::Outcome;

use Verdict::{Complies, DoesNotComply, NotProven};

/// Two inverters of three phases that both measure, under a network that lets the site export 10 kW.
fn both_measure(limit: &str) -> Came {
    let site = two("this-device", "this-device").replace("        export-sensor: { master: this-device }\n", "");
    judged(&site.replace("site-total: 10 kW, hard-limit: 12 kW", limit))
}

#[test]
fn limits_that_are_counted_on_each_phase_add_up_over_phases() {
    let third = both_measure("site-total: 3.33 kW, counts: each-phase, hard-limit: 12 kW");
    assert_eq!(third.verdict, DoesNotComply, "{third:#?}");
    third.says("limit-held-twice", "inverter-1 3.33 kW on each of 3 phases");
    third.says("limit-held-twice", "19.98 kW together");
    let sixth = both_measure("site-total: 1.66 kW, counts: each-phase, hard-limit: 6 kW");
    assert_eq!(sixth.verdict, Complies, "{sixth:#?}");
}

/// What breaks a cap that somebody recalled says so.
#[test]
fn a_cap_from_memory_that_two_inverters_break_is_told_as_one() {
    let cap = |basis: &str| {
        let settings =
            "  export-limit:\n    state: { require: enabled, source: n1 }\n    site-total: { comply: at most 5 kW, source: n1 }\n";
        let overlay = rushmere(settings).replace("clause: '1', basis: invented", &format!("clause: '1', basis: {basis}"));
        let site = one_at_rushmere().replace("approved: 5 kW", "approved: 30 kW");
        let (_, inverter) = site.split_once("  inverter-1:\n").unwrap();
        judged_by(with_overlay(&overlay), &format!("{site}  inverter-2:\n{inverter}"))
    };
    let [recalled, invented] = [cap("memory"), cap("invented")];
    assert_eq!((recalled.verdict, recalled.headline.as_str()), (DoesNotComply, "does not comply with unverified figures"));
    assert_eq!((invented.verdict, invented.headline.as_str()), (DoesNotComply, "does not comply"), "{invented:#?}");
}

/// The rate that a device has to stay on through is recalled, and a trip inside it breaks nothing surer.
#[test]
fn a_trip_by_rate_of_change_is_as_sure_as_the_rate_to_stay_on() {
    let overlay = rushmere(
        "  rate-of-change-of-frequency:\n    state: { require: enabled, source: n1 }\n    threshold: { comply: at most 10 Hz/s, source: n1 }\n    measuring-window: { comply: at least 0.1 s, source: n1 }\n",
    );
    let site = |rate: &str| {
        let stage = format!(
            "        rate-of-change-of-frequency: {{ state: enabled, threshold: {rate}, measuring-window: 0.5 s }}\n        volt-var:"
        );
        judged_by(with_overlay(&overlay), &with(&one_at_rushmere(), "        volt-var:", &stage))
    };
    let came = site("3 Hz/s");
    let found = came.of("trip-inside-withstand").unwrap_or_else(|| panic!("{came:#?}"));
    assert!(found.headline.contains("from memory"), "{found:#?}");
    assert!(site("4 Hz/s").of("trip-inside-withstand").is_none());
}

#[test]
fn work_is_not_left_before_it_is_asked_for() {
    let days = |dates: &str| with(ONE, "applied: 2026-08-26, approved: 2026-09-23, installed: 2026-10-19", dates);
    for dates in ["applied: 2026-10-20", "applied: 2026-08-26, approved: 2026-10-20"] {
        let came = judged(&days(dates));
        assert_eq!(came.verdict, NotProven, "{dates}: {came:#?}");
        came.says("dates-out-of-order", "inverter-1: what it was left with is dated 2026-10-19");
    }
    assert_eq!(judged(&days("applied: 2026-10-19")).verdict, Complies);
    // what stood there before was left before
    let kept = with(&days("applied: 2026-10-20"), "kind: new", "kind: settings-only");
    assert!(judged(&kept).of("dates-out-of-order").is_none());
    // new work is installed after it was asked for, device by device
    let own = |day: &str| with(ONE, "    nameplate: 6 kVA\n", &format!("    installed: {day}\n    nameplate: 6 kVA\n"));
    judged(&own("2026-09-22")).says("dates-out-of-order", "inverter-1: its installation is dated 2026-09-22");
    assert!(judged(&own("2026-10-01")).of("dates-out-of-order").is_none());
    let added = with(&own("2018-02-02"), "kind: new", "kind: addition");
    assert!(judged(&added).of("dates-out-of-order").is_none(), "{:#?}", judged(&added));
}

const CABLES: &str = "cables:
  mains: { part: consumer-mains, length: 20 m, conductor: { size: 16 mm2, material: copper } }
  circuit: { part: inverter-circuit, behind: mains, length: 12 m, conductor: { size: 6 mm2, material: copper }, feeds: [inverter-1] }
";

/// A typed figure stands beside cables of which none can be worked out: they are named, and the headline says so.
#[test]
fn cables_that_lead_nowhere_are_named() {
    let typed = with(ONE, "total: 1.4 %", "total: 1.66 %");
    let with_cables = |cables: &str| judged(&format!("{typed}{cables}"));
    let whole = with_cables(CABLES);
    assert_eq!((whole.verdict, &whole.not_judged[..]), (Complies, &[][..]), "{whole:#?}");
    let nowhere = with_cables(&CABLES.replace(", feeds: [inverter-1]", ""));
    assert_eq!(nowhere.not_judged, ["cables/mains", "cables/circuit"], "{nowhere:#?}");
    assert_eq!((nowhere.verdict, nowhere.headline.as_str()), (Complies, "agrees with unverified figures, 2 values not judged"));
    nowhere.says("not-judged", "mains, circuit");
    let unknown = with_cables(&CABLES.replace("length: 12 m, ", ""));
    assert_eq!(unknown.not_judged.len(), 2, "{unknown:#?}");
    let spare = with_cables(
        &format!("{CABLES}  spare: {{ part: sub-mains, behind: mains, length: 3 m }}\n")
            .replace("length: 3 m", "length: 3 m, conductor: { size: 6 mm2, material: copper }"),
    );
    assert_eq!(spare.not_judged, ["cables/spare"], "{spare:#?}");
    // where nobody limits the rise, no cable is held against anything
    let alone =
        with(&format!("{typed}{CABLES}"), "network: quillbrook\n", "").replacen("overlay: ^3.0", "standard: as-nzs-4777.2/2020-amd2", 1);
    assert!(judged(&alone).not_judged.contains(&"installation/voltage-rise/total".to_owned()));
}

/// Of a function that keeps a device on through disturbances, what it does is asked; whether it may be off nobody says.
#[test]
fn ride_through_that_is_off_does_not_comply() {
    let left = |standard: [&str; 2], settings: &str| judged(&of_one_inverter(standard, "", &format!("settings: {{ {settings} }}")));
    for function in ["voltage-withstand", "multiple-disturbance-withstand"] {
        for (state, verdict) in [("off", DoesNotComply), ("absent", DoesNotComply), ("enabled", Complies)] {
            let came = left(IEEE, &format!("{function}: {{ state: {state} }}"));
            assert_eq!(came.verdict, verdict, "{function} {state}: {came:#?}");
            assert_eq!(came.not_judged, Vec::<String>::new(), "{function} {state}");
        }
    }
    left(IEEE, "voltage-withstand: { state: off }").says("ride-through-off", "has to stay on through disturbances");
}

/// The standard has a table for it that nobody here saw: a device that says it does not do that proves nothing.
#[test]
fn what_is_off_and_was_not_seen_to_be_asked_proves_nothing() {
    let left = |settings: &str| judged(&of_one_inverter(STANDARD, "", &format!("settings: {{ {settings} }}")));
    for (state, verdict) in [("off", NotProven), ("absent", NotProven), ("enabled", Complies)] {
        let came = left(&format!("voltage-withstand: {{ state: {state} }}"));
        assert_eq!(came.verdict, verdict, "{state}: {came:#?}");
        assert_eq!(came.not_judged, ["inverter-1/voltage-withstand/state"], "{state}");
    }
    // of this function the state itself is not asked for, and what is asked was not seen
    let ceases = left("cease-generation: { state: off }");
    assert_eq!((ceases.verdict, ceases.headline.as_str()), (Complies, "agrees with unverified figures, 1 value not judged"), "{ceases:#?}");
}

/// What a reading found acting beside its values no requirement judges: the headline counts it.
#[test]
fn what_acts_beside_a_reading_keeps_a_site_from_being_plainly_fine() {
    let captured = "      captured: { peer: registers.json, base: 40000, acts-beside: ['model 702: set to give at most 3800 W of the 7600 W that it is rated for (WMax)'] }\n";
    let read = with(ONE, "      settings:\n", &format!("{captured}      settings:\n"));
    let came = judged(&read);
    assert_eq!((came.verdict, came.headline.as_str()), (Complies, "agrees with unverified figures, 1 value not judged"), "{came:#?}");
    came.says("acts-beside", "3800 W");
    assert_eq!(came.findings.iter().filter(|finding| finding.headline.contains("3800 W")).count(), 1);
}

/// A network that says what it asks of devices of other editions has not said that it takes one in new work.
#[test]
fn a_device_of_an_older_edition_in_new_work_is_told_of_where_a_layer_speaks_of_editions() {
    let older = two("this-device", "another-device").replacen("edition: { year: 2020, amendment: 2 }", "edition: { year: 2015 }", 1);
    let came = judged(&older);
    assert_eq!(came.of("superseded-edition").map(|finding| finding.outcome), Some(Outcome::Remark), "{came:#?}");
    for work in ["settings-only", "like-for-like", "warranty-replacement"] {
        let kept = with(&older, "kind: new", &format!("kind: {work}"));
        assert!(judged(&kept).of("superseded-edition").is_none(), "{work}");
    }
}
