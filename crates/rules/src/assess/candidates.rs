//! Every region, edition and overlay version at hand that values may be from.

use super::Assessor;
use crate::candidate::Candidate;
use settings_model::facts::Facts;
use settings_model::library::Request;

/// Every region of every standard at hand, and every overlay version on each region of its own.
pub fn candidates(assessor: &mut Assessor) -> Vec<Candidate> {
    let mut candidates = Vec::new();
    for standard in assessor.library.standards() {
        candidates.extend(regions_of(&standard, assessor));
    }
    for network in assessor.library.networks() {
        for version in assessor.library.versions(&network) {
            let Ok(regions) = assessor.library.regions_below(&network, &version, &mut assessor.sources) else { continue };
            for region in regions {
                candidates.extend(of_version(&network, &version, &region, assessor));
            }
        }
    }
    candidates
}

/// Every region of a standard and edition.
pub(crate) fn regions_of(standard: &str, assessor: &mut Assessor) -> Vec<Candidate> {
    let mut candidates = Vec::new();
    for region in region_keys(standard, assessor) {
        let request = Request { standard: Some(standard), region: &region, ..Request::default() };
        if let Ok(books) = assessor.books(request, &Facts::default()) {
            candidates.push(Candidate::new(books, None));
        }
    }
    candidates
}

/// One version of a network, in one region.
pub(crate) fn of_version(network: &str, version: &semver::Version, region: &str, assessor: &mut Assessor) -> Option<Candidate> {
    let books = assessor.books_of(network, version, region)?;
    Some(Candidate::new(books, Some((network.to_owned(), version.clone()))))
}

fn region_keys(standard: &str, assessor: &mut Assessor) -> Vec<String> {
    let Ok(standard) = assessor.library.standard(standard, &mut assessor.sources) else { return Vec::new() };
    standard.file.regions.iter().map(|(key, _)| key.to_owned()).collect()
}
