//! Points of a curve whose range is counted from the reference and from their neighbours: what a network
//! may move, and what a device has to keep. All networks here are invented.

use crate::common;

use common::shipped_library;
use jiff::civil::date;
use rules::assess::Assessor;
use rules::provenance::Verdict;
use rules::satisfy::satisfy;
use rules::wording;
use settings_model::catalogue::{Equipment, REFERENCE, SettingId};
use settings_model::claim::{Bound, Claim, Limit, ProvenanceId, Term};
use settings_model::exact::Exact;
use settings_model::facts::{FactId, Facts};
use settings_model::files::{Kind, SiteFile};
use settings_model::library::Profile;
use settings_model::quantity::Amount;
use settings_model::reader;

const CURVE: &str = "[[0.92 pu, 44 %], [0.98 pu, 0 %], [1.02 pu, 0 %], [1.08 pu, -44 %]]";

/// A network that says this of volt-var, on IEEE Std 1547-2018 with 1547a-2020 in categories B and III.
fn network(volt_var: &str) -> Assessor {
    let text = format!(
        "kind: overlay
network: example
title: Example (invented)
version: 1.0.0
issue: {{ name: Issue 1, published: 2026-01-01 }}
extends: {{ standard: ieee-1547/2018-amd1 }}
in-force: [{{ applied: from 2026-01-01 }}]
sources:
  one: {{ document: Example guide, basis: invented }}
settings:
  volt-var:
    state: {{ require: enabled, source: one }}
{volt_var}
  fixed-power-factor:
    state: {{ require: off, source: one }}
"
    );
    let mut library = shipped_library();
    library.add(Profile { path: "overlays/example/1.0.0.yaml".to_owned(), name: "example".to_owned(), text: text.into(), shipped: false });
    Assessor::new(library, date(2026, 11, 25))
}

/// The verdict on a device of that network, and the names of the findings with what they say.
fn check(volt_var: &str, region_selected: bool, device: &str) -> (Verdict, Vec<(String, String)>) {
    let mut assessor = network(volt_var);
    let selected = if region_selected { "region-selected: b-iii" } else { "role: licensed installer" };
    let text = format!(
        "kind: site
site: example
network: example
requirements: {{ region: b-iii }}
dates: {{ applied: 2026-02-01 }}
supply: {{ phases: 1, nominal: 120 V line-neutral }}
devices:
  inverter-1:
    certified: {{ standard: ieee-1547, edition: {{ year: 2018, amendment: 1 }} }}
    as-left:
      known-by: display
      {selected}
      settings: {{ volt-var: {{ state: enabled, {device} }}, fixed-power-factor: {{ state: off }} }}
"
    );
    let source = assessor.sources.add("example", text.as_str());
    let root = reader::read(source, &text, Kind::Site).unwrap_or_else(|findings| panic!("{text}: {findings:#?}"));
    let file: SiteFile<'_> = reader::typed(&root).unwrap();
    let assessment = assessor.assess(&file);
    let findings = wording::findings(&assessment, &root);
    (assessment.verdict, findings.into_iter().map(|finding| (finding.name.to_owned(), finding.headline)).collect())
}

/// Whether the network reaches outside what the standard leaves to it, and how that is said.
fn overreach(volt_var: &str) -> Option<String> {
    let (verdict, findings) = check(volt_var, true, &format!("points: {CURVE}"));
    let found = findings.into_iter().find(|(name, _)| name == "outside-without-reason").map(|(_, says)| says);
    assert_eq!(found.is_some(), verdict == Verdict::CouldNotTell, "{volt_var}: {found:?}");
    found
}

