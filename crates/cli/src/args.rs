//! The whole command line on one page.

use clap::{Args as ClapArgs, Parser, Subcommand, ValueEnum};
use jiff::civil::Date;
use std::path::PathBuf;

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
    /// What to select, enter and verify at a site, and who may change it
    Sheet(Sheet),
    /// Whether what the devices hold complies
    Check(Check),
    /// Whose values a device holds: which region, edition or network's issue, and what was altered
    Identify(Identify),
    /// What moved: versions or regions of requirements, devices, or one as found and as left
    Diff(Diff),
    /// Whether requirement files make sense: contradictions, overlapping cases, windows, versions
    Lint(Lint),
    /// Which version step a change of requirements deserves, with sites that it strands
    RevisionCheck(RevisionCheck),
    /// Which sites a new version strands, and what has to be done there
    Affected(Affected),
    /// What a site stands under now, by name and content, so that it can be judged so again
    Pin(Pin),
    /// What a response says at each voltage, frequency or power: required, held, and drawn
    Curve(Curve),
    /// What an office read in its licensed copy: what still rests on memory, a file to fill in, a check of one
    Attest(Attest),
    /// How far the voltage rises along a site's cables, and where its inverters settle
    Rise(Rise),
    /// Why a device dropped out or was held back: a log of voltage and frequency, played by its settings
    Events(Events),
    /// How long to stay on, when a trip may come and when it must, against voltage and frequency
    TripMap(TripMap),
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

/// Where requirements come from, and the day asked about.
#[derive(Clone, ClapArgs)]
pub struct Under {
    /// A folder of more profiles (`standards/…`, `overlays/…`, `labels/…`, `attestations/…`); may be given again
    #[arg(long, value_name = "FOLDER", env = "ASLEFT_PROFILES")]
    pub profiles: Vec<PathBuf>,
    /// The day the question is asked for, such as 2026-02-03; today without it
    #[arg(long, value_name = "DATE", value_parser = date)]
    pub as_of: Option<Date>,
}

/// The form of the answer.
#[derive(Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Format {
    /// For people
    Text,
    /// For programs; `asleft schema check-report` describes it
    Json,
}

/// The form of an answer about many sites.
#[derive(Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum CheckFormat {
    /// For people; of one site a line, only those with something to say, and a summary
    Text,
    /// One object with a list of all sites; `asleft schema check-report` describes it
    Json,
    /// One site a line, each as in that list, without a summary
    Ndjson,
    /// One finding a line: `file:line:column: outcome[name]: what is wrong`
    Lines,
    /// SARIF 2.1.0, for code scanning and viewers
    Sarif,
}

/// How much of the machine is used.
#[derive(ClapArgs)]
pub struct Jobs {
    /// How many sites to judge at once; one for each core without it
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u16).range(1..))]
    pub jobs: Option<u16>,
}

/// A sheet that was filled by hand.
#[derive(ClapArgs)]
pub struct Filled {
    /// What devices were found and left with, from a sheet filled by hand (`asleft sheet --format csv`)
    #[arg(long, value_name = "CSV")]
    pub filled: Option<PathBuf>,
    /// An office's own names for the columns of that sheet (`asleft schema column-map`)
    #[arg(long, value_name = "FILE", requires = "filled")]
    pub columns: Option<PathBuf>,
}

/// The form of a sheet.
#[derive(Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum SheetFormat {
    /// For a terminal
    Text,
    /// For a spreadsheet, with empty columns to fill in
    Csv,
    /// For paper: a page with empty columns to fill in
    Html,
    /// For programs; `asleft schema sheet-report` describes it
    Json,
}

/// The form of an answer that people pass on.
#[derive(Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum NoteFormat {
    /// For a terminal
    Text,
    /// For a page or a ticket
    Markdown,
    /// For programs; `asleft schema diff-report` describes it
    Json,
}

/// `asleft sheet`
#[derive(ClapArgs)]
pub struct Sheet {
    /// The site's file, or `-` for standard input
    pub site: PathBuf,
    /// Where requirements come from.
    #[command(flatten)]
    pub under: Under,
    /// The form of the answer
    #[arg(long, value_enum, default_value_t = SheetFormat::Text)]
    pub format: SheetFormat,
}

