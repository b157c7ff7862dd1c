//! Figures that an office read in its licensed copy, held against what the profile says.
//!
//! [`figures()`] lists every value of a profile with the regions in which it speaks; [`compare`] finds
//! the figure of each reading, and says whether the two are the same value; [`faults()`] are readings
//! of what the profile does not state. A reading counts for a figure only as long as the value in the
//! profile is the value that was read: who changes the one loses the other.

mod comparing;
mod faults;
mod figures;
mod said;

pub use comparing::{Comparison, Outcome, compare};
pub use faults::faults;
pub use figures::{Figure, Gap, Stating, figures, gaps};
pub use said::{ReadValue, Says, Verb};

use crate::files::{AttestationFile, LicensedCopy};
use crate::source::{Place, SourceId};
use jiff::civil::Date;
use std::collections::BTreeMap;
use std::rc::Rc;
use std::sync::Arc;

/// An attestation, and where it was read from.
#[derive(Debug)]
pub struct Attestation {
    /// Its text.
    pub source: SourceId,
    /// What it says.
    pub file: AttestationFile,
    /// Who answers for it.
    pub by: Arc<Reader>,
    /// Whether it was made by the day that is asked about; a later one changes nothing.
    pub counts: bool,
}

/// Who read something, when, and in what copy.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Reader {
    /// The office that answers for it.
    pub office: String,
    /// The role or name of the person.
    pub read_by: String,
    /// The day.
    pub read_on: Date,
    /// The document, and how the office holds it.
    pub document: String,
    /// The amendments that it includes, in its own words.
    pub amendments: String,
}

impl Reader {
    /// Whoever an attestation names.
    #[must_use]
    pub fn of(file: &AttestationFile) -> Self {
        let LicensedCopy { document, amendments } = &file.copy;
        let [office, read_by, document, amendments] = [&file.office, &file.read_by, document, amendments].map(Clone::clone);
        Self { office, read_by, read_on: file.read_on.value.0, document, amendments }
    }
}

/// What was read of one value.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Read {
    /// Whether it is the value of the profile.
    pub agrees: bool,
    /// By whom.
    pub by: Arc<Reader>,
    /// In which clause.
    pub clause: String,
    /// Where it is written, in the attestation.
    pub place: Place,
    /// Where the profile states it.
    pub stated: Place,
    /// The words of the profile that it was read under, such as `require`.
    pub verb: Verb,
    /// What was read, in words.
    pub value: String,
    /// What the profile says, in words.
    pub shipped: String,
}

/// What was read of the values of one profile in one region, by the place of the value.
pub type Reads = BTreeMap<Place, Arc<Read>>;

/// What attestations say of a profile's values in one region.
pub fn reads(file: &dyn Stating, attestations: &[Rc<Attestation>], region: &str) -> Reads {
    let mut reads = Reads::new();
    if attestations.is_empty() {
        return reads;
    }
    let figures = figures(file);
    for attestation in attestations.iter().filter(|attestation| attestation.counts) {
        for comparison in compare(&figures, &attestation.file, file.nominal()) {
            let figure = &figures[comparison.figure];
            let speaks = comparison.regions.is_empty() || comparison.regions.contains(&region);
            if let (true, Some(read)) = (speaks, read(&comparison, figure, &attestation.by)) {
                reads.entry(figure.said.place()).and_modify(|known| *known = stronger(known, &read)).or_insert(read);
            }
        }
    }
    reads
}

fn read(comparison: &Comparison<'_>, figure: &Figure<'_>, by: &Arc<Reader>) -> Option<Arc<Read>> {
    let read = comparison.read?;
    Some(Arc::new(Read {
        agrees: comparison.outcome == Outcome::Agrees,
        by: by.clone(),
        clause: comparison.clause.unwrap_or_default().to_owned(),
        place: read.place(),
        stated: figure.said.place(),
        verb: figure.verb,
        value: read.words(),
        shipped: figure.said.words(),
    }))
}

/// Of two readings the one that disagrees, or else the later.
fn stronger(one: &Arc<Read>, other: &Arc<Read>) -> Arc<Read> {
    let weight = |read: &Read| (!read.agrees, read.by.read_on);
    if weight(other) > weight(one) { other.clone() } else { one.clone() }
}

/// What was read of several values together: a disagreement where there is one; nothing while one of
/// them was not read.
#[must_use]
pub fn together(reads: &[Option<Arc<Read>>]) -> Option<Arc<Read>> {
    if let Some(disagrees) = reads.iter().flatten().find(|read| !read.agrees) {
        return Some(disagrees.clone());
    }
    let all: Vec<&Arc<Read>> = reads.iter().map(Option::as_ref).collect::<Option<_>>()?;
    // until the last of them not all was read
    all.into_iter().max_by_key(|read| read.by.read_on).cloned()
}
