//! Several sets of settings on the same log, line by line.

use crate::render::{self, table, wrapped};
use rules::provenance::Verdict;
use std::io::{self, Write};
use views::played::events::letter;
use views::played::not_shown;
use views::played::sentences::{between, lasting_between, uncapitalised};
use views::report::events::{EventsReport, PlayedReport, StandingReport};

/// Two sets of settings or more on the same log, line by line.
pub fn beside(out: &mut dyn Write, report: &EventsReport, width: usize) -> io::Result<()> {
    render::heading(out, "SIDE BY SIDE", if report.log.made { "in the same scenario" } else { "on the same log" })?;
    for (n, device) in report.devices.iter().enumerate() {
        writeln!(out, "  {}  {}", letter(n), device.of)?;
    }
    writeln!(out, "\n  {}\n", wrapped(not_shown(report), width - 2, 2))?;
    let letters: Vec<String> = (0..report.devices.len()).map(|n| letter(n).to_string()).collect();
    let mut table = table::of_headings(std::iter::once("").chain(letters.iter().map(String::as_str)), width);
    let mut row = |name: &str, cell: &dyn Fn(&PlayedReport) -> String| {
        let cells = report.devices.iter().map(cell);
        table.add_row(std::iter::once(name.to_owned()).chain(cells).map(|cell| render::unbroken(&cell)));
    };
    if report.devices.iter().any(|device| device.standing.is_some()) {
        row("under its site's requirements", &|device| {
            device.standing.as_ref().map_or("-".to_owned(), |standing| format!("{}, {}", standing.headline, findings(standing.findings)))
        });
    }
    row("disconnected, certain", &|device| device.drop_outs[0].to_string());
    row("may have disconnected", &|device| (device.drop_outs[1] - device.drop_outs[0]).to_string());
    let mut causes: Vec<(&str, &str)> = Vec::new();
    for lost in report.devices.iter().flat_map(|device| &device.lost) {
        if !causes.iter().any(|(_, title)| *title == lost.title) {
            causes.push((lost.cause, &lost.title));
        }
    }
    for (_, title) in causes {
        row(&uncapitalised(title), &|device| {
            let lost = device.lost.iter().find(|lost| lost.title == title);
            lost.map_or("-".to_owned(), |lost| {
                let energy = lost.energy.map_or(String::new(), |energy| format!(", {} kWh", between(energy)));
                format!("{}{energy}", lasting_between(lost.seconds))
            })
        });
    }
    if report.devices.iter().any(|device| device.given.is_some()) {
        row("given", &|device| device.given.map_or("-".to_owned(), |given| format!("{} kWh", between(given))));
    }
    writeln!(out, "{}", table::lines(&table, &[]))?;
    for says in no_leave(report) {
        writeln!(out, "\n  {}", wrapped(&says, width - 2, 2))?;
    }
    Ok(())
}

fn findings(count: usize) -> String {
    match count {
        0 => "no findings".to_owned(),
        1 => "1 finding".to_owned(),
        n => format!("{n} findings"),
    }
}

/// What must not be set because it did better here: what does not comply, or cannot be shown to.
fn no_leave(report: &EventsReport) -> Vec<String> {
    let mut told: Vec<(&StandingReport, Vec<String>)> = Vec::new();
    for (n, device) in report.devices.iter().enumerate() {
        let Some(standing) = device.standing.as_ref().filter(|standing| standing.verdict != Verdict::Complies) else { continue };
        match told.iter_mut().find(|(other, _)| (other.verdict, &other.under) == (standing.verdict, &standing.under)) {
            Some((_, letters)) => letters.push(letter(n).to_string()),
            None => told.push((standing, vec![letter(n).to_string()])),
        }
    }
    let says = |(standing, letters): (&StandingReport, Vec<String>)| {
        let one = letters.len() == 1;
        let who = match &letters[..] {
            [rest @ .., last] if !one => format!("{} and {last}", rest.join(", ")),
            _ => letters.concat(),
        };
        let comes_to = match (standing.verdict, one) {
            (Verdict::DoesNotComply, true) => "does not comply",
            (Verdict::DoesNotComply, false) => "do not comply",
            (_, true) => "is not shown to comply",
            (_, false) => "are not shown to comply",
        };
        let under = standing.under.as_deref().unwrap_or("the site's requirements");
        let it = if one { "it" } else { "they" };
        format!(
            "{who} {comes_to} with {under}: played to compare, not to be set. If {it} disconnected less, or gave more, that is no reason to set {}.",
            if one { "it" } else { "them" }
        )
    };
    told.into_iter().map(says).collect()
}