/// `asleft check`
#[derive(ClapArgs)]
pub struct Check {
    /// Site files, folders, .ndjson files of one site a line, .list files of one path a line, or `-`
    /// for lines of sites on standard input; any may be packed with gzip or zstd
    #[arg(required = true)]
    pub sites: Vec<PathBuf>,
    /// Where requirements come from.
    #[command(flatten)]
    pub under: Under,
    /// The form of the answer
    #[arg(long, value_enum, default_value_t = CheckFormat::Text)]
    pub format: CheckFormat,
    /// A sheet filled by hand, for the one site named.
    #[command(flatten)]
    pub filled: Filled,
    /// How much of the machine is used.
    #[command(flatten)]
    pub jobs: Jobs,
    /// Exit 1 where figures that nobody verified decided
    #[arg(long)]
    pub require_verified: bool,
    /// Judge each site by exactly what it pins, whatever its dates call for now
    #[arg(long)]
    pub pinned: bool,
}

/// `asleft identify`
#[derive(ClapArgs)]
pub struct Identify {
    /// The site's file, or `-` for standard input
    pub site: PathBuf,
    /// Where requirements come from.
    #[command(flatten)]
    pub under: Under,
    /// The form of the answer
    #[arg(long, value_enum, default_value_t = Format::Text)]
    pub format: Format,
}

/// `asleft diff`
#[derive(ClapArgs)]
pub struct Diff {
    /// A site's file, or `FILE:DEVICE`, `FILE:DEVICE:as-found`; or requirements: `quillbrook/2.0.0`,
    /// `as-nzs-4777.2/2020-amd2/australia-a`, or the file of a standard or an overlay
    #[arg(value_name = "WAS")]
    pub old: String,
    /// Another of the same kind; without it, a site's devices as found against as left
    #[arg(value_name = "IS")]
    pub new: Option<String>,
    /// A sheet filled by hand, for the site named first.
    #[command(flatten)]
    pub filled: Filled,
    /// Where requirements come from.
    #[command(flatten)]
    pub under: Under,
    /// The form of the answer
    #[arg(long, value_enum, default_value_t = NoteFormat::Text)]
    pub format: NoteFormat,
}

/// `asleft lint`
#[derive(ClapArgs)]
pub struct Lint {
    /// Standards, overlays and label maps, by name (`quillbrook/3.0.0`) or by file; without any, all at hand
    #[arg(value_name = "PROFILE")]
    pub named: Vec<String>,
    /// Where requirements come from.
    #[command(flatten)]
    pub under: Under,
    /// The form of the answer
    #[arg(long, value_enum, default_value_t = Format::Text)]
    pub format: Format,
}

/// `asleft revision-check`
#[derive(ClapArgs)]
pub struct RevisionCheck {
    /// The older requirements: `quillbrook/2.0.0`, or the file of an overlay or a standard
    pub old: String,
    /// The newer ones
    pub new: String,
    /// Write every site that a change strands to a file in this folder
    #[arg(long, value_name = "FOLDER")]
    pub examples: Option<PathBuf>,
    /// Where requirements come from.
    #[command(flatten)]
    pub under: Under,
    /// The form of the answer
    #[arg(long, value_enum, default_value_t = Format::Text)]
    pub format: Format,
}

/// The form of a work list.
#[derive(Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum WorkFormat {
    /// For a terminal
    Text,
    /// For a page or a ticket
    Markdown,
    /// For a spreadsheet: a row for each thing to do
    Csv,
    /// For programs; `asleft schema affected-report` describes it
    Json,
}

/// `asleft affected`
#[derive(ClapArgs)]
pub struct Affected {
    /// The older version: `quillbrook/2.0.0`, or the file of an overlay
    pub old: String,
    /// The newer version
    pub new: String,
    /// Site files, folders, .ndjson files of one site a line, .list files of one path a line, or `-`
    /// for lines of sites on standard input; any may be packed with gzip or zstd
    #[arg(required = true)]
    pub sites: Vec<PathBuf>,
    /// Where requirements come from.
    #[command(flatten)]
    pub under: Under,
    /// The form of the answer
    #[arg(long, value_enum, default_value_t = WorkFormat::Text)]
    pub format: WorkFormat,
    /// How much of the machine is used.
    #[command(flatten)]
    pub jobs: Jobs,
}

