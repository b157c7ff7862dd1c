//! Which version governs a site, by its dates and the windows that versions state.

use super::{Library, Part, Refusal, Request, Typed};
use crate::cells::{Condition, all_hold};
use crate::claim::{LayerId, Provenances};
use crate::facts::{FactId, Facts, days};
use crate::files::{Conditions, OverlayFile, VersionRange};
use crate::layer::LayerReader;
use crate::source::Sources;
use std::rc::Rc;

impl Library {
    /// The highest version of a network that governs a site by its dates, all of which are known.
    ///
    /// # Errors
    /// See [`Refusal`].
    pub fn governing_version(&mut self, network: &str, facts: &Facts, sources: &mut Sources) -> Result<Option<semver::Version>, Refusal> {
        for version in self.versions(network).into_iter().rev() {
            let overlay = self.overlay(network, &version, sources)?;
            if overlay.file.in_force.iter().any(|line| holds(line, facts) == Some(true)) {
                return Ok(Some(version));
            }
        }
        Ok(None)
    }

    /// The facts on which it still depends which versions govern a site with these; none where that is decided.
    ///
    /// # Errors
    /// See [`Refusal`]; whatever else is missing, it is not that these facts are.
    pub fn undecided_facts(&mut self, request: Request<'_>, facts: &Facts, sources: &mut Sources) -> Result<Vec<FactId>, Refusal> {
        match self.chain(request, facts, sources) {
            Ok(_) => Ok(Vec::new()),
            Err(Refusal::Hangs { facts, .. }) => Ok(facts),
            Err(refusal) => Err(refusal),
        }
    }

    /// Whether the window of one version holds at a site, whatever other versions do.
    ///
    /// # Errors
    /// See [`Refusal`].
    pub fn governs(&mut self, (network, version): (&str, &semver::Version), facts: &Facts, sources: &mut Sources) -> Result<bool, Refusal> {
        let overlay = self.overlay(network, version, sources)?;
        Ok(overlay.file.window().iter().any(|line| all_hold(line, facts) == Some(true)))
    }

    /// Whether a version still accepts an older one for a site with these facts.
    ///
    /// # Errors
    /// See [`Refusal`].
    pub fn accepts_older(
        &mut self,
        network: &str,
        version: &semver::Version,
        facts: &Facts,
        sources: &mut Sources,
    ) -> Result<bool, Refusal> {
        let overlay = self.overlay(network, version, sources)?;
        Ok(overlay.file.older_accepted.as_ref().is_some_and(|older| holds(&older.when, facts) == Some(true)))
    }

    /// Every condition that decides which versions of a network, and of the networks it stands on,
    /// govern a site. Sites for which these have the same answers stand under the same layers.
    ///
    /// # Errors
    /// See [`Refusal`].
    pub fn deciding_conditions(&mut self, network: Option<&str>, sources: &mut Sources) -> Result<Vec<Condition>, Refusal> {
        let mut deciding = Vec::new();
        let mut networks: Vec<String> = network.map(str::to_owned).into_iter().collect();
        let mut next = 0;
        while next < networks.len() {
            for version in self.versions(&networks[next]) {
                let overlay = self.overlay(&networks[next].clone(), &version, sources)?;
                let file = &overlay.file;
                deciding.extend(file.in_force.iter().flat_map(conditions));
                deciding.extend(file.older_accepted.iter().flat_map(|older| conditions(&older.when)));
                let parent = file.extends.network.as_ref().map(|parent| parent.value.clone());
                networks.extend(parent.filter(|parent| !networks.contains(parent)));
            }
            next += 1;
        }
        Ok(deciding)
    }

    /// The windows in which a version is in force: any of them, and within one every condition.
    ///
    /// # Errors
    /// See [`Refusal`].
    pub fn windows(&mut self, network: &str, version: &semver::Version, sources: &mut Sources) -> Result<Vec<Vec<Condition>>, Refusal> {
        let overlay = self.overlay(network, version, sources)?;
        Ok(overlay.file.in_force.iter().map(conditions).collect())
    }

