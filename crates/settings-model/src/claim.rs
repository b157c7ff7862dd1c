//! Claims: the atoms of every requirement.
//!
//! A requirement is a list of claims and never a region built from them, so that each answer can
//! name the line it came from. A [`Claim`] says that a [`Term`] keeps a [`Limit`], and who said so.

use crate::attested::Read;
use crate::catalogue::SettingId;
use crate::provenance::Standing;
use crate::quantity::Amount;
use crate::source::Place;
use crate::value::Point;
use schemars::JsonSchema;
use serde::Deserialize;
use std::sync::Arc;

/// Something that a device holds and a claim can bound.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub struct Var {
    /// Which setting.
    pub setting: SettingId,
    /// Which part of it.
    pub part: Part,
}

/// A part of a setting. Quantities and words have only a whole; curves have points.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub enum Part {
    /// The quantity or word itself.
    Whole,
    /// How many points a curve has.
    PointCount,
    /// The measured axis of the n-th point, from 0.
    X(u8),
    /// The following axis of the n-th point, from 0.
    Y(u8),
}

impl From<SettingId> for Var {
    fn from(setting: SettingId) -> Self {
        Self { setting, part: Part::Whole }
    }
}

/// What a claim is about.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub enum Term {
    /// One variable.
    Var(Var),
    /// The first less the second, both of one dimension.
    Gap(Var, Var),
}

impl Term {
    /// The variable that a finding about this term points at.
    #[must_use]
    pub fn subject(self) -> Var {
        match self {
            Self::Var(var) | Self::Gap(var, _) => var,
        }
    }

    /// Its variables.
    pub fn vars(self) -> impl Iterator<Item = Var> {
        let (first, second) = match self {
            Self::Var(var) => (var, None),
            Self::Gap(x, y) => (x, Some(y)),
        };
        std::iter::once(first).chain(second)
    }
}

/// An edge of what is allowed.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub struct Bound {
    /// Where it lies.
    pub value: Amount,
    /// Whether the edge itself is outside.
    pub open: bool,
}

impl Bound {
    /// An edge that belongs to what is allowed.
    #[must_use]
    pub fn closed(value: Amount) -> Self {
        Self { value, open: false }
    }

    /// An edge that does not.
    #[must_use]
    pub fn open(value: Amount) -> Self {
        Self { value, open: true }
    }
}

/// A set of indexes into a list of at most 32 words.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, Default)]
pub struct Words(u32);

impl Words {
    /// The set of one word.
    #[must_use]
    pub fn one(word: u8) -> Self {
        Self(1 << word)
    }
    /// The first `count` words.
    #[must_use]
    pub fn first(count: usize) -> Self {
        Self(if count >= 32 { u32::MAX } else { (1 << count) - 1 })
    }
    /// In either set.
    #[must_use]
    pub fn or(self, other: Self) -> Self {
        Self(self.0 | other.0)
    }
    /// In both sets.
    #[must_use]
    pub fn and(self, other: Self) -> Self {
        Self(self.0 & other.0)
    }
    /// In this set and not in the other.
    #[must_use]
    pub fn without(self, other: Self) -> Self {
        Self(self.0 & !other.0)
    }
    /// Whether the word is in the set.
    #[must_use]
    pub fn has(self, word: u8) -> bool {
        self.0 & (1 << word) != 0
    }
    /// Whether no word is in the set.
    #[must_use]
    pub fn is_empty(self) -> bool {
        self.0 == 0
    }
    /// The words, lowest first.
    pub fn iter(self) -> impl Iterator<Item = u8> {
        (0..32).filter(move |w| self.has(*w))
    }
    /// The only word of the set, if there is just one.
    #[must_use]
    pub fn only(self) -> Option<u8> {
        (self.0.count_ones() == 1).then(|| self.0.trailing_zeros() as u8)
    }
}

/// How a value is known. In the order of how much it proves.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
#[repr(u8)]
pub enum Evidence {
    /// Read from the device by a program.
    Read,
    /// Photographed.
    Photo,
    /// Typed in from the device's display.
    Display,
    /// Measured on site with a test instrument: shows what the device does, not what is entered.
    Test,
    /// Not looked at: the region selected on a certified device stands for it.
    Region,
    /// Stated by somebody, without saying how it is known.
    Statement,
}

