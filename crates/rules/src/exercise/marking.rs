//! Marking what a student hands in: which faults were named, which settings put right, which broken.
//!
//! Judged is the site as it was issued, with what the student leaves on its devices: dates, approvals and the
//! rest of the papers are the exercise's, whatever was made of them.

use super::draft::Draft;
use super::trouble::{Spot, Troubles, What};
use crate::assess::Assessor;
use crate::provenance::Verdict;
use serde_json::{Value as Json, json};
use settings_model::catalogue::SettingId;
use settings_model::finding::Finding;
use std::collections::BTreeSet;

/// A fault that the key names.
#[derive(Clone, Debug)]
pub struct Expected {
    /// Its name.
    pub fault: String,
    /// What it put wrong, and a value that is right.
    pub touched: Vec<(Spot, Option<String>)>,
}

/// A fault that a student names.
#[derive(Clone, Debug)]
pub struct Named {
    /// Its name.
    pub fault: String,
    /// The settings that are said to show it: a device, if one is said, and what is set there.
    pub settings: Vec<(Option<String>, What)>,
}

/// What a student's answer came to.
#[derive(Clone, Debug)]
pub struct Marked {
    /// Fault by fault.
    pub faults: Vec<MarkedFault>,
    /// Faults that were named, and are not there.
    pub not_there: Vec<String>,
    /// What does not comply now and was no fault of the exercise.
    pub newly_broken: Vec<Spot>,
    /// What has to be stated and is not.
    pub left_out: Vec<Spot>,
    /// What was changed beside `as-left` and the diagnosis, by its path.
    pub altered: Vec<String>,
    /// What the site comes to as it was left.
    pub verdict: Verdict,
}

/// What became of one fault.
#[derive(Clone, Debug)]
pub struct MarkedFault {
    /// Its name.
    pub fault: String,
    /// Whether it was named, with at least one setting that shows it.
    pub is_found: bool,
    /// How many of the settings that show it were named, those at odds with them among them.
    pub named: usize,
    /// Setting by setting.
    pub settings: Vec<(Spot, Correction)>,
}

/// What became of a setting.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Correction {
    /// It complies.
    Right,
    /// It does not.
    Wrong,
    /// It is not stated.
    NotStated,
}

impl Correction {
    /// The word in JSON.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Right => "right",
            Self::Wrong => "wrong",
            Self::NotStated => "not-stated",
        }
    }
}

impl MarkedFault {
    /// Whether every setting that it put wrong is right now.
    #[must_use]
    pub fn is_mended(&self) -> bool {
        self.settings.iter().all(|(_, correction)| *correction == Correction::Right)
    }
}

impl Marked {
    /// One mark for each fault that was found and one for each that was mended, less one for each that was named
    /// and is not there and for each setting newly broken; never below none.
    #[must_use]
    pub fn marks(&self) -> usize {
        let gained: usize = self.faults.iter().map(|fault| usize::from(fault.is_found) + usize::from(fault.is_mended())).sum();
        gained.saturating_sub(self.not_there.len() + self.newly_broken.len())
    }

    /// The most marks that there are.
    #[must_use]
    pub fn out_of(&self) -> usize {
        2 * self.faults.len()
    }

    /// Whether everything was found and mended, and nothing left out, altered or broken.
    #[must_use]
    pub fn is_all_right(&self) -> bool {
        self.marks() == self.out_of() && self.left_out.is_empty() && self.altered.is_empty()
    }
}

/// Whether a site that was issued can be judged at all: where nothing is asked, nothing would be wrong, and all mended.
///
/// # Errors
/// What is wrong with the profiles, if it is that.
pub fn judgeable(issued: &Json, pinned: &Json, assessor: &mut Assessor) -> Result<(), Vec<Finding>> {
    troubles(&Draft(with_what_was_left(issued, pinned, issued)), assessor).map(drop)
}

/// What is wrong at a site.
fn troubles(left: &Draft, assessor: &mut Assessor) -> Result<Troubles, Vec<Finding>> {
    let judged = left.judged(assessor, |assessment, _| match &assessment.book {
        Some(_) => Ok(Troubles::of(assessment)),
        None => Err(assessment.profile_findings.clone()),
    });
    judged.unwrap_or_else(|| Err(Vec::new()))
}

