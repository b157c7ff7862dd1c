//! The answer for people: one screen of 80 columns.

use super::Pictures;
use super::words::minutes;
use crate::render::{self, table, wrapped};
use crate::report::behaves::{BehavesLog, BehavesReport, FunctionReport, RangeReport};
use plot::braille;
use std::io::{self, Write};
use views::played::events::grouped;
use views::played::sentences::lasting;

/// How many lines a plot takes.
const PLOT: usize = 16;
/// How many of the times outside are told without `--all`.
const TOLD: usize = 1;

/// Writes the answer; with `all`, what was left out and assumed too.
pub fn write(out: &mut dyn Write, report: &BehavesReport, all: Option<&Pictures>) -> io::Result<()> {
    let pictures = all;
    let all = all.is_some();
    let told = if all { usize::MAX } else { TOLD };
    let width = render::width();
    let BehavesReport { site, device, .. } = report;
    render::title(out, &report.headline, &format!("{site} / {device}, {}", report.settings.replace('-', " ")))?;
    let mut line = |text: &str| writeln!(out, "  {}", wrapped(text, width - 2, 4));
    line(&log(&report.log))?;
    line(&format!("{}; tolerance of a response: {}", report.accuracy.says, tolerance(report)))?;
    if let Some(unverified) = &report.unverified {
        line(unverified)?;
    }
    writeln!(out, "\n{}", functions(report, width))?;
    for function in &report.functions {
        if let Some(looks_like) = &function.looks_like {
            writeln!(out, "  {}", wrapped(&format!("{}: {}", named(function), looks_like.says), width - 2, 4))?;
        }
    }
    list(out, "NOT SHOWN", "what would show it", &needs(report), width)?;
    list(out, "WHEN", "the longest times outside, whatever the error of the meter", &times(report, told), width)?;
    list(out, "EVENTS", "what happened at a time", &happened(report), width)?;
    list(out, "TOGETHER", "what is set, what is required, and what it did", &report.together, width)?;
    list(out, "LIKELY", "what these answers rest on, which nobody stated", &rests_on(report), width)?;
    for (_, figure) in pictures.into_iter().flatten() {
        writeln!(out, "\n{}", braille::plot(figure, width, PLOT, render::colour()).trim_end())?;
    }
    if all {
        list(out, "ASSUMED", "", &report.assumed.iter().map(|assumed| render::capitalised(assumed)).collect::<Vec<_>>(), width)?;
        list(out, "LEFT OUT", "not used", &left_out(&report.log), width)?;
        list(out, "THE LOG", "", &report.log.notes, width)?;
    }
    if !report.look_into.is_empty() {
        render::heading(out, "LOOK INTO", "in this order")?;
        for (n, step) in report.look_into.iter().enumerate() {
            writeln!(out, "  {}", wrapped(&format!("{}. {step}", n + 1), width - 2, 5))?;
        }
    }
    let more = if all { "" } else { " More with --all." };
    writeln!(out, "\n{}", wrapped(&format!("{}{more}", report.cautions.join(" ")), width, 0))
}

fn log(log: &BehavesLog) -> String {
    let days = if log.days == 1 { "1 day".to_owned() } else { format!("{} days", log.days) };
    let place = match log.measured_at {
        "terminals" => "at the terminals".to_owned(),
        "not-stated" => "the place of the meter not stated".to_owned(),
        place => format!("at the {}", if place == "supply" { "point of supply" } else { place }),
    };
    format!("{}: {days}, {} rows of {}, {} apart, {place}", log.file, grouped(log.rows), log.values, lasting(log.step))
}

fn tolerance(report: &BehavesReport) -> String {
    format!("{} % of {:.1} kVA ({})", report.tolerance.percent_of_rating, report.rated / 1e3, report.tolerance.source)
}

