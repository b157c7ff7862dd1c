//! What `events` and `scenario` share: what devices do over time, for people.

mod beside;
pub mod people;