/// Marks an answer: the site as it was issued, and as it was handed in.
///
/// # Errors
/// Where it cannot be judged; see [`judgeable`].
pub fn mark(
    issued: &Json,
    pinned: &Json,
    handed_in: &Json,
    expected: &[Expected],
    named: &[Named],
    assessor: &mut Assessor,
) -> Result<Marked, Vec<Finding>> {
    let left = Draft(with_what_was_left(issued, pinned, handed_in));
    let troubles = troubles(&left, assessor)?;
    let touched: Vec<&(Spot, Option<String>)> = expected.iter().flat_map(|fault| &fault.touched).collect();
    let shown_by = shown_by(issued, pinned, expected, assessor);
    let faults: Vec<MarkedFault> = expected
        .iter()
        .zip(&shown_by)
        .map(|(fault, shown_by)| {
            let names = named.iter().filter(|one| one.fault == fault.fault).flat_map(|one| &one.settings);
            let said: BTreeSet<&Spot> = names.flat_map(|said| shown_by.iter().filter(|spot| is_meant(said, spot))).collect();
            MarkedFault {
                fault: fault.fault.clone(),
                is_found: !said.is_empty(),
                named: said.len(),
                settings: fault
                    .touched
                    .iter()
                    .map(|(spot, right)| (spot.clone(), correction(&left, spot, right.as_deref(), &troubles)))
                    .collect(),
            }
        })
        .collect();
    let is_unmended_region = |device: &str| {
        faults
            .iter()
            .flat_map(|fault| &fault.settings)
            .any(|(spot, correction)| spot.what == What::Region && spot.device == device && *correction != Correction::Right)
    };
    let is_touched = |spot: &Spot| touched.iter().any(|(other, _)| other == spot);
    let left_out = troubles.unproven.iter().filter(|spot| !is_touched(spot) && !is_unmended_region(&spot.device)).cloned().collect();
    Ok(Marked {
        newly_broken: newly_broken(&left, &troubles, &touched),
        not_there: not_there(named, expected, &shown_by),
        altered: altered(issued, handed_in),
        verdict: troubles.verdict,
        faults,
        left_out,
    })
}

/// The settings that show each fault: those that it put wrong, and those that are at odds with them: a limit that
/// is counted per phase shows at the limit too.
fn shown_by(issued: &Json, pinned: &Json, expected: &[Expected], assessor: &mut Assessor) -> Vec<BTreeSet<Spot>> {
    let mut as_found = issued.clone();
    for (_, device) in as_found["devices"].as_object_mut().into_iter().flatten() {
        if let Some(found) = device.get("as-found").cloned() {
            device["as-left"] = found;
        }
    }
    let as_found = Draft(with_what_was_left(issued, pinned, &as_found));
    let wrong = as_found.judged(assessor, |assessment, _| Troubles::of(assessment).wrong).unwrap_or_default();
    let of_fault = |fault: &Expected| {
        let touched: BTreeSet<Spot> = fault.touched.iter().map(|(spot, _)| spot.clone()).collect();
        let beside = wrong.iter().filter(|trouble| !trouble.is_disjoint(&touched)).flatten().cloned().collect();
        touched.union(&beside).cloned().collect()
    };
    expected.iter().map(of_fault).collect()
}

/// Whether a student means this spot.
fn is_meant((device, what): &(Option<String>, What), spot: &Spot) -> bool {
    *what == spot.what && device.as_ref().is_none_or(|device| *device == spot.device)
}

/// The names that stand for no fault of the site: of others, or with none of the settings that show it.
fn not_there(named: &[Named], expected: &[Expected], shown_by: &[BTreeSet<Spot>]) -> Vec<String> {
    let is_there = |one: &Named| {
        let same_name = expected.iter().zip(shown_by).filter(|(fault, _)| fault.fault == one.fault);
        same_name.flat_map(|(_, shown_by)| shown_by).any(|spot| one.settings.iter().any(|said| is_meant(said, spot)))
    };
    let mut names: Vec<String> = named.iter().filter(|one| !is_there(one)).map(|one| one.fault.clone()).collect();
    names.sort();
    names.dedup();
    names
}

fn correction(left: &Draft, spot: &Spot, right: Option<&str>, troubles: &Troubles) -> Correction {
    let said = super::drawing::said(left, spot);
    let is_as_in_key = said.is_some() && said.as_deref() == right;
    let What::Setting(setting) = spot.what else {
        return match said {
            None => Correction::NotStated,
            Some(_) if is_as_in_key => Correction::Right,
            Some(_) => Correction::Wrong,
        };
    };
    if said.is_none() || troubles.unproven.contains(spot) {
        return Correction::NotStated;
    }
    let of_this = |trouble: &&BTreeSet<Spot>| trouble.contains(spot);
    // of what several settings may have put wrong together, the one that is as in the key is not to blame
    let is_wrong = troubles.wrong.iter().filter(of_this).any(|trouble| trouble.len() == 1 || !is_as_in_key);
    if is_wrong || (is_idle(left, spot, setting) && !is_as_in_key) { Correction::Wrong } else { Correction::Right }
}

