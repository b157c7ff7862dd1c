//! What a headline adds where a site complies and is still not plainly fine.

use super::{Assessment, NotJudged};
use crate::provenance::Verdict;

/// What keeps a site that complies from being plainly fine, besides figures that nobody verified.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Reservations {
    /// The references of exceptions that site-specific approvals stand by.
    pub exceptions: Vec<String>,
    /// How many values it states that no requirement judged.
    pub not_judged: usize,
}

impl Reservations {
    /// Those of a site.
    #[must_use]
    pub fn of(assessment: &Assessment<'_>) -> Self {
        let departures = assessment.devices.iter().flat_map(|device| &device.departures).filter(|departure| departure.is_excepted);
        let mut exceptions: Vec<String> =
            departures.filter_map(|departure| Some(departure.exception.as_ref()?.reference.clone())).collect();
        exceptions.sort_unstable();
        exceptions.dedup();
        Self { exceptions, not_judged: assessment.not_judged.iter().flat_map(NotJudged::paths).count() }
    }

    /// Whether there are none.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        *self == Self::default()
    }

    /// A headline; of what complies with what it may not leave out.
    #[must_use]
    pub fn add_to(&self, headline: &str, verdict: Verdict) -> String {
        if verdict != Verdict::Complies {
            return headline.to_owned();
        }
        let not_judged = match self.not_judged {
            0 => None,
            1 => Some("1 value not judged".to_owned()),
            count => Some(format!("{count} values not judged")),
        };
        let exceptions = (!self.exceptions.is_empty()).then(|| format!("by exception {}", self.exceptions.join(" and ")));
        std::iter::once(headline.to_owned()).chain(exceptions).chain(not_judged).collect::<Vec<_>>().join(", ")
    }
}
