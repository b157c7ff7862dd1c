//! What would be asked of a device, before anything is.

use super::{options, peer};
use crate::Exit;
use crate::args::{Capture, Unit};
use crate::render::{self, wrapped};
use std::io::{self, Write};
use sunspec::models::MODELS;

/// Prints the plan; nothing is connected to.
pub fn write(args: &Capture) -> io::Result<Exit> {
    let (options, width) = (options(args), render::width());
    let mut out = terminal::stdout();
    render::title(&mut out, "PLAN", "nothing was connected to")?;
    let line = if args.serial.is_some() { format!(", {} bits a second", args.speed) } else { String::new() };
    let bases: Vec<String> = options.bases.iter().map(u16::to_string).collect();
    let models: Vec<String> = MODELS.iter().map(|model| model.id.to_string()).collect();
    let twice = if options.twice { "What holds settings is read a second time, and compared." } else { "Everything is read once." };
    let others = if options.everything {
        "All other models are read too, for the file of registers."
    } else {
        "Other models are passed over by their length."
    };
    let unit = match args.unit {
        Unit::Is(unit) => format!("unit {unit}"),
        Unit::Any => "units 1 to 247 one after the other, once and shortly each, until one has a map".to_owned(),
    };
    let lines = [
        format!("Connect to {}, {unit}{line}.", peer(args)),
        format!("Look for `SunS` at {}: 2 registers each, until it is found.", bases.join(", then ")),
        "Follow the models from there: 2 registers for the number and the length of each, up to its end.".to_owned(),
        format!("Read models {}, and 715, which says whether the device is under local control.", models.join(", ")),
        others.to_owned(),
        twice.to_owned(),
        format!(
            "Ask for {} registers at most, {} ms apart; wait {} ms for an answer, and try {} more times with longer pauses; end after {} s.",
            options.at_once, args.pause, args.timeout, args.retries, args.within
        ),
        "Send function 3, read holding registers, and nothing else: no request that could change the device exists in this program."
            .to_owned(),
    ];
    for (n, line) in (1..).zip(lines) {
        writeln!(out, "  {n}. {}", wrapped(&line, width - 5, 5))?;
    }
    Ok(Exit::Fine)
}
