//! Every line of a change note against the judge: at a site that complied under the older version,
//! whoever does what the lines say complies under the newer one, and whoever is told to do nothing still
//! does. The lines are those that `diff` prints and `revision-check` weighs; sites are judged as `check`
//! judges them, and counted as `affected` counts them.
//!
//! `ASLEFT_PAIRS=2000` tries more random pairs of versions than a test run does.

use crate::common;
mod followed;
use crate::histories;
use crate::revision_drafts;
use crate::wending;

use common::*;
use followed::{Followed, Outcome, follow, tally};
use jiff::civil::Date;
use proptest::prelude::*;
use proptest::test_runner::{TestCaseError, TestRunner};
use revision_drafts::*;
use rules::assess::{Assessor, Books};
use rules::compare::action::ToDo;
use rules::compare::all_changes;
use rules::compare::step::Step;
use rules::compare::versions::Change;
use rules::example_site::Under;
use rules::revision::sites_before;
use settings_model::catalogue::{ENABLED, Equipment, Shape as SettingShape};
use settings_model::value::Value;
use std::cell::{Cell, RefCell};

const TODAY: Date = Date::constant(2026, 11, 25);

/// Sites tried at each end of each change.
const OF_EACH_CHANGE: usize = 6;

/// Follows the changes from one version to another at sites of every cell that a change is about.
fn every_cell(old: &Books, new: &Books, under: Under<'_>, title: &str, assessor: &mut Assessor, found: &mut Followed) {
    let all = all_changes(old, new);
    for (kind, change) in &all {
        for example in sites_before(change, *kind, (old, new), under).take(OF_EACH_CHANGE) {
            if let Outcome::Contradicted(why) = follow(&example.site, old, new, &all, assessor, found) {
                panic!("{title}, {}: {why}", change.setting);
            }
        }
    }
}

/// Every pair of versions of every shipped network, on every region that both take.
#[test]
fn lines_between_versions_of_networks_are_confirmed() {
    let mut assessor = Assessor::new(shipped_library(), TODAY);
    let mut found = Followed::default();
    for one in histories::of_networks(&mut assessor.library, &mut assessor.sources) {
        every_cell(&one.old, &one.new, one.under(), &one.title(), &mut assessor, &mut found);
    }
    println!("networks: {found:?}");
    assert!(found.complied >= 50 && found.lines >= 50, "{found:?}");
}

/// Every pair of editions of a shipped standard, on every region that both have, and of installation.
#[test]
fn lines_between_editions_of_standards_are_confirmed() {
    let mut assessor = Assessor::new(shipped_library(), TODAY);
    let mut found = Followed::default();
    let moves = histories::of_standards(&mut assessor.library, &mut assessor.sources);
    // those of installation alone have no device to try
    for one in moves.iter().filter(|one| !one.region.is_empty()) {
        every_cell(&one.old, &one.new, one.under(), &one.title(), &mut assessor, &mut found);
    }
    println!("standards: {found:?}");
    // an edition by itself leaves values to the network operator: those sites are followed in all the rest;
    // a site on a route that the standard has no case for does not comply, and is not followed
    assert!(found.complied >= 340 && found.lines >= 3000 && found.left_open >= 300, "{found:?}");
}

/// Every shipped site, under every pair of versions of its network; and with approvals of what it holds. What an
/// approval decides no line is about: it stands against the version that it was granted against, and is taken
/// to be granted anew.
#[test]
fn lines_are_confirmed_at_every_shipped_site() {
    let mut assessor = Assessor::new(shipped_library(), TODAY);
    let mut found = Followed::default();
    let folder = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("../../tests/sites");
    for file in std::fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()) {
        let text = std::fs::read_to_string(&file).unwrap();
        let Some((network, region)) = followed::network_and_region(&text, &mut assessor) else { continue };
        let texts = [text.clone()].into_iter().chain(followed::approved(&text, &network, &mut assessor)).collect::<Vec<_>>();
        let versions = assessor.library.versions(&network);
        for (n, older) in versions.iter().enumerate() {
            for newer in &versions[n + 1..] {
                let mut books = |version| assessor.library.rulebooks_of((&network, version), &region, &mut assessor.sources);
                let (Ok(old), Ok(new)) = (books(older), books(newer)) else { continue };
                let (old, new) = (Books::of(old), Books::of(new));
                let all = all_changes(&old, &new);
                for text in &texts {
                    if let Outcome::Contradicted(why) = follow(text, &old, &new, &all, &mut assessor, &mut found) {
                        panic!("{}, {older} to {newer}: {why}", file.display());
                    }
                }
            }
        }
    }
    println!("shipped sites: {found:?}");
    assert!(found.complied >= 10 && found.approved >= 10, "{found:?}");
}

