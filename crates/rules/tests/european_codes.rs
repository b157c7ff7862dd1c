//! What EN 50549-1, VDE-AR-N 4105 and CEI 0-21 needed of the rules: values that a standard leaves to the
//! network operator, in steps; operate times; a window that the site declares.

use crate::common;

use common::shipped_library;
use jiff::civil::date;
use rules::assess::Assessor;
use rules::entitlement::overreach;
use rules::provenance::Verdict;
use rules::wording;
use settings_model::catalogue::Equipment;
use settings_model::files::{Kind, SiteFile};
use settings_model::finding::Finding;
use settings_model::library::{Library, Profile};
use settings_model::reader;

fn assessor() -> Assessor {
    Assessor::new(shipped_library(), date(2026, 11, 25))
}

fn checked(text: &str) -> (Verdict, Vec<Finding>) {
    let mut assessor = assessor();
    let source = assessor.sources.add("site", text);
    let root = reader::read(source, text, Kind::Site).unwrap_or_else(|findings| panic!("{text}: {findings:#?}"));
    let site: SiteFile<'_> = reader::typed(&root).unwrap();
    let assessment = assessor.assess(&site);
    let findings = wording::findings(&assessment, &root);
    (assessment.verdict, findings)
}

fn shipped_site(name: &str) -> String {
    let path = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join(format!("../../tests/sites/{name}.yaml"));
    std::fs::read_to_string(path).unwrap()
}

fn changed(name: &str, from: &str, to: &str) -> (Verdict, Vec<Finding>) {
    let text = shipped_site(name);
    assert!(text.contains(from), "{name} has {from}");
    checked(&text.replace(from, to))
}

fn names(findings: &[Finding]) -> Vec<&'static str> {
    findings.iter().map(|finding| finding.name).collect()
}

/// A value inside the range is not proven, one outside is wrong whatever the operator says.
#[test]
fn what_a_standard_leaves_to_the_operator_is_never_proven_under_the_standard_alone() {
    let (verdict, findings) = changed("weighbridge-3", "operate-time: 50 ms", "operate-time: 100 ms");
    assert_eq!((verdict, names(&findings)), (Verdict::NotProven, vec!["left-to-the-operator"]));
    // 23 of them: nine states of stages and modes are among them, and what follows for the stages that act
    assert!(findings[0].headline.contains("23 settings"), "{}", findings[0].headline);
    let (verdict, findings) = checked(&shipped_site("weighbridge-3"));
    assert_eq!((verdict, names(&findings)), (Verdict::DoesNotComply, vec!["too-low", "left-to-the-operator"]));
    // a region brings no value of what is left open
    let (verdict, findings) = changed("weighbridge-3", "        undervoltage-2: { state: off }\n", "");
    assert_eq!(verdict, Verdict::DoesNotComply);
    assert!(findings.iter().any(|finding| finding.name == "not-stated"), "{findings:#?}");
}

/// The operator's word closes what was open, and only that counts.
#[test]
fn the_operators_values_are_what_a_site_is_held_against() {
    assert_eq!(checked(&shipped_site("sluice-lane-6")).0, Verdict::Complies);
    let (verdict, findings) = changed("sluice-lane-6", "threshold: 0.80 pu", "threshold: 0.81 pu");
    assert_eq!((verdict, names(&findings)), (Verdict::DoesNotComply, vec!["too-high"]));
}

/// An overlay of Alderfen's, with one value replaced.
fn letter(from: &str, to: &str) -> Vec<Finding> {
    let mut library = Library::default();
    for key in ["standards/en-50549-1/2019", "overlays/alderfen/1.0.0"] {
        let path = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join(format!("../../profiles/{key}.yaml"));
        let text = std::fs::read_to_string(path).unwrap();
        let text = if key.starts_with("overlays") { text.replacen(from, to, 1) } else { text };
        library.add(Profile { name: key.to_owned(), path: format!("{key}.yaml"), text: text.into(), shipped: true });
    }
    let mut sources = settings_model::source::Sources::default();
    let version = semver::Version::new(1, 0, 0);
    let books = library.rulebooks_of(("alderfen", &version), "minimum", &mut sources).unwrap_or_else(|e| panic!("{e:#?}"));
    overreach(&books[Equipment::Inverter as usize])
}

/// EN 50549-1 has steps of 0.01 pu, 0.1 s, 0.05 s and 0.1 Hz (from memory), counted from the lower end.
#[test]
fn an_operator_may_ask_for_a_value_on_a_step_and_for_no_other_without_a_reason() {
    let threshold = "threshold: { require: 0.80 pu";
    for (from, to, found) in [
        (threshold, threshold, None),
        (threshold, "threshold: { require: 0.79 pu", None),
        (threshold, "threshold: { require: 184 V", None), // 0.80 of 230 V
        (threshold, "threshold: { require: 0.795 pu", Some("between-steps")),
        (threshold, "threshold: { require: 185 V", Some("between-steps")),
        (threshold, "threshold: { outside-because: an old relay, require: 0.795 pu", None),
        (threshold, "threshold: { require: 0.19 pu", Some("outside-without-reason")),
        ("operate-time: { require: 1.7 s", "operate-time: { require: 1.75 s", None),
        ("operate-time: { require: 1.7 s", "operate-time: { require: 1.72 s", Some("between-steps")),
        ("operate-time: { require: 3 s", "operate-time: { require: 3.05 s", Some("between-steps")),
        ("threshold: { require: 47.5 Hz", "threshold: { require: 47.55 Hz", Some("between-steps")),
    ] {
        let findings = letter(from, to);
        assert_eq!(names(&findings), found.into_iter().collect::<Vec<_>>(), "{to}: {findings:#?}");
    }
}

