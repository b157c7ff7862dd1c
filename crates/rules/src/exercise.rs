//! Exercises: faulty sites for a class, one for each student, with the answers; and the marking of what comes back.
//!
//! [`model`] makes a complying site, [`faults`] says what may go wrong with it, [`drawing`] puts faults in by
//! [`chance`] and has every site judged, so that what the key says is what `check` finds; [`marking`] judges what
//! students hand in the same way.

mod draft;
mod scene;
mod surroundings;

pub mod chance;
pub mod drawing;
pub mod faults;
pub mod marking;
pub mod model;
pub mod text;
pub mod trouble;

pub use draft::{Draft, written};
