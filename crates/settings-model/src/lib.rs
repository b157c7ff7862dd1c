//! What settings files say, as data.
//!
//! The rooms, in the order in which a value passes through them.

pub mod catalogue;
pub mod cells;
pub mod claim;
pub mod entry;
pub mod exact;
pub mod facts;
pub mod quantity;
pub mod source;
pub mod value;
