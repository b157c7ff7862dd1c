//! What settings files say, as data.
//!
//! The rooms, in the order in which a value passes through them.

pub mod attested;
pub mod catalogue;
pub mod cells;
pub mod claim;
pub mod conductors;
pub mod curve;
pub mod entry;
pub mod exact;
pub mod facts;
pub mod files;
pub mod filled;
pub mod labels;
pub mod layer;
pub mod library;
pub mod notation;
pub mod places;
pub mod quantity;
pub mod reader;
pub mod requirement;
pub mod schema;
pub mod settings;
pub mod spreadsheet;
pub mod ties;
pub mod value;

// what files are read from, and what is found in them
pub use documents::{document, finding, located, provenance, slip, source};
