//! Every device and every stated value of a site is judged, or named as not judged, and then the site is not plainly
//! fine: over every shipped site, and over those with a value, a device or an approval added to them, drawn from the
//! whole catalogue (`ASLEFT_DRAWN=40` adds forty values to each device, `ASLEFT_SEED=7` others).
//!
//! Whether a value is judged is asked from outside: it is, where some other value in its place changes what is found.

use crate::common;
mod must_act;
mod stated_values;

use common::shipped_library;
use must_act::OFF;
use rules::assess::{Assessor, NotJudged};
use rules::provenance::Verdict;
use rules::wording;
use settings_model::catalogue::{ENABLED, Equipment, SettingId, Shape};
use settings_model::claim::{Claim, Limit};
use settings_model::document::Node;
use settings_model::exact::Exact;
use settings_model::files::{Kind, SiteFile};
use settings_model::finding::Finding;
use settings_model::quantity::Amount;
use settings_model::reader;
use settings_model::settings::Known;
use settings_model::value::Value;
use stated_values::{Chance, any_value, others, shipped_sites};

/// What a site came to, as far as it can be told apart.
#[derive(PartialEq)]
struct Came {
    verdict: Verdict,
    findings: Vec<(String, String)>,
    /// What findings are about.
    about: Vec<String>,
    not_judged: Vec<String>,
    /// How many figures stand by an approval.
    approved: u32,
}

fn judge(site: &SiteFile<'_>, root: &Node, assessor: &mut Assessor) -> Came {
    let assessment = assessor.assess(site);
    let told = wording::findings(&assessment, root);
    let not_judged: Vec<String> = assessment.not_judged.iter().flat_map(NotJudged::paths).collect();
    // what was passed over is told in words, in the headline, and never with a plain verdict
    let is_of_what_is_left = |finding: &&Finding| ["not-judged", "nothing-asked", "acts-beside"].contains(&finding.name);
    assert_eq!(!not_judged.is_empty(), told.iter().any(|finding| is_of_what_is_left(&finding)));
    if !not_judged.is_empty() && assessment.verdict == Verdict::Complies {
        assert!(assessment.headline().contains("not judged"), "{}", assessment.headline());
        assert!(!assessment.has_nothing_to_say());
    }
    let said: Vec<&Finding> = told.iter().filter(|finding| !is_of_what_is_left(finding)).collect();
    let whole = |finding: &&Finding| {
        let folded: Vec<&str> = finding.folded.iter().map(|folded| folded.text.as_str()).collect();
        (finding.name.to_owned(), format!("{}; {}", finding.headline, folded.join("; ")))
    };
    let approved = assessment.figures().site_approval;
    let about = said.iter().filter_map(|finding| finding.setting.clone()).collect();
    Came { verdict: assessment.verdict, findings: said.iter().map(whole).collect(), about, not_judged, approved }
}

#[derive(Debug, Default)]
struct Counts {
    sites: usize,
    devices: usize,
    judged: usize,
    named: usize,
    /// Of a function that does nothing.
    idle: usize,
    /// Limits that were switched off.
    limits: usize,
    approvals: usize,
}

/// A site that is read, and what looks at it.
struct Looked<'s> {
    name: &'s str,
    site: &'s SiteFile<'s>,
    root: &'s Node,
    came: Came,
    /// What was passed over.
    alarms: Vec<String>,
}

