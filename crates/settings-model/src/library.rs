//! The library of profiles: which standard and which overlay version a site stands under.
//!
//! It holds texts by path (`standards/<standard>/<edition>.yaml`,
//! `overlays/<network>/<version>.yaml`) and reads only what a site's chain needs.

use crate::cells::{Condition, all_hold};
use crate::claim::{LayerId, LayerKind, Whys};
use crate::entry::Stated;
use crate::facts::{FactId, Facts, days};
use crate::files::{Extends, Kind, OverlayFile, StandardFile, VersionRange};
use crate::finding::{Finding, nearest};
use crate::layer::{Head, LayerReader};
use crate::reader;
use crate::requirement::Rulebook;
use crate::source::{Place, SourceId, Sources};
use std::collections::BTreeMap;
use std::rc::Rc;
use std::sync::Arc;

/// A profile's text.
#[derive(Clone, Debug)]
pub struct Profile {
    /// `standards/…` or `overlays/…`, with forward slashes.
    pub path: String,
    /// How the file is named in messages.
    pub name: String,
    /// The text.
    pub text: Arc<str>,
    /// Whether it comes with the program, which checked it when it was built.
    pub shipped: bool,
}

/// A typed profile, and where it was read from.
#[derive(Debug)]
pub struct Typed<T> {
    /// Its text.
    pub source: SourceId,
    /// What it says.
    pub file: T,
}

/// All profiles at hand.
#[derive(Debug, Default)]
pub struct Library {
    profiles: BTreeMap<String, Profile>,
    standards: BTreeMap<String, Rc<Typed<StandardFile>>>,
    overlays: BTreeMap<String, Rc<Typed<OverlayFile>>>,
}

/// What a site asks the library for.
#[derive(Clone, Copy, Debug)]
pub struct Request<'r> {
    /// The network, if an operator adds to the standard.
    pub network: Option<&'r str>,
    /// The range of overlay versions that the site names.
    pub overlay: Option<&'r str>,
    /// The standard and edition, where no network is named.
    pub standard: Option<&'r str>,
    /// The region.
    pub region: &'r str,
}

/// Why no rulebook could be made.
#[derive(Debug)]
pub enum Refusal {
    /// The site or a profile is at fault.
    Unusable(Vec<Finding>),
    /// Which version governs hangs on facts that the site does not state.
    Hangs {
        /// Those facts.
        facts: Vec<FactId>,
        /// The versions between which it is undecided.
        versions: Vec<String>,
    },
    /// The request names something that the library does not have; the caller knows the place.
    Unknown {
        /// Which part of the request.
        part: Part,
        /// What is wrong, and how to mend it.
        says: String,
        /// The nearest word that is known.
        hint: Option<String>,
    },
}

/// A part of a [`Request`], so that a finding can point at it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Part {
    /// The network.
    Network,
    /// The range of overlay versions.
    Overlay,
    /// The standard and edition.
    Standard,
    /// The region.
    Region,
}

impl From<Vec<Finding>> for Refusal {
    fn from(findings: Vec<Finding>) -> Self {
        Self::Unusable(findings)
    }
}

/// One overlay version of a chain and the standard below it.
struct Chain {
    overlays: Vec<Rc<Typed<OverlayFile>>>,
    standard: Rc<Typed<StandardFile>>,
}

impl Library {
    /// Adds a profile; a later one of the same path replaces an earlier one.
    pub fn add(&mut self, profile: Profile) {
        self.profiles.insert(profile.path.clone(), profile);
    }

    /// Every profile, by path.
    pub fn profiles(&self) -> impl Iterator<Item = &Profile> {
        self.profiles.values()
    }

    /// The keys of all standards and editions: `as-nzs-4777.2/2020`.
    #[must_use]
    pub fn standards(&self) -> Vec<String> {
        let stem = |path: &String| Some(path.strip_prefix("standards/")?.strip_suffix(".yaml")?.to_owned());
        self.profiles.keys().filter_map(stem).collect()
    }

    /// The versions of a network, lowest first.
    #[must_use]
    pub fn versions(&self, network: &str) -> Vec<semver::Version> {
        let prefix = format!("overlays/{network}/");
        let version = |path: &String| semver::Version::parse(path.strip_prefix(&prefix)?.strip_suffix(".yaml")?).ok();
        let mut versions: Vec<_> = self.profiles.keys().filter_map(version).collect();
        versions.sort();
        versions
    }

    /// The networks that have overlays.
    #[must_use]
    pub fn networks(&self) -> Vec<String> {
        let network = |path: &String| Some(path.strip_prefix("overlays/")?.split_once('/')?.0.to_owned());
        let mut networks: Vec<_> = self.profiles.keys().filter_map(network).collect();
        networks.dedup();
        networks
    }