const SEED: u64 = 4777;
const SITES: usize = 16;
const PLACES: usize = 3;

fn hold(ground: &'static Ground, cases: u32) {
    let assessor = RefCell::new(Assessor::new(shipped_library(), TODAY));
    let (found, networks) = (RefCell::new(Followed::default()), Cell::new(0));
    let values: Vec<Vec<String>> = ground.slots.iter().map(Slot::values).collect();
    let sites = prop::collection::vec((0..PLACES, prop::collection::vec(any_pick(), ground.slots.len())), SITES);
    let places = prop::collection::vec(any_place(ground), PLACES);
    let outcome = TestRunner::new(config(cases, SEED, 40)).run(&(any_pair(ground), places, sites), |(pair, places, sites)| {
        networks.set(networks.get() + 1);
        let network = format!("wending-{}", networks.get());
        let (assessor, found) = (&mut *assessor.borrow_mut(), &mut *found.borrow_mut());
        let [old, new] = books(&pair, ground, &network, assessor)?;
        let all = all_changes(&old, &new);
        let judge = |text: &str, assessor: &mut Assessor, found: &mut Followed| match follow(text, &old, &new, &all, assessor, found) {
            Outcome::Contradicted(why) => Err(TestCaseError::fail(why)),
            Outcome::Confirmed | Outcome::NotTried => Ok(()),
        };
        let good = good_values(ground, &network, &places, &values, &old, assessor);
        for (place, picks) in sites {
            let held: Vec<Holds> =
                picks.iter().zip(&good[place]).zip(&values).map(|((pick, good), all)| pick.of(good, all.len().max(1))).collect();
            judge(&site(ground, &network, &places[place], &held, &values), assessor, found)?;
        }
        let under = Under { network: Some(&network), standard: ground.standard, region: ground.region };
        // where the nominal voltage is unknown too, the search takes its time: there the drawn sites have to do
        let searched = if ground.nominal.len() == 1 { 4 } else { 0 };
        let is_number = |change: &&(Equipment, Change)| !matches!(change.1.setting.parameter().shape, SettingShape::Curve { .. });
        for (kind, change) in all.iter().filter(is_number).take(searched) {
            for example in sites_before(change, *kind, (&old, &new), under).take(2) {
                judge(&example.site, assessor, found)?;
            }
        }
        assessor.library.keep_versions(&network, |_| false);
        Ok(())
    });
    kept(outcome, ground);
    let found = found.into_inner();
    println!("{}: {found:?}", ground.standard);
    tally(&found);
}

#[test]
fn lines_of_random_revisions_in_volts_are_confirmed() {
    hold(&AS_NZS, 40);
}

#[test]
fn lines_of_random_revisions_in_per_unit_are_confirmed() {
    hold(&IEEE, 60);
}

/// At a site that had a function off, which it might, and its settings wrong: whoever only switched it on would
/// not comply.
#[test]
fn switching_on_is_more_than_the_state() {
    let mut assessor = Assessor::new(shipped_library(), TODAY);
    let state = |verbs: &str| format!("settings:\n  volt-watt: {{ state: {{ {verbs}, source: guide }} }}\n");
    let old = wending::network(1, wending::STANDARD, &state("comply: off or enabled"), &mut assessor);
    let new = wending::network(2, wending::STANDARD, &state("require: enabled"), &mut assessor);
    let site = &wending::site("volt-watt: { state: off, points: [[250 V, 100 %], [260 V, 20 %]] }");
    let mut all = all_changes(&old, &new);
    let [(_, change)] = &all[..] else { panic!("{all:?}") };
    assert_eq!(change.action.to_do, ToDo::SwitchOn);
    let mut found = Followed::default();
    let outcome = follow(site, &old, &new, &all, &mut assessor, &mut found);
    assert!(matches!(outcome, Outcome::Confirmed) && found.had_to == 1, "{found:?}");
    all[0].1.action.to_do = ToDo::Set(Value::Word(ENABLED));
    assert!(matches!(follow(site, &old, &new, &all, &mut assessor, &mut found), Outcome::Contradicted(_)));
}

