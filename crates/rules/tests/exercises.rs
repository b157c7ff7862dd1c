//! Exercises, for every shipped standard and network: what is drawn is what is found, what the key says mends it,
//! and marking takes nothing for right or wrong that is not.
//!
//! `ASLEFT_SEEDS=200` tries more.

use crate::common;

use rules::assess::{Assessor, GovernedBy};
use rules::exercise::Draft;
use rules::exercise::drawing::{Drawn, Order, draw};
use rules::exercise::faults::FAULTS;
use rules::exercise::marking::{Correction, Expected, Marked, Named, mark, pins};
use rules::exercise::model::{MadeFor, models};
use rules::exercise::text::of_site;
use rules::exercise::trouble::{Spot, What};
use rules::provenance::Verdict;
use rules::wording;
use serde_json::{Value as Json, json};
use settings_model::catalogue::SettingId;
use settings_model::files::{Kind, SiteFile};
use settings_model::finding::{Finding, Outcome};
use settings_model::reader;
use std::collections::{BTreeMap, BTreeSet};
use std::thread;

/// Standards under which no site complies until a network operator has said some of its values.
const LEFT_TO_OPERATORS: [&str; 3] = ["en-50549-1/", "vde-ar-n-4105/", "cei-0-21/"];

fn seeds() -> u64 {
    std::env::var("ASLEFT_SEEDS").ok().and_then(|seeds| seeds.parse().ok()).unwrap_or(60)
}

/// On which day each is asked for: an older version governs nobody today.
fn assessor(of: &str) -> Assessor {
    let day = if of.starts_with("greywether/1.0.0") { jiff::civil::date(2025, 6, 1) } else { jiff::civil::date(2026, 11, 25) };
    Assessor::new(common::shipped_library(), day)
}

/// Every region of every standard for devices that does not leave values to a network operator, and every version of every network in each of its regions.
fn everything() -> Vec<(String, MadeFor)> {
    let mut assessor = assessor("");
    let mut all = Vec::new();
    for standard in assessor.library.standards() {
        let file = assessor.library.standard(&standard, &mut assessor.sources).unwrap();
        for (region, _) in file.file.regions.iter() {
            let of = MadeFor::Requirements { network: None, standard: standard.clone(), region: region.to_owned() };
            match LEFT_TO_OPERATORS.iter().any(|key| standard.starts_with(key)) {
                true => assert!(models(&of, &mut assessor).unwrap_err().contains("the network operator says"), "{standard}/{region}"),
                false => all.push((format!("{standard}/{region}"), of)),
            }
        }
    }
    for network in assessor.library.networks() {
        for version in assessor.library.versions(&network) {
            let standard = assessor.library.standard_below(&network, &version, &mut assessor.sources).unwrap();
            for region in assessor.library.regions_below(&network, &version, &mut assessor.sources).unwrap() {
                let name = format!("{network}/{version}/{region}");
                let network = Some((network.clone(), version.clone()));
                all.push((name, MadeFor::Requirements { network, standard: standard.clone(), region }));
            }
        }
    }
    assert!(all.len() > 25, "{}", all.len());
    all
}

fn order(seed: u64, students: usize) -> Order {
    let students = (1..=students).map(|n| format!("student-{n:02}")).collect();
    Order { seed, exercise: "lesson".to_owned(), students, fewest: 1, most: 3 }
}

/// What `check` says of a site's text.
fn checked(site: &Json, assessor: &mut Assessor) -> (Verdict, Vec<Finding>) {
    let text = of_site(site);
    let kept = assessor.sources.len();
    let source = assessor.sources.add("site", text.as_str());
    let root = reader::read(source, &text, Kind::Site).unwrap_or_else(|findings| panic!("{findings:#?}\n{text}"));
    assert_eq!(root.to_json(), *site, "what is written reads back as it was");
    let site: SiteFile<'_> = reader::typed(&root).unwrap();
    let assessment = assessor.assess(&site);
    let mut findings = wording::findings(&assessment, &root);
    for finding in &mut findings {
        // the lines of the site that it shows beside its own, by the key that stands before the value
        let beside = finding.because.iter().filter(|line| line.place.source == source);
        let key = |start: u32| text[..start as usize].trim_end_matches(": ").rsplit([' ', '\n']).next().unwrap_or_default().to_owned();
        let keys: Vec<String> = beside.map(|line| format!("beside it: {}", key(line.place.start))).collect();
        finding.notes.extend(keys);
    }
    assessor.sources.forget_after(kept);
    (assessment.verdict, findings.into_iter().filter(|finding| finding.outcome < Outcome::Remark).collect())
}

