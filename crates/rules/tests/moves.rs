//! What is told of two versions of an invented network: for whom, how grave, and what to do. Each case was
//! once told wrongly.

use crate::common;
use crate::wending;

use common::*;
use jiff::civil::Date;
use rules::assess::Assessor;
use rules::compare::versions::changes;
use rules::compare::words::{ChangeInWords, told};
use rules::example_site::Under;
use rules::provenance::Verdict;
use rules::revision::weighed;
use settings_model::catalogue::Equipment;
use settings_model::files::{Kind, SiteFile};
use settings_model::reader;
use wending::{STANDARD, network};

fn assessor() -> Assessor {
    Assessor::new(shipped_library(), Date::constant(2026, 11, 25))
}

fn settings(statements: &str) -> String {
    format!("settings:\n{statements}")
}

/// What is told of the change from the one to the other, of inverters.
fn between(old: &str, new: &str) -> Vec<ChangeInWords> {
    let mut assessor = assessor();
    let (old, new) = (network(1, STANDARD, &settings(old), &mut assessor), network(2, STANDARD, &settings(new), &mut assessor));
    let (old, new) = (&old.on(Equipment::Inverter).rulebook, &new.on(Equipment::Inverter).rulebook);
    changes(old, new, Equipment::Inverter).iter().map(|change| told(change, old, new)).collect()
}

fn lines(told: &[ChangeInWords]) -> Vec<[&str; 4]> {
    told.iter().map(|one| [one.setting.parameter().key, one.reason.step_word(), &one.to_do, &one.sites]).collect()
}

const SWITCH_OFF: &str = "switch it off: a trip stage that nobody asks for may not be left enabled";

#[test]
fn a_condition_that_is_narrowed_concerns_the_sites_between() {
    let stage = |kva: u32| {
        format!("  vector-shift:\n    state: {{ when: {{ nameplate-total: over {kva} kVA }}, require: enabled, source: guide }}\n")
    };
    let between_both = "nameplate-total over 30 kVA to 40 kVA";
    let found = between(&stage(30), &stage(40));
    assert_eq!(lines(&found), [["state", "breaking", SWITCH_OFF, between_both]]);
    let found = between(&stage(40), &stage(30));
    assert_eq!(lines(&found), [["state", "breaking", "set it to enabled, and set what else is asked of it", between_both]]);
}

#[test]
fn a_hole_in_cases_concerns_the_sites_in_it() {
    let cases = |kva: u32| {
        let small = "{ when: { nameplate-total: at most 10 kVA }, require: 255 V, source: guide }";
        let large = format!("{{ when: {{ nameplate-total: over {kva} kVA }}, require: 256 V, source: guide }}");
        format!("  sustained-overvoltage: {{ threshold: {{ cases: [{small}, {large}] }} }}\n")
    };
    let found = between(&cases(10), &cases(15));
    let to_do = "ask the network operator what it requires of such a site: none of the cases is for it any more";
    assert_eq!(lines(&found), [["threshold", "breaking", to_do, "nameplate-total over 10 kVA to 15 kVA"]]);
}

#[test]
fn a_threshold_of_a_condition_that_moves_changes_sides_between() {
    let cases = |day: &str, next: &str| {
        let early = format!("{{ when: {{ applied: until {day} }}, require: 255 V, source: guide }}");
        let late = format!("{{ when: {{ applied: from {next} }}, require: 256 V, source: guide }}");
        format!("  sustained-overvoltage: {{ threshold: {{ cases: [{early}, {late}] }} }}\n")
    };
    let found = between(&cases("2026-06-30", "2026-07-01"), &cases("2026-08-31", "2026-09-01"));
    let to_do = "set it to 255 V; what was set before no longer complies";
    assert_eq!(lines(&found), [["threshold", "breaking", to_do, "applied 2026-07-01 to 2026-08-31"]]);
}

