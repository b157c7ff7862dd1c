//! A device built from settings, and what it did: one truth for every verb that shows what settings do.
//!
//! [`held`] is a device of a site at one moment with what is asked of it, [`acting`] what it then gives and
//! what makes it leave and return, [`subjects`] whose settings are played. [`playing`] plays them row by row:
//! a log ([`reading`]) or a [`scenario`], whose levels are counted from what is required ([`grounds`]) and
//! which may cut a device off from what it keeps its limit by ([`links`]). [`overview`] is what a log shows
//! by itself, [`trace`] what a device did over each of its [`stretches`], [`standing`] how its settings stand
//! to what the site is asked.
//!
//! Nothing is guessed: what nobody knows does not act, and is told. Prints nothing, opens nothing.

pub mod acting;
pub mod grounds;
pub mod held;
pub mod links;
pub mod overview;
pub mod playing;
pub mod reading;
pub mod scenario;
pub mod standing;
pub mod stretches;
pub mod subjects;
pub mod trace;
