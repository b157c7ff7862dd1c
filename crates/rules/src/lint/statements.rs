//! What the statements of the topmost layer say by themselves: cases that can never hold or that
//! overlap, entries that change nothing, numbers without a source.

use super::history::is_possible;
use super::kinds::kinds_of_site;
use crate::book::export::is_held_at_zero;
use crate::compare::sets::alike;
use settings_model::catalogue::{Equipment, SettingId};
use settings_model::cells::{Condition, FactTest, Partition, all_hold};
use settings_model::entry::{LayerStatement, Stated, Verbs, lay};
use settings_model::exact::Exact;
use settings_model::facts::{FactId, FactValue, Facts, NO_EXPORT};
use settings_model::finding::{Finding, Outcome};
use settings_model::requirement::Rulebook;
use settings_model::source::{Place, Sources};

/// Everything about the statements of the topmost file of a chain.
pub(super) fn of_layers(rulebooks: &[Rulebook; Equipment::ALL.len()], sources: &Sources) -> Vec<Finding> {
    rulebooks.iter().flat_map(|rulebook| of_rulebook(rulebook, sources)).collect()
}

fn of_rulebook(rulebook: &Rulebook, sources: &Sources) -> Vec<Finding> {
    let Some(top) = rulebook.topmost_file() else { return Vec::new() };
    let mut findings = Vec::new();
    for setting in SettingId::all() {
        for (_, stated) in rulebook.stated(setting).iter().filter(|(layer, _)| *layer == top) {
            findings.extend(cases(stated, sources));
            findings.extend(hole_between_cases(stated));
            findings.extend(sourceless(rulebook, stated));
        }
    }
    findings
}

/// Cases that no site meets, and cases that some site meets together.
fn cases(stated: &Stated, sources: &Sources) -> Vec<Finding> {
    let partition = Partition::of(stated.cases.iter().flat_map(|case| &case.when));
    let sites: Vec<Facts> = partition.cells(&Facts::default()).collect();
    let holds = |n: usize, facts: &Facts| all_hold(&stated.cases[n].when, facts) == Some(true);
    let place = |n: usize| stated.cases[n].when.first().map_or(stated.place, |condition| condition.place);
    let mut findings = Vec::new();
    let met: Vec<Vec<usize>> = sites.iter().map(|facts| (0..stated.cases.len()).filter(|n| holds(*n, facts)).collect()).collect();
    for n in 0..stated.cases.len() {
        let of_case: Vec<usize> = (0..sites.len()).filter(|site| met[*site].contains(&n)).collect();
        if of_case.is_empty() {
            let headline = format!("{}: no site can meet this case", stated.setting);
            let finding = Finding::new(Outcome::DoesNotComply, "case-never-holds", place(n), headline);
            findings.push(finding.hint("correct its conditions, or leave it out"));
        }
        for earlier in 0..n {
            let Some(site) = of_case.iter().find(|site| met[**site].contains(&earlier)) else { continue };
            let site = described(&sites[*site], stated);
            let headline = format!("{}: this case and an earlier one both hold for a site {site}", stated.setting);
            let finding = Finding::new(Outcome::DoesNotComply, "cases-overlap", place(n), headline);
            let written = |c: &Condition| format!("{} {}", c.fact.row().key, sources.written(c.place));
            let words = stated.cases[earlier].when.iter().map(written).collect::<Vec<_>>().join(" and ");
            let finding = finding.because(place(earlier), format!("holds there too: {words}"));
            findings.push(finding.hint("make their conditions exclude each other; there is no order of precedence"));
        }
    }
    findings
}

/// A kind of site for which no case of several speaks, while the file does not say that it is as the layer below has it.
/// Some words are one network's own: where no case names such a word, it is another network's affair.
fn hole_between_cases(stated: &Stated) -> Option<Finding> {
    stated.no_case?;
    let conditions = || stated.cases.iter().flat_map(|case| &case.when);
    let is_named = |facts: &Facts| {
        conditions().all(|condition| match (condition.test, facts.get(condition.fact)) {
            (FactTest::OneOf(_), Some(FactValue::Word(word))) if is_meant_without_case(stated.setting, condition.fact, word) => {
                conditions().any(|other| other.fact == condition.fact && matches!(other.test, FactTest::OneOf(words) if words.has(word)))
            }
            _ => true,
        })
    };
    let partition = Partition::of(conditions());
    // two-phase supplies are rare, and many networks do not speak of them: that alone is for the author to know
    let is_rare = |facts: &Facts| facts.number(FactId::Phases) == Some(Exact::from(2));
    let nobody = Facts::default();
    let holes = partition.cells(&nobody).filter(|facts| is_named(facts) && is_possible(facts) && stated.is_uncovered(facts));
    let hole = holes.min_by_key(is_rare)?;
    let outcome = if is_rare(&hole) { Outcome::Remark } else { Outcome::DoesNotComply };
    let headline = format!("{}: no case speaks for a site {}", stated.setting, described(&hole, stated));
    let finding = Finding::new(outcome, "case-missing", stated.place, headline);
    Some(finding.hint("write a case for it; if nothing is meant to change there, end with `- { otherwise: as the layer below }`"))
}

/// Whether a word of a fact is one that some networks use and others do not know, or says by itself what is asked: a
/// site that exports nothing is limited to nothing.
fn is_meant_without_case(setting: SettingId, fact: FactId, word: u8) -> bool {
    let is_word = |named: &str| fact.words().get(usize::from(word)) == Some(&named);
    match fact {
        FactId::Route => true,
        FactId::SubNetwork => !is_word("main"),
        FactId::ExportKind => is_word(NO_EXPORT) && is_held_at_zero(setting),
        _ => false,
    }
}

