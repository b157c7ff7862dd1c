//! What a word on the command line names: a site with its devices, or requirements.

use super::refused;
use crate::Exit;
use crate::args::Filled;
use crate::files::filled;
use crate::walk::write_messages;
use rules::assess::{Assessor, Books};
use settings_model::document::{Node, parse};
use settings_model::facts::FactId;
use settings_model::files::{AttestationFile, Conditions, Kind, LabelMapFile, OverlayFile, SiteFile, StandardFile};
use settings_model::finding::{Finding, nearest};
use settings_model::library::{Part, Profile, Refusal, Request, Typed, misfiled};
use settings_model::reader;
use settings_model::source::Place;
use std::io;
use std::path::{Path, PathBuf};
use std::rc::Rc;

/// What an operand names.
pub enum Operand {
    /// What devices of a site hold.
    Site(SiteOperand),
    /// What a standard or a network asks.
    Requirements(RequirementsOperand),
}

/// A site's file, and of it one device or one moment.
pub struct SiteOperand {
    /// The checked tree of the file.
    pub root: Node,
    /// The one device meant; without it all.
    pub device: Option<String>,
    /// The moment meant, if it is said.
    pub moment: Option<Moment>,
}

/// When a device was looked at.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Moment {
    /// Before the work.
    AsFound,
    /// After it.
    AsLeft,
}

impl Moment {
    /// The word in files, and after a colon.
    pub fn word(self) -> &'static str {
        match self {
            Self::AsFound => "as-found",
            Self::AsLeft => "as-left",
        }
    }
}

/// What a standard or a network asks, region by region.
pub struct RequirementsOperand {
    /// Its name in print.
    pub title: String,
    /// The network's file, where it is one.
    pub overlay: Option<Rc<Typed<OverlayFile>>>,
    /// The base standard and edition below it.
    pub standard: String,
    /// Whether one region was named.
    pub is_of_one_region: bool,
    /// Key and name of each region, and what is asked there.
    pub regions: Vec<(String, String, Books)>,
}

impl RequirementsOperand {
    /// The one region that was named, or that there is, and the title with it; `word` is how it was named.
    pub fn of_one_region(&self, word: &str) -> Result<(String, &Books), Fault> {
        let [(_, region, books)] = &self.regions[..] else {
            let first = self.regions.first().map(|(key, ..)| format!("{word}/{key}")).unwrap_or_default();
            return Err(Fault::Words(format!("{} has several regions; name one, as in `{first}`", self.title)));
        };
        let title = if self.title.contains(region.as_str()) { self.title.clone() } else { format!("{}, {region}", self.title) };
        Ok((title, books))
    }
}

/// Why an operand could not be used.
pub enum Fault {
    /// It names nothing that is at hand.
    Words(String),
    /// A file is at fault.
    Findings(Vec<Finding>),
}

impl Fault {
    /// Says on standard error why the question could not be put.
    pub fn told(self, assessor: &Assessor) -> io::Result<Exit> {
        match self {
            Self::Words(says) => refused(&says),
            Self::Findings(findings) => write_messages(&findings, &assessor.sources).map(|()| Exit::CouldNotTell),
        }
    }
}

impl From<io::Error> for Fault {
    fn from(error: io::Error) -> Self {
        Self::Words(error.to_string())
    }
}

impl From<Vec<Finding>> for Fault {
    fn from(findings: Vec<Finding>) -> Self {
        Self::Findings(findings)
    }
}

impl From<Refusal> for Fault {
    fn from(refusal: Refusal) -> Self {
        match refusal {
            Refusal::Unusable(findings) => Self::Findings(findings),
            Refusal::Unknown { says, hint, .. } => Self::Words(hint.map_or(says.clone(), |hint| format!("{says}; {hint}"))),
            Refusal::Hangs { versions, .. } => Self::Words(format!("it hangs on a site's dates which of {} is meant", versions.join(", "))),
        }
    }
}

