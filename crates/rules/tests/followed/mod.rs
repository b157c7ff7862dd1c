//! Doing at a site what the lines of a change note say, and judging it before and after.

use super::common::read_site;
use rules::assess::{Assessor, Books, WhyNotJudged};
use rules::book::Counted;
use rules::compare::action::{Action, ToDo};
use rules::compare::step::Step;
use rules::compare::versions::Change;
use rules::judge::{DeviceSettings, MissingEvidence, UnmetClaim, UnmetKind, judge_entry};
use rules::phrase::to_set;
use rules::provenance::Verdict;
use rules::satisfy::satisfy;
use rules::witness::{Witness, WitnessValue};
use settings_model::catalogue::{ENABLED, Equipment, HeldBy, SettingId, Shape};
use settings_model::claim::{Evidence, Limit, ProvenanceId, Var};
use settings_model::entry::Entry;
use settings_model::facts::Facts;
use settings_model::files::SiteFile;
use settings_model::finding::Outcome as FindingOutcome;
use settings_model::quantity::Amount;
use settings_model::reader;
use settings_model::requirement::Resolved;
use settings_model::settings::{Known, Settings};
use settings_model::value::{Point, Value};
use std::rc::Rc;

/// How often each law had something to say, so that none is kept by never being asked.
#[derive(Debug, Default)]
pub struct Followed {
    /// Sites that complied under the older version.
    pub complied: usize,
    /// Those of them that no line concerns, or only such as ask for nothing.
    pub told_nothing: usize,
    /// Those that had something to do, and did it.
    pub did: usize,
    /// Those that would not comply if they had not.
    pub had_to: usize,
    /// Lines that were followed.
    pub lines: usize,
    /// Those that complied but for what the network operator has yet to say.
    pub left_open: usize,
    /// Sites that did not comply before.
    pub at_fault_before: usize,
    /// Sites of which a fact is not stated that decides whether a line concerns them.
    pub undecided: usize,
    /// Sites at which nobody can comply under the newer version.
    pub nobody_can: usize,
    /// Sites that complied by every line, and whose chosen values broke a rule that ties two settings: each
    /// complies alone, and `check` says so.
    pub tied: usize,
    /// Sites at which a line says to ask somebody, or to build otherwise.
    pub beyond_settings: usize,
    /// Sites with an approval that holds, and that say nothing of what it decides.
    pub approved: usize,
    /// Sites with an approval that may not do under the newer version what it does: its approver decides.
    pub for_the_approver: usize,
}

/// What following the lines came to.
pub enum Outcome {
    /// It complies.
    Confirmed,
    /// It could not be tried.
    NotTried,
    /// It does not, though every line was followed.
    Contradicted(String),
}

/// One of the things that are judged at a site.
struct Judged {
    kind: Equipment,
    name: String,
    facts: Facts,
    counted: Rc<Counted>,
    /// What an approval for this site decides, in place of what the versions ask.
    departed: Vec<SettingId>,
}

/// What a site came to, apart from what the network operator has yet to say: an edition by itself leaves that open, and
/// every other figure of it has its own finding.
struct Found {
    is_fine: bool,
    /// The values that the network operator has yet to say.
    open: Vec<(String, SettingId)>,
    /// What is wrong.
    wrong: String,
    /// The ties that it breaks, if that is all that is wrong. A trip against the withstand is one too, though
    /// no claim can say it.
    ties: Option<Vec<ProvenanceId>>,
    /// Whether only what the devices add up to is wrong.
    only_sums: bool,
    /// Whether an approval may not do what it does.
    is_for_the_approver: bool,
}

impl Found {
    /// Whether it complies, but for what was left open before.
    fn complies_but(&self, open: &[(String, SettingId)]) -> bool {
        self.is_fine && self.open.iter().all(|left| open.contains(left))
    }
}

/// Whoever granted an approval against one version grants it against this one.
fn grant_against(site: &mut SiteFile<'_>, books: &Books) {
    for approval in &mut site.site_specific_approvals {
        let Some(against) = &mut approval.against else { continue };
        if let Some(version) = books.on(Equipment::Inverter).rulebook.version_of(&against.network) {
            against.version.0 = version;
        }
    }
}