/// The site with what its devices were found with left on them.
fn left_as_found(drawn: &Drawn) -> Json {
    let mut site = drawn.site.clone();
    for (_, device) in site["devices"].as_object_mut().unwrap() {
        device["as-left"] = device["as-found"].clone();
    }
    site
}

fn touched(drawn: &Drawn) -> BTreeSet<Spot> {
    drawn.faults.iter().flat_map(|fault| fault.touched.iter().map(|one| one.spot.clone())).collect()
}

/// The same with every setting that the key names as the complying model has it, and nothing else.
fn mended_as_the_key_says(drawn: &Drawn, spots: &BTreeSet<Spot>) -> Json {
    let (mut left, right) = (Draft(left_as_found(drawn)), Draft(drawn.mended.clone()));
    for spot in spots {
        match spot.what {
            What::Region => left.select(&spot.device, right.region(&spot.device)),
            What::Setting(setting) => left.hold(&spot.device, setting, right.held(&spot.device, setting).unwrap().clone()),
        }
    }
    left.0
}

fn expected(drawn: &Drawn) -> Vec<Expected> {
    let of = |fault: &rules::exercise::drawing::DrawnFault| Expected {
        fault: fault.kind.name.to_owned(),
        touched: fault.touched.iter().map(|one| (one.spot.clone(), one.right.clone())).collect(),
    };
    drawn.faults.iter().map(of).collect()
}

/// The diagnosis that the key would write.
fn named(drawn: &Drawn) -> Vec<Named> {
    let of = |fault: &rules::exercise::drawing::DrawnFault| Named {
        fault: fault.kind.name.to_owned(),
        settings: fault.touched.iter().map(|one| (Some(one.spot.device.clone()), one.spot.what)).collect(),
    };
    drawn.faults.iter().map(of).collect()
}

/// The profiles that a made site stands under.
fn pinned(site: &Json, assessor: &mut Assessor) -> Json {
    let keys = Draft(site.clone()).judged(assessor, |assessment, _| {
        let layers = assessment.devices.iter().flat_map(|device| &device.book.rulebook.layers).collect::<Vec<_>>();
        let key = |layer: &&settings_model::layer::Head| {
            let folder = match layer.kind {
                settings_model::claim::LayerKind::Overlay => "overlays",
                settings_model::claim::LayerKind::Standard | settings_model::claim::LayerKind::InstallationStandard => "standards",
                _ => return None,
            };
            Some(format!("{folder}/{}/{}", layer.key, layer.version))
        };
        let mut keys: Vec<String> = Vec::new();
        for key in layers.iter().filter_map(key) {
            if !keys.contains(&key) {
                keys.push(key);
            }
        }
        keys
    });
    let profiles: Vec<(String, String)> =
        keys.unwrap().into_iter().map(|key| (key.clone(), assessor.library.profile(&key).unwrap().sha256())).collect();
    pins(&profiles)
}

fn marked(drawn: &Drawn, handed_in: &Json, named: &[Named], assessor: &mut Assessor) -> Marked {
    let pinned = pinned(&drawn.mended, assessor);
    assessor.governed_by = GovernedBy::Pins;
    let marked = mark(&drawn.site, &pinned, handed_in, &expected(drawn), named, assessor).unwrap();
    assessor.governed_by = GovernedBy::default();
    marked
}

/// Whether a finding speaks of a spot: points at it, or has it among what it explains.
fn speaks_of(finding: &Finding, spot: &Spot) -> bool {
    let What::Setting(setting) = spot.what else { return finding.headline.contains("region") || finding.name == "wrong-region" };
    let is_named = |text: &String| {
        text.to_lowercase().contains(&setting.title().to_lowercase())
            || text.contains(&setting.to_string())
            || *text == format!("beside it: {}", setting.parameter().key)
    };
    let of_device = finding.setting.as_deref().is_none_or(|named| named.starts_with(&spot.device)) || finding.name == "limit-held-twice";
    let points_at = finding.setting.as_deref() == Some(&spot.to_string());
    let explains = finding.folded.iter().map(|folded| &folded.text).chain(&finding.notes).chain([&finding.headline]).any(is_named);
    // a limit that is held twice is told once, of one of the devices
    points_at || (of_device && explains) || (finding.name == "limit-held-twice" && setting.function().key == "export-sensor")
}