/// Reads what a word names: a file that is there, or a profile at hand.
pub fn operand(word: &str, assessor: &mut Assessor) -> Result<Operand, Fault> {
    let (path, device, moment) = parts(word);
    if path.as_os_str() != "-" && !path.is_file() {
        return requirements(word, assessor).map(Operand::Requirements);
    }
    let text = crate::files::text(&path)?;
    match kind_of(&path, &text, assessor) {
        Some(kind @ (Kind::Standard | Kind::Overlay)) => {
            let key = add_profile(kind, &path, text, assessor)?;
            requirements(&key, assessor).map(Operand::Requirements)
        }
        Some(
            kind @ (Kind::Attestation
            | Kind::ColumnMap
            | Kind::LabelMap
            | Kind::Scenario
            | Kind::ExerciseKey
            | Kind::Commissioning
            | Kind::ExportMap
            | Kind::RegisterImage),
        ) => Err(Fault::Words(format!("`{word}` is of kind `{}`; name a site, a standard or a version of a network", kind.word()))),
        Some(Kind::Site) | None => {
            let source = assessor.sources.add(terminal::path(&path), text.as_str());
            let root = assessor.read_site(source, &text)?;
            reader::typed::<SiteFile<'_>>(&root)?;
            Ok(Operand::Site(SiteOperand { root, device, moment }))
        }
    }
}

/// The same, of a site with what a sheet filled by hand says of its devices, where one is named.
pub fn operand_with(word: &str, filled: &Filled, assessor: &mut Assessor) -> Result<Operand, Fault> {
    let mut operand = operand(word, assessor)?;
    if let Some(sheet) = filled::named(filled, &mut assessor.sources)?? {
        match &mut operand {
            Operand::Site(site) => site.root = sheet.laid_over(&site.root, assessor)?,
            Operand::Requirements(_) => return Err(Fault::Words("a filled sheet is laid over a site; name its file first".to_owned())),
        }
    }
    Ok(operand)
}

/// Puts a profile's file among the profiles at hand; its key, or `None` where the word names no file.
pub fn add_file(word: &str, assessor: &mut Assessor) -> Result<Option<String>, Fault> {
    let path = Path::new(word);
    if !path.is_file() {
        return Ok(None);
    }
    let text = crate::files::text(path)?;
    match kind_of(path, &text, assessor) {
        Some(kind @ (Kind::Site | Kind::ColumnMap | Kind::ExerciseKey | Kind::Commissioning | Kind::ExportMap | Kind::RegisterImage)) => {
            Err(Fault::Words(format!(
                "`{word}` is of kind `{}`; name a standard, an overlay, a label map, a scenario or an attestation",
                kind.word()
            )))
        }
        Some(kind) => add_profile(kind, path, text, assessor).map(Some),
        // a file that does not say what it is is read as what most are, and told what it lacks
        None => add_profile(Kind::Overlay, path, text, assessor).map(Some),
    }
}

/// The kind of file that a text says it is.
fn kind_of(path: &Path, text: &str, assessor: &mut Assessor) -> Option<Kind> {
    let kept = assessor.sources.len();
    let source = assessor.sources.add(terminal::path(path), text);
    let kind = parse(source, text, &mut Vec::new()).and_then(|root| reader::kind_of(&root));
    assessor.sources.forget_after(kept);
    kind
}

/// The requirements that a word names.
pub fn requirements_of(word: &str, assessor: &mut Assessor) -> Result<RequirementsOperand, Fault> {
    match operand(word, assessor)? {
        Operand::Requirements(requirements) => Ok(requirements),
        Operand::Site(_) => Err(Fault::Words(format!("`{word}` is a site; name a version of requirements, such as `quillbrook/2.0.0`"))),
    }
}

/// Title, key and both sides of each region that two have in common; two that were named are paired
/// whatever their keys.
pub fn pairs<'o>(old: &'o RequirementsOperand, new: &'o RequirementsOperand) -> Vec<(String, &'o str, &'o Books, &'o Books)> {
    let both_named = old.is_of_one_region && new.is_of_one_region;
    if let (true, [(one, title, old)], [(other, other_title, new)]) = (both_named, &old.regions[..], &new.regions[..]) {
        let title = if one == other { title.clone() } else { format!("{title} against {other_title}") };
        return vec![(title, one, old, new)];
    }
    let counterpart = |key: &str| new.regions.iter().find(|(other, ..)| other == key);
    let paired = old.regions.iter().filter_map(|(key, title, books)| Some((title.clone(), key.as_str(), books, &counterpart(key)?.2)));
    paired.collect()
}

