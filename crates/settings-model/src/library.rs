//! The library of profiles: which standard and which overlay version a site stands under.
//!
//! It holds texts by path (`standards/<standard>/<edition>.yaml`,
//! `overlays/<network>/<version>.yaml`) and reads only what a site's chain needs.

mod compile;
mod request;

use compile::{admits, compile, region_of};
pub use request::{Part, Refusal, Request};

use crate::catalogue::Equipment;
use crate::cells::{Condition, all_hold};
use crate::claim::{LayerId, Whys};
use crate::facts::{FactId, Facts, days};
use crate::files::{CitationText, Extends, Kind, OverlayFile, StandardFile, VersionRange};
use crate::finding::Finding;
use crate::layer::LayerReader;
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

impl Profile {
    /// SHA-256 of the text, in hexadecimal, as `sha256sum` prints it.
    #[must_use]
    pub fn sha256(&self) -> String {
        use sha2::Digest;
        sha2::Sha256::digest(self.text.as_bytes()).iter().map(|byte| format!("{byte:02x}")).collect()
    }
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

/// One overlay version of a chain and the standard below it.
struct Chain {
    overlays: Vec<Rc<Typed<OverlayFile>>>,
    standard: Rc<Typed<StandardFile>>,
    installation: Option<Rc<Typed<StandardFile>>>,
}

impl Library {
    /// Adds a profile; a later one of the same path replaces an earlier one.
    pub fn add(&mut self, profile: Profile) {
        let key = profile.path.strip_prefix("standards/").and_then(|path| path.strip_suffix(".yaml"));
        key.map(|key| self.standards.remove(key));
        self.overlays.remove(&profile.path);
        self.profiles.insert(profile.path.clone(), profile);
    }

    /// Leaves out the versions of a network that are not to be kept.
    pub fn keep_versions(&mut self, network: &str, is_kept: impl Fn(&semver::Version) -> bool) {
        for version in self.versions(network).into_iter().filter(|version| !is_kept(version)) {
            let path = format!("overlays/{network}/{version}.yaml");
            self.profiles.remove(&path);
            self.overlays.remove(&path);
        }
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

    /// The profile of this key, such as `overlays/quillbrook/3.0.0`.
    #[must_use]
    pub fn profile(&self, key: &str) -> Option<&Profile> {
        self.profiles.get(&format!("{key}.yaml"))
    }

    /// What pinned profiles say, lowest layer first, whatever dates they are for; `in_place` stands for
    /// the base standard of one device.
    ///
    /// # Errors
    /// See [`Refusal`].
    pub fn rulebooks_pinned(
        &mut self,
        keys: &[&str],
        in_place: Option<&str>,
        region: &str,
        sources: &mut Sources,
    ) -> Result<[Rulebook; Equipment::ALL.len()], Refusal> {
        let (mut base, mut installation, mut overlays) = (None, None, Vec::new());
        for key in keys {
            match key.split('/').collect::<Vec<_>>()[..] {
                ["standards", name, edition] => {
                    let standard = self.standard(&format!("{name}/{edition}"), sources)?;
                    let place = if standard.file.regions.0.is_empty() { &mut installation } else { &mut base };
                    place.get_or_insert(standard);
                }
                ["overlays", network, version] => {
                    let version = semver::Version::parse(version).ok().filter(|version| self.versions(network).contains(version));
                    let missing = || Refusal::unknown(Part::Network, format!("no profile `{key}`"), network, &self.networks());
                    let version = version.ok_or_else(missing)?;
                    overlays.push(self.overlay(network, &version, sources)?);
                }
                _ => return Err(Refusal::unknown(Part::Standard, format!("no profile `{key}`"), key, &self.standards())),
            }
        }
        if let Some(standard) = in_place {
            base = Some(self.standard(standard, sources)?);
        }
        let standard = base.ok_or_else(|| Refusal::Unknown {
            part: Part::Standard,
            says: "no standard with regions is pinned".to_owned(),
            hint: Some("write the pins anew with `asleft pin`".to_owned()),
        })?;
        on_every_kind(&Chain { overlays, standard, installation }, region)
    }

    /// Every profile, by path.
    pub fn profiles(&self) -> impl Iterator<Item = &Profile> {
        self.profiles.values()
    }

    /// The keys of all standards and editions: `as-nzs-4777.2/2020-amd2`.
    #[must_use]
    pub fn standards(&self) -> Vec<String> {
        let stem = |path: &String| Some(path.strip_prefix("standards/")?.strip_suffix(".yaml")?.to_owned());
        self.profiles.keys().filter_map(stem).collect()
    }

    /// The editions of the standard that a key names; all standards where it names none that is here.
    fn near(&self, key: &str) -> Vec<String> {
        let (all, name) = (self.standards(), key.split('/').next());
        let editions: Vec<String> = all.iter().filter(|other| other.split('/').next() == name).cloned().collect();
        if editions.is_empty() { all } else { editions }
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
            let says = format!("no standard `{key}` among the profiles");
            return Err(Refusal::unknown(Part::Standard, says, key, &self.near(key)));
        };
        let source = sources.add(profile.name.clone(), profile.text.clone());
        let root = open(profile, source, Kind::Standard)?;
        let file: StandardFile = reader::typed(&root)?;
        let (folder, kept) = key.split_once('/').unwrap_or((key, ""));
        let (named, edition) = (&file.standard.value, file.edition.key());
        let paths = [&*profile.path, &format!("standards/{named}/{edition}.yaml")];
        let mut faults: Vec<Finding> = misfiled(file.standard.place, "standard", [named, folder], paths).into_iter().collect();
        faults.extend(misfiled(file.edition.place, "edition", [&edition, kept], paths));
        if !profile.shipped {
            faults.extend(faults_of_statements(&file.sources.0, |reader| reader.whole_standard(&file)));
        }
        none(faults)?;
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
        let (named, numbered) = (&file.network.value, file.version.value.to_string());
        let paths = [&*path, &format!("overlays/{named}/{numbered}.yaml")];
        let mut faults: Vec<Finding> = misfiled(file.network.place, "network", [named, network], paths).into_iter().collect();
        faults.extend(misfiled(file.version.place, "version", [&numbered, &version.to_string()], paths));
        if !profile.shipped {
            faults.extend(faults_of_statements(&file.sources.0, |reader| reader.whole_overlay(&file)));
        }
        none(faults)?;
        let read = Rc::new(Typed { source, file });
        self.overlays.insert(path, read.clone());
        Ok(read)
    }

