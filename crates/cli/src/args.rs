//! The command line: the verbs and what they share; each verb's own flags have a file of their own.

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
mod help;
mod identify;
mod keys;
mod lint;
mod list;
mod log_form;
mod man;
mod new;
#[cfg(feature = "page")]
mod page;
mod pin;
mod readout;
#[cfg(feature = "register")]
mod register;
mod report;
mod revision_check;
mod rise;
mod scenario;
mod schema;
mod seal;
mod sheet;
mod show;
mod template;
mod test_sheet;
mod trip_map;
mod verify;

use clap::{Args as ClapArgs, Parser, Subcommand, ValueEnum};
use jiff::civil::Date;
use std::path::PathBuf;

pub use affected::{Affected, WorkFormat};
pub use attest::{Attest, AttestCheck, AttestCommand, AttestList, AttestNew, ListFormat};
pub use behaves::{Behaves, BehavesFormat, CountedBy, QPositive};
#[cfg(feature = "modbus")]
pub use capture::{Capture, Parity, Unit};
pub use check::{Check, CheckFormat};
pub use close_out::CloseOut;
pub use completions::Completions;
pub use curve::{Curve, FallOf};
pub use decode::Decode;
pub use diff::{Diff, NoteFormat};
#[cfg(feature = "register")]
pub use due::Due;
pub use events::{Events, InService};
pub use exercise::{Exercise, ExerciseCommand, ExerciseFaults, ExerciseMark, ExerciseNew, FaultCount, MarkFormat};
pub use explain::Explain;
pub use help::command;
pub use identify::Identify;
pub use keys::{Keys, KeysCommand, KeysNew, KeysShow};
pub use lint::Lint;
pub use list::{List, Listed};
pub use log_form::{LogForm, MeansStamped, MeasuredAt};
pub use man::Man;
pub use new::{New, NewCommand, NewOverlay, NewSite};
#[cfg(feature = "page")]
pub use page::Page;
pub use pin::Pin;
pub use readout::Readout;
#[cfg(feature = "register")]
pub use register::{
    ExportFormat, InRegister, Register, RegisterAdd, RegisterBackup, RegisterCommand, RegisterExport, RegisterList, RegisterRollUp,
    RegisterShow, RegisterVerify, Which,
};
pub use report::{OnPaper, Report};
pub use revision_check::RevisionCheck;
pub use rise::Rise;
pub use scenario::Scenario;
pub use schema::{Schema, SchemaKind, SchemaOutput};
pub use seal::{Seal, SignProfile};
pub use sheet::{Sheet, SheetFormat};
pub use show::Show;
pub use template::Template;
pub use test_sheet::{TestSheet, TestSheetFormat};
pub use trip_map::{MapOf, TripMap};
pub use verify::Verify;

const CAUTION: &str = "Only licensed persons may change grid-protection settings. The network operator's own \
document, local rules and the device's manual decide; this program never writes to a device.";

/// What each grid-protection setting of an inverter must be, why, and whether what was left complies.
#[derive(Parser)]
#[command(name = "asleft", version, max_term_width = 100, after_help = CAUTION)]
pub struct Args {
    /// What to do.
    #[command(subcommand)]
    pub command: Command,
}

