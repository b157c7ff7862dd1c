//! What ties settings to one another, whatever a file says: claims of the catalogue's own.
//!
//! All are linear, so they take part in implied ranges, contradictions and witnesses.

use crate::catalogue::{Equipment, FUNCTIONS, SettingId, Shape};
use crate::claim::{Bound, Claim, Limit, Part, ProvenanceId, Term, Var};
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
    /// An example that breaks it, and one that just keeps it.
    pub example: Example,
    /// How the two stand where it breaks, as the middle of a sentence.
    pub relation: &'static str,
    /// What to do.
    pub to_do: &'static str,
    /// What it claims.
    links: &'static [Link],
}

/// How most ties break, and what then helps.
const WRONG_SIDE: &str = "on the wrong side of";
const CHOOSE_OTHERS: &str = "each complies alone; choose values that keep this rule too";

/// Two examples of a rule, as devices and their settings in the notation of site files.
#[derive(Clone, Copy, Debug)]
pub struct Example {
    /// Breaks the rule.
    pub failing: &'static str,
    /// Keeps it, only just.
    pub near_miss: &'static str,
    /// What the devices stand under.
    pub under: Under,
}

/// What the devices of an example stand under.
#[derive(Clone, Copy, Debug)]
pub struct Under {
    /// The standard and edition.
    pub standard: &'static str,
    /// Its region.
    pub region: &'static str,
    /// The nominal voltage.
    pub nominal: &'static str,
}

/// Most examples stand under the standard of the region that has the most rules.
pub const AUSTRALIA_A: Under = Under { standard: "as-nzs-4777.2/2020-amd2", region: "australia-a", nominal: "230 V line-neutral" };

/// For what needs a standard with a withstand region that was seen.
pub const CATEGORIES_B_AND_III: Under = Under { standard: "ieee-1547/2018-amd1", region: "b-iii", nominal: "120 V line-neutral" };

