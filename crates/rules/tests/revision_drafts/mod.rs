//! Two versions of an invented network, and sites to try under both, drawn at random and written as
//! files. A network that fails a law shrinks to the few lines that make it fail.

mod grounds;
mod sites;
mod tried;

pub use grounds::*;
use proptest::prelude::*;
use proptest::sample::{select, subsequence};
pub use sites::*;
use std::fmt;
use std::fmt::Write as _;
pub use tried::*;

/// Conditions that exclude each other.
const SPLITS: [[&str; 2]; 4] = [
    ["phases: 1", "phases: 3"],
    ["nameplate-total: at most 10 kVA", "nameplate-total: over 10 kVA"],
    ["export-kind: fixed", "export-kind: dynamic"],
    ["applied: until 2026-06-30", "applied: from 2026-07-01"],
];

/// Kinds of evidence, strongest first, and sets of them that may be demanded.
const KNOWN_BY: [&str; 5] = ["read", "photo", "display", "test", "statement"];

/// Part of a statement: `, evidence: read or photo`, or nothing.
fn any_evidence() -> impl Strategy<Value = String> {
    let kinds = subsequence(KNOWN_BY.to_vec(), 1..=3).prop_map(|kinds| format!(", evidence: {}", kinds.join(" or ")));
    prop_oneof![3 => Just(String::new()), 1 => kinds]
}

/// `253 V to under 258 V`, with one end or both.
fn any_range(grid: &'static [&'static str], unit: &'static str) -> impl Strategy<Value = String> {
    let ends = (0..grid.len(), 0..grid.len(), any::<bool>(), any::<bool>(), 0..5u8);
    ends.prop_map(move |(one, other, low_open, high_open, form)| {
        let (low, high) = (grid[one.min(other)], grid[one.max(other)]);
        let open = one != other;
        match form {
            0 => format!("{} {high} {unit}", if high_open { "under" } else { "at most" }),
            1 => format!("{} {low} {unit}", if low_open { "over" } else { "at least" }),
            _ => format!(
                "{}{low} {unit} to {}{high} {unit}",
                if open && low_open { "over " } else { "" },
                if open && high_open { "under " } else { "" }
            ),
        }
    })
}

/// Part of a statement: within what a value may be moved, and by whom.
fn any_leave(range: BoxedStrategy<String>) -> impl Strategy<Value = String> {
    let who = select(vec!["nobody", "network operator", "installer"]);
    let leave = (range, who).prop_map(|(range, who)| format!(", adjustable: {range}, moved-by: {who}"));
    prop_oneof![2 => Just(String::new()), 1 => leave]
}

/// A value, and a range around it.
fn any_value_within(grid: &'static [&'static str], unit: &'static str) -> impl Strategy<Value = (&'static str, String)> {
    let last = grid.len() - 1;
    (0..=last, 0..=last, 0..=last).prop_map(move |(one, other, third)| {
        let mut order = [one, other, third];
        order.sort_unstable();
        (grid[order[1]], format!("{} {unit} to {} {unit}", grid[order[0]], grid[order[2]]))
    })
}

/// What a network says of a setting, for one kind of site.
fn any_verbs(shape: &'static Shape) -> BoxedStrategy<String> {
    match shape {
        Shape::Numbers(grid, unit) => {
            let require = any_value_within(grid, unit).prop_flat_map(move |(value, range)| {
                let leave = any_leave(Just(range).boxed());
                (leave, any_evidence()).prop_map(move |(leave, evidence)| format!("require: {value} {unit}{leave}{evidence}"))
            });
            let comply = (any_range(grid, unit), any_evidence()).prop_map(|(range, evidence)| format!("comply: {range}{evidence}"));
            let also = any_range(grid, unit).prop_map(|range| format!("also: {range}"));
            let one_of_several = (any_value_within(grid, unit), any_evidence())
                .prop_map(move |((value, range), evidence)| format!("require: {value} {unit}, comply: {range}{evidence}"));
            prop_oneof![3 => require, 3 => comply, 2 => also, 2 => one_of_several].boxed()
        }
        Shape::Summed(grid, unit) => {
            let most = select(*grid);
            prop_oneof![
                most.clone().prop_map(move |most| format!("comply: at most {most} {unit}")),
                most.prop_map(move |most| format!("also: at most {most} {unit}"))
            ]
            .boxed()
        }
        Shape::Words(words) => {
            let require = (select(*words), any_evidence()).prop_map(|(word, evidence)| format!("require: {word}{evidence}"));
            let comply = (subsequence(words.to_vec(), 1..=words.len()), any_evidence())
                .prop_map(|(words, evidence)| format!("comply: {}{evidence}", words.join(" or ")));
            prop_oneof![2 => require, 1 => comply].boxed()
        }
        Shape::Curves(curves, ranges) => {
            let leave = any_leave(select(*ranges).prop_map(str::to_owned).boxed());
            let require =
                (select(*curves), leave, any_evidence()).prop_map(|(curve, leave, evidence)| format!("require: {curve}{leave}{evidence}"));
            let x = if curves[0].contains("pu") { "pu" } else { "V" };
            let tolerances: &[&str] = if x == "pu" { &["0.005 pu", "0.01 pu"] } else { &["0.5 V", "1 V"] };
            let within = (select(*curves), select(tolerances), select(vec!["2 %", "3 %"]), any_evidence())
                .prop_map(|(curve, across, along, evidence)| format!("require: {curve}, response-within: [{across}, {along}]{evidence}"));
            let comply = select(*ranges).prop_map(|range| format!("comply: {range}"));
            prop_oneof![3 => require, 2 => within, 1 => comply].boxed()
        }
    }
}

