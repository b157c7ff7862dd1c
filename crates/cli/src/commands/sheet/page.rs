//! The sheet for paper: one page of its own, without anything from elsewhere.

use super::blank::{Blank, Line};
use crate::render::origins::Origins;
use maud::{DOCTYPE, Markup, PreEscaped, html};
use std::io::{self, Write};

/// What stands at the head of the page.
pub struct Head<'h> {
    /// The site's own name.
    pub site: &'h str,
    /// That it was made for a lesson.
    pub training: Option<&'h str>,
    /// The day the question was asked for.
    pub as_of: String,
    /// What to mind before anything is set.
    pub cautions: Vec<&'h str>,
}

/// Writes the page.
pub fn write(out: &mut dyn Write, head: &Head<'_>, blanks: &[Blank]) -> io::Result<()> {
    let mut origins = Origins::default();
    let devices: Vec<Markup> = blanks.iter().map(|blank| device(blank, &mut origins)).collect();
    let page = html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                title { @if let Some(notice) = head.training { (notice) ": " } "Settings sheet, " (head.site) }
                style { (PreEscaped(STYLE)) }
            }
            body {
                @if let Some(notice) = head.training {
                    // at the top, and across every printed page
                    p.training role="note" { (notice) }
                    div.watermark aria-hidden="true" { (notice) }
                }
                header {
                    h1 { "Settings sheet" }
                    p.site { (head.site) }
                    p { "What is required here, as of " (head.as_of) ", with room for what was found and what was left." }
                }
                section.mind {
                    h2 { "Before anything is set" }
                    ul { @for caution in &head.cautions { li { (caution) } } }
                }
                @for device in devices { (device) }
                section.from {
                    h2 { "Where each figure was found" }
                    ol { @for origin in origins.all() { li { (origin) } } }
                }
                footer { "A number without a unit is taken in the unit of its row. An empty row is not proven. Only the network operator, local rules and the device's manual decide." }
            }
        }
    };
    writeln!(out, "{}", page.into_string())
}

fn device(blank: &Blank, origins: &mut Origins) -> Markup {
    let (to_fill, to_read): (Vec<&Line>, Vec<&Line>) = blank.lines.iter().partition(|line| line.is_to_fill);
    html! {
        section.device {
            h2 { (blank.device) }
            p.under { "under " (blank.under) }
            @if let Some(says) = &blank.unverified { p.unverified { strong { (says) } } }
            @for (task, words) in TO_FILL {
                @let lines: Vec<&Line> = to_fill.iter().copied().filter(|line| line.task == *task).collect();
                @if !lines.is_empty() { (fill_in(task, words, &lines, origins)) }
            }
            @if !to_read.is_empty() { (for_reading(&to_read, origins)) }
        }
    }
}

/// What a person does, and why it stands apart.
const TO_FILL: &[(&str, &str)] = &[
    ("SELECT", "on the device"),
    ("NOTE", "of the whole device"),
    ("ENTER", "the region does not bring these"),
    ("VERIFY ONLY", "these come with the region; read them back"),
    ("WORK OUT", "these follow from the devices chosen and the cables laid"),
];

fn fill_in(task: &str, words: &str, lines: &[&Line], origins: &mut Origins) -> Markup {
    html! {
        // a short table stays whole on paper
        table.fill.short[lines.len() <= SHORT] {
            caption { b { (task) } " " (words) }
            thead { tr {
                th.setting scope="col" { "Setting" } th.required scope="col" { "Required" } th.complies scope="col" { "Complies within" }
                th.blank scope="col" { "As found" } th.blank scope="col" { "As left" }
                th.mark scope="col" { "Photo" } th.mark scope="col" { "Initials" } th.source scope="col" { "From" }
            } }
            @for (function, group) in by_function(lines) {
                tbody {
                    tr { th.function colspan="8" scope="rowgroup" { (function) } }
                    @for line in group {
                        tr {
                            th.setting scope="row" {
                                (line.title.1)
                                @if line.key.contains('>') { span.display { "display: " (line.key) } }
                            }
                            td.required { (points(&line.required)) }
                            td.complies {
                                (points(complies(line)))
                                @if !line.evidence.is_empty() { span.evidence { "known by " (line.evidence) } }
                                @if may_be_moved(line) { span.moved { "may be changed by " (line.moved_by) } }
                            }
                            @for _ in 0..2 { td.blank { span.unit { (line.unit) } } }
                            td.mark {} td.mark {}
                            td.source { (source(line, origins)) }
                        }
                    }
                }
            }
        }
    }
}

fn for_reading(lines: &[&Line], origins: &mut Origins) -> Markup {
    html! {
        table.read {
            caption { b { "NOT SET BY HAND" } " the device's certificate stands for these, or they were not seen" }
            thead { tr { th scope="col" { "Setting" } th scope="col" { "Complies within" } th.source scope="col" { "From" } } }
            tbody { @for line in lines {
                tr {
                    th scope="row" { (line.title.0) ": " (line.title.1) }
                    td { (points(&line.complies_within)) }
                    td.source { (source(line, origins)) }
                }
            } }
        }
    }
}

fn complies(line: &Line) -> &str {
    if line.required == line.complies_within { "just that" } else { &line.complies_within }
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

/// The number of a source in the list at the end, and how sure it is.
fn source(line: &Line, origins: &mut Origins) -> Markup {
    if line.from.is_empty() {
        return html! {};
    }
    html! { (origins.number(&line.from)) br; (line.basis) }
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

/// Lines of a table that fit a page with what stands above it.
const SHORT: usize = 8;

const STYLE: &str = include_str!("page.css");