/// Everything that must hold of one student's site.
fn holds(of: &str, seed: u64, drawn: &Drawn, assessor: &mut Assessor) {
    let about = || format!("{of}, seed {seed}: {:?}", drawn.faults.iter().map(|fault| fault.kind.name).collect::<Vec<_>>());
    let spots = touched(drawn);
    let (verdict, findings) = checked(&left_as_found(drawn), assessor);
    assert_eq!(verdict, Verdict::DoesNotComply, "{}", about());
    for spot in &spots {
        let device_has_region = spots.contains(&Spot { device: spot.device.clone(), what: What::Region });
        let is_told = findings.iter().any(|finding| speaks_of(finding, spot)) || (spot.what == What::Region && device_has_region);
        assert!(is_told, "{}: nothing is said of {spot}: {findings:#?}", about());
    }
    for finding in &findings {
        let of_region = |spot: &Spot| spot.what == What::Region && finding.headline.contains(&spot.device);
        let is_explained = spots.iter().any(|spot| speaks_of(finding, spot) || of_region(spot));
        assert!(is_explained, "{}: nothing explains {finding:#?}", about());
    }
    let mended = mended_as_the_key_says(drawn, &spots);
    let verdict = Draft(mended.clone()).judged(assessor, |assessment, _| assessment.verdict);
    assert_eq!(verdict, Some(Verdict::Complies), "{}", about());

    let full = marked(drawn, &mended, &named(drawn), assessor);
    assert!(full.is_all_right() && full.marks() == full.out_of() && full.verdict == Verdict::Complies, "{}: {full:#?}", about());
    let empty = marked(drawn, &drawn.site, &[], assessor);
    let none_right = empty.faults.iter().flat_map(|fault| &fault.settings).all(|(_, one)| *one == Correction::NotStated);
    assert!(empty.marks() == 0 && none_right && !empty.is_all_right() && empty.newly_broken.is_empty(), "{}: {empty:#?}", about());
    // one setting left as it was found is that fault's, and nobody else's
    for left_out in spots.iter().take(3) {
        let others = spots.iter().filter(|spot| *spot != left_out).cloned().collect();
        let partly = marked(drawn, &mended_as_the_key_says(drawn, &others), &named(drawn), assessor);
        let amiss: Vec<&Spot> = partly
            .faults
            .iter()
            .flat_map(|fault| &fault.settings)
            .filter(|(_, one)| *one != Correction::Right)
            .map(|(spot, _)| spot)
            .collect();
        assert_eq!(amiss, [left_out], "{}: {partly:#?}", about());
        assert!(partly.newly_broken.is_empty() && partly.marks() + 1 == partly.out_of(), "{}: {partly:#?}", about());
    }
}

/// Draws one student a seed, and has everything hold; how often each fault came up.
fn drawn_of(of: &str, made_for: &MadeFor) -> BTreeMap<&'static str, usize> {
    let mut assessor = assessor(of);
    let models = models(made_for, &mut assessor).unwrap_or_else(|says| panic!("{says}"));
    for model in &models {
        let (verdict, findings) = checked(&model.0, &mut assessor);
        assert_eq!((verdict, findings.len()), (Verdict::Complies, 0), "{of}: {findings:#?}");
    }
    let mut count: BTreeMap<&str, usize> = BTreeMap::new();
    for seed in 0..seeds() {
        for drawn in draw(&models, &order(seed, 1), &mut assessor).unwrap() {
            holds(of, seed, &drawn, &mut assessor);
            drawn.faults.iter().for_each(|fault| *count.entry(fault.kind.name).or_default() += 1);
        }
    }
    count
}

#[test]
fn what_is_drawn_is_what_is_found_and_what_the_key_says_mends_it() {
    let all = everything();
    let half = all.len() / 2;
    let mut count: BTreeMap<&str, usize> = BTreeMap::new();
    thread::scope(|scope| {
        let parts = [&all[..half], &all[half..]];
        let runs: Vec<_> = parts
            .into_iter()
            .map(|part| scope.spawn(move || part.iter().map(|(of, made_for)| drawn_of(of, made_for)).collect::<Vec<_>>()))
            .collect();
        for of_requirement in runs.into_iter().flat_map(|run| run.join().unwrap()) {
            of_requirement.into_iter().for_each(|(fault, times)| *count.entry(fault).or_default() += times);
        }
    });
    let never: Vec<&str> = FAULTS.iter().map(|kind| kind.name).filter(|name| !count.contains_key(name)).collect();
    assert!(never.is_empty() || seeds() < 60, "never drawn: {never:?}");
}

