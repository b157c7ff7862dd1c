//! What settings files say, as data.
//!
//! The rooms, in the order in which a value passes through them.

pub mod attested;
pub mod catalogue;
pub mod cells;
pub mod claim;
pub mod conductors;
pub mod curve;
pub mod document;
pub mod entry;
pub mod exact;
pub mod facts;
pub mod files;
pub mod filled;
pub mod finding;
pub mod labels;
pub mod layer;
pub mod library;
pub mod located;
pub mod notation;
pub mod places;
pub mod provenance;
pub mod quantity;
pub mod reader;
pub mod requirement;
pub mod schema;
pub mod settings;
pub mod slip;
pub mod source;
pub mod spreadsheet;
pub mod ties;
pub mod value;
