//! Events for people.

use super::beside::beside;
use crate::render::{self, table, wrapped};
use views::played::sentences::{STOP, between, is_held_back, lasting, lasting_between};

use std::io::{self, Write};
use views::played::events::{ListOf, TOLD, grouped, letter, name, sure, titles, told, what, when};
use views::report::events::{EventsReport, LogReport, PlayedReport};

/// A picture of so many columns.
pub type Plot<'p> = &'p dyn Fn(usize) -> String;

/// Writes what happened, with a picture where one is wanted.
pub fn write(out: &mut dyn Write, report: &EventsReport, plot: Option<Plot<'_>>) -> io::Result<()> {
    log(out, &report.log, render::width())?;
    write_devices(out, report, plot)
}

/// Writes what devices did, without the log.
pub fn write_devices(out: &mut dyn Write, report: &EventsReport, plot: Option<Plot<'_>>) -> io::Result<()> {
    let width = render::width();
    if report.suspect_neutral {
        writeln!(out)?;
        let apart = lasting(report.log.phases_apart_seconds);
        render::title(out, "STOP", &format!("phases moved apart for {apart}"))?;
        writeln!(out, "  {}", wrapped(STOP, width - 2, 2))?;
    }
    if report.devices.len() > 1 {
        beside(out, report, width)?;
    }
    for (n, device) in report.devices.iter().enumerate() {
        writeln!(out)?;
        device_title(out, report, n)?;
        writeln!(out, "  {}", wrapped(&device.in_short, width - 2, 2))?;
        if let Some(cause) = &device.first_cause {
            writeln!(out, "  {}", wrapped(cause, width - 2, 2))?;
        }
        if let Some(says) = device.unverified_warning() {
            writeln!(out, "  {}", wrapped(&says, width - 2, 2))?;
        }
        timeline(out, report, n, width)?;
        energy(out, device, width)?;
        for (_, words, rest, of) in LISTS {
            let own: Vec<&String> = of(device).iter().filter(|item| !is_of_all(report, item, of)).collect();
            list(out, words, rest, &own, width)?;
        }
    }
    if let Some(plot) = plot {
        writeln!(out, "\n{}", plot(width).trim_end())?;
    }
    // what is the same for every device is told once
    for (all, _, rest, of) in LISTS {
        let shared = report.devices.first().map(of).into_iter().flatten();
        let shared: Vec<&String> = shared.filter(|item| is_of_all(report, item, of)).collect();
        list(out, all, rest, &shared, width)?;
    }
    if !report.advice.is_empty() && !report.suspect_neutral {
        render::heading(out, "LOOK INTO", "in this order")?;
        for (n, step) in report.advice.iter().enumerate() {
            writeln!(out, "  {}", wrapped(&format!("{}. {step}", n + 1), width - 2, 5))?;
        }
    }
    Ok(())
}

/// What a list is called where it holds for all, and for one of several; what it means.
const LISTS: [(&str, &str, &str, ListOf); 3] = [
    ("CANNOT BE DECIDED", "ITS OWN, CANNOT BE DECIDED", "by this log", |device| &device.undecided),
    ("NOT PLAYED", "ITS OWN, NOT PLAYED", "so nothing here says that they did not trip", |device| &device.not_played),
    ("ASSUMED", "ITS OWN, ASSUMED", "where nobody says otherwise", |device| &device.taken_for_granted),
];

fn is_of_all(report: &EventsReport, item: &String, of: ListOf) -> bool {
    report.devices.iter().all(|device| of(device).contains(item))
}

fn device_title(out: &mut dyn Write, report: &EventsReport, n: usize) -> io::Result<()> {
    match report.devices.len() {
        1 => render::title(out, &report.devices[n].of, ""),
        _ => render::title(out, &format!("{}  {}", letter(n), report.devices[n].of), ""),
    }
}