#[test]
fn a_narrower_range_to_move_in_is_something_to_look_after() {
    let range = |range: &str| {
        format!(
            "  sustained-overvoltage: {{ threshold: {{ require: 255 V, comply: 250 V to 258 V, adjustable: {range}, moved-by: network operator, source: guide }} }}\n"
        )
    };
    let found = between(&range("250 V to 258 V"), &range("252 V to 256 V"));
    let to_do = "nothing, unless somebody moved it: then it may only be within 252 V to 256 V, by network operator";
    assert_eq!(lines(&found), [["threshold", "breaking", to_do, "every site"]]);
    let wider = between(&range("252 V to 256 V"), &range("250 V to 258 V"));
    assert_eq!(wider[0].reason.step_word(), "minor");
}

#[test]
fn a_limit_is_not_a_value_to_set() {
    let limit = |limit: &str| {
        format!("  export-limit: {{ state: {{ require: enabled, source: guide }}, site-total: {{ comply: {limit}, source: guide }} }}\n")
    };
    let to_do = |old: &str, new: &str| between(&limit(old), &limit(new))[0].to_do.clone();
    assert_eq!(
        to_do("at most 15 kW", "at most 12 kW"),
        "where it is above 12 kW, set it to 12 kW or less; 15 kW, for example, no longer complies"
    );
    assert_eq!(
        to_do("at most 15 kW", "under 12 kW"),
        "where it is 12 kW or more, set it to less than 12 kW; 12 kW, for example, no longer complies"
    );
    assert!(
        to_do("at most 15 kW", "5 kW to 12 kW").starts_with("where it is not within 5 kW to 12 kW, set it to a value within 5 kW to 12 kW")
    );
    assert!(to_do("at most 15 kW", "12 kW").starts_with("set it to 12 kW"));
}

/// Where the standard leaves a value to the network operator, nobody complies until it is said.
#[test]
fn an_open_range_narrowed_to_one_of_its_values_takes_nothing_away() {
    let open = "adjustable: 200 s to 400 s, moved-by: network operator";
    let said = "require: 300 s, adjustable: 200 s to 400 s, moved-by: network operator";
    let line = |verbs: &str| format!("  reconnection: {{ ramp-time: {{ {verbs}, source: guide }} }}\n");
    let found = between(&line(open), &line(said));
    assert_eq!(lines(&found), [["ramp-time", "minor", "set it to 300 s", "every site"]]);
    let back = between(&line(said), &line(open));
    let to_do = "ask the network operator for the value, within 200 s to 400 s, and set it";
    assert_eq!(lines(&back), [["ramp-time", "breaking", to_do, "every site"]]);
}

/// The older edition's file does not hold what the newer one's does: nobody knows whether it was asked.
#[test]
fn what_an_older_file_does_not_cover_was_not_added() {
    let mut assessor = assessor();
    let of = |key: &str, assessor: &mut Assessor| {
        let all = assessor.library.rulebooks_in_every_region(key, &mut assessor.sources).unwrap();
        all.into_iter().map(|books| books[Equipment::Inverter as usize].clone()).collect::<Vec<_>>()
    };
    let (old, new) = (of("as-nzs-4777.2/2015", &mut assessor), of("as-nzs-4777.2/2020-amd2", &mut assessor));
    let new = new.iter().find(|book| book.region == "new-zealand").unwrap();
    let old = old.iter().find(|book| book.region == "new-zealand").unwrap();
    let found: Vec<ChangeInWords> = changes(old, new, Equipment::Inverter).iter().map(|change| told(change, old, new)).collect();
    let of_setting = |path: &str| found.iter().find(|one| one.setting == setting(path)).unwrap();
    assert_eq!(of_setting("reconnection/lower-voltage").what, "not proven");
    assert_eq!(of_setting("reconnection/lower-voltage").reason.step_word(), "not-proven");
    // an enabled stage that nobody asks for is a fault, but here nobody knows whether it is asked for
    let stage = of_setting("phase-balance/limit");
    assert_eq!((stage.what, stage.reason.step_word()), ("not covered by the newer profile", "breaking"));
    assert!(stage.to_do.starts_with("look into the newer document itself"), "{}", stage.to_do);
    assert!(found.iter().all(|one| one.what != "added"), "{:?}", found.iter().filter(|one| one.what == "added").collect::<Vec<_>>());
}

