//! Comparing: what moved between two versions of what is asked, and between two devices.
//!
//! [`sets`] compares what complies with two entries by containment both ways, each with an example;
//! [`versions`] does so for every setting and in every cell of conditions of two rulebooks, each cell
//! with its old entry and its new one, and [`all_changes`] for every kind of equipment; [`reason`] says which [`step`] a change deserves and why, and
//! [`action`] what an installer does about it, and [`tied`] what that has to go together with, once for
//! every verb; [`holdings`] compares what two
//! devices hold, or one device before the work and after; [`as_required`] holds a device that is set as
//! one requirement asks against another; [`words`] tells people.

pub mod action;
pub mod as_required;
pub(crate) mod asked_in;
mod every_kind;
pub mod holdings;
mod instruction;
pub mod reason;
pub mod sets;
pub mod step;
pub mod tied;
pub mod versions;
pub mod words;

pub use every_kind::all_changes;
pub(crate) use every_kind::relay;
