//! Sites to try: their facts, and what their device holds.

use super::KNOWN_BY;
use super::grounds::{Ground, Shape, Slot};
use proptest::prelude::*;
use proptest::sample::select;
use std::fmt::Write as _;

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
