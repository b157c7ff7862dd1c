//! The record that a job leaves behind: what was found, what was left, against what it was judged and
//! how that is known, in a form that can be read, hashed and judged again years later.
//!
//! [`Record`] is what it says; [`canonical`] the one way to write it; [`Envelope`] the file: the
//! record, its hash and any signatures over the hash; [`seal`] the keys that sign, and [`register`] the
//! file in which an office keeps its records.

pub mod canonical;
mod envelope;
pub mod making;
mod parts;
#[cfg(feature = "register")]
pub mod register;
pub mod seal;
pub mod site_tests;

pub use envelope::{Broken, Envelope, Signature};
pub use parts::*;
