//! `asleft register show`: one entry.

use crate::Exit;
use crate::args::RegisterShow;
use crate::commands::refused;
use crate::files::register::{about, of_walk, open};
use crate::render::{self, wrapped};
use record::canonical;
use record::register::{Entry, Filter, Register, RegisterError};
use record::seal::Sealed;
use std::io::{self, Write};

/// Shows an entry by number, or the newest of a site.
pub fn run(args: &RegisterShow) -> io::Result<Exit> {
    let path = &args.register.register;
    let register = open(path)?;
    let Some(entry) = found(&args.entry, &register).map_err(of_walk(path))? else {
        let file = terminal::path(path);
        return refused(&format!("{file}: no entry and no site `{}`; `asleft register list --register {file}` shows them", args.entry));
    };
    if args.record {
        let file = register.file(entry.number).map_err(|fault| about(path, fault))?;
        terminal::file(&file.unwrap_or_default())?;
        return Ok(Exit::Fine);
    }
    write_text(&mut terminal::stdout(), &entry)?;
    Ok(Exit::Fine)
}

fn found(word: &str, register: &Register) -> Result<Option<Entry>, RegisterError> {
    let mut newest = None;
    register.each(&Filter { sites: vec![word.to_owned()], ..Filter::default() }, &mut |entry, _| {
        newest = Some(entry);
        Ok(())
    })?;
    match (newest, word.parse::<u64>()) {
        (None, Ok(number)) => register.entry(number),
        (newest, _) => Ok(newest),
    }
}

fn write_text(out: &mut dyn Write, entry: &Entry) -> io::Result<()> {
    let (header, width) = (&entry.header, render::width());
    render::title(out, &format!("ENTRY {}", entry.number), &format!("{}, {}", header.site, header.headline))?;
    let mut line = |name: &str, says: &str| {
        let says = wrapped(says, width - 16, 0).replace('\n', &format!("\n{}", " ".repeat(16)));
        writeln!(out, "  {name:<14}{says}")
    };
    line("as of", &header.as_of)?;
    line("under", &header.under)?;
    let who = &header.answerable;
    let who: Vec<&str> = [&who.company, &who.branch, &who.crew].into_iter().flatten().map(String::as_str).collect();
    line("answerable", &if who.is_empty() { "nobody is named".to_owned() } else { who.join(", ") })?;
    line("record", &canonical::hex(&entry.record_sha256))?;
    for signature in &entry.signatures {
        match signature.holds(Sealed::Record, &entry.record_sha256) {
            Ok(key) => line("sealed by", &key.fingerprint())?,
            Err(fault) => line("sealed by", &format!("a signature that does not hold: {fault}"))?,
        }
    }
    line("link", &canonical::hex(&entry.link))?;
    line("added", &header.added)?;
    for due in &header.due {
        line("due", &format!("{}  {}: {}", due.by.as_deref().unwrap_or("no day named"), due.kind.phrase(), due.what))?;
    }
    Ok(())
}
