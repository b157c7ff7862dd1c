//! The library of profiles: which standard and which overlay version a site stands under.
//!
//! It holds texts by path (`standards/<standard>/<edition>.yaml`,
//! `overlays/<network>/<version>.yaml`, `labels/<family>/<name>.yaml`, `scenarios/<name>.yaml`) and reads only what a site's
//! chain needs. What offices read of a profile is kept below `attestations/`, at the profile's own path,
//! and is read with it.

mod attestations;
mod chain;
mod compile;
mod gate;
mod governing;
mod labels;
mod pinned;
mod request;
mod rulebooks;

use attestations::Days;
pub use attestations::{Attested, attested_key};
pub use gate::{Gate, NOT_SIGNED};
pub use labels::NotUsed;
pub use request::{InPlace, Part, Refusal, Request};

use crate::attested::{Attestation, Reads, Stating, reads};
use crate::claim::{LayerId, Provenances};
use crate::files::{CitationText, Kind, OverlayFile, ScenarioFile, StandardFile};
use crate::finding::Finding;
use crate::labels::LabelMap;
use crate::layer::LayerReader;
use crate::reader;
use crate::source::{Place, SourceId, Sources};
use std::collections::BTreeMap;
use std::rc::Rc;
use std::sync::Arc;

/// A profile's text.
#[derive(Clone, Debug)]
pub struct Profile {
    /// `standards/…`, `overlays/…`, `labels/…`, `scenarios/…` or `attestations/…`, with forward slashes.
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
    /// What offices read of it.
    pub attestations: Vec<Rc<Attestation>>,
}

impl<T: Stating> Typed<T> {
    /// What offices read of its values, in one region.
    #[must_use]
    pub fn reads(&self, region: &str) -> Reads {
        reads(&self.file, &self.attestations, region)
    }
}

/// All profiles at hand.
#[derive(Debug, Default)]
pub struct Library {
    profiles: BTreeMap<String, Profile>,
    /// What was read, and what was refused: a broken profile is not read again for every site.
    standards: BTreeMap<String, Result<Rc<Typed<StandardFile>>, Refusal>>,
    overlays: BTreeMap<String, Result<Rc<Typed<OverlayFile>>, Refusal>>,
    labels: BTreeMap<String, Result<Rc<LabelMap>, Vec<Finding>>>,
    /// The keys of the label maps whose text names a model.
    maps_by_model: BTreeMap<String, Rc<[String]>>,
    days: Days,
    gate: Option<Gate>,
}

