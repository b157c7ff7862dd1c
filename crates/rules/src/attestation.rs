//! Readings that contradict the figures a site is asked, or a profile states; and the figures that
//! still rest on memory.

mod open;

pub use open::{ListedFigure, Use, Which, figures_of, lines_at, listed_figures};

use crate::assess::{Assessment, Assessor};
use crate::provenance::Standing;
use settings_model::attested::{Attestation, Comparison, Figure, Outcome, Read, compare, figures};
use settings_model::finding::{self, Finding};
use settings_model::library::{Attested, Refusal};
use settings_model::source::Place;
use std::sync::Arc;

/// One finding for each reading that contradicts a figure that a site is asked: by such a figure nothing is
/// proven. Where only the range is contradicted in which a value may be moved, it is a remark.
#[must_use]
pub fn disputes(assessment: &Assessment<'_>) -> Vec<Finding> {
    let mut found: Vec<(Place, Finding)> = Vec::new();
    for device in &assessment.devices {
        for resolved in &device.counted.requirement.entries {
            let entry = &resolved.entry;
            let decides = entry.comply.iter().map(|claim| (claim, finding::Outcome::NotProven));
            let leaves = entry.adjustable.iter().map(|claim| (claim, finding::Outcome::Remark));
            for (claim, outcome) in decides.chain(leaves) {
                let line = device.book.rulebook.why(claim.why);
                let Some((read, layer)) = line.and_then(|(why, layer)| Some((why.disputed()?, layer))) else { continue };
                if found.iter().all(|(place, _)| *place != read.place) {
                    found.push((read.place, contradiction(read, &entry.setting.title(), &layer.title, outcome)));
                }
            }
        }
    }
    found.sort_by_key(|(place, _)| *place);
    found.into_iter().map(|(_, finding)| finding).collect()
}

/// A licensed copy says one thing, the profile another.
fn contradiction(read: &Arc<Read>, setting: &str, title: &str, outcome: finding::Outcome) -> Finding {
    let Read { by, clause, .. } = &**read;
    let word = if read.verb.asks() { String::new() } else { format!(" ({})", read.verb.word()) };
    let (value, shipped) = apart(&read.value, &read.shipped);
    let headline = format!("{setting}{word}: the licensed copy says {value}, the profile {shipped}");
    let finding = Finding::new(outcome, "attestation-disagrees", read.place, headline)
        .label("read in the copy")
        .because(read.stated, format!("{title} has it so"))
        .note(format!("read by {} of {} on {} in {} ({}), {clause}", by.read_by, by.office, by.read_on, by.document, by.amendments))
        .note("nothing is proven by a figure that a licensed copy contradicts");
    finding.hint("read the copy again; if it does say so, use no figure of this line until the profile is corrected")
}

/// Where two values lie apart: of curves of as many points, the points that differ.
fn apart(one: &str, other: &str) -> (String, String) {
    let (points, others): (Vec<&str>, Vec<&str>) = (one.split(", ").collect(), other.split(", ").collect());
    if points.len() != others.len() {
        return (one.to_owned(), other.to_owned());
    }
    let differ = || points.iter().zip(&others).filter(|(point, other)| point != other);
    let joined = |of: Vec<&str>| of.join(", ");
    (joined(differ().map(|(point, _)| *point).collect()), joined(differ().map(|(_, other)| *other).collect()))
}

/// One attestation against its profile.
pub struct Checked {
    /// The profile and all that offices read of it.
    pub attested: Attested,
    /// The attestation, by its position among those.
    pub position: usize,
}

/// How many figures of a profile an attestation speaks of, and how.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Counts {
    /// The copy says the same.
    pub agree: usize,
    /// The copy says something else.
    pub disagree: usize,
    /// Left empty.
    pub not_yet_read: usize,
    /// Figures of the profile, unverified by themselves, of which it does not speak at all.
    pub not_listed: usize,
}

