//! `affected` against `diff`: a site that complied is made non-compliant by a new version just where `diff` names
//! a change that concerns it and whose old value is outside of what is asked now. `affected` judges the site
//! under what governs it before and after; the changes are those that `diff` prints, found without any site.
//!
//! `ASLEFT_PAIRS=2000` tries more drawn pairs of versions than a test run does.

use crate::common;
use crate::histories;
use crate::revision_drafts;

use common::*;
use jiff::civil::Date;
use proptest::prelude::*;
use proptest::test_runner::{Config, TestCaseError, TestRunner};
use revision_drafts::*;
use rules::affected::{Effect, Versions, affected};
use rules::assess::{Assessor, Books, DeviceResult, GovernedBy, RegionStands};
use rules::compare::all_changes;
use rules::compare::reason::Reason;
use rules::compare::sets::alike;
use rules::compare::versions::Change;
use rules::entitlement::overreach;
use rules::example_site::Under;
use rules::judge::{DeviceSettings, UnmetKind, judge_entry};
use rules::provenance::Verdict;
use rules::revision::{Step, sites_before, weighed};
use settings_model::catalogue::{ENABLED, Equipment, SettingId, Shape as SettingShape};
use settings_model::facts::FactId;
use settings_model::files::SiteFile;
use settings_model::reader;
use settings_model::value::Value;
use std::cell::{Cell, RefCell};

const TODAY: Date = Date::constant(2026, 11, 25);
const SEED: u64 = 1741;
const SITES: usize = 12;
const PLACES: usize = 3;

/// What was tried, so that no law is kept by never being asked.
#[derive(Debug, Default)]
struct Tried {
    stranded: usize,
    unchanged: usize,
    /// Stranded by rules that no version says: ties between settings, or what devices add up to.
    by_other_rules: usize,
    /// It did not comply before, the newer version does not govern it, or a fact is not stated.
    left_out: usize,
}

/// What judges sites before and after.
struct Both {
    before: Assessor,
    after: Assessor,
}

impl Both {
    fn new() -> Self {
        let assessor = || {
            let mut assessor = Assessor::new(shipped_library(), TODAY);
            assessor.governed_by = GovernedBy::DatesAlone;
            assessor
        };
        Self { before: assessor(), after: assessor() }
    }

    /// Whether the two say the same of one site, and then what `diff` names there; else what each says.
    fn agree(
        &mut self,
        text: &str,
        of: (&str, [&semver::Version; 2]),
        all: &[(Equipment, Change)],
        tried: &mut Tried,
    ) -> Result<Named, String> {
        let (network, [older, newer]) = of;
        let Some(root) = read_site(text, &mut self.after) else { return Ok(Named::new()) };
        let site: SiteFile<'_> = reader::typed(&root).unwrap();
        let effect = affected(&site, Versions { network, new: newer }, &mut self.before, &mut self.after).effect;
        let was = self.before.assess(&site);
        let is_of_older = was.book.as_ref().is_some_and(|book| book.rulebook.version_of(network).as_ref() == Some(older));
        let is_made = matches!(effect, Effect::Stranded | Effect::NoLongerProven);
        if was.verdict != Verdict::Complies || !is_of_older || !(is_made || effect == Effect::Unchanged) {
            tried.left_out += 1;
            return Ok(Named::new());
        }
        let is = self.after.assess(&site);
        let mut named = Named::new();
        for device in &is.devices {
            for (_, change) in all.iter().filter(|(kind, _)| *kind == device.kind) {
                match change.sites.hold(&device.facts) {
                    Some(true) if is_lost(change, device)? => named.push((device.kind, change.setting)),
                    Some(_) => {}
                    None => {
                        tried.left_out += 1;
                        return Ok(Named::new());
                    }
                }
            }
        }
        match (is_made, named.is_empty()) {
            (true, false) => tried.stranded += 1,
            (false, true) => tried.unchanged += 1,
            (true, true) if is.devices.iter().all(is_by_other_rules) => tried.by_other_rules += 1,
            _ => return Err(format!("affected says {effect:?}, and diff names {named:?}\n{text}")),
        }
        Ok(named)
    }
}

/// The settings whose old values are outside of what is asked now.
type Named = Vec<(Equipment, SettingId)>;

