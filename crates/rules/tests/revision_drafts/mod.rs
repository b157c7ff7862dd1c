//! Two versions of an invented network, and sites to try under both, drawn at random and written as
//! files. A network that fails a law shrinks to the few lines that make it fail.

use proptest::prelude::*;
use proptest::sample::{select, subsequence};
use std::fmt;
use std::fmt::Write as _;

/// What a network stands on, and what it may say there.
pub struct Ground {
    pub standard: &'static str,
    pub region: &'static str,
    /// As a device's file states it.
    pub certified: &'static str,
    /// Nominal voltages that its sites may have.
    pub nominal: &'static [&'static str],
    pub slots: &'static [Slot],
}

/// A setting that a network may speak of.
pub struct Slot {
    /// `settings` or `installation`.
    pub block: &'static str,
    pub function: &'static str,
    pub parameter: &'static str,
    pub shape: Shape,
}

/// What may be said of it, and held.
pub enum Shape {
    /// Numbers in ascending order, without their unit.
    Numbers(&'static [&'static str], &'static str),
    /// What follows from other things that a site states.
    Summed(&'static [&'static str], &'static str),
    Words(&'static [&'static str]),
    /// Each with ranges in which its points may be moved.
    Curves(&'static [&'static str], &'static [&'static str]),
}

const fn slot(function: &'static str, parameter: &'static str, shape: Shape) -> Slot {
    Slot { block: "settings", function, parameter, shape }
}

const STATES: Shape = Shape::Words(&["absent", "off", "enabled"]);

pub const AS_NZS: Ground = Ground {
    standard: "as-nzs-4777.2/2020-amd2",
    region: "australia-a",
    certified: "{ standard: as-nzs-4777.2, edition: { year: 2020, amendment: 2 } }",
    nominal: &["230 V"],
    slots: &[
        slot("sustained-overvoltage", "threshold", Shape::Numbers(&["250", "253", "255", "258", "262"], "V")),
        slot("overvoltage-1", "threshold", Shape::Numbers(&["260", "263", "265"], "V")),
        slot("overvoltage-1", "definite-delay", Shape::Numbers(&["0.5", "1", "1.5", "1.9"], "s")),
        slot("reconnection", "ramp-rate", Shape::Numbers(&["5", "10", "16.67", "20"], "%/min")),
        slot("volt-watt", "state", STATES),
        slot(
            "volt-watt",
            "points",
            Shape::Curves(
                &["[[253 V, 100 %], [260 V, 20 %]]", "[[250 V, 100 %], [260 V, 20 %]]", "[[253 V, 100 %], [256.5 V, 60 %], [260 V, 20 %]]"],
                &["[[250 V to 254 V, 100 %], [258 V to 262 V, 0 % to 20 %]]", "[[253 V, 100 %], [260 V, 10 % to 30 %]]"],
            ),
        ),
        slot("fixed-power-factor", "state", STATES),
        slot("export-limit", "state", STATES),
        slot("export-limit", "site-total", Shape::Numbers(&["3", "5", "10", "15"], "kW")),
        slot("export-limit", "hard-limit", Shape::Numbers(&["5", "10", "15"], "kW")),
        slot("export-sensor", "direction", Shape::Words(&["correct", "reversed"])),
        Slot {
            block: "installation",
            function: "site-rating",
            parameter: "nameplate-total",
            shape: Shape::Summed(&["5", "10", "15"], "kVA"),
        },
    ],
};

pub const IEEE: Ground = Ground {
    standard: "ieee-1547/2018-amd1",
    region: "b-iii",
    certified: "{ standard: ieee-1547, edition: { year: 2018, amendment: 1 } }",
    nominal: &["120 V", "240 V", "277 V"],
    slots: &[
        slot("overvoltage-1", "threshold", Shape::Numbers(&["1.08", "1.10", "1.15", "1.20"], "pu")),
        slot("overvoltage-1", "clearing-time", Shape::Numbers(&["1", "11", "13", "14"], "s")),
        slot("undervoltage-2", "threshold", Shape::Numbers(&["0.45", "0.50", "0.60"], "pu")),
        slot("undervoltage-2", "clearing-time", Shape::Numbers(&["0.5", "2", "11", "21"], "s")),
        slot("undervoltage-3", "state", STATES),
        slot("undervoltage-3", "threshold", Shape::Numbers(&["0.30", "0.45"], "pu")),
        slot("undervoltage-3", "clearing-time", Shape::Numbers(&["0.16", "1.4"], "s")),
        slot("reconnection", "upper-voltage", Shape::Numbers(&["1.05", "1.055", "1.06", "1.10"], "pu")),
        slot("reconnection", "upper-voltage", Shape::Numbers(&["126", "127.2", "252", "254.4"], "V")),
        slot("volt-var", "state", STATES),
        slot("volt-var", "reference-voltage", Shape::Numbers(&["0.97", "1", "1.02"], "pu")),
        slot(
            "volt-var",
            "points",
            Shape::Curves(
                &[
                    "[[0.92 pu, 44 %], [0.98 pu, 0 %], [1.02 pu, 0 %], [1.08 pu, -44 %]]",
                    "[[0.92 pu, 44 %], [0.97 pu, 0 %], [1.02 pu, 0 %], [1.08 pu, -44 %]]",
                    "[[0.92 pu, 44 %], [0.95 pu, 22 %], [0.98 pu, 0 %], [1.02 pu, 0 %], [1.08 pu, -44 %]]",
                ],
                &[
                    "[[reference - 0.18 pu to next - 0.02 pu, 0 % to 44 %], [reference - 0.03 pu to reference, 0 %], [reference to reference + 0.03 pu, 0 %], [previous + 0.02 pu to reference + 0.18 pu, -44 % to 0 %]]",
                    "[[0.90 pu to 0.94 pu, 44 %], [0.96 pu to 0.99 pu, 0 %], [1.02 pu, 0 %], [1.08 pu, -44 % to -30 %]]",
                ],
            ),
        ),
        slot("fixed-power-factor", "state", STATES),
        slot("power-priority", "first", Shape::Words(&["active-power", "reactive-power"])),
    ],
};

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

