//! One file for each verb.

mod check;
mod explain;
mod list;
mod schema;
mod sheet;

use crate::args::{Args, Command, Under};
use crate::{Exit, files};
use rules::assess::Assessor;
use std::io;

/// Does what the command line asks.
pub fn run(args: Args) -> io::Result<Exit> {
    match args.command {
        Command::Sheet(args) => sheet::run(&args),
        Command::Check(args) => check::run(&args),
        Command::Explain(args) => explain::run(&args),
        Command::List(args) => list::run(&args),
        Command::Schema(args) => schema::run(&args),
    }
}

/// An assessor over the profiles at hand, for the day asked about.
fn assessor(under: &Under) -> io::Result<Assessor> {
    let today = under.as_of.unwrap_or_else(|| jiff::ZonedDateTime::now().date());
    Ok(Assessor::new(files::library(&under.profiles)?, today))
}

/// What to mind, on every sheet.
const CAUTIONS: [&str; 4] = [
    "Wrong settings can hurt people. Only licensed persons may change them, under local rules.",
    "The network operator's own document and the connection approval decide; this sheet does not replace them.",
    "Figures marked from memory or single source must be compared with a licensed copy before use.",
    "With storage and backup, opening the supply leaves backup circuits live: prove dead before touching.",
];