impl Evidence {
    /// Every kind, strongest first; the index is the word used in [`Limit::Stated`].
    pub const ALL: [Self; 6] = [Self::Read, Self::Photo, Self::Display, Self::Test, Self::Region, Self::Statement];

    /// The words of every kind, in the same order.
    pub const WORDS: [&str; 6] = ["read", "photo", "display", "test", "region", "statement"];

    /// The word in files.
    #[must_use]
    pub fn word(self) -> &'static str {
        Self::WORDS[self as usize]
    }

    /// In print, of what may prove a value: `read-out, photo or display`.
    #[must_use]
    pub fn in_print(self) -> &'static str {
        match self {
            Self::Read => "read-out",
            other => other.word(),
        }
    }

    /// For people: `read from the device`.
    #[must_use]
    pub fn phrase(self) -> &'static str {
        match self {
            Self::Read => "read from the device",
            Self::Photo => "photographed",
            Self::Display => "taken from the display",
            Self::Test => "tested on site",
            Self::Region => "covered by the selected region",
            Self::Statement => "stated only",
        }
    }

    /// The kind of evidence with this word.
    #[must_use]
    pub fn named(word: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|e| e.word() == word)
    }
}

/// What a claim demands of its term.
#[derive(Clone, PartialEq, Eq, Hash, Debug)]
pub enum Limit {
    /// Not below.
    AtLeast(Bound),
    /// Not above.
    AtMost(Bound),
    /// One of these words.
    OneOf(Words),
    /// A response that nowhere lies below this line.
    Above(Line),
    /// A response that nowhere lies above this line.
    Below(Line),
    /// Known by one of these kinds of evidence ([`Evidence::ALL`]).
    Stated(Words),
    /// There is a demand, but the tool has not seen it: never a pass, never a fault.
    NotSeen,
    /// A layer that asks by cases has none for such a site: what it asks is not known, and nothing keeps it.
    NoCase,
}

/// A line that a curve is held against as a function: points ascending in x, flat beyond its ends.
pub type Line = Arc<[Point]>;

/// One demand, and who made it.
#[derive(Clone, PartialEq, Eq, Hash, Debug)]
pub struct Claim {
    /// About what.
    pub on: Term,
    /// What it demands.
    pub limit: Limit,
    /// Which line of which layer says so.
    pub why: ProvenanceId,
}

impl Claim {
    /// Whether it asks how a value is known, and not for the value.
    #[must_use]
    pub fn is_about_evidence(&self) -> bool {
        matches!(self.limit, Limit::Stated(_))
    }

    /// Its edge, if it bounds a number.
    #[must_use]
    pub fn bound(&self) -> Option<Bound> {
        match &self.limit {
            Limit::AtLeast(bound) | Limit::AtMost(bound) => Some(*bound),
            Limit::OneOf(_) | Limit::Above(_) | Limit::Below(_) | Limit::Stated(_) | Limit::NotSeen | Limit::NoCase => None,
        }
    }
}

/// Who said something; an index into [`Provenances`].
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub struct ProvenanceId(pub u32);

impl ProvenanceId {
    /// Stands for the line of a site-specific approval, which no shared arena holds.
    pub const SITE_APPROVAL: Self = Self(u32::MAX);
    /// Stands for what a site's file says of its export: `none`.
    pub const NO_EXPORT: Self = Self(u32::MAX - 1);
}

/// How sure a number is by what its profile says; see [`Standing`] for what offices read besides.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Basis {
    /// Two independent published sources, or the issuing body's own text.
    Published,
    /// Made up for teaching and testing.
    Invented,
    /// One published source.
    SingleSource,
    /// Recalled, not seen in any source.
    Memory,
}

impl From<Basis> for Standing {
    fn from(basis: Basis) -> Self {
        match basis {
            Basis::Published => Self::Published,
            Basis::Invented => Self::Invented,
            Basis::SingleSource => Self::SingleSource,
            Basis::Memory => Self::Memory,
        }
    }
}

