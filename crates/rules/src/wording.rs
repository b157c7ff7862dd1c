//! Faults into findings: one for each setting, with both places, direction, consequence and remedy.

mod asked_first;
mod consequences;
mod labels;
mod missing;
mod not_judged;

use crate::assess::{Assessment, DeviceResult, Note, RegionStands};
use crate::judge::{MissingEvidence, UnmetClaim, UnmetKind};
use crate::misread::{misread, misread_roughly, turned};
use crate::outcome::Broken;
use crate::phrase::{
    adjustable, complies_within, dimension_of, here, least_digits, missing_evidence_phrase, missing_evidence_remedy, origin, value_here,
    within,
};
use crate::provenance::{Standing, of_line};
use settings_model::catalogue::{ENABLED, Equipment, Harm, HeldBy, SettingId, Shape};
use settings_model::claim::{Claim, Evidence, Limit, Part};
use settings_model::entry::Who;
use settings_model::exact::Exact;
use settings_model::facts::FactId;
use settings_model::finding::{Because, Finding, Folded, Outcome};
use settings_model::places::Places;
use settings_model::requirement::Rulebook;
use settings_model::source::Place;

/// Every finding of a site, the gravest first, with places in the site's own tree.
#[must_use]
pub fn findings(assessment: &Assessment<'_>, site: &dyn Places) -> Vec<Finding> {
    if assessment.has_nothing_to_say() {
        return Vec::new();
    }
    let mut findings: Vec<(Harm, Finding)> = Vec::new();
    findings.extend(assessment.profile_findings.iter().cloned().map(|f| (Harm::Departs, f)));
    let notes = assessment.notes.iter().filter(|note| !is_told_by_a_cause(note, assessment));
    findings.extend(notes.map(|note| (Harm::Departs, of_note(note, assessment, site))));
    for (n, device) in assessment.devices.iter().enumerate() {
        let broken = assessment.broken.iter().filter(|broken| broken.device == n).collect();
        Wording { device, broken, rulebook: &device.book.rulebook, site }.findings(&mut findings);
    }
    let not_judged = assessment.not_judged.iter().filter_map(|one| not_judged::finding(one, assessment, site));
    findings.extend(not_judged.map(|finding| (Harm::Departs, finding)));
    findings.extend(crate::attestation::disputes(assessment).into_iter().map(|finding| (Harm::Departs, finding)));
    findings.sort_by_key(|(harm, finding)| (finding.outcome, *harm));
    findings.into_iter().map(|(_, finding)| asked_first::asking_first(finding)).collect()
}

/// A wrong region is said once: by the note, or by the finding that its values are that region's.
fn is_told_by_a_cause(note: &Note, assessment: &Assessment<'_>) -> bool {
    let device = |device: &&DeviceResult<'_>| note.path.get(1).is_some_and(|name| name == device.name);
    let cause = assessment.devices.iter().find(device).and_then(|device| device.cause.as_ref());
    note.name == WRONG_REGION && cause.is_some_and(|cause| cause.is_selected_region)
}

fn of_note(note: &Note, assessment: &Assessment<'_>, site: &dyn Places) -> Finding {
    let mut finding =
        Finding::new(note.outcome, note.name, site.place(&note.path.iter().map(String::as_str).collect::<Vec<_>>()), note.headline.clone());
    finding.hint.clone_from(&note.hint);
    let lines = note.lines.iter().flat_map(|(book, lines)| lines.iter().map(|why| book.rulebook.why(*why)));
    for (line, layer) in lines.flatten() {
        let text = line.because.as_ref().filter(|_| !line.place.is_known()).map(|says| format!("{}: {says}", layer.title));
        finding.because.push(Because { place: line.place, label: format!("{} says so", layer.title), text, basis: line.standing() });
    }
    if note.name == WRONG_REGION {
        let regional = assessment.book.iter().flat_map(|book| &book.rulebook.region_notes);
        finding.notes.extend(regional.cloned());
        let device = assessment.devices.iter().find(|d| note.path.get(1).is_some_and(|name| name == d.name));
        let unstated = device.map_or(0, |d| d.faults.iter().filter(|f| is_unstated(f)).count());
        if unstated > 0 {
            finding.folded.push(region_does_not_stand(unstated).into());
        }
    }
    finding
}