/// A network that says a standard's own gap is filled is believed.
#[test]
fn what_a_network_adds_is_added() {
    let found = between(
        "  reconnection: { ramp-rate: { require: 10 %/min, source: guide } }\n",
        "  reconnection: { ramp-rate: { require: 10 %/min, source: guide }, ramp-time: { comply: at most 400 s, source: guide } }\n",
    );
    assert_eq!((found[0].what, found[0].reason.step_word()), ("added", "breaking"));
    assert_eq!(found[0].to_do, "set it to 400 s or less");
}

/// What a function is asked while it has to be off is nothing; once it has to act, all of it.
#[test]
fn a_function_that_has_to_act_brings_its_settings_along() {
    let state = |word: &str| format!("  volt-var: {{ state: {{ require: {word}, source: guide }} }}\n");
    let on = between(&state("off"), &state("enabled"));
    assert_eq!(on[0].to_do, "set it to enabled, and set what else is asked of it; what was set before no longer complies");
    assert!(on[1..].iter().any(|one| one.setting == setting("volt-var/points") && one.reason.step_word() == "breaking"));
    let off = between(&state("enabled"), &state("off"));
    assert!(off[0].to_do.starts_with("set it to off"));
    assert!(off[1..].iter().all(|one| one.to_do.starts_with("nothing")), "{:?}", lines(&off));
}

/// Whoever a change of an export limit strands is shown, with the dates of a site that the newer version
/// governs, so that `check` says the same.
#[test]
fn an_example_of_an_export_limit_stands_as_check_judges_it() {
    let rest = "    state: { require: enabled, source: guide }\n    counts: { require: site-total, source: guide }\n";
    for (old, new) in [
        ("comply: at most 15 kW", "comply: at most 12 kW"),
        ("comply: 5 kW to 15 kW", "require: 5 kW"),
        ("require: 15 kW", "require: 12 kW"),
    ] {
        let mut assessor = assessor();
        let limit = |verbs: &str| {
            settings(&format!(
                "  export-limit:\n{rest}    site-total: {{ cases: [{{ when: {{ phases: 3, export-kind: fixed }}, {verbs}, source: guide }}, {{ otherwise: as the layer below }}] }}\n"
            ))
        };
        let older = network(1, STANDARD, &limit(old), &mut assessor);
        let newer = network(2, STANDARD, &limit(new), &mut assessor);
        let under = Under { network: Some("wending"), standard: STANDARD, region: "australia-a" };
        let found = weighed(&older, &newer, under, &mut assessor);
        let [one] = &found[..] else { panic!("{found:?}") };
        let example = one.example.as_ref().unwrap_or_else(|| panic!("{old} to {new}: nobody is shown"));
        assert!(example.site.contains("\ndates: { applied: 2022-02-01 }\n"), "{}", example.site);
        let source = assessor.sources.add("example", example.site.as_str());
        let root = reader::read(source, &example.site, Kind::Site).unwrap_or_else(|faults| panic!("{faults:?}\n{}", example.site));
        let site: SiteFile<'_> = reader::typed(&root).unwrap();
        assert_eq!(assessor.assess(&site).verdict, Verdict::DoesNotComply, "{}", example.site);
        assessor.library.keep_versions("wending", |version| version.major == 1);
        let mut before = Assessor::new(assessor.library, Date::constant(2026, 11, 25));
        assert_eq!(before.assess(&site).verdict, Verdict::Complies, "{}", example.site);
    }
}

