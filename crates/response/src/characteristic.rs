//! Characteristics: each response as a piecewise-linear function, whatever settings spell it.
//!
//! Volt-watt and volt-var are points already. The answers to frequency are spelled by where they
//! start and end, or by a deadband and a droop; a droop is the change of frequency, per cent of
//! nominal, for the whole of rated power: 5 % of 60 Hz is 3 Hz.

use settings_model::catalogue::{SettingId, Shape};
use settings_model::curve::at_site;
use settings_model::exact::Exact;
use settings_model::facts::Facts;
use settings_model::quantity::Dimension;
use settings_model::value::Value;

/// A response: what is measured, and what follows.
#[derive(Clone, Copy, Debug)]
pub struct Response {
    /// The function of the catalogue that answers.
    pub function: &'static str,
    /// What is measured, and what follows.
    pub axes: [Axis; 2],
    /// Of what a percentage is taken.
    pub base: Base,
    spelled: Spelled,
}

/// An axis: its name for people, and what it measures.
#[derive(Clone, Copy, Debug)]
pub struct Axis {
    /// Its name, with the meaning of its sign where it has one.
    pub title: &'static str,
    /// What it measures.
    pub dimension: Dimension,
}

/// Of what a response's percentages are taken; the standard says of which rating.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Base {
    /// Active power.
    Active,
    /// Reactive power.
    Reactive,
    /// Of nothing: a power factor.
    Nothing,
}

/// How settings spell a response.
#[derive(Clone, Copy, Debug)]
enum Spelled {
    /// As points.
    Points,
    /// By where it starts and ends, or by deadband and droop, above nominal.
    AboveNominal,
    /// The same, below nominal.
    BelowNominal,
}

const VOLTAGE: Axis = Axis { title: "voltage", dimension: Dimension::Voltage };
const FREQUENCY: Axis = Axis { title: "frequency", dimension: Dimension::Frequency };
const OUTPUT: Axis = Axis { title: "active power", dimension: Dimension::Percent };
const REACTIVE: Axis = Axis { title: "reactive power: + supplies, - absorbs", dimension: Dimension::Percent };

const fn row(function: &'static str, x: Axis, y: Axis, base: Base, spelled: Spelled) -> Response {
    Response { function, axes: [x, y], base, spelled }
}

const fn percent(title: &'static str) -> Axis {
    Axis { title, dimension: Dimension::Percent }
}

/// Every response, in the order of the catalogue.
pub const RESPONSES: [Response; 7] = [
    row("volt-watt", VOLTAGE, percent("most active power"), Base::Active, Spelled::Points),
    row("volt-watt-charging", VOLTAGE, percent("most charging power"), Base::Active, Spelled::Points),
    row("volt-var", VOLTAGE, REACTIVE, Base::Reactive, Spelled::Points),
    row(
        "power-dependent-power-factor",
        OUTPUT,
        Axis { title: "power factor", dimension: Dimension::PowerFactor },
        Base::Nothing,
        Spelled::Points,
    ),
    row("watt-var", OUTPUT, REACTIVE, Base::Reactive, Spelled::Points),
    row("over-frequency-response", FREQUENCY, percent("active power, from full output"), Base::Active, Spelled::AboveNominal),
    row(
        "under-frequency-response",
        FREQUENCY,
        percent("active power that is added; below zero, charging"),
        Base::Active,
        Spelled::BelowNominal,
    ),
];

/// A response as a function: points in base units, flat outside its ends.
pub type Points = Vec<(Exact, Exact)>;

/// What a response needs to know besides settings.
#[derive(Clone, Copy, Debug)]
pub struct Circumstances<'c> {
    /// The facts of the site and the device: per-unit values count in its nominal voltage, storage
    /// answers to frequency by charging.
    pub facts: &'c Facts,
    /// Nominal frequency of the standard, in hertz.
    pub nominal_frequency: Option<Exact>,
}

impl Response {
    /// The response of this function.
    #[must_use]
    pub fn named(function: &str) -> Option<&'static Self> {
        RESPONSES.iter().find(|response| response.function == function)
    }

    /// Its name for people.
    #[must_use]
    pub fn title(&self) -> &'static str {
        SettingId::of_function(self.function).map_or(self.function, |id| id.function().title)
    }

    /// Its setting of this key.
    #[must_use]
    pub fn setting(&self, key: &str) -> Option<SettingId> {
        SettingId::find(self.function, key)
    }

    /// The function that these settings spell; `None` where they do not spell one, or a fact that
    /// they count in is unknown.
    #[must_use]
    pub fn points<'v>(&self, settings: impl Fn(SettingId) -> Option<&'v Value>, circumstances: Circumstances<'_>) -> Option<Points> {
        let value = |key: &str| settings(self.setting(key)?);
        let number = |key: &str| value(key)?.part(settings_model::claim::Part::Whole)?.at(circumstances.facts);
        match self.spelled {
            Spelled::Points => match (value("points")?, self.setting("points")?.parameter().shape) {
                (Value::Curve(points), Shape::Curve { .. }) => at_site(points, circumstances.facts),
                _ => None,
            },
            Spelled::AboveNominal => {
                let (start, end) = span(number, circumstances, Exact::ONE)?;
                // storage goes on from no output, at the transition, into charging (from memory: AS/NZS 4777.2)
                let charging = number("transition").filter(|_| circumstances.facts.has_storage());
                Some(match charging {
                    Some(transition) => vec![(start, FULL), (transition, Exact::ZERO), (end, -FULL)],
                    None => vec![(start, FULL), (end, Exact::ZERO)],
                })
            }
            Spelled::BelowNominal => {
                let (start, end) = span(number, circumstances, -Exact::ONE)?;
                let discharging = number("stop-charging").filter(|_| circumstances.facts.has_storage());
                Some(match discharging {
                    Some(stop) => vec![(end, FULL), (stop, Exact::ZERO), (start, -FULL)],
                    None => vec![(end, FULL), (start, Exact::ZERO)],
                })
            }
        }
    }
}

