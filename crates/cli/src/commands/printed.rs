//! A paper in its form: a page or a PDF.

use super::refused;
use crate::args::OnPaper;
use crate::{Exit, files};
use paper::Paper;
use std::io::{self, Write};
use std::path::Path;
use terminal::visible;

/// The form of a paper.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Form {
    /// A page of its own, with nothing from elsewhere.
    Page,
    /// A PDF.
    Pdf,
}

impl Form {
    /// By the name of the file; standard output is a page.
    pub fn of(path: &Path) -> Result<Self, String> {
        match path.extension().and_then(|extension| extension.to_str()) {
            _ if path.as_os_str() == "-" => Ok(Self::Page),
            Some("html" | "htm") => Ok(Self::Page),
            Some("pdf") if cfg!(feature = "pdf") => Ok(Self::Pdf),
            Some("pdf") => {
                Err("this build makes no PDF: build it with `--features pdf`, or name a file that ends in `.html` and print that"
                    .to_owned())
            }
            _ => Err(format!("{}: name a file that ends in `.html` or `.pdf`", terminal::path(path))),
        }
    }
}

/// Writes a paper whole or not at all, and never over something else that was not to be replaced.
pub fn write(paper: &Paper, form: Form, to: &Path, on: &OnPaper) -> io::Result<Exit> {
    write_all(&[(paper, to)], form, on)
}

/// The same of several papers that belong together: where one may not be written, none is.
pub fn write_all(papers: &[(&Paper, &Path)], form: Form, on: &OnPaper) -> io::Result<Exit> {
    let mut made = Vec::new();
    for (paper, to) in papers {
        match made_for(paper, form, to, on)? {
            Ok(bytes) => made.push(bytes),
            Err(says) => return refused(&format!("{}: {says}", terminal::path(to))),
        }
    }
    for ((_, to), bytes) in papers.iter().zip(made) {
        put(to, &bytes)?;
    }
    Ok(Exit::Fine)
}

/// The bytes of a paper, or why it may not be written.
fn made_for(paper: &Paper, form: Form, to: &Path, on: &OnPaper) -> io::Result<Result<Vec<u8>, String>> {
    let (bytes, boxes) = match bytes(paper, on.paper.into(), form) {
        Ok(written) => written,
        Err(says) => return Ok(Err(says)),
    };
    if !boxes.is_empty() {
        writeln!(
            terminal::stderr(),
            "asleft: {}: the font has no letter for these, which are empty boxes on paper: {boxes}",
            terminal::path(to)
        )?;
    }
    if to.as_os_str() != "-" && files::says_otherwise(to, &bytes)? && !on.replace {
        let says = "a file is there already, and says something else; name another place with `--out`, or give `--replace`";
        return Ok(Err(says.to_owned()));
    }
    Ok(Ok(bytes))
}

fn put(to: &Path, bytes: &[u8]) -> io::Result<()> {
    let mut out = terminal::stdout();
    if to.as_os_str() == "-" {
        out.write_all(bytes)?;
        return out.flush();
    }
    files::write_whole(to, bytes)?;
    writeln!(out, "written to {}", terminal::path(to))
}

/// The bytes of a paper, and the letters for which it has only empty boxes.
fn bytes(paper: &Paper, size: paper::Size, form: Form) -> Result<(Vec<u8>, String), String> {
    match form {
        Form::Page => Ok((visible(&paper::html(paper, size)).into_owned().into_bytes(), String::new())),
        #[cfg(feature = "pdf")]
        Form::Pdf => match paper::pdf(paper, size) {
            Ok(pdf) => Ok((pdf.bytes, pdf.boxes.into_iter().collect())),
            Err(fault) => Err(fault.to_string()),
        },
        #[cfg(not(feature = "pdf"))]
        Form::Pdf => Err("this build makes no PDF".to_owned()),
    }
}
