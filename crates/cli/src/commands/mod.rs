//! One file for each verb.

mod affected;
mod attest;
mod behaves;
#[cfg(feature = "modbus")]
mod capture;
mod check;
mod close_out;
mod completions;
mod curve;
mod decode;
mod diff;
#[cfg(feature = "register")]
mod due;
mod events;
mod exercise;
mod explain;
mod identify;
mod keys;
mod lint;
mod list;
mod logged;
mod man;
mod new;
mod operand;
#[cfg(feature = "page")]
pub mod page;
mod pin;
mod pinned;
mod played;
mod printed;
mod readout;
#[cfg(feature = "register")]
mod register;
mod report;
mod revision_check;
mod rise;
mod scenario;
mod schema;
mod seal;
pub mod sheet;
mod show;
mod template;
mod test_sheet;
mod trip_map;
mod verify;

use crate::args::{Args, Command, Filled, Profiles, Under};
use crate::render::{self, wrapped};
use crate::walk::write_messages;
use crate::{Exit, files};
use rules::assess::Assessor;
use rules::filled_sheet::FilledSheet;
use rules::sheet::CAUTIONS;
use settings_model::document::Node;
use settings_model::files::SiteFile;
use settings_model::reader;
use settings_model::source::Sources;
use std::io::{self, Write};
use std::path::Path;

/// Does what the command line asks.
pub fn run(args: Args) -> io::Result<Exit> {
    match args.command {
        Command::New(args) => new::run(&args),
        Command::Sheet(args) => sheet::run(&args),
        Command::Check(args) => check::run(&args),
        #[cfg(feature = "modbus")]
        Command::Capture(args) => capture::run(&args),
        Command::Decode(args) => decode::run(&args),
        Command::TestSheet(args) => test_sheet::run(&args),
        Command::CloseOut(args) => close_out::run(&args),
        Command::Identify(args) => identify::run(&args),
        Command::Pin(args) => pin::run(&args),
        Command::Affected(args) => affected::run(&args),
        Command::Lint(args) => lint::run(&args),
        Command::RevisionCheck(args) => revision_check::run(&args),
        Command::Curve(args) => curve::run(&args),
        Command::TripMap(args) => trip_map::run(&args),
        Command::Rise(args) => rise::run(&args),
        Command::Diff(args) => diff::run(&args),
        Command::Attest(args) => attest::run(&args),
        Command::Scenario(args) => scenario::run(&args),
        Command::Events(args) => events::run(&args),
        Command::Behaves(args) => behaves::run(&args),
        #[cfg(feature = "page")]
        Command::Page(args) => page::run(&args),
        Command::Exercise(args) => exercise::run(&args),
        Command::Keys(args) => keys::run(&args),
        Command::Report(args) => report::run(&args),
        Command::Seal(args) => seal::record(&args),
        Command::SignProfile(args) => seal::profile(&args),
        Command::Verify(args) => verify::run(&args),
        #[cfg(feature = "register")]
        Command::Register(args) => register::run(&args),
        #[cfg(feature = "register")]
        Command::Due(args) => due::run(&args),
        Command::Explain(args) => explain::run(&args),
        Command::List(args) => list::run(&args),
        Command::Show(args) => show::run(&args),
        Command::Template(args) => template::run(&args),
        Command::Schema(args) => schema::run(&args),
        Command::Completions(args) => completions::run(&args),
        Command::Man(args) => man::run(&args),
    }
}

/// An assessor over the profiles at hand, for the day asked about.
fn assessor(under: &Under) -> io::Result<Assessor> {
    let mut library = files::library(&under.profiles)?;
    library.set_now(clock());
    Ok(Assessor::new(library, day(under)))
}

/// The day asked about.
fn day(under: &Under) -> jiff::civil::Date {
    under.as_of.unwrap_or_else(clock)
}

/// The day by the clock.
fn clock() -> jiff::civil::Date {
    jiff::ZonedDateTime::now().date()
}

/// A site's file as a checked tree. What keeps it from being used is written to standard error.
fn site_tree(path: &Path, assessor: &mut Assessor) -> io::Result<Option<Node>> {
    let text = files::text(path)?;
    let source = assessor.sources.add(terminal::path(path), text.as_str());
    let checked = assessor.read_site(source, &text).and_then(|root| reader::typed::<SiteFile<'_>>(&root).map(drop).map(|()| root));
    match checked {
        Ok(root) => Ok(Some(root)),
        Err(findings) => write_messages(&findings, &assessor.sources).map(|()| None),
    }
}

/// The same, with what a sheet filled by hand says of its devices, where one is named.
fn site_tree_with(path: &Path, filled: &Filled, assessor: &mut Assessor) -> io::Result<Option<Node>> {
    let Some(root) = site_tree(path, assessor)? else { return Ok(None) };
    let sheet = files::filled::named(filled, &mut assessor.sources)?;
    let laid = sheet.and_then(|sheet| sheet.map_or(Ok(root.clone()), |sheet| sheet.laid_over(&root, assessor)));
    match laid {
        Ok(root) => Ok(Some(root)),
        Err(findings) => write_messages(&findings, &assessor.sources).map(|()| None),
    }
}

/// At the top of what is said of a site that was made for a lesson.
fn write_training(out: &mut dyn Write, site: &SiteFile<'_>) -> io::Result<()> {
    site.training_notice().map_or(Ok(()), |notice| render::title(out, notice, ""))
}

/// What was written down of a job.
fn texts(site: &Path, filled: &Filled, commissioning: Option<&Path>) -> io::Result<record::making::Texts> {
    let sheet = filled.filled.as_deref().map(input).transpose()?;
    let columns = filled.columns.as_deref().map(input).transpose()?;
    if let Some(sheet) = &sheet {
        let named = |input: &'_ record::making::Input| (input.path.clone(), input.text.clone());
        let (sheet, columns) = (named(sheet), columns.as_ref().map(named));
        let columns = columns.as_ref().map(|(name, text)| (name.as_str(), text.as_str()));
        let filled = FilledSheet::new((&sheet.0, &sheet.1), columns, &mut Sources::default());
        // what is wrong with its column map is said where it is used
        filled.ok().map_or(Ok(()), |filled| files::filled::say_rows(&filled))?;
    }
    Ok(record::making::Texts { site: input(site)?, sheet, columns, commissioning: commissioning.map(input).transpose()? })
}

/// A file that becomes part of a record: its text, and its name without folders.
fn input(path: &Path) -> io::Result<record::making::Input> {
    let name = path
        .file_name()
        .filter(|name| *name != "-")
        .map_or_else(|| "standard-input".to_owned(), |name| name.to_string_lossy().into_owned());
    Ok(record::making::Input { path: terminal::path(path), name, text: files::text(path)? })
}

/// Nothing was asked about, which is no pass.
const NO_SITES: &str = "no sites: what was named is empty";

/// Says why the question could not be put.
fn refused(says: &str) -> io::Result<Exit> {
    writeln!(terminal::stderr(), "{}", wrapped(&format!("asleft: {says}"), render::width(), 8))?;
    Ok(Exit::CouldNotTell)
}

/// The folders of profiles that the next command needs, too.
pub fn with_profiles(profiles: &Profiles) -> String {
    if std::env::var_os("ASLEFT_PROFILES").is_some() {
        return String::new();
    }
    profiles.folders.iter().map(|folder| format!(" --profiles {}", terminal::path(render::quoted(&folder.to_string_lossy())))).collect()
}
