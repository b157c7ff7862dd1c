//! Version steps: the shipped histories took the steps they deserved, and whoever a breaking change
//! strands complied before and does not after.

use crate::common;

use common::*;
use jiff::civil::Date;
use rules::assess::{Assessor, Books};
use rules::example_site::Under;
use rules::provenance::Verdict;
use rules::revision::{Reason, Step, weighed};
use settings_model::files::{Kind, SiteFile};
use settings_model::library::Profile;
use settings_model::reader;

fn regions(standard: &str, assessor: &mut Assessor) -> Vec<String> {
    let standard = assessor.library.standard(standard, &mut assessor.sources).unwrap();
    standard.file.regions.iter().map(|(key, _)| key.to_owned()).collect()
}

/// Every example is a whole site that reads without a fault, complies under the older version and
/// does not under the newer one, as the judge sees it.
#[test]
fn every_shipped_history_took_the_steps_it_deserved() {
    let mut assessor = Assessor::new(shipped_library(), Date::constant(2026, 11, 25));
    let (mut shown, mut without) = (0, Vec::new());
    for network in assessor.library.networks() {
        for pair in assessor.library.versions(&network).windows(2) {
            let declared = Step::between(&pair[0], &pair[1]).unwrap();
            let standard = assessor.library.standard_below(&network, &pair[0], &mut assessor.sources).unwrap();
            let mut deserved = Step::Patch;
            for region in regions(&standard, &mut assessor) {
                let mut books = |version| assessor.library.rulebooks_of((&network, version), &region, &mut assessor.sources);
                let (Ok(old), Ok(new)) = (books(&pair[0]), books(&pair[1])) else { continue };
                let (old, new) = (Books::of(old), Books::of(new));
                let under = Under { network: Some(&network), standard: &standard, region: &region };
                for weighed in weighed(&old, &new, under, &mut assessor) {
                    deserved = deserved.max(weighed.step());
                    let Some(example) = &weighed.example else {
                        if weighed.step() == Step::Breaking {
                            without.push(format!("{network} {} {region} {}", pair[1], weighed.change.setting));
                        }
                        continue;
                    };
                    shown += 1;
                    let source = assessor.sources.add("example", example.site.as_str());
                    let root =
                        reader::read(source, &example.site, Kind::Site).unwrap_or_else(|faults| panic!("{faults:?}\n{}", example.site));
                    let site: SiteFile<'_> = reader::typed(&root).unwrap();
                    assert_eq!(assessor.assess_under(&site, &old).verdict, Verdict::Complies, "{}", example.site);
                    assert_ne!(assessor.assess_under(&site, &new).verdict, Verdict::Complies, "{}", example.site);
                }
            }
            assert_eq!(deserved, declared, "{network} {} to {}", pair[0], pair[1]);
        }
    }
    assert!(shown >= 30, "{shown}");
    assert_eq!(without, [""; 0]);
}

#[test]
fn a_step_is_named_by_what_it_takes_away() {
    for (reason, step) in [
        (Reason::ValuesLost, Step::Breaking),
        (Reason::NewlyAsked, Step::Breaking),
        (Reason::OtherPointsLost, Step::Breaking),
        (Reason::StageUnasked, Step::Breaking),
        (Reason::EvidenceDemanded, Step::Breaking),
        (Reason::RangeNarrower, Step::Breaking),
        (Reason::FewerMayMove, Step::Breaking),
        (Reason::MoreComplies, Step::Minor),
        (Reason::RequiredMoved, Step::Minor),
        (Reason::WordsOnly, Step::Patch),
    ] {
        assert_eq!(reason.step(), step, "{reason:?}");
    }
    let version = |text: &str| semver::Version::parse(text).unwrap();
    let between = |old: &str, new: &str| Step::between(&version(old), &version(new));
    assert_eq!(between("1.2.3", "2.0.0"), Some(Step::Breaking));
    assert_eq!(between("1.2.3", "1.3.0"), Some(Step::Minor));
    assert_eq!(between("1.2.3", "1.2.4"), Some(Step::Patch));
    assert_eq!(between("0.2.3", "0.3.0"), Some(Step::Breaking), "before 1.0.0 the second number counts");
    assert_eq!(between("1.2.3", "1.2.3"), None);
    assert_eq!(Step::Breaking.after(&version("1.2.3")), version("2.0.0"));
    assert_eq!(Step::Minor.after(&version("1.2.3")), version("1.3.0"));
}

/// An invented network on a standard that says these statements.
fn network(standard: &str, version: u64, statements: &str, assessor: &mut Assessor) {
    let text = format!(
        "kind: overlay
network: wending
title: Wending Lines (invented)
version: {version}.0.0
issue: {{ name: Issue {version}, published: 2025-01-01 }}
extends: {{ standard: {standard} }}
in-force: [{{ applied: from 2025-02-01 }}]
sources:
  guide: {{ document: Wending connection guide, basis: invented }}
settings:
  reconnection: {{ ramp-time: {{ comply: 200 s to 400 s, source: guide }} }}
{statements}"
    );
    let path = format!("overlays/wending/{version}.0.0.yaml");
    assessor.library.add(Profile { name: path.clone(), path, text: text.into(), shipped: false });
}