/// Whether the function of a setting is stated not to act, so that nobody asks what else it holds.
fn is_idle(left: &Draft, spot: &Spot, setting: SettingId) -> bool {
    let state = setting.state().filter(|state| *state != setting);
    state.and_then(|state| left.held(&spot.device, state)).is_some_and(|word| word != "enabled")
}

/// What does not comply now, and is not the exercise's: troubles that no touched setting can answer for.
fn newly_broken(left: &Draft, troubles: &Troubles, touched: &[&(Spot, Option<String>)]) -> Vec<Spot> {
    let is_to_blame = |spot: &Spot, alone: bool| {
        let key = touched.iter().find(|(other, _)| other == spot);
        key.is_some_and(|(_, right)| alone || super::drawing::said(left, spot).is_none() || super::drawing::said(left, spot) != *right)
    };
    let mut broken: Vec<Spot> = Vec::new();
    for trouble in &troubles.wrong {
        if !trouble.iter().any(|spot| is_to_blame(spot, trouble.len() == 1)) {
            broken.extend(trouble.iter().find(|spot| !touched.iter().any(|(other, _)| other == *spot)).or(trouble.first()).cloned());
        }
    }
    broken.sort();
    broken.dedup();
    broken
}

/// What is stated among settings and is no setting: it stands on a nameplate, and is what it was.
const ON_A_NAMEPLATE: [SettingId; 1] = [SettingId::of("export-sensor", "ratio-fitted")];

/// The site as it was issued, pinned, with what the student leaves on each device.
fn with_what_was_left(issued: &Json, pinned: &Json, handed_in: &Json) -> Json {
    let mut site = issued.clone();
    site["pinned"] = pinned.clone();
    for (name, device) in site["devices"].as_object_mut().into_iter().flatten() {
        let Some(left) = handed_in["devices"][name].get("as-left") else { continue };
        device["as-left"] = left.clone();
        for fact in ON_A_NAMEPLATE {
            let (function, key) = (fact.function().key, fact.parameter().key);
            let found = device["as-found"]["settings"][function].get(key).cloned();
            if let (Some(found), Some(stated)) = (found, device["as-left"]["settings"][function].get_mut(key)) {
                *stated = found;
            }
        }
    }
    site
}

/// Every path at which the two differ beside `as-left` and the diagnosis.
fn altered(issued: &Json, handed_in: &Json) -> Vec<String> {
    let without_answers = |site: &Json| {
        let mut site = site.clone();
        if let Some(training) = site["training"].as_object_mut() {
            training.remove("diagnosis");
        }
        for (_, device) in site["devices"].as_object_mut().into_iter().flatten() {
            let _ = device.as_object_mut().map(|device| device.remove("as-left"));
        }
        site
    };
    let mut paths = Vec::new();
    differences("", &without_answers(issued), &without_answers(handed_in), &mut paths);
    for (name, device) in handed_in["devices"].as_object().into_iter().flatten() {
        for fact in ON_A_NAMEPLATE {
            let of = |moment: &Json| moment["settings"][fact.function().key].get(fact.parameter().key).cloned();
            let (found, left) = (of(&issued["devices"][name]["as-found"]), of(&device["as-left"]));
            if left.is_some() && found.is_some() && left != found {
                paths.push(format!("devices/{name}/as-left/settings/{fact}"));
            }
        }
    }
    paths
}

fn differences(path: &str, one: &Json, other: &Json, found: &mut Vec<String>) {
    let below = |key: &str| if path.is_empty() { key.to_owned() } else { format!("{path}/{key}") };
    match (one, other) {
        (Json::Object(one), Json::Object(other)) => {
            let keys: BTreeSet<&String> = one.keys().chain(other.keys()).collect();
            for key in keys {
                match (one.get(key), other.get(key)) {
                    (Some(one), Some(other)) => differences(&below(key), one, other, found),
                    _ => found.push(below(key)),
                }
            }
        }
        _ if one == other => {}
        _ => found.push(path.to_owned()),
    }
}

/// Pins as a site's file states them.
#[must_use]
pub fn pins(profiles: &[(String, String)]) -> Json {
    profiles.iter().map(|(profile, sha256)| json!({ "profile": profile, "sha256": sha256 })).collect()
}