/// The whole of rated power, in per cent.
const FULL: Exact = Exact::HUNDRED;

/// Where an answer to frequency starts, and where it has used the whole of rated power; `away` is 1
/// above nominal and -1 below.
fn span(number: impl Fn(&str) -> Option<Exact>, circumstances: Circumstances<'_>, away: Exact) -> Option<(Exact, Exact)> {
    let nominal = circumstances.nominal_frequency;
    let start = number("start").or_else(|| Some(nominal? + away * number("deadband")?))?;
    let by_droop = || Some(start + away * (number("droop")? * Exact::new(1, 2)) * nominal?);
    Some((start, number("end").or_else(by_droop)?))
}

#[cfg(test)]
mod tests {
    use super::*;
    use settings_model::facts::{FactId, FactShape};
    use settings_model::settings::Settings;

    fn exact(text: &str) -> Exact {
        Exact::parse(text).unwrap()
    }

    fn points(function: &str, settings: &str, source: Option<&str>, nominal: i64) -> Option<Points> {
        let settings: Settings = serde_json::from_str(&format!("{{\"{function}\": {settings}}}")).unwrap();
        let mut facts = Facts::default();
        if let (Some(source), FactShape::Choice(words)) = (source, FactId::EnergySource.row().shape) {
            facts.set_word(FactId::EnergySource, words.iter().position(|word| *word == source).unwrap() as u8);
        }
        let circumstances = Circumstances { facts: &facts, nominal_frequency: Some(nominal.into()) };
        Response::named(function).unwrap().points(|id| settings.get(id).map(|known| &known.value), circumstances)
    }

    fn curve(points: &[(&str, &str)]) -> Option<Points> {
        Some(points.iter().map(|(x, y)| (exact(x), exact(y))).collect())
    }

    #[test]
    fn an_answer_to_frequency_ends_where_it_says_or_where_its_droop_does() {
        let by_end = points("over-frequency-response", r#"{"start":"50.25 Hz","end":"52 Hz"}"#, Some("solar"), 50);
        assert_eq!(by_end, curve(&[("50.25", "100"), ("52", "0")]));
        // plain arithmetic: 10 % of 50 Hz is 5 Hz for the whole of rated power
        let by_droop = points("over-frequency-response", r#"{"start":"50.4 Hz","droop":"10 %"}"#, None, 50);
        assert_eq!(by_droop, curve(&[("50.4", "100"), ("55.4", "0")]));
        let below = points("under-frequency-response", r#"{"start":"49.8 Hz","droop":"5 %"}"#, None, 50);
        assert_eq!(below, curve(&[("47.3", "100"), ("49.8", "0")]));
        assert_eq!(points("over-frequency-response", r#"{"start":"50.25 Hz"}"#, None, 50), None, "nobody knows where it ends");
    }

    #[test]
    fn storage_answers_by_charging() {
        let settings = r#"{"start":"50.25 Hz","transition":"50.75 Hz","end":"52 Hz"}"#;
        assert_eq!(
            points("over-frequency-response", settings, Some("solar-and-storage"), 50),
            curve(&[("50.25", "100"), ("50.75", "0"), ("52", "-100")])
        );
        assert_eq!(points("over-frequency-response", settings, Some("solar"), 50), curve(&[("50.25", "100"), ("52", "0")]));
        let low = r#"{"start":"49.75 Hz","stop-charging":"49 Hz","end":"48 Hz"}"#;
        assert_eq!(points("under-frequency-response", low, Some("storage"), 50), curve(&[("48", "100"), ("49", "0"), ("49.75", "-100")]));
    }

    #[test]
    fn every_response_is_a_function_of_the_catalogue() {
        for response in RESPONSES {
            let id = SettingId::of_function(response.function).expect(response.function);
            let points = response.setting("points").map(|id| id.parameter().shape);
            match points {
                Some(Shape::Curve { x, y }) => assert_eq!([x, y], response.axes.map(|axis| axis.dimension), "{id}"),
                _ => assert!(response.setting("start").is_some(), "{id}"),
            }
        }
    }
}
