//! A device as it acts: by what it holds, by what the region selected on it brings, or as is required of it.
//!
//! One room for every verb that shows what settings do: what a device gives at a moment ([`acting()`]), and
//! what makes it leave and return over time ([`equipment()`]). Nothing is guessed: what nobody knows does
//! not act, and is told.

mod device;
mod equipment;
mod left_out;
mod reconnection;
mod relay;
mod stages;
mod values;
mod words;

pub use device::{acting, is_of_volt_watt};
pub use equipment::{Equipment, Measured, equipment, has_others};
pub use left_out::{Play, left_out};
pub use values::Values;
pub use words::{locks_in, taken_for_granted, title};
