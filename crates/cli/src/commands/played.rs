//! What `events` and `scenario` share: what devices do over time, as a report, for people and as a picture.

mod beside;
pub mod log_told;
pub mod people;
pub mod picture;
pub mod sentences;
pub mod told;
mod undecided;