/// What a network says of a setting: for every site, or case by case.
fn any_statement(shape: &'static Shape) -> BoxedStrategy<String> {
    let kinds = subsequence(KNOWN_BY.to_vec(), 1..=3).prop_map(|kinds| format!("{{ evidence: {}, source: guide }}", kinds.join(" or ")));
    let every = any_verbs(shape).prop_map(|verbs| format!("{{ {verbs}, source: guide }}"));
    let case = |when: &str, verbs: &str| format!("{{ when: {{ {when} }}, {verbs}, source: guide }}");
    let cases =
        (select(SPLITS.to_vec()), any_verbs(shape), prop::option::of(any_verbs(shape))).prop_map(move |([when, other], one, two)| {
            let rest = two.map_or("{ otherwise: as the layer below }".to_owned(), |two| case(other, &two));
            format!("{{ cases: [{}, {rest}] }}", case(when, &one))
        });
    match shape {
        Shape::Summed(..) => prop_oneof![2 => every, 1 => cases].boxed(),
        _ => prop_oneof![6 => every, 3 => cases, 1 => kinds].boxed(),
    }
}

/// Two versions of one network: of each setting, what the older says and what the newer says.
#[derive(Clone)]
pub struct Pair {
    pub said: Vec<[Option<String>; 2]>,
    slots: &'static [Slot],
}

pub fn any_pair(ground: &'static Ground) -> impl Strategy<Value = Pair> {
    let each = |slot: &'static Slot| {
        let both = any_statement(&slot.shape);
        prop_oneof![
            16 => Just([None, None]),
            8 => both.clone().prop_map(|said| [Some(said.clone()), Some(said)]),
            1 => both.clone().prop_map(|said| [Some(said), None]),
            1 => both.clone().prop_map(|said| [None, Some(said)]),
            2 => (both.clone(), both).prop_map(|(old, new)| [Some(old), Some(new)]),
        ]
    };
    let of_each: Vec<_> = ground.slots.iter().map(each).collect();
    of_each.prop_map(|said| Pair { said: one_unit(ground.slots, said), slots: ground.slots })
}

/// Of slots of the same setting, which differ in their unit, one speaks in a version: the first.
fn one_unit(slots: &[Slot], mut said: Vec<[Option<String>; 2]>) -> Vec<[Option<String>; 2]> {
    for n in 1..slots.len() {
        let (earlier, rest) = said.split_at_mut(n);
        let is_same = |m: usize| (slots[m].function, slots[m].parameter) == (slots[n].function, slots[n].parameter);
        for (version, statement) in rest[0].iter_mut().enumerate() {
            if earlier.iter().enumerate().any(|(m, said)| is_same(m) && said[version].is_some()) {
                *statement = None;
            }
        }
    }
    said
}

impl Pair {
    /// The file of the older version, or of the newer.
    pub fn text(&self, ground: &Ground, network: &str, newer: usize) -> String {
        let version = newer + 1;
        format!(
            "kind: overlay
network: {network}
title: Wending Lines (invented)
version: {version}.0.0
issue: {{ name: Issue {version}, published: 202{version}-01-01 }}
extends: {{ standard: {} }}
in-force: [{{ applied: from 202{version}-02-01 }}]
sources:
  guide: {{ document: Wending connection guide, basis: invented }}
{}",
            ground.standard,
            self.statements(newer)
        )
    }

    fn statements(&self, newer: usize) -> String {
        let mut text = String::new();
        let (mut block, mut function) = ("", "");
        for (slot, said) in self.slots.iter().zip(&self.said) {
            let Some(said) = &said[newer] else { continue };
            if slot.block != block {
                let _ = writeln!(text, "{}:", slot.block);
                (block, function) = (slot.block, "");
            }
            if slot.function != function {
                let _ = writeln!(text, "  {}:", slot.function);
                function = slot.function;
            }
            let _ = writeln!(text, "    {}: {said}", slot.parameter);
        }
        text
    }
}

impl fmt::Debug for Pair {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "\nolder:\n{}newer:\n{}", self.statements(0), self.statements(1))
    }
}