    /// What the layers of a site say, one rulebook for each kind of equipment.
    ///
    /// # Errors
    /// See [`Refusal`].
    pub fn rulebooks(
        &mut self,
        request: Request<'_>,
        facts: &Facts,
        sources: &mut Sources,
    ) -> Result<[Rulebook; Equipment::ALL.len()], Refusal> {
        let mut chain = self.chain(request, facts, sources)?;
        match request.in_place {
            // an older edition names its regions in its own way
            Some(standard) => chain.standard = self.standard(standard, sources)?,
            None => named_and_admitted(&chain, request.region)?,
        }
        on_every_kind(&chain, request.region)
    }

    /// What one version of a network says, and the layers below it, whatever dates it is for; of the
    /// networks below, the highest version in range.
    ///
    /// # Errors
    /// See [`Refusal`].
    pub fn rulebooks_of(
        &mut self,
        (network, version): (&str, &semver::Version),
        region: &str,
        sources: &mut Sources,
    ) -> Result<[Rulebook; Equipment::ALL.len()], Refusal> {
        let top = self.overlay(network, version, sources)?;
        let chain = self.chain_below(top, None, sources)?;
        named_and_admitted(&chain, region)?;
        on_every_kind(&chain, region)
    }

    /// What a standard asks, region by region; of one without regions, once.
    ///
    /// # Errors
    /// See [`Refusal`].
    pub fn rulebooks_in_every_region(
        &mut self,
        standard: &str,
        sources: &mut Sources,
    ) -> Result<Vec<[Rulebook; Equipment::ALL.len()]>, Refusal> {
        let chain = Chain { overlays: Vec::new(), standard: self.standard(standard, sources)?, installation: None };
        on_every_region(&chain)
    }

    /// What a version of a network asks, on every version of the networks below that is in range, and
    /// in every region that all of them take.
    ///
    /// # Errors
    /// See [`Refusal`].
    pub fn rulebooks_on_every_parent(
        &mut self,
        (network, version): (&str, &semver::Version),
        sources: &mut Sources,
    ) -> Result<Vec<[Rulebook; Equipment::ALL.len()]>, Refusal> {
        let top = self.overlay(network, version, sources)?;
        let mut rulebooks = Vec::new();
        for overlays in self.towers(vec![top], sources)? {
            let chain = self.grounded(overlays, sources)?;
            rulebooks.extend(on_every_region(&chain)?);
        }
        Ok(rulebooks)
    }