/// One inequality.
enum Link {
    /// In every function that has both settings, the first is at most the second.
    InOrder(&'static str, &'static str),
    /// The first is below the second.
    Below(&'static str, &'static str),
    /// The first is at most the second.
    AtMost(&'static str, &'static str),
    /// A curve starts below the second.
    StartsBelow(&'static str, &'static str),
    /// Both are the same.
    Equal(&'static str, &'static str),
    /// A setting is at most a site fact.
    AtMostFact(&'static str, FactId),
}

const PRACTICE: &str = "common practice, no source";

/// Every tie.
pub const TIES: &[Tie] = &[
    Tie {
        name: "times-out-of-order",
        sentence: "a stage's delay ends before it gives its trip command, it gives that before the device is disconnected, and none of the two comes after its clearing time",
        source: "follows from the meanings of the times",
        example: Example {
            failing: "inverter-1: { overvoltage-1: { threshold: 265 V, definite-delay: 1.9 s, disconnection: 1.8 s } }",
            near_miss: "inverter-1: { overvoltage-1: { threshold: 265 V, definite-delay: 1.8 s, disconnection: 1.8 s } }",
            under: AUSTRALIA_A,
        },
        relation: WRONG_SIDE,
        to_do: CHOOSE_OTHERS,
        links: &[
            Link::InOrder("definite-delay", "operate-time"),
            Link::InOrder("operate-time", "disconnection"),
            Link::InOrder("definite-delay", "disconnection"),
            Link::InOrder("definite-delay", "clearing-time"),
            Link::InOrder("operate-time", "clearing-time"),
        ],
    },
    Tie {
        name: "stages-out-of-order",
        sentence: "the faster stage lies farther from nominal",
        source: PRACTICE,
        example: Example {
            failing: "inverter-1: { overvoltage-1: { threshold: 275 V }, overvoltage-2: { threshold: 275 V } }",
            near_miss: "inverter-1: { overvoltage-1: { threshold: 274 V }, overvoltage-2: { threshold: 275 V } }",
            under: AUSTRALIA_A,
        },
        relation: WRONG_SIDE,
        to_do: CHOOSE_OTHERS,
        links: &[
            Link::Below("overvoltage-1/threshold", "overvoltage-2/threshold"),
            Link::Below("overvoltage-2/threshold", "overvoltage-3/threshold"),
            Link::Below("undervoltage-2/threshold", "undervoltage-1/threshold"),
            Link::Below("undervoltage-3/threshold", "undervoltage-2/threshold"),
            Link::Below("overfrequency-1/threshold", "overfrequency-2/threshold"),
            Link::Below("underfrequency-2/threshold", "underfrequency-1/threshold"),
        ],
    },
    Tie {
        name: "volt-watt-starts-after-trip",
        sentence: "volt-watt starts below the sustained-overvoltage limit, or the device trips before it has answered; its end may lie above",
        source: PRACTICE,
        example: Example {
            failing: "inverter-1: { sustained-overvoltage: { threshold: 253 V }, volt-watt: { state: enabled, points: [[253 V, 100 %], [260 V, 20 %]] } }",
            near_miss: "inverter-1: { sustained-overvoltage: { threshold: 253.5 V }, volt-watt: { state: enabled, points: [[253 V, 100 %], [260 V, 20 %]] } }",
            under: AUSTRALIA_A,
        },
        relation: WRONG_SIDE,
        to_do: CHOOSE_OTHERS,
        links: &[Link::StartsBelow("volt-watt/points", "sustained-overvoltage/threshold")],
    },
    Tie {
        name: "frequency-response-starts-after-trip",
        sentence: "the answer to high frequency starts below the overfrequency trip",
        source: PRACTICE,
        example: Example {
            failing: "inverter-1: { overfrequency-1: { threshold: 50.25 Hz }, over-frequency-response: { start: 50.25 Hz } }",
            near_miss: "inverter-1: { overfrequency-1: { threshold: 50.3 Hz }, over-frequency-response: { start: 50.25 Hz } }",
            under: AUSTRALIA_A,
        },
        relation: WRONG_SIDE,
        to_do: CHOOSE_OTHERS,
        links: &[Link::Below("over-frequency-response/start", "overfrequency-1/threshold")],
    },
    Tie {
        name: "reconnection-outside-trips",
        sentence: "the windows for connecting reach no farther than the trips of the same measurement, or the device connects only to trip",
        source: PRACTICE,
        example: Example {
            failing: "inverter-1: { undervoltage-1: { threshold: 205.1 V }, reconnection: { lower-voltage: 205 V } }",
            near_miss: "inverter-1: { undervoltage-1: { threshold: 205 V }, reconnection: { lower-voltage: 205 V } }",
            under: AUSTRALIA_A,
        },
        relation: WRONG_SIDE,
        to_do: CHOOSE_OTHERS,
        // a value equal to a threshold is not yet outside, so a window may reach up to it
        links: &[
            Link::AtMost("reconnection/upper-voltage", "overvoltage-1/threshold"),
            Link::AtMost("undervoltage-1/threshold", "reconnection/lower-voltage"),
            Link::AtMost("reconnection/upper-frequency", "overfrequency-1/threshold"),
            Link::AtMost("underfrequency-1/threshold", "reconnection/lower-frequency"),
        ],
    },
    Tie {
        name: "window-upside-down",
        sentence: "a window for connecting has its lower edge below its upper one, or the device never connects",
        source: "follows from the meanings of the edges",
        example: Example {
            failing: "inverter-1: { reconnection: { lower-frequency: 50.15 Hz, upper-frequency: 47.5 Hz } }",
            near_miss: "inverter-1: { reconnection: { lower-frequency: 47.5 Hz, upper-frequency: 50.15 Hz } }",
            under: AUSTRALIA_A,
        },
        relation: WRONG_SIDE,
        to_do: "see which edge is which, and choose them so",
        links: &[
            Link::Below("reconnection/lower-voltage", "reconnection/upper-voltage"),
            Link::Below("reconnection/lower-frequency", "reconnection/upper-frequency"),
            Link::Below("start-of-generation/lower-voltage", "start-of-generation/upper-voltage"),
            Link::Below("start-of-generation/lower-frequency", "start-of-generation/upper-frequency"),
        ],
    },
    Tie {
        name: "frequency-response-out-of-order",
        sentence: "the answer to high frequency starts, turns storage to charging and ends in this order; to low frequency downwards",
        source: "follows from the meanings of the frequencies",
        example: Example {
            failing: "inverter-1: { over-frequency-response: { start: 50.25 Hz, transition: 50.25 Hz, end: 52 Hz } }",
            near_miss: "inverter-1: { over-frequency-response: { start: 50.25 Hz, transition: 50.3 Hz, end: 52 Hz } }",
            under: AUSTRALIA_A,
        },
        relation: WRONG_SIDE,
        to_do: CHOOSE_OTHERS,
        links: &[
            Link::Below("over-frequency-response/start", "over-frequency-response/end"),
            Link::Below("over-frequency-response/start", "over-frequency-response/transition"),
            Link::Below("over-frequency-response/transition", "over-frequency-response/end"),
            Link::Below("under-frequency-response/end", "under-frequency-response/start"),
            Link::Below("under-frequency-response/stop-charging", "under-frequency-response/start"),
            Link::Below("under-frequency-response/end", "under-frequency-response/stop-charging"),
        ],
    },
    Tie {
        name: "low-frequency-response-starts-after-trip",
        sentence: "the answer to low frequency starts above the underfrequency trip",
        source: PRACTICE,
        example: Example {
            failing: "inverter-1: { underfrequency-1: { threshold: 49.75 Hz }, under-frequency-response: { start: 49.75 Hz } }",
            near_miss: "inverter-1: { underfrequency-1: { threshold: 49.7 Hz }, under-frequency-response: { start: 49.75 Hz } }",
            under: AUSTRALIA_A,
        },
        relation: WRONG_SIDE,
        to_do: CHOOSE_OTHERS,
        links: &[Link::Below("underfrequency-1/threshold", "under-frequency-response/start")],
    },
    Tie {
        name: "sensor-ratio-differs",
        sentence: "the current transformer's ratio that is entered is that of the one fitted, or every limit acts at a multiple of itself",
        source: PRACTICE,
        example: Example {
            failing: "inverter-1: { export-sensor: { ratio-fitted: 40, ratio-entered: 50 } }",
            near_miss: "inverter-1: { export-sensor: { ratio-fitted: 40, ratio-entered: 40.0 } }",
            under: AUSTRALIA_A,
        },
        relation: "which is not the same as",
        to_do: "enter the ratio on the nameplate of the current transformer that is fitted, then test the limit",
        links: &[Link::Equal("export-sensor/ratio-fitted", "export-sensor/ratio-entered")],
    },
    Tie {
        name: "hard-limit-below-soft",
        sentence: "the hard limit does not lie below the soft one, or the device disconnects where it should reduce its output",
        source: PRACTICE,
        example: Example {
            failing: "inverter-1: { export-limit: { state: enabled, site-total: 5 kW, hard-limit: 4.9 kW } }",
            near_miss: "inverter-1: { export-limit: { state: enabled, site-total: 5 kW, hard-limit: 5 kW } }",
            under: AUSTRALIA_A,
        },
        relation: WRONG_SIDE,
        to_do: CHOOSE_OTHERS,
        links: &[
            Link::AtMost("export-limit/site-total", "export-limit/hard-limit"),
            Link::AtMost("generation-limit/soft", "generation-limit/hard"),
        ],
    },
    Tie {
        name: "fallback-above-approval",
        sentence: "the limit that a device falls back to is not above what the network operator approved",
        source: "the approval itself",
        example: Example {
            failing: "inverter-1: { remote-control: { state: enabled, fallback: 5.5 kW } }",
            near_miss: "inverter-1: { remote-control: { state: enabled, fallback: 5 kW } }",
            under: AUSTRALIA_A,
        },
        relation: WRONG_SIDE,
        to_do: CHOOSE_OTHERS,
        links: &[Link::AtMostFact("remote-control/fallback", FactId::ApprovedExport)],
    },
    Tie {
        name: "export-above-approval",
        sentence: "the export limit is not above what the network operator approved",
        source: "the approval itself",
        example: Example {
            failing: "inverter-1: { export-limit: { state: enabled, site-total: 5.1 kW } }",
            near_miss: "inverter-1: { export-limit: { state: enabled, site-total: 5 kW } }",
            under: AUSTRALIA_A,
        },
        relation: WRONG_SIDE,
        to_do: CHOOSE_OTHERS,
        links: &[Link::AtMostFact("export-limit/site-total", FactId::ApprovedExport)],
    },
];

/// What holds of equipment before anybody asks: no quantity of the catalogue lies below zero, none that is counted
/// below one, and a power factor lies above zero and at most at one. Without it a search for examples finds impossible
/// ones.
#[must_use]
pub fn space(kind: Equipment, why: ProvenanceId) -> Vec<Claim> {
    let bound = |number: Exact, open: bool| Bound { value: Amount::plain(number), open };
    let limits = |dimension: Dimension| match dimension {
        Dimension::PowerFactor => vec![Limit::AtLeast(bound(Exact::ZERO, true)), Limit::AtMost(bound(Exact::ONE, false))],
        _ => vec![Limit::AtLeast(bound(Exact::from(dimension.possible().0.max(0)), false))],
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
    pub fn claims(&self, why: ProvenanceId) -> Vec<Claim> {
        self.links.iter().flat_map(|link| link.claims(why)).collect()
    }
}

impl Link {
    fn claims(&self, why: ProvenanceId) -> Vec<Claim> {
        let var = |name: &str| Var::from(SettingId::named(name).expect("ties name settings of the catalogue"));
        let at_most = |on: Term, value: Amount, open: bool| Claim { on, limit: Limit::AtMost(Bound { value, open }), why };
        let zero = Amount::plain(Exact::ZERO);
        match self {
            Self::InOrder(first, second) => {
                let pairs = FUNCTIONS.iter().filter_map(|f| Some((SettingId::find(f.key, first)?, SettingId::find(f.key, second)?)));
                pairs.map(|(x, y)| at_most(Term::Gap(x.into(), y.into()), zero, false)).collect()
            }
            Self::AtMost(x, y) => vec![at_most(Term::Gap(var(x), var(y)), zero, false)],
            Self::Below(x, y) => vec![at_most(Term::Gap(var(x), var(y)), zero, true)],
            Self::Equal(x, y) => [(x, y), (y, x)].into_iter().map(|(x, y)| at_most(Term::Gap(var(x), var(y)), zero, false)).collect(),
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
            for claim in tie.claims(ProvenanceId(0)) {
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