/// Whether what a device holds is outside of what is asked now.
fn is_lost(change: &Change, device: &DeviceResult<'_>) -> Result<bool, String> {
    if change.reason == Reason::StageUnasked {
        let state = change.setting.state().and_then(|state| device.settings.get(state));
        return Ok(state.is_some_and(|known| known.value == Value::Word(ENABLED)));
    }
    let requirement = &device.counted.requirement;
    let Some((asked, resolved)) = change.new.as_ref().zip(requirement.get(change.setting)) else { return Ok(false) };
    // where nothing may be exported the site's own word is laid over what the versions ask
    let is_laid_over = device.facts.is_without_export() || device.departures.iter().any(|departure| departure.setting == change.setting);
    if !is_laid_over && !alike(&asked.comply, &resolved.entry.comply) {
        return Err(format!("diff and check ask otherwise of {}: {asked:?}\n{:?}", change.setting, resolved.entry));
    }
    let held = DeviceSettings {
        settings: &device.settings,
        evidence: device.evidence,
        region_stands: device.region == RegionStands::Yes,
        asked: requirement,
    };
    let mut faults = Vec::new();
    judge_entry(resolved, held, &device.facts, &mut faults);
    let is_idle = requirement.keeps_idle(change.setting) || is_switched_off(change, device);
    Ok(!is_idle && faults.iter().any(|fault| fault.kind != UnmetKind::SameResponse))
}

/// Whether the function of a setting is off at a device that may have it off.
fn is_switched_off(change: &Change, device: &DeviceResult<'_>) -> bool {
    let state = change.setting.state().filter(|state| *state != change.setting);
    state.and_then(|state| device.settings.get(state)).is_some_and(|known| known.value != Value::Word(ENABLED))
}

/// Whether nothing is wrong with any setting by itself.
fn is_by_other_rules(device: &DeviceResult<'_>) -> bool {
    device.faults.iter().all(|fault| fault.kind == UnmetKind::SameResponse || device.book.rulebook.is_tie(fault.claim.why))
}

/// Every shipped pair of versions of a network, at every shipped site; and at every site that `revision-check` shows
/// for a change, which that change makes non-compliant.
#[test]
fn affected_and_diff_agree_over_shipped_histories() {
    let mut both = Both::new();
    let mut tried = Tried::default();
    let folder = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("../../tests/sites");
    let files = std::fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path());
    let texts: Vec<String> = files.map(|file| std::fs::read_to_string(file).unwrap()).collect();
    for one in histories::of_networks(&mut both.after.library, &mut both.after.sources) {
        let network = one.network.as_deref().unwrap();
        let [older, newer] = [0, 1].map(|n| semver::Version::parse(&one.versions[n]).unwrap());
        let mut both = Both::new();
        both.before.library.keep_versions(network, |version| *version <= older);
        both.after.library.keep_versions(network, |version| *version <= newer);
        let all = all_changes(&one.old, &one.new);
        for weighed in weighed(&one.old, &one.new, one.under(), &mut both.after) {
            let Some(example) = &weighed.example else { continue };
            let agreed = both.agree(&example.site, (network, [&older, &newer]), &all, &mut tried);
            let named = agreed.unwrap_or_else(|why| panic!("{}: {why}", one.title()));
            let has_device = weighed.kind == Equipment::Installation || example.devices.iter().any(|(kind, _)| *kind == weighed.kind);
            let of_change = [Some(weighed.change.setting), weighed.change.setting.state()];
            let is_named = match has_device {
                // of a function that is off and has to act, nothing is kept
                true => named.iter().any(|(kind, setting)| *kind == weighed.kind && of_change.contains(&Some(*setting))),
                false => named.contains(&(Equipment::Installation, setting("central-protection/state"))),
            };
            let says = || format!("{}, {}: diff names {named:?}\n{}", one.title(), weighed.change.setting, example.site);
            assert!(is_named || example.facts.get(FactId::Applied).is_none(), "{}", says());
        }
        let is_own = |text: &&String| text.contains(&format!("network: {network}")) && text.contains(&format!("region: {}", one.region));
        for text in texts.iter().filter(is_own) {
            let agreed = both.agree(text, (network, [&older, &newer]), &all, &mut tried);
            agreed.unwrap_or_else(|why| panic!("{}: {why}", one.title()));
        }
    }
    println!("shipped: {tried:?}");
    assert!(tried.stranded >= 20, "{tried:?}");
}

