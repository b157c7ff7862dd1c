//! One value as a file says it, under one of the words that statements and readings share.

use crate::catalogue::{SettingId, Shape};
use crate::claim::{Bound, Claim, Limit, ProvenanceId};
use crate::exact::Exact;
use crate::facts::{FactId, Facts};
use crate::files::{Reading, Statement};
use crate::located::At;
use crate::notation::{self, Edges, Written};
use crate::quantity::Amount;
use crate::source::Place;
use crate::value::{Point, Value};

/// A word under which a value stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Verb {
    /// The value required.
    Require,
    /// What complies.
    Comply,
    /// What must hold besides.
    Also,
    /// A response that complies nowhere below.
    NowhereBelow,
    /// A response that complies nowhere above.
    NowhereAbove,
    /// How far a response may lie from the required one.
    ResponseWithin,
    /// How far apart points must be.
    Spacing,
    /// How a value has to be known.
    Evidence,
    /// The range in which a value may be moved.
    Adjustable,
    /// The steps in which that range can be set.
    Step,
}

impl Verb {
    /// Every word, in the order in which files write them.
    pub const ALL: [Self; 10] = [
        Self::Require,
        Self::Comply,
        Self::Also,
        Self::NowhereBelow,
        Self::NowhereAbove,
        Self::ResponseWithin,
        Self::Spacing,
        Self::Evidence,
        Self::Adjustable,
        Self::Step,
    ];

    /// The word in files.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Require => "require",
            Self::Comply => "comply",
            Self::Also => "also",
            Self::NowhereBelow => "nowhere-below",
            Self::NowhereAbove => "nowhere-above",
            Self::ResponseWithin => "response-within",
            Self::Spacing => "spacing",
            Self::Evidence => "evidence",
            Self::Adjustable => "adjustable",
            Self::Step => "step",
        }
    }

    /// Whether it says what is asked: not how it is known, nor who may move it.
    #[must_use]
    pub fn asks(self) -> bool {
        !matches!(self, Self::Evidence | Self::Adjustable | Self::Step)
    }
}

