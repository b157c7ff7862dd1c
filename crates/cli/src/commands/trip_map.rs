//! `asleft trip-map`: how long a device has to stay on, when it may trip and by when it must be off,
//! against voltage and frequency; and the stages that it holds.

use super::operand::{OperandError, operand, write_fault};
use super::{CAUTIONS, assessor, refused};
use crate::args::{Format, MapOf, TripMap as Args};
use crate::render::{self, table};
use crate::{Exit, files};
use plot::{blocks, svg};
use rules::assess::Assessor;
use settings_model::quantity::Dimension;
use std::io::{self, Write};
use views::given::above_zero;
use views::report::trip_map::TripMapReport;
use views::trip_map::map::{Map, maps};
use views::trip_map::words::{may, of_mean, off, stages, stays};

/// Prints each map, and draws it.
pub fn run(args: &Args) -> io::Result<Exit> {
    let mut assessor = assessor(&args.under)?;
    let maps = match named(args, &mut assessor) {
        Ok(maps) if maps.is_empty() => return refused(&format!("no stage is required of {}", args.file)),
        Ok(maps) => maps,
        Err(fault) => return write_fault(fault, &assessor),
    };
    let mut out = terminal::stdout();
    match args.format {
        Format::Json => render::json(&mut out, &TripMapReport { maps: maps.iter().map(Map::report).collect() })?,
        Format::Text => {
            for map in &maps {
                write(map, &mut out)?;
                if !args.drawing.no_plot {
                    writeln!(out, "{}", blocks::plot(&map.picture(), render::width()))?;
                }
            }
            writeln!(out, "{}", render::wrapped(CAUTIONS[0], render::width(), 0))?;
        }
    }
    if let Some(file) = &args.drawing.svg {
        for map in &maps {
            let file = if maps.len() == 1 { file.clone() } else { files::one_of_several(file, map.measured().name()) };
            files::write_whole(&file, svg::map(&map.picture(), map.measured().name()).as_bytes())?;
            writeln!(terminal::stderr(), "drawn: {}", terminal::path(&file))?;
        }
    }
    Ok(Exit::Fine)
}

fn named(args: &Args, assessor: &mut Assessor) -> Result<Vec<Map>, OperandError> {
    let measured = match args.of {
        Some(MapOf::Voltage) => vec![Dimension::Voltage],
        Some(MapOf::Frequency) => vec![Dimension::Frequency],
        None => vec![Dimension::Voltage, Dimension::Frequency],
    };
    let nominal = args.nominal.as_deref().map(|text| above_zero("--nominal", Dimension::Voltage, text)).transpose()?;
    maps(&operand(&args.file, assessor)?, &args.file, &measured, nominal, assessor)
}

fn write(map: &Map, out: &mut dyn Write) -> io::Result<()> {
    let what = map.map.measured.name();
    render::title(out, &what.to_uppercase(), &map.title)?;
    let mut table = table::table(["Where", "Must stay on", "May trip", "Must be off", "Stages"], render::width());
    for slice in map.map.slices.iter().rev() {
        let cells = [map.place(slice), stays(slice, map), may(slice), off(slice, map), stages(slice).join("\n")];
        table.add_row(cells.map(|cell| render::unbroken(&cell)));
    }
    writeln!(out, "{}", table::lines(&table, &[]))?;
    if let Some(says) = of_mean(map) {
        writeln!(out, "  {}", render::wrapped(&says, render::width() - 2, 2))?;
    }
    for stage in &map.held {
        writeln!(out, "  {}", render::wrapped(&map.held_words(stage), render::width() - 2, 4))?;
    }
    if map.is_of_device && map.held.is_empty() {
        writeln!(out, "  nothing is stated of the device's stages")?;
    }
    for says in &map.left_out {
        writeln!(out, "  {}", render::wrapped(says, render::width() - 2, 2))?;
    }
    if let Some(says) = map.figures.warning("of its stages") {
        writeln!(out, "  {}", render::wrapped(&says, render::width() - 2, 2))?;
    }
    if !map.map.withstand_is_asked {
        let says = "How long to stay on is known from the least delays of stages alone: the standard's withstand is not in the profile, or not required.";
        writeln!(out, "  {}", render::wrapped(says, render::width() - 2, 2))?;
    }
    writeln!(out)
}