fn hold(ground: &'static Ground, cases: u32) {
    let both = RefCell::new(Both::new());
    let (tried, networks) = (RefCell::new(Tried::default()), Cell::new(0));
    let values: Vec<Vec<String>> = ground.slots.iter().map(Slot::values).collect();
    let sites = prop::collection::vec((0..PLACES, prop::collection::vec(any_pick(), ground.slots.len())), SITES);
    let places = prop::collection::vec(any_place(ground), PLACES);
    let versions = [semver::Version::new(1, 0, 0), semver::Version::new(2, 0, 0)];
    let outcome = TestRunner::new(Config { max_global_rejects: 65_536, ..config(cases, SEED, 40) }).run(
        &(any_pair(ground), places, sites),
        |(pair, places, sites)| {
            networks.set(networks.get() + 1);
            let network = format!("wending-{}", networks.get());
            let (both, tried) = (&mut *both.borrow_mut(), &mut *tried.borrow_mut());
            let [old, new]: [Books; 2] = books(&pair, ground, &network, &mut both.after)?;
            let overreaches = |books: &Books| Equipment::ALL.iter().any(|kind| !overreach(&books.on(*kind).rulebook).is_empty());
            if overreaches(&old) || overreaches(&new) {
                return Err(TestCaseError::reject("no site is judged under a version that reaches too far"));
            }
            books(&pair, ground, &network, &mut both.before)?;
            both.before.library.keep_versions(&network, |version| version.major == 1);
            let all = all_changes(&old, &new);
            let good = good_values(ground, &network, &places, &values, &old, &mut both.before);
            for (place, picks) in sites {
                let held: Vec<Holds> =
                    picks.iter().zip(&good[place]).zip(&values).map(|((pick, good), all)| pick.of(good, all.len().max(1))).collect();
                let text = site(ground, &network, &places[place], &held, &values);
                both.agree(&text, (&network, [&versions[0], &versions[1]]), &all, tried).map_err(TestCaseError::fail)?;
            }
            // where the nominal voltage is unknown too, the search takes its time: there the drawn sites have to do
            let searched = if ground.nominal.len() == 1 { 4 } else { 0 };
            let under = Under { network: Some(&network), standard: ground.standard, region: ground.region };
            let is_number = |change: &&(Equipment, Change)| !matches!(change.1.setting.parameter().shape, SettingShape::Curve { .. });
            for (kind, change) in all.iter().filter(is_number).take(searched) {
                for example in sites_before(change, *kind, (&old, &new), under).take(3) {
                    let text = dated(&example.site);
                    both.agree(&text, (&network, [&versions[0], &versions[1]]), &all, tried).map_err(TestCaseError::fail)?;
                }
            }
            both.before.library.keep_versions(&network, |_| false);
            both.after.library.keep_versions(&network, |_| false);
            Ok(())
        },
    );
    kept(outcome, ground);
    let tried = tried.into_inner();
    println!("{}: {tried:?}", ground.standard);
    assert!(tried.stranded > 20 && tried.unchanged > 10, "{tried:?}");
}

/// The site with a date by which the newer version governs it, where it has none.
fn dated(site: &str) -> String {
    let date = if site.contains("\ndates:") { "" } else { "\ndates: { applied: 2026-07-01 }" };
    site.replacen("\ndevices:", &format!("{date}\ndevices:"), 1)
}

#[test]
fn affected_and_diff_agree_over_drawn_versions_in_volts() {
    hold(&AS_NZS, 40);
}

#[test]
fn affected_and_diff_agree_over_drawn_versions_in_per_unit() {
    hold(&IEEE, 40);
}

/// A step that is said to be too small would hide a site that is made non-compliant.
#[test]
fn every_lost_value_is_a_breaking_step() {
    let mut both = Both::new();
    for one in histories::of_networks(&mut both.after.library, &mut both.after.sources) {
        for (kind, change) in all_changes(&one.old, &one.new) {
            let is_said = change.reason.step() == Step::Breaking || change.reason.is_open();
            let is_nobody =
                matches!(change.reason, Reason::NobodyComplied | Reason::ValueSaid | Reason::NoneWasJudged | Reason::MayBeEnabled);
            assert!(!change.relation.may_strand() || is_said || is_nobody, "{}: {kind:?} {change:?}", one.title());
        }
    }
}
