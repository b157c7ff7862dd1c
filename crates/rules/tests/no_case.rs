//! Requirements that ask by cases, at sites that no case is for: what is asked there is not known, so no value is shown
//! to comply, and none that the layers below refuse is let pass.

use crate::common;
use crate::judged_site;
use crate::wending;

use common::shipped_library;
use jiff::civil::Date;
use judged_site::{Came, came, judged_by, one_at_rushmere, rushmere, with, with_overlay};
use rules::assess::Assessor;
use rules::compare::versions::changes;
use rules::compare::words::told;
use rules::provenance::Verdict::{Complies, DoesNotComply, NotProven};
use rules::sheet::{NO_CASE, Task, sheets};
use settings_model::catalogue::Equipment;
use settings_model::files::SiteFile;
use settings_model::reader;
use wending::{STANDARD, network};

const ONE_AND_THREE: &str =
    "{ when: { phases: 1 }, comply: 250 V to 258 V, source: n1 }, { when: { phases: 3 }, require: 256 V, source: n1 }";
const BELOW: &str = ", { otherwise: as the layer below }";

fn threshold(cases: &str) -> String {
    rushmere(&format!("  sustained-overvoltage: {{ threshold: {{ cases: [{cases}] }} }}\n"))
}

/// A site of so many phases whose inverter was left at so many volts, under what asks by these cases.
fn at(cases: &str, phases: u8, volts: &str) -> Came {
    let site = one_at_rushmere().replace("phases: 1", &format!("phases: {phases}"));
    judged_by(with_overlay(&threshold(cases)), &with(&site, "threshold: 258 V", &format!("threshold: {volts}")))
}

#[test]
fn where_no_case_is_for_the_site_nothing_is_shown_to_comply() {
    for (cases, phases, volts, verdict) in [
        (ONE_AND_THREE, 1, "258 V", Complies),
        (ONE_AND_THREE, 2, "258 V", NotProven),
        (ONE_AND_THREE, 2, "256 V", DoesNotComply),
        (ONE_AND_THREE, 3, "256 V", Complies),
        (&format!("{ONE_AND_THREE}{BELOW}"), 2, "258 V", Complies),
        ("{ when: { phases: 1 }, require: 257 V, source: n1 }", 2, "258 V", Complies),
    ] {
        let came = at(cases, phases, volts);
        assert_eq!(came.verdict, verdict, "{cases} {phases} {volts}: {came:#?}");
        assert_eq!(came.of("no-case").is_some(), verdict == NotProven, "{came:#?}");
    }
    let came = at(ONE_AND_THREE, 2, "258 V");
    came.says("no-case", "none of them is for a site like this");
    assert_eq!(came.of("no-case").unwrap().notes, ["its cases depend on: phases (2 here)"]);
}

/// What nobody states, or switches off, may be asked for there.
#[test]
fn leaving_it_out_or_off_proves_nothing_either() {
    let cases = |of: &str| {
        let said = "require: enabled, source: n1";
        rushmere(&format!(
            "  export-limit:\n    {of}: {{ cases: [{{ when: {{ phases: 1 }}, {said} }}, {{ when: {{ phases: 3 }}, {said} }}] }}\n"
        ))
    };
    let limit = cases("site-total").replace("require: enabled", "comply: at most 5 kW");
    let two = one_at_rushmere().replace("phases: 1", "phases: 2");
    let stated = "        export-limit: { state: enabled, site-total: 5 kW, counts: site-total }\n";
    let off = with(&two, stated, "        export-limit: { state: off }\n");
    for overlay in [&cases("state"), &limit] {
        for site in [&two, &with(&two, stated, ""), &off] {
            let came = judged_by(with_overlay(overlay), site);
            assert_eq!((came.verdict == Complies, came.of("no-case").is_some()), (false, true), "{overlay}{site}{came:#?}");
        }
    }
}

