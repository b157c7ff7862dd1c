//! Overlays that a compliance officer would want to be told of: each is one finding of its own, at its own line, and the
//! same overlay put right is silent. The network is invented.

use crate::common;

use jiff::civil::date;
use rules::assess::Assessor;
use rules::lint::lint;
use settings_model::finding::{Finding, Outcome};
use settings_model::library::Profile;

const AUSTRALIA: &str = "as-nzs-4777.2/2020-amd2";
const CATEGORIES: &str = "ieee-1547/2018-amd1";

fn overlay(standard: &str, regions: &str, settings: &str) -> String {
    format!(
        "kind: overlay\nnetwork: sallowmere\ntitle: Sallowmere (invented)\nversion: 1.0.0\n\
         issue: {{ name: Issue 1, published: 2026-01-15 }}\nextends: {{ standard: {standard} }}\nregions: [{regions}]\n\
         in-force:\n  - {{ applied: from 2026-02-01 }}\nsources:\n  g1: {{ document: Sallowmere guide, basis: invented }}\n\
         settings:\n{settings}"
    )
}

/// What is found in an overlay alone.
fn found(text: &str) -> (Vec<Finding>, Vec<usize>) {
    let mut library = common::shipped_library();
    let path = "overlays/sallowmere/1.0.0.yaml".to_owned();
    library.add(Profile { name: path.clone(), path, text: text.to_owned().into(), shipped: false });
    let mut assessor = Assessor::new(library, date(2026, 11, 25));
    let linted = lint(&["overlays/sallowmere/1.0.0".to_owned()], &mut assessor);
    let lines = linted.findings.iter().map(|finding| assessor.sources.locate(finding.place).map_or(0, |at| at.line)).collect();
    (linted.findings, lines)
}

/// Settings that are at fault, the name of the finding, its line among them from 1, and the same put right.
struct Faulty {
    on: (&'static str, &'static str),
    settings: &'static str,
    name: &'static str,
    line: usize,
    right: &'static str,
}

const A: (&str, &str) = (AUSTRALIA, "australia-a");
const B_III: (&str, &str) = (CATEGORIES, "b-iii");