fn region_does_not_stand(unstated: usize) -> String {
    format!("{unstated} settings are not listed, and the selected region does not stand for them")
}

fn is_unstated(fault: &UnmetClaim) -> bool {
    fault.kind == UnmetKind::NotProven(MissingEvidence::NotStated)
}

struct Wording<'a> {
    device: &'a DeviceResult<'a>,
    broken: Vec<&'a Broken>,
    rulebook: &'a Rulebook,
    site: &'a dyn Places,
}

/// A finding of its own, and the settings it is about.
struct Primary {
    settings: Vec<SettingId>,
    harm: Harm,
    finding: Finding,
}

impl Wording<'_> {
    fn findings(&self, out: &mut Vec<(Harm, Finding)>) {
        let (unstated, others): (Vec<&UnmetClaim>, Vec<&UnmetClaim>) = self.device.faults.iter().partition(|fault| is_unstated(fault));
        let (hanging, others): (Vec<&UnmetClaim>, Vec<&UnmetClaim>) =
            others.into_iter().partition(|fault| missing::hangs_on(fault).is_some());
        out.extend(self.of_hanging(&hanging));
        let (left_open, others): (Vec<&UnmetClaim>, Vec<&UnmetClaim>) = others.into_iter().partition(|fault| missing::is_left_open(fault));
        if !left_open.is_empty() {
            out.push((Harm::Departs, self.of_left_open(&left_open)));
        }
        let (ties, own): (Vec<&UnmetClaim>, Vec<&UnmetClaim>) = others.into_iter().partition(|fault| self.is_tie(fault));
        let mut by_setting: Vec<(SettingId, Vec<&UnmetClaim>)> = Vec::new();
        for fault in own {
            match by_setting.last_mut() {
                Some((setting, faults)) if *setting == fault.setting => faults.push(fault),
                _ => by_setting.push((fault.setting, vec![fault])),
            }
        }
        let mut primary: Vec<Primary> = by_setting.iter().map(|(setting, faults)| self.of_setting(*setting, faults)).collect();
        if let Some(cause) = &self.device.cause {
            primary = self.fold_into_cause(cause, primary);
            if cause.is_selected_region && !unstated.is_empty() {
                primary[0].finding.folded.push(region_does_not_stand(unstated.len()).into());
            }
        }
        for tie in ties {
            self.fold_tie(tie, &mut primary);
        }
        for broken in &self.broken {
            self.fold_broken(broken, &mut primary);
        }
        out.extend(primary.into_iter().map(|primary| (primary.harm, primary.finding)));
        if !unstated.is_empty() && self.device.region != RegionStands::OtherRegion {
            out.push((Harm::Departs, self.of_unstated(&unstated)));
        }
    }

    fn is_tie(&self, fault: &UnmetClaim) -> bool {
        self.rulebook.is_tie(fault.claim.why)
    }

    fn of_setting(&self, setting: SettingId, faults: &[&UnmetClaim]) -> Primary {
        let first = faults.iter().min_by_key(|f| outcome(f.kind)).expect("grouped faults");
        let claim = &first.claim;
        let part = claim.on.subject().part;
        let harm = harm_of(setting, claim);
        let place = self.place_of(setting, part);
        let mut finding =
            Finding::new(outcome(first.kind), name_of(first, claim), place, self.headline(setting, faults, first, claim, harm));
        finding.setting = Some(self.setting_path(setting));
        finding.label = self.label(setting, claim);
        finding.basis = self.decided_by(faults, outcome(first.kind));
        for other in faults.iter().filter(|f| !std::ptr::eq(**f, *first)).map(|f| &f.claim) {
            if other.on.subject().part != part || is_line(other) {
                finding.folded.push(Folded { text: self.part_sentence(setting, other), basis: of_line(other.why, self.rulebook) });
            }
        }
        finding.folded.dedup();
        self.add_origins(setting, claim, &mut finding);
        finding.notes.extend((first.kind == UnmetKind::NotProven(MissingEvidence::NoCase)).then(|| self.cases_depend_on(setting)));
        if let Some(found) = self.device.as_found.and_then(|found| found.get(setting)) {
            finding.notes.push(format!("as found, it was {}", found.value.show(setting)));
        }
        finding.notes.extend(self.on_display(setting, part));
        finding.hint = match first.kind {
            UnmetKind::Fails if is_other_time(setting, claim) => Some(self.other_time_remedy(setting, claim)),
            UnmetKind::Fails => self.asked_first(setting),
            UnmetKind::NotProven(lack) => Some(missing_evidence_remedy(lack)),
            UnmetKind::SameResponse => Some("enter the points as required: an auditor reads the entries".to_owned()),
        };
        Primary { settings: vec![setting], harm, finding }
    }

    /// `its cases depend on: phases (2 here), nameplate-total (12 kVA here)`.
    fn cases_depend_on(&self, setting: SettingId) -> String {
        let facts = &self.device.facts;
        let mut asked: Vec<FactId> = self.rulebook.conditions_on(setting).map(|condition| condition.fact).collect();
        asked.sort_unstable();
        asked.dedup();
        let known = |fact: FactId| Some(format!("{} ({} here)", fact.row().key, settings_model::facts::show(fact, facts.get(fact)?)));
        format!("its cases depend on: {}", asked.into_iter().filter_map(known).collect::<Vec<_>>().join(", "))
    }

    /// How the surest figure is known of those that come to this: one of them is enough.
    fn decided_by(&self, faults: &[&UnmetClaim], of: Outcome) -> Option<Standing> {
        let deciding = faults.iter().filter(|fault| outcome(fault.kind) == of);
        deciding.map(|fault| of_line(fault.claim.why, self.rulebook)).min().flatten()
    }

    fn headline(&self, setting: SettingId, faults: &[&UnmetClaim], first: &UnmetClaim, claim: &Claim, harm: Harm) -> String {
        let what = format!("{}: {}", self.device.name, setting.title());
        match first.kind {
            UnmetKind::SameResponse => format!("{what}: response equal, entries differ"),
            UnmetKind::NotProven(MissingEvidence::Evidence) => format!("{what}: {}", self.evidence_sentence(setting, claim)),
            UnmetKind::NotProven(MissingEvidence::OwnTime) => format!("{what} {}: not proven", self.part_sentence(setting, claim)),
            UnmetKind::NotProven(lack) => format!("{what}: {}", missing_evidence_phrase(lack)),
            UnmetKind::Fails => {
                let parts = faults.iter().map(|f| &f.claim).filter(|c| c.on.subject().part != claim.on.subject().part).count();
                let more = if parts > 0 { format!(" (and {parts} more)") } else { String::new() };
                format!("{what} {}{more}; {}", self.part_sentence(setting, claim), harm.phrase())
            }
        }
    }

    /// `is 257 V, required 255 V, 2 V too high`, for one part of a setting.
    fn part_sentence(&self, setting: SettingId, claim: &Claim) -> String {
        if is_line(claim) {
            return self.response_sentence(setting, claim);
        }
        let facts = &self.device.facts;
        let part = claim.on.subject().part;
        // a time may be judged as the one that is asked for, which it does not say, or is not
        let judged = claim.on.subject().setting;
        let entry = self.device.counted.requirement.get(judged).map(|r| &r.entry);
        let wanted = entry.and_then(|entry| within(&entry.comply, judged, part, facts)).unwrap_or_default();
        let found = self.found(setting, part);
        if is_other_time(setting, claim) {
            return format!("is {found}, {}, required {wanted}", bounds(setting, judged));
        }
        let name = match part {
            Part::Whole => String::new(),
            Part::PointCount => "number of points ".to_owned(),
            Part::X(n) => format!("point {} ", n + 1),
            Part::Y(n) => format!("level at point {} ", n + 1),
        };
        format!("{name}is {found}, required {wanted}{}", self.off_by(setting, claim))
    }

    /// `taken from the display; accepted: tested on site or photographed`.
    fn evidence_sentence(&self, setting: SettingId, claim: &Claim) -> String {
        let Limit::Stated(kinds) = &claim.limit else { return missing_evidence_phrase(MissingEvidence::Evidence) };
        let held = self.device.settings.get(setting).and_then(|known| known.evidence.or(self.device.evidence));
        let held = held.map_or("not stated", Evidence::phrase);
        let accepted: Vec<&str> = Evidence::ALL.into_iter().filter(|kind| kinds.has(*kind as u8)).map(Evidence::phrase).collect();
        format!("evidence: {held}; required: {}", accepted.join(" or "))
    }

    /// `response lies 30 % above what is allowed at 252 V`.
    fn response_sentence(&self, setting: SettingId, claim: &Claim) -> String {
        let side = if matches!(claim.limit, Limit::Above(_)) { "below" } else { "above" };
        let fault = self.device.faults.iter().find(|f| f.claim == *claim);
        match (fault.and_then(|f| Some((f.slack?, f.at?))), setting.parameter().shape) {
            (Some((slack, at)), Shape::Curve { x, y }) => {
                let by = y.show(least_digits(slack.abs()));
                format!("response lies {by} {side} what is allowed at {}", x.show(at))
            }
            _ => format!("response lies {side} what is allowed"),
        }
    }

    fn found(&self, setting: SettingId, part: Part) -> String {
        let Some(value) = self.value_of(setting) else { return "not stated".to_owned() };
        match (part, dimension_of(setting, part), value.part(part)) {
            (_, Some(dimension), Some(amount)) if amount.of.is_none() => dimension.show(told(amount.number)),
            (_, Some(dimension), Some(amount)) => match here(amount, &self.device.facts) {
                volts if volts != amount => format!("{} ({})", amount.show(dimension), volts.show(dimension)),
                _ => amount.show(dimension),
            },
            (Part::Whole, ..) => value.show(setting),
            _ => "missing".to_owned(),
        }
    }

    fn off_by(&self, setting: SettingId, claim: &Claim) -> String {
        let slack = self.device.faults.iter().find(|f| f.claim == *claim).and_then(|f| f.slack);
        let Some((slack, dimension)) = slack.zip(dimension_of(setting, claim.on.subject().part)) else { return String::new() };
        if slack >= Exact::ZERO {
            return String::new();
        }
        let side = if matches!(claim.limit, Limit::AtMost(_)) { "high" } else { "low" };
        match claim.on.subject().part {
            Part::PointCount => String::new(),
            _ => format!(", {} too {side}", dimension.show(told(slack.abs()))),
        }
    }

    fn label(&self, setting: SettingId, claim: &Claim) -> Option<String> {
        let value = self.value_of(setting)?.part(claim.on.subject().part)?;
        let facts = &self.device.facts;
        value
            .of
            .and_then(|_| value.at(facts))
            .zip(dimension_of(setting, claim.on.subject().part))
            .map(|(n, d)| format!("= {} here", d.show(n)))
    }

    fn add_origins(&self, setting: SettingId, claim: &Claim, finding: &mut Finding) {
        let says = |why| origin(why, self.rulebook, &self.device.departures, setting);
        let place = self.place_of_why(claim.why, setting);
        let text = Some(format!("required by {}", says(claim.why)));
        let basis = of_line(claim.why, self.rulebook);
        finding.because.push(Because { place, label: "required here".to_owned(), text, basis });
        let line = self.rulebook.whys.get(claim.why);
        if let Some(reason) = line.and_then(|line| line.because.as_ref()) {
            finding.notes.push(format!("reason given: {reason}"));
        }
        let conflict = line.and_then(|line| line.citation.as_ref()?.conflict.as_ref());
        finding.conflicts.extend(conflict.cloned());
        let Some(resolved) = self.device.counted.requirement.get(setting) else { return };
        let facts = &self.device.facts;
        let (was, now) = (complies_within(&resolved.base, facts), complies_within(&resolved.entry, facts));
        if let (Some(below), Some(was)) = (resolved.base.comply.first(), was.filter(|was| Some(was) != now.as_ref())) {
            finding.notes.push(format!("replaces {was} of {}", says(below.why)));
        }
    }

    fn place_of_why(&self, why: settings_model::claim::ProvenanceId, setting: SettingId) -> Place {
        if let Some(line) = self.rulebook.whys.get(why) {
            return line.place;
        }
        if why == settings_model::claim::ProvenanceId::NO_EXPORT {
            return self.site.place(&["export", "kind"]);
        }
        let departure = self.device.departures.iter().find(|d| d.setting == setting);
        let position = departure.map_or(0, |d| d.position).to_string();
        self.site.place(&["site-specific-approvals", &position, "require"])
    }

    /// What to set; where the value may be right and read in another way, that is to be seen first.
    fn asked_first(&self, setting: SettingId) -> Option<String> {
        let remedy = self.remedy(setting);
        let entry = &self.device.counted.requirement.get(setting)?.entry;
        // what is left to the network operator is no value to hold it against
        let held = self.value_of(setting).filter(|_| !entry.is_left_open());
        let facts = &self.device.facts;
        let read = held.and_then(|held| {
            let by_number = || misread(setting, held, entry, facts).or_else(|| misread_roughly(setting, held, entry, facts));
            turned(setting, held, entry, facts).or_else(by_number)
        });
        match (read, remedy) {
            (Some(read), Some(remedy)) => Some(read.before(&remedy)),
            (_, remedy) => remedy,
        }
    }

    /// What to set, and who must agree to anything else.
    fn remedy(&self, setting: SettingId) -> Option<String> {
        let facts = &self.device.facts;
        let resolved = self.device.counted.requirement.get(setting)?;
        let parameter = setting.parameter();
        let complies = complies_within(&resolved.entry, facts);
        if let (true, Some(range)) = (resolved.entry.is_left_open(), adjustable(&resolved.entry, facts)) {
            return Some(format!("ask the network operator for the value, within {range}"));
        }
        let set = match (parameter.to_do, &resolved.entry.require, parameter.shape) {
            (Some(to_do), ..) => return Some(to_do.to_owned()),
            (None, Some(value), _) => format!("set it to {}", value_here(value, facts).show(setting)),
            (None, None, Shape::Choice(_)) => format!("set it to {}", complies?),
            (None, None, _) => match complies? {
                bound if BOUND.iter().any(|word| bound.starts_with(word)) => format!("set it to {bound}"),
                range => format!("set it within {range}"),
            },
        };
        Some(match (resolved.entry.moved_by, adjustable(&resolved.entry, facts)) {
            (Who::Nobody, _) | (_, None) => set,
            // the words of a state, and the reach of each point, say less than they cost
            (who, Some(_)) if !matches!(parameter.shape, Shape::Quantity(_)) => {
                format!("{set}; the {} may allow another value, in writing", who.word())
            }
            (who, Some(range)) if BOUND.iter().any(|word| range.starts_with(word)) => {
                format!("{set}; the {} may allow another value, {range}, in writing", who.word())
            }
            (who, Some(range)) => format!("{set}; within {range} the {} may allow another value, in writing", who.word()),
        })
    }

    /// What to do about a time that is set in place of the one that is asked for.
    fn other_time_remedy(&self, setting: SettingId, claim: &Claim) -> String {
        let judged = claim.on.subject().setting;
        let entry = self.device.counted.requirement.get(judged).map(|resolved| &resolved.entry);
        let wanted = entry.and_then(|entry| within(&entry.comply, judged, Part::Whole, &self.device.facts)).unwrap_or_default();
        let (own, asked) = (setting.parameter().title, judged.parameter().title);
        format!("set the {own} so that the {asked} is {wanted}; the device's manual states what lies between")
    }

    fn value_of(&self, setting: SettingId) -> Option<&settings_model::value::Value> {
        self.device.settings.get(setting).map(|known| &known.value)
    }

    fn setting_path(&self, setting: SettingId) -> String {
        format!("{}/{}", self.device.name, self.as_named(setting))
    }

    /// The setting under the name that the site's file gives its stage.
    fn as_named(&self, setting: SettingId) -> SettingId {
        let pair = |(one, other): &(SettingId, SettingId)| match (setting.same_function(*one), setting.same_function(*other)) {
            (true, _) => other.sibling(setting.parameter().key),
            (_, true) => one.sibling(setting.parameter().key),
            _ => None,
        };
        self.device.exchanged.iter().find_map(pair).unwrap_or(setting)
    }

    /// The part of the value, the value, or the nearest group that is there.
    fn place_of(&self, setting: SettingId, part: Part) -> Place {
        let setting = self.as_named(setting);
        let mut path = match (self.device.kind, setting.parameter().held_by) {
            (Equipment::Installation, HeldBy::AddedUp) => return self.site.place(&["devices"]),
            (Equipment::Installation, _) => vec!["installation"],
            _ => vec!["devices", self.device.name, "as-left", "settings"],
        };
        path.extend([setting.function().key, setting.parameter().key, "value"]);
        if !self.site.has(&path) {
            path.pop();
        }
        let index;
        if let Part::X(n) | Part::Y(n) = part {
            index = n.to_string();
            path.push(&index);
            path.push(if matches!(part, Part::X(_)) { "0" } else { "1" });
        }
        self.site.place(&path)
    }
}

