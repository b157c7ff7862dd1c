//! What the command line says of a log: shared by the verbs that read one.

use clap::builder::{PossibleValue, PossibleValuesParser, TypedValueParser};
use clap::{Args, ValueEnum};
use logs::DateOrder;

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

/// Reads an order of dates by its word.
fn date_order() -> impl TypedValueParser<Value = DateOrder> {
    let values = DateOrder::ALL.map(|order| PossibleValue::new(order.word()).help(order.example()));
    PossibleValuesParser::new(values)
        .map(|word| DateOrder::ALL.into_iter().find(|order| order.word() == word).expect("one of the possible values"))
}

/// How a log is to be read.
#[derive(Args)]
pub struct LogForm {
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
}