/// An edition that asks for it at fewer sites speaks of the others.
#[test]
fn an_edition_that_asks_it_of_fewer_sites_is_not_silent() {
    let mut assessor = assessor();
    let of = |key: &str, assessor: &mut Assessor| {
        let mut all = assessor.library.rulebooks_in_every_region(key, &mut assessor.sources).unwrap();
        all.remove(0)[Equipment::Installation as usize].clone()
    };
    let (old, new) = (of("as-nzs-4777.1/2016", &mut assessor), of("as-nzs-4777.1/2024", &mut assessor));
    let found: Vec<ChangeInWords> = changes(&old, &new, Equipment::Installation).iter().map(|change| told(change, &old, &new)).collect();
    let relay = found.iter().find(|one| one.setting == setting("central-protection/state")).unwrap();
    // devices that share power between premises may still need it there: what the edition says of them was not seen
    assert_eq!((relay.what, relay.sites.as_str()), ("not proven", "nameplate-total over 30 kVA to 200 kVA"));
    assert!(relay.to_do.starts_with("look into"), "{}", relay.to_do);
}

const RELAY: &str = "grid-protection-relay:
  overvoltage-1:
    state: { require: enabled, source: guide }
    threshold: { require: 262 V, source: guide }
";

const ABOVE_30_KVA: &str = "installation:
  central-protection:
    state:
      cases:
        - { when: { nameplate-total: over 30 kVA }, require: enabled, source: guide }
        - { otherwise: as the layer below }
";

const THRESHOLD: &str = "settings:\n  sustained-overvoltage: { threshold: { require: 255 V, source: guide } }\n";

/// Of a relay that nobody asked for before no site can be shown that complied with one: shown is a site that
/// complied without, and has to have one now.
#[test]
fn whoever_has_to_have_a_relay_now_is_shown_without_one() {
    let mut assessor = assessor();
    let old = network(1, STANDARD, THRESHOLD, &mut assessor);
    let new = network(2, STANDARD, &format!("{THRESHOLD}{ABOVE_30_KVA}{RELAY}"), &mut assessor);
    let under = Under { network: Some("wending"), standard: STANDARD, region: "australia-a" };
    let found = weighed(&old, &new, under, &mut assessor);
    let of_relay: Vec<_> = found.iter().filter(|one| one.kind == Equipment::GridProtectionRelay).collect();
    assert_eq!(of_relay.len(), 2, "{found:?}");
    for one in of_relay {
        assert_eq!(one.step(), rules::revision::Step::Breaking);
        let example = one.example.as_ref().unwrap_or_else(|| panic!("nobody is shown: {one:?}"));
        assert!(!example.site.contains("grid-protection-relay"), "{}", example.site);
        let root = read_site(&example.site, &mut assessor).unwrap();
        let site: SiteFile<'_> = reader::typed(&root).unwrap();
        assert_eq!(assessor.assess_under(&site, &old).verdict, Verdict::Complies, "{}", example.site);
        let after = assessor.assess_under(&site, &new);
        assert_eq!(after.verdict, Verdict::DoesNotComply, "{}", example.site);
        let faults: Vec<_> = after.devices.iter().flat_map(|device| &device.faults).map(|fault| fault.setting).collect();
        assert_eq!(faults, [setting("central-protection/state")], "{}", example.site);
    }
}

/// Where no site has to have one, nobody who complied is asked for anything.
#[test]
fn what_is_asked_of_a_relay_that_nobody_needs_is_not_breaking() {
    let mut assessor = assessor();
    let old = network(1, STANDARD, THRESHOLD, &mut assessor);
    let new = network(2, STANDARD, &format!("{THRESHOLD}{RELAY}"), &mut assessor);
    let under = Under { network: Some("wending"), standard: STANDARD, region: "australia-a" };
    let found = weighed(&old, &new, under, &mut assessor);
    assert_eq!(found.len(), 2, "{found:?}");
    for one in &found {
        assert_eq!((one.step(), one.change.reason.nobody_complied()), (rules::revision::Step::Minor, true), "{one:?}");
    }
    let [old, new] = [&old, &new].map(|books| &books.on(Equipment::GridProtectionRelay).rulebook);
    assert_eq!(told(&found[1].change, old, new).to_do, "set it to 262 V");
}