    /// A standard, read and typed.
    ///
    /// # Errors
    /// Every fault of its file.
    pub fn standard(&mut self, key: &str, sources: &mut Sources) -> Result<Rc<Typed<StandardFile>>, Refusal> {
        if let Some(read) = self.standards.get(key) {
            return Ok(read.clone());
        }
        let Some(profile) = self.profiles.get(&format!("standards/{key}.yaml")) else {
            let known = self.standards();
            let says = format!("no standard `{key}`; known: {}", known.join(", "));
            return Err(Refusal::Unknown { part: Part::Standard, says, hint: did_you_mean(key, known.iter().map(String::as_str)) });
        };
        let source = sources.add(profile.name.clone(), profile.text.clone());
        let root = open(profile, source, Kind::Standard)?;
        let file: StandardFile = reader::typed(&root)?;
        let Some((folder, edition)) = key.split_once('/') else {
            return Err(misfiled(file.standard.place, &file.standard.value, &profile.path).into());
        };
        if folder != file.standard.value {
            return Err(misfiled(file.standard.place, &file.standard.value, &profile.path).into());
        }
        if !edition.starts_with(&file.edition.year.to_string()) {
            return Err(misfiled(file.edition.place, &file.edition.year.to_string(), &profile.path).into());
        }
        let read = Rc::new(Typed { source, file });
        self.standards.insert(key.to_owned(), read.clone());
        Ok(read)
    }

    /// An overlay version, read and typed.
    ///
    /// # Errors
    /// Every fault of its file.
    pub fn overlay(&mut self, network: &str, version: &semver::Version, sources: &mut Sources) -> Result<Rc<Typed<OverlayFile>>, Refusal> {
        let path = format!("overlays/{network}/{version}.yaml");
        if let Some(read) = self.overlays.get(&path) {
            return Ok(read.clone());
        }
        let profile = &self.profiles[&path];
        let source = sources.add(profile.name.clone(), profile.text.clone());
        let root = open(profile, source, Kind::Overlay)?;
        let file: OverlayFile = reader::typed(&root)?;
        if file.network.value != network {
            return Err(misfiled(file.network.place, &file.network.value, &path).into());
        }
        if file.version.value.0 != *version {
            return Err(misfiled(file.version.place, &file.version.value.to_string(), &path).into());
        }
        let read = Rc::new(Typed { source, file });
        self.overlays.insert(path, read.clone());
        Ok(read)
    }

    /// The rulebook for a site.
    ///
    /// # Errors
    /// See [`Refusal`].
    pub fn rulebook(&mut self, request: Request<'_>, facts: &Facts, sources: &mut Sources) -> Result<Rulebook, Refusal> {
        let chain = self.chain(request, facts, sources)?;
        compile(&chain, request.region)
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
                let parent = file.extends.network.iter().filter(|parent| !networks.contains(parent));
                networks.extend(parent.cloned().collect::<Vec<_>>());
            }
            next += 1;
        }
        Ok(deciding)
    }

    fn chain(&mut self, request: Request<'_>, facts: &Facts, sources: &mut Sources) -> Result<Chain, Refusal> {
        match (request.network, request.standard) {
            (Some(network), _) => {
                let range = match request.overlay.map(VersionRange::parse).transpose() {
                    Ok(range) => range,
                    Err(says) => return Err(Refusal::Unknown { part: Part::Overlay, says, hint: None }),
                };
                let top = self.governing(network, range.as_ref(), facts, sources)?;
                self.chain_below(top, facts, sources)
            }
            (None, _) if request.overlay.is_some() => Err(Refusal::Unknown {
                part: Part::Overlay,
                says: "a range of overlay versions, but no network".to_owned(),
                hint: Some("add `network: …`, or leave the range out".to_owned()),
            }),
            (None, Some(standard)) => Ok(Chain { overlays: Vec::new(), standard: self.standard(standard, sources)? }),
            (None, None) => Err(Refusal::Unknown {
                part: Part::Network,
                says: "neither a network nor a standard is named".to_owned(),
                hint: Some("add `network: …`, or `standard: …` under `requirements`".to_owned()),
            }),
        }
    }

    fn chain_below(&mut self, top: Rc<Typed<OverlayFile>>, facts: &Facts, sources: &mut Sources) -> Result<Chain, Refusal> {
        let mut overlays = vec![top];
        loop {
            let last = overlays.last().expect("starts with one");
            let Extends { standard, network, version } = &last.file.extends.value;
            match (standard, network) {
                (Some(standard), None) if version.is_none() => {
                    let standard = self.standard(standard, sources).map_err(|refusal| at_extends(refusal, &last.file))?;
                    overlays.reverse();
                    return Ok(Chain { overlays, standard });
                }
                (None, Some(parent)) => {
                    if overlays.len() > 8 || overlays.iter().any(|o| o.file.network.value == *parent) {
                        let says = "an overlay cannot stand, directly or through others, on its own network";
                        return Err(vec![Finding::unusable("extends", last.file.extends.place, says)].into());
                    }
                    let next = self
                        .governing(&parent.clone(), version.as_ref(), facts, sources)
                        .map_err(|refusal| at_extends(refusal, &last.file))?;
                    overlays.push(next);
                }
                _ => {
                    let says = "an overlay stands on a `standard` alone, or on a `network` with a range of its versions";
                    return Err(vec![Finding::unusable("extends", last.file.extends.place, says)].into());
                }
            }
        }
    }

    /// The highest version in range that governs the site by its dates; where none does, an older
    /// one that the governing version still accepts for it.
    fn governing(
        &mut self,
        network: &str,
        range: Option<&VersionRange>,
        facts: &Facts,
        sources: &mut Sources,
    ) -> Result<Rc<Typed<OverlayFile>>, Refusal> {
        let versions = self.versions(network);
        if versions.is_empty() {
            let known = self.networks();
            let says = format!("no network `{network}`; known: {}", known.join(", "));
            let hint = did_you_mean(network, known.iter().map(String::as_str));
            return Err(Refusal::Unknown { part: Part::Network, says, hint });
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
            return Err(Refusal::Unknown { part: Part::Network, says, hint: None });
        };
        let Some(range) = range.filter(|range| !range.holds(&governing.file.version.value)) else { return Ok(governing) };
        self.still_accepted(&governing, range, network, facts, sources)
    }

    fn still_accepted(
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
}