fn class(seed: u64, students: usize) -> (Vec<Drawn>, Assessor) {
    let mut assessor = assessor("");
    let version = semver::Version::new(3, 0, 0);
    let made_for = MadeFor::Requirements {
        network: Some(("quillbrook".to_owned(), version)),
        standard: "as-nzs-4777.2/2020-amd2".to_owned(),
        region: "australia-a".to_owned(),
    };
    let models = models(&made_for, &mut assessor).unwrap();
    (draw(&models, &order(seed, students), &mut assessor).unwrap(), assessor)
}

fn texts(class: &[Drawn]) -> Vec<String> {
    class.iter().map(|drawn| of_site(&drawn.site)).collect()
}

#[test]
fn a_seed_draws_the_same_class_and_a_longer_one_begins_alike() {
    let one = texts(&class(5, 8).0);
    assert_eq!(one, texts(&class(5, 8).0));
    assert_eq!(one[..5], texts(&class(5, 5).0));
    assert_ne!(one, texts(&class(6, 8).0));
}

#[test]
fn no_two_of_a_class_have_the_same_faults() {
    for seed in 0..4 {
        let (class, _) = class(seed, 40);
        let sets: BTreeSet<Vec<&str>> = class.iter().map(|drawn| drawn.faults.iter().map(|fault| fault.kind.name).collect()).collect();
        let sites: BTreeSet<&str> = class.iter().map(|drawn| drawn.site["site"].as_str().unwrap()).collect();
        assert_eq!((sets.len(), sites.len()), (40, 40), "seed {seed}");
    }
}

/// What may stand only where something is wrong stands where nothing is wrong too.
#[test]
fn nothing_beside_the_values_gives_a_fault_away() {
    let (mut approvals, mut swaps) = ([0, 0], [0, 0]);
    for seed in 0..6 {
        for drawn in class(seed, 30).0 {
            let has = |name: &str| drawn.faults.iter().any(|fault| fault.kind.name == name);
            if drawn.site.get("site-specific-approvals").is_some() {
                approvals[usize::from(has("approval-expired"))] += 1;
            }
            if drawn.site["work"]["kind"] == "warranty-replacement" {
                swaps[usize::from(has("warranty-swap-at-factory-values"))] += 1;
            }
        }
    }
    assert!(approvals[0] > 5 && approvals[1] > 5, "approvals without and with the fault: {approvals:?}");
    assert!(swaps[0] > 5 && swaps[1] > 5, "swaps without and with the fault: {swaps:?}");
}

/// The one of a class whose faults are not of a whole device, so that other settings are there to be broken.
fn simple() -> (Drawn, Assessor) {
    let (class, assessor) = class(11, 30);
    let is_simple = |drawn: &&Drawn| {
        let threshold = SettingId::named("sustained-overvoltage/threshold").unwrap();
        touched(drawn).len() == 2
            && drawn.faults.len() == 2
            && touched(drawn).iter().all(|spot| spot.what != What::Region && spot.what != What::Setting(threshold))
    };
    (class.iter().find(is_simple).expect("a class has such a student").clone(), assessor)
}

#[test]
fn what_is_named_and_is_not_there_costs_a_mark() {
    let (drawn, mut assessor) = simple();
    let mended = mended_as_the_key_says(&drawn, &touched(&drawn));
    let other = FAULTS.iter().find(|kind| drawn.faults.iter().all(|fault| fault.kind.name != kind.name)).unwrap().name;
    let first = drawn.faults[0].touched[0].spot.clone();
    let mut with_other = named(&drawn);
    with_other.push(Named { fault: other.to_owned(), settings: vec![(None, first.what)] });
    let one_too_many = marked(&drawn, &mended, &with_other, &mut assessor);
    assert_eq!((one_too_many.not_there.clone(), one_too_many.marks()), (vec![other.to_owned()], 3));
    assert!(!one_too_many.is_all_right());
    // the right name with another fault's settings is no diagnosis
    let mut crossed = named(&drawn);
    let settings: Vec<_> = crossed.iter().map(|one| one.settings.clone()).collect();
    (crossed[0].settings, crossed[1].settings) = (settings[1].clone(), settings[0].clone());
    let crossed = marked(&drawn, &mended, &crossed, &mut assessor);
    assert!(crossed.faults.iter().all(|fault| !fault.is_found && fault.is_mended()) && crossed.not_there.len() == 2, "{crossed:#?}");
    assert_eq!(crossed.marks(), 0);
    // of another device
    let mut elsewhere = named(&drawn);
    elsewhere[0].settings[0].0 = Some("nowhere".to_owned());
    assert!(!marked(&drawn, &mended, &elsewhere, &mut assessor).faults[0].is_found);
    // and without a device it is any
    let mut anywhere = named(&drawn);
    anywhere[0].settings[0].0 = None;
    assert!(marked(&drawn, &mended, &anywhere, &mut assessor).is_all_right());
}

