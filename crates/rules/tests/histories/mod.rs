//! Every shipped history: each pair of versions of a network and of editions of a standard, for each region
//! that both have.
#![allow(dead_code, reason = "each test file uses its own part")]

use rules::assess::Books;
use rules::example_site::Under;
use settings_model::library::Library;
use settings_model::source::Sources;
use std::collections::BTreeMap;

/// From one version to another, in one region.
pub struct Move {
    /// `None` for editions of a standard.
    pub network: Option<String>,
    /// The versions; of a standard its keys.
    pub versions: [String; 2],
    /// The standard below the older version.
    pub standard: String,
    pub region: String,
    pub old: Books,
    pub new: Books,
}

impl Move {
    pub fn under(&self) -> Under<'_> {
        Under { network: self.network.as_deref(), standard: &self.standard, region: &self.region }
    }

    pub fn title(&self) -> String {
        let [older, newer] = &self.versions;
        format!("{} {older} to {newer}, {}", self.network.as_deref().unwrap_or_default(), self.region)
    }
}

/// Each, with all that come after it.
fn pairs<T: Clone>(all: &[T]) -> impl Iterator<Item = [T; 2]> {
    all.iter().enumerate().flat_map(|(n, one)| all[n + 1..].iter().map(|other| [one.clone(), other.clone()]))
}

/// Of every network.
pub fn of_networks(library: &mut Library, sources: &mut Sources) -> Vec<Move> {
    let mut moves = Vec::new();
    for network in library.networks() {
        for [older, newer] in pairs(&library.versions(&network)) {
            let standard = library.standard_below(&network, &older, sources).unwrap();
            for region in library.regions_below(&network, &older, sources).unwrap() {
                let mut books = |version| library.rulebooks_of((&network, version), &region, sources);
                let (Ok(old), Ok(new)) = (books(&older), books(&newer)) else { continue };
                moves.push(Move {
                    network: Some(network.clone()),
                    versions: [older.to_string(), newer.to_string()],
                    standard: standard.clone(),
                    region,
                    old: Books::of(old),
                    new: Books::of(new),
                });
            }
        }
    }
    moves
}

/// Of every standard; those of installation have no regions.
pub fn of_standards(library: &mut Library, sources: &mut Sources) -> Vec<Move> {
    let mut editions: BTreeMap<String, Vec<String>> = BTreeMap::new();
    for key in library.standards() {
        let (name, _) = key.split_once('/').unwrap();
        editions.entry(name.to_owned()).or_default().push(key);
    }
    let mut moves = Vec::new();
    for [older, newer] in editions.values().flat_map(|keys| pairs(keys)) {
        let mut of = |key: &str| library.rulebooks_in_every_region(key, sources).unwrap();
        let (old, new) = (of(&older), of(&newer));
        for old in old {
            let region = old[0].region.clone();
            let Some(new) = new.iter().find(|new| new[0].region == region) else { continue };
            let (old, new) = (Books::of(old), Books::of(new.clone()));
            moves.push(Move { network: None, versions: [older.clone(), newer.clone()], standard: older.clone(), region, old, new });
        }
    }
    moves
}
