//! Each reading, held against the figure that it is a reading of.

use super::figures::{Figure, same_sites};
use super::said::{ReadValue, Says, Verb};
use crate::catalogue::{Equipment, SettingId};
use crate::exact::Exact;
use crate::files::{AttestationFile, Conditions, Confirmed, Reading};
use crate::located::At;
use crate::source::Place;

/// What a reading comes to.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Outcome {
    /// The copy says another value: the profile is suspect.
    Disagrees,
    /// No value is written there yet.
    NotYetRead,
    /// The copy says what the profile says.
    Agrees,
}

/// One figure as an attestation speaks of it.
#[derive(Clone, Debug)]
pub struct Comparison<'a> {
    /// The figure, by its position among those of the profile.
    pub figure: usize,
    /// The regions of it that the reading is for; none in a profile without regions.
    pub regions: Vec<&'a str>,
    /// What was read; `None` where nothing was yet.
    pub read: Option<ReadValue<'a>>,
    /// In which clause.
    pub clause: Option<&'a str>,
    /// Where the attestation speaks of it.
    pub place: Place,
    /// What it comes to.
    pub outcome: Outcome,
}

/// What an attestation says of one setting, for some sites.
pub(super) struct Entry<'a> {
    pub(super) kind: Equipment,
    pub(super) setting: SettingId,
    pub(super) regions: &'a [At<String>],
    pub(super) when: Option<&'a Conditions>,
    pub(super) clause: Option<&'a str>,
    pub(super) reading: &'a Reading,
    pub(super) place: Place,
}

impl Entry<'_> {
    /// Whether it speaks of a figure, in one of its regions at least.
    pub(super) fn is_of(&self, figure: &Figure<'_>) -> bool {
        let is_same = self.kind == figure.kind && self.setting == figure.setting && same_sites(self.when, figure.when);
        is_same && (self.regions.is_empty() || self.regions.iter().any(|region| figure.regions.contains(&region.as_str())))
    }
}

/// Everything that an attestation speaks of.
pub(super) fn entries(file: &AttestationFile) -> Vec<Entry<'_>> {
    let mut entries = Vec::new();
    for confirmed in &file.confirmed {
        for kind in Equipment::ALL {
            for (function, readings) in &confirmed.on(kind).0.0 {
                for (parameter, reading) in &readings.0 {
                    let Some(setting) = SettingId::find(function, parameter) else { continue };
                    add(&mut entries, confirmed, kind, setting, (parameter.place, reading));
                }
            }
        }
    }
    entries
}

fn add<'a>(
    entries: &mut Vec<Entry<'a>>,
    confirmed: &'a Confirmed,
    kind: Equipment,
    setting: SettingId,
    (key, reading): (Place, &'a At<Reading>),
) {
    let above = reading.clause.as_ref().or(confirmed.clause.as_ref());
    let mut one = |reading: &'a Reading, place| {
        let clause = reading.clause.as_ref().or(above).map(|clause| clause.value.as_str());
        entries.push(Entry { kind, setting, regions: &confirmed.regions, when: reading.when.as_ref(), clause, reading, place });
    };
    match &reading.cases {
        Some(cases) => cases.iter().for_each(|case| one(&case.value, case.place)),
        None => one(&reading.value, key),
    }
}

/// Every figure that an attestation speaks of, held against what was read.
#[must_use]
pub fn compare<'a>(figures: &[Figure<'a>], file: &'a AttestationFile, nominal: Option<Exact>) -> Vec<Comparison<'a>> {
    let mut comparisons = Vec::new();
    for entry in entries(file) {
        for (position, figure) in figures.iter().enumerate().filter(|(_, figure)| entry.is_of(figure)) {
            let named = |region: &&&str| entry.regions.is_empty() || entry.regions.iter().any(|named| named.as_str() == **region);
            let read = entry.reading.said(figure.verb);
            comparisons.push(Comparison {
                figure: position,
                regions: figure.regions.iter().filter(named).copied().collect(),
                read,
                clause: entry.clause,
                place: read.map_or(entry.place, ReadValue::place),
                outcome: match read {
                    None => Outcome::NotYetRead,
                    Some(read) if read.agrees(figure.said, figure.setting, figure.verb, nominal) => Outcome::Agrees,
                    Some(_) => Outcome::Disagrees,
                },
            });
        }
    }
    left_empty(comparisons)
}

/// A value that one entry leaves empty is not yet read only where no other entry has it.
fn left_empty(mut comparisons: Vec<Comparison<'_>>) -> Vec<Comparison<'_>> {
    for n in 0..comparisons.len() {
        let one = &comparisons[n];
        if one.outcome != Outcome::NotYetRead {
            continue;
        }
        let others = comparisons.iter().enumerate().filter(|(m, other)| other.figure == one.figure && (other.read.is_some() || *m < n));
        let others: Vec<&Comparison<'_>> = others.map(|(_, other)| other).collect();
        let is_elsewhere = |region: &&str| others.iter().any(|other| other.regions.contains(region));
        let left: Vec<&str> = one.regions.iter().filter(|region| !is_elsewhere(region)).copied().collect();
        let is_spoken_of = if one.regions.is_empty() { !others.is_empty() } else { left.is_empty() };
        comparisons[n].regions = left;
        if is_spoken_of {
            comparisons[n].outcome = Outcome::Agrees; // by what another entry has, or is told by an earlier one
        }
    }
    comparisons.retain(|comparison| comparison.read.is_some() || comparison.outcome == Outcome::NotYetRead);
    comparisons
}

/// The words under which an entry has a value.
pub(super) fn verbs_read<'a>(entry: &'a Entry<'_>) -> impl Iterator<Item = (Verb, ReadValue<'a>)> {
    Verb::ALL.into_iter().filter_map(|verb| Some((verb, entry.reading.said(verb)?)))
}