    /// Every way to stand on versions in range, from the top down.
    fn towers(&mut self, above: Vec<Rc<Typed<OverlayFile>>>, sources: &mut Sources) -> Result<Vec<Vec<Rc<Typed<OverlayFile>>>>, Refusal> {
        let last = above.last().expect("begins with one").clone();
        let Extends { network, version, .. } = &last.file.extends.value;
        let Some(parent) = network else { return Ok(vec![above]) };
        if above.len() > MOST_LAYERS || above.iter().any(|overlay| overlay.file.network.value == parent.value) {
            return Err(vec![stands_on_itself(parent.place)].into());
        }
        let in_range: Vec<semver::Version> =
            self.versions(parent).into_iter().filter(|one| version.as_ref().is_none_or(|range| range.holds(one))).collect();
        if in_range.is_empty() {
            let says = format!("no version of `{}` lies in this range", parent.value);
            return Err(Refusal::unknown(Part::Network, says, parent, &self.networks()).at(parent.place));
        }
        let mut towers = Vec::new();
        for version in in_range {
            let mut with = above.clone();
            with.push(self.overlay(parent, &version, sources)?);
            towers.extend(self.towers(with, sources)?);
        }
        Ok(towers)
    }

    /// A tower of overlays on its standards.
    fn grounded(&mut self, mut overlays: Vec<Rc<Typed<OverlayFile>>>, sources: &mut Sources) -> Result<Chain, Refusal> {
        let installation = overlays.iter().find_map(|overlay| overlay.file.extends.installation.clone());
        let installation = match installation {
            Some(key) => Some(self.standard(&key, sources).map_err(|refusal| refusal.at(key.place))?),
            None => None,
        };
        let lowest = overlays.last().expect("begins with one").clone();
        let Some(standard) = &lowest.file.extends.standard else {
            let says = "an overlay stands on either a `standard` or a `network`";
            return Err(vec![Finding::unusable("extends", lowest.file.extends.place, says)].into());
        };
        let standard = self.standard(standard, sources).map_err(|refusal| refusal.at(standard.place))?;
        overlays.reverse();
        Ok(Chain { overlays, standard, installation })
    }

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

    /// The base standard that a version of a network stands on: `as-nzs-4777.2/2020-amd2`.
    ///
    /// # Errors
    /// See [`Refusal`].
    pub fn standard_below(&mut self, network: &str, version: &semver::Version, sources: &mut Sources) -> Result<String, Refusal> {
        let top = self.overlay(network, version, sources)?;
        let chain = self.chain_below(top, None, sources)?;
        let standard = &chain.standard.file;
        Ok(format!("{}/{}", standard.standard.value, standard.edition.key()))
    }