/// Reads a site and looks at it; one that is refused, or under no requirement, is passed by.
fn look(name: &str, text: &str, assessor: &mut Assessor, then: impl FnOnce(&mut Looked<'_>, &mut Assessor)) -> Vec<String> {
    let source = assessor.sources.add(name, text);
    let read = reader::read(source, text, Kind::Site).and_then(|root| assessor.displayed(root));
    let mut alarms = Vec::new();
    if let Ok(root) = &read
        && let Ok(site) = reader::typed::<SiteFile<'_>>(root)
    {
        let came = judge(&site, root, assessor);
        // where no requirement could be chosen nothing is judged, and nothing is fine
        let is_judged = assessor.assess(&site).book.is_some();
        assert!(is_judged || came.verdict != Verdict::Complies);
        if is_judged && came.verdict != Verdict::CouldNotTell {
            let mut looked = Looked { name, site: &site, root, came, alarms };
            then(&mut looked, assessor);
            alarms = looked.alarms;
        }
    }
    if (source.0 as usize) + 1 == assessor.sources.len() {
        assessor.sources.forget_after(source.0 as usize);
    }
    alarms
}

impl Looked<'_> {
    /// Each device has something that was judged, or is named.
    fn look_at_devices(&mut self, assessor: &mut Assessor, counts: &mut Counts) {
        let assessment = assessor.assess(self.site);
        for (name, device) in self.site.devices.iter().filter(|(_, device)| device.as_left.is_some()) {
            counts.devices += 1;
            let kind = Equipment::from(device.kind);
            let of = assessment.devices.iter().find(|judged| judged.name == name && judged.kind == kind);
            let is_asked = of.is_some_and(|judged| judged.counted.asks_anything());
            if !is_asked && !self.came.not_judged.contains(&name.to_string()) {
                self.alarms.push(format!("{}: {name}: neither asked anything nor named", self.name));
            }
        }
    }

    fn look_at_values(&mut self, assessor: &mut Assessor, counts: &mut Counts) {
        for n in 0..self.site.devices.0.len() {
            let stated = self.site.devices.0[n].1.as_left.iter().flat_map(|left| left.settings.iter());
            for setting in stated.map(|(setting, _)| setting).collect::<Vec<_>>() {
                let came = judge(self.site, self.root, assessor);
                self.look_at_value((self.site, &came), n, setting, assessor, counts);
            }
        }
    }

    /// One value that a device, by its position, states.
    fn look_at_value(
        &mut self,
        (site, came): (&SiteFile<'_>, &Came),
        n: usize,
        setting: SettingId,
        assessor: &mut Assessor,
        counts: &mut Counts,
    ) {
        let (name, device) = &site.devices.0[n];
        let (device_name, path) = (name.to_string(), format!("{name}/{setting}"));
        let Some(left) = &device.as_left else { return };
        let Some(known) = left.settings.get(setting) else { return };
        if came.not_judged.iter().any(|named| *named == path || *named == device_name) {
            counts.named += 1;
        } else if does_nothing(&device_name, setting, site, assessor) {
            counts.idle += 1;
        } else if came.about.contains(&path) || self.matters((site, came), n, setting, assessor) {
            counts.judged += 1;
        } else {
            self.alarms.push(format!("{}: {path}: {} is neither judged nor named", self.name, known.value.show(setting)));
        }
    }

    /// Whether some other value in place of one changes what is found: as the site stands, or where its selected region
    /// stands for nothing, so that all that is required has to be stated.
    fn matters(&self, (site, came): (&SiteFile<'_>, &Came), n: usize, setting: SettingId, assessor: &mut Assessor) -> bool {
        let with = |site: &SiteFile<'_>, value: Option<Value>, with_region: bool, assessor: &mut Assessor| {
            let mut other = site.clone();
            let left = other.devices.0[n].1.as_left.as_mut().unwrap();
            let known = left.settings.get(setting).unwrap().clone();
            left.settings.set(setting, Known { value: value.unwrap_or(known.value.clone()), ..known });
            left.region_selected = left.region_selected.take().filter(|_| with_region);
            judge(&other, self.root, assessor)
        };
        let known = site.devices.0[n].1.as_left.as_ref().and_then(|left| left.settings.get(setting)).unwrap();
        if is_settled(&site.devices.0[n].0, setting, site, assessor) {
            return true;
        }
        if setting.is_state() && self.decides((site, came), n, setting, assessor) {
            return true;
        }
        let without_region = with(site, None, false, assessor);
        others(setting, &known.value).into_iter().any(|value| {
            with(site, Some(value.clone()), true, assessor) != *came || with(site, Some(value), false, assessor) != without_region
        })
    }

    /// Whether a state decides that other values of its function count: a wrong one is found while it is enabled, and not
    /// while it is off.
    fn decides(&self, (site, came): (&SiteFile<'_>, &Came), n: usize, state: SettingId, assessor: &mut Assessor) -> bool {
        let stated = site.devices.0[n].1.as_left.iter().flat_map(|left| left.settings.iter());
        let beside: Vec<(SettingId, Known)> = stated
            .filter(|(setting, _)| *setting != state && setting.same_function(state))
            .map(|(setting, known)| (setting, known.clone()))
            .collect();
        let mut wrong = beside.into_iter().flat_map(|(setting, known)| {
            others(setting, &known.value).into_iter().map(move |value| (setting, Known { value, ..known.clone() }))
        });
        wrong.any(|(setting, known)| {
            let with_state = |word: Option<u8>, assessor: &mut Assessor| {
                let mut other = site.clone();
                let left = other.devices.0[n].1.as_left.as_mut().unwrap();
                left.settings.set(setting, known.clone());
                word.into_iter().for_each(|word| {
                    let stated = left.settings.get(state).unwrap().clone();
                    left.settings.set(state, Known { value: Value::Word(word), ..stated });
                });
                judge(&other, self.root, assessor)
            };
            let as_stated = with_state(None, assessor);
            as_stated != *came && with_state(Some(OFF), assessor) != as_stated
        })
    }

    /// Switches off each limit that is asked for: what is asked of a function that is off claims nothing, so that it is
    /// off has to be found.
    fn switch_limits_off(&mut self, assessor: &mut Assessor, counts: &mut Counts) {
        for n in 0..self.site.devices.0.len() {
            let name = self.site.devices.0[n].0.to_string();
            let assessment = assessor.assess(self.site);
            let asked = assessment.devices.iter().find(|judged| judged.name == name).map(must_act::asked_of);
            for limit in asked.unwrap_or_default() {
                let (mut site, state) = (self.site.clone(), limit.state().unwrap());
                let Some(left) = site.devices.0[n].1.as_left.as_mut() else { continue };
                left.settings.set(limit, Known { value: Value::Quantity(Amount::plain(Exact::ZERO)), evidence: None, step: None });
                left.settings.set(state, Known { value: Value::Word(OFF), evidence: None, step: None });
                counts.limits += 1;
                let assessment = assessor.assess(&site);
                let of_device = assessment.devices.iter().filter(|judged| judged.name == name);
                if !of_device.flat_map(|judged| &judged.faults).any(|fault| fault.setting == state) {
                    self.alarms.push(format!("{}: {name}: {limit} is asked for, and need not act", self.name));
                }
            }
        }
    }

    /// States a value that nobody stated, at one device.
    fn add(&mut self, n: usize, setting: SettingId, chance: &mut Chance, assessor: &mut Assessor, counts: &mut Counts) {
        let mut site = self.site.clone();
        let Some(left) = site.devices.0[n].1.as_left.as_mut().filter(|left| !left.settings.states(setting)) else { return };
        let value = any_value(setting, chance);
        left.settings.set(setting, Known { value, evidence: None, step: None });
        if let Some(state) = setting.state().filter(|state| !left.settings.states(*state) && chance.one_in(2)) {
            left.settings.set(state, Known { value: Value::Word(ENABLED), evidence: None, step: None });
        }
        let came = judge(&site, self.root, assessor);
        self.look_at_value((&site, &came), n, setting, assessor, counts);
    }
}

/// Whether a value belongs to a function that is off, has to be, or is a stage that nobody asked for and that is at
/// fault as a whole, so that only its state counts; or is such a state that is off and that nobody asks for.
fn does_nothing(device: &str, setting: SettingId, site: &SiteFile<'_>, assessor: &mut Assessor) -> bool {
    let assessment = assessor.assess(site);
    let Some(judged) = assessment.devices.iter().find(|judged| judged.name == device) else { return false };
    let Some(state) = setting.state() else { return false };
    let holds = judged.settings.get(state).map(|known| &known.value);
    let is_off = holds.is_some_and(|held| *held != Value::Word(ENABLED));
    let is_unasked = judged.counted.unasked_stages.contains(&state) && judged.settings.is_enabled(state);
    is_off || (state != setting && (is_unasked || judged.counted.requirement.keeps_idle(setting)))
}

/// Whether a value is looked at and no other could be wrong: a sensor on one phase puts nothing together wrongly, no
/// export is none on each phase too, and some requirements admit every word.
fn is_settled(device: &str, setting: SettingId, site: &SiteFile<'_>, assessor: &mut Assessor) -> bool {
    let assessment = assessor.assess(site);
    let Some(judged) = assessment.devices.iter().find(|judged| judged.name == device) else { return false };
    let limit = judged.settings.get(SettingId::of("export-limit", "site-total")).map(|known| &known.value);
    let is_none = matches!(limit, Some(Value::Quantity(amount)) if amount.number == Exact::ZERO);
    let asked = judged.counted.requirement.get(setting).map(|resolved| &resolved.entry.comply[..]);
    let admits_all = |claim: &Claim| match (&claim.limit, setting.parameter().shape) {
        (Limit::OneOf(admitted), Shape::Choice(words)) => (0..words.len() as u8).all(|word| admitted.has(word)),
        _ => false,
    };
    (site.supply.phases == Some(1) && setting == SettingId::of("export-sensor", "sums"))
        || (is_none && setting == SettingId::of("export-limit", "counts"))
        || asked.is_some_and(|claims| !claims.is_empty() && claims.iter().all(admits_all))
}

fn assessor() -> Assessor {
    Assessor::new(shipped_library(), jiff::civil::date(2026, 11, 25))
}

fn nothing_is_passed_over(alarms: &[String], counts: &Counts) {
    println!("{counts:?}");
    assert!(alarms.is_empty(), "{} passed over, {counts:?}:\n{}", alarms.len(), alarms.join("\n"));
}

#[test]
fn every_stated_value_of_every_shipped_site_is_judged_or_named() {
    let (mut assessor, mut counts, mut alarms) = (assessor(), Counts::default(), Vec::new());
    for (name, text) in shipped_sites() {
        alarms.extend(look(&name, &text, &mut assessor, |looked, assessor| {
            counts.sites += 1;
            looked.look_at_devices(assessor, &mut counts);
            looked.look_at_values(assessor, &mut counts);
        }));
    }
    nothing_is_passed_over(&alarms, &counts);
    assert!(counts.sites >= 60 && counts.judged >= 500, "{counts:?}");
}

/// Any value of the catalogue that a device could hold beside what it states.
#[test]
fn every_value_added_to_a_site_is_judged_or_named() {
    let (mut assessor, mut counts, mut alarms) = (assessor(), Counts::default(), Vec::new());
    let (mut chance, drawn) = (Chance::of(3), stated_values::drawn(8));
    for (name, text) in shipped_sites() {
        alarms.extend(look(&name, &text, &mut assessor, |looked, assessor| {
            counts.sites += 1;
            for n in 0..looked.site.devices.0.len() {
                let kind = Equipment::from(looked.site.devices.0[n].1.kind);
                let held: Vec<SettingId> = SettingId::all().filter(|setting| setting.function().held_by.contains(&kind)).collect();
                for _ in 0..drawn {
                    looked.add(n, *chance.of_these(&held), &mut chance, assessor, &mut counts);
                }
            }
        }));
    }
    nothing_is_passed_over(&alarms, &counts);
    assert!(counts.judged >= 150 && counts.named >= 150, "{counts:?}");
}

#[test]
fn every_limit_that_is_asked_for_acts() {
    let (mut assessor, mut counts, mut alarms) = (assessor(), Counts::default(), Vec::new());
    for (name, text) in shipped_sites() {
        let paper = (!text.contains("site-specific-approvals")).then(|| (format!("{name}, with a paper"), must_act::with_paper(&text)));
        for (name, text) in std::iter::once((name, text)).chain(paper) {
            alarms.extend(look(&name, &text, &mut assessor, |looked, assessor| {
                counts.sites += 1;
                looked.switch_limits_off(assessor, &mut counts);
            }));
        }
    }
    nothing_is_passed_over(&alarms, &counts);
    assert!(counts.sites >= 120 && counts.limits >= 100, "{counts:?}");
}

/// Devices that somebody may have put on the roof beside those of the site's file.
#[test]
fn every_device_added_to_a_site_is_judged_or_named() {
    const ADDED: [&str; 4] = [
        "kind: grid-protection-relay\n    as-left:\n      known-by: test\n      settings:\n        overvoltage-1: { state: enabled, threshold: 999 V, definite-delay: 99 s }",
        "kind: grid-protection-relay\n    as-left: { known-by: test, settings: {} }",
        "source: solar\n    nameplate: 1 kVA\n    phases: 1\n    on-phase: L1\n    as-left: { known-by: display, settings: {} }",
        "source: storage\n    nameplate: 1 kVA\n    phases: 1\n    on-phase: L1\n    as-left:\n      known-by: display\n      settings:\n        watt-var: { state: enabled }\n        overvoltage-3: { threshold: 999 V, definite-delay: 99 s }\n        generation-limit: { state: off, soft: 900 kVA }",
    ];
    let (mut assessor, mut counts, mut alarms) = (assessor(), Counts::default(), Vec::new());
    for (name, text) in shipped_sites() {
        for (n, added) in ADDED.iter().enumerate() {
            let text = text.replacen("\ndevices:\n", &format!("\ndevices:\n  beside-1:\n    {added}\n"), 1);
            alarms.extend(look(&format!("{name} with {n}"), &text, &mut assessor, |looked, assessor| {
                counts.sites += 1;
                looked.look_at_devices(assessor, &mut counts);
                let stated = looked.site.devices.0[0].1.as_left.iter().flat_map(|left| left.settings.iter());
                for setting in stated.map(|(setting, _)| setting).collect::<Vec<_>>() {
                    let came = judge(looked.site, looked.root, assessor);
                    looked.look_at_value((looked.site, &came), 0, setting, assessor, &mut counts);
                }
            }));
        }
    }
    nothing_is_passed_over(&alarms, &counts);
    assert!(counts.sites >= 150 && counts.named >= 100, "{counts:?}");
}

/// A paper for any setting of a device: it is told of, or what it asks for is asked of the device.
#[test]
fn every_approval_added_to_a_site_is_heeded_or_told() {
    let (mut assessor, mut counts, mut alarms) = (assessor(), Counts::default(), Vec::new());
    let (mut chance, drawn) = (Chance::of(5), stated_values::drawn(3));
    for (name, text) in shipped_sites().into_iter().filter(|(_, text)| !text.contains("site-specific-approvals")) {
        let mut papers = Vec::new();
        look(&name, &text, &mut assessor, |looked, _| {
            for (device, _) in looked.site.devices.iter() {
                let all: Vec<SettingId> = SettingId::all().collect();
                papers.extend((0..drawn).map(|_| (device.to_string(), *chance.of_these(&all))));
            }
        });
        for (device, setting) in papers {
            let Some(value) = stated_values::written(setting, &mut chance) else { continue };
            let paper = format!(
                "{}\nsite-specific-approvals:\n  - setting: {device}/{setting}\n    require: {value}\n    approval: {{ reference: P-1, by: network operator, role: engineer, granted: 2026-01-05 }}\n",
                text.trim_end()
            );
            let plain = look(&name, &text, &mut assessor, |looked, _| looked.alarms.push(told_of(&looked.came)));
            alarms.extend(look(&format!("{name}, {device}/{setting}: {value}"), &paper, &mut assessor, |looked, _| {
                counts.approvals += 1;
                if plain.first() == Some(&told_of(&looked.came)) {
                    looked.alarms.push(format!("{}: a paper that changes nothing and is not told of", looked.name));
                }
            }));
        }
    }
    nothing_is_passed_over(&alarms, &counts);
    assert!(counts.approvals >= 50, "{counts:?}");
}

/// All that is said of a site.
fn told_of(came: &Came) -> String {
    format!("{:?} {:?} {:?} {}", came.verdict, came.findings, came.not_judged, came.approved)
}