#[test]
fn what_is_broken_left_out_or_altered_is_told() {
    let (drawn, mut assessor) = simple();
    let mended = mended_as_the_key_says(&drawn, &touched(&drawn));
    let device = drawn.faults[0].touched[0].spot.device.clone();
    let threshold = SettingId::named("sustained-overvoltage/threshold").unwrap();
    let spot = Spot { device: device.clone(), what: What::Setting(threshold) };
    let mark = |site: &Json, assessor: &mut Assessor| marked(&drawn, site, &named(&drawn), assessor);

    let mut broken = Draft(mended.clone());
    broken.hold(&device, threshold, json!("270 V"));
    let broken = mark(&broken.0, &mut assessor);
    assert_eq!((&broken.newly_broken[..], broken.marks(), broken.verdict), (&[spot.clone()][..], 3, Verdict::DoesNotComply));

    let mut left_out = mended.clone();
    left_out["devices"][&device]["as-left"]["settings"].as_object_mut().unwrap().remove("sustained-overvoltage");
    let left_out = mark(&left_out, &mut assessor);
    assert_eq!((&left_out.left_out[..], left_out.marks(), left_out.is_all_right()), (&[spot][..], 4, false));

    // papers and what was found are judged as they were issued
    let mut altered = mended.clone();
    altered["dates"]["applied"] = json!("2020-01-01");
    altered["devices"][&device]["as-found"]["settings"]["sustained-overvoltage"]["threshold"] = json!("1 V");
    altered["site-specific-approvals"] = json!([]);
    let altered = mark(&altered, &mut assessor);
    let as_found = format!("devices/{device}/as-found/settings/sustained-overvoltage/threshold");
    assert_eq!(
        (altered.altered.clone(), altered.marks(), altered.is_all_right()),
        (vec!["dates/applied".to_owned(), as_found, "site-specific-approvals".to_owned()], 4, false)
    );

    // nothing left on a device, or a device left out, is nothing mended
    for part in ["as-left", ""] {
        let mut nothing = mended.clone();
        let devices = nothing["devices"].as_object_mut().unwrap();
        if part.is_empty() {
            devices.remove(&device)
        } else {
            devices[&device].as_object_mut().unwrap().remove(part)
        };
        let nothing = mark(&nothing, &mut assessor);
        let of_device = nothing.faults.iter().flat_map(|fault| &fault.settings).filter(|(spot, _)| spot.device == device);
        assert!(of_device.clone().count() > 0 && of_device.clone().all(|(_, one)| *one == Correction::NotStated), "{nothing:#?}");
    }
}

/// What the student approves for himself is not approved.
#[test]
fn an_approval_that_is_written_in_does_not_count() {
    let (drawn, mut assessor) = simple();
    let mended = mended_as_the_key_says(&drawn, &touched(&drawn));
    let device = drawn.faults[0].touched[0].spot.device.clone();
    let threshold = SettingId::named("sustained-overvoltage/threshold").unwrap();
    let mut own = Draft(mended);
    own.hold(&device, threshold, json!("258 V"));
    own.0["site-specific-approvals"] = json!([{
        "setting": "sustained-overvoltage/threshold", "require": "258 V",
        "approval": { "reference": "mine", "role": "student", "granted": "2026-11-01" },
    }]);
    let own = marked(&drawn, &own.0, &named(&drawn), &mut assessor);
    assert!(own.newly_broken.contains(&Spot { device, what: What::Setting(threshold) }) && !own.altered.is_empty(), "{own:#?}");
}

