//! A site's file that is opened in the browser: read and checked here, kept in memory only.

use super::Program;
use super::choices::{Choices, read};
use input_files::not_text;
use rules::operand::OperandError;
use std::io;

/// What came of a file.
pub struct Opened {
    /// The first of its devices, where it can be used.
    pub choice: Option<String>,
    /// What `check` says of it, in its words.
    pub says: String,
}

/// Reads and checks a file of a site, and lists its devices.
pub fn open(name: &str, bytes: &[u8], choices: &mut Choices, program: &Program) -> io::Result<Opened> {
    let name = if name.trim().is_empty() { "site.yaml" } else { name.trim() };
    let text = match not_text::text(bytes) {
        Ok(text) => text,
        Err(says) => return Ok(Opened { choice: None, says: format!("{name}: {says}") }),
    };
    // in rooms of their own, so that nothing of the file stays behind but what can be used of it
    let says = cut((program.checked)(name, text)?);
    let listed = read(name, text, &mut (program.assessor)()?).and_then(|found| choices.open(name, found));
    Ok(match listed {
        Ok(choice) => Opened { choice: Some(choice), says },
        Err(OperandError::Findings(_)) => Opened { choice: None, says },
        Err(OperandError::Words(words)) => Opened { choice: None, says: format!("{says}\n{words}\n") },
    })
}

/// As much as anybody reads.
fn cut(mut says: String) -> String {
    const MOST: usize = 64 * 1024;
    if says.len() > MOST {
        says.truncate(says.floor_char_boundary(MOST));
        says.push_str("\n… and more; `asleft check SITE` says all of it.\n");
    }
    says
}