/// A site that exports nothing is limited to nothing, whatever cases there are for those that export.
#[test]
fn zero_export_needs_no_case() {
    let kind = |kind: &str| format!("{{ when: {{ export-kind: {kind} }}, comply: at most 5 kW, source: n1 }}");
    let overlay = rushmere(&format!("  export-limit: {{ site-total: {{ cases: [{}, {}] }} }}\n", kind("fixed"), kind("dynamic")));
    let none = with(&one_at_rushmere(), "export: { kind: fixed, approved: 5 kW, reference: QB-1 }", "export: { kind: none }");
    let at = |limit: &str| judged_by(with_overlay(&overlay), &with(&none, "site-total: 5 kW", &format!("site-total: {limit}")));
    assert_eq!([at("0 W").verdict, at("5 kW").verdict], [Complies, DoesNotComply], "{:#?}", at("0 W"));
}

/// Two networks use other words for their routes: a site that names another's is asked by none of them.
#[test]
fn a_word_of_another_network_is_no_way_round() {
    let route = |route: &str| format!("{{ when: {{ route: {route} }}, require: 258 V, source: n1 }}");
    let overlay = threshold(&format!("{}, {}", route("remote-limits"), route("low-export")));
    let site = |route: &str| with(&one_at_rushmere(), "region: australia-a", &format!("region: australia-a, route: {route}"));
    assert_eq!(judged_by(with_overlay(&overlay), &site("low-export")).verdict, Complies);
    let other = judged_by(with_overlay(&overlay), &site("narrow-window"));
    assert_eq!((other.verdict, other.of("no-case").is_some()), (NotProven, true), "{other:#?}");
}

#[test]
fn the_sheet_says_to_ask_and_names_no_value() {
    let mut assessor = Assessor::new(with_overlay(&threshold(ONE_AND_THREE)), Date::constant(2026, 11, 25));
    let text = one_at_rushmere().replace("phases: 1", "phases: 2");
    let source = assessor.sources.add("site.yaml", text.as_str());
    let root = assessor.read_site(source, &text).unwrap();
    let site: SiteFile<'_> = reader::typed(&root).unwrap();
    let facts = site.facts(assessor.today, None);
    let sheets = sheets(&mut assessor, &site, &facts).unwrap();
    let row = sheets[0].rows.iter().find(|row| row.setting.to_string() == "sustained-overvoltage/threshold").unwrap();
    assert_eq!((row.task, &row.set, row.required.as_str()), (Task::Enter, &None, NO_CASE), "{row:?}");
    assert_eq!(row.complies_within, "258 V; what else is asked is not known");
    assert!(sheets[0].is_acted_on(row));
}

/// What is laid over it may say the value after all: then that is what is asked.
#[test]
fn an_approval_of_the_site_says_what_no_case_does() {
    let overlay = threshold(ONE_AND_THREE);
    let site = one_at_rushmere().replace("phases: 1", "phases: 2");
    assert_eq!(judged_by(with_overlay(&overlay), &site).verdict, NotProven);
    let approval = "site-specific-approvals:
  - setting: inverter-1/sustained-overvoltage/threshold
    require: 258 V
    against: { network: rushmere, version: 1.0.0 }
    approval: { reference: RM-7, role: network protection engineer, granted: 2026-09-01, until: 2027-09-01 }
devices:
";
    let approved = judged_by(with_overlay(&overlay), &with(&site, "devices:\n", approval));
    assert!(approved.of("no-case").is_none(), "{approved:#?}");
}

fn lines(old: &str, new: &str) -> Vec<[String; 3]> {
    let mut assessor = Assessor::new(shipped_library(), Date::constant(2026, 11, 25));
    let mut version = |n, cases: &str| {
        let cases = cases.replace("n1", "guide");
        network(n, STANDARD, &format!("settings:\n  sustained-overvoltage: {{ threshold: {{ cases: [{cases}] }} }}\n"), &mut assessor)
    };
    let (old, new) = (version(1, old), version(2, new));
    let (old, new) = (&old.on(Equipment::Inverter).rulebook, &new.on(Equipment::Inverter).rulebook);
    let told = changes(old, new, Equipment::Inverter).iter().map(|change| told(change, old, new)).collect::<Vec<_>>();
    told.into_iter().map(|one| [one.reason.step_word().to_owned(), one.to_do, one.sites]).collect()
}

