//! The command line of `asleft capture`.

use super::Readout;
use clap::{ArgGroup, Args, ValueEnum};
use std::path::PathBuf;

/// What to mind before a device is connected to.
const CAUTIONS: &str = "Before you connect: only persons who may work on the device under local rules, with the owner's and, \
where it asks for that, the network operator's leave. Keep covers on: a device with its terminals open is live, also with the \
supply off, where there is storage or sun. Use a port that the manual gives for this; a serial line that something else talks \
on (a meter, a controller, an export limiter) has to be free first, or both are disturbed, and an export limit may be lost \
meanwhile. Over a network, connect on the device's own side of it: Modbus has no password, and what is reachable from outside \
should not be. Only function 3 (read holding registers) is ever sent; some devices still keep a count of who asks. What was \
unplugged or switched off for this goes back as it was, and is tested.";

/// `asleft capture`
#[derive(Args)]
#[command(after_help = CAUTIONS)]
#[command(group(ArgGroup::new("peer").required(true).args(["tcp", "serial"])))]
pub struct Capture {
    /// A device, or a gateway before it, on a network: its name or address, and its port where that is not 502
    #[arg(long, value_name = "HOST[:PORT]")]
    pub tcp: Option<String>,
    /// A serial port, as the system names it
    #[arg(long, value_name = "PORT")]
    pub serial: Option<PathBuf>,
    /// The unit id of the device; `any` asks one after the other, shortly, until one has a map
    #[arg(long, value_name = "N", default_value = "1", value_parser = unit)]
    pub unit: Unit,
    /// Where the map of registers begins; without it 40000, 0 and 50000 are tried
    #[arg(long, value_name = "ADDRESS")]
    pub base: Option<u16>,
    /// Bits a second of a serial line
    #[arg(long, value_name = "N", default_value_t = 9600, conflicts_with = "tcp", value_parser = clap::value_parser!(u32).range(300..=4_000_000))]
    pub speed: u32,
    /// Parity of a serial line
    #[arg(long, value_enum, default_value_t = Parity::None, conflicts_with = "tcp")]
    pub parity: Parity,
    /// Two stop bits on a serial line, in place of one
    #[arg(long, conflicts_with = "tcp")]
    pub two_stop_bits: bool,
    /// The most registers to ask for at once; smaller for a device that refuses
    #[arg(long, value_name = "N", default_value_t = 50, value_parser = clap::value_parser!(u16).range(4..=123))]
    pub at_once: u16,
    /// Milliseconds that an answer may take
    #[arg(long, value_name = "MS", default_value_t = 2000, value_parser = clap::value_parser!(u64).range(50..=60_000))]
    pub timeout: u64,
    /// How often a request without a usable answer is tried again, after a longer pause each time
    #[arg(long, value_name = "N", default_value_t = 2, value_parser = clap::value_parser!(u8).range(0..=10))]
    pub retries: u8,
    /// Milliseconds to leave the device in peace between two requests
    #[arg(long, value_name = "MS", default_value_t = 20, value_parser = clap::value_parser!(u64).range(0..=10_000))]
    pub pause: u64,
    /// Seconds that all of it may take
    #[arg(long, value_name = "S", default_value_t = 300, value_parser = clap::value_parser!(u64).range(1..=3600))]
    pub within: u64,
    /// Read once, and do not compare with a second reading
    #[arg(long)]
    pub once: bool,
    /// Read models that are not decoded too, for others to look into (with --raw)
    #[arg(long, requires = "raw")]
    pub everything: bool,
    /// Keep the registers in a file, for `decode`
    #[arg(long, value_name = "FILE")]
    pub raw: Option<PathBuf>,
    /// Say what would be asked, and connect to nothing
    #[arg(long)]
    pub plan: bool,
    /// What to do with what was read.
    #[command(flatten)]
    pub readout: Readout,
}

/// A unit id.
#[derive(Clone, Copy, PartialEq, Eq)]
pub enum Unit {
    /// This one.
    Is(u8),
    /// The first that has a map.
    Any,
}

fn unit(text: &str) -> Result<Unit, String> {
    match text {
        "any" => Ok(Unit::Any),
        number => number.parse().map(Unit::Is).map_err(|_| "write a number from 0 to 255, or `any`".to_owned()),
    }
}

/// A parity bit.
#[derive(Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Parity {
    /// No parity bit
    None,
    /// Even
    Even,
    /// Odd
    Odd,
}
