//! A device as it acts: by what it holds, by what the region selected on it brings, or as is required of it.
//!
//! One room for every verb that shows what settings do: what a device gives at a moment ([`acting()`]), and
//! what makes it leave and return over time ([`equipment()`]). Nothing is guessed: what nobody knows does
//! not act, and is told.

mod device;
mod equipment;
mod reconnection;
mod relay;
mod stages;
mod values;
mod words;

pub use device::acting;
pub use equipment::{Equipment, Measured, equipment};
pub use values::Values;
pub use words::{taken_for_granted, title};