/// What to do.
#[derive(Subcommand)]
pub enum Command {
    /// A site's file, from answers: the first step at a new site; or an officer's first overlay
    New(Box<New>),
    /// What to select, enter and verify at a site, and who may change it
    Sheet(Sheet),
    /// Whether what the devices hold complies
    Check(Check),
    /// What a device really holds, read from it over the open SunSpec models; it is never written to
    #[cfg(feature = "modbus")]
    Capture(Capture),
    /// What a device held, from registers that were kept in a file
    Decode(Decode),
    /// The tests to do on site, with the figures to expect, and what measurements come to
    TestSheet(TestSheet),
    /// The record that a job leaves behind: as found, as left, required, proven by what
    CloseOut(CloseOut),
    /// A record on paper: for the owner, the operator and the file, as a page or a PDF
    Report(Report),
    /// Whose values a device holds: which region, edition or network's issue, and what was altered
    Identify(Identify),
    /// What moved: versions or regions of requirements, devices, or one as found and as left
    Diff(Diff),
    /// Whether requirement files make sense: contradictions, overlapping cases, windows, versions
    Lint(Lint),
    /// Which version step a change of requirements deserves, with sites that it makes non-compliant
    RevisionCheck(RevisionCheck),
    /// Which sites a new version makes non-compliant, and what has to be done there
    Affected(Affected),
    /// What a site stands under now, by name and content, so that it can be judged so again
    Pin(Pin),
    /// What a response says at each voltage, frequency or power: required, held, and drawn
    Curve(Curve),
    /// What an office read in its licensed copy: what still rests on memory, a file to fill in, a check of one
    Attest(Attest),
    /// How far the voltage rises along a site's cables, and where its inverters settle
    Rise(Rise),
    /// Why a device disconnected or gave less: a log of voltage and frequency, played by its settings
    Events(Events),
    /// Whether a device did what it is set to do: a log of measurements against its settings
    Behaves(Behaves),
    /// What devices do as voltage, frequency and power move, step by step: drills for a class
    Scenario(Scenario),
    /// How long to stay on, when a trip may come and when it must, against voltage and frequency
    TripMap(TripMap),
    /// A page for the class: move voltage, frequency and power, and see what an inverter does and why
    #[cfg(feature = "page")]
    Page(Page),
    /// Faulty sites for a class, the answers in a file of their own, and the marking of what comes back
    Exercise(Exercise),
    /// Keys to sign with: a new pair, or whose one is
    Keys(Keys),
    /// Signs a record, so that nobody can alter it unnoticed
    Seal(Seal),
    /// Signs a requirement file, for `--require-signed`
    SignProfile(SignProfile),
    /// Whether a record is as it was made: form, hash, signatures, judged again, registered
    Verify(Verify),
    /// The file in which an office keeps its records: it only grows
    #[cfg(feature = "register")]
    Register(Register),
    /// What is due at the sites of a register, and when
    #[cfg(feature = "register")]
    Due(Due),
    /// All that is known of a setting: meaning, what each layer asks, and why
    Explain(Explain),
    /// The standards, networks, settings or facts at hand
    List(List),
    /// A profile's own text, as `list profiles` names it
    Show(Show),
    /// A site file to fill in, for a network or a standard
    Template(Template),
    /// The JSON Schema of a kind of file or output
    Schema(Schema),
    /// Completions for a shell
    Completions(Completions),
    /// The manual page, or that of one verb
    Man(Man),
}

/// Where requirements come from.
#[derive(Clone, ClapArgs)]
pub struct Profiles {
    /// A folder of more profiles (`standards/…`, `overlays/…`, `labels/…`, `scenarios/…`, `attestations/…`); may be given again
    #[arg(long = "profiles", value_name = "FOLDER", env = "ASLEFT_PROFILES")]
    pub folders: Vec<PathBuf>,
    /// Use only profiles that this public key signed (`asleft help sign-profile` says how); may be given again
    #[arg(long, value_name = "PUBLIC-KEY", env = "ASLEFT_REQUIRE_SIGNED")]
    pub require_signed: Vec<PathBuf>,
    /// With it: profiles that come with the program are used unsigned
    #[arg(long, requires = "require_signed")]
    pub trust_shipped: bool,
}

/// Where requirements come from, and the day asked about.
#[derive(Clone, ClapArgs)]
pub struct Under {
    /// Where requirements come from.
    #[command(flatten)]
    pub profiles: Profiles,
    /// The day the question is asked for, such as 2026-02-03; today without it
    #[arg(long, value_name = "DATE", value_parser = date)]
    pub as_of: Option<Date>,
}

/// The form of the answer.
#[derive(Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Format {
    /// For people
    Text,
    /// For programs; `asleft help schema` names the schemas
    Json,
}

/// How much of the machine is used.
#[derive(ClapArgs)]
pub struct Jobs {
    /// How many sites to judge at once; one for each core without it
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u16).range(1..))]
    pub jobs: Option<u16>,
}

/// How pictures are drawn.
#[derive(ClapArgs)]
pub struct Drawing {
    /// Draw to a file too; of several pictures, one file each
    #[arg(long, value_name = "FILE")]
    pub svg: Option<PathBuf>,
    /// Only tables on the terminal
    #[arg(long)]
    pub no_plot: bool,
}

/// A sheet that was filled by hand.
#[derive(ClapArgs)]
pub struct Filled {
    /// What devices were found and left with, from a sheet filled by hand (`asleft sheet SITE --format csv`); for `check` also a folder of them
    #[arg(long, value_name = "CSV")]
    pub filled: Option<PathBuf>,
    /// An office's own names for the columns of that sheet (`asleft schema column-map`)
    #[arg(long, value_name = "FILE", requires = "filled")]
    pub columns: Option<PathBuf>,
}

fn date(text: &str) -> Result<Date, settings_model::slip::Slip> {
    settings_model::notation::date(text)
}
