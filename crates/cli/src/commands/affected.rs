//! `asleft affected`: which sites a new version strands, and the work that follows.

mod written;

use super::operand::{Fault, RequirementsOperand, older_accepted, requirements_of};
use super::{assessor, refused};
use crate::Exit;
use crate::args::Affected;
use crate::report::affected::{AffectedReport, AffectedSite, AnswerableCount, SettingCount};
use crate::texts::{Found, each_text};
use crate::walk::write_messages;
use rules::affected::{Versions, affected};
use rules::assess::{Assessor, GovernedBy};
use settings_model::files::{Kind, SiteFile};
use settings_model::reader;
use std::collections::BTreeMap;
use std::io;

/// Judges every site before and after, and says what has to be done.
pub fn run(args: &Affected) -> io::Result<Exit> {
    let (mut before, mut after) = (assessor(&args.under)?, assessor(&args.under)?);
    let (old, new) = match both(args, &mut before, &mut after) {
        Ok(both) => both,
        Err(Fault::Findings(findings)) => return write_messages(&findings, &after.sources).map(|()| Exit::CouldNotTell),
        Err(Fault::Words(says)) => return refused(&says),
    };
    let (Some(older), Some(newer)) = (&old.overlay, &new.overlay) else {
        return refused("two versions of a network are wanted, such as `quillbrook/2.0.0 quillbrook/3.0.0`");
    };
    let network = newer.file.network.value.clone();
    let (older, newer) = (older.file.version.value.0.clone(), newer.file.version.value.0.clone());
    before.library.keep_versions(&network, |version| *version <= older);
    after.library.keep_versions(&network, |version| *version <= newer);
    let versions = Versions { network: &network, new: &newer };
    let mut gathered = Gathered::default();
    each_text(&args.sites, &mut |found| {
        gathered.take(found, versions, &mut before, &mut after);
        Ok(())
    })?;
    let accepted = new.overlay.as_ref().and_then(|overlay| older_accepted(&overlay.file));
    let report = AffectedReport { older_accepted: accepted, ..gathered.report(old.title, new.title, &after) };
    written::write(&report, args.format)?;
    Ok(if !report.unreadable.is_empty() || report.summary.contains_key("could-not-tell") {
        Exit::CouldNotTell
    } else if report.sites.iter().any(|site| site.effect().is_some_and(rules::affected::Effect::is_work)) {
        Exit::NotFine
    } else {
        Exit::Fine
    })
}

/// Both versions, read with the profiles of either side at hand.
fn both(args: &Affected, before: &mut Assessor, after: &mut Assessor) -> Result<(RequirementsOperand, RequirementsOperand), Fault> {
    let (old, new) = (requirements_of(&args.old, before)?, requirements_of(&args.new, after)?);
    let named = |operand: &RequirementsOperand| {
        operand.overlay.as_ref().map(|overlay| (overlay.file.network.value.clone(), overlay.file.version.value.0.clone()))
    };
    if let (Some((network, older)), Some((other, newer))) = (named(&old), named(&new)) {
        if network != other {
            return Err(Fault::Words(format!("{} and {} are of two networks", old.title, new.title)));
        }
        if newer <= older {
            return Err(Fault::Words(format!("{} is not later than {}; name the older one first", new.title, old.title)));
        }
    }
    before.governed_by = GovernedBy::DatesAlone;
    after.governed_by = GovernedBy::DatesAlone;
    // a draft that stands for the old version governs afterwards too
    if std::path::Path::new(&args.old).is_file() {
        requirements_of(&args.old, after)?;
        requirements_of(&args.new, after)?;
    }
    Ok((old, new))
}

/// What was gathered so far.
#[derive(Default)]
struct Gathered {
    sites: Vec<AffectedSite>,
    others: usize,
    unreadable: Vec<String>,
}

impl Gathered {
    fn take(&mut self, found: Found<'_>, versions: Versions<'_>, before: &mut Assessor, after: &mut Assessor) {
        let place = found.line.map_or_else(|| found.name.to_owned(), |line| format!("{}: line {line}", found.name));
        let text = match found.text {
            Ok(text) => text,
            Err(says) => return self.unreadable.push(says),
        };
        let kept = after.sources.len();
        let source = after.sources.add_from_line(found.name, text, found.line.unwrap_or(1));
        let read = reader::read(source, text, Kind::Site);
        after.sources.forget_after(kept);
        let faults = |findings: Vec<settings_model::finding::Finding>| {
            let first = findings.first().map(|finding| finding.headline.clone()).unwrap_or_default();
            format!("{place}: {first}; `asleft check` shows where")
        };
        let root = match read {
            Ok(root) => root,
            Err(findings) => return self.unreadable.push(faults(findings)),
        };
        let site = match reader::typed::<SiteFile<'_>>(&root) {
            Ok(site) => site,
            Err(findings) => return self.unreadable.push(faults(findings)),
        };
        if site.network.as_deref() != Some(versions.network) {
            self.others += 1;
            return;
        }
        let effect = affected(&site, versions, before, after);
        self.sites.push(AffectedSite::new(site.site.to_string(), found.name, found.line, site.answerable.as_ref(), effect));
    }

    fn report(self, old: String, new: String, assessor: &Assessor) -> AffectedReport {
        let mut summary: BTreeMap<&'static str, usize> = BTreeMap::new();
        let mut settings: BTreeMap<String, usize> = BTreeMap::new();
        let mut answerable: BTreeMap<[String; 3], (usize, usize)> = BTreeMap::new();
        for site in &self.sites {
            *summary.entry(site.effect).or_default() += 1;
            let is_work = site.effect().is_some_and(rules::affected::Effect::is_work);
            let count = answerable.entry(site.answerable.clone()).or_default();
            *count = (count.0 + usize::from(is_work), count.1 + 1);
            let mut of_site: Vec<&String> = site.work.iter().map(|work| &work.setting).filter(|setting| !setting.is_empty()).collect();
            of_site.sort_unstable();
            of_site.dedup();
            of_site.into_iter().filter(|_| is_work).for_each(|setting| *settings.entry(setting.clone()).or_default() += 1);
        }
        if self.others > 0 {
            summary.insert("of-another-network", self.others);
        }
        let mut by_setting: Vec<SettingCount> = settings.into_iter().map(|(setting, sites)| SettingCount { setting, sites }).collect();
        by_setting.sort_by_key(|count| std::cmp::Reverse(count.sites));
        let answerable = answerable.into_iter().map(|([company, branch, crew], (with_work, sites))| AnswerableCount {
            company,
            branch,
            crew,
            with_work,
            sites,
        });
        AffectedReport {
            old,
            new,
            as_of: assessor.today.to_string(),
            older_accepted: None,
            summary,
            by_setting,
            answerable: answerable.collect(),
            sites: self.sites,
            unreadable: self.unreadable,
        }
    }
}