    /// The highest version in range that governs the site by its dates; where none does, an older
    /// one that the governing version still accepts for it.
    pub(super) fn governing(
        &mut self,
        network: &str,
        range: Option<&VersionRange>,
        facts: &Facts,
        sources: &mut Sources,
    ) -> Result<Rc<Typed<OverlayFile>>, Refusal> {
        let versions = self.versions(network);
        if versions.is_empty() {
            let says = format!("no network `{network}` among the profiles");
            return Err(Refusal::unknown(Part::Network, says, network, &self.networks()));
        }
        let (mut hanging, mut undecided) = (Vec::new(), Vec::new());
        let mut governing: Option<Rc<Typed<OverlayFile>>> = None;
        for version in versions.iter().rev() {
            let overlay = self.overlay(network, version, sources)?;
            match in_force(&overlay.file, facts) {
                Ok(true) => {
                    governing = Some(overlay);
                    break;
                }
                Ok(false) => {}
                Err(facts) => {
                    hanging.extend(facts);
                    undecided.push(version.to_string());
                }
            }
        }
        if !hanging.is_empty() {
            hanging.sort_unstable();
            hanging.dedup();
            undecided.extend(governing.map(|g| g.file.version.value.to_string()));
            return Err(Refusal::Hangs { facts: hanging, versions: undecided });
        }
        let Some(governing) = governing else {
            let says = format!("no version of `{network}` governs a site with these dates");
            let hint = Some("check the site's dates against the windows in `asleft list`".to_owned());
            return Err(Refusal::Unknown { part: Part::Network, says, hint });
        };
        let Some(range) = range.filter(|range| !range.holds(&governing.file.version.value)) else { return Ok(governing) };
        self.still_accepted(&governing, range, network, facts, sources)
    }

    pub(super) fn still_accepted(
        &mut self,
        governing: &Typed<OverlayFile>,
        range: &VersionRange,
        network: &str,
        facts: &Facts,
        sources: &mut Sources,
    ) -> Result<Rc<Typed<OverlayFile>>, Refusal> {
        let file = &governing.file;
        if let Some(older) = &file.older_accepted {
            let accepted = holds(&older.when, facts);
            let candidates: Vec<_> = self.versions(network).into_iter().filter(|v| older.version.holds(v) && range.holds(v)).collect();
            if let (Some(true), Some(version)) = (accepted, candidates.last()) {
                return self.overlay(network, version, sources);
            }
        }
        Err(Refusal::Unknown {
            part: Part::Overlay,
            says: format!("the site's dates call for {} ({}), which lies outside this range", file.issue.name, file.version.value),
            hint: Some(format!("write `^{}.{}`, or leave the range out", file.version.value.major, file.version.value.minor)),
        })
    }

    /// The highest version in range, whatever dates it is for.
    pub(super) fn highest(
        &mut self,
        network: &str,
        range: Option<&VersionRange>,
        sources: &mut Sources,
    ) -> Result<Rc<Typed<OverlayFile>>, Refusal> {
        let versions = self.versions(network);
        let highest = versions.iter().rev().find(|version| range.is_none_or(|range| range.holds(version)));
        match highest {
            Some(version) => self.overlay(network, version, sources),
            None => Err(Refusal::out_of_range(network, &versions, &self.networks())),
        }
    }
}

/// Whether a version governs a site: published by the day asked about, and any line of its window
/// holds. The facts that are missing, where that leaves it open.
fn in_force(file: &OverlayFile, facts: &Facts) -> Result<bool, Vec<FactId>> {
    if facts.number(FactId::Today).is_some_and(|today| today < days(file.issue.published.0)) {
        return Ok(false);
    }
    let lines: Vec<Vec<Condition>> = file.in_force.iter().map(conditions).collect();
    let answers: Vec<Option<bool>> = lines.iter().map(|line| all_hold(line, facts)).collect();
    if answers.contains(&Some(true)) {
        return Ok(true);
    }
    if !answers.contains(&None) {
        return Ok(false);
    }
    let unknown = lines.iter().flatten().map(|c| c.fact).filter(|fact| facts.get(*fact).is_none());
    Err(unknown.collect())
}

fn holds(when: &Conditions, facts: &Facts) -> Option<bool> {
    all_hold(&conditions(when), facts)
}

impl OverlayFile {
    /// When it governs: any list, and of a list every condition.
    #[must_use]
    pub fn window(&self) -> Vec<Vec<Condition>> {
        self.in_force.iter().map(conditions).collect()
    }
}

fn conditions(of: &Conditions) -> Vec<Condition> {
    let mut whys = Provenances::default();
    LayerReader::new(LayerId(0), &[], &mut whys).conditions(Some(of))
}
