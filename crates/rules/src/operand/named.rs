//! The profile that a word names among those at hand.

use super::{OperandError, RequirementsOperand};
use crate::assess::{Assessor, Books};
use settings_model::finding::nearest;
use settings_model::library::{Part, Refusal, Request};

/// The whole key of a profile at hand: `overlays/quillbrook/3.0.0` of `quillbrook/3.0.0`.
///
/// # Errors
/// Where no profile is of that name.
pub fn known_key(word: &str, assessor: &Assessor) -> Result<String, OperandError> {
    let wanted = word.trim_start_matches("shipped:").trim_end_matches(".yaml");
    let keys = || assessor.library.profiles().map(|profile| profile.path.trim_end_matches(".yaml"));
    let found = keys().find(|key| *key == wanted || key.split_once('/').is_some_and(|(_, rest)| rest == wanted));
    found.map(str::to_owned).ok_or_else(|| unknown(word, assessor))
}

/// `quillbrook/3.0.0`, `as-nzs-4777.2/2020-amd2`, either with a region behind.
///
/// # Errors
/// Where no profile is of that name, or it cannot be used.
pub fn requirements(word: &str, assessor: &mut Assessor) -> Result<RequirementsOperand, OperandError> {
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
) -> Result<RequirementsOperand, OperandError> {
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

fn of_standard(standard: &str, region: Option<&str>, assessor: &mut Assessor) -> Result<RequirementsOperand, OperandError> {
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
fn regions_of(standard: &str, wanted: Option<&str>, assessor: &mut Assessor) -> Result<Vec<(String, String)>, OperandError> {
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
    Err(OperandError::Words(format!("{} has no region `{wanted}`; {hint}", file.file.title)))
}

fn unknown(word: &str, assessor: &Assessor) -> OperandError {
    if assessor.library.scenarios().iter().any(|scenario| scenario == word) {
        return OperandError::Words(format!("`{word}` is a scenario; the site or the standard that plays it comes first"));
    }
    let asks = |path: &&str| path.starts_with("standards/") || path.starts_with("overlays/");
    let known: Vec<String> = assessor.library.profiles().map(|profile| profile.path.as_str()).filter(asks).map(short).collect();
    let hint = match nearest(word, known.iter().map(String::as_str)) {
        Some(meant) => format!("did you mean `{meant}`?"),
        None => "`asleft list` names the profiles; a file is named by its path".to_owned(),
    };
    OperandError::Words(format!("neither a file nor a profile: `{word}`; {hint}"))
}

/// `quillbrook/3.0.0` of `overlays/quillbrook/3.0.0.yaml`.
fn short(path: &str) -> String {
    path.split_once('/').map_or(path, |(_, rest)| rest).trim_end_matches(".yaml").to_owned()
}