/// What stands on a nameplate is not made to fit what was entered.
#[test]
fn a_ratio_on_a_nameplate_stays_what_it_was() {
    let named_ratio = |drawn: &Drawn| drawn.faults.iter().any(|fault| fault.kind.name == "sensor-ratio-wrong");
    let (class, mut assessor) = class(3, 30);
    let drawn = class.iter().find(|drawn| named_ratio(drawn)).expect("a class has such a student");
    let [fitted, entered] = ["export-sensor/ratio-fitted", "export-sensor/ratio-entered"].map(|name| SettingId::named(name).unwrap());
    let spot = touched(drawn).into_iter().find(|spot| spot.what == What::Setting(entered)).unwrap();
    let others = touched(drawn).into_iter().filter(|other| *other != spot).collect();
    let mut fudged = Draft(mended_as_the_key_says(drawn, &others));
    let wrong = fudged.held(&spot.device, entered).unwrap().clone();
    fudged.hold(&spot.device, fitted, wrong);
    let result = marked(drawn, &fudged.0, &named(drawn), &mut assessor);
    let of_ratio = result.faults.iter().find(|fault| fault.fault == "sensor-ratio-wrong").unwrap();
    assert!(!of_ratio.is_mended() && result.altered.len() == 1 && result.newly_broken.is_empty(), "{result:#?}");
    // what the finding points at is a setting that shows the fault too
    let mut by_the_other = named(drawn);
    by_the_other.iter_mut().find(|one| one.fault == "sensor-ratio-wrong").unwrap().settings = vec![(None, What::Setting(fitted))];
    assert!(marked(drawn, &drawn.mended, &by_the_other, &mut assessor).is_all_right());
}

/// The first of some classes that has this fault and no other.
fn with_only(fault: &str) -> (Drawn, Assessor) {
    for seed in 0..40 {
        let (class, assessor) = class(seed, 12);
        if let Some(drawn) = class.iter().find(|drawn| drawn.faults.len() == 1 && drawn.faults[0].kind.name == fault) {
            return (drawn.clone(), assessor);
        }
    }
    panic!("{fault} is not drawn alone");
}

fn correction_of(marked: &Marked, what: What) -> Correction {
    let settings = marked.faults.iter().flat_map(|fault| &fault.settings);
    settings.clone().find(|(spot, _)| spot.what == what).map(|(_, correction)| *correction).unwrap()
}

/// A region is right only where it is the required one.
#[test]
fn another_wrong_region_is_still_wrong() {
    let (drawn, mut assessor) = with_only("other-region-selected");
    let mut left = Draft(mended_as_the_key_says(&drawn, &touched(&drawn)));
    let device = drawn.faults[0].touched[0].spot.device.clone();
    left.select(&device, Some("new-zealand"));
    let other = marked(&drawn, &left.0, &named(&drawn), &mut assessor);
    assert_eq!((correction_of(&other, What::Region), other.is_all_right()), (Correction::Wrong, false));
    assert!(other.newly_broken.is_empty(), "what is not proven for want of the region is the region's: {other:#?}");
}

/// A curve is not put right by switching it off.
#[test]
fn what_is_off_is_not_mended() {
    let (drawn, mut assessor) = with_only("volt-var-signs-reversed");
    let [state, points] = ["volt-var/state", "volt-var/points"].map(|name| SettingId::named(name).unwrap());
    let mut left = Draft(left_as_found(&drawn));
    let device = drawn.faults[0].touched[0].spot.device.clone();
    left.hold(&device, state, json!("off"));
    let off = marked(&drawn, &left.0, &named(&drawn), &mut assessor);
    assert_eq!(correction_of(&off, What::Setting(points)), Correction::Wrong);
    assert_eq!(off.newly_broken, [Spot { device, what: What::Setting(state) }]);
}

/// What was to be mended and is left out is that fault's, and not told twice.
#[test]
fn a_setting_of_the_key_that_is_left_out_is_not_stated() {
    let (drawn, mut assessor) = with_only("delay-shortened");
    let spot = drawn.faults[0].touched[0].spot.clone();
    let What::Setting(delay) = spot.what else { panic!("a delay is a setting") };
    let mut left = mended_as_the_key_says(&drawn, &touched(&drawn));
    let device = &mut left["devices"][&spot.device]["as-left"];
    device.as_object_mut().unwrap().remove("region-selected");
    device["settings"][delay.function().key].as_object_mut().unwrap().remove(delay.parameter().key);
    let marked = marked(&drawn, &left, &named(&drawn), &mut assessor);
    assert_eq!(correction_of(&marked, spot.what), Correction::NotStated);
    assert!(!marked.left_out.contains(&spot) && !marked.left_out.is_empty(), "{marked:#?}");
}
