//! The command line of `asleft events`.

use super::{Drawing, Format, LogForm, MeasuredAt, Under};
use clap::{Args, ValueEnum};
use std::path::PathBuf;

/// Whether a device was on when a log begins.
#[derive(Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum InService {
    /// It was on
    Yes,
    /// It was off, waiting to connect
    No,
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
    /// How the log is to be read.
    #[command(flatten)]
    pub form: LogForm,
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
