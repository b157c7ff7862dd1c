//! Comparing: what moved between two versions of what is asked, and between two devices.
//!
//! [`sets`] compares what complies with two entries by containment both ways, each with an example;
//! [`versions`] does so for every setting and in every cell of conditions of two rulebooks, each cell
//! with its old entry and its new one; [`reason`] says which [`step`] a change deserves and why, and
//! [`action`] what an installer does about it, once for every verb; [`holdings`] compares what two
//! devices hold, or one device before the work and after; [`as_required`] holds a device that is set as
//! one requirement asks against another; [`words`] tells people.

pub mod action;
pub mod as_required;
pub(crate) mod asked_in;
pub mod holdings;
mod instruction;
pub mod reason;
pub mod sets;
pub mod step;
pub mod versions;
pub mod words;