impl Library {
    /// Adds a profile; a later one of the same path replaces an earlier one.
    pub fn add(&mut self, profile: Profile) {
        let key = profile.path.strip_prefix("standards/").and_then(|path| path.strip_suffix(".yaml"));
        key.map(|key| self.standards.remove(key));
        self.overlays.remove(&profile.path);
        self.labels.remove(&profile.path);
        self.maps_by_model.clear();
        if let Some(key) = attestations::attested_key(&profile.path) {
            self.standards.remove(key.trim_start_matches("standards/"));
            self.overlays.remove(&format!("{key}.yaml"));
        }
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

    /// The profile of this key, such as `overlays/quillbrook/3.0.0`.
    #[must_use]
    pub fn profile(&self, key: &str) -> Option<&Profile> {
        self.profiles.get(&format!("{key}.yaml"))
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

    /// Whose values a device that stands under a standard and edition may have been left with: its other
    /// editions, and those of another name that it took the place of.
    pub fn other_editions(&mut self, key: &str, sources: &mut Sources) -> Vec<String> {
        let read = self.standard(key, sources);
        let superseded: Vec<&str> = read.iter().flat_map(|standard| &standard.file.supersedes).map(|named| named.value.as_str()).collect();
        let name = key.split('/').next();
        let is_one = |other: &String| other != key && (other.split('/').next() == name || superseded.contains(&other.as_str()));
        self.standards().into_iter().filter(is_one).collect()
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

    /// The names of all scenarios: `noon-creep`.
    #[must_use]
    pub fn scenarios(&self) -> Vec<String> {
        let stem = |path: &String| Some(path.strip_prefix("scenarios/")?.strip_suffix(".yaml")?.to_owned());
        self.profiles.keys().filter_map(stem).collect()
    }

    /// A scenario, read and typed; `None` where none of this name is at hand.
    ///
    /// # Errors
    /// Every fault of its file.
    pub fn scenario(&self, name: &str, sources: &mut Sources) -> Option<Result<ScenarioFile, Vec<Finding>>> {
        let profile = self.profile(&format!("scenarios/{name}"))?;
        let source = sources.add_once(&profile.name, &profile.text);
        let admitted = self.admit(profile, source);
        Some(admitted.and_then(|()| open(profile, source, Kind::Scenario)).and_then(|root| reader::typed(&root)))
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
            return read.clone();
        }
        let read = self.read_standard(key, sources);
        self.standards.insert(key.to_owned(), read.clone());
        read
    }

    fn read_standard(&self, key: &str, sources: &mut Sources) -> Result<Rc<Typed<StandardFile>>, Refusal> {
        let Some(profile) = self.profiles.get(&format!("standards/{key}.yaml")) else {
            let says = format!("no standard `{key}` among the profiles");
            return Err(Refusal::unknown(Part::Standard, says, key, &self.near(key)));
        };
        let source = sources.add(profile.name.clone(), profile.text.clone());
        self.admit(profile, source)?;
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
        let attestations = self.attestations_of(&format!("standards/{key}"), &file, &file.title, sources)?;
        Ok(Rc::new(Typed { source, file, attestations }))
    }

    /// An overlay version, read and typed.
    ///
    /// # Errors
    /// Every fault of its file.
    pub fn overlay(&mut self, network: &str, version: &semver::Version, sources: &mut Sources) -> Result<Rc<Typed<OverlayFile>>, Refusal> {
        let path = format!("overlays/{network}/{version}.yaml");
        if let Some(read) = self.overlays.get(&path) {
            return read.clone();
        }
        let read = self.read_overlay(&path, network, version, sources);
        self.overlays.insert(path, read.clone());
        read
    }

    fn read_overlay(
        &self,
        path: &str,
        network: &str,
        version: &semver::Version,
        sources: &mut Sources,
    ) -> Result<Rc<Typed<OverlayFile>>, Refusal> {
        let profile = &self.profiles[path];
        let source = sources.add(profile.name.clone(), profile.text.clone());
        self.admit(profile, source)?;
        let root = open(profile, source, Kind::Overlay)?;
        let file: OverlayFile = reader::typed(&root)?;
        let (named, numbered) = (&file.network.value, file.version.value.to_string());
        let paths = [path, &format!("overlays/{named}/{numbered}.yaml")];
        let mut faults: Vec<Finding> = misfiled(file.network.place, "network", [named, network], paths).into_iter().collect();
        faults.extend(misfiled(file.version.place, "version", [&numbered, &version.to_string()], paths));
        if !profile.shipped {
            faults.extend(faults_of_statements(&file.sources.0, |reader| reader.whole_overlay(&file)));
        }
        none(faults)?;
        let title = format!("{}, {}", file.title, file.issue.name);
        let attestations = self.attestations_of(&format!("overlays/{network}/{version}"), &file, &title, sources)?;
        Ok(Rc::new(Typed { source, file, attestations }))
    }
}

fn open(profile: &Profile, source: SourceId, kind: Kind) -> Result<crate::document::Node, Vec<Finding>> {
    if profile.shipped { reader::read_shipped(source, &profile.text) } else { reader::read(source, &profile.text, kind) }
}

/// A file that says that it is another than its path says.
#[must_use]
pub fn misfiled(place: Place, key: &str, [found, kept]: [&str; 2], [path, belongs]: [&str; 2]) -> Option<Finding> {
    let finding = Finding::unusable("misfiled", place, format!("{key} `{found}`, in a file that is kept as `{path}`"));
    let write = if key == "edition" { written_edition(kept) } else { Some(format!("{key}: {kept}")) };
    let hint = match write {
        Some(write) => format!("write `{write}`, or keep the file as `{belongs}`"),
        None => format!("keep the file as `{belongs}`"),
    };
    (found != kept).then(|| finding.hint(hint))
}

/// The edition of a file's name as files write it: `2020-amd2` is `edition: { year: 2020, amendment: 2 }`.
fn written_edition(key: &str) -> Option<String> {
    let (year, amendment) = key.split_once("-amd").map_or((key, None), |(year, amendment)| (year, Some(amendment)));
    let year: u16 = year.parse().ok()?;
    Some(match amendment {
        Some(amendment) => format!("edition: {{ year: {year}, amendment: {} }}", amendment.parse::<u8>().ok()?),
        None => format!("edition: {{ year: {year} }}"),
    })
}

fn none(faults: Vec<Finding>) -> Result<(), Vec<Finding>> {
    if faults.is_empty() { Ok(()) } else { Err(faults) }
}

/// What is wrong with the statements of a file by themselves, before any site asks for them.
fn faults_of_statements(sources: &[(String, CitationText)], read: impl FnOnce(&mut LayerReader<'_>)) -> Vec<Finding> {
    let mut whys = Provenances::default();
    let mut reader = LayerReader::new(LayerId(0), sources, &mut whys);
    read(&mut reader);
    reader.findings
}
