//! The tables of the page: those to fill in, and those that are only read.

use super::super::blank::{Blank, Line};
use super::super::crew::READ_ALL;
use super::super::tables::EXACTLY;
use crate::render::origins::Origins;
use maud::{Markup, html};
use rules::sheet::DeviceSheet;

/// What a person does, and why it stands apart.
const TO_FILL: &[(&str, &str)] = &[
    ("SELECT", "on the device"),
    (NOTED, "of the whole device"),
    ("ENTER", "the region does not bring these"),
    ("VERIFY ONLY", "these come with the region; read them back"),
    ("WORK OUT", "these follow from the devices chosen and the cables laid"),
];

/// The lines that somebody acts on; with `all`, every line that can be filled in.
pub fn to_fill_in(sheet: &DeviceSheet, blank: &Blank, all: bool, origins: &mut Origins) -> Markup {
    let asked = |line: &&Line| line.is_to_fill && (all || line.is_acted_on);
    html! {
        table.fill {
            thead { tr {
                th.setting scope="col" { "Setting" } th.required scope="col" { "Required" } th.complies scope="col" { "Complies within" }
                th.blank scope="col" { "As found" } th.blank scope="col" { "As left" }
                th.mark scope="col" { "Photo" } th.mark scope="col" { "Initials" } th.source scope="col" { "Basis" }
            } }
            @for (task, words) in TO_FILL {
                @let lines: Vec<&Line> = blank.lines.iter().filter(asked).filter(|line| line.task == *task).collect();
                @let words = if *task == "VERIFY ONLY" && !sheet.region_stands { READ_ALL } else { words };
                @if !lines.is_empty() {
                    tbody { tr { th.task colspan="8" scope="rowgroup" { b { (task) } " " (words) } } }
                    (groups(&blank.device, &lines, all.then_some(&mut *origins)))
                }
            }
        }
    }
}

fn groups(device: &str, lines: &[&Line], mut origins: Option<&mut Origins>) -> Markup {
    html! {
        @for (function, group) in by_function(lines) {
            tbody {
                // what is noted of the whole device says itself what it is
                @if group.iter().any(|line| !line.from.is_empty()) { tr { th.function colspan="8" scope="rowgroup" { (function) } } }
                @for line in group { (row(device, line, origins.as_deref_mut())) }
            }
        }
    }
}

fn row(device: &str, line: &Line, origins: Option<&mut Origins>) -> Markup {
    let with_mark = line.task != NOTED;
    html! {
        tr data-device=(device) data-setting=(line.key) data-required=(line.required) data-unit=(line.unit) {
            th.setting scope="row" {
                (line.title.1)
                @if line.key.contains('>') { span.display { "display: " (line.key) } }
            }
            td.required { (points(&line.required)) }
            td.complies {
                (points(complies(line)))
                @if !line.evidence.is_empty() { span.evidence { "evidence: " (line.evidence) } }
                // on the page of a crew it would only invite to change it
                @if origins.is_some() && may_be_moved(line) { span.moved { "may be changed by " (line.moved_by) } }
            }
            td.blank { (place(device, line, "as found")) }
            td.blank.left { (place(device, line, "as left")) }
            td.mark { @if with_mark { (place(device, line, "photo")) } }
            td.mark { @if with_mark { (place(device, line, "initials")) } }
            td.source { (source(line, origins)) }
        }
    }
}

/// The task of what is noted of the whole device.
const NOTED: &str = "NOTE";

/// An empty place: a field on a screen, a box on paper.
fn place(device: &str, line: &Line, column: &str) -> Markup {
    let is_value = column.starts_with("as ");
    let name = format!("{device}, {}: {}, {column}", line.title.0, line.title.1);
    let is_number = is_value && !line.unit.is_empty() && !line.required.contains(" at ");
    html! {
        label {
            span.column { (column) }
            @if is_value && !line.choices.is_empty() {
                select data-column=(column) aria-label=(name) { option value="" {} @for word in &line.choices { option { (word) } } }
            } @else {
                input type=(if line.key == "date" { "date" } else { "text" }) required[line.key == "date"] data-column=(column) aria-label=(name) autocomplete="off" autocapitalize="off" spellcheck="false"
                    inputmode=[is_number.then_some("decimal")];
            }
            @if is_value && !line.unit.is_empty() { span.unit { (line.unit) } }
        }
    }
}

/// What nobody fills in, for reading.
pub fn to_read(blank: &Blank, origins: &mut Origins) -> Markup {
    let lines: Vec<&Line> = blank.lines.iter().filter(|line| !line.is_to_fill).collect();
    html! {
        @if !lines.is_empty() {
            table.read {
                caption { b { "NOT SET BY HAND" } " the device's certificate proves these, or their tables are not in the profile" }
                thead { tr { th scope="col" { "Setting" } th scope="col" { "Complies within" } th.source scope="col" { "From" } } }
                tbody { @for line in lines {
                    tr {
                        th scope="row" { (line.title.0) ": " (line.title.1) }
                        td { (points(&line.complies_within)) }
                        td.source { (source(line, Some(&mut *origins))) }
                    }
                } }
            }
        }
    }
}

fn complies(line: &Line) -> &str {
    if line.required == line.complies_within { EXACTLY } else { &line.complies_within }
}

fn may_be_moved(line: &Line) -> bool {
    !matches!(line.moved_by.as_str(), "" | "nobody")
}

/// Points of a curve stand one a line.
fn points(text: &str) -> Markup {
    let points: Vec<&str> = text.split(", ").collect();
    if !points.iter().all(|point| point.contains(" at ")) {
        return html! { (text) };
    }
    html! { @for (n, point) in points.iter().enumerate() { @if n > 0 { br; } (point) } }
}

/// How sure a figure is, and where sources are listed, the number of its own.
fn source(line: &Line, origins: Option<&mut Origins>) -> Markup {
    html! {
        @if !line.from.is_empty() {
            @if let Some(origins) = origins { (origins.mark(&line.from)) br; }
            (line.basis)
        }
    }
}

fn by_function<'l>(lines: &[&'l Line]) -> Vec<(&'static str, Vec<&'l Line>)> {
    let mut groups: Vec<(&'static str, Vec<&Line>)> = Vec::new();
    for line in lines {
        match groups.last_mut() {
            Some((function, group)) if *function == line.title.0 => group.push(line),
            _ => groups.push((line.title.0, vec![line])),
        }
    }
    groups
}
