//! Drawing faults for a class, so that every site says what its key says and nothing else.

use super::chance::Chance;
use super::draft::Draft;
use super::faults::{FAULTS, UnmetKind, approve};
use super::model::complies;
use super::scene::{Scene, inverters};
use super::surroundings::furnish;
use super::trouble::{Spot, Troubles, What};
use crate::assess::Assessor;
use crate::provenance::Verdict;
use jiff::ToSpan;
use serde_json::{Value as Json, json};
use std::collections::{BTreeMap, BTreeSet};

/// What a trainer orders.
#[derive(Clone, Debug)]
pub struct Order {
    /// What the faults are drawn by.
    pub seed: u64,
    /// The name of the exercise.
    pub exercise: String,
    /// The students, by name or number.
    pub students: Vec<String>,
    /// The fewest faults that a student has.
    pub fewest: usize,
    /// The most.
    pub most: usize,
}

/// A student's site.
#[derive(Clone, Debug)]
pub struct Drawn {
    /// Whose it is.
    pub student: String,
    /// The site as the student is given it: its devices as found.
    pub site: Json,
    /// The same with its devices left as they should be.
    pub mended: Json,
    /// What is wrong.
    pub faults: Vec<DrawnFault>,
}

/// A fault of a student's site.
#[derive(Clone, Debug)]
pub struct DrawnFault {
    /// Which.
    pub kind: &'static UnmetKind,
    /// The settings that it put wrong.
    pub touched: Vec<Touched>,
}

/// A setting that a fault put wrong.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Touched {
    /// Where.
    pub spot: Spot,
    /// What is found there; `None` where nothing is stated.
    pub found: Option<String>,
    /// A value that is right.
    pub right: Option<String>,
}

/// So often a student's set is drawn anew before one is taken that another student has by name already.
const TRIES_FOR_OTHER_FAULTS: usize = 24;
/// So often before one is taken that another student has to the letter.
const TRIES: usize = 32;

/// Draws a site for every student.
///
/// # Errors
/// In words: that not as many faults can happen to such a site.
pub fn draw(models: &[Draft], order: &Order, assessor: &mut Assessor) -> Result<Vec<Drawn>, String> {
    let mut class = Class::default();
    let mut drawn: Vec<Drawn> = Vec::with_capacity(order.students.len());
    for (n, student) in order.students.iter().enumerate() {
        let mut chance = Chance::new(order.seed, n as u64);
        let mut best: Option<(usize, Drawn)> = None;
        for attempt in 0..TRIES {
            let Some(one) = one(models, order, student, &mut chance, &class, assessor) else { continue };
            let rank = class.rank(&one);
            if best.as_ref().is_none_or(|(least, _)| rank < *least) {
                best = Some((rank, one));
            }
            if best.as_ref().is_some_and(|(rank, _)| *rank == 0 || (*rank == 1 && attempt + 1 >= TRIES_FOR_OTHER_FAULTS)) {
                break;
            }
        }
        let Some((_, one)) = best else {
            return Err(format!("not as many as {} faults could be put into such a site; ask for fewer with --faults", order.fewest));
        };
        class.add(&one);
        drawn.push(one);
    }
    Ok(drawn)
}

/// What the students before have.
#[derive(Default)]
struct Class {
    by_name: BTreeSet<Vec<&'static str>>,
    to_the_letter: BTreeSet<Vec<(&'static str, Vec<Touched>)>>,
    used: BTreeMap<&'static str, usize>,
    sites: BTreeSet<String>,
}

impl Class {
    /// 0 where nobody has these faults, 1 where nobody has them in these settings, 2 where somebody has.
    fn rank(&self, one: &Drawn) -> usize {
        let (by_name, to_the_letter) = signature(one);
        usize::from(self.by_name.contains(&by_name)) + usize::from(self.to_the_letter.contains(&to_the_letter))
    }

    fn add(&mut self, one: &Drawn) {
        let (by_name, to_the_letter) = signature(one);
        by_name.iter().for_each(|name| *self.used.entry(name).or_default() += 1);
        self.by_name.insert(by_name);
        self.to_the_letter.insert(to_the_letter);
        self.sites.extend(one.site["site"].as_str().map(str::to_owned));
    }
}

type Signature = (Vec<&'static str>, Vec<(&'static str, Vec<Touched>)>);