/// A version that leaves its cases open takes from the sites there what they could show; one that closes them gives
/// them something to show.
#[test]
fn a_comparison_tells_the_sites_that_no_case_is_for_any_more() {
    let closed = format!("{ONE_AND_THREE}{BELOW}");
    let ask = "ask the network operator what it requires of such a site: none of the cases is for it any more";
    let opened = lines(&closed, ONE_AND_THREE);
    assert_eq!(opened, [["breaking", ask, "phases 2"]], "{opened:?}");
    let shut = lines(ONE_AND_THREE, &closed);
    assert_eq!(shut, [["minor", "set it to 258 V", "phases 2"]], "{shut:?}");
    assert_eq!(lines(ONE_AND_THREE, ONE_AND_THREE), Vec::<[String; 3]>::new());
}

/// Drawn lists of cases: a site is short of a case just where none of them holds, and then no value of it passes.
#[test]
fn at_every_site_it_is_as_the_cases_say() {
    const TESTS: [&str; 7] = [
        "phases: 1",
        "phases: 2",
        "phases: 3",
        "nameplate-total: at most 5 kVA",
        "nameplate-total: over 5 kVA to 10 kVA",
        "work: new",
        "work: addition",
    ];
    let (mut short, mut tried) = (0, 0);
    for drawn in 1_u32..128 {
        let cases: Vec<&str> = TESTS.iter().enumerate().filter(|(n, _)| drawn & (1 << n) != 0).map(|(_, test)| *test).collect();
        // those of one fact exclude each other
        let facts: std::collections::BTreeSet<&str> = cases.iter().map(|case| case.split(':').next().unwrap()).collect();
        if cases.len() < 2 || facts.len() > 1 {
            continue;
        }
        let said: Vec<String> = cases.iter().map(|case| format!("{{ when: {{ {case} }}, require: 258 V, source: n1 }}")).collect();
        let overlay = threshold(&said.join(", "));
        let assessor = &mut Assessor::new(with_overlay(&overlay), Date::constant(2026, 11, 25));
        let works = ["new", "addition", "settings-only"];
        let all = (1..=3)
            .flat_map(|phases| [4, 5, 6, 10, 11].map(|kva| (phases, kva)))
            .flat_map(|(phases, kva)| works.map(|work| (phases, kva, work)));
        for (phases, kva, work) in all {
            let site = one_at_rushmere().replace("phases: 1", &format!("phases: {phases}"));
            let site = site.replace("nameplate: 6 kVA", &format!("nameplate: {kva} kVA")).replace("kind: new", &format!("kind: {work}"));
            let is_covered = cases.iter().any(|case| match *case {
                "nameplate-total: at most 5 kVA" => kva <= 5,
                "nameplate-total: over 5 kVA to 10 kVA" => kva > 5 && kva <= 10,
                case => case == format!("phases: {phases}") || case == format!("work: {work}"),
            });
            let came = came(assessor, &site);
            assert_eq!(came.of("no-case").is_none(), is_covered, "{cases:?} {phases} {kva} {work}: {came:#?}");
            assert_eq!(came.verdict == Complies, is_covered, "{came:#?}");
            short += usize::from(!is_covered);
            tried += 1;
        }
    }
    println!("{tried} sites, {short} of them without a case");
    assert!(short >= 60 && tried >= 250, "{short} of {tried}");
}

/// Where a layer adds a demand to one whose content was not seen, the demand that is known is held all the same.
#[test]
fn what_is_added_to_a_gap_is_judged() {
    let overlay = rushmere("  cease-generation: { below: { also: at least 50 V, source: n1 } }\n");
    let at = |volts: &str| {
        let stated = format!("        cease-generation: {{ below: {volts} }}\n        volt-var:");
        judged_by(with_overlay(&overlay), &with(&one_at_rushmere(), "        volt-var:", &stated)).verdict
    };
    assert_eq!([at("49 V"), at("60 V")], [DoesNotComply, Complies]);
}
