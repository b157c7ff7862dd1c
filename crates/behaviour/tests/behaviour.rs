//! What logs show of devices; one binary, so that it is linked once.

#[path = "bounds.rs"]
mod bounds;
#[path = "changing.rs"]
mod changing;
#[path = "counted.rs"]
mod counted;
#[path = "injected.rs"]
mod injected;
#[path = "intervals.rs"]
mod intervals;
#[path = "naming.rs"]
mod naming;
#[path = "resting.rs"]
mod resting;
mod simulated;
#[path = "timed.rs"]
mod timed;