fn signature(one: &Drawn) -> Signature {
    let mut faults: Vec<_> = one.faults.iter().map(|fault| (fault.kind.name, anonymous(&fault.touched))).collect();
    faults.sort();
    (faults.iter().map(|(name, _)| *name).collect(), faults)
}

/// What was touched, whatever the devices are called.
fn anonymous(touched: &[Touched]) -> Vec<Touched> {
    touched.iter().map(|one| Touched { spot: Spot { device: String::new(), what: one.spot.what }, ..one.clone() }).collect()
}

/// One student's site.
fn one(models: &[Draft], order: &Order, student: &str, chance: &mut Chance, class: &Class, assessor: &mut Assessor) -> Option<Drawn> {
    let wanted = order.fewest + chance.below(order.most - order.fewest + 1);
    let base = varied(chance.pick(models)?, chance, class, assessor)?;
    let mut kinds = FAULTS;
    chance.shuffle(&mut kinds);
    // what nobody had yet comes first, so that a class sees as much as can be
    kinds.sort_by_key(|kind| class.used.get(kind.name).copied().unwrap_or_default());
    let mut site = Faulty { draft: base.clone(), edited: BTreeSet::new(), faults: Vec::new() };
    for kind in kinds {
        if site.faults.len() == wanted {
            break;
        }
        if let Some(with) = with_fault(&base, &site, kind, chance, assessor) {
            site = with;
        }
    }
    if site.faults.len() < order.fewest {
        return None;
    }
    let mut faults = site.faults;
    faults.sort_by_key(|fault| FAULTS.iter().position(|kind| kind.name == fault.kind.name));
    let training = json!({ "exercise": order.exercise, "student": student });
    let as_found = as_found(&site.draft, &training);
    let mut mended = as_found.clone();
    for device in base.devices() {
        mended["devices"][&device]["as-left"] = base.0["devices"][&device]["as-left"].clone();
    }
    Some(Drawn { student: student.to_owned(), site: as_found, mended, faults })
}

/// A model with names of its own, work of some kind, and at times an approval that still holds: what comes with
/// some faults comes without them too, so that it gives none away.
fn varied(model: &Draft, chance: &mut Chance, class: &Class, assessor: &mut Assessor) -> Option<Draft> {
    const WORK: [Option<&str>; 6] =
        [None, Some("new"), Some("addition"), Some("settings-only"), Some("warranty-replacement"), Some("warranty-replacement")];
    let work = *chance.pick(&WORK)?;
    let (with_approval, mut after) = (chance.below(4) == 0, chance.clone());
    let mut draft = model.clone();
    let stated = model.work().map(str::to_owned);
    for _ in 0..8 {
        after = chance.clone();
        furnish(&mut draft, &mut after, work.filter(|_| stated.is_none()));
        let is_new = draft.0["site"].as_str().is_some_and(|site| !class.sites.contains(site));
        if is_new {
            break;
        }
        let _ = chance.bits();
        draft = model.clone();
    }
    *chance = after;
    if !complies(&draft, assessor) {
        // another kind of work may stand under other rules
        draft = model.clone();
        furnish(&mut draft, chance, None);
    }
    if with_approval {
        let until = assessor.today.checked_add((30 + chance.below(600) as i64).days()).ok()?;
        let scene = Scene { inverters: inverters(&draft, assessor), draft: draft.clone(), assessor, edited: BTreeSet::new() };
        let mut approved = draft.clone();
        let is_made = approve(&scene, chance, &mut approved, until).is_some();
        if is_made && complies(&approved, scene.assessor) {
            draft = approved;
        }
    }
    complies(&draft, assessor).then_some(draft)
}

/// A site with some faults.
struct Faulty {
    draft: Draft,
    edited: BTreeSet<Spot>,
    faults: Vec<DrawnFault>,
}

