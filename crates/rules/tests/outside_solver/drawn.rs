//! Rulebooks drawn from a seed: claims on linked settings of several functions, some of them multiples of
//! an unknown fact, with states and evidence.

use super::common::*;
use super::problem::Problem;
use rules::exercise::chance::Chance;
use settings_model::claim::{Bound, Claim, Evidence, Limit, Part, ProvenanceId, Term, Var, Words};
use settings_model::exact::Exact;
use settings_model::facts::{FactId, Facts};
use settings_model::quantity::Amount;

pub const COUNT: usize = 2000;
const SEED: u64 = 1547;

pub fn problems() -> Vec<Problem> {
    (0..COUNT as u64).map(|stream| problem(&mut Chance::new(SEED, stream))).collect()
}

/// Voltages of three functions that can be switched off and one that cannot, and points of a curve.
fn numbers() -> Vec<Var> {
    let mut all: Vec<Var> = [
        "overvoltage-1/threshold",
        "overvoltage-2/threshold",
        "sustained-overvoltage/threshold",
        "reconnection/upper-voltage",
        "volt-var/reference-voltage",
    ]
    .map(var)
    .to_vec();
    all.extend((0..3).map(|n| x("volt-var/points", n)));
    all
}

fn states() -> [Var; 4] {
    ["overvoltage-1/state", "overvoltage-2/state", "sustained-overvoltage/state", "volt-var/state"].map(var)
}

fn problem(chance: &mut Chance) -> Problem {
    let mut facts = Facts::default();
    // half of the sites state their nominal voltage, and half of the rulebooks count in it
    if chance.below(2) == 0 {
        facts.set_number(FactId::NominalVoltage, Exact::from([120, 230, 240][chance.below(3)]));
    }
    let per_unit = chance.below(2) == 0;
    let count = 3 + chance.below(14);
    let claims = (0..count).map(|_| any_claim(chance, per_unit)).collect();
    let mut ranges = numbers();
    chance.shuffle(&mut ranges);
    ranges.truncate(3);
    let others = (0..3).map(|_| any_claim(chance, per_unit)).collect();
    Problem { claims, facts, ranges, others }
}

fn any_claim(chance: &mut Chance, per_unit: bool) -> Claim {
    let claim = |on, limit| Claim { on, limit, why: ProvenanceId(0) };
    match chance.below(12) {
        0 | 1 => {
            let words = (0..3).filter(|_| chance.below(3) > 0).fold(Words::one(ENABLED), |all, word| all.or(Words::one(word)));
            let words = if chance.below(4) == 0 { words.without(Words::one(ENABLED)) } else { words };
            let words = if words.is_empty() { Words::one(OFF) } else { words };
            claim(Term::Var(states()[chance.below(4)]), Limit::OneOf(words))
        }
        2 => {
            let kinds =
                (0..Evidence::ALL.len() as u8).filter(|_| chance.below(2) == 0).fold(Words::one(0), |all, kind| all.or(Words::one(kind)));
            let kinds = if chance.below(3) == 0 { kinds.without(Words::one(0)).or(Words::one(5)) } else { kinds };
            claim(Term::Var(numbers()[chance.below(5)]), Limit::Stated(kinds))
        }
        3 => {
            let count = Var { setting: setting("volt-var/points"), part: Part::PointCount };
            let points = Exact::from(1 + chance.below(5) as i64);
            claim(Term::Var(count), any_limit(chance, points, None))
        }
        4..=7 => {
            let all = numbers();
            let (one, other) = (chance.below(all.len()), chance.below(all.len()));
            let number = Exact::new(chance.below(2001) as i64 - 1000, 2);
            let on = if one == other { Term::Var(all[one]) } else { Term::Gap(all[one], all[other]) };
            let number = if one == other { number + Exact::from(230) } else { number };
            claim(on, any_limit(chance, number, None))
        }
        _ => {
            let on = Term::Var(numbers()[chance.below(numbers().len())]);
            if per_unit && chance.below(2) == 0 {
                let multiple = Exact::new(90 + chance.below(31) as i64, 2);
                return claim(on, any_limit(chance, multiple, Some(FactId::NominalVoltage)));
            }
            let places = chance.below(3) as u32;
            let number = Exact::new((220 + chance.below(50) as i64) * 10i64.pow(places) + chance.below(10) as i64, places);
            claim(on, any_limit(chance, number, None))
        }
    }
}

fn any_limit(chance: &mut Chance, number: Exact, of: Option<FactId>) -> Limit {
    let value = of.map_or(Amount::plain(number), |fact| Amount::times(number, fact));
    let bound = Bound { value, open: chance.below(3) == 0 };
    if chance.below(2) == 0 { Limit::AtMost(bound) } else { Limit::AtLeast(bound) }
}
