//! The answer for people: what came of it and what to do next, then one screen of 80 columns; the rest with `--all`.

use super::Pictures;
use super::words::minutes;
use crate::render::{self, table, wrapped};
use crate::report::behaves::{BehavesLog, BehavesReport, DeviceAnswer, FunctionReport, RangeReport, TimesReport};
use plot::braille;
use std::io::{self, Write};
use views::played::events::grouped;
use views::played::sentences::lasting;

/// How many lines a plot takes.
const PLOT: usize = 16;
/// How many of the curves that a log does not tell apart are named without `--all`.
const NAMED: usize = 3;

/// Writes the answer; with `all`, what was left out and assumed too.
pub fn write(out: &mut dyn Write, report: &BehavesReport, all: Option<&Pictures>) -> io::Result<()> {
    let width = render::width();
    let BehavesReport { site, device, .. } = report;
    render::title(out, &report.headline, &format!("{site} / {device}, {}{}", report.settings.replace('-', " "), which(report)))?;
    let mut line = |text: &str| writeln!(out, "  {}", wrapped(text, width - 2, 2));
    line(&next(report))?;
    line(&log(&report.log))?;
    line(&format!("{}; a response ±{}", report.accuracy.says, tolerance(report)))?;
    report.unverified.iter().try_for_each(|unverified| line(unverified))?;
    report.parts.iter().try_for_each(|part| line(part))?;
    if report.functions.iter().any(is_answered) {
        writeln!(out, "\n{}", functions(report, width))?;
    }
    let mut line = |text: &str| writeln!(out, "  {}", wrapped(text, width - 2, 4));
    looks_like(report, all.is_some()).iter().try_for_each(|text| line(text))?;
    report.together.iter().try_for_each(|text| line(text))?;
    match all {
        Some(pictures) => everything(out, report, pictures, width)?,
        None => briefly(out, report, width)?,
    }
    let more = if all.is_some() { "" } else { " More with --all." };
    writeln!(out, "\n{}", wrapped(&format!("{}{more}", report.cautions.join(" ")), width, 0))
}

/// Which functions depart.
fn which(report: &BehavesReport) -> String {
    let mut departing: Vec<String> = departing(report).map(|function| function.title.to_lowercase()).collect();
    departing.dedup();
    if departing.is_empty() { String::new() } else { format!(": {}", departing.join(", ")) }
}

fn departing(report: &BehavesReport) -> impl Iterator<Item = &FunctionReport> {
    report.functions.iter().filter(|function| function.answer == "departs")
}

/// What to do next.
fn next(report: &BehavesReport) -> String {
    match report.answer {
        DeviceAnswer::Departs => format!("Look into, in this order: {}.", report.look_into_briefly.join("; ")),
        DeviceAnswer::Behaves => "No action needed.".to_owned(),
        DeviceAnswer::BehavesAsFarAsShown => "Nothing to mend. Get a log that shows the rest: see NOT SHOWN.".to_owned(),
        DeviceAnswer::NotShown => "Get a log that shows what it does: see NOT SHOWN. This is no pass.".to_owned(),
    }
}

/// Whether there is an answer, and not only that there is none.
fn is_answered(function: &FunctionReport) -> bool {
    matches!(function.answer, "departs" | "behaves")
}

/// Without `--all`: the longest time outside, and what was not shown.
fn briefly(out: &mut dyn Write, report: &BehavesReport, width: usize) -> io::Result<()> {
    let is_one = departing(report).count() == 1;
    for text in times(report, 1) {
        let text = if is_one { text.split_once(": ").map_or(text.as_str(), |(_, rest)| rest) } else { &text };
        writeln!(out, "  {}", wrapped(&format!("Longest outside: {text}"), width - 2, 4))?;
    }
    if report.answer == DeviceAnswer::Departs {
        let mut open: Vec<String> = report.functions.iter().filter(|of| lacks(of).is_some()).map(open_function).collect();
        open.dedup();
        let told = format!("Not shown (`--all` says what would show it): {}.", open.join(", "));
        return if open.is_empty() { Ok(()) } else { writeln!(out, "  {}", wrapped(&told, width - 2, 4)) };
    }
    list(out, "NOT SHOWN", "what would show it", &needs(report), width)
}

/// A function that was not shown, in a list of them.
fn open_function(function: &FunctionReport) -> String {
    let title = function.title.to_lowercase();
    if function.against == "required" { format!("{title} (as required)") } else { title }
}

fn everything(out: &mut dyn Write, report: &BehavesReport, pictures: &Pictures, width: usize) -> io::Result<()> {
    list(out, "NOT SHOWN", "what would show it", &needs(report), width)?;
    list(out, "WHEN", "the longest times outside, whatever the error of the meter", &times(report, usize::MAX), width)?;
    list(out, "LIKELY", "what these answers rest on, which nobody stated", &rests_on(report), width)?;
    for (_, figure) in pictures {
        writeln!(out, "\n{}", braille::plot(figure, width, PLOT, render::colour()).trim_end())?;
    }
    list(out, "ASSUMED", "", &report.assumed.iter().map(|assumed| render::capitalised(assumed)).collect::<Vec<_>>(), width)?;
    list(out, "LEFT OUT", "not used", &left_out(&report.log), width)?;
    list(out, "THE LOG", "", &report.log.notes, width)?;
    if report.look_into.is_empty() {
        return Ok(());
    }
    render::heading(out, "LOOK INTO", "in this order")?;
    let mut steps = report.look_into.iter().enumerate();
    steps.try_for_each(|(n, step)| writeln!(out, "  {}", wrapped(&format!("{}. {step}", n + 1), width - 2, 5)))
}