/// Whether a claim on one time of a stage was judged by another that is stated.
fn is_other_time(setting: SettingId, claim: &Claim) -> bool {
    let judged = claim.on.subject().setting;
    judged != setting && setting.is_meaning_of_time() && judged.is_meaning_of_time()
}

/// What one time of a stage shows of another: `so the trip delay is shorter`.
fn bounds(shown: SettingId, asked: SettingId) -> String {
    let side = match (shown.parameter().key, asked.parameter().key) {
        ("clearing-time", "definite-delay") => "is shorter",
        ("definite-delay", "clearing-time") => "is longer",
        ("clearing-time", "operate-time") => "is shorter",
        ("operate-time", "clearing-time") => "is longer",
        // the trip command may follow the delay at once
        ("operate-time", "definite-delay") => "is no longer",
        ("definite-delay", "operate-time") => "is no shorter",
        _ => "is the same",
    };
    format!("so the {} {side}", asked.parameter().title)
}

fn is_line(claim: &Claim) -> bool {
    matches!(claim.limit, Limit::Above(_) | Limit::Below(_))
}

/// Another region is selected than the site stands under.
const WRONG_REGION: &str = "wrong-region";

/// How a limit with one end begins.
const BOUND: [&str; 4] = ["at most ", "at least ", "over ", "under "];

