//! `asleft scenario`: what devices do as voltage, frequency and power move, step by step.

mod grounds;
mod links;
mod named;
mod people;
mod playing;

use super::operand::{Fault, Operand, operand};
use super::played::picture;
use super::played::subjects::{NoSite, subjects};
use super::{assessor, refused};
use crate::args::{Format, Scenario};
use crate::commands::held::site;
use crate::render::timeline::Clock;
use crate::render::{self, braille, svg};
use crate::report::scenario::ScenarioReport;
use crate::walk::write_messages;
use crate::{Exit, files};
use grounds::Required;
pub use named::named;
use response::course::course;
use rules::assess::Assessor;
use settings_model::facts::{FactId, FactShape};
use settings_model::quantity::Dimension;
use std::io::{self, Write};

/// Plays a scenario, and tells what happened.
pub fn run(args: &Scenario) -> io::Result<Exit> {
    let mut assessor = assessor(&args.under)?;
    let (report, clock) = match report(args, &mut assessor) {
        Ok(report) => report,
        Err(Fault::Words(says)) => return refused(&says),
        Err(Fault::Findings(findings)) => return write_messages(&findings, &assessor.sources).map(|()| Exit::CouldNotTell),
    };
    let mut out = anstream::stdout().lock();
    match args.format {
        Format::Json => {
            serde_json::to_writer_pretty(&mut out, &report)?;
            writeln!(out)?;
        }
        Format::Text => {
            let plot = |width| braille::timeline(&picture::timeline(&report.timeline, clock), width, render::colour());
            people::write(&mut out, &report, (!args.no_plot).then_some(&plot))?;
        }
    }
    if let Some(file) = &args.svg {
        files::write_whole(file, svg::timeline(&picture::timeline(&report.timeline, clock), "timeline").as_bytes())?;
        writeln!(io::stderr(), "drawn: {}", file.display())?;
    }
    Ok(Exit::Fine)
}

fn report(args: &Scenario, assessor: &mut Assessor) -> Result<(ScenarioReport, Clock), Fault> {
    let scenario = named(&args.scenario, assessor)?;
    let words: Vec<&str> = std::iter::once(args.of.as_str()).chain(args.with.iter().map(String::as_str)).collect();
    let operands = words.into_iter().map(|word| Ok((word, operand(word, assessor)?))).collect::<Result<Vec<_>, Fault>>()?;
    let sites = operands
        .iter()
        .map(|(_, operand)| if let Operand::Site(of) = operand { site(of).map(Some) } else { Ok(None) })
        .collect::<Result<Vec<_>, Fault>>()?;
    let bare = no_site(args)?;
    let subjects = subjects(&operands, &sites, &bare, assessor)?;
    let first = subjects.first().ok_or_else(|| Fault::Words("nothing is named".to_owned()))?;
    let required = Required::of(&first.held)?;
    scenario.fits(&required)?;
    let course = course(&scenario.file, &required)?;
    playing::played(&scenario, &course, &subjects, required.nominal_volts()).map_err(Fault::Words)
}

/// The device that is taken where no site is named.
fn no_site(args: &Scenario) -> Result<NoSite, Fault> {
    let amount = |option: &str, dimension: Dimension, text: &str| {
        let amount = dimension.parse(text).map_err(|slip| Fault::Words(format!("{option}: {slip}")))?;
        let is_positive = amount.of.is_none() && amount.number > settings_model::exact::Exact::ZERO;
        let slip = || Fault::Words(format!("{option}: `{text}` is not above zero; write it as `{}`", dimension.example()));
        is_positive.then_some(amount.number).ok_or_else(slip)
    };
    let rated = amount("--rated", Dimension::ApparentPower, &args.rated)?;
    let nominal = args.nominal.as_deref().map(|text| amount("--nominal", Dimension::Voltage, text)).transpose()?;
    let FactShape::Choice(words) = FactId::EnergySource.row().shape else { unreachable!("an energy source is one of a few words") };
    let source = words.iter().position(|word| *word == args.source).unwrap_or_default();
    Ok(NoSite::of(rated, source as u8, nominal))
}
