//! A register as the command line names it: opened, with faults that say which file they are about.

use crate::args::Which;
use record::Envelope;
pub use record::register::Register;
use record::register::{Entry, Filter, RegisterError};
use std::io;
use std::path::Path;

/// A fault of a register, with its file in front.
pub fn about(path: &Path, fault: impl std::fmt::Display) -> io::Error {
    io::Error::other(format!("{}: {fault}", terminal::path(path)))
}

/// Refuses a file of the system, which only looks like one and may have something to say for ever, or wait for it.
pub fn lies_on_a_disk(path: &Path) -> io::Result<()> {
    if path.is_file() {
        input_files::regular(path).map_err(|error| about(path, input_files::why(&error)))?;
    }
    Ok(())
}

/// Opens a register to read it.
pub fn open(path: &Path) -> io::Result<Register> {
    lies_on_a_disk(path)?;
    Register::open(path).map_err(|fault| about(path, fault))
}

/// The text of a profile that a register kept, by its hash in hexadecimal.
pub fn profile(register: &Register, sha256: &str) -> io::Result<Option<String>> {
    let Some(hash) = record::canonical::of_hex(sha256) else { return Ok(None) };
    register.profile(&hash).map_err(|fault| about(register.path(), fault))
}

/// The newest record of a site, as it was added.
pub fn newest(register: &Register, site: &str) -> io::Result<Option<Vec<u8>>> {
    let mut number = None;
    let filter = Filter { sites: vec![site.to_owned()], ..Filter::default() };
    let mut take = |entry: Entry, _: &str| {
        number = Some(entry.number);
        Ok(())
    };
    let says = |fault| about(register.path(), fault);
    register.each(&filter, &mut take).map_err(says)?;
    number.map(|number| register.file(number)).transpose().map_err(says).map(Option::flatten)
}

/// The entry that is a record, and when it was added if it has all its signatures; a later state of the site may be
/// there besides.
pub fn entry_of(register: &Register, envelope: &Envelope) -> io::Result<Option<(u64, Option<String>)>> {
    let entries = register.of_record(&envelope.hash()).map_err(|fault| about(register.path(), fault))?;
    let has_all = |entry: &&Entry| envelope.signatures.iter().all(|one| entry.signatures.contains(one));
    let whole = entries.iter().find(has_all).map(|entry| (entry.number, Some(entry.header.added.clone())));
    Ok(whole.or_else(|| entries.last().map(|entry| (entry.number, None))))
}

/// The filter that the command line asks for.
///
/// # Errors
/// Where the register knows no site, company, branch or crew of a name that is asked for: nothing is due at a site that
/// is misspelt, and that is no answer.
pub fn filter(register: &Register, which: &Which, all: bool) -> io::Result<Filter> {
    let sites = which.site.iter().map(|name| ("site", name, Filter { sites: vec![name.clone()], ..Filter::default() }));
    let companies =
        which.company.iter().map(|name| ("company", name, Filter { company: Some(name.clone()), all: true, ..Filter::default() }));
    let branches = which.branch.iter().map(|name| ("branch", name, Filter { branch: Some(name.clone()), all: true, ..Filter::default() }));
    let crews = which.crew.iter().map(|name| ("crew", name, Filter { crew: Some(name.clone()), all: true, ..Filter::default() }));
    for (what, name, of_name) in sites.chain(companies).chain(branches).chain(crews) {
        let mut is_known = false;
        let mut take = |_: Entry, _: &str| {
            is_known = true;
            Ok(())
        };
        register.each(&of_name, &mut take).map_err(|fault| about(register.path(), fault))?;
        if !is_known {
            let says = format!(
                "no {what} `{name}` in this register; `asleft register list --register {}` names those that there are",
                terminal::path(register.path())
            );
            return Err(about(register.path(), says));
        }
    }
    Ok(Filter {
        sites: which.site.clone(),
        company: which.company.clone(),
        branch: which.branch.clone(),
        crew: which.crew.clone(),
        verdict: which.verdict.map(Into::into),
        since: which.since.map(|since| since.to_string()),
        all,
    })
}

/// Goes on with an error of writing out of a walk over entries.
pub fn written(result: io::Result<()>) -> Result<(), RegisterError> {
    result.map_err(RegisterError::File)
}

/// A fault of a walk over entries; a reader that went away stays one.
pub fn of_walk(path: &Path) -> impl FnOnce(RegisterError) -> io::Error {
    move |fault| match fault {
        RegisterError::File(error) => error,
        fault => about(path, fault),
    }
}
