//! `asleft page`: a page for the class, served to this machine's own browser.
//!
//! Everything is worked out here; the page's script only sends where the sliders stand and puts back what
//! was rendered. Nothing is written to disk, nothing is sent elsewhere, nothing ever reaches a device.

pub mod answers;
pub mod choices;
mod difference;
mod document;
mod lesson;
mod loaded;
mod opening;
mod overlaid;
mod panel;
mod pictures;
mod position;
mod reasons;
mod sentence;
pub mod server;

use super::operand::write_fault;
use super::{CAUTIONS, assessor, refused};
use crate::Exit;
use crate::args::Page;
use crate::render::{self, wrapped};
use answers::Answers;
use choices::Choices;
use server::Server;
use std::io::{self, Write};

/// What to mind, on the page and before it.
const CAUTIONS_HERE: [&str; 4] = [
    CAUTIONS[0],
    "The network operator's own document and the connection approval decide; this page does not replace them.",
    CAUTIONS[2],
    CAUTIONS[3],
];

/// Serves the page until the program is ended.
pub fn run(args: &Page) -> io::Result<Exit> {
    let mut assessor = assessor(&args.under)?;
    let choices = match Choices::of(&args.files, &mut assessor) {
        Ok(choices) => choices,
        Err(fault) => return write_fault(fault, &assessor),
    };
    let server = match Server::listen(args.port) {
        Ok(server) => server,
        Err(error) => return refused(&format!("port {} cannot be listened on: {error}; leave `--port` out for a free one", args.port)),
    };
    for caution in CAUTIONS_HERE {
        writeln!(terminal::stderr(), "{}", wrapped(&format!("- {caution}"), render::width(), 2))?;
    }
    writeln!(terminal::stderr(), "For teaching, on this machine only. Open the address below in a browser; Ctrl-C ends it.")?;
    let mut out = io::stdout();
    writeln!(out, "{}", server.address())?;
    out.flush()?;
    let mut answers = Answers::new(assessor, choices, args.under.clone());
    server.serve(|request| answers.to(request))?;
    Ok(Exit::Fine)
}