/// What the responses that depart look like.
fn looks_like(report: &BehavesReport, is_all: bool) -> Vec<String> {
    let of = |function: &FunctionReport| {
        let looks_like = function.looks_like.as_ref()?;
        let several = &looks_like.not_told_apart;
        let says = match &looks_like.name {
            _ if is_all => looks_like.says.clone(),
            Some(name) => return Some(format!("{} looks like: {name}.", named(function))),
            None if several.len() > NAMED => {
                format!("It fits {}, and {} more with `--all`.", several[..NAMED].join("; "), several.len() - NAMED)
            }
            None => looks_like.says.clone(),
        };
        Some(format!("{}: {says}", named(function)))
    };
    report.functions.iter().filter_map(of).collect()
}

fn log(log: &BehavesLog) -> String {
    let days = if log.days == 1 { "1 day".to_owned() } else { format!("{} days", log.days) };
    let place = match log.measured_at {
        "terminals" => "at the terminals".to_owned(),
        "not-stated" => "the place of the meter not stated".to_owned(),
        place => format!("at the {}", if place == "supply" { "point of supply" } else { place }),
    };
    let rows = if log.values == "means" { "means of" } else { "rows, one each" };
    format!("{}: {days}, {} {rows} {}, {place}", log.file, grouped(log.rows), lasting(log.step))
}

fn tolerance(report: &BehavesReport) -> String {
    format!("{} % of {:.1} kVA ({})", report.tolerance.percent_of_rating, report.rated / 1e3, report.tolerance.source)
}

/// The functions that have an answer; those that have none follow below.
fn functions(report: &BehavesReport, width: usize) -> String {
    let mut table = table::of_headings(["Function", "Answer", "How sure", "What was seen"].into_iter(), width);
    let answered: Vec<&FunctionReport> = report.functions.iter().filter(|function| is_answered(function)).collect();
    let titles: Vec<String> = answered.iter().map(|function| named(function)).collect();
    table::whole(&mut table, 0, titles.iter().flat_map(|title| title.split(' ')));
    for (function, title) in answered.into_iter().zip(titles) {
        table.add_row([title.as_str(), function.answer, function.sure.unwrap_or("-"), &seen(function, report)]);
    }
    table::lines(&table, &[])
}

/// What was seen of a function: how far off, over which stretch, for how long.
fn seen(function: &FunctionReport, report: &BehavesReport) -> String {
    if function.events > 0 {
        return render::capitalised(&function.happened.join("; "));
    }
    let size =
        function.size.as_ref().map(|size| format!("{:.0} % of {:.1} kVA {}", size.typical_percent, report.rated / 1e3, size.direction));
    let over = function.shown_over.as_ref().map(range);
    let over = if size.is_some() { over.map(|over| format!("at {over}")) } else { over };
    let told: Vec<String> = [size, over, evidence(function), function.changed.clone()].into_iter().flatten().collect();
    told.join("; ")
}

fn range(range: &RangeReport) -> String {
    match range.unit {
        "W" | "VA" => format!("{:.1} to {:.1} k{}", range.low / 1e3, range.high / 1e3, range.unit),
        unit => format!("{:.1} to {:.1} {unit}", range.low, range.high),
    }
}

/// How long it was seen.
fn evidence(function: &FunctionReport) -> Option<String> {
    let seen = function.minutes.as_ref()?;
    let told = |length: f64| minutes((length * 60e3) as u64);
    let days = if function.days == 1 { "1 day".to_owned() } else { format!("{} days", function.days) };
    let lasted = if function.answer == "departs" { seen.outside } else { seen.informative };
    Some(format!("{} on {days}", told(lasted)))
}

/// What would show a function that was not shown.
fn lacks(function: &FunctionReport) -> Option<String> {
    match function.answer {
        "not-judged" if function.needs.is_none() => {
            Some("this version does not judge it; `asleft events SITE LOG` plays what it is set to do".to_owned())
        }
        _ => function.needs.clone(),
    }
}

fn needs(report: &BehavesReport) -> Vec<String> {
    let all = report.functions.iter();
    let mut told: Vec<String> = all.filter_map(|function| Some(format!("{}: {}", named(function), lacks(function)?))).collect();
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
            .map(|time| format!("{} to {} ({} {unit})", time.from, end(time), grouped(time.farthest as u64)))
            .collect();
        let more = all - told.len() as u64;
        let more = if more > 0 { format!("; {} more", grouped(more)) } else { String::new() };
        (!told.is_empty()).then(|| format!("{}: {}{more}", named(function), told.join("; ")))
    };
    report.functions.iter().filter_map(of).collect()
}

/// When it ended: the time of day alone where it is still the same day.
fn end(TimesReport { from, to, .. }: &TimesReport) -> &str {
    match (from.split_once(' '), to.split_once(' ')) {
        (Some((first, _)), Some((last, time))) if first == last => time,
        _ => to,
    }
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
