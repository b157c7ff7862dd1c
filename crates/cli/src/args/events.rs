//! The command line of `asleft events`.

use super::{Drawing, Format, Under};
use clap::builder::{PossibleValue, PossibleValuesParser, TypedValueParser};
use clap::{Args, ValueEnum};
use logs::DateOrder;
use std::path::PathBuf;

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

/// Reads an order of dates by its word.
fn date_order() -> impl TypedValueParser<Value = DateOrder> {
    let values = DateOrder::ALL.map(|order| PossibleValue::new(order.word()).help(order.example()));
    PossibleValuesParser::new(values)
        .map(|word| DateOrder::ALL.into_iter().find(|order| order.word() == word).expect("one of the possible values"))
}

/// `asleft events`
#[derive(Args)]
pub struct Events {
    /// A site's file, or `FILE:DEVICE`, `FILE:DEVICE:as-found`; or requirements, such as
    /// `as-nzs-4777.2/2020-amd2/australia-b`
    pub site: String,
    /// The log: comma-separated values with a heading such as `time,V_L1 [V],f [Hz]`, packed or not; `-`
    /// for standard input
    pub log: PathBuf,
    /// Play another on the same log, beside the first: settings as above, or what requirements ask of the
    /// same inverter; may be given again
    #[arg(long, value_name = "OTHER")]
    pub with: Vec<String>,
    /// Where the log was measured: only at the terminals does it show what the device saw
    #[arg(long, value_enum, value_name = "PLACE")]
    pub measured_at: Option<MeasuredAt>,
    /// Which columns hold what, where headings do not say: `L1=U_a [V], frequency=4 [Hz], time=1`
    #[arg(long, value_name = "COLUMNS")]
    pub columns: Option<String>,
    /// Which part of a date stands first, where the log itself does not show it: `03/04/2026`
    #[arg(long, value_name = "ORDER", value_parser = date_order())]
    pub dates: Option<DateOrder>,
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
    /// How it is drawn.
    #[command(flatten)]
    pub drawing: Drawing,
    /// Draw the file in landscape, for a slide
    #[arg(long, requires = "svg")]
    pub slide: bool,
    /// Where requirements come from.
    #[command(flatten)]
    pub under: Under,
    /// The form of the answer
    #[arg(long, value_enum, default_value_t = Format::Text)]
    pub format: Format,
}
