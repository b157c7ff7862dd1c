//! Comparing: what moved between two versions of what is asked, and between two devices.
//!
//! [`sets`] compares what complies with two entries by containment both ways, each with an example;
//! [`versions`] does so for every setting and every site that two rulebooks speak of; [`holdings`]
//! compares what two devices hold, or one device before the work and after; [`as_required`] holds a
//! device that is set as one requirement asks against another; [`words`] tells people.

pub mod as_required;
pub mod holdings;
pub mod sets;
pub mod versions;
pub mod words;
