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
    let (bytes, boxes) = match bytes(paper, on.paper.into(), form) {
        Ok(written) => written,
        Err(says) => return refused(&format!("{}: {says}", terminal::path(to))),
    };
    if !boxes.is_empty() {
        writeln!(
            terminal::stderr(),
            "asleft: {}: the font has no letter for these, which are empty boxes on paper: {boxes}",
            terminal::path(to)
        )?;
    }
    if to.as_os_str() == "-" {
        let mut out = terminal::stdout();
        out.write_all(&bytes)?;
        return out.flush().map(|()| Exit::Fine);
    }
    if files::says_otherwise(to, &bytes)? && !on.replace {
        return refused(&format!(
            "{}: a file is there already, and says something else; name another place with `--out`, or give `--replace`",
            terminal::path(to)
        ));
    }
    files::write_whole(to, &bytes)?;
    writeln!(terminal::stdout(), "written to {}", terminal::path(to))?;
    Ok(Exit::Fine)
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
