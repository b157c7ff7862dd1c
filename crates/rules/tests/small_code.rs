//! A small code of our own, with every shape of claim in it. All names and numbers are invented.

use crate::common;

use common::*;
use rules::core::core;
use rules::escape::{Proof, escape};
use rules::range::{Range, range};
use rules::unproven::Unproven;
use rules::witness::{Witness, keeps};
use settings_model::cells::{Condition, FactTest, Partition, all_hold};
use settings_model::claim::{Bound, Claim, Evidence, Limit, Part, ProvenanceId, Term, Var};
use settings_model::exact::Exact;
use settings_model::facts::{FactId, Facts};
use settings_model::quantity::Amount;
use settings_model::source::Place;

const SUSTAINED: &str = "sustained-overvoltage/threshold";
const SUSTAINED_STATE: &str = "sustained-overvoltage/state";
const VOLT_WATT: &str = "volt-watt/points";
const VOLT_VAR: &str = "volt-var/points";
const EXPORT: &str = "export-limit/site-total";

fn nominal(volts: i64) -> Facts {
    let mut facts = Facts::default();
    facts.set_number(FactId::NominalVoltage, Exact::from(volts));
    facts
}

/// The witness, after checking that it keeps the old claims and breaks the new one.
fn escapes(old: &[Claim], new: &Claim, facts: &Facts) -> Witness {
    let proof = escape(old, new, &[], facts);
    let Proof::Escapes(witness) = proof else { panic!("{proof:?}") };
    for claim in old {
        assert_eq!(keeps(claim, &witness), Some(true), "{claim:?}");
    }
    assert_eq!(keeps(new, &witness), Some(false), "{new:?}");
    *witness
}

fn times_fact(on: &str, is_upper: bool, number: &str, fact: FactId) -> Claim {
    let bound = Bound::closed(Amount::times(exact(number), fact));
    Claim { on: Term::Var(var(on)), limit: if is_upper { Limit::AtMost(bound) } else { Limit::AtLeast(bound) }, why: ProvenanceId(0) }
}

#[test]
fn per_unit_against_volts_is_cut_at_the_nominal_voltage_where_they_cross() {
    let threshold = var(SUSTAINED);
    let (per_unit, volts) = (at_most(threshold, "1.10 pu"), at_most(threshold, "253"));

    let above = escapes(std::slice::from_ref(&per_unit), &volts, &Facts::default());
    assert_eq!(above.facts.number(FactId::NominalVoltage), Some(Exact::from(231)));
    assert_eq!(above.number(threshold), Some(exact("254.1")), "1.10 × 231 V");
    let below = escapes(std::slice::from_ref(&volts), &per_unit, &Facts::default());
    assert_eq!(below.facts.number(FactId::NominalVoltage), Some(Exact::from(229)));
    assert_eq!(below.number(threshold), Some(Exact::from(253)));

    for (old, new) in [(&per_unit, &volts), (&volts, &per_unit)] {
        assert_eq!(escape(std::slice::from_ref(old), new, &[], &nominal(230)), Proof::Implied);
    }
    let just_under = under(threshold, "1.10 pu");
    let edge = escapes(&[volts], &just_under, &nominal(230));
    assert_eq!(edge.number(threshold), Some(Exact::from(253)), "only the edge itself escapes");
}

/// Volt-var points with ranges of their own, each at least 0.02 pu above the one before.
fn volt_var() -> Vec<Claim> {
    let mut claims = Vec::new();
    for (n, low, high) in [(0u8, "207", "215"), (1, "200", "225"), (2, "222", "240"), (3, "235", "239")] {
        claims.push(line(at_least(x(VOLT_VAR, n), low), 10 + u32::from(n)));
        claims.push(line(at_most(x(VOLT_VAR, n), high), 20 + u32::from(n)));
    }
    claims.extend((1..4u8).map(|n| line(above_by(x(VOLT_VAR, n), x(VOLT_VAR, n - 1), "0.02 pu"), 30 + u32::from(n))));
    claims
}

