//! Whose values are these? A device's values are held against every region, edition and overlay
//! version at hand, so that one wrong region is one finding and not twenty.

pub use crate::assess::candidates;
pub use crate::candidate::{Candidate, Likeness, ranked};