/// One value as a file says it.
#[derive(Clone, Copy, Debug)]
pub enum ReadValue<'f> {
    /// A value, set or curve.
    Written(&'f At<Written>),
    /// A text of its own kind.
    Text(&'f At<String>),
    /// A tolerance along both axes.
    Pair(&'f At<(String, String)>),
}

/// What can be said under the words of [`Verb`].
pub trait Says {
    /// What stands under a word.
    fn said(&self, verb: Verb) -> Option<ReadValue<'_>>;
}

macro_rules! says {
    ($($file:ty),*) => {$(
        impl Says for $file {
            fn said(&self, verb: Verb) -> Option<ReadValue<'_>> {
                match verb {
                    Verb::Require => self.require.as_ref().map(ReadValue::Written),
                    Verb::Comply => self.comply.as_ref().map(ReadValue::Written),
                    Verb::Also => self.also.as_ref().map(ReadValue::Written),
                    Verb::NowhereBelow => self.nowhere_below.as_ref().map(ReadValue::Written),
                    Verb::NowhereAbove => self.nowhere_above.as_ref().map(ReadValue::Written),
                    Verb::ResponseWithin => self.response_within.as_ref().map(ReadValue::Pair),
                    Verb::Spacing => self.spacing.as_ref().map(ReadValue::Text),
                    Verb::Evidence => self.evidence.as_ref().map(ReadValue::Text),
                    Verb::Adjustable => self.adjustable.as_ref().map(ReadValue::Written),
                    Verb::Step => self.step.as_ref().map(ReadValue::Text),
                }
            }
        }
    )*};
}
says!(Statement, Reading);

/// What a value comes to, whatever words it is written in.
#[derive(PartialEq)]
enum Meaning {
    Value(Value),
    Claims(Vec<Claim>),
    Tolerance([Amount; 2]),
    Spacing(Edges),
    Step(Amount),
    Evidence(u32),
}

impl ReadValue<'_> {
    /// Where it is written.
    #[must_use]
    pub fn place(self) -> Place {
        match self {
            Self::Written(at) => at.place,
            Self::Text(at) => at.place,
            Self::Pair(at) => at.place,
        }
    }

    /// As it is written, points one after another.
    #[must_use]
    pub fn words(self) -> String {
        match self {
            Self::Text(text) => text.value.clone(),
            Self::Pair(pair) => format!("{} along, {} across", pair.0, pair.1),
            Self::Written(written) => match &written.value {
                Written::Text(text) => text.clone(),
                Written::Points(points) => points.iter().map(|(x, y)| format!("{y} at {x}")).collect::<Vec<_>>().join(", "),
            },
        }
    }

    /// Whether two files say the same of a setting: `0.253 kV` is `253 V`, and so is `1.1 pu` where the
    /// nominal voltage is 230 V.
    #[must_use]
    pub fn agrees(self, other: ReadValue<'_>, setting: SettingId, verb: Verb, nominal: Option<Exact>) -> bool {
        let (one, other) = (self.means(setting, verb, nominal), other.means(setting, verb, nominal));
        one.is_some() && one == other
    }

    fn means(self, setting: SettingId, verb: Verb, nominal: Option<Exact>) -> Option<Meaning> {
        let mut facts = Facts::default();
        if let Some(nominal) = nominal {
            facts.set_number(FactId::NominalVoltage, nominal);
        }
        match (self, verb) {
            (Self::Written(written), Verb::Require | Verb::NowhereBelow | Verb::NowhereAbove) => {
                written.value(setting).ok().map(|value| Meaning::Value(plain_value(value, &facts)))
            }
            (Self::Written(written), _) => {
                let claims = written.claims(setting, ProvenanceId::SITE_APPROVAL).ok()?;
                Some(Meaning::Claims(claims.into_iter().map(|claim| plain_claim(claim, &facts)).collect()))
            }
            (Self::Pair(pair), _) => {
                let Shape::Curve { x, y } = setting.parameter().shape else { return None };
                let [aside, above] = [x.parse(&pair.0).ok()?, y.parse(&pair.1).ok()?];
                Some(Meaning::Tolerance([aside, above].map(|amount| plain(amount, &facts))))
            }
            (Self::Text(text), Verb::Spacing) => {
                let Shape::Curve { x, .. } = setting.parameter().shape else { return None };
                let Edges { low, high } = notation::interval(x, text).ok()?;
                Some(Meaning::Spacing(Edges { low: low.map(|b| plain_bound(b, &facts)), high: high.map(|b| plain_bound(b, &facts)) }))
            }
            (Self::Text(text), Verb::Step) => {
                let Shape::Quantity(dimension) = setting.parameter().shape else { return None };
                Some(Meaning::Step(plain(dimension.parse(text).ok()?, &facts)))
            }
            (Self::Text(text), _) => {
                let kinds = notation::evidence(text).ok()?;
                Some(Meaning::Evidence(kinds.iter().fold(0, |set, kind| set | 1 << kind)))
            }
        }
    }
}

/// Without a multiple of a fact that is known.
fn plain(amount: Amount, facts: &Facts) -> Amount {
    amount.at(facts).map_or(amount, Amount::plain)
}

fn plain_bound(bound: Bound, facts: &Facts) -> Bound {
    Bound { value: plain(bound.value, facts), ..bound }
}

fn plain_value(value: Value, facts: &Facts) -> Value {
    match value {
        Value::Quantity(amount) => Value::Quantity(plain(amount, facts)),
        Value::Curve(points) => {
            Value::Curve(points.into_iter().map(|point| Point { x: plain(point.x, facts), y: plain(point.y, facts) }).collect())
        }
        other => other,
    }
}

fn plain_claim(claim: Claim, facts: &Facts) -> Claim {
    let limit = match claim.limit {
        Limit::AtLeast(bound) => Limit::AtLeast(plain_bound(bound, facts)),
        Limit::AtMost(bound) => Limit::AtMost(plain_bound(bound, facts)),
        other => other,
    };
    Claim { limit, ..claim }
}