/// The site with a further fault, where that can be told from those it has: no fault touches what another one
/// does, each still shows, and everything that is wrong is of just one of them.
fn with_fault(base: &Draft, site: &Faulty, kind: &'static UnmetKind, chance: &mut Chance, assessor: &mut Assessor) -> Option<Faulty> {
    let mut scene = Scene { inverters: inverters(base, assessor), draft: site.draft.clone(), assessor, edited: BTreeSet::new() };
    (kind.put)(&mut scene, chance)?;
    let (draft, edited) = (scene.draft, scene.edited);
    if edited.is_empty() || !edited.is_disjoint(&site.edited) {
        return None;
    }
    let earlier: BTreeSet<Spot> = site.faults.iter().flat_map(|fault| fault.touched.iter().map(|one| one.spot.clone())).collect();
    let touched = shown(&draft, &edited, &earlier, kind.fewest, assessor)?;
    let all_touched: BTreeSet<Spot> = touched.union(&earlier).cloned().collect();
    let is_mended_by_key = complies(&restored(&draft, base, &all_touched), assessor);
    let (draft, touched) = if is_mended_by_key {
        (draft, touched)
    } else {
        // something lies behind what was touched, such as other points of a function that is off: it would come to light
        // when that is mended, so it is left as it was
        let behind = edited.difference(&touched).cloned().collect();
        let draft = restored(&draft, base, &behind);
        let touched = shown(&draft, &touched, &earlier, kind.fewest, assessor)?;
        let all_touched = touched.union(&earlier).cloned().collect();
        if !complies(&restored(&draft, base, &all_touched), assessor) {
            return None;
        }
        (draft, touched)
    };
    let touched = touched.into_iter().map(|spot| Touched { found: said(&draft, &spot), right: said(base, &spot), spot }).collect();
    let mut faults = site.faults.clone();
    faults.push(DrawnFault { kind, touched });
    Some(Faulty { draft, edited: site.edited.union(&edited).cloned().collect(), faults })
}

/// Which of the edited settings show as wrong; `None` where the fault could not be told from others, or does no harm.
fn shown(
    draft: &Draft,
    edited: &BTreeSet<Spot>,
    earlier: &BTreeSet<Spot>,
    fewest: usize,
    assessor: &mut Assessor,
) -> Option<BTreeSet<Spot>> {
    let troubles = draft.judged(assessor, |assessment, _| Troubles::of(assessment))?;
    let suspects = troubles.suspects();
    let shows = |spot: &&Spot| spot.what == What::Region || suspects.contains(spot);
    let touched: BTreeSet<Spot> = edited.iter().filter(shows).cloned().collect();
    let of_settings = touched.iter().filter(|spot| spot.what != What::Region).count();
    // what two faults may have caused together could be found as either
    let is_of_one = |trouble: &BTreeSet<Spot>| trouble.is_disjoint(&touched) != trouble.is_disjoint(earlier);
    let region_of = |spot: &Spot| Spot { device: spot.device.clone(), what: What::Region };
    let is_of_region = |spot: &Spot| touched.contains(&region_of(spot)) || earlier.contains(&region_of(spot));
    let is_told = troubles.verdict == Verdict::DoesNotComply
        && of_settings >= fewest
        && earlier.iter().all(|spot| shows(&spot))
        && troubles.wrong.iter().all(is_of_one)
        && troubles.unproven.iter().all(is_of_region);
    is_told.then_some(touched)
}

/// The draft with these spots as another has them.
fn restored(draft: &Draft, from: &Draft, spots: &BTreeSet<Spot>) -> Draft {
    let mut restored = draft.clone();
    for spot in spots {
        match spot.what {
            What::Region => restored.select(&spot.device, from.region(&spot.device)),
            What::Setting(setting) => {
                if let Some(value) = from.held(&spot.device, setting) {
                    restored.hold(&spot.device, setting, value.clone());
                }
            }
        }
    }
    restored
}

/// What a device says in one spot, for people.
#[must_use]
pub fn said(draft: &Draft, spot: &Spot) -> Option<String> {
    match spot.what {
        What::Region => draft.region(&spot.device).map(str::to_owned),
        What::Setting(setting) => draft.held(&spot.device, setting).map(in_words),
    }
}

/// `265 V`, or `44 % at 207 V, 0 % at 220 V`.
fn in_words(value: &Json) -> String {
    match value {
        Json::String(text) => text.clone(),
        Json::Array(points) => {
            let point = |p: &Json| format!("{} at {}", p[1].as_str().unwrap_or_default(), p[0].as_str().unwrap_or_default());
            points.iter().map(point).collect::<Vec<_>>().join(", ")
        }
        other => other.to_string(),
    }
}

/// The site as it is found: what its devices hold stands under `as-found`, and nothing under `as-left`.
fn as_found(draft: &Draft, training: &Json) -> Json {
    let mut site = draft.0.clone();
    site["training"] = training.clone();
    for device in draft.devices() {
        let Some(device) = site["devices"][&device].as_object_mut() else { continue };
        if let Some(left) = device.remove("as-left") {
            device.insert("as-found".to_owned(), left);
        }
    }
    site
}