/// `asleft pin`
#[derive(ClapArgs)]
pub struct Pin {
    /// The site's file, or `-` for standard input
    pub site: PathBuf,
    /// Write the pins into the file, in place of those it has
    #[arg(long)]
    pub write: bool,
    /// Where requirements come from.
    #[command(flatten)]
    pub under: Under,
}

/// `asleft attest`
#[derive(ClapArgs)]
pub struct Attest {
    /// What to do.
    #[command(subcommand)]
    pub about: AttestCommand,
}

/// What to do about figures that nobody verified.
#[derive(Subcommand)]
pub enum AttestCommand {
    /// The figures that still rest on memory or a single source, most used first
    List(AttestList),
    /// An attestation to fill in from the copy, with every value left empty
    New(AttestNew),
    /// What of an attestation agrees with the profile, what does not, what is not yet read
    Check(AttestCheck),
}

/// The form of a list of figures.
#[derive(Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum ListFormat {
    /// For people
    Text,
    /// For a spreadsheet: a row for each figure
    Csv,
    /// For programs; `asleft schema attest-list-report` describes it
    Json,
}

/// `asleft attest list`
#[derive(ClapArgs)]
pub struct AttestList {
    /// Standards and versions of networks, such as `as-nzs-4777.2/2020-amd2`; without any, all at hand
    #[arg(value_name = "PROFILE")]
    pub named: Vec<String>,
    /// Count which sites use each: files, folders, .ndjson or .list files, as `check` takes them
    #[arg(long = "site", value_name = "SITES", num_args = 1..)]
    pub sites: Vec<PathBuf>,
    /// Where requirements come from.
    #[command(flatten)]
    pub under: Under,
    /// The form of the answer
    #[arg(long, value_enum, default_value_t = ListFormat::Text)]
    pub format: ListFormat,
    /// How much of the machine is used.
    #[command(flatten)]
    pub jobs: Jobs,
}

/// `asleft attest new`
#[derive(ClapArgs)]
pub struct AttestNew {
    /// A standard and its edition, such as `as-nzs-4777.2/2020-amd2`, or a network and its version
    pub profile: String,
    /// Only what holds in this region
    #[arg(long)]
    pub region: Option<String>,
    /// Where requirements come from.
    #[command(flatten)]
    pub under: Under,
}

/// `asleft attest check`
#[derive(ClapArgs)]
pub struct AttestCheck {
    /// The attestation: a file, or one at hand such as `attestations/standards/hill-code/2030/fernhold`
    pub attestation: String,
    /// Where requirements come from.
    #[command(flatten)]
    pub under: Under,
    /// The form of the answer
    #[arg(long, value_enum, default_value_t = Format::Text)]
    pub format: Format,
}

/// Of what the response to high frequency takes its per cents.
#[derive(Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum FallOf {
    /// The power at the moment of passing its start
    Momentary,
    /// Rated power
    Rated,
}

/// `asleft curve`
#[derive(ClapArgs)]
pub struct Curve {
    /// Site files (`FILE`, `FILE:DEVICE`, `FILE:DEVICE:as-found`), or requirements in one region, such
    /// as `as-nzs-4777.2/2020-amd2/australia-a`
    #[arg(required = true, value_name = "FILE")]
    pub files: Vec<String>,
    /// The responses, such as `volt-var,volt-watt`; without it, all that the places fit. `power` is what
    /// a device gives with all of them together
    #[arg(long, value_delimiter = ',', value_name = "FUNCTION")]
    pub of: Vec<String>,
    /// Of power: what its source could give, such as `6 kW`; rated active power without it
    #[arg(long, value_name = "POWER", allow_hyphen_values = true)]
    pub available: Option<String>,
    /// Of power: the frequency, such as `50.5 Hz`; nominal without it
    #[arg(long, value_name = "FREQUENCY")]
    pub frequency: Option<String>,
    /// Of power: of what the response to high frequency takes its per cents, in place of what the standard says
    #[arg(long, value_enum)]
    pub fall_of: Option<FallOf>,
    /// Where: `230,245,253..260:1`, `0.92..1.08:0.02 pu`, `50.2..52:0.1 Hz`; without it, where curves bend
    #[arg(long, value_name = "PLACES", allow_hyphen_values = true)]
    pub at: Option<String>,
    /// Draw to a file too; of several responses, one file each
    #[arg(long, value_name = "FILE")]
    pub svg: Option<PathBuf>,
    /// Only tables on the terminal
    #[arg(long)]
    pub no_plot: bool,
    /// Where requirements come from.
    #[command(flatten)]
    pub under: Under,
    /// The form of the answer
    #[arg(long, value_enum, default_value_t = Format::Text)]
    pub format: Format,
}

