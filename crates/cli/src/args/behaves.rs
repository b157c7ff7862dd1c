//! The command line of `asleft behaves`.

use super::{LogForm, MeasuredAt, Under};
use clap::{Args, ValueEnum};
use std::path::{Path, PathBuf};

/// Which way a log counts reactive power.
#[derive(Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum QPositive {
    /// Above zero is supplied by the device: it raises the voltage
    Supplies,
    /// Above zero is absorbed by the device: it lowers the voltage
    Absorbs,
}

/// The form of an answer about one device, or about many.
#[derive(Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum BehavesFormat {
    /// For people
    Text,
    /// For programs; `asleft help schema` names the schemas
    Json,
    /// With `--fleet`: one device a line, as each is judged, without a summary
    Ndjson,
}

/// What sites of a fleet are counted by.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, ValueEnum)]
pub enum CountedBy {
    /// The crew that answers for a site
    Crew,
    /// The network operator
    Network,
    /// Model and firmware of the device
    Family,
}

/// `asleft behaves`
#[derive(Args)]
#[command(after_help = "A log tells when people are at home. No row is kept; `--no-times` leaves times of day out of the answer. \
A departure is a reason to look, and no finding against anyone.")]
pub struct Behaves {
    /// A site's file, `FILE:DEVICE`, or `FILE:DEVICE:as-found`; with `--fleet` many sites, as `asleft check` takes them
    pub site: String,
    /// The log: comma-separated values with a heading such as `time,V_L1 [V],P [kW],Q [kvar]`, packed or not; `-`
    /// for standard input. With `--fleet` logs, or folders of them
    #[arg(required_unless_present = "from_counters", value_name = "LOG")]
    pub logs: Vec<PathBuf>,
    /// Judge many sites: a column `site` says whose a row is, or a folder `site=NAME`, or the name of the log's file. Rows
    /// of a site stand together, in order of time
    #[arg(long, conflicts_with = "svg")]
    pub fleet: bool,
    /// With `--fleet`: whom departures are counted by, in full
    #[arg(long, value_enum, value_name = "WHAT", value_delimiter = ',', requires = "fleet")]
    pub by: Vec<CountedBy>,
    /// With `--fleet`: write what was counted to a file too, a line a device and day, without times of day
    #[arg(long, value_name = "FILE", requires = "fleet")]
    pub counters: Option<PathBuf>,
    /// With `--fleet`, in place of logs: decide by counters, added up; the same answers without the rows
    #[arg(long, value_name = "FILE", requires = "fleet", conflicts_with_all = ["logs", "counters"], num_args = 1..)]
    pub from_counters: Vec<PathBuf>,
    /// The log is of all inverters of the site together, as a sum
    #[arg(long, conflicts_with = "fleet")]
    pub together: bool,
    /// Where the log was measured: only at the terminals does it show what the device saw
    #[arg(long, value_enum, value_name = "PLACE")]
    pub measured_at: Option<MeasuredAt>,
    /// How exact its meter is, either way: `V 0.5 %, P 1 %, Q 2 %` of nominal voltage and of the rating; or a kind of
    /// instrument, such as `power-quality-class-s`, and what it leaves open
    #[arg(long, value_name = "ACCURACY")]
    pub accuracy: Option<String>,
    /// How far a response may lie off, of the rating: `4 %`; without it, what the standard says
    #[arg(long, value_name = "PERCENT")]
    pub tolerance: Option<String>,
    /// What reactive power above zero means in the log
    #[arg(long, value_enum, value_name = "SIGN")]
    pub q_positive: Option<QPositive>,
    /// Standard deviation of the voltage within a row of means, such as `1 V`, where it is known
    #[arg(long, value_name = "VOLTAGE")]
    pub spread: Option<String>,
    /// Judge only these, by their keys: `volt-var,volt-watt`
    #[arg(long, value_name = "FUNCTIONS", value_delimiter = ',')]
    pub functions: Vec<String>,
    /// Say all: a plot, what was left out and what was assumed, every kept time outside
    #[arg(long)]
    pub all: bool,
    /// Draw what was observed beside what is set to a file, a picture for each response to voltage
    #[arg(long, value_name = "FILE")]
    pub svg: Option<PathBuf>,
    /// Leave times of day out of the answer
    #[arg(long)]
    pub no_times: bool,
    /// How the log is to be read.
    #[command(flatten)]
    pub form: LogForm,
    /// Where requirements come from.
    #[command(flatten)]
    pub under: Under,
    /// The form of the answer
    #[arg(long, value_enum, default_value_t = BehavesFormat::Text)]
    pub format: BehavesFormat,
}

impl Behaves {
    /// The first log: that of a question about one device.
    pub fn log(&self) -> &Path {
        self.logs.first().map_or(Path::new(""), PathBuf::as_path)
    }
}
