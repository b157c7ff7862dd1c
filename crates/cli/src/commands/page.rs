//! `asleft page`: a page for the class, served to this machine's own browser.

use super::operand::{OperandError, file_of, operand, write_fault};
use super::{assessor, check, refused};
use crate::Exit;
use crate::args::{Page, Under};
use crate::render::{self, findings, wrapped};
use classroom::answers::Answers;
use classroom::choices::{Choices, Named};
use classroom::server::Server;
use classroom::{CAUTIONS, Program};
use rules::assess::Assessor;
use std::io::{self, Write};

/// Columns of what the page shows as the terminal would.
const WIDTH: usize = 88;

/// Serves the page until the program is ended.
pub fn run(args: &Page) -> io::Result<Exit> {
    let mut assessor = assessor(&args.under)?;
    let choices = match choices(&args.files, &mut assessor) {
        Ok(choices) => choices,
        Err(fault) => return write_fault(fault, &assessor),
    };
    let server = match Server::listen(args.port) {
        Ok(server) => server,
        Err(error) => return refused(&format!("port {} cannot be listened on: {error}; leave `--port` out for a free one", args.port)),
    };
    for caution in CAUTIONS {
        writeln!(terminal::stderr(), "{}", wrapped(&format!("- {caution}"), render::width(), 2))?;
    }
    writeln!(terminal::stderr(), "For teaching, on this machine only. Open the address below in a browser; Ctrl-C ends it.")?;
    let mut out = io::stdout();
    writeln!(out, "{}", server.address())?;
    out.flush()?;
    let mut answers = Answers::new(assessor, choices, program(args.under.clone()));
    server.serve(|request| answers.to(request))?;
    Ok(Exit::Fine)
}

fn choices(words: &[String], assessor: &mut Assessor) -> Result<Choices, OperandError> {
    let mut named = Vec::new();
    for word in words {
        named.push(Named { word: word.clone(), file: terminal::path(file_of(word)), operand: operand(word, assessor)? });
    }
    Choices::of(named, assessor)
}

/// What the page asks of the verbs: the same profiles, and the words of `check`.
pub fn program(under: Under) -> Program {
    let for_files = under.clone();
    Program {
        assessor: Box::new(move || super::assessor(&for_files)),
        checked: Box::new(move |name, text| check::said_of(name, text, &under, WIDTH)),
        finding: |finding, sources| findings::finding(finding, sources, WIDTH, false),
    }
}
