//! `asleft man`: the manual page.

use super::refused;
use crate::Exit;
use crate::args::{self, Man};
use settings_model::finding::nearest;
use std::io::{self, Write};

/// Prints the page of the program, or of one verb.
pub fn run(args: &Man) -> io::Result<Exit> {
    let mut program = args::command();
    program.build();
    let page = match &args.verb {
        None => program,
        Some(verb) => match program.find_subcommand(verb) {
            Some(found) => found.clone(),
            None => {
                let verbs: Vec<&str> = program.get_subcommands().map(|verb| verb.get_name()).collect();
                let meant = nearest(verb, verbs.iter().copied()).map(|meant| format!("did you mean `{meant}`?"));
                let hint = meant.unwrap_or_else(|| format!("verbs: {}", verbs.join(", ")));
                return refused(&format!("no verb `{verb}`; {hint}"));
            }
        },
    };
    let mut text = Vec::new();
    clap_mangen::Man::new(page).render(&mut text)?;
    terminal::stdout().write_all(&text)?;
    Ok(Exit::Fine)
}
