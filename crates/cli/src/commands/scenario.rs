//! `asleft scenario`: what devices do as voltage, frequency and power move, step by step.

mod named;
mod people;

use super::assessor;
use super::operand::{OperandError, operand, write_fault};
use crate::args::{Format, Scenario};
use crate::render;
use crate::{Exit, files};
use named::named;
use plot::timeline::Clock;
use plot::{braille, svg};
use rules::assess::Assessor;
use std::io::{self, Write};
use views::given::no_site;
use views::played::picture;
use views::report::scenario::ScenarioReport;
use views::scenario::played;

/// Plays a scenario, and tells what happened.
pub fn run(args: &Scenario) -> io::Result<Exit> {
    let mut assessor = assessor(&args.under)?;
    let (report, clock) = match report(args, &mut assessor) {
        Ok(report) => report,
        Err(fault) => return write_fault(fault, &assessor),
    };
    let mut out = terminal::stdout();
    match args.format {
        Format::Json => render::json(&mut out, &report)?,
        Format::Text => {
            let plot = |width| braille::timeline(&picture::timeline(&report.timeline, clock), width, render::colour());
            people::write(&mut out, &report, (!args.drawing.no_plot).then_some(&plot))?;
        }
    }
    if let Some(file) = &args.drawing.svg {
        let draw = if args.slide { svg::slide } else { svg::timeline };
        files::write_whole(file, draw(&picture::timeline(&report.timeline, clock), "timeline").as_bytes())?;
        writeln!(terminal::stderr(), "drawn: {}", terminal::path(file))?;
    }
    Ok(Exit::Fine)
}

fn report(args: &Scenario, assessor: &mut Assessor) -> Result<(ScenarioReport, Clock), OperandError> {
    let words: Vec<&str> = std::iter::once(args.of.as_str()).chain(args.with.iter().map(String::as_str)).collect();
    let operands = words.into_iter().map(|word| Ok((word, operand(word, assessor)?))).collect::<Result<Vec<_>, OperandError>>()?;
    let scenario = named(&args.scenario, assessor)?;
    played(&scenario, &operands, &no_site(&args.rated, &args.source, args.nominal.as_deref())?, assessor)
}