/// 10 %/min is 0.1666… %/s: cut to two decimals it is 9.6 %/min, which is not 10. Only the step of a
/// display that has no more digits makes it the same set point (worked value, plain arithmetic).
#[test]
fn a_ramp_per_second_is_the_one_per_minute_within_the_step_of_its_display() {
    let as_shipped = "{ value: 0.1667 %/s, step: 0.0001 %/s }";
    for (stated, verdict) in [
        (as_shipped, Verdict::Complies),
        ("10 %/min", Verdict::Complies),
        ("0.16 %/s", Verdict::DoesNotComply),
        ("{ value: 0.16 %/s, step: 0.01 %/s }", Verdict::Complies),
        ("{ value: 0.15 %/s, step: 0.01 %/s }", Verdict::DoesNotComply),
        ("0.1667 %/s", Verdict::DoesNotComply),
    ] {
        assert_eq!(changed("reed-landing-8", as_shipped, stated).0, verdict, "{stated}");
    }
}

/// sin(acos 0.90) is 43.59 % of apparent power, tan(acos 0.90) is 48.43 % of active power.
#[test]
fn the_ends_of_volt_var_count_apparent_power_and_not_active() {
    for (level, verdict) in
        [("43.59", Verdict::Complies), ("43.6", Verdict::Complies), ("48.43", Verdict::DoesNotComply), ("44", Verdict::DoesNotComply)]
    {
        let text = shipped_site("reed-landing-8").replace("43.6 %", &format!("{level} %"));
        assert_eq!(checked(&text).0, verdict, "{level}");
    }
}

/// An operate time is neither a delay nor a clearing time, and each bounds it from one side.
#[test]
fn other_times_of_a_stage_bound_its_operate_time() {
    let asked = "threshold: 195.5 V, operate-time: 1.5 s";
    for (shown, verdict, name) in [
        ("operate-time: 1.5 s", Verdict::Complies, None),
        ("definite-delay: 1.6 s", Verdict::DoesNotComply, Some("too-high")),
        ("definite-delay: 1.5 s", Verdict::NotProven, Some("own-time-unknown")),
        ("definite-delay: 0.4 s", Verdict::NotProven, Some("own-time-unknown")),
        // the trip command comes before the device is off
        ("clearing-time: 1.5 s", Verdict::DoesNotComply, Some("too-low")),
        ("clearing-time: 1.55 s", Verdict::NotProven, Some("own-time-unknown")),
    ] {
        let (found, findings) = changed("cypress-terrace-4", asked, &format!("threshold: 195.5 V, {shown}"));
        assert_eq!((found, findings.first().map(|finding| finding.name)), (verdict, name), "{shown}: {findings:#?}");
    }
    // the rule of VDE-AR-N 4105 counts delays: an operate time bounds one from above, and may equal it
    for (shown, verdict) in [("2.9 s", Verdict::DoesNotComply), ("3 s", Verdict::NotProven), ("3.05 s", Verdict::NotProven)] {
        let found = changed("reed-landing-8", "definite-delay: 3 s", &format!("operate-time: {shown}"));
        assert_eq!(found.0, verdict, "{shown}: {:#?}", found.1);
    }
}

/// Which window acts is declared; without a word of it nothing is proven, and the other one is a fault.
#[test]
fn the_frequency_window_of_an_italian_site_is_the_one_it_declares() {
    let (wide, narrow) = ("route: wide-window", "route: narrow-window");
    assert_eq!(changed("cypress-terrace-4", wide, wide).0, Verdict::Complies);
    assert_eq!(changed("fig-courtyard-9", narrow, narrow).0, Verdict::Complies);
    assert_eq!(changed("cypress-terrace-4", wide, narrow).0, Verdict::DoesNotComply);
    let (verdict, findings) = changed("fig-courtyard-9", narrow, wide);
    assert_eq!(verdict, Verdict::DoesNotComply);
    let of_stage = |finding: &&Finding| finding.setting.as_deref() == Some("inverter-1/overfrequency-1/state");
    let stage = findings.iter().find(of_stage).unwrap_or_else(|| panic!("{findings:#?}"));
    assert!(stage.headline.contains("trips too early"), "an extra stage does not protect less: {}", stage.headline);
    let (verdict, findings) = changed("cypress-terrace-4", ", route: wide-window", "");
    assert_eq!(verdict, Verdict::NotProven);
    assert!(names(&findings).contains(&"fact-not-stated"), "{findings:#?}");
}

/// Above 11.08 kW the protection is a device of its own (from memory).
#[test]
fn an_italian_site_above_11_08_kva_needs_a_relay() {
    for (nameplate, verdict) in [("11.08 kVA", Verdict::Complies), ("11.09 kVA", Verdict::DoesNotComply)] {
        let found = changed("cypress-terrace-4", "nameplate: 6 kVA", &format!("nameplate: {nameplate}"));
        assert_eq!(found.0, verdict, "{nameplate}: {:#?}", found.1);
    }
}
