//! The shipped IEEE 1547 against the public reference model of EPRI (`tests/outside`, where the
//! library and its version are named): every default, and every level that the model computed.

use crate::common;

use common::*;
use rules::envelope::Envelope;
use serde_json::Value as Json;
use settings_model::catalogue::{Equipment, SettingId};
use settings_model::claim::Part;
use settings_model::curve::{Reading, at_site, value_at};
use settings_model::exact::Exact;
use settings_model::facts::{FactId, Facts};
use settings_model::library::Request;
use settings_model::requirement::Requirement;
use settings_model::source::Sources;
use settings_model::value::Value;

/// One per unit counts as one, so that the numbers of both are alike.
fn facts() -> Facts {
    let mut facts = Facts::default();
    facts.set_number(FactId::NominalVoltage, Exact::ONE);
    facts
}

/// Devices with storage are asked for another last level.
fn solar() -> Facts {
    let mut facts = facts();
    facts.set_word(FactId::EnergySource, 0);
    facts
}

fn required(edition: &str, region: &str) -> Requirement {
    required_at(edition, region, &facts())
}

fn required_at(edition: &str, region: &str, facts: &Facts) -> Requirement {
    let mut sources = Sources::default();
    let request = Request { standard: Some(edition), region, ..Request::default() };
    let Ok(rulebooks) = shipped_library().rulebooks(request, facts, &mut sources) else { panic!("{region}") };
    rulebooks[Equipment::Inverter as usize].resolve(facts)
}

fn value<'r>(requirement: &'r Requirement, path: &str) -> &'r Value {
    requirement.get(setting(path)).and_then(|resolved| resolved.entry.require.as_ref()).unwrap_or_else(|| panic!("{path}"))
}

fn number(requirement: &Requirement, path: &str) -> Exact {
    value(requirement, path).part(Part::Whole).and_then(|amount| amount.at(&facts())).unwrap_or_else(|| panic!("{path}"))
}

fn points(requirement: &Requirement, path: &str) -> Vec<(Exact, Exact)> {
    let Value::Curve(points) = value(requirement, path) else { panic!("{path}") };
    at_site(points, &facts()).unwrap()
}

/// A number that the model computed in binary, to the millionth.
fn of(json: &Json) -> Exact {
    exact(&format!("{:.6}", json.as_f64().unwrap()))
}

fn pairs(json: &Json) -> Vec<(Exact, Exact)> {
    json.as_array().unwrap().iter().map(|pair| (of(&pair[0]), of(&pair[1]))).collect()
}

fn model() -> Json {
    serde_json::from_str(include_str!("../../../tests/outside/ieee-1547-defaults.json")).unwrap()
}

/// Of both editions: 1547a is known to widen ranges and to leave defaults alone.
const EDITIONS: [&str; 2] = ["ieee-1547/2018", "ieee-1547/2018-amd1"];

#[test]
fn trip_stages_are_those_of_the_model() {
    let model = model();
    let mut compared = 0;
    for edition in EDITIONS {
        for (category, key) in [("I", "i"), ("II", "ii"), ("III", "iii")] {
            for normal in ["a", "b"] {
                let requirement = required(edition, &format!("{normal}-{key}"));
                for (stage, settings) in model["by abnormal performance category"][category].as_object().unwrap() {
                    for (named, expected) in settings.as_object().unwrap() {
                        let parameter = named.split(' ').next().unwrap();
                        assert_eq!(
                            number(&requirement, &format!("{stage}/{parameter}")),
                            of(expected),
                            "{edition} {category} {stage} {named}"
                        );
                        compared += 1;
                    }
                }
            }
        }
    }
    assert_eq!(compared, 2 * 2 * 3 * 8 * 2);
}

#[test]
fn enter_service_and_droop_are_those_of_the_model() {
    let every = &model()["in every category"];
    for edition in EDITIONS {
        let requirement = required(edition, "b-iii");
        let both = |ours: &str, theirs: &Json| assert_eq!(number(&requirement, ours), of(theirs), "{edition} {ours}");
        let service = &every["enter-service"];
        both("reconnection/lower-voltage", &service["lower-voltage [pu]"]);
        both("reconnection/upper-voltage", &service["upper-voltage [pu]"]);
        both("reconnection/lower-frequency", &service["lower-frequency [Hz]"]);
        both("reconnection/upper-frequency", &service["upper-frequency [Hz]"]);
        both("reconnection/observation-time", &service["delay [s]"]);
        both("reconnection/ramp-time", &service["ramp-duration [s]"]);
        let droop = &every["frequency-droop"];
        both("over-frequency-response/deadband", &droop["over-frequency-deadband [Hz]"]);
        both("under-frequency-response/deadband", &droop["under-frequency-deadband [Hz]"]);
        both("over-frequency-response/droop", &droop["over-frequency-droop [% of nominal frequency for all of rated power]"]);
        both("under-frequency-response/droop", &droop["under-frequency-droop [% of nominal frequency for all of rated power]"]);
        both("over-frequency-response/response-time", &droop["open-loop-response-time [s]"]);
    }
}

#[test]
fn curves_and_what_the_model_computes_from_them_agree() {
    let model = model();
    for edition in EDITIONS {
        for (category, region) in [("A", "a-ii"), ("B", "b-iii")] {
            let requirement = required(edition, region);
            let theirs = &model["by normal performance category"][category];
            let volt_var = points(&requirement, "volt-var/points");
            assert_eq!(volt_var, pairs(&theirs["volt-var/points [pu, % of rated VA]"]), "{edition} {category}");
            let watt_var = points(&requirement, "watt-var/points");
            assert_eq!(watt_var, pairs(&theirs["watt-var/points [% of rated W, % of rated VA]"]), "{edition} {category}");
            assert_eq!(number(&requirement, "volt-var/response-time"), of(&theirs["volt-var/open-loop-response-time [s]"]));
            assert_eq!(number(&requirement, "volt-var/reference-voltage"), of(&theirs["volt-var/reference-voltage [pu]"]));
            assert_eq!(number(&requirement, "volt-watt/response-time"), of(&theirs["volt-watt/open-loop-response-time [s]"]));

            let computed = &model["computed by the model"][category];
            let level = |curve: &[(Exact, Exact)], x: Exact| match value_at(curve, x) {
                Some(Reading::Level(level)) => level.rounded(6),
                other => panic!("{other:?}"),
            };
            let mut compared = 0;
            for (curve, named) in [
                (&volt_var, "volt-var reactive power [pu voltage, % of rated VA]"),
                (&watt_var, "watt-var reactive power [% of rated W, % of rated VA]"),
            ] {
                for (x, expected) in pairs(&computed[named]) {
                    assert_eq!(level(curve, x), expected, "{edition} {category} {named} at {x}");
                    compared += 1;
                }
            }
            assert!(compared >= 25, "{compared}");
        }
    }
}

/// The model ends volt-watt at no power at all, which is one of the levels up to 20 % that comply.
#[test]
fn the_models_volt_watt_complies() {
    let model = model();
    let requirement = required_at("ieee-1547/2018", "b-iii", &solar());
    let points = SettingId::of("volt-watt", "points");
    let claims = requirement.get(points).unwrap().entry.comply.clone();
    let envelope = Envelope::of(&claims, points, &facts()).unwrap();
    for (x, level) in pairs(&model["computed by the model"]["B"]["volt-watt active power limit [pu voltage, % of rated W]"]) {
        let [low, high] = envelope.at(x);
        assert!(low.unwrap() <= level && level <= high.unwrap(), "{level} at {x}");
    }
}
