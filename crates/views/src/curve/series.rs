//! One response of several subjects, read at the same places.

use super::places::places;
use super::subjects::{HeldCurve, Subject};
use crate::report::curve::{AskedReport, AxisReport, CurveSeries, ResponseReport, number};
use response::characteristic::{Base, Points, Response};
use rules::envelope::Envelope;
use settings_model::curve::{Reading, value_at};
use settings_model::exact::Exact;
use settings_model::facts::FactId;
use settings_model::quantity::Dimension;
use settings_model::slip::Slip;

/// One response, everything that is shown of it, and where it is read.
pub struct Shown {
    /// The response.
    pub response: &'static Response,
    /// Whose curves.
    pub subjects: Vec<Subject>,
    /// Where they are read, in base units, ascending.
    pub places: Vec<Exact>,
    /// Nominal voltage that per-unit values count in, where all subjects have the same.
    pub nominal: Option<Exact>,
}

impl Shown {
    /// Reads at the places named, or where some curve bends.
    pub fn new(response: &'static Response, subjects: Vec<Subject>, at: Option<&str>) -> Result<Self, Slip> {
        let nominals: Vec<Option<Exact>> = subjects.iter().map(|subject| subject.facts.number(FactId::NominalVoltage)).collect();
        let nominal = nominals.first().copied().flatten().filter(|one| nominals.iter().all(|other| *other == Some(*one)));
        let places = match at {
            Some(at) => {
                let facts = subjects.first().map(|subject| subject.facts.clone()).unwrap_or_default();
                places(at, response.axes[0].dimension, &facts)?
            }
            None => bends(&subjects),
        };
        Ok(Self { response, subjects, places, nominal })
    }

    /// Whether nobody says how many volts one per unit is.
    pub fn is_per_unit_only(&self) -> bool {
        self.response.axes[0].dimension == Dimension::Voltage && self.nominal == Some(Exact::ONE)
    }

    /// Whether every subject is asked the same, so that it is told once.
    pub fn is_asked_alike(&self) -> bool {
        let first = &self.subjects[0];
        self.subjects.iter().all(|subject| {
            subject.required == first.required && self.places.iter().all(|x| levels(&subject.complies, *x) == levels(&first.complies, *x))
        })
    }
}

/// Where some curve bends.
fn bends(subjects: &[Subject]) -> Vec<Exact> {
    let mut places: Vec<Exact> = Vec::new();
    for subject in subjects {
        let held = if let HeldCurve::Points(points) = &subject.held { &points[..] } else { &[] };
        places.extend(subject.required.iter().flatten().chain(held).map(|(x, _)| *x));
        if places.is_empty() {
            places.extend(subject.complies.iter().flat_map(Envelope::breakpoints));
        }
    }
    places.sort_unstable();
    places.dedup();
    places
}

/// The edges of an envelope at a place.
pub fn levels(envelope: &Option<Envelope>, x: Exact) -> [Option<Exact>; 2] {
    envelope.as_ref().map_or([None, None], |envelope| envelope.at(x))
}

/// How far a level lies inside what complies; negative outside, `None` where nothing limits it.
pub fn slack(level: Exact, [low, high]: [Option<Exact>; 2]) -> Option<Exact> {
    let above = low.map(|low| level - low);
    let below = high.map(|high| high - level);
    above.into_iter().chain(below).min()
}

/// The level of a curve at a place; at a step, as it is approached from below.
pub fn level(points: &Points, x: Exact) -> Option<Exact> {
    value_at(points, x).map(|reading| match reading {
        Reading::Level(level) | Reading::Step { before: level, .. } => level,
    })
}

/// Power at a percentage of a rating.
pub fn power(subject: &Subject, percent: Exact) -> Option<Exact> {
    subject.rating.as_ref().map(|rating| rating.of * percent * Exact::new(1, 2))
}

/// The machine-readable form.
pub fn report(shown: &Shown) -> ResponseReport {
    let axis = |n: usize| AxisReport {
        title: shown.response.axes[n].title,
        unit: shown.response.axes[n].dimension.symbols().next().unwrap_or(""),
    };
    ResponseReport {
        response: shown.response.function,
        title: shown.response.title(),
        x: axis(0),
        y: axis(1),
        at: shown.places.iter().map(|x| number(*x)).collect(),
        asked: shown.subjects.iter().map(asked).collect(),
        curves: shown.subjects.iter().flat_map(|subject| of_subject(shown, subject)).collect(),
    }
}

fn asked(subject: &Subject) -> AskedReport {
    AskedReport { of: subject.title.clone(), figures: subject.figures }
}

fn of_subject(shown: &Shown, subject: &Subject) -> Vec<CurveSeries> {
    let mut curves = Vec::new();
    let series = |kind: &'static str, points: &Points| CurveSeries {
        of: subject.title.clone(),
        kind,
        points: points.iter().map(|(x, y)| [number(*x), number(*y)]).collect(),
        y: shown.places.iter().map(|x| level(points, *x).map(number)).collect(),
        power: (subject.rating.is_some() && shown.response.base != Base::Nothing)
            .then(|| shown.places.iter().map(|x| power(subject, level(points, *x)?).map(number)).collect()),
        slack: None,
    };
    curves.extend(subject.required.as_ref().map(|points| series("required", points)));
    let edges = [
        (&subject.complies, ["lowest-that-complies", "highest-that-complies"]),
        (&subject.adjustable, ["lowest-adjustable", "highest-adjustable"]),
    ];
    for (envelope, kinds) in edges.into_iter().filter(|(envelope, _)| envelope.is_some()) {
        for (side, kind) in kinds.into_iter().enumerate() {
            let y = shown.places.iter().map(|x| levels(envelope, *x)[side].map(number)).collect();
            curves.push(CurveSeries { of: subject.title.clone(), kind, points: Vec::new(), y, power: None, slack: None });
        }
    }
    if let HeldCurve::Points(points) = &subject.held {
        let slack = |x: &Exact| slack(level(points, *x)?, levels(&subject.complies, *x)).map(number);
        let slack = subject.complies.as_ref().map(|_| shown.places.iter().map(slack).collect());
        curves.push(CurveSeries { slack, ..series("held", points) });
    }
    curves
}