/// Where a number was found.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Citation {
    /// The document.
    pub document: String,
    /// Clause or table, where known.
    pub clause: Option<String>,
    /// How sure it is.
    pub basis: Basis,
    /// Who published it, and where.
    pub found_in: Vec<String>,
    /// What another source says, where sources disagree, and which of the values was taken.
    pub conflict: Option<String>,
    /// What else a reader should know: the kind of source, drafts.
    pub note: Option<String>,
}

impl From<&crate::files::CitationText> for Citation {
    fn from(text: &crate::files::CitationText) -> Self {
        let crate::files::CitationText { document, clause, basis, found_in, conflict, note, .. } = text.clone();
        Self { document, clause, basis, found_in, conflict, note }
    }
}

impl Citation {
    /// All that is known of a figure besides its document: who published it too.
    #[must_use]
    pub fn known(&self) -> Vec<String> {
        let found = (!self.found_in.is_empty()).then(|| format!("found in: {}", self.found_in.join("; ")));
        found.into_iter().chain(self.remarks()).collect()
    }

    /// What else to know of a figure, for people who are handed it: no publisher's name.
    #[must_use]
    pub fn remarks(&self) -> Vec<String> {
        self.note.iter().cloned().chain(self.conflict.iter().map(|says| format!("conflict: {says}"))).collect()
    }
}

/// One layer of a requirement: a standard, an overlay, a site-specific approval, the catalogue.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub struct LayerId(pub u8);

/// What kind of layer.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum LayerKind {
    /// The base standard with its region.
    Standard,
    /// A standard of installation that holds besides.
    InstallationStandard,
    /// A network operator's own requirements.
    Overlay,
    /// A departure approved for one site.
    SiteApproval,
    /// What holds of every device, whatever a file says: the order of times, for example.
    Catalogue,
}

impl LayerKind {
    /// Whether it is a network operator's.
    #[must_use]
    pub fn is_of_a_network(self) -> bool {
        self == Self::Overlay
    }

    /// Whether it is the base standard.
    #[must_use]
    pub fn is_base(self) -> bool {
        self == Self::Standard
    }
}

/// A line that made claims.
#[derive(Clone, Debug)]
pub struct Provenance {
    /// In which layer.
    pub layer: LayerId,
    /// Where it is written; [`Place::NOWHERE`] for the catalogue.
    pub place: Place,
    /// Where its numbers come from.
    pub citation: Option<Arc<Citation>>,
    /// The reason given: by the layer's author, or the sentence of a catalogue rule.
    pub because: Option<Arc<str>>,
    /// What an office read of it in its licensed copy.
    pub read: Option<Arc<Read>>,
}

impl Provenance {
    /// The reading that contradicts the line.
    #[must_use]
    pub fn disputed(&self) -> Option<&Arc<Read>> {
        self.read.as_ref().filter(|read| !read.agrees)
    }

    /// How its numbers are known, with what an office read; `None` for the rules that no profile states.
    #[must_use]
    pub fn standing(&self) -> Option<Standing> {
        let citation = self.citation.as_ref()?;
        Some(match &self.read {
            Some(read) if read.agrees => Standing::Attested,
            Some(_) => Standing::Disputed,
            None => citation.basis.into(),
        })
    }

    /// Whether somebody should still compare its numbers with a licensed copy.
    #[must_use]
    pub fn is_unverified(&self) -> bool {
        self.standing().is_some_and(Standing::is_unverified)
    }
}

/// All the lines that made claims in one requirement.
#[derive(Clone, Debug, Default)]
pub struct Provenances(Vec<Provenance>);

impl Provenances {
    /// Keeps a line.
    ///
    /// # Panics
    /// Beyond four billion lines.
    pub fn add(&mut self, why: Provenance) -> ProvenanceId {
        self.0.push(why);
        ProvenanceId(u32::try_from(self.0.len() - 1).expect("fewer than 2^32 lines"))
    }

    /// The line; `None` for [`ProvenanceId::SITE_APPROVAL`] and [`ProvenanceId::NO_EXPORT`], which stand in the site's own file.
    #[must_use]
    pub fn get(&self, id: ProvenanceId) -> Option<&Provenance> {
        self.0.get(id.0 as usize)
    }
}