/// One response written in other points is let pass by both versions: nobody loses anything by it, and `diff` says so.
#[test]
fn a_response_that_stays_the_same_is_no_loss() {
    let curve = |points: &str| {
        format!("settings:\n  volt-watt: {{ points: {{ require: {points}, outside-because: as the guide has it, source: guide }} }}\n")
    };
    let (three, two) = ("[[250 V, 100 %], [254 V, 60 %], [258 V, 20 %]]", "[[250 V, 100 %], [258 V, 20 %]]");
    for (n, (older, newer)) in [(two, three), (three, two), (two, "[[250 V, 100 %], [254 V, 59 %], [258 V, 20 %]]")].into_iter().enumerate()
    {
        let mut assessor = Assessor::new(shipped_library(), TODAY);
        let old = wending::network(1, wending::STANDARD, &curve(older), &mut assessor);
        let new = wending::network(2, wending::STANDARD, &curve(newer), &mut assessor);
        let all = all_changes(&old, &new);
        let [(_, change)] = &all[..] else { panic!("{all:?}") };
        let (is_same, mut found) = (n < 2, Followed::default());
        assert_eq!((change.reason.step() < Step::Breaking, change.action.to_do == ToDo::Nothing), (is_same, is_same), "{change:?}");
        let outcome = follow(
            &wending::site(&format!("volt-watt: {{ state: enabled, points: {older} }}")),
            &old,
            &new,
            &all,
            &mut assessor,
            &mut found,
        );
        assert!(matches!(outcome, Outcome::Confirmed) && found.had_to == usize::from(!is_same), "{found:?}");
    }
}

/// Who is told to enter a limit is told that what was approved for the site counts beside it.
#[test]
fn a_limit_that_is_entered_is_held_against_the_approval() {
    let other = "settings:\n  volt-var: { state: { require: enabled, source: guide } }\n".to_owned();
    let limit = |verbs: &str| {
        format!("settings:\n  export-limit: {{ state: {{ require: enabled, source: guide }}, site-total: {{ {verbs}, source: guide }} }}\n")
    };
    for (older, newer, is_entered) in [
        (limit("comply: at most 12 kW"), limit("require: 12 kW"), true),
        (other, limit("comply: at most 12 kW"), true),
        // who held at most what was approved holds no more after coming down
        (limit("comply: at most 12 kW"), limit("comply: at most 10 kW"), false),
    ] {
        let mut assessor = Assessor::new(shipped_library(), TODAY);
        let old = wending::network(1, wending::STANDARD, &older, &mut assessor);
        let new = wending::network(2, wending::STANDARD, &newer, &mut assessor);
        let all = all_changes(&old, &new);
        let (kind, change) = all.iter().find(|(_, change)| change.setting.to_string() == "export-limit/site-total").unwrap();
        let told = rules::compare::words::told(change, &old.on(*kind).rulebook, &new.on(*kind).rulebook);
        let is_told = told.keep.iter().any(|rule| rule.contains("approved"));
        assert_eq!(is_told, is_entered, "{older}{newer}{told:?}");
    }
}

/// The words that a line says are those of the action that was followed.
#[test]
fn an_action_is_told_in_its_own_words() {
    use rules::compare::words::told;
    let mut assessor = Assessor::new(shipped_library(), TODAY);
    let mut seen = 0;
    for network in assessor.library.networks() {
        for pair in assessor.library.versions(&network).windows(2) {
            for region in assessor.library.regions_below(&network, &pair[0], &mut assessor.sources).unwrap() {
                let mut books = |version| assessor.library.rulebooks_of((&network, version), &region, &mut assessor.sources);
                let (Ok(old), Ok(new)) = (books(&pair[0]), books(&pair[1])) else { continue };
                for kind in Equipment::ALL {
                    let (old, new) = (&old[kind as usize], &new[kind as usize]);
                    for change in rules::compare::versions::changes(old, new, kind) {
                        let text = told(&change, old, new).to_do;
                        let begins = match &change.action.to_do {
                            ToDo::Set(value) => format!("set it to {}", value.show(change.setting)),
                            ToDo::BringWithin(Some(_) | None) => String::new(),
                            ToDo::SwitchOn => "set it to enabled, and set what else is asked of it".to_owned(),
                            ToDo::SwitchOff => "switch it off".to_owned(),
                            ToDo::SeeThat => "see that".to_owned(),
                            _ => String::new(),
                        };
                        assert!(text.starts_with(&begins), "{network} {}: {text}", change.setting);
                        seen += usize::from(!begins.is_empty());
                    }
                }
            }
        }
    }
    assert!(seen >= 20, "{seen}");
}