#[test]
fn a_point_is_bounded_by_its_neighbours_and_the_range_names_the_lines() {
    let Range::Numbers(second) = range(&volt_var(), &nominal(230), x(VOLT_VAR, 1)).unwrap() else { panic!("numbers") };
    let (low, high) = (second.low.unwrap(), second.high.unwrap());
    assert_eq!((low.at, low.open, low.by), (exact("211.6"), false, vec![ProvenanceId(10), ProvenanceId(31)]), "207 V + 0.02 × 230 V");
    assert_eq!((high.at, high.open, high.by), (exact("225"), false, vec![ProvenanceId(21)]));

    let Range::Numbers(third) = range(&volt_var(), &nominal(230), x(VOLT_VAR, 2)).unwrap() else { panic!("numbers") };
    assert_eq!(third.high.unwrap().by, [ProvenanceId(23), ProvenanceId(33)], "the last point and the spacing, not its own 240 V");

    let Range::Numbers(waiting) = range(&volt_var(), &Facts::default(), x(VOLT_VAR, 1)).unwrap() else { panic!("numbers") };
    assert_eq!(waiting.low.unwrap().at, Exact::from(200), "nothing more is known before the nominal voltage is");
    assert_eq!(waiting.waits_for, [FactId::NominalVoltage]);
}

#[test]
fn a_contradiction_across_points_names_each_line_once_and_no_other() {
    let mut claims = volt_var();
    claims.push(line(at_least(x(VOLT_VAR, 0), "214"), 40)); // an overlay
    claims.push(line(at_most(x(VOLT_VAR, 2), "222.5"), 41)); // another one
    let why = |facts: &Facts| core(&claims, facts).map(|core| core.into_iter().map(|index| claims[index].why.0).collect::<Vec<_>>());
    assert_eq!(why(&nominal(230)), Some(vec![31, 32, 40, 41]), "214 V + 2 × 4.6 V is above 222.5 V");
    assert_eq!(why(&nominal(200)), None, "214 V + 2 × 4 V is 222 V, which is not");
}

#[test]
fn a_tie_between_functions_binds_only_while_both_are_enabled() {
    let (start, limit) = (x(VOLT_WATT, 0), var(SUSTAINED));
    let gap = Claim { limit: Limit::AtLeast(Bound::open(amount("0"))), ..above_by(limit, start, "0") };
    let mut old = vec![gap, at_most(limit, "258"), at_least(limit, "244")];
    let new = under(start, "258");

    let witness = escapes(&old, &new, &Facts::default());
    assert_eq!(witness.word(var(SUSTAINED_STATE)), Some(OFF), "with the limit switched off nothing holds the start down");
    assert_eq!(witness.number(limit), None);

    old.push(one_of(var(SUSTAINED_STATE), &[ENABLED]));
    assert_eq!(escape(&old, &new, &[], &Facts::default()), Proof::Implied);
    let witness = escapes(&old, &under(start, "257.5"), &Facts::default());
    assert_eq!(witness.number(start), Some(exact("257.5")));

    old.push(one_of(var("volt-watt/state"), &[ABSENT, OFF]));
    assert_eq!(escape(&old, &under(start, "100"), &[], &Facts::default()), Proof::Implied, "it can never be enabled");
}

#[test]
fn a_state_that_newly_must_be_enabled_strands_a_site_that_is_off() {
    let state = var(SUSTAINED_STATE);
    let old = [one_of(state, &[OFF, ENABLED]), at_most(var(SUSTAINED), "258")];
    let witness = escapes(&old, &one_of(state, &[ENABLED]), &Facts::default());
    assert_eq!(witness.word(state), Some(OFF));
    // The other way round the function must be enabled, so its own claims bind.
    let witness = escapes(&old, &one_of(state, &[ABSENT, OFF]), &Facts::default());
    assert_eq!(witness.number(var(SUSTAINED)), Some(Exact::from(258)));
    let impossible = [old[0].clone(), old[1].clone(), over(var(SUSTAINED), "258")];
    assert_eq!(escape(&impossible, &one_of(state, &[ABSENT, OFF]), &[], &Facts::default()), Proof::Implied);
    let Range::Words(words) = range(&old, &Facts::default(), state).unwrap() else { panic!("words") };
    assert_eq!(words.words, set(&[OFF, ENABLED]));
}

