//! Documents with places: text read into a tree that knows where each value stands, and what is found in it.
//!
//! A text has a name ([`source`]), is read into a tree ([`document`]) or into types that keep their places
//! ([`located`]); what is wrong with a piece of text is a [`slip`], which cannot be made without a remedy, and
//! with its place a [`finding`]. How the figure is known that decides a finding: [`provenance`].
//!
//! Knows nothing of inverters, standards' figures or schemas. Prints nothing, opens nothing.

pub mod document;
pub mod finding;
pub mod located;
pub mod provenance;
pub mod slip;
pub mod source;
