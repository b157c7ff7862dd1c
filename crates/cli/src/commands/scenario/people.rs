//! A scenario for people.

use crate::commands::CAUTIONS;
use crate::commands::played::people::{Plot, write_devices};
use crate::render::{self, table, wrapped};
use std::io::{self, Write};
use views::played::sentences::lasting;
use views::report::scenario::{ScenarioReport, ScenarioTold};
use views::scenario::steps::{Steps, TOLD};

/// Writes what happens, and what devices do.
pub fn write(out: &mut dyn Write, report: &ScenarioReport, plot: Option<Plot<'_>>) -> io::Result<()> {
    let (width, told) = (render::width(), &report.scenario);
    render::title(out, &told.title, "")?;
    writeln!(out, "  {}", wrapped(&told.teaches, width - 2, 2))?;
    let origin = format!("{} long; figures: {}. {}", lasting(told.seconds), told.source, CAUTIONS[0]);
    writeln!(out, "  {}", wrapped(&origin, width - 2, 2))?;
    render::heading(out, "WHAT HAPPENS", "at the device's terminals")?;
    writeln!(out, "{}", steps(told, width))?;
    if told.steps.len() > TOLD {
        writeln!(out, "\n  {} steps; the first {TOLD} are told", told.steps.len())?;
    }
    write_devices(out, &report.timeline, plot)
}

fn steps(told: &ScenarioTold, width: usize) -> String {
    let Steps { headings, rows } = Steps::of(told);
    let mut table = table::of_headings(headings.into_iter(), width);
    for cells in rows {
        table.add_row(cells.iter().map(|cell| render::unbroken(cell)));
    }
    table::lines(&table, &[])
}
