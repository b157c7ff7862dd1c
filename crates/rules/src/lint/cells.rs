//! What layers come to together, in every kind of site that they tell apart: lines that nobody can
//! keep together, and what works against itself.

use super::{plausible, shapes};
use crate::practice::withstand;
use settings_model::catalogue::Equipment;
use settings_model::claim::{Claim, ProvenanceId};
use settings_model::entry::{Stated, Verbs};
use settings_model::exact::Exact;
use settings_model::facts::{FACTS, FactId, Facts, show};
use settings_model::finding::{Finding, Outcome};
use settings_model::requirement::{Requirement, Rulebook};
use settings_model::source::Place;
use std::collections::BTreeSet;

/// More kinds of site than this are more than an author can have meant.
const MOST_CELLS: usize = 100_000;

/// Looks at every cell of each rulebook; lines that contradict each other are told once.
pub(super) fn of_rulebooks(rulebooks: &[Rulebook; Equipment::ALL.len()], findings: &mut Vec<Finding>, not_checked: &mut Vec<String>) {
    for (kind, rulebook) in Equipment::ALL.into_iter().zip(rulebooks) {
        let top = rulebook.topmost_file().map_or_else(String::new, |top| rulebook.layers[usize::from(top.0)].title.clone());
        if rulebook.cells() > MOST_CELLS {
            let headline = format!("{top}: its conditions make {} kinds of site, too many to compare", rulebook.cells());
            let finding = Finding::unusable("too-many-cells", place_of_top(rulebook), headline);
            findings.push(finding.hint("write fewer conditions, or coarser ones"));
            continue;
        }
        findings.extend(contradictions(rulebook, &top));
        findings.extend(against_itself(rulebook));
        let gaps = || rulebook.resolve(&Facts::default()).entries.into_iter().filter(|resolved| resolved.entry.is_gap());
        let is_standard = rulebook.topmost_file().is_some_and(|top| rulebook.layers[usize::from(top.0)].kind.is_base());
        if kind == Equipment::Inverter && is_standard && gaps().any(|resolved| resolved.entry.setting.function().key == "voltage-withstand")
        {
            let title = top.replacen(&format!(", {}", rulebook.region_title), "", 1);
            not_checked.push(format!(
                "{title}, and what extends it: trips inside the voltage withstand region, whose table is not in the profile"
            ));
        }
    }
}

/// Each set of lines that nobody can keep together, with a site that stands under them.
fn contradictions(rulebook: &Rulebook, top: &str) -> Vec<Finding> {
    let mut told: BTreeSet<Vec<ProvenanceId>> = BTreeSet::new();
    let mut looked_at: BTreeSet<Vec<u16>> = BTreeSet::new();
    let mut findings = Vec::new();
    for facts in rulebook.examples_of_cells(&Facts::default()) {
        // sites for which the same cases speak are asked the same
        if !looked_at.insert(rulebook.all_cases_met(&facts)) {
            continue;
        }
        let claims: Vec<Claim> = rulebook.resolve(&facts).claims().collect();
        let Some(core) = crate::core::core(&claims, &Facts::default()) else { continue };
        let mut lines: Vec<ProvenanceId> = core.iter().map(|index| claims[*index].why).collect();
        lines.sort_unstable();
        lines.dedup();
        if told.insert(lines.clone()) {
            let settings = core.iter().flat_map(|index| claims[*index].on.vars()).map(|var| var.setting);
            let hangs_on: BTreeSet<FactId> = settings.flat_map(|setting| rulebook.conditions_on(setting)).map(|c| c.fact).collect();
            findings.push(contradiction(rulebook, top, &lines, &facts, &hangs_on));
        }
    }
    findings
}