/// Does what the lines say at a site, if it complied before.
pub fn follow(text: &str, old: &Books, new: &Books, all: &[(Equipment, Change)], assessor: &mut Assessor, found: &mut Followed) -> Outcome {
    let Some(root) = read_site(text, assessor) else { return Outcome::NotTried };
    let mut site: SiteFile<'_> = reader::typed(&root).unwrap();
    grant_against(&mut site, old);
    let (_, before) = judged(&site, old, assessor);
    if !before.is_fine {
        found.at_fault_before += 1;
        return Outcome::NotTried;
    }
    found.left_open += usize::from(!before.open.is_empty());
    let open = before.open;
    grant_against(&mut site, new);
    let (judged, unchanged) = judged(&site, new, assessor);
    if judged.iter().any(|one| one.counted.contradiction_at(&one.facts).is_some()) {
        found.nobody_can += 1;
        return Outcome::NotTried;
    }
    if unchanged.is_for_the_approver {
        found.for_the_approver += 1;
        return Outcome::NotTried;
    }
    let mut concerned: Vec<(&Judged, &Change)> = Vec::new();
    for one in &judged {
        let of_kind = all.iter().filter(|(kind, change)| *kind == one.kind && !one.departed.contains(&change.setting));
        for (_, change) in of_kind {
            match change.sites.hold(&one.facts) {
                Some(true) => concerned.push((one, change)),
                Some(false) => {}
                None => {
                    found.undecided += 1;
                    return Outcome::NotTried;
                }
            }
        }
    }
    found.complied += 1;
    found.approved += usize::from(judged.iter().any(|one| !one.departed.is_empty()));
    let said = || {
        concerned
            .iter()
            .map(|(one, change)| format!("{}: {} {:?} {:?}\n", one.name, change.setting, change.reason, change.action))
            .collect::<String>()
    };
    let loses_nothing = concerned.iter().all(|(_, change)| change.reason.step() < Step::Breaking && !change.reason.is_open());
    if loses_nothing && !unchanged.complies_but(&open) {
        return Outcome::Contradicted(format!("it is said to lose nothing, and does not comply: {}\n{}{text}", unchanged.wrong, said()));
    }
    let mut lines = 0;
    for (one, change) in &concerned {
        let asks_nothing = change.action == Action { to_do: ToDo::Nothing, known_by: None };
        lines += usize::from(!asks_nothing);
        if !asks_nothing && !do_it(change, one, &mut site) {
            found.beyond_settings += 1;
            return Outcome::NotTried;
        }
    }
    found.lines += lines;
    *(if lines == 0 { &mut found.told_nothing } else { &mut found.did }) += 1;
    found.had_to += usize::from(!unchanged.complies_but(&open));
    let (_, after) = self::judged(&site, new, assessor);
    match after {
        after if after.complies_but(&open) => Outcome::Confirmed,
        // of a range somebody chooses a value; some that comply alone do not go together, and the lines say so
        Found { ties: Some(ties), wrong, .. } => {
            let is_told =
                |tie: &ProvenanceId| concerned.iter().any(|(_, change)| change.tied.keep.contains(tie) || change.tied.nobody.contains(tie));
            if !ties.iter().all(is_told) {
                return Outcome::Contradicted(format!("it was not told to keep a rule that ties two settings: {wrong}\n{}{text}", said()));
            }
            found.tied += 1;
            Outcome::NotTried
        }
        // fewer inverters, or others: no setting does it
        Found { only_sums: true, .. } => {
            found.beyond_settings += 1;
            Outcome::NotTried
        }
        after => Outcome::Contradicted(format!("it did what the lines say, and does not comply: {}\n{}{text}", after.wrong, said())),
    }
}