fn did_you_mean<'w>(written: &str, known: impl IntoIterator<Item = &'w str>) -> Option<String> {
    nearest(written, known).map(|word| format!("did you mean `{word}`?"))
}

fn open(profile: &Profile, source: SourceId, kind: Kind) -> Result<crate::document::Node, Vec<Finding>> {
    if profile.shipped { reader::read_shipped(source, &profile.text) } else { reader::read(source, &profile.text, kind) }
}

fn misfiled(place: Place, found: &str, path: &str) -> Vec<Finding> {
    vec![Finding::unusable("misfiled", place, format!("the file says `{found}`, but it is kept as `{path}`"))]
}

/// A refusal about what an overlay stands on points at the overlay, not at the site.
fn at_extends(refusal: Refusal, file: &OverlayFile) -> Refusal {
    match refusal {
        Refusal::Unknown { says, hint, .. } => {
            let finding = Finding::unusable("extends", file.extends.place, says);
            vec![match hint {
                Some(hint) => finding.hint(hint),
                None => finding,
            }]
            .into()
        }
        other => other,
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

fn holds(when: &crate::files::Conditions, facts: &Facts) -> Option<bool> {
    all_hold(&conditions(when), facts)
}

fn conditions(of: &crate::files::Conditions) -> Vec<Condition> {
    let mut whys = Whys::default();
    LayerReader::new(LayerId(0), &[], &mut whys).conditions(Some(of))
}

fn compile(chain: &Chain, region: &str) -> Result<Rulebook, Refusal> {
    let standard = &chain.standard.file;
    let Some(named) = standard.regions.get(region) else {
        let known: Vec<&str> = standard.regions.iter().map(|(name, _)| name).collect();
        let says = format!("{} has no region `{region}`; known: {}", standard.title, known.join(", "));
        return Err(Refusal::Unknown { part: Part::Region, says, hint: did_you_mean(region, known) });
    };
    let mut whys = Whys::default();
    let mut heads = vec![standard_head(standard, &named.title)];
    let mut findings = Vec::new();
    let mut stated = Vec::new();
    let mut take = |layer: LayerId, said: Vec<Stated>| stated.extend(said.into_iter().map(|s| (layer, s)));

    let mut reader = LayerReader::new(LayerId(0), &standard.sources.0, &mut whys);
    take(LayerId(0), reader.standard(standard, Some(region)));
    findings.append(&mut reader.findings);
    for overlay in &chain.overlays {
        let layer = LayerId(heads.len() as u8);
        heads.push(overlay_head(&overlay.file));
        let mut reader = LayerReader::new(layer, &overlay.file.sources.0, &mut whys);
        take(layer, reader.overlay(&overlay.file));
        findings.append(&mut reader.findings);
    }
    if !findings.is_empty() {
        return Err(findings.into());
    }
    let key = (standard.standard.value.clone(), standard.edition.year);
    let mut rulebook = Rulebook::new(heads, stated, whys, key);
    rulebook.nominal = standard.nominal.map(|n| n.0);
    region.clone_into(&mut rulebook.region);
    rulebook.region_title.clone_from(&named.title);
    Ok(rulebook)
}

fn standard_head(file: &StandardFile, region: &str) -> Head {
    Head {
        kind: LayerKind::Standard,
        title: format!("{}, {region}", file.title),
        key: file.standard.value.clone(),
        version: file.edition.year.to_string(),
        notes: file.notes.clone(),
    }
}

fn overlay_head(file: &OverlayFile) -> Head {
    Head {
        kind: LayerKind::Overlay,
        title: format!("{}, {}", file.title, file.issue.name),
        key: file.network.value.clone(),
        version: file.version.value.to_string(),
        notes: file.notes.clone(),
    }
}
