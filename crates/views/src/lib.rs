//! What settings do, told and drawn: one form for every verb that shows it, and for the page.
//!
//! [`report`] is what programs read; sentences, columns and figures are made of the same. [`curve`] has
//! responses, [`operating`] all of them together at one voltage, [`trip_map`] the stages against time,
//! [`played`] what devices did on a log, [`scenario`] the same of a scenario. Lays nothing out for a
//! terminal and writes no page: that is for who asks.

pub mod curve;
pub mod given;
pub mod operating;
pub mod played;
pub mod report;
pub mod scenario;
pub mod trip_map;
