//! Why a question stays open.

use settings_model::facts::FactId;
use std::fmt;

/// Why neither an example nor its absence could be shown. Shown to people as it displays.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Unproven {
    /// A demand is known to exist and its text has not been seen.
    NotSeen,
    /// One of two editions of a standard says nothing of it, and whether it asks for it was not looked up.
    NotCovered,
    /// Linked settings depend on two site facts that are both unknown.
    TwoUnknownFacts(FactId, FactId),
    /// The number of points of a curve depends on an unknown site fact.
    CountDependsOn(FactId),
    /// Lines around a response count in units that an unknown site fact converts.
    ResponseDependsOn(FactId),
    /// One demand is on the points of a curve, another on its response.
    PointsAndResponse,
    /// The claim puts a limit on its term that the term cannot have, such as words of a difference.
    NoMeaning,
    /// Numbers so large, or with so many digits, that exact arithmetic ran out of room.
    TooManyDigits,
    /// An example exists only where this site fact is no short decimal number, 230/3 for instance.
    NotWritable(FactId),
}

impl fmt::Display for Unproven {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::NotSeen => write!(f, "what is required of it is not in the profile"),
            Self::NotCovered => write!(f, "one of the two profiles does not cover it; look it up in the standard's own text"),
            Self::TwoUnknownFacts(a, b) => write!(f, "it depends on the {} and the {}, both unknown", a.row().title, b.row().title),
            Self::CountDependsOn(fact) => write!(f, "the number of points depends on the {}, which is unknown", fact.row().title),
            Self::ResponseDependsOn(fact) => write!(f, "where the curve has to lie depends on the {}, which is unknown", fact.row().title),
            Self::PointsAndResponse => write!(f, "one requirement is on the points of a curve, another on its response"),
            Self::NoMeaning => write!(f, "a limit of this kind has no meaning there"),
            Self::TooManyDigits => write!(f, "the numbers have too many digits to be compared exactly"),
            Self::NotWritable(fact) => write!(f, "it differs only where the {} is not a short decimal number", fact.row().title),
        }
    }
}
