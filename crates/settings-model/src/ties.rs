//! What ties settings to one another, whatever a file says: claims of the catalogue's own.
//!
//! All are linear, so they take part in implied ranges, contradictions and witnesses.

use crate::catalogue::{Equipment, FUNCTIONS, SettingId, Shape};
use crate::claim::{Bound, Claim, Limit, Part, Term, Var, WhyId};
use crate::exact::Exact;
use crate::facts::FactId;
use crate::quantity::{Amount, Dimension};

/// A rule that ties settings.
pub struct Tie {
    /// Its name in findings.
    pub name: &'static str,
    /// What it says, in one sentence.
    pub sentence: &'static str,
    /// Where it comes from.
    pub source: &'static str,
    /// What it claims.
    links: &'static [Link],
}

/// One inequality.
enum Link {
    /// In every function that has both settings, the first is at most the second.
    InOrder(&'static str, &'static str),
    /// The first is below the second.
    Below(&'static str, &'static str),
    /// A curve starts below the second.
    StartsBelow(&'static str, &'static str),
    /// A setting is at most a site fact.
    AtMostFact(&'static str, FactId),
}

const PRACTICE: &str = "common practice, no source";

/// Every tie.
pub const TIES: &[Tie] = &[
    Tie {
        name: "times-out-of-order",
        sentence: "a stage's delay ends before it gives its trip command, and it gives that before the device is disconnected",
        source: "follows from the meanings of the times",
        links: &[
            Link::InOrder("definite-delay", "operate-time"),
            Link::InOrder("operate-time", "disconnection"),
            Link::InOrder("definite-delay", "disconnection"),
        ],
    },
    Tie {
        name: "stages-out-of-order",
        sentence: "the faster stage lies farther from the nominal voltage",
        source: PRACTICE,
        links: &[
            Link::Below("overvoltage-1/threshold", "overvoltage-2/threshold"),
            Link::Below("undervoltage-2/threshold", "undervoltage-1/threshold"),
        ],
    },
    Tie {
        name: "volt-watt-starts-after-trip",
        sentence: "volt-watt starts below the sustained-overvoltage limit, or the device trips before it has answered; its end may lie above",
        source: PRACTICE,
        links: &[Link::StartsBelow("volt-watt/points", "sustained-overvoltage/threshold")],
    },
    Tie {
        name: "frequency-response-starts-after-trip",
        sentence: "the answer to high frequency starts below the overfrequency trip",
        source: PRACTICE,
        links: &[Link::Below("over-frequency-response/start", "overfrequency-1/threshold")],
    },
    Tie {
        name: "reconnection-outside-trips",
        sentence: "the windows for connecting lie inside the trips of the same measurement, or the device connects only to trip",
        source: PRACTICE,
        links: &[
            Link::Below("reconnection/upper-voltage", "overvoltage-1/threshold"),
            Link::Below("undervoltage-1/threshold", "reconnection/lower-voltage"),
            Link::Below("reconnection/upper-frequency", "overfrequency-1/threshold"),
            Link::Below("underfrequency-1/threshold", "reconnection/lower-frequency"),
        ],
    },
    Tie {
        name: "export-above-approval",
        sentence: "the export limit is not above what the network operator approved",
        source: "the approval itself",
        links: &[Link::AtMostFact("export-limit/site-total", FactId::ApprovedExport)],
    },
];

/// What holds of equipment before anybody asks: no quantity of the catalogue lies below zero, and a
/// power factor lies above zero and at most at one. Without it a search for examples finds impossible
/// ones.
#[must_use]
pub fn space(kind: Equipment, why: WhyId) -> Vec<Claim> {
    let bound = |number: Exact, open: bool| Bound { value: Amount::plain(number), open };
    let limits = |dimension: Dimension| match dimension {
        Dimension::PowerFactor => vec![Limit::AtLeast(bound(Exact::ZERO, true)), Limit::AtMost(bound(Exact::ONE, false))],
        _ => vec![Limit::AtLeast(bound(Exact::ZERO, false))],
    };
    let held = SettingId::all().filter(|id| id.function().held_by.contains(&kind));
    let quantities = held.filter_map(|id| match id.parameter().shape {
        Shape::Quantity(dimension) => Some((id, dimension)),
        _ => None,
    });
    let claims = quantities.flat_map(|(id, dimension)| limits(dimension).into_iter().map(move |limit| (id, limit)));
    claims.map(|(id, limit)| Claim { on: Term::Var(id.into()), limit, why }).collect()
}

impl Tie {
    /// Its claims, each resting on `why`.
    ///
    /// # Panics
    /// When the table names a setting that the catalogue lacks; a test builds every tie.
    pub fn claims(&self, why: WhyId) -> Vec<Claim> {
        self.links.iter().flat_map(|link| link.claims(why)).collect()
    }
}

impl Link {
    fn claims(&self, why: WhyId) -> Vec<Claim> {
        let var = |name: &str| Var::from(SettingId::named(name).expect("ties name settings of the catalogue"));
        let at_most = |on: Term, value: Amount, open: bool| Claim { on, limit: Limit::AtMost(Bound { value, open }), why };
        let zero = Amount::plain(Exact::ZERO);
        match self {
            Self::InOrder(first, second) => {
                let pairs = FUNCTIONS.iter().filter_map(|f| Some((SettingId::find(f.key, first)?, SettingId::find(f.key, second)?)));
                pairs.map(|(x, y)| at_most(Term::Gap(x.into(), y.into()), zero, false)).collect()
            }
            Self::Below(x, y) => vec![at_most(Term::Gap(var(x), var(y)), zero, true)],
            Self::StartsBelow(x, y) => vec![at_most(Term::Gap(Var { part: Part::X(0), ..var(x) }, var(y)), zero, true)],
            Self::AtMostFact(x, fact) => vec![at_most(Term::Var(var(x)), Amount::times(Exact::ONE, *fact), false)],
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_tie_names_settings_of_one_dimension() {
        for tie in TIES {
            for claim in tie.claims(WhyId(0)) {
                let shapes: Vec<_> = claim.on.vars().map(|var| var.setting.parameter().shape).collect();
                let dimension = |shape: &_| match shape {
                    crate::catalogue::Shape::Quantity(d) => *d,
                    crate::catalogue::Shape::Curve { x, .. } => *x,
                    other => panic!("{}: {other:?}", tie.name),
                };
                assert!(shapes.windows(2).all(|pair| dimension(&pair[0]) == dimension(&pair[1])), "{}", tie.name);
            }
        }
    }
}
