//! How the versions of a network follow one another: their numbers, and the sites they govern.

use crate::assess::{Assessor, Books};
use crate::example_site::Under;
use crate::revision::{Step, weighed};
use settings_model::cells::{Condition, Partition};
use settings_model::facts::{FACTS, FactId, FactShape, Facts, show};
use settings_model::finding::{Finding, Outcome};
use settings_model::library::Refusal;

/// Everything about the versions of one network, and what could not be told.
pub(super) fn of_network(network: &str, assessor: &mut Assessor) -> Result<(Vec<Finding>, Vec<String>), Refusal> {
    let versions = assessor.library.versions(network);
    let (mut findings, mut not_checked) = (windows(network, &versions, assessor)?, Vec::new());
    for pair in versions.windows(2) {
        let (old, new) = (&pair[0], &pair[1]);
        let file = assessor.library.overlay(network, new, &mut assessor.sources)?;
        let place = file.file.version.place;
        let follows = [Step::Patch, Step::Minor, Step::Breaking].map(|step| step.after(old));
        if !follows.contains(new) {
            let headline = format!("{new} does not follow {old}");
            let next = follows.map(|version| version.to_string()).join(", ");
            findings.push(
                Finding::new(Outcome::DoesNotComply, "version-does-not-follow", place, headline).hint(format!("write one of {next}")),
            );
        }
        let (deserved, open) = deserved(network, pair, assessor)?;
        let declared = Step::between(old, new).unwrap_or(Step::Patch);
        if deserved > declared {
            let headline = format!("{new} promises a {} change after {old}, and this is a {} one", declared.word(), deserved.word());
            let finding = Finding::new(Outcome::DoesNotComply, "version-too-low", place, headline);
            findings.push(finding.hint(format!("write at least {}; `asleft revision-check` shows whom it strands", deserved.after(old))));
        } else if open > 0 && declared < Step::Breaking {
            not_checked.push(format!("{network} {new}: {open} of its changes could not be weighed, as what they rest on was not seen"));
        }
    }
    Ok((findings, not_checked))
}

/// The step that a version deserves over all regions, and how many changes could not be weighed.
fn deserved(network: &str, pair: &[semver::Version], assessor: &mut Assessor) -> Result<(Step, usize), Refusal> {
    let standard = assessor.library.standard_below(network, &pair[0], &mut assessor.sources)?;
    let file = assessor.library.standard(&standard, &mut assessor.sources)?;
    let (mut deserved, mut open) = (Step::Patch, 0);
    for (region, _) in file.file.regions.iter() {
        let mut books = |version| assessor.library.rulebooks_of((network, version), region, &mut assessor.sources).map(Books::of);
        let (Ok(old), Ok(new)) = (books(&pair[0]), books(&pair[1])) else { continue };
        let under = Under { network: Some(network), standard: &standard, region };
        for weighed in weighed(&old, &new, under, assessor) {
            deserved = deserved.max(weighed.step());
            open += usize::from(weighed.change.reason.is_open());
        }
    }
    Ok((deserved, open))
}

/// Versions that never govern, because a later one always does, and sites that fall between versions.
fn windows(network: &str, versions: &[semver::Version], assessor: &mut Assessor) -> Result<Vec<Finding>, Refusal> {
    let conditions = assessor.library.deciding_conditions(Some(network), &mut assessor.sources)?;
    let partition = Partition::of(&with_each_others_dates(conditions));
    let nobody = Facts::default();
    let sites: Vec<Facts> = partition.cells(&nobody).filter(is_possible).collect();
    let mut governing = Vec::new();
    for facts in &sites {
        governing.push(assessor.library.governing_version(network, facts, &mut assessor.sources)?);
    }
    let mut findings = Vec::new();
    for version in versions {
        let file = assessor.library.overlay(network, version, &mut assessor.sources)?;
        if !governing.iter().any(|governs| governs.as_ref() == Some(version)) {
            let headline = format!("{} ({version}) governs no site: a later version always does", file.file.issue.name);
            let finding = Finding::new(Outcome::DoesNotComply, "never-governs", file.file.version.place, headline);
            findings.push(finding.hint("correct `in-force` here or in the later version"));
        }
    }
    // one gap shows itself in many kinds of site, and is told of one
    let mut between =
        sites.iter().zip(&governing).filter(|(facts, governs)| governs.is_none() && comes_after_some(facts, &sites, &governing));
    if let (Some((facts, _)), Some(newest)) = (between.next(), versions.last()) {
        let known = FACTS.iter().filter_map(|fact| Some(format!("{} {}", fact.key, show(fact.id, facts.get(fact.id)?))));
        let file = assessor.library.overlay(network, newest, &mut assessor.sources)?;
        let headline = format!("no version governs a site with {}, though one governs earlier sites", known.collect::<Vec<_>>().join(", "));
        let finding = Finding::new(Outcome::DoesNotComply, "window-gap", file.file.version.place, headline);
        findings.push(finding.hint("let one version's `in-force` begin where the other's ends"));
    }
    Ok(findings)
}

/// The conditions, and each date cut where any other is, so that every kind of site has an example
/// whose dates are in order, if it can have one.
pub(super) fn with_each_others_dates(mut conditions: Vec<Condition>) -> Vec<Condition> {
    let dated: Vec<Condition> = conditions.iter().filter(|condition| condition.fact.row().shape == FactShape::Date).copied().collect();
    let mut facts: Vec<FactId> = dated.iter().map(|condition| condition.fact).collect();
    facts.sort_unstable();
    facts.dedup();
    conditions.extend(facts.iter().flat_map(|fact| dated.iter().map(|condition| Condition { fact: *fact, ..*condition })));
    conditions
}

/// Applied before approved before installed before altered.
pub(super) fn is_possible(facts: &Facts) -> bool {
    [FactId::Applied, FactId::Approved, FactId::Installed, FactId::Altered].into_iter().filter_map(|date| facts.number(date)).is_sorted()
}

/// Whether a site of earlier dates, otherwise the same, is governed.
fn comes_after_some(facts: &Facts, sites: &[Facts], governing: &[Option<semver::Version>]) -> bool {
    let is_earlier = |other: &Facts| {
        FACTS.iter().all(|fact| match (fact.shape, other.number(fact.id), facts.number(fact.id)) {
            (FactShape::Date, Some(one), Some(other)) => one <= other,
            _ => other.get(fact.id) == facts.get(fact.id),
        })
    };
    sites.iter().zip(governing).any(|(other, governs)| governs.is_some() && is_earlier(other))
}
