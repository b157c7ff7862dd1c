//! `asleft new`: a site's file, or an officer's first overlay, from answers.
//!
//! The answers come from the command line; on a terminal, what is missing is asked for. Nothing is guessed, and no
//! file that is there is written over. What was made is read back as any other file before it is kept.

mod answers;
mod devices;
mod overlay;
mod question;
mod site;
mod standard;
mod written;

use super::{assessor, refused, with_profiles};
use crate::Exit;
use crate::args::{New, NewCommand, NewSite};
use crate::render::{self, wrapped};
use crate::walk::write_messages;
use answers::{Answers, Talk};
use rules::assess::Assessor;
use settings_model::files::SiteFile;
use settings_model::reader;
use std::io::{self, IsTerminal, Write};
use std::path::{Path, PathBuf};

/// Makes what is asked for.
pub fn run(args: &New) -> io::Result<Exit> {
    match &args.of {
        Some(NewCommand::Overlay(args)) => overlay::run(args),
        None => of_site(&args.site),
    }
}

fn of_site(args: &NewSite) -> io::Result<Exit> {
    if let Some(says) = args.file.as_deref().and_then(taken) {
        return refused(&says);
    }
    let mut assessor = assessor(&args.under)?;
    let stem = args.file.as_deref().filter(|file| file.as_os_str() != STANDARD_OUTPUT).and_then(Path::file_stem);
    let stem = stem.map(|stem| stem.to_string_lossy().into_owned());
    let answered = with_answers(|answers| {
        let site = site::answered(args, stem.as_deref(), answers, &mut assessor)?;
        let named = site.name.as_ref().map(|name| PathBuf::from(format!("{}.yaml", name.replace(['/', '\\'], "-"))));
        let file = args.file.clone().or(named).unwrap_or_else(|| PathBuf::from("the site's file"));
        Ok((answers.refusal(&terminal::path(&file)), (file, site)))
    })?;
    let Some((file, site)) = answered else { return Ok(Exit::CouldNotTell) };
    let text = written::text(&site);
    let Some(under) = read_back(&file, &text, &mut assessor)? else { return Ok(Exit::CouldNotTell) };
    if let Some(says) = kept(&file, &text)? {
        return refused(&says);
    }
    let mut out = terminal::stderr();
    if file.as_os_str() != STANDARD_OUTPUT {
        writeln!(out, "written: {}", terminal::path(&file))?;
    }
    writeln!(out, "{}", wrapped(&format!("requirements: {under}"), render::width(), 2))?;
    if file.as_os_str() != STANDARD_OUTPUT {
        let (file, profiles) = (terminal::path(&file), with_profiles(&args.under.profiles));
        writeln!(out, "next:\n  asleft sheet {file}{profiles}  # what to select, enter and read back")?;
        writeln!(out, "  asleft sheet {file}{profiles} --format csv > sheet.csv  # the same, to fill in")?;
        writeln!(out, "  asleft check {file}{profiles} --filled sheet.csv  # judges what was left")?;
    }
    Ok(Exit::Fine)
}

/// The name for standard output.
const STANDARD_OUTPUT: &str = "-";

/// Has answers given, by somebody at a terminal where one is there. `None` where they were refused, which is said.
fn with_answers<T>(give: impl FnOnce(&mut Answers<'_>) -> io::Result<(Option<String>, T)>) -> io::Result<Option<T>> {
    let (mut input, mut output) = (io::stdin().lock(), terminal::stderr());
    let is_talk = io::stdin().is_terminal() && io::stderr().is_terminal();
    let mut answers = Answers::new(is_talk.then_some(Talk { input: &mut input, output: &mut output }));
    let (refusal, given) = give(&mut answers)?;
    match refusal {
        None => Ok(Some(given)),
        Some(says) => writeln!(terminal::stderr(), "{says}").map(|()| None),
    }
}

/// Says that something is there already.
fn taken(file: &Path) -> Option<String> {
    let is_taken = file.as_os_str() != STANDARD_OUTPUT && file.symlink_metadata().is_ok();
    is_taken.then(|| format!("{}: something is there already, and is never written over; name a new file", terminal::path(file)))
}

/// Reads a site's text as `sheet` would; what it stands under, in words. What keeps it from being used is said.
fn read_back(file: &Path, text: &str, assessor: &mut Assessor) -> io::Result<Option<String>> {
    let source = assessor.sources.add(terminal::path(file), text);
    let findings = match assessor.read_site(source, text) {
        Err(findings) => findings,
        Ok(root) => match reader::typed::<SiteFile<'_>>(&root) {
            Err(findings) => findings,
            Ok(site) => {
                let assessment = assessor.assess(&site);
                if assessment.book.is_some() {
                    return Ok(Some(assessment.under()));
                }
                rules::wording::findings(&assessment, &root)
            }
        },
    };
    write_messages(&findings, &assessor.sources)?;
    writeln!(terminal::stderr(), "asleft: {} was not written", terminal::path(file))?;
    Ok(None)
}

/// Writes a file that is not there yet, or prints it; says why it could not.
fn kept(file: &Path, text: &str) -> io::Result<Option<String>> {
    if file.as_os_str() == STANDARD_OUTPUT {
        return terminal::file(text.as_bytes()).map(|()| None);
    }
    match whole_file::write_new(file, text.as_bytes()) {
        Ok(()) => Ok(None),
        Err(error) if error.kind() == io::ErrorKind::AlreadyExists => Ok(taken(file)),
        Err(error) => Err(io::Error::other(format!("{}: {error}", terminal::path(file)))),
    }
}