#[rustfmt::skip]
const FAULTY: &[Faulty] = &[
    // a kind of site for which no case speaks
    Faulty { on: A, name: "case-missing", line: 2,
        settings: "  export-limit:\n    site-total:\n      cases:\n        - { when: { nameplate-total: at most 30 kVA }, comply: at most 10 kW, source: g1 }\n        - { when: { nameplate-total: over 40 kVA }, comply: at most 15 kW, source: g1 }\n",
        right: "  export-limit:\n    site-total:\n      cases:\n        - { when: { nameplate-total: at most 30 kVA }, comply: at most 10 kW, source: g1 }\n        - { when: { nameplate-total: over 30 kVA }, comply: at most 15 kW, source: g1 }\n" },
    Faulty { on: A, name: "case-missing", line: 2,
        settings: "  export-limit:\n    site-total:\n      cases:\n        - { when: { phases: 1 }, comply: at most 5 kW, source: g1 }\n        - { when: { phases: 3 }, comply: at most 15 kW, source: g1 }\n",
        right: "  export-limit:\n    site-total:\n      cases:\n        - { when: { phases: 1 }, comply: at most 5 kW, source: g1 }\n        - { when: { phases: 3 }, comply: at most 15 kW, source: g1 }\n        - { otherwise: as the layer below }\n" },
    Faulty { on: A, name: "case-missing", line: 2,
        settings: "  export-limit:\n    site-total:\n      cases:\n        - { when: { phases: 1, export-kind: fixed }, comply: at most 5 kW, source: g1 }\n        - { when: { phases: 2 to 3, export-kind: fixed }, comply: at most 15 kW, source: g1 }\n        - { when: { phases: 1, export-kind: dynamic }, comply: at most 7 kW, source: g1 }\n",
        right: "  export-limit:\n    site-total:\n      cases:\n        - { when: { phases: 1, export-kind: fixed }, comply: at most 5 kW, source: g1 }\n        - { when: { phases: 2 to 3, export-kind: fixed }, comply: at most 15 kW, source: g1 }\n        - { when: { export-kind: dynamic }, comply: at most 7 kW, source: g1 }\n" },
    Faulty { on: A, name: "case-missing", line: 2,
        settings: "  reconnection:\n    observation-time:\n      cases:\n        - { when: { nameplate: under 5 kVA }, require: 70 s, because: small, source: g1 }\n        - { when: { nameplate: over 5 kVA }, require: 90 s, because: large, source: g1 }\n",
        right: "  reconnection:\n    observation-time:\n      cases:\n        - { when: { nameplate: under 5 kVA }, require: 70 s, because: small, source: g1 }\n        - { when: { nameplate: at least 5 kVA }, require: 90 s, because: large, source: g1 }\n" },
    // what complies, or a range that is left to somebody, lets the response go against the voltage
    Faulty { on: A, name: "response-may-go-wrong-way", line: 2,
        settings: "  volt-var:\n    points: { comply: [[207 V, 44 %], [220 V, 0 %], [240 V, 0 %], [258 V, -60 % to 10 %]], source: g1 }\n",
        right: "  volt-var:\n    points: { comply: [[207 V, 44 %], [220 V, 0 %], [240 V, 0 %], [258 V, -60 % to 0 %]], source: g1 }\n" },
    Faulty { on: A, name: "response-may-go-wrong-way", line: 2,
        settings: "  volt-var:\n    points: { adjustable: [[180 V to 230 V, -5 % to 60 %], [180 V to 230 V, 0 %], [230 V to 265 V, 0 %], [230 V to 265 V, -60 % to -30 %]], moved-by: network operator, outside-because: as the guide has it, source: g1 }\n",
        right: "  volt-var:\n    points: { adjustable: [[180 V to 230 V, 0 % to 60 %], [180 V to 230 V, 0 %], [230 V to 265 V, 0 %], [230 V to 265 V, -60 % to -30 %]], moved-by: network operator, outside-because: as the guide has it, source: g1 }\n" },
    Faulty { on: A, name: "response-may-go-wrong-way", line: 2,
        settings: "  volt-watt:\n    points: { comply: [[250 V, 20 % to 60 %], [258 V, 20 % to 100 %]], source: g1 }\n",
        right: "  volt-watt:\n    points: { comply: [[250 V, 60 % to 100 %], [258 V, 20 % to 60 %]], source: g1 }\n" },
    // reactive power that works against the voltage
    Faulty { on: A, name: "response-wrong-way", line: 2,
        settings: "  volt-var:\n    points: { require: [[207 V, -44 %], [220 V, 0 %], [240 V, 0 %], [258 V, 60 %]], outside-because: as the guide has it, source: g1 }\n",
        right: "  volt-var:\n    points: { require: [[207 V, 44 %], [220 V, 0 %], [240 V, 0 %], [258 V, -55 %]], because: as the guide has it, source: g1 }\n" },
    Faulty { on: A, name: "response-wrong-way", line: 2,
        settings: "  volt-var:\n    points: { require: [[207 V, 44 %], [220 V, 0 %], [240 V, 0 %], [258 V, 60 %]], outside-because: as the guide has it, source: g1 }\n",
        right: "  volt-var:\n    points: { require: [[207 V, 44 %], [220 V, 0 %], [240 V, 0 %], [258 V, -60 %]], because: as the guide has it, source: g1 }\n" },
    Faulty { on: A, name: "response-wrong-way", line: 2,
        settings: "  volt-var:\n    points: { require: [[207 V, -10 %], [220 V, -10 %], [240 V, -10 %], [258 V, -60 %]], outside-because: as the guide has it, source: g1 }\n",
        right: "  volt-var:\n    points: { require: [[207 V, 40 %], [220 V, 0 %], [240 V, 0 %], [258 V, -60 %]], because: as the guide has it, source: g1 }\n" },
    Faulty { on: A, name: "response-wrong-way", line: 2,
        settings: "  volt-var:\n    points: { require: [[207 V, 30 %], [220 V, 0 %], [240 V, 20 %], [258 V, -60 %]], outside-because: as the guide has it, source: g1 }\n",
        right: "  volt-var:\n    points: { require: [[207 V, 30 %], [220 V, 20 %], [240 V, 0 %], [258 V, -60 %]], outside-because: as the guide has it, source: g1 }\n" },
    Faulty { on: B_III, name: "response-wrong-way", line: 3,
        settings: "  volt-var:\n    state: { require: enabled, because: weak feeders, source: g1 }\n    points: { require: [[0.92 pu, -44 %], [0.98 pu, 0 %], [1.02 pu, 0 %], [1.08 pu, 44 %]], outside-because: as the guide has it, source: g1 }\n",
        right: "  volt-var:\n    state: { require: enabled, because: weak feeders, source: g1 }\n    points: { require: [[0.93 pu, 44 %], [0.98 pu, 0 %], [1.02 pu, 0 %], [1.08 pu, -44 %]], because: as the guide has it, source: g1 }\n" },
    // output that rises with the voltage
    Faulty { on: A, name: "response-wrong-way", line: 2,
        settings: "  volt-watt:\n    points: { require: [[253 V, 20 %], [260 V, 100 %]], outside-because: as the guide has it, source: g1 }\n",
        right: "  volt-watt:\n    points: { require: [[252 V, 100 %], [260 V, 20 %]], because: as the guide has it, source: g1 }\n" },
    Faulty { on: B_III, name: "response-wrong-way", line: 3,
        settings: "  volt-watt:\n    state: { require: enabled, because: weak feeders, source: g1 }\n    points: { require: [[1.06 pu, 20 %], [1.10 pu, 100 %]], outside-because: as the guide has it, source: g1 }\n",
        right: "  volt-watt:\n    state: { require: enabled, because: weak feeders, source: g1 }\n    points: { require: [[1.05 pu, 100 %], [1.10 pu, 20 %]], because: as the guide has it, source: g1 }\n" },
    Faulty { on: A, name: "response-wrong-way", line: 2,
        settings: "  volt-watt-charging:\n    points: { when: { energy-source: storage }, require: [[207 V, 100 %], [215 V, 20 %]], outside-because: as the guide has it, source: g1 }\n",
        right: "  volt-watt-charging:\n    points: { when: { energy-source: storage }, require: [[207 V, 10 %], [215 V, 100 %]], because: as the guide has it, source: g1 }\n" },
    // a stage that leaves the ten-minute limit nothing to do
    Faulty { on: A, name: "never-acts", line: 2,
        settings: "  overvoltage-1:\n    threshold: { require: 256 V, outside-because: old loads, source: g1 }\n",
        right: "  overvoltage-1:\n    threshold: { require: 262 V, outside-because: old loads, source: g1 }\n" },
    Faulty { on: A, name: "never-acts", line: 2,
        settings: "  overvoltage-1:\n    threshold: { require: 258 V, outside-because: old loads, source: g1 }\n",
        right: "  overvoltage-1:\n    threshold: { require: 258.5 V, outside-because: old loads, source: g1 }\n" },
    // what nobody can have meant
    Faulty { on: A, name: "nobody-can-comply", line: 3,
        settings: "  reconnection:\n    lower-voltage: { require: 253 V, outside-because: x, source: g1 }\n    upper-voltage: { require: 207 V, outside-because: x, source: g1 }\n",
        right: "  reconnection:\n    lower-voltage: { require: 207 V, outside-because: x, source: g1 }\n    upper-voltage: { require: 252 V, outside-because: x, source: g1 }\n" },
    Faulty { on: A, name: "may-be-written-otherwise", line: 2,
        settings: "  overvoltage-2:\n    threshold: { require: 2750 V, outside-because: x, source: g1 }\n",
        right: "  overvoltage-2:\n    threshold: { require: 280 V, outside-because: x, source: g1 }\n" },
    Faulty { on: A, name: "may-be-written-otherwise", line: 2,
        settings: "  overvoltage-2:\n    threshold: { require: 476.3 V, outside-because: x, source: g1 }\n",
        right: "  overvoltage-2:\n    threshold: { require: 285 V, outside-because: x, source: g1 }\n" },
    Faulty { on: A, name: "asks-nothing", line: 3,
        settings: "  export-limit:\n    state: { require: off, source: g1 }\n    site-total: { comply: at most 5 kW, source: g1 }\n",
        right: "  export-limit:\n    state: { require: enabled, source: g1 }\n    site-total: { comply: at most 5 kW, source: g1 }\n" },
    Faulty { on: A, name: "two-reactive-modes", line: 2,
        settings: "  fixed-power-factor:\n    state: { require: enabled, outside-because: x, source: g1 }\n    power-factor: { require: 0.9, source: g1 }\n    direction: { require: absorbing, source: g1 }\n",
        right: "  volt-var:\n    state: { require: off, outside-because: x, source: g1 }\n  fixed-power-factor:\n    state: { require: enabled, outside-because: x, source: g1 }\n    power-factor: { require: 0.9, source: g1 }\n    direction: { require: absorbing, source: g1 }\n" },
    Faulty { on: A, name: "below-zero", line: 2,
        settings: "  export-limit:\n    site-total: { comply: at most -5 kW, source: g1 }\n",
        right: "  export-limit:\n    site-total: { comply: at most 0 kW, source: g1 }\n" },
    Faulty { on: A, name: "beyond-rating", line: 2,
        settings: "  volt-var:\n    points: { require: [[207 V, 144 %], [220 V, 0 %], [240 V, 0 %], [258 V, -60 %]], outside-because: x, source: g1 }\n",
        right: "  volt-var:\n    points: { require: [[207 V, 45 %], [220 V, 0 %], [240 V, 0 %], [258 V, -60 %]], outside-because: x, source: g1 }\n" },
    Faulty { on: A, name: "case-not-governed", line: 2,
        settings: "  sustained-overvoltage:\n    threshold: { when: { applied: until 2020-01-01 }, require: 255 V, source: g1 }\n",
        right: "  sustained-overvoltage:\n    threshold: { when: { applied: until 2027-01-01 }, require: 255 V, source: g1 }\n" },
    // a trip by rate of change where the device has to stay on
    Faulty { on: A, name: "trip-inside-withstand", line: 3,
        settings: "  rate-of-change-of-frequency:\n    state: { require: enabled, source: g1 }\n    threshold: { require: 1 Hz/s, source: g1 }\n",
        right: "  rate-of-change-of-frequency:\n    state: { require: enabled, source: g1 }\n    threshold: { require: 4 Hz/s, source: g1 }\n" },
    Faulty { on: B_III, name: "trip-inside-withstand", line: 3,
        settings: "  rate-of-change-of-frequency:\n    state: { require: enabled, source: g1 }\n    threshold: { comply: 2 Hz/s to 5 Hz/s, source: g1 }\n",
        right: "  rate-of-change-of-frequency:\n    state: { require: enabled, source: g1 }\n    threshold: { comply: 3 Hz/s to 5 Hz/s, source: g1 }\n" },
];

