//! The tests of this crate from outside; one binary, so that it is linked once.

#[path = "only_reads.rs"]
mod only_reads;
#[path = "peers.rs"]
mod peers;
#[path = "serial_line.rs"]
mod serial_line;