/// What a trip map measures.
#[derive(Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum MapOf {
    /// Voltage
    Voltage,
    /// Frequency
    Frequency,
}

/// `asleft trip-map`
#[derive(ClapArgs)]
pub struct TripMap {
    /// A site file (`FILE`, `FILE:DEVICE`, `FILE:DEVICE:as-found`), or requirements in one region, such
    /// as `as-nzs-4777.2/2020-amd2/australia-a`
    #[arg(value_name = "FILE")]
    pub file: String,
    /// Voltage or frequency; both without it
    #[arg(long, value_enum)]
    pub of: Option<MapOf>,
    /// Draw to a file too; of both, one file each
    #[arg(long, value_name = "FILE")]
    pub svg: Option<PathBuf>,
    /// Only tables on the terminal
    #[arg(long)]
    pub no_plot: bool,
    /// Where requirements come from.
    #[command(flatten)]
    pub under: Under,
    /// The form of the answer
    #[arg(long, value_enum, default_value_t = Format::Text)]
    pub format: Format,
}

/// `asleft rise`
#[derive(ClapArgs)]
pub struct Rise {
    /// The site's file, or `-` for standard input
    pub site: PathBuf,
    /// Voltage at the point of supply with the inverters off: `244 V`, `235..253:2 V`, `1.06 pu`
    #[arg(long, value_name = "VOLTS")]
    pub supply: Option<String>,
    /// An inverter that is off; may be given again
    #[arg(long, value_name = "DEVICE")]
    pub off: Vec<String>,
    /// Shares of rated active power at which the inverters settle
    #[arg(long, value_name = "SHARES", default_value = "50,100 %")]
    pub output: String,
    /// Draw to a file too
    #[arg(long, value_name = "FILE")]
    pub svg: Option<PathBuf>,
    /// Only tables on the terminal
    #[arg(long)]
    pub no_plot: bool,
    /// Where requirements come from.
    #[command(flatten)]
    pub under: Under,
    /// The form of the answer
    #[arg(long, value_enum, default_value_t = Format::Text)]
    pub format: Format,
}

/// Where a log was measured.
#[derive(Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum MeasuredAt {
    /// At the device's own terminals
    Terminals,
    /// At a switchboard between
    Switchboard,
    /// At the point of supply
    Supply,
}

impl MeasuredAt {
    /// The word in files and output.
    pub fn word(self) -> &'static str {
        match self {
            Self::Terminals => "terminals",
            Self::Switchboard => "switchboard",
            Self::Supply => "supply",
        }
    }
}

/// Which end of its interval a mean is stamped with.
#[derive(Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum MeansStamped {
    /// Its beginning
    Start,
    /// Its end
    End,
}

/// Whether a device was on when a log begins.
#[derive(Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum InService {
    /// It was on
    Yes,
    /// It was off, waiting to connect
    No,
}

/// `asleft events`
#[derive(ClapArgs)]
pub struct Events {
    /// A site's file, or `FILE:DEVICE`, `FILE:DEVICE:as-found`
    pub site: String,
    /// The log: comma-separated values with a heading such as `time,V_L1 [V],f [Hz]`, packed or not; `-`
    /// for standard input
    pub log: PathBuf,
    /// Play the settings of another on the same log, beside the first; may be given again
    #[arg(long, value_name = "OTHER")]
    pub with: Vec<String>,
    /// Where the log was measured: only at the terminals does it show what the device saw
    #[arg(long, value_enum, value_name = "PLACE")]
    pub measured_at: Option<MeasuredAt>,
    /// Which columns hold what, where headings do not say: `L1=U_a [V], frequency=4 [Hz], time=1`
    #[arg(long, value_name = "COLUMNS")]
    pub columns: Option<String>,
    /// Voltages are between lines, not to neutral
    #[arg(long)]
    pub line_to_line: bool,
    /// Values are means over the time between rows, stamped with its start or its end
    #[arg(long, value_enum, value_name = "STAMP", num_args = 0..=1, default_missing_value = "start")]
    pub means: Option<MeansStamped>,
    /// Values are those of a moment, however far apart rows are
    #[arg(long, conflicts_with = "means")]
    pub samples: bool,
    /// The longest step that is no gap, such as `10 s`; without it, three times the usual step
    #[arg(long, value_name = "TIME")]
    pub gap: Option<String>,
    /// Whether the device was on when the log begins
    #[arg(long, value_enum, value_name = "YES|NO")]
    pub in_service: Option<InService>,
    /// The voltage of the ten minutes before the log begins, for the 10-minute average
    #[arg(long, value_name = "VOLTAGE")]
    pub history: Option<String>,
    /// Where requirements come from.
    #[command(flatten)]
    pub under: Under,
    /// The form of the answer
    #[arg(long, value_enum, default_value_t = Format::Text)]
    pub format: Format,
}

