//! `asleft curve`: what a response says at each voltage, frequency or power.

mod power;
mod tables;

use super::assessor;
use super::operand::{Operand, OperandError, operand, operand_with, write_fault};
use crate::args::{Curve, Format};
use crate::render;
use crate::{Exit, files};
use plot::{braille, svg};
use response::characteristic::{RESPONSES, Response};
use rules::assess::Assessor;
use settings_model::finding::nearest;
use settings_model::quantity::Dimension;
use std::io::{self, Write};
use std::path::Path;
use views::curve::series::Shown;
use views::curve::{picture, places, series, subjects};
use views::given::above_zero;
use views::report::curve::CurveReport;

/// Prints each response of what was named, and draws it.
pub fn run(args: &Curve) -> io::Result<Exit> {
    let mut assessor = assessor(&args.under)?;
    if args.of.iter().any(|function| function == power::NAME) {
        return power::run(args, &mut assessor);
    }
    let shown = match shown(args, &mut assessor) {
        Ok(shown) => shown,
        Err(fault) => return write_fault(fault, &assessor),
    };
    let mut out = terminal::stdout();
    match args.format {
        Format::Json => {
            let report = CurveReport { responses: shown.iter().map(series::report).collect(), power: None };
            render::json(&mut out, &report)?;
        }
        Format::Text => {
            for (n, shown) in shown.iter().enumerate() {
                if n > 0 {
                    writeln!(out)?;
                }
                tables::write(&mut out, shown)?;
                if !args.drawing.no_plot {
                    let plot = braille::plot(&picture::figure(shown), render::width(), PLOT_LINES, render::colour());
                    writeln!(out, "\n{}", plot.trim_end())?;
                }
            }
        }
    }
    if let Some(file) = &args.drawing.svg {
        draw(file, &shown)?;
    }
    Ok(Exit::Fine)
}

/// Lines that a plot takes on a terminal.
const PLOT_LINES: usize = 16;

fn draw(file: &Path, shown: &[Shown]) -> io::Result<()> {
    for one in shown {
        let file = if shown.len() == 1 { file.to_owned() } else { files::one_of_several(file, one.response.function) };
        files::write_whole(&file, svg::svg(&picture::figure(one), one.response.function).as_bytes())?;
        writeln!(terminal::stderr(), "drawn: {}", terminal::path(&file))?;
    }
    Ok(())
}

fn shown(args: &Curve, assessor: &mut Assessor) -> Result<Vec<Shown>, OperandError> {
    let responses = responses(args)?;
    let operands = operands(args, assessor)?;
    let nominal = args.nominal.as_deref().map(|text| above_zero("--nominal", Dimension::Voltage, text)).transpose()?;
    let mut shown = Vec::new();
    for response in responses {
        let subjects = subjects::of_all(response, &operands, nominal, assessor)?;
        if !subjects.is_empty() {
            let at = args.at.as_deref().filter(|at| fits(at, response, args));
            let slip = |slip: settings_model::slip::Slip| OperandError::Words(format!("--at: {}; {}", slip.says, slip.help));
            shown.push(Shown::new(response, subjects, at).map_err(slip)?);
        }
    }
    if shown.is_empty() {
        let which = if args.of.is_empty() { "of any response" } else { "of these responses" };
        return Err(OperandError::Words(format!("nothing is required or stated {which} in {}", args.files.join(", "))));
    }
    Ok(shown)
}

/// What is named, the first with what the filled sheet says of its devices.
fn operands<'a>(args: &'a Curve, assessor: &mut Assessor) -> Result<Vec<(&'a str, Operand)>, OperandError> {
    let of = |(n, word): (usize, &'a String)| {
        let operand = if n == 0 { operand_with(word, &args.filled, assessor) } else { operand(word, assessor) };
        Ok((word.as_str(), operand?))
    };
    args.files.iter().enumerate().map(of).collect()
}

/// The responses that are asked for; without a word, those whose measured axis the places fit.
fn responses(args: &Curve) -> Result<Vec<&'static Response>, OperandError> {
    if args.of.is_empty() {
        let fits = |response: &&Response| args.at.as_deref().is_none_or(|at| fits(at, response, args));
        return Ok(RESPONSES.iter().filter(fits).collect());
    }
    let named = |function: &String| {
        Response::named(function).ok_or_else(|| {
            let known = || RESPONSES.iter().map(|response| response.function).chain([power::NAME]);
            let hint = nearest(function, known())
                .map_or_else(|| format!("known: {}", known().collect::<Vec<_>>().join(", ")), |meant| format!("did you mean `{meant}`?"));
            OperandError::Words(format!("no response `{function}`; {hint}"))
        })
    };
    args.of.iter().map(named).collect()
}

/// Whether places count along the measured axis of a response: by their unit, and without one in
/// volts, or in whatever the responses that are named measure.
fn fits(at: &str, response: &Response, args: &Curve) -> bool {
    let measured = response.axes[0].dimension;
    match places::dimension(at) {
        Some(dimension) => dimension == measured || !args.of.is_empty(),
        None => !args.of.is_empty() || measured == Dimension::Voltage,
    }
}
