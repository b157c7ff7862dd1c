//! The command line of `asleft report`.

use super::Profiles;
use clap::{Args, ValueEnum};
use std::path::{Path, PathBuf};

/// `asleft report`
#[derive(Args)]
pub struct Report {
    /// A record, as `close-out` writes it, or `-` for standard input
    #[cfg_attr(feature = "register", arg(required_unless_present = "site", conflicts_with = "site"))]
    #[cfg_attr(not(feature = "register"), arg(required = true))]
    pub record: Option<PathBuf>,
    /// The newest record of this site in the register instead
    #[cfg(feature = "register")]
    #[arg(long, value_name = "SITE", requires = "register")]
    pub site: Option<String>,
    /// The register; it keeps the profiles that its records were judged against too
    #[cfg(feature = "register")]
    #[arg(long, value_name = "FILE", env = "ASLEFT_REGISTER")]
    pub register: Option<PathBuf>,
    /// Where to write it: `.html` is a page, `.pdf` a PDF; a page beside the record without it. What the owner gets is
    /// written beside it, with `.owner` in its name
    #[arg(long, value_name = "FILE")]
    pub out: Option<PathBuf>,
    /// How it is printed.
    #[command(flatten)]
    pub on: OnPaper,
    /// Where requirements come from.
    #[command(flatten)]
    pub profiles: Profiles,
}

impl Report {
    /// The register that is named; none in a build without one.
    #[must_use]
    pub fn register(&self) -> Option<&Path> {
        #[cfg(feature = "register")]
        return self.register.as_deref();
        #[cfg(not(feature = "register"))]
        None
    }

    /// The site whose newest record is asked for; none in a build without a register.
    #[must_use]
    pub fn site(&self) -> Option<&str> {
        #[cfg(feature = "register")]
        return self.site.as_deref();
        #[cfg(not(feature = "register"))]
        None
    }
}

/// How a paper is printed.
#[derive(Clone, Args)]
pub struct OnPaper {
    /// The size of the paper
    #[arg(long, value_enum, default_value_t = PaperSize::A4)]
    pub paper: PaperSize,
    /// Replace a file that is there already and says something else
    #[arg(long)]
    pub replace: bool,
}

/// The sizes of paper.
#[derive(Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum PaperSize {
    /// 210 by 297 mm
    A4,
    /// 8.5 by 11 inches
    Letter,
}

impl From<PaperSize> for paper::Size {
    fn from(size: PaperSize) -> Self {
        match size {
            PaperSize::A4 => Self::A4,
            PaperSize::Letter => Self::Letter,
        }
    }
}
