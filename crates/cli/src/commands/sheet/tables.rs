//! The tables of a sheet: what is required, what complies, and how sure that is.

use crate::render::{self, table};
use rules::sheet::{Row, Task};
use settings_model::entry::Who;

/// What stands where the value to set is the only one that complies.
pub const EXACTLY: &str = "exactly this value";

/// How much a table says.
#[derive(Clone, Copy, PartialEq, Eq)]
pub enum Says {
    /// What somebody at the site acts on.
    WhatToDo,
    /// Also by what a value has to be proved, who may change it, and volts in per unit.
    All,
}

/// A table of rows under the names of their functions; `last` is the last column: its name, and what it says of a row.
pub fn of<'r>(rows: &[&'r Row], says: Says, width: usize, last: (&str, &mut dyn FnMut(&'r Row) -> String)) -> String {
    let (heading, last) = last;
    // what nobody sets has no value to set
    let is_set = rows.iter().any(|row| !matches!(row.task, Task::TypeTest | Task::WorkOut));
    let headings = ["Setting"].into_iter().chain(is_set.then_some("Required setting")).chain(["Complies within", heading]);
    let mut table = table::of_headings(headings, width);
    let names: Vec<String> = rows.iter().map(|row| format!("{}{}", table::INDENT, row.setting.parameter().title)).collect();
    table::whole(&mut table, 0, names.iter().map(String::as_str));
    let mut titles: Vec<&str> = Vec::new();
    for (row, name) in rows.iter().zip(names) {
        let function = row.setting.function().title;
        let starts = titles.last() != Some(&function);
        if starts {
            titles.push(function);
        }
        let name = if starts { table::group_start(&name) } else { name };
        let required = is_set.then(|| required(row, says));
        let cells = [name].into_iter().chain(required).chain([complies(row, is_set, says), last(row)]);
        table.add_row(cells.map(|cell| render::unbroken(&cell)));
    }
    if is_set {
        let words = rows.iter().flat_map(|row| row.required.split_whitespace()).map(|word| word.chars().count()).max();
        table::at_least(&mut table, 1, words.unwrap_or_default().clamp(12, 20) as u16 + 2);
    }
    let complies = if is_set { 2 } else { 1 };
    table::whole(&mut table, complies, rows.iter().any(|row| row.required == row.complies_within).then_some(EXACTLY));
    table::at_least(&mut table, complies + 1, if says == Says::All { 17 } else { 12 });
    table::lines(&table, &titles)
}

/// The value to set, and all that is said of it in per unit.
fn required(row: &Row, says: Says) -> String {
    let Some(per_unit) = row.per_unit.as_ref().filter(|_| says == Says::All) else { return one_a_line(&row.required) };
    let each = row.required.split(", ").zip(per_unit.split(", "));
    each.map(|(value, pu)| format!("{value} ({pu} pu)")).collect::<Vec<_>>().join("\n")
}

/// What complies; all that is said of it besides: by what it has to be proved, and who may change it.
fn complies(row: &Row, beside_required: bool, says: Says) -> String {
    let within = match row.required == row.complies_within && beside_required {
        true => EXACTLY.to_owned(),
        false => one_a_line(&row.complies_within),
    };
    let evidence = row.known_by.as_ref().map(|kinds| format!("evidence: {kinds}"));
    let changed = match &row.moved_by {
        (Who::Nobody, _) => None,
        (who, Some(range)) => Some(format!("{} may set {}", who.word(), one_a_line(range))),
        (who, None) => Some(format!("{} may change it", who.word())),
    };
    let more = evidence.into_iter().chain(changed).filter(|_| says == Says::All);
    [within].into_iter().chain(more).collect::<Vec<_>>().join("\n")
}

/// Points of a curve stand one a line.
fn one_a_line(points: &str) -> String {
    points.replace(", ", "\n")
}
