//! Deciding: what a list of claims implies, whether it can be kept at all, and whether one list
//! admits what another refuses.
//!
//! Everything here is exact. Quantities are compared as whole numbers of one small unit, the
//! breakpoints of an unknown site fact by cross-multiplication; nothing passes through binary
//! floating point. The plan, from the bottom: [`zone`] solves demands on differences, [`settle`]
//! does so while one site fact is unknown, [`states`] says which claims bind, [`satisfy`] finds an
//! example, and [`range`], [`core`] and [`escape`] are the questions that people ask.

pub mod core;
pub mod escape;
mod natural;
pub mod range;
mod ratio;
pub mod satisfy;
mod settle;
mod sites;
mod states;
pub mod unproven;
pub mod witness;
mod zone;
pub mod assess;
pub mod departures;
pub mod hanging;
pub mod judge;
pub mod phrase;
pub mod sheet;
pub mod wording;