fn log(out: &mut dyn Write, log: &LogReport, width: usize) -> io::Result<()> {
    render::title(out, &log.file, "")?;
    let mut line = |word: &str, text: &str| writeln!(out, "  {word:<11} {}", wrapped(text, width - 14, 14));
    let values = if log.values == "means" { "means" } else { "samples" };
    let rows = if log.rows == 1 { "1 row".to_owned() } else { format!("{} rows", grouped(log.rows)) };
    line("log", &format!("{} to {}; {rows} of {values}, {} apart", log.first.time, log.last.time, lasting(log.spacing)))?;
    line("columns", &log.columns.join(", "))?;
    if !log.ignored.is_empty() {
        line("not read", &log.ignored.join(", "))?;
    }
    let volts = |extreme: &Option<views::report::events::ExtremeReport>, unit: &str, digits: usize| {
        extreme.as_ref().map_or("none".to_owned(), |extreme| format!("{:.digits$} {unit} ({})", extreme.value, extreme.at.time))
    };
    line("voltage", &format!("{} to {}", volts(&log.lowest_voltage, "V", 1), volts(&log.highest_voltage, "V", 1)))?;
    if log.lowest_frequency.is_some() {
        line("frequency", &format!("{} to {}", volts(&log.lowest_frequency, "Hz", 2), volts(&log.highest_frequency, "Hz", 2)))?;
    }
    if log.gaps > 0 {
        let first = log.first_gaps.first().map_or(String::new(), |[from, to]| format!("; the first from {} to {}", from.time, to.time));
        line("gaps", &format!("{}, {} in all{first}", log.gaps, lasting(log.gaps_seconds)))?;
    }
    for note in &log.notes {
        line("note", note)?;
    }
    Ok(())
}

fn timeline(out: &mut dyn Write, report: &EventsReport, at: usize, width: usize) -> io::Result<()> {
    let device = &report.devices[at];
    if device.events.is_empty() {
        return Ok(());
    }
    let all = device.events.len() as u64;
    let summed = if all > TOLD as u64 { format!("{} events; the first and the last are told", grouped(all)) } else { String::new() };
    render::heading(out, "TIMELINE", &summed)?;
    let mut table = table::table(["No.", "When", "What", "How sure"], width);
    for (n, event) in told(&device.events).into_iter().enumerate() {
        if n == TOLD / 2 && device.events.len() > TOLD {
            table.add_row(["…", "", "", ""]);
        }
        table.add_row([name(report, at, n), when(event), what(event), sure(event).to_owned()].map(|cell| render::unbroken(&cell)));
    }
    writeln!(out, "{}", table::lines(&table, &[]))?;
    if all > TOLD as u64 {
        sums(out, device, width)?;
    }
    by_hour(out, device, width)
}

fn sums(out: &mut dyn Write, device: &PlayedReport, width: usize) -> io::Result<()> {
    let mut table = table::table(["All of them", "How sure", "How many"], width);
    for count in &device.counts {
        let what = match count.what {
            "tripped" => format!("tripped: {}", titles(&count.stages, &count.relays)),
            "relay-opened" => format!("opened while it was off: {}", titles(&count.stages, &count.relays)),
            "connected" => "connected".to_owned(),
            "broken-off-by-voltage" => "observation begun again, by voltage".to_owned(),
            "broken-off-by-frequency" => "observation begun again, by frequency".to_owned(),
            _ => "left, while the log says nothing".to_owned(),
        };
        let sure = match count.sure {
            "certain" => "certain",
            _ if count.what.starts_with("broken-off") => "if it was off",
            "may-have" if count.what == "connected" => "at the latest",
            "may-have" => "may have",
            _ if matches!(count.what, "connected" | "relay-opened") => "may have",
            _ => "certain, if still on",
        };
        table.add_row([what, sure.to_owned(), grouped(count.count)].map(|cell| render::unbroken(&cell)));
    }
    writeln!(out, "\n{}", table::lines(&table, &[]))
}

