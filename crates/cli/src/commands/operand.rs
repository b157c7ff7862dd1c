//! What a word on the command line names: a site with its devices, or requirements.

use super::refused;
use crate::Exit;
use crate::args::Filled;
use crate::files::filled;
use crate::walk::write_messages;
use rules::assess::Assessor;
use rules::operand::requirements;
pub use rules::operand::{Moment, Operand, OperandError, RequirementsOperand, SiteOperand, known_key, pairs};
use settings_model::document::parse;
use settings_model::facts::FactId;
use settings_model::files::{AttestationFile, Conditions, Kind, LabelMapFile, OverlayFile, SiteFile, StandardFile};
use settings_model::finding::Finding;
use settings_model::library::{Profile, misfiled};
use settings_model::reader;
use settings_model::source::Place;
use std::io;
use std::path::{Path, PathBuf};

/// Says on standard error why an operand could not be used.
pub fn write_fault(fault: OperandError, assessor: &Assessor) -> io::Result<Exit> {
    match fault {
        OperandError::Words(says) => refused(&says),
        OperandError::Findings(findings) => write_messages(&findings, &assessor.sources).map(|()| Exit::CouldNotTell),
    }
}

/// Reads what a word names: a file that is there, or a profile at hand.
pub fn operand(word: &str, assessor: &mut Assessor) -> Result<Operand, OperandError> {
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
        Some(Kind::Site) | None => {
            let source = assessor.sources.add(terminal::path(&path), text.as_str());
            let root = assessor.read_site(source, &text)?;
            reader::typed::<SiteFile<'_>>(&root)?;
            Ok(Operand::Site(SiteOperand { root, device, moment }))
        }
        Some(kind) => {
            let says = format!("`{word}` is of kind `{}`; name a site, a standard or a version of a network", kind.word());
            Err(OperandError::Words(says))
        }
    }
}

/// The same, of a site with what a sheet filled by hand says of its devices, where one is named.
pub fn operand_with(word: &str, filled: &Filled, assessor: &mut Assessor) -> Result<Operand, OperandError> {
    let mut operand = operand(word, assessor)?;
    if let Some(sheet) = filled::named(filled, &mut assessor.sources)?? {
        match &mut operand {
            Operand::Site(site) => site.root = sheet.laid_over(&site.root, assessor)?,
            Operand::Requirements(_) => {
                return Err(OperandError::Words("a filled sheet is laid over a site; name its file first".to_owned()));
            }
        }
    }
    Ok(operand)
}

/// Puts a profile's file among the profiles at hand; its key, or `None` where the word names no file.
pub fn add_file(word: &str, assessor: &mut Assessor) -> Result<Option<String>, OperandError> {
    let path = Path::new(word);
    if !path.is_file() {
        return Ok(None);
    }
    let text = crate::files::text(path)?;
    // a file that does not say what it is is read as what most are, and told what it lacks
    let kind = kind_of(path, &text, assessor).unwrap_or(Kind::Overlay);
    if kind.folder().is_none() {
        let says = format!("`{word}` is of kind `{}`; name a standard, an overlay, a label map, a scenario or an attestation", kind.word());
        return Err(OperandError::Words(says));
    }
    add_profile(kind, path, text, assessor).map(Some)
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
pub fn requirements_of(word: &str, assessor: &mut Assessor) -> Result<RequirementsOperand, OperandError> {
    match operand(word, assessor)? {
        Operand::Requirements(requirements) => Ok(requirements),
        Operand::Site(_) => {
            Err(OperandError::Words(format!("`{word}` is a site; name a version of requirements, such as `quillbrook/2.0.0`")))
        }
    }
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
fn add_profile(kind: Kind, path: &Path, text: String, assessor: &mut Assessor) -> Result<String, OperandError> {
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
        Kind::Overlay => {
            let file: OverlayFile = reader::typed(&root)?;
            let version = file.version.value.to_string();
            filed(path, "overlays", [("network", &file.network.value, file.network.place), ("version", &version, file.version.place)])?;
            format!("overlays/{}/{version}", file.network.value)
        }
        other => return Err(OperandError::Words(format!("a file of kind `{}` is no profile", other.word()))),
    };
    let (path, name) = (format!("{key}.yaml"), terminal::path(path));
    assessor.library.add(Profile { path, name, text: text.into(), shipped: false });
    Ok(key)
}

/// A file that lies where profiles are kept, `<kind>/<folder>/<name>.yaml`, has to lie where its words say that it belongs; a
/// draft may lie anywhere else, but where its name is a version, that is its own.
fn filed(path: &Path, kind: &str, [folder, name]: [(&str, &str, Place); 2]) -> Result<(), OperandError> {
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

/// The key of a standard or of a version of a network, named or in a file: of what states figures.
pub fn with_figures(word: &str, assessor: &mut Assessor) -> Result<String, OperandError> {
    let key = add_file(word, assessor)?.map_or_else(|| known_key(word, assessor), Ok)?;
    match key.split_once('/') {
        Some(("standards" | "overlays", _)) => Ok(key),
        _ => Err(OperandError::Words(format!("`{word}` asks nothing itself; name a standard or a version of a network"))),
    }
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
