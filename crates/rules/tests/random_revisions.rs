//! Version steps against sites drawn at random: no site contradicts what is said of a change, and
//! whoever is shown to be stranded is. Sites are judged as `check` judges them, by the rulebooks of
//! each version and never by the algebra that compares them.
//!
//! `ASLEFT_PAIRS=2000` tries more pairs of versions than a test run does.

use crate::common;
use crate::revision_drafts;

use common::*;
use jiff::civil::Date;
use proptest::prelude::*;
use proptest::test_runner::{TestCaseError, TestRunner};
use revision_drafts::*;
use rules::assess::{Assessor, Books};
use rules::compare::sets::Relation;
use rules::example_site::Under;
use rules::provenance::Verdict;
use rules::revision::{Reason, Step, Weighed, weighed};
use settings_model::catalogue::{Equipment, SettingId};
use settings_model::files::SiteFile;
use settings_model::reader;
use std::cell::{Cell, RefCell};
use std::collections::BTreeSet;

/// Sites tried under each pair of versions.
const SEED: u64 = 1547;
const SITES: usize = 24;
const PLACES: usize = 3;

/// What a site came to.
struct Judged {
    verdict: Verdict,
    /// The functions that something is wrong with, ties between settings left aside.
    faulty: BTreeSet<(Equipment, SettingId)>,
    /// Whether its stages were taken the other way round.
    exchanged: bool,
}

fn judged(text: &str, books: &Books, assessor: &mut Assessor) -> Judged {
    let root = read_site(text, assessor).unwrap();
    let site: SiteFile<'_> = reader::typed(&root).unwrap();
    let assessment = assessor.assess_under(&site, books);
    let mut faulty = BTreeSet::new();
    for device in &assessment.devices {
        let of_setting = device.faults.iter().filter(|fault| !device.book.rulebook.is_tie(fault.claim.why));
        let is_fault = |fault: &&rules::judge::UnmetClaim| fault.kind != rules::judge::UnmetKind::SameResponse;
        faulty.extend(of_setting.filter(is_fault).map(|fault| (device.kind, fault.setting)));
    }
    Judged { verdict: assessment.verdict, faulty, exchanged: assessment.devices.iter().any(|device| !device.exchanged.is_empty()) }
}

impl Judged {
    fn is_faulty(&self, kind: Equipment, function: &str) -> bool {
        self.faulty.iter().any(|(of, setting)| *of == kind && setting.function().key == function)
    }
}

/// What is known of the changes of one function.
struct Said {
    nothing_lost: bool,
    nothing_gained: bool,
}

fn said_of(function: &str, kind: Equipment, all: &[Weighed]) -> Said {
    let changes: Vec<&Weighed> = all.iter().filter(|one| one.kind == kind && one.change.setting.function().key == function).collect();
    Said {
        nothing_lost: changes
            .iter()
            .all(|one| one.step() < Step::Breaking && !one.change.reason.is_open() && one.change.reason != Reason::NobodyComplied),
        nothing_gained: changes
            .iter()
            .all(|one| matches!(one.change.relation, Relation::Same | Relation::Narrower(_)) && !one.change.besides.evidence),
    }
}

/// How often each law had something to say, so that none is kept by never being asked.
#[derive(Debug, Default)]
struct Asked {
    complied: Cell<usize>,
    nothing_lost: Cell<usize>,
    lost: Cell<usize>,
    examples: Cell<usize>,
    breaking: Cell<usize>,
}

fn count(cell: &Cell<usize>) {
    cell.set(cell.get() + 1);
}

