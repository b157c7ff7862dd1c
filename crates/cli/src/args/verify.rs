//! The command line of `asleft verify`.

use super::{Format, Profiles};
use clap::Args;
use std::path::{Path, PathBuf};

/// `asleft verify`
#[derive(Args)]
pub struct Verify {
    /// The records
    #[arg(required = true)]
    pub records: Vec<PathBuf>,
    /// A public key that has to have signed them; may be given again, and any of them will do
    #[arg(long, value_name = "PUBLIC-KEY")]
    pub key: Vec<PathBuf>,
    /// The register that they should be in; it keeps the profiles that its records were judged against too
    #[cfg(feature = "register")]
    #[arg(long, value_name = "FILE", env = "ASLEFT_REGISTER")]
    pub register: Option<PathBuf>,
    /// Where requirements come from.
    #[command(flatten)]
    pub profiles: Profiles,
    /// The form of the answer
    #[arg(long, value_enum, default_value_t = Format::Text)]
    pub format: Format,
}

impl Verify {
    /// The register that is named; none in a build without one.
    #[must_use]
    pub fn register(&self) -> Option<&Path> {
        #[cfg(feature = "register")]
        return self.register.as_deref();
        #[cfg(not(feature = "register"))]
        None
    }
}