#[test]
fn newly_demanded_evidence_strands_sites_that_have_another_kind() {
    let threshold = var(SUSTAINED);
    let photo = known_by(threshold, &[Evidence::Read, Evidence::Photo]);
    let old = [at_most(threshold, "258")];
    assert_eq!(escapes(&old, &photo, &Facts::default()).evidence[&threshold], Evidence::Display);
    assert_eq!(escape(&[old[0].clone(), known_by(threshold, &[Evidence::Read])], &photo, &[], &Facts::default()), Proof::Implied);
    let both = [photo, known_by(threshold, &[Evidence::Statement]), old[0].clone()];
    assert_eq!(core(&both, &Facts::default()), Some(vec![0, 1]));
}

#[test]
fn a_demand_that_was_not_seen_is_neither_kept_nor_broken() {
    let (withstand, threshold) = (var("voltage-withstand/state"), var(SUSTAINED));
    let unproven = Proof::Unproven(Unproven::NotSeen);
    let limit = at_most(threshold, "258");
    assert_eq!(escape(std::slice::from_ref(&limit), &not_seen(threshold), &[], &Facts::default()), unproven);
    assert_eq!(escape(&[not_seen(threshold)], &limit, &[], &Facts::default()), unproven);
    assert_eq!(escape(&[not_seen(setting(VOLT_VAR).into())], &at_most(x(VOLT_VAR, 1), "230"), &[], &Facts::default()), unproven);
    assert_eq!(
        escape(&[not_seen(threshold), at_most(threshold, "250")], &limit, &[], &Facts::default()),
        Proof::Implied,
        "whatever else was not seen, 250 V is below 258 V"
    );
    escapes_beside_a_gap(&[not_seen(withstand), limit.clone()], &at_most(threshold, "250"));
    assert_eq!(core(&[not_seen(threshold), limit], &Facts::default()), None);
}

fn escapes_beside_a_gap(old: &[Claim], new: &Claim) {
    let Proof::Escapes(witness) = escape(old, new, &[], &Facts::default()) else { panic!("an unseen demand elsewhere changes nothing") };
    assert_eq!(keeps(&old[0], &witness), None, "the example does not pretend to keep what was not seen");
}

#[test]
fn a_limit_tied_to_an_unknown_approval_is_searched_with_it() {
    let old = [times_fact(EXPORT, true, "1", FactId::ApprovedExport)];
    let witness = escapes(&old, &at_most(var(EXPORT), "4000"), &Facts::default());
    assert_eq!(witness.facts.number(FactId::ApprovedExport), Some(Exact::from(5000)));
    let old = [at_most(var(EXPORT), "4000")];
    let witness = escapes(&old, &times_fact(EXPORT, true, "1", FactId::ApprovedExport), &Facts::default());
    assert!(witness.facts.number(FactId::ApprovedExport) < Some(Exact::from(4000)));
    let below_zero = [under(var(EXPORT), "0"), times_fact(EXPORT, false, "1", FactId::ApprovedExport)];
    assert_eq!(core(&below_zero, &Facts::default()), Some(vec![0, 1]), "no approval is below zero");
}

#[test]
fn phases_come_in_whole_numbers_up_to_three() {
    let per_phase = times_fact(EXPORT, true, "5000", FactId::Phases);
    assert_eq!(escape(std::slice::from_ref(&per_phase), &at_most(var(EXPORT), "15000"), &[], &Facts::default()), Proof::Implied);
    let witness = escapes(std::slice::from_ref(&per_phase), &at_most(var(EXPORT), "9000"), &Facts::default());
    assert_eq!(witness.facts.number(FactId::Phases), Some(Exact::from(2)));
    // Between 1.2 and 1.8 phases there is none.
    let removal = "export-limit/removal-time";
    let claims = [per_phase, at_least(var(EXPORT), "6000"), times_fact(removal, false, "5", FactId::Phases), at_most(var(removal), "9")];
    assert_eq!(core(&claims, &Facts::default()), Some(vec![0, 1, 2, 3]));
}

