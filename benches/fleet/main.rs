//! Makes an invented fleet of any size, one site a line:
//! `cargo run --release -p cli --example fleet -- --sites 100000 --faults 0.01 --seed 7 --expect counts.json`.
//!
//! The fleet goes to standard output; what a check of it must count, to the file named, or to
//! standard error.

mod made;

use clap::Parser;
use std::io::{self, Write};
use std::path::{Path, PathBuf};

/// Makes an invented fleet, one site a line.
#[derive(Parser)]
struct Args {
    /// How many sites
    #[arg(long, default_value_t = 10_000)]
    sites: usize,
    /// The share of them that gets a fault, from 0 to 1
    #[arg(long, default_value_t = 0.01)]
    faults: f64,
    /// The same seed makes the same fleet
    #[arg(long, default_value_t = 7)]
    seed: u64,
    /// Where to write what a check must count; standard error without it
    #[arg(long, value_name = "FILE")]
    expect: Option<PathBuf>,
}

fn main() -> io::Result<()> {
    let args = Args::parse();
    let fleet = made::Fleet { sites: args.sites, faults: args.faults, seed: args.seed };
    let mut out = io::BufWriter::with_capacity(1 << 20, io::stdout().lock());
    let expected = fleet.write(&Path::new(env!("CARGO_MANIFEST_DIR")).join("../../tests/sites"), &mut out)?;
    out.flush()?;
    let expected = format!("{:#}\n", expected.to_json());
    match args.expect {
        Some(file) => std::fs::write(file, expected),
        None => io::stderr().write_all(expected.as_bytes()),
    }
}