fn contradiction(rulebook: &Rulebook, top: &str, lines: &[ProvenanceId], facts: &Facts, hangs_on: &BTreeSet<FactId>) -> Finding {
    let known = FACTS
        .iter()
        .filter(|fact| hangs_on.contains(&fact.id))
        .filter_map(|fact| Some(format!("{} {}", fact.key, show(fact.id, facts.get(fact.id)?))));
    let known = known.collect::<Vec<_>>().join(", ");
    let site = if known.is_empty() { "any site".to_owned() } else { format!("a site with {known}") };
    let headline = format!("{top}: nobody can comply at {site}: these lines contradict each other");
    let said = lines.iter().rev().filter_map(|why| rulebook.why(*why));
    let mut placed = said.clone().filter(|(line, _)| line.place.is_known());
    let first = placed.next();
    let place = first.map_or_else(|| place_of_top(rulebook), |(line, _)| line.place);
    let mut finding = Finding::unusable("nobody-can-comply", place, headline).hint("change one of these lines, or take it out");
    for (line, layer) in said {
        let words = line.because.as_deref().filter(|_| !line.place.is_known()).unwrap_or(&layer.title);
        if line.place == place {
            finding.label = Some(format!("asked by {}", layer.title));
        } else if line.place.is_known() {
            finding = finding.because(line.place, format!("asked by {}", layer.title));
        } else {
            finding.notes.push(format!("and by a rule that ties settings: {words}"));
        }
    }
    finding
}

/// What each kind of site is asked that works against itself, or that nobody can have meant; each at its place once.
fn against_itself(rulebook: &Rulebook) -> Vec<Finding> {
    let mut findings: Vec<Finding> = Vec::new();
    let mut own = plausible::Own::of(rulebook);
    for facts in kinds_of_site(rulebook) {
        let requirement = rulebook.resolve(&facts);
        let mut told = trips_inside_withstand(rulebook, &requirement, &facts);
        told.extend(shapes::of_kind(rulebook, &requirement, &facts));
        told.extend(own.iter_mut().flat_map(|own| own.of_kind(rulebook, &requirement, &facts)));
        for finding in told {
            if findings.iter().all(|other| (other.place, other.name) != (finding.place, finding.name)) {
                findings.push(finding);
            }
        }
    }
    findings.extend(own.iter().flat_map(|own| own.asks_nothing(rulebook)));
    findings
}

/// Trips that a layer asks for where the layers have the device stay on, without a reason.
fn trips_inside_withstand(rulebook: &Rulebook, requirement: &Requirement, facts: &Facts) -> Vec<Finding> {
    let told = withstand::asked_inside(requirement, facts).into_iter().filter_map(|(threshold, setting, how)| {
        // that a function is asked for at all may be the reason
        let with_reasons = [threshold, setting].into_iter().chain(threshold.state());
        let mut last = with_reasons.filter_map(|setting| rulebook.stated(setting).last());
        if last.any(|(_, stated)| gives_a_reason(rulebook, stated)) {
            return None;
        }
        let (_, stated) = rulebook.stated(setting).last()?;
        let headline = format!("{}: {how}", threshold.function().title);
        let finding = Finding::new(Outcome::DoesNotComply, "trip-inside-withstand", stated.place, headline);
        Some(finding.hint("say with `because` why the device has to leave there, or move the trip"))
    });
    told.collect()
}

/// A site for each way in which cases speak together.
fn kinds_of_site(rulebook: &Rulebook) -> impl Iterator<Item = Facts> {
    let mut looked_at: BTreeSet<Vec<u16>> = BTreeSet::new();
    let own: Vec<Facts> =
        rulebook.examples_of_cells(&Facts::default()).filter(|facts| looked_at.insert(rulebook.all_cases_met(facts))).collect();
    own.into_iter().map(|mut facts| {
        // one per unit counts as one where nobody says of how many volts
        facts.set_number(FactId::NominalVoltage, rulebook.nominal.unwrap_or(Exact::ONE));
        facts
    })
}

pub(super) fn gives_a_reason(rulebook: &Rulebook, stated: &Stated) -> bool {
    let verbs = stated.cases.iter().map(|case| &case.verbs).chain(&stated.otherwise);
    let because = |verbs: &Verbs| verbs.why.and_then(|why| rulebook.whys.get(why)).is_some_and(|line| line.because.is_some());
    verbs.into_iter().any(|verbs| verbs.outside_because.is_some() || because(verbs))
}

/// Where the topmost file first says anything.
fn place_of_top(rulebook: &Rulebook) -> Place {
    let top = rulebook.topmost_file();
    let said = settings_model::catalogue::SettingId::all().flat_map(|setting| rulebook.stated(setting));
    said.filter(|(layer, _)| Some(*layer) == top).map(|(_, stated)| stated.place).min().unwrap_or(Place::NOWHERE)
}