/// `with phases 3 and nameplate-total 12 kVA`.
fn described(facts: &Facts, stated: &Stated) -> String {
    let mut known: Vec<_> = stated.cases.iter().flat_map(|case| &case.when).map(|condition| condition.fact).collect();
    known.sort_unstable();
    known.dedup();
    let each =
        known.iter().filter_map(|fact| Some(format!("{} {}", fact.row().key, settings_model::facts::show(*fact, facts.get(*fact)?))));
    format!("with {}", each.collect::<Vec<_>>().join(" and "))
}

/// Cases of a version that no site meets which the version governs: its dates say otherwise.
pub(super) fn that_meet_no_governed_site(all: &[[Rulebook; Equipment::ALL.len()]], windows: &[Vec<Condition>]) -> Vec<Finding> {
    let mut findings: Vec<Finding> = Vec::new();
    for rulebook in all.iter().flatten() {
        let Some(top) = rulebook.topmost_file() else { continue };
        let stated = SettingId::all().flat_map(|setting| rulebook.stated(setting)).filter(|(layer, _)| *layer == top);
        for (stated, case) in
            stated.flat_map(|(_, stated)| stated.cases.iter().map(move |case| (stated, case))).filter(|(_, case)| !case.when.is_empty())
        {
            let together = |window: &Vec<Condition>| {
                let conditions: Vec<Condition> = window.iter().chain(&case.when).copied().collect();
                // a window and a case are a dozen days at most
                kinds_of_site(&conditions).is_none_or(|sites| sites.iter().any(|facts| all_hold(&conditions, facts) == Some(true)))
            };
            let by_itself = together(&Vec::new());
            let place = case.when.first().map_or(stated.place, |condition| condition.place);
            if by_itself && !windows.iter().any(together) && findings.iter().all(|finding| finding.place != place) {
                let headline = format!("{}: no site that this version governs can meet this case", stated.setting);
                let finding = Finding::new(Outcome::DoesNotComply, "case-not-governed", place, headline);
                findings.push(finding.hint("correct its dates, or `in-force`"));
            }
        }
    }
    findings
}

/// A demand that names no source.
fn sourceless(rulebook: &Rulebook, stated: &Stated) -> Vec<Finding> {
    let verbs = stated.cases.iter().map(|case| &case.verbs).chain(&stated.otherwise);
    let lines = verbs.filter(|verbs| demands(verbs)).filter_map(|verbs| rulebook.whys.get(verbs.why?));
    lines
        .filter(|line| line.citation.is_none())
        .map(|line| {
            let headline = format!("{}: nobody is named as the source of this", stated.setting);
            let finding = Finding::new(Outcome::DoesNotComply, "without-source", line.place, headline);
            finding.hint("add `source: …`, one of those that the file lists under `sources`")
        })
        .collect()
}

fn demands(verbs: &Verbs) -> bool {
    verbs.require.is_some() || verbs.comply.is_some() || !verbs.also.is_empty() || verbs.adjustable.is_some() || verbs.gap.is_some()
}

/// Statements of an overlay that leave every site as the layers below have it, in every region and on
/// every parent.
pub(super) fn that_change_nothing(all: &[[Rulebook; Equipment::ALL.len()]]) -> Vec<Finding> {
    let Some(first) = all.first() else { return Vec::new() };
    let mut findings = Vec::new();
    for (kind, rulebook) in first.iter().enumerate() {
        let Some(top) = rulebook.topmost_file() else { continue };
        for setting in SettingId::all() {
            for (_, stated) in rulebook.stated(setting).iter().filter(|(layer, _)| *layer == top) {
                let changes_nothing =
                    |rulebooks: &[Rulebook; Equipment::ALL.len()]| changes_nothing(&rulebooks[kind], setting, stated.place);
                if all.iter().all(changes_nothing) {
                    let headline = format!("{setting}: this changes nothing; the layers below ask the same");
                    let finding = Finding::new(Outcome::Remark, "changes-nothing", stated.place, headline);
                    findings.push(finding.hint("leave it out, or say with `because` why it is restated"));
                }
            }
        }
    }
    findings
}

/// Whether what the topmost layer states there leaves every site as it was. A statement that gives a
/// reason is meant as a reminder, and counts as a change.
fn changes_nothing(rulebook: &Rulebook, setting: SettingId, place: Place) -> bool {
    let Some((layer, stated)) = rulebook.stated(setting).iter().find(|(_, stated)| stated.place == place) else { return true };
    let verbs = || stated.cases.iter().map(|case| &case.verbs).chain(&stated.otherwise);
    let has_reason = verbs().filter_map(|verbs| rulebook.whys.get(verbs.why?)).any(|line| line.because.is_some());
    if has_reason || verbs().any(|verbs| verbs.evidence.is_some()) {
        return false;
    }
    let is_as_below = |facts: Facts| {
        let below = rulebook.entry_below(setting, &facts, *layer);
        let LayerStatement::Verbs(verbs) = stated.of(&facts) else { return true };
        let laid = lay(below.clone(), verbs);
        alike(&laid.comply, &below.comply)
            && alike(&laid.adjustable, &below.adjustable)
            && (&laid.require, laid.moved_by) == (&below.require, below.moved_by)
    };
    Partition::of(rulebook.conditions_on(setting)).cells(&Facts::default()).all(is_as_below)
}