/// Revisions in which no value that complied is lost, and yet somebody is stranded: each comes with
/// whom.
#[test]
fn a_site_can_be_stranded_though_no_value_is_lost() {
    let stage = "  undervoltage-3: { threshold: { require: 0.30 pu, source: guide } }\n";
    let any_order = "  power-priority: { first: { comply: active-power or reactive-power, source: guide } }\n";
    let known = "  power-priority: { first: { evidence: test, source: guide } }\n";
    let curve = "  volt-watt:\n    state: { require: enabled, source: guide }\n    points: { require: [[1.06 pu, 100 %], [1.08 pu, 60 %], [1.10 pu, 20 %]], source: guide }\n";
    let band = "  volt-watt:\n    state: { require: enabled, source: guide }\n    points: { comply: [[1.05 pu to 1.07 pu, 100 %], [1.08 pu, 60 %], [1.09 pu to 1.10 pu, 0 % to 20 %]], source: guide }\n";
    for (older, newer, setting, reason) in [
        (stage, "", "undervoltage-3/threshold", Reason::StageUnasked),
        ("", any_order, "power-priority/first", Reason::NewlyAsked),
        ("", known, "power-priority/first", Reason::EvidenceDemanded),
        (curve, band, "volt-watt/points", Reason::OtherPointsLost),
    ] {
        let mut assessor = Assessor::new(shipped_library(), Date::constant(2026, 11, 25));
        let standard = "ieee-1547/2018-amd1";
        let [old, new] = [(1, older), (2, newer)].map(|(version, statements)| {
            network(standard, version, statements, &mut assessor);
            let version = semver::Version::new(version, 0, 0);
            Books::of(assessor.library.rulebooks_of(("wending", &version), "b-iii", &mut assessor.sources).unwrap())
        });
        let under = Under { network: Some("wending"), standard, region: "b-iii" };
        let found = weighed(&old, &new, under, &mut assessor);
        // what the standard asks of storage lies below, so that a curve has a line for each kind of source
        assert!(!found.is_empty(), "{newer}");
        for one in &found {
            assert_eq!((one.change.setting.to_string(), one.change.reason), (setting.to_owned(), reason));
            assert_eq!(one.step(), Step::Breaking);
            assert!(one.example.is_some(), "{setting}: nobody is shown");
        }
    }
}

/// A function that the region brings switched off does not act, whether it must be off or may be.
#[test]
fn what_the_region_brings_switched_off_claims_nothing() {
    let may_be_on = "  volt-var: { state: { comply: off or enabled, source: guide } }\n";
    let hangs = "  volt-var: { reference-voltage: { when: { installed: until 2026-06-30 }, require: 0.97 pu, source: guide } }\n";
    let hangs_and_may_be_on = "  volt-var:\n    state: { comply: off or enabled, source: guide }\n    points: { when: { installed: until 2026-06-30 }, require: [[0.90 pu, 44 %], [0.98 pu, 0 %], [1.02 pu, 0 %], [1.08 pu, -44 %]], source: guide }\n";
    let must_be_on_either_way = "  volt-var:\n    state: { cases: [{ when: { installed: until 2026-06-30 }, require: enabled, source: guide }, { when: { installed: from 2026-07-01 }, comply: enabled, source: guide }] }\n";
    let must_be_on_perhaps = "  volt-var:\n    state: { cases: [{ when: { installed: until 2026-06-30 }, comply: enabled or off, source: guide }, { otherwise: as the layer below }] }\n";
    for (statements, state, verdict) in [
        ("", "", Verdict::Complies),
        (may_be_on, "", Verdict::Complies),
        (may_be_on, "state: off, ", Verdict::Complies),
        (may_be_on, "state: enabled, ", Verdict::DoesNotComply),
        // not even where it is not known what would be asked
        (hangs, "", Verdict::Complies),
        (must_be_on_either_way, "state: enabled, ", Verdict::DoesNotComply),
        (must_be_on_perhaps, "state: enabled, ", Verdict::NotProven),
        (must_be_on_perhaps, "state: off, ", Verdict::Complies),
        (hangs_and_may_be_on, "state: enabled, ", Verdict::NotProven),
    ] {
        let mut assessor = Assessor::new(shipped_library(), Date::constant(2026, 11, 25));
        network("ieee-1547/2018-amd1", 1, statements, &mut assessor);
        let text = format!(
            "kind: site
site: tried
network: wending
requirements: {{ region: b-iii }}
dates: {{ applied: 2026-02-01 }}
supply: {{ phases: 1, nominal: 120 V line-neutral }}
devices:
  inverter-1:
    certified: {{ standard: ieee-1547, edition: {{ year: 2018, amendment: 1 }} }}
    as-left:
      known-by: read
      region-selected: b-iii
      settings:
        reconnection: {{ ramp-time: 300 s }}
        volt-var: {{ {state}reference-voltage: 1 pu, points: [[0.90 pu, 44 %], [0.98 pu, 0 %], [1.02 pu, 0 %], [1.08 pu, -44 %]] }}
"
        );
        let source = assessor.sources.add("tried", text.as_str());
        let root = reader::read(source, &text, Kind::Site).unwrap_or_else(|faults| panic!("{faults:?}"));
        let site: SiteFile<'_> = reader::typed(&root).unwrap();
        assert_eq!(assessor.assess(&site).verdict, verdict, "{statements}{state}");
    }
}
