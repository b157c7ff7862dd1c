//! Laws of the algebra, checked against trying everything.
//!
//! Three numbers are bounded by whole numbers. Any demands on them that can be kept can be kept in
//! quarters (three open edges fit between two whole numbers), so trying every quarter decides.

use crate::common;

use common::*;
use proptest::prelude::*;
use rules::core::core;
use rules::escape::{Proof, escape};
use rules::range::{Range, range};
use rules::satisfy::satisfy;
use rules::unproven::Unproven;
use rules::witness::{Witness, keeps};
use settings_model::claim::{Bound, Claim, Evidence, Limit, ProvenanceId, Term, Var};
use settings_model::exact::Exact;
use settings_model::facts::{FactId, Facts};
use settings_model::quantity::Amount;

const LAST: i64 = 2;

/// Two functions that can be switched off and one that cannot.
fn numbers() -> [Var; 3] {
    [var("overvoltage-1/threshold"), var("sustained-overvoltage/threshold"), var("reconnection/upper-voltage")]
}
fn states() -> [Var; 2] {
    [var("overvoltage-1/state"), var("sustained-overvoltage/state")]
}

/// Every number lies between 0 and [`LAST`].
fn space() -> Vec<Claim> {
    numbers().into_iter().flat_map(|v| [at_least(v, "0"), at_most(v, &LAST.to_string())]).collect()
}

fn choices() -> Vec<Choice> {
    let mut choices: Vec<Choice> = states().into_iter().map(|s| Choice::Word(s, vec![ABSENT, OFF, ENABLED])).collect();
    choices.push(Choice::Evidence(numbers()[1], Evidence::ALL.to_vec()));
    choices.extend(numbers().into_iter().map(|v| Choice::Number(v, quarters(LAST))));
    choices
}

fn bound(number: i64, open: bool, is_upper: bool) -> Limit {
    let bound = Bound { value: Amount::plain(Exact::from(number)), open };
    if is_upper { Limit::AtMost(bound) } else { Limit::AtLeast(bound) }
}

fn any_term() -> impl Strategy<Value = Term> {
    let any_number = || prop::sample::select(numbers().to_vec());
    prop_oneof![any_number().prop_map(Term::Var), (any_number(), any_number()).prop_map(|(x, y)| Term::Gap(x, y))]
}

fn any_number_claim() -> impl Strategy<Value = Claim> {
    (any_term(), -1..=LAST, any::<bool>(), any::<bool>()).prop_map(|(on, number, open, is_upper)| Claim {
        on,
        limit: bound(number, open, is_upper),
        why: ProvenanceId(0),
    })
}

fn any_claim() -> impl Strategy<Value = Claim> {
    let words = (prop::sample::select(states().to_vec()), prop::sample::subsequence(vec![ABSENT, OFF, ENABLED], 1..=3));
    let kinds = prop::sample::subsequence(Evidence::ALL.to_vec(), 1..=3);
    prop_oneof![
        6 => any_number_claim(),
        2 => words.prop_map(|(state, words)| one_of(state, &words)),
        1 => kinds.prop_map(|kinds| known_by(numbers()[1], &kinds)),
    ]
}

fn any_claims(most: usize) -> impl Strategy<Value = Vec<Claim>> {
    prop::collection::vec(any_claim(), 0..=most)
}

fn first_that(claims: &[Claim], facts: &Facts, choices: &[Choice], wanted: impl Fn(&Witness) -> bool) -> Option<Witness> {
    let mut found = None;
    try_all(claims, facts, choices, &mut |witness| {
        if wanted(witness) {
            found = Some(witness.clone());
        }
        found.is_none()
    });
    found
}

fn can_be_kept(claims: &[Claim]) -> bool {
    first_that(claims, &Facts::default(), &choices(), |_| true).is_some()
}

/// A witness does what it is said to do, read claim by claim.
fn assert_escapes(witness: &Witness, old: &[Claim], new: &Claim) {
    for claim in old {
        assert_eq!(keeps(claim, witness), Some(true), "{claim:?} in {witness:?}");
    }
    assert_eq!(keeps(new, witness), Some(false), "{new:?} in {witness:?}");
}