#[test]
fn each_fault_is_one_finding_at_its_line_and_put_right_it_is_none() {
    for (n, Faulty { on: (standard, region), settings, name, line, right }) in FAULTY.iter().enumerate() {
        let head = overlay(standard, region, "").lines().count();
        let (findings, lines) = found(&overlay(standard, region, settings));
        let told: Vec<_> = findings.iter().zip(&lines).filter(|(finding, _)| finding.name == *name).collect();
        let [(finding, at)] = told[..] else { panic!("{n}: {settings}\n{findings:#?}") };
        let outcome = if *name == "nobody-can-comply" {
            Outcome::Unusable
        } else if ["asks-nothing", "response-may-go-wrong-way"].contains(name) || finding.headline.ends_with("phases 2") {
            Outcome::Remark
        } else {
            Outcome::DoesNotComply
        };
        assert_eq!((finding.outcome, *at), (outcome, head + line), "{n}: {settings}\n{}", finding.headline);
        let (findings, _) = found(&overlay(standard, region, right));
        assert!(findings.iter().all(|finding| finding.name != *name), "{n}: {right}\n{findings:#?}");
    }
}

#[test]
fn shipped_requirements_are_silent() {
    let library = common::shipped_library();
    let keys: Vec<String> = library.profiles().map(|profile| profile.path.trim_end_matches(".yaml").to_owned()).collect();
    let keys: Vec<String> = keys.into_iter().filter(|key| key.starts_with("standards/") || key.starts_with("overlays/")).collect();
    assert!(keys.len() >= 25, "{}", keys.len());
    let linted = lint(&keys, &mut Assessor::new(library, date(2026, 11, 25)));
    assert!(linted.findings.is_empty(), "{:#?}", linted.findings);
}
