//! The tests of this crate from outside; one binary, so that it is linked once.

#[path = "hostile.rs"]
mod hostile;
#[path = "tables.rs"]
mod tables;
#[path = "traps.rs"]
mod traps;

// what several of them use
mod images;