/// What was converted has many digits (volts between lines, cycles), and is told in as few as a display
/// has; what somebody wrote is told as it was written.
fn told(number: Exact) -> Exact {
    if number == number.rounded(4) { number } else { least_digits(number) }
}

fn outcome(kind: UnmetKind) -> Outcome {
    match kind {
        UnmetKind::Fails => Outcome::DoesNotComply,
        UnmetKind::NotProven(_) => Outcome::NotProven,
        UnmetKind::SameResponse => Outcome::Remark,
    }
}

fn harm_of(setting: SettingId, claim: &Claim) -> Harm {
    match claim.limit {
        Limit::AtMost(_) | Limit::Below(_) => setting.parameter().above,
        Limit::OneOf(words) if setting.is_state() && !words.has(ENABLED) => setting.parameter().above,
        _ => setting.parameter().below,
    }
}

fn name_of(fault: &UnmetClaim, claim: &Claim) -> &'static str {
    match (fault.kind, &claim.limit, claim.on.subject().part) {
        (UnmetKind::SameResponse, ..) => "same-response",
        (UnmetKind::NotProven(MissingEvidence::NotStated), ..) => "not-stated",
        (UnmetKind::NotProven(MissingEvidence::Evidence), ..) => "evidence-missing",
        (UnmetKind::NotProven(MissingEvidence::Fact(_) | MissingEvidence::Hangs(_)), ..) => "fact-not-stated",
        (UnmetKind::NotProven(MissingEvidence::Beside(_)), ..) => "counted-from-unstated",
        (UnmetKind::NotProven(MissingEvidence::Rounded | MissingEvidence::Coarse), ..) => "display-too-coarse",
        (UnmetKind::NotProven(MissingEvidence::LeftOpen), ..) => "left-to-the-operator",
        (UnmetKind::NotProven(MissingEvidence::NoCase), ..) => "no-case",
        (UnmetKind::NotProven(MissingEvidence::TwoFigures), ..) => "two-figures",
        (UnmetKind::NotProven(MissingEvidence::OwnTime), ..) => "own-time-unknown",
        (UnmetKind::NotProven(MissingEvidence::MeaningOfTime), ..) => "meaning-of-time-not-shown",
        (UnmetKind::Fails, Limit::OneOf(_), _) => "wrong-state",
        (UnmetKind::Fails, Limit::Above(_) | Limit::Below(_), _) => "response-outside",
        (UnmetKind::Fails, _, Part::X(_) | Part::Y(_) | Part::PointCount) => "curve-differs",
        (UnmetKind::Fails, Limit::AtMost(_), _) => "too-high",
        (UnmetKind::Fails, ..) => "too-low",
    }
}