/// `asleft show`
#[derive(ClapArgs)]
pub struct Show {
    /// Such as `overlays/quillbrook/3.0.0` or `standards/as-nzs-4777.2/2020-amd2`
    pub profile: String,
    /// Where requirements come from.
    #[command(flatten)]
    pub under: Under,
}

/// `asleft template`
#[derive(ClapArgs)]
pub struct Template {
    /// A network such as `quillbrook`, or a standard such as `as-nzs-4777.2/2020-amd2`
    pub of: String,
    /// The region; the standard's first without it
    #[arg(long)]
    pub region: Option<String>,
    /// Where requirements come from.
    #[command(flatten)]
    pub under: Under,
}

/// `asleft completions`
#[derive(ClapArgs)]
pub struct Completions {
    /// The shell
    #[arg(value_enum)]
    pub shell: clap_complete::Shell,
}

/// `asleft man`
#[derive(ClapArgs)]
pub struct Man {
    /// The verb; the whole program without it
    pub verb: Option<String>,
}

/// `asleft explain`
#[derive(ClapArgs)]
pub struct Explain {
    /// A setting such as `overvoltage-1/threshold`, a function such as `volt-var`, or a rule such as `two-reactive-modes`
    pub setting: String,
    /// For one site: what each of its layers asks, and what came of it
    #[arg(long, value_name = "SITE")]
    pub site: Option<PathBuf>,
    /// Where requirements come from.
    #[command(flatten)]
    pub under: Under,
}

/// What to list.
#[derive(Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Listed {
    /// Standards with their regions, networks with their versions
    Profiles,
    /// Every setting
    Settings,
    /// Every fact that a requirement may depend on
    Facts,
    /// Every rule that ties settings
    Rules,
    /// Families of devices whose display's words are known
    Labels,
}

/// `asleft list`
#[derive(ClapArgs)]
pub struct List {
    /// What to list
    #[arg(value_enum, default_value_t = Listed::Profiles)]
    pub what: Listed,
    /// Where requirements come from.
    #[command(flatten)]
    pub under: Under,
}

/// A kind of file or output.
#[derive(Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum SchemaKind {
    /// A base standard, one edition
    Standard,
    /// A network operator's requirements, one version
    Overlay,
    /// One site and what its devices hold
    Site,
    /// What the display of a family of devices says
    LabelMap,
    /// What an office calls the columns of its sheets
    ColumnMap,
    /// What an office read in its licensed copy
    Attestation,
    /// What `check --format json` prints
    CheckReport,
    /// What `sheet --format json` prints
    SheetReport,
    /// What `identify --format json` prints
    IdentifyReport,
    /// What `diff --format json` prints
    DiffReport,
    /// What `curve --format json` prints
    CurveReport,
    /// What `rise --format json` prints
    RiseReport,
    /// What `events --format json` prints
    EventsReport,
    /// What `trip-map --format json` prints
    TripMapReport,
    /// What `affected --format json` prints
    AffectedReport,
    /// What `lint --format json` prints
    LintReport,
    /// What `revision-check --format json` prints
    RevisionReport,
    /// What `attest list --format json` prints
    AttestListReport,
    /// What `attest check --format json` prints
    AttestCheckReport,
}

/// `asleft schema`
#[derive(ClapArgs)]
pub struct Schema {
    /// The kind of file or output
    #[arg(value_enum)]
    pub kind: SchemaKind,
}

fn date(text: &str) -> Result<Date, settings_model::slip::Slip> {
    settings_model::notation::date(text)
}