/// At what time of the day it drops out, where that says something.
fn by_hour(out: &mut dyn Write, device: &PlayedReport, width: usize) -> io::Result<()> {
    let mut hours = [0u64; 24];
    for count in device.counts.iter().filter(|count| count.what == "tripped") {
        hours.iter_mut().zip(count.by_hour.unwrap_or([0; 24])).for_each(|(sum, n)| *sum += n);
    }
    let all: u64 = hours.iter().sum();
    // the fewest hours in a row that hold four fifths of them
    let window = (1..=6).find_map(|length| {
        let sum = |from: usize| (from..from + length).map(|hour| hours[hour % 24]).sum::<u64>();
        let from = (0..24).max_by_key(|from| sum(*from))?;
        (5 * sum(from) >= 4 * all).then(|| (from, length, sum(from)))
    });
    let Some((from, length, sum)) = window.filter(|_| all >= 4) else { return Ok(()) };
    let says = format!("{sum} of {all} drop-outs begin between {from:02}:00 and {:02}:00", (from + length) % 24);
    writeln!(out, "\n  {}", wrapped(&says, width - 2, 2))
}

fn energy(out: &mut dyn Write, device: &PlayedReport, width: usize) -> io::Result<()> {
    if device.lost.is_empty() {
        return Ok(());
    }
    let title = if device.available.is_some() { "ENERGY" } else { "TIME" };
    let charged = device.charging.as_ref().map(|charging| {
        format!("it wanted to charge with {} kWh, and charged {} kWh", between([charging.wanted; 2]), between(charging.charged))
    });
    let gives = device.available.is_some_and(|available| available > 0.0);
    let summed = match (device.available, device.given) {
        _ if charged.is_some() && !gives => charged.clone().unwrap_or_default(),
        (Some(available), Some(given)) => format!("{} kWh were available, {} kWh were delivered", between([available; 2]), between(given)),
        _ => "the log does not say what was available".to_owned(),
    };
    render::heading(out, title, &summed)?;
    let has_energy = device.available.is_some();
    let headings = ["To what", "Lost", "For", "Times", "Longest"];
    let mut table = table::of_headings(headings.into_iter().filter(|heading| has_energy || *heading != "Lost"), width);
    for lost in &device.lost {
        let energy = lost.energy.map_or("-".to_owned(), |energy| format!("{} kWh", between(energy)));
        let [from, to] = &lost.longest;
        let longest = match (from.time.split_once(' '), to.time.split_once(' ')) {
            (Some((day, _)), Some((other, time))) if day == other => format!("{} to {time}", from.time),
            _ => format!("{} to {}", from.time, to.time),
        };
        let left = if is_held_back(lost) && lost.least_left > 0.0 && lost.least_left.is_finite() {
            format!("{}, down to {:.0} % of what was available", lost.title, lost.least_left)
        } else {
            lost.title.clone()
        };
        let cells =
            [Some(left), has_energy.then_some(energy), Some(lasting_between(lost.seconds)), Some(grouped(lost.times)), Some(longest)];
        table.add_row(cells.into_iter().flatten().map(|cell| render::unbroken(&cell)));
    }
    writeln!(out, "{}", table::lines(&table, &[]))?;
    if let Some(says) = charged.filter(|_| gives) {
        writeln!(out, "\n  {}", wrapped(&says, width - 2, 2))?;
    }
    if let (Some(by_log), Some(given)) = (device.given_by_log, device.given) {
        let says = format!("the log itself says that {} kWh were given; played, it is {} kWh", between([by_log; 2]), between(given));
        writeln!(out, "\n  {}", wrapped(&says, width - 2, 2))?;
    }
    Ok(())
}

fn list(out: &mut dyn Write, words: &str, rest: &str, items: &[&String], width: usize) -> io::Result<()> {
    if items.is_empty() {
        return Ok(());
    }
    render::heading(out, words, rest)?;
    for item in items {
        writeln!(out, "  {}", wrapped(&format!("- {item}"), width - 2, 4))?;
    }
    Ok(())
}