#[test]
fn a_moved_point_is_judged_by_the_reference_that_the_same_layers_require() {
    let points = |points: &str| format!("    points: {{ require: {points}, source: one }}");
    let with_reference =
        |volts: &str, curve: &str| format!("    reference-voltage: {{ require: {volts}, source: one }}\n{}", points(curve));
    for (says, reaches) in [
        (points(CURVE), false),
        // the first point at least 0.02 below the second, and at most 0.18 below the reference
        (points("[[0.96 pu, 44 %], [0.98 pu, 0 %], [1.02 pu, 0 %], [1.08 pu, -44 %]]"), false),
        (points("[[0.9601 pu, 44 %], [0.98 pu, 0 %], [1.02 pu, 0 %], [1.08 pu, -44 %]]"), true),
        (points("[[0.82 pu, 44 %], [0.98 pu, 0 %], [1.02 pu, 0 %], [1.08 pu, -44 %]]"), false),
        (points("[[0.8199 pu, 44 %], [0.98 pu, 0 %], [1.02 pu, 0 %], [1.08 pu, -44 %]]"), true),
        // the second within 0.03 of the reference, which is 1 here and 0.99 there
        (points("[[0.92 pu, 44 %], [0.97 pu, 0 %], [1.02 pu, 0 %], [1.08 pu, -44 %]]"), false),
        (points("[[0.92 pu, 44 %], [0.9699 pu, 0 %], [1.02 pu, 0 %], [1.08 pu, -44 %]]"), true),
        (with_reference("0.99 pu", "[[0.92 pu, 44 %], [0.9699 pu, 0 %], [1.02 pu, 0 %], [1.08 pu, -44 %]]"), false),
        // a level outside its own range
        (points("[[0.92 pu, 44.1 %], [0.98 pu, 0 %], [1.02 pu, 0 %], [1.08 pu, -44 %]]"), true),
    ] {
        assert_eq!(overreach(&says).is_some(), reaches, "{says}");
    }
}

/// The standard's own values lie within its own ranges, by the algebra.
#[test]
fn the_standards_curves_lie_within_their_own_ranges() {
    let mut assessor = Assessor::new(shipped_library(), date(2026, 11, 25));
    for standard in ["ieee-1547/2018", "ieee-1547/2018-amd1"] {
        for region in ["a-i", "a-ii", "a-iii", "b-i", "b-ii", "b-iii"] {
            let request = settings_model::library::Request { standard: Some(standard), region, ..Default::default() };
            let book = assessor.books(request, &Facts::default()).unwrap().on(Equipment::Inverter).clone();
            let mut solar = Facts::default();
            solar.set_word(FactId::EnergySource, 0);
            let requirement = &book.requirement(&solar, &[]).requirement;
            for function in ["volt-var", "volt-watt", "watt-var"] {
                let settings = ["points", REFERENCE].into_iter().filter_map(|key| SettingId::find(function, key));
                let entries: Vec<_> = settings.filter_map(|setting| requirement.get(setting)).map(|resolved| &resolved.entry).collect();
                let pinned = entries.iter().flat_map(|entry| entry.require.as_ref().unwrap().exactly(entry.setting, ProvenanceId(0)));
                let claims: Vec<Claim> = entries.iter().flat_map(|entry| entry.adjustable.clone()).chain(pinned).collect();
                let enabled = SettingId::find(function, "state").unwrap();
                assert!(satisfy(&claims, &Facts::default(), &[enabled]).unwrap().is_some(), "{standard} {region} {function}");
                let moved: Vec<Claim> = claims.iter().map(nearer).collect();
                assert!(satisfy(&moved, &Facts::default(), &[enabled]).unwrap().is_none(), "a claim that no curve of these keeps is seen");
            }
        }
    }
}

/// The same claim, of a gap with so much more room that no such curve keeps it.
fn nearer(claim: &Claim) -> Claim {
    let far = |bound: &Bound| Bound { value: Amount { number: bound.value.number + Exact::from(1000), ..bound.value }, ..*bound };
    match (&claim.limit, claim.on) {
        (Limit::AtLeast(bound), Term::Gap(..)) => Claim { limit: Limit::AtLeast(far(bound)), ..claim.clone() },
        (Limit::AtMost(bound), Term::Gap(..)) => {
            let bound = Bound { value: Amount { number: bound.value.number - Exact::from(1000), ..bound.value }, ..*bound };
            Claim { limit: Limit::AtMost(bound), ..claim.clone() }
        }
        _ => claim.clone(),
    }
}

#[test]
fn a_moved_reference_may_not_drag_the_points_outside() {
    let moved = |volts: &str| format!("    reference-voltage: {{ require: {volts}, source: one }}");
    assert_eq!(overreach(&moved("1.01 pu")), None, "0.98 to 1.01, and 1.01 to 1.04");
    let says = overreach(&moved("1.03 pu")).unwrap();
    assert!(says.contains("volt-var/reference-voltage takes volt-var/points along"), "{says}");
    let reason = "    reference-voltage: { require: 1.03 pu, outside-because: the line is long, source: one }";
    assert_eq!(overreach(reason), None);
    let along = "    reference-voltage: { require: 1.03 pu, source: one }
    points: { require: [[0.95 pu, 44 %], [1.01 pu, 0 %], [1.05 pu, 0 %], [1.11 pu, -44 %]], source: one }";
    assert_eq!(overreach(along), None);
}

