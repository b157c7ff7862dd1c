//! The tests of this crate from outside; one binary, so that it is linked once.

#[path = "charging.rs"]
mod charging;
#[path = "courses.rs"]
mod courses;
#[path = "drawn_logs.rs"]
mod drawn_logs;
#[path = "great_britain.rs"]
mod great_britain;
#[path = "lawful_devices.rs"]
mod lawful_devices;
#[path = "leaps.rs"]
mod leaps;
#[path = "open_questions.rs"]
mod open_questions;
#[path = "opendss.rs"]
mod opendss;
#[path = "reference_timelines.rs"]
mod reference_timelines;
#[path = "relays.rs"]
mod relays;
#[path = "rolling_means.rs"]
mod rolling_means;
#[path = "shared_cables.rs"]
mod shared_cables;
#[path = "strong_coupling.rs"]
mod strong_coupling;
#[path = "timelines.rs"]
mod timelines;
#[path = "total.rs"]
mod total;
#[path = "voltage_rise.rs"]
mod voltage_rise;
#[path = "worked_examples.rs"]
mod worked_examples;

// what several of them use
mod drilled;
