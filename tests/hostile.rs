//! What hostile files come to. A process of its own and a small one: the system counts the memory of who starts a
//! program to the program, until it runs.

#[path = "crafted.rs"]
mod crafted;
#[path = "hostile_files.rs"]
mod hostile_files;
#[path = "hostile_kinds.rs"]
mod hostile_kinds;
#[path = "names_on_one_line.rs"]
mod names_on_one_line;
#[path = "no_way_round.rs"]
mod no_way_round;
#[path = "signed_everywhere.rs"]
mod signed_everywhere;

// what several of them use
mod measured;