#[test]
fn a_moved_range_lies_within_the_relative_one_whatever_it_leaves() {
    let range = |first: &str, second: &str| {
        format!(
            "    points:
      require: {CURVE}
      adjustable: [[{first}, 44 %], [{second}, 0 %], [1.01 pu to 1.02 pu, 0 %], [previous + 0.04 pu to 1.10 pu, -44 %]]
      moved-by: installer
      source: one"
        )
    };
    assert_eq!(overreach(&range("0.90 pu to 0.95 pu", "0.97 pu to 0.99 pu")), None, "0.95 to 0.97 is 0.02");
    assert_eq!(overreach(&range("reference - 0.10 pu to next - 0.03 pu", "reference - 0.02 pu to reference")), None);
    for (first, second) in [
        ("0.90 pu to 0.951 pu", "0.97 pu to 0.99 pu"),
        ("reference - 0.10 pu to next - 0.01 pu", "0.97 pu to 0.99 pu"),
        ("reference - 0.19 pu to next - 0.03 pu", "0.97 pu to 0.99 pu"),
        ("0.90 pu to 0.95 pu", "0.96 pu to 0.99 pu"),
    ] {
        let says = overreach(&range(first, second)).unwrap_or_else(|| panic!("{first}, {second}"));
        assert!(says.contains("the adjustable range of volt-var/points"), "{says}");
    }
}

/// Invented: a network that leaves the points to the installer, around a reference of its choice.
const LEFT_TO_INSTALLER: &str = "    reference-voltage: { comply: 0.95 pu to 1.05 pu, source: one }
    points:
      comply: [[reference - 0.10 pu to next - 0.02 pu, 30 % to 44 %], [reference - 0.03 pu to reference, 0 %], [reference to reference + 0.03 pu, 0 %], [previous + 0.02 pu to reference + 0.10 pu, -44 % to -30 %]]
      source: one";

#[test]
fn what_a_device_holds_is_judged_by_its_own_reference() {
    let others = "reference-follows: off, reference-time-constant: 300 s, response-time: 5 s";
    let device = |reference: &str, points: &str| format!("reference-voltage: {reference}, points: {points}, {others}");
    let points = "[[0.93 pu, 44 %], [0.99 pu, 0 %], [1.02 pu, 0 %], [1.08 pu, -44 %]]";
    for (reference, points, fails) in [
        ("1 pu", points, None),
        ("1.02 pu", points, None),
        ("122.4 V", "[[111.6 V, 44 %], [118.8 V, 0 %], [122.4 V, 0 %], [129.6 V, -44 %]]", None),
        ("1.0201 pu", points, Some("point 2 is 0.99 pu (118.8 V), required reference - 0.03 pu to reference, 0.012 V too low")),
        ("0.98 pu", points, Some("point 2 is 0.99 pu (118.8 V), required reference - 0.03 pu to reference, 1.2 V too high (and 1 more)")),
        (
            "1 pu",
            "[[0.98 pu, 44 %], [0.99 pu, 0 %], [1.02 pu, 0 %], [1.08 pu, -44 %]]",
            Some("point 1 is 0.98 pu (117.6 V), required reference - 0.1 pu to next point - 0.02 pu, 1.2 V too high"),
        ),
    ] {
        let (verdict, findings) = check(LEFT_TO_INSTALLER, true, &device(reference, points));
        match fails {
            None => assert_eq!((verdict, findings.len()), (Verdict::Complies, 0), "{reference}: {findings:?}"),
            Some(says) => {
                assert_eq!(verdict, Verdict::DoesNotComply, "{reference}: {findings:?}");
                assert!(findings.len() == 1 && findings[0].1.contains(says), "{reference}: {findings:?}");
            }
        }
    }
}

#[test]
fn an_unstated_reference_is_the_regions_or_is_missing() {
    let only_points = LEFT_TO_INSTALLER.split_once('\n').unwrap().1;
    let points = "points: [[0.93 pu, 44 %], [0.99 pu, 0 %], [1.02 pu, 0 %], [1.08 pu, -44 %]]";
    let (verdict, findings) = check(only_points, true, points);
    assert_eq!((verdict, findings.len()), (Verdict::Complies, 0), "the region's own reference is 1 pu: {findings:?}");
    let (verdict, findings) = check(only_points, false, points);
    let is_told = |(name, says): &(String, String)| name == "counted-from-unstated" && says.contains("volt-var/reference-voltage");
    assert!(verdict == Verdict::NotProven && findings.iter().any(is_told), "{findings:?}");
}
