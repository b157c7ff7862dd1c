//! The command line of `asleft new`.

use super::Under;
use clap::{Args, Subcommand};
use std::path::PathBuf;

/// `asleft new`
#[derive(Args)]
#[command(args_conflicts_with_subcommands = true)]
pub struct New {
    /// What to make; a site's file without it.
    #[command(subcommand)]
    pub of: Option<NewCommand>,
    /// A site's file.
    #[command(flatten)]
    pub site: NewSite,
}

/// What to make besides a site's file.
#[derive(Subcommand)]
pub enum NewCommand {
    /// A network operator's first requirements: a file that lints clean, with what to fill in next
    Overlay(Box<NewOverlay>),
}

/// `asleft new`, a site's file. On a terminal, what is not given is asked for.
#[derive(Args)]
pub struct NewSite {
    /// The file to write, which must not be there yet; `-` prints it. Without it, the site's name and `.yaml`
    pub file: Option<PathBuf>,
    /// The site's own name or number; the name of the file without it
    #[arg(long, value_name = "NAME")]
    pub site: Option<String>,
    /// The network operator; `asleft list` names them
    #[arg(long, value_name = "NETWORK", conflicts_with = "standard")]
    pub network: Option<String>,
    /// The base standard and edition, where no network operator adds to it
    #[arg(long, value_name = "STANDARD")]
    pub standard: Option<String>,
    /// With a standard: the standard of installation
    #[arg(long, value_name = "STANDARD", conflicts_with = "network")]
    pub installation: Option<String>,
    /// The day of the application to connect, such as 2026-02-03
    #[arg(long, value_name = "DATE")]
    pub applied: Option<String>,
    /// The day of the network operator's approval
    #[arg(long, value_name = "DATE")]
    pub approved: Option<String>,
    /// The day of installation, or the day that is planned for it
    #[arg(long, value_name = "DATE")]
    pub installed: Option<String>,
    /// The day of the last alteration
    #[arg(long, value_name = "DATE")]
    pub altered: Option<String>,
    /// The region, as the standard names it
    #[arg(long)]
    pub region: Option<String>,
    /// The route to compliance, where the network operator offers a choice
    #[arg(long)]
    pub route: Option<String>,
    /// The part of the network, where that decides something
    #[arg(long, value_name = "PART")]
    pub sub_network: Option<String>,
    /// The kind of work, where that decides something
    #[arg(long)]
    pub work: Option<String>,
    /// Phases of the supply
    #[arg(long, value_name = "N")]
    pub phases: Option<String>,
    /// Nominal voltage from phase to neutral, such as 230V; the standard's own without it
    #[arg(long, value_name = "VOLTS")]
    pub nominal: Option<String>,
    /// Export as approved: `none`, `fixed=5kW` or `dynamic=10kW`
    #[arg(long, value_name = "KIND=POWER")]
    pub export: Option<String>,
    /// An inverter: `nameplate=6kVA,source=solar,certified=as-nzs-4777.2/2020-amd2`; may be given again. Other keys:
    /// name, rated-power, limited-to, phases, on-phase, model, serial, firmware
    #[arg(long = "inverter", value_name = "KEY=VALUE,…")]
    pub inverters: Vec<String>,
    /// A grid protection relay, by a name of your choice; may be given again
    #[arg(long = "relay", value_name = "NAME")]
    pub relays: Vec<String>,
    /// Where requirements come from.
    #[command(flatten)]
    pub under: Under,
}

/// `asleft new overlay`
#[derive(Args)]
pub struct NewOverlay {
    /// Your folder of requirements; the file goes into it as `overlays/NETWORK/1.0.0.yaml`. `-` prints it
    pub folder: Option<PathBuf>,
    /// The network operator's key, of small letters, digits and hyphens
    #[arg(long, value_name = "NETWORK")]
    pub network: Option<String>,
    /// Its name in print
    #[arg(long)]
    pub title: Option<String>,
    /// The standard and edition that it stands on, or another network
    #[arg(long, value_name = "STANDARD|NETWORK")]
    pub extends: Option<String>,
    /// A region of its sites; may be given again. Every region without it
    #[arg(long = "region", value_name = "REGION")]
    pub regions: Vec<String>,
    /// The issue as people cite it, such as `Issue 1`
    #[arg(long)]
    pub issue: Option<String>,
    /// The day on which that issue was published
    #[arg(long, value_name = "DATE")]
    pub published: Option<String>,
    /// Whom it governs: `applied from 2026-02-01`, and so with approved, installed or altered
    #[arg(long, value_name = "DATES")]
    pub in_force: Option<String>,
    /// The document that the figures are from
    #[arg(long)]
    pub document: Option<String>,
    /// Where requirements come from.
    #[command(flatten)]
    pub under: Under,
}
