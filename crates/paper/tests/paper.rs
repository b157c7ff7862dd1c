//! The tests of this crate from outside; one binary, so that it is linked once.

#[path = "page.rs"]
mod page;
#[path = "sheet.rs"]
mod sheet;

// what several of them use
mod specimen;
mod words;