/// The claim that a function is enabled, for each function whose parameters these claims bound.
fn enabling(claims: &[Claim]) -> Vec<Claim> {
    let on_parameters = claims.iter().flat_map(|c| c.on.vars()).filter(|v| !v.setting.is_state());
    on_parameters.filter_map(|v| v.setting.state()).map(|state| one_of(state.into(), &[ENABLED])).collect()
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 200, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn a_claim_escapes_exactly_where_trying_everything_finds_an_escape(old in any_claims(7), new in any_claim()) {
        let mut all = old.clone();
        all.extend(space());
        let facts = Facts::default();
        match escape(&old, &new, &space(), &facts) {
            Proof::Escapes(witness) => assert_escapes(&witness, &all, &new),
            Proof::Implied => {
                let found = first_that(&all, &facts, &choices(), |w| keeps(&new, w) == Some(false));
                prop_assert_eq!(found, None);
            }
            Proof::Unproven(why) => prop_assert!(false, "{}", why),
        }
    }

    #[test]
    fn a_range_is_reached_at_closed_ends_approached_at_open_ones_and_never_left(old in any_claims(6), which in 0..3usize) {
        let subject = numbers()[which];
        let mut all = old;
        all.extend(space());
        let answer = range(&all, &Facts::default(), subject).unwrap();
        let mut tried = all.clone();
        tried.extend(subject.setting.state().map(|state| one_of(state.into(), &[ENABLED])));
        let mut seen: Option<(Exact, Exact)> = None;
        try_all(&tried, &Facts::default(), &choices(), &mut |w| {
            let n = w.number(subject).unwrap();
            seen = Some(seen.map_or((n, n), |(low, high)| (low.min(n), high.max(n))));
            true
        });
        let Some((least, most)) = seen else { return Ok(()) };
        let Range::Numbers(interval) = answer else { panic!("{answer:?}, but {least} is possible") };
        let (low, high) = (interval.low.unwrap(), interval.high.unwrap());
        let three_steps = Exact::new(75, 2);
        prop_assert!(if low.open { low.at < least && least <= low.at + three_steps } else { low.at == least }, "{:?} {}", low, least);
        prop_assert!(if high.open { most < high.at && high.at <= most + three_steps } else { high.at == most }, "{:?} {}", high, most);
    }

    #[test]
    fn nothing_is_left_only_of_claims_that_contradict(old in any_claims(8), which in 0..3usize) {
        let subject = numbers()[which];
        let all: Vec<Claim> = old.into_iter().chain(space()).zip(0..).map(|(c, why)| line(c, why)).collect();
        if let Range::Nothing(lines) = range(&all, &Facts::default(), subject).unwrap() {
            let blamed: Vec<Claim> = all.into_iter().filter(|c| lines.contains(&c.why)).collect();
            let together = [blamed.clone(), enabling(&blamed)].concat();
            prop_assert!(!can_be_kept(&together), "{:?}", blamed);
        }
    }

    #[test]
    fn a_contradiction_is_one_and_needs_every_claim(claims in any_claims(9)) {
        let all: Vec<Claim> = claims.into_iter().chain(space()).collect();
        match core(&all, &Facts::default()) {
            Some(core) => {
                let claims: Vec<Claim> = core.iter().map(|index| all[*index].clone()).collect();
                let forced = enabling(&claims);
                prop_assert!(!can_be_kept(&[claims.clone(), forced.clone()].concat()), "{:?} can be kept", claims);
                for left_out in 0..claims.len() {
                    let mut rest = claims.clone();
                    rest.remove(left_out);
                    // A bound of the box may be left out, so the trial must see beyond it: three
                    // claims of at most 2 each reach 6 from zero, and open edges a little further.
                    let wide: Vec<Choice> = choices().into_iter().map(|choice| match choice {
                        Choice::Number(v, _) => Choice::Number(v, (-28..=28).map(|n| Exact::new(25 * n, 2)).collect()),
                        other => other,
                    }).collect();
                    let kept = first_that(&[rest, forced.clone()].concat(), &Facts::default(), &touched(&wide, &claims), |_| true);
                    prop_assert!(kept.is_some(), "{:?} is not needed in {:?}", claims[left_out], claims);
                }
            }
            None => {
                let may_be_enabled = |state: &Var| {
                    all.iter().all(|c| c.on != Term::Var(*state) || !matches!(c.limit, Limit::OneOf(words) if !words.has(ENABLED)))
                };
                let forced: Vec<Claim> = states().into_iter().filter(may_be_enabled).map(|s| one_of(s, &[ENABLED])).collect();
                prop_assert!(can_be_kept(&[all.clone(), forced].concat()), "{:?} cannot be kept", all);
            }
        }
    }

    /// Sums of decimals that binary floating point gets wrong.
    #[test]
    fn decimal_bounds_add_up_exactly(a in 1..=99_999_999i64, b in 1..=99_999_999i64, decimals in 1..=7u32) {
        let [x, y, _] = numbers();
        let limit = |on, mantissa, open| {
            Claim { on, limit: Limit::AtMost(Bound { value: Amount::plain(Exact::new(mantissa, decimals)), open }), why: ProvenanceId(0) }
        };
        let old = [limit(Term::Var(x), a, false), limit(Term::Gap(y, x), b, false), one_of(states()[0], &[ENABLED])];
        let ask = |mantissa, open| escape(&old, &limit(Term::Var(y), mantissa, open), &[], &Facts::default());
        prop_assert_eq!(ask(a + b, false), Proof::Implied);
        prop_assert!(matches!(ask(a + b, true), Proof::Escapes(_)), "the edge itself is outside an open edge");
        prop_assert!(matches!(ask(a + b - 1, false), Proof::Escapes(_)), "one last digit less");
    }
}