/// The file of `site.yaml:inverter-1:as-found`.
pub fn file_of(word: &str) -> PathBuf {
    parts(word).0
}

/// `site.yaml:inverter-1:as-found` in its parts. A file of the whole name comes first.
fn parts(word: &str) -> (PathBuf, Option<String>, Option<Moment>) {
    let (mut rest, mut device, mut moment) = (word, None, None);
    if Path::new(rest).is_file() {
        return (rest.into(), None, None);
    }
    for named in [Moment::AsFound, Moment::AsLeft] {
        if let Some(before) = rest.strip_suffix(&format!(":{}", named.word())) {
            (rest, moment) = (before, Some(named));
        }
    }
    if let Some((before, name)) = rest.rsplit_once(':').filter(|_| !Path::new(rest).is_file())
        && (before == "-" || Path::new(before).is_file())
    {
        (rest, device) = (before, Some(name.to_owned()));
    }
    (rest.into(), device, moment)
}

/// Puts a profile's file among those at hand, where its own words say that it belongs; its key.
fn add_profile(kind: Kind, path: &Path, text: String, assessor: &mut Assessor) -> Result<String, Fault> {
    let source = assessor.sources.add(terminal::path(path), text.as_str());
    let root = reader::read(source, &text, kind)?;
    let key = match kind {
        Kind::Attestation => {
            let file: AttestationFile = reader::typed(&root)?;
            attestation_key(&file, path)
        }
        Kind::Standard => {
            let file: StandardFile = reader::typed(&root)?;
            let edition = file.edition.key();
            filed(path, "standards", [("standard", &file.standard.value, file.standard.place), ("edition", &edition, file.edition.place)])?;
            format!("standards/{}/{edition}", file.standard.value)
        }
        Kind::Scenario => format!("scenarios/{}", path.file_stem().unwrap_or_default().to_string_lossy()),
        Kind::LabelMap => {
            let file: LabelMapFile = reader::typed(&root)?;
            // which of the family's maps it is, the file's own name says
            format!("labels/{}/{}", file.family.value, path.file_stem().unwrap_or_default().to_string_lossy())
        }
        Kind::Overlay | Kind::Site | Kind::ColumnMap | Kind::ExerciseKey | Kind::Commissioning | Kind::ExportMap | Kind::RegisterImage => {
            let file: OverlayFile = reader::typed(&root)?;
            let version = file.version.value.to_string();
            filed(path, "overlays", [("network", &file.network.value, file.network.place), ("version", &version, file.version.place)])?;
            format!("overlays/{}/{version}", file.network.value)
        }
    };
    let (path, name) = (format!("{key}.yaml"), terminal::path(path));
    assessor.library.add(Profile { path, name, text: text.into(), shipped: false });
    Ok(key)
}

/// A file that lies where profiles are kept, `<kind>/<folder>/<name>.yaml`, has to lie where its words say that it belongs; a
/// draft may lie anywhere else, but where its name is a version, that is its own.
fn filed(path: &Path, kind: &str, [folder, name]: [(&str, &str, Place); 2]) -> Result<(), Fault> {
    let whole = path.canonicalize()?;
    let stem = whole.file_stem().unwrap_or_default().to_string_lossy();
    let mut above = whole.ancestors().skip(1).filter_map(|up| up.file_name()).map(|up| up.to_string_lossy());
    let (kept, below) = (above.next().unwrap_or_default(), above.next().unwrap_or_default());
    let (path, belongs) = (format!("{kind}/{kept}/{stem}.yaml"), format!("{kind}/{}/{}.yaml", folder.1, name.1));
    let is_kept = below == kind;
    let is_version = semver::Version::parse(&stem).is_ok();
    let faults = [(folder, &*kept, is_kept), (name, &*stem, is_kept || is_version)];
    let faults: Vec<Finding> = faults
        .into_iter()
        .filter(|(_, _, counts)| *counts)
        .filter_map(|((key, found, place), kept, _)| misfiled(place, key, [found, kept], [&path, &belongs]))
        .collect();
    if faults.is_empty() { Ok(()) } else { Err(faults.into()) }
}