fn hold(ground: &'static Ground, cases: u32) {
    let assessor = RefCell::new(Assessor::new(shipped_library(), Date::constant(2026, 11, 25)));
    let (asked, networks) = (Asked::default(), Cell::new(0));
    let values: Vec<Vec<String>> = ground.slots.iter().map(Slot::values).collect();
    let sites = prop::collection::vec((0..PLACES, prop::collection::vec(any_pick(), ground.slots.len())), SITES);
    let places = prop::collection::vec(any_place(ground), PLACES);
    let outcome = TestRunner::new(config(cases, SEED, 1500)).run(&(any_pair(ground), places, sites), |(pair, places, sites)| {
        networks.set(networks.get() + 1);
        let network = format!("wending-{}", networks.get());
        let assessor = &mut *assessor.borrow_mut();
        let [old, new] = books(&pair, ground, &network, assessor)?;
        let under = Under { network: Some(&network), standard: ground.standard, region: ground.region };
        let all = weighed(&old, &new, under, assessor);
        let nothing_lost = all.iter().all(|one| one.step() < Step::Breaking && !one.change.reason.is_open());
        for one in all.iter().filter(|one| one.step() == Step::Breaking) {
            count(&asked.breaking);
            let Some(example) = &one.example else { continue };
            count(&asked.examples);
            prop_assert_eq!(judged(&example.site, &old, assessor).verdict, Verdict::Complies, "{}", example.site);
            prop_assert_ne!(judged(&example.site, &new, assessor).verdict, Verdict::Complies, "{}", example.site);
        }
        let good = good_values(ground, &network, &places, &values, &old, assessor);
        for (place, picks) in sites {
            let held: Vec<Holds> =
                picks.iter().zip(&good[place]).zip(&values).map(|((pick, good), all)| pick.of(good, all.len().max(1))).collect();
            let text = site(ground, &network, &places[place], &held, &values);
            let (before, after) = (judged(&text, &old, assessor), judged(&text, &new, assessor));
            if before.verdict == Verdict::Complies {
                count(&asked.complied);
                count(if nothing_lost { &asked.nothing_lost } else { &asked.lost });
                let stranded = nothing_lost && after.verdict != Verdict::Complies;
                prop_assert!(!stranded, "nothing is said to be lost, and this site complied and does not: {:?}\n{}", after.faulty, text);
            }
            each_function_is_as_said(ground, &all, [&before, &after], &text)?;
        }
        assessor.library.keep_versions(&network, |_| false);
        Ok(())
    });
    kept(outcome, ground);
    println!("{}: {asked:?}", ground.standard);
    let Asked { complied, nothing_lost, lost, examples, breaking } = asked;
    assert!(complied.get() >= SITES && nothing_lost.get() >= SITES && lost.get() >= SITES, "too few sites complied to show anything");
    assert!(examples.get() * 3 > breaking.get(), "{} examples of {} breaking changes", examples.get(), breaking.get());
}

/// What is said of the settings of each function, at one site.
fn each_function_is_as_said(ground: &Ground, all: &[Weighed], [before, after]: [&Judged; 2], text: &str) -> Result<(), TestCaseError> {
    if before.exchanged || after.exchanged {
        return Ok(());
    }
    let mut functions: Vec<&str> = ground.slots.iter().map(|slot| slot.function).collect();
    functions.dedup();
    for (kind, function) in Equipment::ALL.into_iter().flat_map(|kind| functions.iter().map(move |function| (kind, *function))) {
        let said = said_of(function, kind, all);
        let (was, is) = (before.is_faulty(kind, function), after.is_faulty(kind, function));
        prop_assert!(
            !(said.nothing_lost && !was && is),
            "{} is said to lose nothing, and is at fault now: {:?}\n{}",
            function,
            after.faulty,
            text
        );
        prop_assert!(
            !(said.nothing_gained && was && !is),
            "{} is said to gain nothing, and is at fault no longer: {:?}\n{}",
            function,
            before.faulty,
            text
        );
    }
    Ok(())
}

#[test]
fn no_site_contradicts_what_is_said_of_a_revision_in_volts() {
    hold(&AS_NZS, 70);
}

#[test]
fn no_site_contradicts_what_is_said_of_a_revision_in_per_unit() {
    hold(&IEEE, 70);
}
