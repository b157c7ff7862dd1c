//! How the versions of a network follow one another: their numbers, and the sites they govern.

use super::kinds::{MOST_KINDS, kinds_of_site};
use crate::assess::{Assessor, Books};
use crate::example_site::Under;
use crate::revision::{Step, weighed};
use settings_model::cells::{Condition, all_hold};
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
            findings.push(finding.hint(format!(
                "write at least {}; `asleft revision-check {network}/{old} {network}/{new}` shows which sites it makes non-compliant",
                deserved.after(old)
            )));
        } else if open > 0 && declared < Step::Breaking {
            not_checked.push(format!("{network} {new}: {open} of its changes could not be compared: their tables are not in the profile"));
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
    let Some(newest) = versions.last() else { return Ok(Vec::new()) };
    let conditions = assessor.library.deciding_conditions(Some(network), &mut assessor.sources)?;
    let Some(sites) = kinds_of_site(&conditions) else {
        let file = assessor.library.overlay(network, newest, &mut assessor.sources)?;
        let headline =
            format!("the windows of {network} tell more than {MOST_KINDS} kinds of site apart: whom each governs was not checked");
        let finding = Finding::unusable("too-many-cells", file.file.version.place, headline);
        return Ok(vec![finding.hint("write fewer dates in `in-force` and `older-accepted`")]);
    };
    let mut windows = Vec::new();
    for version in versions {
        windows.push(assessor.library.windows(network, version, &mut assessor.sources)?);
    }
    let governs = |window: &Vec<Vec<Condition>>, facts: &Facts| window.iter().any(|line| all_hold(line, facts) == Some(true));
    let governing: Vec<Option<usize>> = sites.iter().map(|facts| windows.iter().rposition(|window| governs(window, facts))).collect();
    let mut findings = Vec::new();
    for (n, version) in versions.iter().enumerate() {
        let file = assessor.library.overlay(network, version, &mut assessor.sources)?;
        if !governing.contains(&Some(n)) {
            let headline = format!("{} ({version}) governs no site: a later version always does", file.file.issue.name);
            let finding = Finding::new(Outcome::DoesNotComply, "never-governs", file.file.version.place, headline);
            findings.push(finding.hint("correct `in-force` here or in the later version"));
        }
    }
    let (governed, not_governed): (Vec<_>, Vec<_>) = sites.iter().zip(&governing).partition(|(_, governs)| governs.is_some());
    let earliest = Earliest::of(&conditions, governed.into_iter().map(|(facts, _)| facts));
    // one gap shows itself in many kinds of site, and is told of one
    if let Some((facts, _)) = not_governed.into_iter().find(|(facts, _)| earliest.are_before(facts)) {
        let known = FACTS.iter().filter_map(|fact| Some(format!("{} {}", fact.key, show(fact.id, facts.get(fact.id)?))));
        let file = assessor.library.overlay(network, newest, &mut assessor.sources)?;
        let headline = format!("no version governs a site with {}, though one governs earlier sites", known.collect::<Vec<_>>().join(", "));
        let finding = Finding::new(Outcome::DoesNotComply, "window-gap", file.file.version.place, headline);
        findings.push(finding.hint("let one version's `in-force` begin where the other's ends"));
    }
    Ok(findings)
}

/// Sites that are governed, of each kind those of which no other has earlier dates.
struct Earliest<'s> {
    /// What is told apart.
    facts: Vec<FactId>,
    sites: Vec<&'s Facts>,
}

impl<'s> Earliest<'s> {
    fn of(conditions: &[Condition], governed: impl Iterator<Item = &'s Facts>) -> Self {
        let mut facts: Vec<FactId> = conditions.iter().map(|condition| condition.fact).collect();
        facts.sort_unstable();
        facts.dedup();
        let mut earliest = Self { facts, sites: Vec::new() };
        for site in governed {
            if !earliest.are_before(site) {
                let mut sites = std::mem::take(&mut earliest.sites);
                sites.retain(|other| !earliest.is_before(site, other));
                sites.push(site);
                earliest.sites = sites;
            }
        }
        earliest
    }

    /// Whether a site of earlier dates, otherwise the same, is among them.
    fn are_before(&self, facts: &Facts) -> bool {
        self.sites.iter().any(|site| self.is_before(site, facts))
    }

    fn is_before(&self, one: &Facts, other: &Facts) -> bool {
        self.facts.iter().all(|fact| match (fact.row().shape, one.number(*fact), other.number(*fact)) {
            (FactShape::Date, Some(one), Some(other)) => one <= other,
            _ => one.get(*fact) == other.get(*fact),
        })
    }
}

/// Applied before approved before installed before altered.
pub(super) fn is_possible(facts: &Facts) -> bool {
    [FactId::Applied, FactId::Approved, FactId::Installed, FactId::Altered].into_iter().filter_map(|date| facts.number(date)).is_sorted()
}