/// The choices that these claims are about, so that trying everything stays short.
fn touched(choices: &[Choice], claims: &[Claim]) -> Vec<Choice> {
    let is_touched = |v: &Var| claims.iter().flat_map(|c| c.on.vars()).any(|on| on == *v || on.setting.state() == Some(v.setting));
    let wanted = |choice: &&Choice| match choice {
        Choice::Number(v, _) | Choice::Word(v, _) | Choice::Evidence(v, _) => is_touched(v),
        Choice::Fact(..) => true,
    };
    choices.iter().filter(wanted).cloned().collect()
}

const MULTIPLES: [&str; 5] = ["0.5", "1", "1.5", "2", "-1"];

/// Claims on two numbers, some of them multiples of the nominal voltage.
fn any_multiple_claim() -> impl Strategy<Value = Claim> {
    let plain = (-1..=3i64).prop_map(|n| Amount::plain(Exact::from(n)));
    let multiple = prop::sample::select(MULTIPLES.to_vec()).prop_map(|k| Amount::times(exact(k), FactId::NominalVoltage));
    let term = prop::sample::select(vec![
        Term::Var(numbers()[0]),
        Term::Var(numbers()[2]),
        Term::Gap(numbers()[0], numbers()[2]),
        Term::Gap(numbers()[2], numbers()[0]),
    ]);
    (term, prop_oneof![plain, multiple], any::<bool>(), any::<bool>()).prop_map(|(on, value, open, is_upper)| {
        let bound = Bound { value, open };
        Claim { on, limit: if is_upper { Limit::AtMost(bound) } else { Limit::AtLeast(bound) }, why: ProvenanceId(0) }
    })
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 400, failure_persistence: None, ..ProptestConfig::default() })]

    /// An unknown nominal voltage is searched together with the settings.
    #[test]
    fn an_unknown_fact_gives_the_answers_that_its_values_give(
        old in prop::collection::vec(any_multiple_claim(), 0..=6), new in any_multiple_claim()
    ) {
        let at = |n: Exact| {
            let mut facts = Facts::default();
            facts.set_number(FactId::NominalVoltage, n);
            facts
        };
        let sixteenths = (1..=96).map(|n| Exact::new(625 * n, 4));
        let by_value = || sixteenths.clone().find(|n| matches!(escape(&old, &new, &[], &at(*n)), Proof::Escapes(_)));
        match escape(&old, &new, &[], &Facts::default()) {
            Proof::Escapes(witness) => {
                assert_escapes(&witness, &old, &new);
                if let Some(n) = witness.facts.number(FactId::NominalVoltage) {
                    prop_assert!(n > Exact::ZERO);
                    prop_assert!(matches!(escape(&old, &new, &[], &at(n)), Proof::Escapes(_)));
                }
            }
            Proof::Implied => prop_assert_eq!(by_value(), None),
            Proof::Unproven(why) => {
                prop_assert_eq!(why, Unproven::NotWritable(FactId::NominalVoltage));
                prop_assert_eq!(by_value(), None);
            }
        }
    }

    /// With the nominal voltage unknown, a contradiction is one at every voltage, and without any
    /// one of its claims there is an example; where there is no contradiction there is an example.
    #[test]
    fn a_contradiction_under_an_unknown_fact_is_one_at_each_value(claims in prop::collection::vec(any_multiple_claim(), 0..=8)) {
        let Some(found) = core(&claims, &Facts::default()) else {
            assert_example(&claims);
            return Ok(());
        };
        let claims: Vec<Claim> = found.iter().map(|index| claims[*index].clone()).collect();
        for n in (1..=96).map(|n| Exact::new(625 * n, 4)) {
            let mut facts = Facts::default();
            facts.set_number(FactId::NominalVoltage, n);
            prop_assert!(core(&claims, &facts).is_some(), "{:?} at {}", claims, n);
        }
        for left_out in 0..claims.len() {
            let mut rest = claims.clone();
            rest.remove(left_out);
            assert_example(&rest);
        }
    }
}

/// Some site with its function enabled keeps these claims, unless only one whose nominal voltage
/// is no decimal number does.
fn assert_example(claims: &[Claim]) {
    let mut enabled = enabling(claims);
    enabled.dedup();
    let functions: Vec<_> = enabled.iter().map(|claim| claim.on.subject().setting).collect();
    match satisfy(claims, &Facts::default(), &functions) {
        Ok(Some(witness)) => {
            for claim in claims.iter().chain(&enabled) {
                assert_eq!(keeps(claim, &witness), Some(true), "{claim:?} in {witness:?}");
            }
        }
        Err(Unproven::NotWritable(FactId::NominalVoltage)) => {}
        other => panic!("{other:?}: no example of {claims:?}"),
    }
}
