//! `asleft show`: a profile's own text.

use super::{assessor, refused};
use crate::Exit;
use crate::args::Show;
use settings_model::finding::nearest;
use std::io::{self, Write};

/// Prints one profile as it is.
pub fn run(args: &Show) -> io::Result<Exit> {
    let assessor = assessor(&args.under)?;
    let wanted = args.profile.trim_end_matches(".yaml").trim_start_matches("shipped:");
    let named = |path: &str| path.trim_end_matches(".yaml").to_owned();
    if let Some(profile) = assessor.library.profiles().find(|profile| named(&profile.path) == wanted) {
        terminal::stdout().write_all(profile.text.as_bytes())?;
        return Ok(Exit::Fine);
    }
    let known: Vec<String> = assessor.library.profiles().map(|profile| named(&profile.path)).collect();
    let hint = match nearest(wanted, known.iter().map(String::as_str)) {
        Some(meant) => format!("did you mean `{meant}`?"),
        None => "`asleft list profiles` names them all".to_owned(),
    };
    refused(&format!("no profile `{wanted}`; {hint}"))
}
