//! What `events` and `scenario` share: what devices do over time, as a report, for people and as a picture.

mod beside;
pub mod log_told;
pub mod overview;
pub mod people;
pub mod picture;
pub mod playing;
pub mod sentences;
mod standing;
mod stretches;
pub mod subjects;
pub mod told;
pub mod trace;
mod undecided;
