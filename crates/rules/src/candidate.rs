//! A set of requirements that a device's values may be from, and how like it they are.

use crate::book::{Book, Books};
use crate::judge::{DeviceSettings, UnmetKind, judge_entry};
use crate::provenance::{Figures, standing};
use settings_model::catalogue::{Equipment, SettingId};
use settings_model::entry::Entry;
use settings_model::facts::Facts;
use settings_model::settings::Settings;
use std::rc::Rc;

/// A set of requirements that values may be from.
#[derive(Clone, Debug)]
pub struct Candidate {
    /// Its name in print: `AS/NZS 4777.2:2020 Amd 2, Australia A`, or a network's issue on it.
    pub title: String,
    /// The base standard and edition: `as-nzs-4777.2/2020-amd2`.
    pub standard: String,
    /// Its region, as files name it.
    pub region: String,
    /// The network and version, where it is an overlay.
    pub overlay: Option<(String, semver::Version)>,
    books: Rc<Books>,
}

/// How a device's values compare with a candidate.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Likeness {
    /// The candidate's position.
    pub candidate: usize,
    /// Stated settings that it asks for, and that are so.
    pub agree: Vec<SettingId>,
    /// Stated settings that it asks for otherwise.
    pub differ: Vec<SettingId>,
    /// How the figures are known that they were compared with.
    pub figures: Figures,
}

impl Candidate {
    pub(crate) fn new(books: Rc<Books>, overlay: Option<(String, semver::Version)>) -> Self {
        let rulebook = &books.on(Equipment::Inverter).rulebook;
        let layers = rulebook.layers.iter().filter(|layer| layer.kind.is_of_a_network() || layer.kind.is_base());
        let titles: Vec<&str> = layers.rev().map(|layer| layer.title.as_str()).collect();
        Self { title: titles.join(" on "), standard: rulebook.base_key(), region: rulebook.region.clone(), overlay, books }
    }

    /// What it says, one book for each kind of equipment.
    pub(crate) fn books(&self) -> &Books {
        &self.books
    }

    /// What it says of a kind of equipment.
    #[must_use]
    pub fn book(&self, kind: Equipment) -> &Rc<Book> {
        self.books.on(kind)
    }

    /// The settings of a device that this candidate asks for, judged by it.
    #[must_use]
    pub fn likeness(&self, position: usize, kind: Equipment, settings: &Settings, facts: &Facts) -> Likeness {
        let book: &Book = self.books.on(kind);
        let counted = book.requirement(facts, &[]);
        let held = DeviceSettings { settings, evidence: None, region_stands: false, asked: &counted.requirement };
        let mut likeness = Likeness { candidate: position, agree: Vec::new(), differ: Vec::new(), figures: Figures::default() };
        let mut known = Vec::new();
        // a value within a range that is left to the network operator tells nothing
        let (mut left_open, tells) = (0, |entry: &Entry| !entry.demands_nothing() && !entry.is_gap());
        for resolved in counted.requirement.entries.iter().filter(|r| tells(&r.entry)) {
            let setting = resolved.entry.setting;
            if settings.get(setting).is_none() {
                continue;
            }
            if resolved.entry.is_left_open() {
                left_open += 1;
                continue;
            }
            let mut faults = Vec::new();
            judge_entry(resolved, held, facts, &mut faults);
            let differs = faults.iter().any(|fault| fault.kind == UnmetKind::Fails);
            if differs { &mut likeness.differ } else { &mut likeness.agree }.push(setting);
            known.extend(standing(&resolved.entry, &book.rulebook));
        }
        likeness.figures = known.into_iter().collect();
        // nor does a candidate that leaves more of the values open than it asks for
        if left_open > likeness.agree.len() {
            likeness.agree.clear();
        }
        likeness
    }
}

/// The candidates that a device's values are most like, best first: the fewest that differ, then the
/// most that agree.
#[must_use]
pub fn ranked(candidates: &[Candidate], kind: Equipment, settings: &Settings, facts: &Facts) -> Vec<Likeness> {
    let all = candidates.iter().enumerate().map(|(n, candidate)| candidate.likeness(n, kind, settings, facts));
    let mut ranked: Vec<Likeness> = all.filter(|likeness| !likeness.agree.is_empty()).collect();
    ranked.sort_by_key(|likeness| (likeness.differ.len(), std::cmp::Reverse(likeness.agree.len())));
    ranked
}
