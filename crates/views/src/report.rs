//! What programs read: the same that text and pictures are made from.

pub mod curve;
pub mod events;
pub mod scenario;
pub mod trip_map;