/// The devices and the installation, and what they came to.
fn judged(site: &SiteFile<'_>, books: &Books, assessor: &mut Assessor) -> (Vec<Judged>, Found) {
    let assessment = assessor.assess_under(site, books);
    let of_device = |device: &rules::assess::DeviceResult<'_>| Judged {
        kind: device.kind,
        name: device.name.to_owned(),
        facts: device.facts.clone(),
        counted: device.counted.clone(),
        departed: device.departures.iter().map(|departure| departure.setting).collect(),
    };
    let is_tie = |broken: &rules::practice::Broken| broken.rule == "trip-inside-withstand";
    let mut only_ties = assessment.broken.iter().all(is_tie) && assessment.notes.is_empty();
    let (mut only_sums, mut ties, mut wrong) = (only_ties, Vec::new(), Vec::<String>::new());
    for device in &assessment.devices {
        for fault in device.faults.iter().filter(|fault| fault.kind != UnmetKind::SameResponse) {
            only_ties &= device.book.rulebook.is_tie(fault.claim.why);
            ties.push(fault.claim.why);
            only_sums &= fault.setting.parameter().held_by == HeldBy::AddedUp;
            wrong.push(format!("{} {} {:?} {:?}", device.name, fault.setting, fault.kind, fault.claim));
        }
    }
    wrong.extend(assessment.broken.iter().map(|broken| format!("{} {}", broken.rule, broken.says)));
    wrong.extend(assessment.notes.iter().map(|note| note.headline.clone()));
    let of_approval = |note: &rules::assess::Note| note.name.starts_with("approval-") && note.outcome != FindingOutcome::Remark;
    let is_left_open = |fault: &UnmetClaim| fault.kind == UnmetKind::NotProven(MissingEvidence::LeftOpen);
    let faults = || assessment.devices.iter().flat_map(|device| device.faults.iter().map(move |fault| (device.name, fault)));
    let is_open_alone = assessment.broken.is_empty()
        && assessment.notes.iter().all(|note| note.outcome == FindingOutcome::Remark)
        && faults().all(|(_, fault)| fault.kind == UnmetKind::SameResponse || is_left_open(fault))
        && !assessment.not_judged.iter().any(|one| matches!(one.why, WhyNotJudged::NothingIsAsked | WhyNotJudged::MayHaveToAct(_)));
    let found = Found {
        is_fine: assessment.verdict == Verdict::Complies || (assessment.verdict == Verdict::NotProven && is_open_alone),
        open: faults().filter(|(_, fault)| is_left_open(fault)).map(|(name, fault)| (name.to_owned(), fault.setting)).collect(),
        wrong: wrong.join("; "),
        ties: only_ties.then_some(ties),
        only_sums,
        is_for_the_approver: assessment.notes.iter().any(of_approval),
    };
    (assessment.devices.iter().map(of_device).collect(), found)
}

/// Does what one line says; `false` where that takes more than settings.
fn do_it(change: &Change, one: &Judged, site: &mut SiteFile<'_>) -> bool {
    let settings = match one.kind {
        Equipment::Installation => &mut site.installation.0,
        _ => match site.devices.0.iter_mut().find(|(name, _)| **name == *one.name).and_then(|(_, device)| device.as_left.as_mut()) {
            Some(left) => &mut left.settings,
            None => return false,
        },
    };
    let resolved = one.counted.requirement.get(change.setting);
    match (&change.action.to_do, resolved) {
        (ToDo::Nothing | ToDo::UnlessMoved, _) => {}
        (ToDo::LookUp, _) => return true,
        (ToDo::AskTheOperator | ToDo::AskWhatIsRequired, _) => return false,
        (ToDo::SwitchOff, _) => {
            let state = change.setting.state().expect("a stage has a state");
            settings.set(state, known(Value::Word(OFF), None));
            return true;
        }
        (_, None) => return false,
        (ToDo::Set(value), Some(resolved)) => settings.set(change.setting, known(value.clone(), accepted(&resolved.entry))),
        (ToDo::BringWithin(value), Some(resolved)) => bring(resolved, value.as_ref(), one, settings),
        (ToDo::EnterThePoints, Some(resolved)) => bring(resolved, None, one, settings),
        (ToDo::SeeThat, Some(resolved)) => {
            if change.setting.parameter().held_by == HeldBy::AddedUp {
                return true; // what the devices add up to: the verdict shows whether it is so
            }
            bring(resolved, None, one, settings);
        }
        (ToDo::SwitchOn, Some(resolved)) => {
            settings.set(change.setting, known(Value::Word(ENABLED), accepted(&resolved.entry)));
            for other in one.counted.requirement.entries.iter().filter(|other| other.entry.setting.same_function(change.setting)) {
                if !other.entry.demands_nothing() && !other.entry.is_gap() {
                    bring(other, None, one, settings);
                }
            }
        }
    }
    if let (Some(kinds), Some(resolved)) = (change.action.known_by, resolved) {
        let evidence = kinds.iter().next().map(|kind| Evidence::ALL[usize::from(kind)]);
        match settings.get(change.setting).cloned() {
            Some(held) => settings.set(change.setting, Known { evidence, ..held }),
            // what the selected region brought is now read from the device
            None => {
                if let Some(value) = resolved.base.require.clone().or_else(|| chosen(&resolved.entry, &one.facts)) {
                    settings.set(change.setting, known(value, evidence));
                }
            }
        }
    }
    true
}