    /// The regions of the standard below a version of a network that its sites may stand under.
    ///
    /// # Errors
    /// See [`Refusal`].
    pub fn regions_below(&mut self, network: &str, version: &semver::Version, sources: &mut Sources) -> Result<Vec<String>, Refusal> {
        let top = self.overlay(network, version, sources)?;
        let chain = self.chain_below(top, None, sources)?;
        let regions = chain.standard.file.regions.iter().map(|(key, _)| key.to_owned());
        Ok(regions.filter(|region| admits(&chain, region).is_ok()).collect())
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

    fn chain(&mut self, request: Request<'_>, facts: &Facts, sources: &mut Sources) -> Result<Chain, Refusal> {
        match (request.network, request.standard) {
            (Some(network), _) => {
                let range = match request.overlay.map(VersionRange::parse).transpose() {
                    Ok(range) => range,
                    Err(slip) => return Err(Refusal::Unknown { part: Part::Overlay, says: slip.says, hint: Some(slip.mend) }),
                };
                let top = self.governing(network, range.as_ref(), facts, sources)?;
                self.chain_below(top, Some(facts), sources)
            }
            (None, _) if request.overlay.is_some() => Err(Refusal::Unknown {
                part: Part::Overlay,
                says: "a range of overlay versions, but no network".to_owned(),
                hint: Some("add `network: …`, or leave the range out".to_owned()),
            }),
            (None, Some(standard)) => {
                let installation =
                    request.installation.map(|key| self.standard(key, sources)).transpose().map_err(Refusal::of_installation)?;
                Ok(Chain { overlays: Vec::new(), standard: self.standard(standard, sources)?, installation })
            }
            (None, None) => Err(Refusal::Unknown {
                part: Part::Network,
                says: "neither a network nor a standard is named".to_owned(),
                hint: Some("add `network: …`, or `standard: …` under `requirements`".to_owned()),
            }),
        }
    }

    fn chain_below(&mut self, top: Rc<Typed<OverlayFile>>, facts: Option<&Facts>, sources: &mut Sources) -> Result<Chain, Refusal> {
        let mut overlays = vec![top];
        // the layer nearest to the site says under which standard of installation it stands
        let mut installation = None;
        loop {
            let last = overlays.last().expect("starts with one");
            let Extends { standard, network, version, installation: besides } = &last.file.extends.value;
            if let (None, Some(key)) = (&installation, besides) {
                installation = Some(self.standard(key, sources).map_err(|refusal| refusal.at(key.place))?);
            }
            match (standard, network) {
                (Some(standard), None) => {
                    let standard = self.standard(standard, sources).map_err(|refusal| refusal.at(standard.place))?;
                    overlays.reverse();
                    return Ok(Chain { overlays, standard, installation });
                }
                (None, Some(parent)) => {
                    if overlays.len() > MOST_LAYERS || overlays.iter().any(|o| o.file.network.value == parent.value) {
                        return Err(vec![stands_on_itself(parent.place)].into());
                    }
                    let network = parent.value.clone();
                    let next = match facts {
                        Some(facts) => self.governing(&network, version.as_ref(), facts, sources),
                        None => self.highest(&network, version.as_ref(), sources),
                    };
                    let next = next.map_err(|refusal| refusal.at(parent.place))?;
                    overlays.push(next);
                }
                _ => {
                    let says = "an overlay stands on either a `standard` or a `network`";
                    return Err(vec![Finding::unusable("extends", last.file.extends.place, says)].into());
                }
            }
        }
    }

    /// The highest version in range, whatever dates it is for.
    fn highest(&mut self, network: &str, range: Option<&VersionRange>, sources: &mut Sources) -> Result<Rc<Typed<OverlayFile>>, Refusal> {
        let versions = self.versions(network);
        let highest = versions.iter().rev().find(|version| range.is_none_or(|range| range.holds(version)));
        match highest {
            Some(version) => self.overlay(network, version, sources),
            None => {
                let says = format!("no version of `{network}` lies in this range");
                Err(Refusal::unknown(Part::Network, says, network, &self.networks()))
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

/// A region that the standard has, and that every network of the chain takes.
fn named_and_admitted(chain: &Chain, region: &str) -> Result<(), Refusal> {
    region_of(&chain.standard.file, region)?;
    admits(chain, region)
}

/// Overlays upon overlays: more than anybody keeps in mind.
const MOST_LAYERS: usize = 8;

/// One rulebook for each kind of equipment, in every region that all networks of a chain take.
fn on_every_region(chain: &Chain) -> Result<Vec<[Rulebook; Equipment::ALL.len()]>, Refusal> {
    let mut regions: Vec<&str> = chain.standard.file.regions.iter().map(|(key, _)| key).collect();
    if regions.is_empty() {
        regions.push("");
    }
    let mut rulebooks = Vec::new();
    for region in regions {
        match admits(chain, region) {
            Ok(()) => rulebooks.push(on_every_kind(chain, region)?),
            Err(Refusal::Unusable(findings)) => return Err(findings.into()),
            Err(_) => {} // a region that some network does not take
        }
    }
    Ok(rulebooks)
}

fn on_every_kind(chain: &Chain, region: &str) -> Result<[Rulebook; Equipment::ALL.len()], Refusal> {
    let on = |kind| compile(chain, region, kind);
    Ok([on(Equipment::Inverter)?, on(Equipment::GridProtectionRelay)?, on(Equipment::Installation)?])
}

fn open(profile: &Profile, source: SourceId, kind: Kind) -> Result<crate::document::Node, Vec<Finding>> {
    if profile.shipped { reader::read_shipped(source, &profile.text) } else { reader::read(source, &profile.text, kind) }
}

/// A file that says that it is another than its path says.
fn misfiled(place: Place, key: &str, [found, kept]: [&str; 2], [path, belongs]: [&str; 2]) -> Option<Finding> {
    let finding = Finding::unusable("misfiled", place, format!("{key} `{found}`, in a file that is kept as `{path}`"));
    (found != kept).then(|| finding.hint(format!("write `{key}: {kept}`, or keep the file as `{belongs}`")))
}

fn none(faults: Vec<Finding>) -> Result<(), Vec<Finding>> {
    if faults.is_empty() { Ok(()) } else { Err(faults) }
}

/// What is wrong with the statements of a file by themselves, before any site asks for them.
fn faults_of_statements(sources: &[(String, CitationText)], read: impl FnOnce(&mut LayerReader<'_>)) -> Vec<Finding> {
    let mut whys = Whys::default();
    let mut reader = LayerReader::new(LayerId(0), sources, &mut whys);
    read(&mut reader);
    reader.findings
}

fn stands_on_itself(place: Place) -> Finding {
    let finding = Finding::unusable("extends", place, "the overlay stands, directly or through others, on its own network");
    finding.hint("name the standard, or the network, that is below it")
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
