//! What a new version does to sites, gathered as they come and added up.
//!
//! A site of which nothing is to be told (the version does not govern it, or changes nothing there)
//! is only counted, so that memory grows with the work and not with the fleet.

use super::Compared;
use crate::report::affected::{AffectedReport, AffectedSite, AnswerableCount, SettingCount};
use crate::texts::Found;
use rules::affected::{Effect, Versions, affected};
use rules::provenance::Verdict;
use settings_model::files::SiteFile;
use settings_model::finding::Finding;
use settings_model::reader;
use std::collections::BTreeMap;

/// What was gathered so far.
#[derive(Default)]
pub struct Gathered {
    sites: Vec<AffectedSite>,
    effects: BTreeMap<&'static str, usize>,
    /// Governed sites that comply now by figures that nobody verified.
    unverified: usize,
    /// Sites at which nothing changes, since they were at fault or not proven before.
    at_fault_already: usize,
    settings: BTreeMap<String, usize>,
    /// By company, branch and crew: sites with work, and all.
    answerable: BTreeMap<[String; 3], (usize, usize)>,
    unreadable: Vec<String>,
}

/// Not an effect: the site is none of the network's.
const ANOTHER_NETWORK: &str = "of-another-network";

impl Gathered {
    /// How many sites.
    pub fn count(&self) -> usize {
        self.effects.values().sum::<usize>() + self.unreadable.len()
    }

    /// Judges a site, and counts it.
    pub fn take(&mut self, found: Found<'_>, compared: &mut Compared) {
        match found.text {
            Err(says) => self.unreadable.push(says),
            // a sound line is read straight into its type, as `check` does
            Ok(text) => match found.line.and_then(|_| SiteFile::of_line(text)) {
                Some(site) => self.judge(&site, found.name, found.line, compared),
                _ => self.read_and_judge(text, found.name, found.line, compared),
            },
        }
    }

    fn read_and_judge(&mut self, text: &str, name: &str, line: Option<usize>, compared: &mut Compared) {
        let after = &mut compared.after;
        let kept = after.sources.len();
        let source = after.sources.add_from_line(name, text, line.unwrap_or(1));
        let read = after.read_site(source, text);
        // a text that profiles were read after stays with them
        if after.sources.len() == kept + 1 {
            after.sources.forget_after(kept);
        }
        let place = line.map_or_else(|| name.to_owned(), |line| format!("{name}: line {line}"));
        let faults = |findings: Vec<Finding>| {
            let first = findings.first().map(|finding| finding.headline.clone()).unwrap_or_default();
            format!("{place}: {first}; `asleft check {name}` shows where")
        };
        let root = match read {
            Ok(root) => root,
            Err(findings) => return self.unreadable.push(faults(findings)),
        };
        match reader::typed::<SiteFile<'_>>(&root) {
            Ok(site) => self.judge(&site, name, line, compared),
            Err(findings) => self.unreadable.push(faults(findings)),
        }
    }

    fn judge(&mut self, site: &SiteFile<'_>, name: &str, line: Option<usize>, compared: &mut Compared) {
        let Compared { before, after, network, newer, .. } = compared;
        if site.network.as_deref() != Some(network) {
            *self.effects.entry(ANOTHER_NETWORK).or_default() += 1;
            return;
        }
        let effect = affected(site, Versions { network, new: newer }, before, after);
        if effect.after.verdict == Verdict::Complies && effect.effect != Effect::NotGoverned {
            self.unverified += usize::from(effect.after.is_unverified());
        }
        self.at_fault_already += usize::from(effect.effect == Effect::Unchanged && effect.after.verdict != Verdict::Complies);
        self.site(AffectedSite::new(site.title().into_owned(), name, line, site.answerable.as_ref(), effect));
    }

    fn site(&mut self, site: AffectedSite) {
        let effect = site.effect();
        let is_work = effect.is_some_and(Effect::is_work);
        *self.effects.entry(site.effect).or_default() += 1;
        let count = self.answerable.entry(site.answerable.clone()).or_default();
        *count = (count.0 + usize::from(is_work), count.1 + 1);
        if is_work {
            let mut settings: Vec<&String> = site.work.iter().map(|work| &work.setting).filter(|setting| !setting.is_empty()).collect();
            settings.sort_unstable();
            settings.dedup();
            settings.into_iter().for_each(|setting| *self.settings.entry(setting.clone()).or_default() += 1);
        }
        if !matches!(effect, Some(Effect::Unchanged | Effect::NotGoverned)) {
            self.sites.push(site);
        }
    }

    /// Adds what was gathered of the sites that follow.
    pub fn add(&mut self, other: Self) {
        self.sites.extend(other.sites);
        self.unreadable.extend(other.unreadable);
        for (effect, sites) in other.effects {
            *self.effects.entry(effect).or_default() += sites;
        }
        self.unverified += other.unverified;
        self.at_fault_already += other.at_fault_already;
        for (setting, sites) in other.settings {
            *self.settings.entry(setting).or_default() += sites;
        }
        for (who, (with_work, sites)) in other.answerable {
            let count = self.answerable.entry(who).or_default();
            *count = (count.0 + with_work, count.1 + sites);
        }
    }

    /// The answer.
    pub fn report(self, compared: &Compared) -> AffectedReport {
        let mut by_setting: Vec<SettingCount> = self.settings.into_iter().map(|(setting, sites)| SettingCount { setting, sites }).collect();
        by_setting.sort_by_key(|count| std::cmp::Reverse(count.sites));
        let answerable = self.answerable.into_iter().map(|([company, branch, crew], (with_work, sites))| AnswerableCount {
            company,
            branch,
            crew,
            with_work,
            sites,
        });
        AffectedReport {
            old: compared.old.clone(),
            new: compared.new.clone(),
            as_of: compared.after.today.to_string(),
            older_accepted: compared.older_accepted.clone(),
            summary: self.effects,
            on_unverified_figures: self.unverified,
            at_fault_already: self.at_fault_already,
            by_setting,
            answerable: answerable.collect(),
            sites: self.sites,
            unreadable: self.unreadable,
        }
    }
}