#[test]
fn a_count_of_points_is_whole() {
    let count = Var { part: Part::PointCount, ..var(VOLT_VAR) };
    let old = [over(count, "3"), under(count, "5")];
    for new in [at_least(count, "4"), at_most(count, "4")] {
        assert_eq!(escape(&old, &new, &[], &Facts::default()), Proof::Implied);
    }
    assert_eq!(core(&[over(count, "4"), under(count, "5")], &Facts::default()), Some(vec![0, 1]));
}

#[test]
fn what_cannot_be_shown_says_why() {
    let two = [times_fact(EXPORT, true, "0.5", FactId::ApprovedExport), times_fact(EXPORT, false, "0.3", FactId::NameplateTotal)];
    assert_eq!(
        escape(&two, &at_most(var(EXPORT), "4000"), &[], &Facts::default()),
        Proof::Unproven(Unproven::TwoUnknownFacts(FactId::ApprovedExport, FactId::NameplateTotal))
    );
    // Three times the nominal voltage is 250 V: possible, but no decimal number says it.
    let (a, b) = (var(SUSTAINED), var("reconnection/upper-voltage"));
    let third = [at_least(a, "3 pu"), at_most(a, "250"), at_most(b, "3 pu"), at_least(b, "250")];
    assert_eq!(core(&third, &Facts::default()), None);
    assert_eq!(escape(&third, &at_most(a, "249"), &[], &Facts::default()), Proof::Unproven(Unproven::NotWritable(FactId::NominalVoltage)));
    assert_eq!(escape(&third, &at_most(a, "250.1"), &[], &Facts::default()), Proof::Implied);
    let words_of_a_gap = Claim { limit: Limit::OneOf(set(&[OFF])), ..above_by(a, b, "0") };
    assert_eq!(escape(&[], &words_of_a_gap, &[], &Facts::default()), Proof::Unproven(Unproven::NoMeaning));
    // More digits than fit: an answer, and no panic.
    let widest = [at_most(a, "999999999 pu"), at_least(b, "0.000000001 pu"), above_by(a, b, "0.000000001")];
    let wide = Claim { limit: Limit::AtLeast(Bound::closed(Amount::plain(Exact::new(i64::MAX, 0)))), ..widest[0] };
    let Proof::Escapes(witness) = escape(&widest, &wide, &[], &Facts::default()) else { panic!("anything small keeps them") };
    assert!(widest.iter().all(|claim| keeps(claim, &witness) == Some(true)) && keeps(&wide, &witness) == Some(false));
}

/// Export limits that depend on the site: one phase 5 kW, otherwise 15 kW; a later version lowers
/// the limit of three-phase sites above 10 kVA.
#[test]
fn versions_are_compared_in_every_cell_of_both() {
    let test =
        |fact, low: Option<Bound>, high: Option<Bound>| Condition { fact, test: FactTest::Within { low, high }, place: Place::NOWHERE };
    let number = |n: i64| Amount::plain(Exact::from(n));
    let one_phase = test(FactId::Phases, None, Some(Bound::closed(number(1))));
    let large = test(FactId::NameplateTotal, Some(Bound::open(number(10_000))), None);
    let mut known = Facts::default();
    known.set_number(FactId::ApprovedExport, Exact::from(20_000));

    let limit = |watts: &str| [at_most(var(EXPORT), watts), one_of(var("export-limit/state"), &[ENABLED])];
    let old = |site: &Facts| if all_hold(&[one_phase], site) == Some(true) { limit("5000") } else { limit("15000") };
    let new = |site: &Facts| match (all_hold(&[one_phase], site), all_hold(&[large], site)) {
        (Some(false), Some(true)) => limit("10000"),
        _ => old(site),
    };
    let (mut stranded, mut cells) = (Vec::new(), 0);
    for site in Partition::of([&one_phase, &large]).cells(&known) {
        cells += 1;
        for claim in new(&site) {
            if let Proof::Escapes(witness) = escape(&old(&site), &claim, &[], &site) {
                assert_eq!(witness.number(var(EXPORT)), Some(Exact::from(15_000)));
                stranded.push((all_hold(&[one_phase], &site), all_hold(&[large], &site)));
            }
            assert_eq!(escape(&new(&site), &old(&site)[0], &[], &site), Proof::Implied, "nobody gains");
        }
    }
    assert_eq!((cells, stranded), (6, vec![(Some(false), Some(true))]));
}
