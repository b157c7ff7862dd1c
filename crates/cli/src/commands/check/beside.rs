//! What is told once for all sites: profiles that keep some of them from being judged, and files that are no sites.

use super::Form;
use crate::report::judged::Judged;
use settings_model::finding::{Because, Finding};
use settings_model::source::{Place, Sources};
use std::collections::BTreeMap;
use std::io::{self, Write};

/// Told beside the sites.
#[derive(Default)]
pub struct Beside {
    /// By the name of its file: a profile that cannot be used.
    pub stopped_by: BTreeMap<String, Stopped>,
    /// Files of folders that were left out, for people.
    pub left_out: Vec<String>,
}

/// What a profile that cannot be used does.
pub struct Stopped {
    /// How many sites were not judged for it.
    pub sites: usize,
    /// Its faults, as the form of the answer says them.
    pub faults: Vec<u8>,
    /// The names of the kinds of faults.
    pub names: Vec<&'static str>,
}

impl Stopped {
    /// `30 sites were not judged for it`.
    pub fn count(&self) -> String {
        if self.sites == 1 { "1 site was not judged for it".to_owned() } else { format!("{} sites were not judged for it", self.sites) }
    }
}

impl Beside {
    /// Of a site that a profile stopped, keeps the profile's faults apart, and leaves the site a short reference.
    pub fn take(&mut self, judged: &mut Judged, form: &dyn Form, sources: &Sources) -> io::Result<()> {
        if !judged.is_stopped_by_profile {
            return Ok(());
        }
        let Some(first) = judged.findings.first() else { return Ok(()) };
        let profile = sources.locate(first.place).map_or_else(|| first.headline.clone(), |at| at.file.to_owned());
        let short = reference(&profile, first);
        let findings = std::mem::replace(&mut judged.findings, vec![short]);
        match self.stopped_by.get_mut(&profile) {
            Some(stopped) => stopped.sites += 1,
            None => {
                let faults = form.faults_of_profile(&profile, &findings, sources)?;
                let names = findings.iter().map(|finding| finding.name).collect();
                self.stopped_by.insert(profile, Stopped { sites: 1, faults, names });
            }
        }
        Ok(())
    }

    /// Adds what is told beside other sites.
    pub fn add(&mut self, other: Self) {
        self.left_out.extend(other.left_out);
        for (profile, stopped) in other.stopped_by {
            match self.stopped_by.get_mut(&profile) {
                Some(known) => known.sites += stopped.sites,
                None => drop(self.stopped_by.insert(profile, stopped)),
            }
        }
    }

    /// The faults of profiles as messages for people, each with the number of sites.
    pub fn say(&self) -> io::Result<()> {
        self.stopped_by.values().try_for_each(|stopped| {
            terminal::stderr().write_all(&stopped.faults)?;
            writeln!(terminal::stderr(), "  {}\n", stopped.count())
        })
    }
}

/// What a site says of a profile whose faults are told elsewhere.
fn reference(profile: &str, first: &Finding) -> Finding {
    let headline = format!("{profile} cannot be used, so nothing here was judged; its faults are told once for all sites");
    let mut short = Finding::unusable(AT_FAULT, Place::NOWHERE, headline);
    let label = "its first fault".to_owned();
    short.because.push(Because { place: first.place, label, text: Some(first.headline.clone()), basis: None });
    short
}

/// The name of that finding.
pub const AT_FAULT: &str = "profile-at-fault";