impl Checked {
    /// The attestation at a path of the library, with its profile.
    ///
    /// # Errors
    /// Every fault of either.
    pub fn of(path: &str, assessor: &mut Assessor) -> Result<Self, Refusal> {
        let name = assessor.library.profiles().find(|profile| profile.path == path).map(|profile| profile.name.clone());
        let attested = assessor.library.attested(path, &mut assessor.sources)?;
        let named = |attestation: &Attestation| assessor.sources.get(attestation.source).map(|source| &source.name) == name.as_ref();
        let position = attested.attestations.iter().position(|attestation| named(attestation)).unwrap_or_default();
        Ok(Self { attested, position })
    }

    /// What it says.
    #[must_use]
    pub fn attestation(&self) -> &Attestation {
        &self.attested.attestations[self.position]
    }

    /// The profile's figures.
    #[must_use]
    pub fn figures(&self) -> Vec<Figure<'_>> {
        figures(&*self.attested.profile)
    }

    /// Each figure that it speaks of, what contradicts the profile first.
    #[must_use]
    pub fn comparisons<'c>(&'c self, figures: &[Figure<'c>]) -> Vec<Comparison<'c>> {
        let mut comparisons = compare(figures, &self.attestation().file, self.attested.profile.nominal());
        comparisons.sort_by_key(|comparison| (comparison.outcome, comparison.place));
        comparisons
    }

    /// How many of each.
    #[must_use]
    pub fn counts(&self, figures: &[Figure<'_>], comparisons: &[Comparison<'_>]) -> Counts {
        let count = |outcome| comparisons.iter().filter(|comparison| comparison.outcome == outcome).count();
        let spoken_of = |position: usize| comparisons.iter().any(|comparison| comparison.figure == position);
        let unverified = |figure: &Figure<'_>| figure.source.is_none_or(|source| Standing::from(source.basis).is_unverified());
        Counts {
            agree: count(Outcome::Agrees),
            disagree: count(Outcome::Disagrees),
            not_yet_read: count(Outcome::NotYetRead),
            not_listed: figures.iter().enumerate().filter(|(n, figure)| unverified(figure) && !spoken_of(*n)).count(),
        }
    }

    /// What contradicts the profile, each at its line; and one remark on what is not yet read.
    #[must_use]
    pub fn findings(&self) -> Vec<Finding> {
        let figures = self.figures();
        let comparisons = self.comparisons(&figures);
        let mut findings: Vec<Finding> = Vec::new();
        for comparison in comparisons.iter().filter(|comparison| comparison.outcome == Outcome::Disagrees) {
            let figure = &figures[comparison.figure];
            let Some(read) = comparison.read else { continue };
            let read = Arc::new(Read {
                agrees: false,
                by: self.attestation().by.clone(),
                clause: comparison.clause.unwrap_or_default().to_owned(),
                place: read.place(),
                stated: figure.said.place(),
                verb: figure.verb,
                value: read.words(),
                shipped: figure.said.words(),
            });
            let title = match &comparison.regions[..] {
                [] => "the profile".to_owned(),
                regions => format!("the profile, in {},", regions.join(", ")),
            };
            findings.push(contradiction(&read, &figure.setting.title(), &title, finding::Outcome::NotProven));
        }
        let unread: Vec<&Comparison<'_>> = comparisons.iter().filter(|comparison| comparison.outcome == Outcome::NotYetRead).collect();
        if let Some(first) = unread.first() {
            let (count, values, stay) = if unread.len() == 1 { (1, "value is", "stays") } else { (unread.len(), "values are", "stay") };
            let headline = format!("{count} {values} not yet read, and {stay} unverified");
            let finding = Finding::new(finding::Outcome::Remark, "not-yet-read", first.place, headline);
            findings.push(finding.hint("`asleft attest check ATTESTATION` lists them; write each as the copy has it"));
        }
        findings
    }
}
