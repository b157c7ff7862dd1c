//! Claims, facts and examples as the solver's script reads them: numbers are decimal text, words their
//! positions in the catalogue.

use rules::witness::{Witness, WitnessValue};
use serde_json::{Map, Value as Json, json};
use settings_model::catalogue::Shape;
use settings_model::claim::{Bound, Claim, Evidence, Limit, Part, Var};
use settings_model::facts::{FACTS, FactId, FactShape, FactValue, Facts};
use std::collections::BTreeSet;

/// FNV-1a of 64 bits, in hexadecimal.
pub fn fingerprint(text: &str) -> String {
    let hash = text.bytes().fold(0xcbf2_9ce4_8422_2325_u64, |hash, byte| (hash ^ u64::from(byte)).wrapping_mul(0x0100_0000_01b3));
    format!("{hash:016x}")
}

/// `volt-var/points#x0`.
pub fn name(var: Var) -> String {
    let part = match var.part {
        Part::Whole => String::new(),
        Part::PointCount => "#count".to_owned(),
        Part::X(n) => format!("#x{n}"),
        Part::Y(n) => format!("#y{n}"),
    };
    format!("{}{part}", var.setting)
}

/// Each variable with its kind, and the state that has to be enabled for claims on it to bind.
pub fn variables(of: impl Iterator<Item = Var>) -> Json {
    let of: BTreeSet<Var> = of.collect();
    Json::Object(of.into_iter().map(|var| (name(var), variable(var))).collect())
}

fn variable(var: Var) -> Json {
    let kind = match (var.setting.parameter().shape, var.part) {
        (Shape::Choice(words), _) => json!(words.len()),
        (_, Part::PointCount) => json!("whole"),
        _ => json!("number"),
    };
    let state = var.setting.state().filter(|state| *state != var.setting);
    json!([kind, state.map(|state| name(state.into()))])
}

/// The facts that claims multiply: the number that is known, or what the fact can be at all.
pub fn facts<'c>(claims: impl Iterator<Item = &'c Claim>, known: &Facts) -> Map<String, Json> {
    let multiplied: BTreeSet<FactId> = claims.filter_map(|claim| claim.bound()?.value.of).collect();
    let row = |fact: FactId| match known.number(fact) {
        Some(number) => json!(number.to_string()),
        None => possible(fact),
    };
    multiplied.into_iter().map(|fact| (fact.row().key.to_owned(), row(fact))).collect()
}

/// What a fact can be at all.
pub fn possible(fact: FactId) -> Json {
    if let FactShape::Choice(words) = fact.row().shape {
        return json!({ "words": words.len() });
    }
    let (low, high) = fact.possible();
    let edge = |edge: settings_model::facts::Possible| json!([edge.at.to_string(), edge.open]);
    json!({ "low": low.map(edge), "high": high.map(edge), "whole": fact.is_whole() })
}

/// What is known of a site.
pub fn site(facts: &Facts) -> Json {
    let known = FACTS.iter().filter_map(|fact| {
        Some(match facts.get(fact.id)? {
            FactValue::Number(number) => (fact.key.to_owned(), json!(number.to_string())),
            FactValue::Word(word) => (fact.key.to_owned(), json!(word)),
        })
    });
    Json::Object(known.collect())
}

pub fn claim(claim: &Claim) -> Json {
    let on: Vec<String> = claim.on.vars().map(name).collect();
    let bound = |bound: &Bound| json!([bound.value.number.to_string(), bound.value.of.map(|fact| fact.row().key), bound.open]);
    let (kind, limit) = match &claim.limit {
        Limit::AtLeast(edge) => ("at-least", bound(edge)),
        Limit::AtMost(edge) => ("at-most", bound(edge)),
        Limit::OneOf(words) => ("one-of", json!(words.iter().collect::<Vec<_>>())),
        Limit::Stated(kinds) => {
            ("known-by", json!(kinds.iter().filter(|kind| usize::from(*kind) < Evidence::ALL.len()).collect::<Vec<_>>()))
        }
        Limit::NotSeen | Limit::NoCase | Limit::Above(_) | Limit::Below(_) => panic!("no question of numbers: {claim:?}"),
    };
    json!({ "on": on, kind: limit })
}

/// Whether a claim is one of those that the solver is asked about: lines around a curve's response are not
/// linear, and what was not seen says nothing.
pub fn is_asked_about(claim: &Claim) -> bool {
    !matches!(claim.limit, Limit::Above(_) | Limit::Below(_) | Limit::NotSeen | Limit::NoCase)
}

/// An example: numbers as text, words as their positions, kinds of evidence beside them.
pub fn example(witness: &Witness) -> Json {
    let value = |value: &WitnessValue| match value {
        WitnessValue::Number(number) => json!(number.to_string()),
        WitnessValue::Word(word) => json!(word),
    };
    json!({
        "values": witness.settings.iter().map(|(var, held)| (name(*var), value(held))).collect::<Map<_, _>>(),
        "known-by": witness.evidence.iter().map(|(var, kind)| (name(*var), json!(*kind as u8))).collect::<Map<_, _>>(),
        "facts": site(&witness.facts),
    })
}
