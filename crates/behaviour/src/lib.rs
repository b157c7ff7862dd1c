//! What a device did, from a log of measurements, against what it is set to do.
//!
//! A log is a set: all devices that could have written it, given what its meter, its averaging and its clock may have
//! done. A function `departs` where no device that acts as set could have written the log, `behaves` where one could and
//! one without the function could not, and is not shown otherwise.
//!
//! [`reading`] makes readings of rows, [`band`] says what a device that acts by a rule ([`function`]) may have shown in
//! each, [`counting`] counts them under everything that nobody knows of the log ([`hypotheses`]), and [`deciding`]
//! answers from what was counted ([`counters`]) alone, so that a year is decided without its rows. No words, no files.

pub mod accuracy;
pub mod band;
pub mod counters;
pub mod counting;
pub mod curve;
pub mod deciding;
pub mod function;
pub mod happened;
pub mod happenings;
pub mod hypotheses;
pub mod interval;
pub mod looks_like;
pub mod needs;
pub mod reading;
pub mod resolution;
pub mod stretches;
pub mod thresholds;
mod within;