/// The limit on the ten-minute mean comes to lie below the start of volt-watt: nobody can keep both.
#[test]
fn a_tie_that_nobody_can_keep_any_more_is_told_first() {
    let threshold = |verbs: &str| format!("  sustained-overvoltage: {{ threshold: {{ {verbs}, source: guide }} }}\n");
    let found = between(&threshold("comply: 254 V to 258 V"), &threshold("comply: 250 V to 252 V"));
    assert_eq!(found.len(), 1);
    let to_do = &found[0].to_do;
    assert!(to_do.starts_with("ask the network operator first: no value keeps this rule too: volt-watt starts below"), "{to_do}");
    assert!(to_do.contains("; then where it is not within 250 V to 252 V"), "{to_do}");
}

/// Values that comply alone and break a tie together: the line that asks for another value names the rule.
#[test]
fn a_tie_that_some_values_break_is_named() {
    let threshold = |verbs: &str| format!("  sustained-overvoltage: {{ threshold: {{ {verbs}, source: guide }} }}\n");
    let found = between(&threshold("comply: 254 V to 258 V"), &threshold("comply: 252 V to 256 V"));
    let [one] = &found[..] else { panic!("{found:?}") };
    assert!(one.to_do.starts_with("where it is not within 252 V to 256 V"), "{}", one.to_do);
    assert!(
        matches!(&one.keep[..], [rule] if rule.starts_with("volt-watt starts below the sustained-overvoltage limit")),
        "{:?}",
        one.keep
    );
    let fixed = between(&threshold("comply: 254 V to 258 V"), &threshold("require: 255 V"));
    assert!(fixed[0].keep.is_empty(), "{:?}", fixed[0].keep);
}

/// An example is one of the change that it is shown for, and not of another that the same site falls under.
#[test]
fn an_example_breaks_what_it_is_an_example_of() {
    let mut assessor = assessor();
    let old = network(1, STANDARD, THRESHOLD, &mut assessor);
    let more = "installation:
  site-rating: { nameplate-total: { cases: [{ when: { phases: 1 }, comply: at most 20 kVA, source: guide }, { otherwise: as the layer below }] } }
  voltage-rise: { total: { comply: at most 2 %, source: guide } }
";
    let new = network(2, STANDARD, &format!("{THRESHOLD}{more}"), &mut assessor);
    let under = Under { network: Some("wending"), standard: STANDARD, region: "australia-a" };
    let found = weighed(&old, &new, under, &mut assessor);
    assert_eq!(found.len(), 2, "{found:?}");
    for one in &found {
        let example = one.example.as_ref().unwrap_or_else(|| panic!("nobody is shown: {one:?}"));
        let root = read_site(&example.site, &mut assessor).unwrap();
        let site: SiteFile<'_> = reader::typed(&root).unwrap();
        let after = assessor.assess_under(&site, &new);
        let mut faults = after.devices.iter().flat_map(|device| &device.faults);
        assert!(faults.any(|fault| fault.setting == one.change.setting), "{}: {}", one.change.setting, example.site);
    }
}

/// A site that may not export is limited to nothing whoever asks: a limit that is taken away may not read as if
/// it were free.
#[test]
fn a_limit_that_is_taken_away_stays_where_nothing_may_be_exported() {
    let limit = |when: &str| {
        let said = "{ comply: at most 5 kW, source: guide }";
        let cases = format!(
            "{{ cases: [{{ when: {{ export-kind: {when} }}, comply: at most 5 kW, source: guide }}, {{ otherwise: as the layer below }}] }}"
        );
        format!("  export-limit: {{ site-total: {} }}\n", if when.is_empty() { said } else { &cases })
    };
    let rest = "  sustained-overvoltage: { threshold: { require: 255 V, source: guide } }\n";
    let to_do = |when: &str| between(&format!("{rest}{}", limit(when)), rest)[0].to_do.clone();
    let stays = "nothing: it is no longer asked; a site that may not export stays limited to 0 W";
    assert_eq!([to_do(""), to_do("none"), to_do("fixed")], [stays, stays, "nothing: it is no longer asked"]);
}
