//! `asleft scenario`: what devices do as voltage, frequency and power move, step by step.

mod named;
pub mod people;
mod playing;

use super::assessor;
use super::given::no_site;
use super::operand::{Fault, Operand, operand, write_fault};
use super::played::picture;
use crate::args::{Format, Scenario};
use crate::render;
use crate::report::scenario::ScenarioReport;
use crate::{Exit, files};
pub use named::named;
use plot::timeline::Clock;
use plot::{braille, svg};
use replay::grounds::Required;
use replay::held::site;
use replay::subjects::{NoSite, subjects};
use response::course::course;
use rules::assess::Assessor;
use std::io::{self, Write};

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

fn report(args: &Scenario, assessor: &mut Assessor) -> Result<(ScenarioReport, Clock), Fault> {
    let words: Vec<&str> = std::iter::once(args.of.as_str()).chain(args.with.iter().map(String::as_str)).collect();
    let operands = words.into_iter().map(|word| Ok((word, operand(word, assessor)?))).collect::<Result<Vec<_>, Fault>>()?;
    played(&args.scenario, &operands, &no_site(&args.rated, &args.source, args.nominal.as_deref())?, assessor)
}

/// A scenario as everything that was named plays it; requirements by `bare` where no site is among them.
pub fn played(
    scenario: &str,
    operands: &[(&str, Operand)],
    bare: &NoSite,
    assessor: &mut Assessor,
) -> Result<(ScenarioReport, Clock), Fault> {
    let scenario = named(scenario, assessor)?;
    let sites = operands
        .iter()
        .map(|(_, operand)| if let Operand::Site(of) = operand { site(of).map(Some) } else { Ok(None) })
        .collect::<Result<Vec<_>, Fault>>()?;
    let subjects = subjects(operands, &sites, bare, assessor)?;
    let first = subjects.first().ok_or_else(|| Fault::Words("nothing is named".to_owned()))?;
    let required = Required::of(&first.held)?;
    scenario.fits(&required)?;
    let course = course(&scenario.file, &required)?;
    playing::played(&scenario, &course, &subjects, required.nominal_volts()).map_err(Fault::Words)
}