/// The facts of a site.
#[derive(Clone, Debug)]
pub struct Place {
    phases: u8,
    nameplate: &'static str,
    export: &'static str,
    approved: &'static str,
    applied: Option<&'static str>,
    nominal: &'static str,
}

pub fn any_place(ground: &'static Ground) -> impl Strategy<Value = Place> {
    let dates = vec![Some("2026-06-30"), Some("2026-07-01"), None];
    let facts = (select(vec![1, 3]), select(vec!["5 kVA", "10 kVA", "10.001 kVA", "15.001 kVA"]), select(vec!["fixed", "dynamic"]));
    let more = (select(vec!["5 kW", "15 kW"]), select(dates), select(ground.nominal));
    (facts, more).prop_map(|((phases, nameplate, export), (approved, applied, nominal))| Place {
        phases,
        nameplate,
        export,
        approved,
        applied,
        nominal,
    })
}

/// What a device holds in one slot: the number of a value, and how it is known; or nothing stated.
pub type Holds = Option<(usize, &'static str)>;

/// A choice among values that are good, or all values; see [`Pick::of`].
#[derive(Clone, Copy, Debug)]
pub struct Pick {
    value: usize,
    chance: u8,
    known_by: &'static str,
}

pub fn any_pick() -> impl Strategy<Value = Pick> {
    let known_by = prop_oneof![5 => Just(KNOWN_BY[0]), 2 => select(KNOWN_BY.to_vec())];
    (0..1000usize, 0..100u8, known_by).prop_map(|(value, chance, known_by)| Pick { value, chance, known_by })
}

impl Pick {
    /// Mostly one of the good values, at times any, at times none.
    pub fn of(self, good: &[usize], all: usize) -> Holds {
        match self.chance {
            0..=94 if !good.is_empty() => Some((good[self.value % good.len()], self.known_by)),
            0..=97 => Some((self.value % all, self.known_by)),
            _ => None,
        }
    }
}

impl Slot {
    /// Values to try: every edge that a network may write, and both sides of it.
    pub fn values(&self) -> Vec<String> {
        match &self.shape {
            Shape::Numbers(grid, unit) => grid
                .iter()
                .flat_map(|at| {
                    let beside = |by: i64| {
                        let at = settings_model::exact::Exact::parse(at).unwrap();
                        format!("{} {unit}", at + settings_model::exact::Exact::new(by, 3))
                    };
                    [beside(-1), format!("{at} {unit}"), beside(1)]
                })
                .collect(),
            Shape::Summed(..) => Vec::new(),
            Shape::Words(words) => words.iter().map(|word| (*word).to_owned()).collect(),
            Shape::Curves(curves, _) => {
                let shifted = |from: &str, to: &str| curves.iter().map(|curve| curve.replace(from, to)).collect::<Vec<_>>();
                let mut values =
                    [shifted("", ""), shifted("253 V", "253.4 V"), shifted("253 V", "252 V"), shifted("20 %", "18 %")].concat();
                values.extend([shifted("0.98 pu", "0.984 pu"), shifted("0.92 pu", "0.93 pu"), shifted("-44 %", "-42 %")].concat());
                values.sort();
                values.dedup();
                values
            }
        }
    }
}

/// A site's file. Values that nobody states are those of the selected region.
pub fn site(ground: &Ground, network: &str, place: &Place, held: &[Holds], values: &[Vec<String>]) -> String {
    let Place { phases, nameplate, export, approved, applied, nominal } = place;
    let dates = applied.map(|applied| format!("dates: {{ applied: {applied} }}\n")).unwrap_or_default();
    let mut text = format!(
        "kind: site
site: tried
network: {network}
requirements: {{ region: {region} }}
{dates}supply: {{ phases: {phases}, nominal: {nominal} line-neutral }}
export: {{ kind: {export}, approved: {approved}, reference: tried }}
devices:
  inverter-1:
    certified: {certified}
    source: solar
    nameplate: {nameplate}
    phases: {phases}
    as-left:
      role: licensed installer
      region-selected: {region}
      settings:
",
        region = ground.region,
        certified = ground.certified,
    );
    let mut function = "";
    let mut stated: Vec<(&str, &str)> = Vec::new();
    for ((slot, holds), values) in ground.slots.iter().zip(held).zip(values) {
        let Some((value, known_by)) = holds.filter(|_| !values.is_empty()) else { continue };
        if stated.contains(&(slot.function, slot.parameter)) {
            continue;
        }
        stated.push((slot.function, slot.parameter));
        if slot.function != function {
            let _ = writeln!(text, "        {}:", slot.function);
            function = slot.function;
        }
        let _ = writeln!(text, "          {}: {{ value: {}, known-by: {known_by} }}", slot.parameter, values[value % values.len()]);
    }
    if stated.is_empty() {
        text = text.trim_end_matches("      settings:\n").to_owned();
    }
    text
}
