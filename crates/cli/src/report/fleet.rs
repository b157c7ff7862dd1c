//! What many sites come to together: verdicts, the faults that most have, who answers for them.

use super::Summary;
use super::judged::Judged;
use schemars::JsonSchema;
use serde::Serialize;
use settings_model::finding::Outcome;
use std::collections::HashMap;
use std::collections::hash_map::Entry;

/// How many sites have a fault.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub struct FaultCount {
    /// `does-not-comply`, `not-proven` or `unusable`.
    pub outcome: &'static str,
    /// The stable name of the kind of fault.
    pub name: &'static str,
    /// The setting, without its device; empty for what concerns no single setting.
    pub setting: String,
    /// How many sites have it, on whatever number of devices.
    pub sites: usize,
}

/// What the sites of a company, branch and crew came to.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub struct AnswerableSites {
    /// The company; empty where a site does not say, or could not be read that far.
    pub company: String,
    /// The branch.
    pub branch: String,
    /// The crew.
    pub crew: String,
    /// How many sites came to each verdict.
    pub summary: Summary,
}

/// A fault of a site: its outcome, name and setting.
type FaultKey = (Outcome, &'static str, String);

/// Counts of sites, which can be added up.
#[derive(Default)]
pub struct Tally {
    /// How many came to each verdict.
    pub summary: Summary,
    /// How many of them rest on figures that nobody verified, whatever they came to.
    pub with_unverified_figures: usize,
    faults: HashMap<FaultKey, usize>,
    answerable: HashMap<[String; 3], Summary>,
}

impl Tally {
    /// Counts a site.
    pub fn count(&mut self, judged: &Judged) {
        self.summary.count(&judged.judgement, &judged.reservations);
        self.with_unverified_figures += usize::from(judged.judgement.figures.unverified() > 0);
        self.summary.training += usize::from(judged.training.is_some());
        let count = |summary: &mut Summary| summary.count(&judged.judgement, &judged.reservations);
        match self.answerable.get_mut(&judged.answerable) {
            Some(summary) => count(summary),
            None => count(self.answerable.entry(judged.answerable.clone()).or_default()),
        }
        let fault = |finding: &settings_model::finding::Finding| {
            (finding.outcome, finding.name, finding.setting.as_deref().map(without_device).unwrap_or_default())
        };
        let mut of_site: Vec<FaultKey> = judged.findings.iter().map(fault).collect();
        of_site.sort_unstable();
        of_site.dedup();
        for fault in of_site {
            *self.faults.entry(fault).or_default() += 1;
        }
    }

    /// Adds the counts of other sites.
    pub fn add(&mut self, other: Self) {
        self.summary += other.summary;
        self.with_unverified_figures += other.with_unverified_figures;
        for (fault, sites) in other.faults {
            *self.faults.entry(fault).or_default() += sites;
        }
        for (who, summary) in other.answerable {
            match self.answerable.entry(who) {
                Entry::Occupied(mut held) => *held.get_mut() += summary,
                Entry::Vacant(free) => drop(free.insert(summary)),
            }
        }
    }

    /// The faults, those that most sites have first.
    pub fn faults(&self) -> Vec<FaultCount> {
        let mut faults: Vec<(&FaultKey, usize)> = self.faults.iter().map(|(fault, sites)| (fault, *sites)).collect();
        faults.retain(|((outcome, ..), _)| *outcome != Outcome::Remark);
        faults.sort_unstable_by(|(one, sites), (other, of_other)| of_other.cmp(sites).then_with(|| one.cmp(other)));
        let count = |((outcome, name, setting), sites): (&FaultKey, usize)| FaultCount {
            outcome: outcome.word(),
            name,
            setting: setting.clone(),
            sites,
        };
        faults.into_iter().map(count).collect()
    }

    /// The names of all findings, remarks too.
    pub fn names(&self) -> Vec<&'static str> {
        let mut names: Vec<_> = self.faults.keys().map(|(_, name, _)| *name).collect();
        names.sort_unstable();
        names.dedup();
        names
    }

    /// Who answers for how many sites, by name; last those of which nobody is named.
    pub fn answerable(&self) -> Vec<AnswerableSites> {
        let mut all: Vec<_> = self.answerable.iter().collect();
        all.sort_unstable_by_key(|(who, _)| (who.iter().all(String::is_empty), *who));
        let one = |([company, branch, crew], summary): (&[String; 3], &Summary)| AnswerableSites {
            company: company.clone(),
            branch: branch.clone(),
            crew: crew.clone(),
            summary: *summary,
        };
        all.into_iter().map(one).collect()
    }
}

/// `inverter-1/volt-watt/points` is about `volt-watt/points`; of a device alone, nothing is left.
fn without_device(setting: &str) -> String {
    setting.split_once('/').map(|(_, setting)| setting.to_owned()).unwrap_or_default()
}

impl std::ops::AddAssign for Summary {
    fn add_assign(&mut self, other: Self) {
        let Self {
            sites,
            complies,
            on_unverified_figures,
            with_reservations,
            does_not_comply,
            broken_by_unverified_figures,
            not_proven,
            could_not_tell,
            training,
        } = other;
        self.sites += sites;
        self.complies += complies;
        self.on_unverified_figures += on_unverified_figures;
        self.with_reservations += with_reservations;
        self.does_not_comply += does_not_comply;
        self.broken_by_unverified_figures += broken_by_unverified_figures;
        self.not_proven += not_proven;
        self.could_not_tell += could_not_tell;
        self.training += training;
    }
}