/// Where an attestation belongs by its own words, under the name of its file.
fn attestation_key(file: &AttestationFile, path: &Path) -> String {
    let profile = match (&file.standard, &file.edition, &file.network, &file.version) {
        (Some(standard), Some(edition), ..) => format!("standards/{}/{}", standard.value, edition.key()),
        (_, _, Some(network), Some(version)) => format!("overlays/{}/{}", network.value, version.value),
        _ => "standards/nothing/named".to_owned(), // the reader refuses it before
    };
    let name = path.file_stem().map_or_else(|| "attestation".into(), |stem| stem.to_string_lossy());
    format!("attestations/{profile}/{name}")
}

/// The whole key of a profile at hand: `overlays/quillbrook/3.0.0` of `quillbrook/3.0.0`.
pub fn known_key(word: &str, assessor: &Assessor) -> Result<String, Fault> {
    let wanted = word.trim_start_matches("shipped:").trim_end_matches(".yaml");
    let keys = || assessor.library.profiles().map(|profile| profile.path.trim_end_matches(".yaml"));
    let found = keys().find(|key| *key == wanted || key.split_once('/').is_some_and(|(_, rest)| rest == wanted));
    found.map(str::to_owned).ok_or_else(|| unknown(word, assessor))
}

/// The key of a standard or of a version of a network, named or in a file: of what states figures.
pub fn with_figures(word: &str, assessor: &mut Assessor) -> Result<String, Fault> {
    let key = add_file(word, assessor)?.map_or_else(|| known_key(word, assessor), Ok)?;
    match key.split_once('/') {
        Some(("standards" | "overlays", _)) => Ok(key),
        _ => Err(Fault::Words(format!("`{word}` asks nothing itself; name a standard or a version of a network"))),
    }
}

/// `quillbrook/3.0.0`, `as-nzs-4777.2/2020-amd2`, either with a region behind.
fn requirements(word: &str, assessor: &mut Assessor) -> Result<RequirementsOperand, Fault> {
    let key = word.trim_start_matches("shipped:").trim_end_matches(".yaml");
    let key = key.strip_prefix("standards/").or(key.strip_prefix("overlays/")).unwrap_or(key);
    let mut parts = key.splitn(3, '/');
    let (Some(name), Some(edition), region) = (parts.next(), parts.next(), parts.next()) else { return Err(unknown(word, assessor)) };
    if let Ok(version) = semver::Version::parse(edition)
        && assessor.library.versions(name).contains(&version)
    {
        return of_network(name, &version, region, assessor);
    }
    match assessor.library.standards().contains(&format!("{name}/{edition}")) {
        true => of_standard(&format!("{name}/{edition}"), region, assessor),
        false => Err(unknown(word, assessor)),
    }
}

fn of_network(
    network: &str,
    version: &semver::Version,
    region: Option<&str>,
    assessor: &mut Assessor,
) -> Result<RequirementsOperand, Fault> {
    let overlay = assessor.library.overlay(network, version, &mut assessor.sources)?;
    let standard = assessor.library.standard_below(network, version, &mut assessor.sources)?;
    let mut regions = Vec::new();
    for (key, title) in regions_of(&standard, region, assessor)? {
        let rulebooks = assessor.library.rulebooks_of((network, version), &key, &mut assessor.sources);
        match rulebooks.and_then(|rulebooks| Books::usable(rulebooks, None)) {
            Ok(books) => regions.push((key, title, books)),
            // a region that the network does not take is left out, unless it was asked for
            Err(Refusal::Unknown { part: Part::Region, .. }) if region.is_none() => {}
            Err(refusal) => return Err(refusal.into()),
        }
    }
    let title = format!("{}, {} ({version})", overlay.file.title, overlay.file.issue.name);
    Ok(RequirementsOperand { title, overlay: Some(overlay), standard, is_of_one_region: region.is_some(), regions })
}

