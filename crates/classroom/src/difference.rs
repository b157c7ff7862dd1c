//! Two choices at one position, side by side.

use super::overlaid::overlaid;
use super::panel::{Panel, apart};
use super::sentence::measured;
use maud::{Markup, html};
use rules::phrase::{capitalised, unbroken};
use rules::trip_map::Slice;
use views::operating::in_thousands;
use views::trip_map::map::Map;
use views::trip_map::words::{off, stays};

/// What differs, in a sentence and a table.
pub fn difference(one: &Panel<'_>, other: &Panel<'_>) -> Markup {
    html! {
        p.sentence { (unbroken(&sentence(one, other))) }
        (overlaid(one, other))
        div.scroll tabindex="0" role="region" aria-label="Difference" {
            table.difference {
                thead { tr { th scope="col" { "Here" } th scope="col" { "First" } th scope="col" { "Second" } th scope="col" { "Second less first" } } }
                tbody {
                    @for (title, unit, own, its) in powers(one, other) {
                        tr {
                            th scope="row" { (title) } td { (in_thousands(own, unit)) } td { (in_thousands(its, unit)) }
                            td { b { (apart(own, its, unit)) } }
                        }
                    }
                    tr { th scope="row" { "Held by" } td { (one.point.held_by.phrase()) } td { (other.point.held_by.phrase()) } td { (alike(one.point.held_by == other.point.held_by)) } }
                    @for (title, own, its) in times(one, other) {
                        tr { th scope="row" { (title) } td { (unbroken(&own)) } td { (unbroken(&its)) } td { (alike(own == its)) } }
                    }
                }
            }
        }
    }
}

type Row = (&'static str, &'static str, f64, f64);

fn powers(one: &Panel<'_>, other: &Panel<'_>) -> [Row; 3] {
    let (own, its) = (&one.point, &other.point);
    [
        ("Active power", "kW", own.active, its.active),
        ("Reactive power", "kvar", own.reactive, its.reactive),
        ("Apparent power", "kVA", own.apparent(), its.apparent()),
    ]
}

/// How long each stays on, by voltage and by frequency.
fn times(one: &Panel<'_>, other: &Panel<'_>) -> Vec<(String, String, String)> {
    let mut rows = Vec::new();
    for map in &one.loaded.maps {
        let Some(beside) = other.loaded.maps.iter().find(|beside| beside.measured() == map.measured()) else { continue };
        let slice = |panel: &Panel<'_>| measured(panel.loaded, &panel.position, map.measured());
        let ((value, nominal), (its_value, its_nominal)) = (slice(one), slice(other));
        let (own, its) = (map.slice_at(value, nominal), beside.slice_at(its_value, its_nominal));
        let words = |slice: &Slice, map: &Map| match off(slice, map).as_str() {
            "-" => stays(slice, map),
            off => format!("{}; off {off}", stays(slice, map)),
        };
        rows.push((format!("{}: must stay on", capitalised(map.measured().name())), words(own, map), words(its, beside)));
    }
    rows
}

fn alike(is_same: bool) -> &'static str {
    if is_same { "the same" } else { "differs" }
}

/// `it absorbs 2.4 kvar less`: what is below zero is no number to be higher than.
fn reactively((_, unit, own, its): Row, by: &str) -> String {
    let (absorbs, more) = (own <= 0.0 && its <= 0.0, its.abs() > own.abs());
    let is_one_way = absorbs || (own >= 0.0 && its >= 0.0);
    let (verb, size) = (if its < 0.0 { "absorbs" } else { "supplies" }, in_thousands(its.abs(), unit));
    let opposite = if own < 0.0 { "absorbs" } else { "supplies" };
    match is_one_way {
        true => format!("it {} {by} {}", if absorbs { "absorbs" } else { "supplies" }, if more { "more" } else { "less" }),
        false => format!("it {verb} {size}, where the first {opposite} {}", in_thousands(own.abs(), unit)),
    }
}

/// `In the second, active power is 1.2 kW lower; it absorbs 2.4 kvar less.`
pub fn sentence(one: &Panel<'_>, other: &Panel<'_>) -> String {
    let [active, reactive, _] = powers(one, other);
    let differs = |(_, unit, own, its): Row| in_thousands(own, unit) != in_thousands(its, unit);
    let times = times(one, other);
    let stays_alike = times.iter().all(|(_, own, its)| own == its);
    let mut said = Vec::new();
    let by = |(_, unit, own, its): Row| apart(own, its, unit).trim_start_matches(['+', '-']).to_owned();
    if differs(active) {
        let (_, _, own, its) = active;
        said.push(format!("active power is {} {}", by(active), if its > own { "higher" } else { "lower" }));
    }
    if differs(reactive) {
        said.push(reactively(reactive, &by(reactive)));
    }
    if !stays_alike {
        said.push("it has to stay on for another time, or be off by another".to_owned());
    }
    if said.is_empty() { "Here the two do the same.".to_owned() } else { format!("In the second, {}.", said.join("; ")) }
}