const OFF: u8 = 1;

fn known(value: Value, evidence: Option<Evidence>) -> Known {
    Known { value, evidence, step: None }
}

/// The strongest kind of evidence that is accepted.
fn accepted(entry: &Entry) -> Option<Evidence> {
    let kinds = entry.comply.iter().find_map(|claim| if let Limit::Stated(kinds) = claim.limit { Some(kinds) } else { None });
    kinds.map_or(Some(Evidence::Read), |kinds| kinds.iter().next().map(|kind| Evidence::ALL[usize::from(kind)]))
}

fn is_kept(resolved: &Resolved, one: &Judged, settings: &Settings) -> bool {
    let held = DeviceSettings { settings, evidence: None, region_stands: false, asked: &one.counted.requirement };
    let mut faults = Vec::new();
    judge_entry(resolved, held, &one.facts, &mut faults);
    faults.is_empty()
}

/// Brings a setting within what is asked, where it is not.
fn bring(resolved: &Resolved, value: Option<&Value>, one: &Judged, settings: &mut Settings) {
    let setting = resolved.entry.setting;
    if settings.states(setting) && is_kept(resolved, one, settings) {
        return;
    }
    if let Some(value) = value.cloned().or_else(|| chosen(&resolved.entry, &one.facts)) {
        settings.set(setting, known(value, accepted(&resolved.entry)));
    }
}

/// Some value that keeps an entry.
fn chosen(entry: &Entry, facts: &Facts) -> Option<Value> {
    if let Some(value) = to_set(entry, &[], facts) {
        return Some(value);
    }
    let enabled: Vec<SettingId> = entry.setting.state().into_iter().filter(|state| *state != entry.setting).collect();
    let witness = satisfy(&entry.comply, facts, &enabled).ok()??;
    value_in(&witness, entry.setting)
}

fn value_in(witness: &Witness, setting: SettingId) -> Option<Value> {
    if let Shape::Curve { .. } = setting.parameter().shape {
        let points = witness.curve(setting)?.into_iter();
        return Some(Value::Curve(points.map(|(x, y)| Point { x: Amount::plain(x), y: Amount::plain(y) }).collect()));
    }
    Some(match witness.settings.get(&Var::from(setting))? {
        WitnessValue::Number(number) => Value::Quantity(Amount::plain(*number)),
        WitnessValue::Word(word) => Value::Word(*word),
    })
}

/// The network and the region of a site, if its devices all stand under those.
pub fn network_and_region(text: &str, assessor: &mut Assessor) -> Option<(String, String)> {
    let root = read_site(text, assessor)?;
    let site: SiteFile<'_> = reader::typed(&root).unwrap();
    let own = site.devices.iter().any(|(_, device)| device.stands_under.is_some());
    let network = site.network.as_ref().filter(|_| !own)?;
    Some((network.to_string(), site.requirements.region.to_string()))
}

/// The site with an approval of one value that it holds, for each of some settings.
pub fn approved(text: &str, network: &str, assessor: &mut Assessor) -> Vec<String> {
    let Some(root) = read_site(text, assessor).filter(|_| !text.contains("site-specific-approvals:")) else { return Vec::new() };
    let site: SiteFile<'_> = reader::typed(&root).unwrap();
    let holding = site.devices.0.first().and_then(|(_, device)| device.as_left.as_ref());
    let of_setting = |path: &&str| {
        let setting = SettingId::named(path)?;
        let value = holding?.settings.get(setting)?.value.show(setting);
        Some(format!(
            "{text}
site-specific-approvals:
  - setting: {path}
    require: {value}
    against: {{ network: {network}, version: 1.0.0 }}
    approval: {{ reference: tried, role: network protection engineer, granted: 2026-01-05 }}
"
        ))
    };
    ["sustained-overvoltage/threshold", "reconnection/ramp-rate", "export-limit/site-total"].iter().filter_map(of_setting).collect()
}

/// Every law had something to say.
pub fn tally(found: &Followed) {
    assert!(found.tied * 4 < found.did, "{found:?}");
    assert!(found.complied > 20 && found.did > 10 && found.had_to > 10 && found.lines > 20, "{found:?}");
}