fn of_standard(standard: &str, region: Option<&str>, assessor: &mut Assessor) -> Result<RequirementsOperand, Fault> {
    let file = assessor.library.standard(standard, &mut assessor.sources)?;
    let mut regions = Vec::new();
    for (key, title) in regions_of(standard, region, assessor)? {
        let request = Request { standard: Some(standard), region: &key, ..Request::default() };
        let rulebooks = assessor.library.rulebooks(request, &settings_model::facts::Facts::default(), &mut assessor.sources)?;
        regions.push((key, title, Books::usable(rulebooks, None)?));
    }
    let title = match (region, &regions[..]) {
        (Some(_), [(_, region, _)]) => format!("{}, {region}", file.file.title),
        _ => file.file.title.clone(),
    };
    Ok(RequirementsOperand { title, overlay: None, standard: standard.to_owned(), is_of_one_region: region.is_some(), regions })
}

/// Key and name of each region of a standard, or of the one that is asked for.
fn regions_of(standard: &str, wanted: Option<&str>, assessor: &mut Assessor) -> Result<Vec<(String, String)>, Fault> {
    let file = assessor.library.standard(standard, &mut assessor.sources)?;
    let all: Vec<(String, String)> = file.file.regions.iter().map(|(key, region)| (key.to_owned(), region.title.clone())).collect();
    let keys = || all.iter().map(|(key, _)| key.as_str());
    let Some(wanted) = wanted else {
        // a standard of installation has none, and is one region of no name
        return Ok(if all.is_empty() { vec![(String::new(), "every site".to_owned())] } else { all });
    };
    if keys().any(|key| key == wanted) {
        return Ok(all.into_iter().filter(|(key, _)| key == wanted).collect());
    }
    let hint = nearest(wanted, keys())
        .map_or_else(|| format!("known: {}", keys().collect::<Vec<_>>().join(", ")), |meant| format!("did you mean `{meant}`?"));
    Err(Fault::Words(format!("{} has no region `{wanted}`; {hint}", file.file.title)))
}

fn unknown(word: &str, assessor: &Assessor) -> Fault {
    if assessor.library.scenarios().iter().any(|scenario| scenario == word) {
        return Fault::Words(format!("`{word}` is a scenario; the site or the standard that plays it comes first"));
    }
    let asks = |path: &&str| path.starts_with("standards/") || path.starts_with("overlays/");
    let known: Vec<String> = assessor.library.profiles().map(|profile| profile.path.as_str()).filter(asks).map(short).collect();
    let hint = match nearest(word, known.iter().map(String::as_str)) {
        Some(meant) => format!("did you mean `{meant}`?"),
        None => "`asleft list` names the profiles; a file is named by its path".to_owned(),
    };
    Fault::Words(format!("neither a file nor a profile: `{word}`; {hint}"))
}

/// `quillbrook/3.0.0` of `overlays/quillbrook/3.0.0.yaml`.
fn short(path: &str) -> String {
    path.split_once('/').map_or(path, |(_, rest)| rest).trim_end_matches(".yaml").to_owned()
}

/// `applied from 2026-07-01 and installed from 2026-10-01`.
pub fn conditions(of: &Conditions) -> String {
    let condition = |fact: &str, test: &str| match FactId::named(fact) {
        Some(FactId::Today) => format!("of any date, {test} on"),
        _ => format!("{fact} {test}"),
    };
    of.0.0.iter().map(|(fact, test)| condition(fact, test)).collect::<Vec<_>>().join(" and ")
}

/// Which older versions a version still accepts, and where.
pub fn older_accepted(file: &OverlayFile) -> Option<String> {
    let older = file.older_accepted.as_ref()?;
    Some(format!("versions {} where {}", older.version, conditions(&older.when)))
}