fn functions(report: &BehavesReport, width: usize) -> String {
    let has_size = report.functions.iter().any(|function| function.size.is_some());
    let shown = |n: usize| n != 3 || has_size;
    let headings = ["Function", "Answer", "Shown over", "By how much", "How sure", "Rests on"];
    let mut table = table::of_headings(headings.into_iter().enumerate().filter(|(n, _)| shown(*n)).map(|(_, heading)| heading), width);
    let titles: Vec<String> = report.functions.iter().map(named).collect();
    table::whole(&mut table, 0, titles.iter().flat_map(|title| title.split(' ')));
    let answers: Vec<String> = report.functions.iter().map(|function| function.answer.replace('-', " ")).collect();
    table::whole(&mut table, 1, answers.iter().map(String::as_str));
    for ((function, title), answer) in report.functions.iter().zip(titles).zip(answers) {
        let cells = [
            title,
            answer,
            function.shown_over.as_ref().map_or_else(|| "-".to_owned(), range),
            function.size.as_ref().map_or_else(
                || "-".to_owned(),
                |size| format!("{:.0} % of {:.1} kVA {}", size.typical_percent, report.rated / 1e3, size.direction),
            ),
            function.sure.unwrap_or("-").to_owned(),
            evidence(function),
        ];
        table.add_row(cells.iter().enumerate().filter(|(n, _)| shown(*n)).map(|(_, cell)| cell));
    }
    table::lines(&table, &[])
}

fn range(range: &RangeReport) -> String {
    match range.unit {
        "W" | "VA" => format!("{:.1} to {:.1} k{}", range.low / 1e3, range.high / 1e3, range.unit),
        unit => format!("{:.1} to {:.1} {unit}", range.low, range.high),
    }
}

/// What an answer rests on.
fn evidence(function: &FunctionReport) -> String {
    if function.events > 0 {
        return if function.events == 1 { "1 event".to_owned() } else { format!("{} events", grouped(function.events)) };
    }
    let Some(seen) = &function.minutes else {
        return if function.needs.is_some() || function.answer == "not-judged" { "see below".to_owned() } else { "-".to_owned() };
    };
    let told = |length: f64| minutes((length * 60e3) as u64);
    let days = if function.days == 1 { "1 day".to_owned() } else { format!("{} days", function.days) };
    match function.answer {
        "departs" => format!("{} outside on {days}", told(seen.outside)),
        "behaves" => format!("{} on {days}", told(seen.informative)),
        _ => "see below".to_owned(),
    }
}

fn needs(report: &BehavesReport) -> Vec<String> {
    let of = |function: &FunctionReport| {
        let title = named(function);
        match function.answer {
            "not-judged" => Some(format!("{title}: this version does not judge it; `asleft events SITE LOG` plays what it is set to do")),
            _ => Some(format!("{title}: {}", function.needs.as_ref()?)),
        }
    };
    let mut told: Vec<String> = report.functions.iter().filter_map(of).collect();
    told.dedup();
    told
}

fn named(function: &FunctionReport) -> String {
    if function.against == "required" { format!("{}, required", function.title) } else { function.title.to_owned() }
}

fn times(report: &BehavesReport, most: usize) -> Vec<String> {
    let of = |function: &FunctionReport| {
        let all = function.times.len() as u64 + function.more_times;
        let unit = function.size.as_ref().map_or("", |size| size.unit);
        let told: Vec<String> = function
            .times
            .iter()
            .take(most)
            .map(|time| format!("{} to {} ({} {unit})", time.from, time.to, grouped(time.farthest as u64)))
            .collect();
        let more = all - told.len() as u64;
        let more = if more > 0 { format!("; {} more", grouped(more)) } else { String::new() };
        (!told.is_empty()).then(|| format!("{}: {}{more}", named(function), told.join("; ")))
    };
    report.functions.iter().filter_map(of).collect()
}

fn happened(report: &BehavesReport) -> Vec<String> {
    let of = |function: &FunctionReport| {
        function.happened.iter().map(|says| format!("{}: the device {says}", function.title)).collect::<Vec<_>>()
    };
    report.functions.iter().flat_map(of).collect()
}

fn rests_on(report: &BehavesReport) -> Vec<String> {
    let mut told: Vec<(&str, Vec<String>)> = Vec::new();
    for function in &report.functions {
        for on in &function.rests_on {
            match told.iter_mut().find(|(other, _)| other == on) {
                Some((_, functions)) => functions.push(named(function)),
                None => told.push((on, vec![named(function)])),
            }
        }
    }
    told.into_iter().map(|(on, functions)| format!("{}: {on}", functions.join(", "))).collect()
}

fn left_out(log: &BehavesLog) -> Vec<String> {
    log.left_out.iter().map(|left_out| format!("{}: {}", minutes((left_out.minutes * 60e3) as u64), left_out.says)).collect()
}

fn list(out: &mut dyn Write, words: &str, rest: &str, items: &[String], width: usize) -> io::Result<()> {
    if items.is_empty() {
        return Ok(());
    }
    render::heading(out, words, rest)?;
    items.iter().try_for_each(|item| writeln!(out, "  - {}", wrapped(item, width - 4, 4)))
}
