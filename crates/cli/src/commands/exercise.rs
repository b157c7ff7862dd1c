//! `asleft exercise`: faulty sites for a class, and the marking of what comes back.

mod faults;
mod key;
mod mark;
mod marked;
mod new;
mod places;
mod students;

use crate::Exit;
use crate::args::{Exercise, ExerciseCommand};
use std::io;

/// Does what is asked of exercises.
pub fn run(args: &Exercise) -> io::Result<Exit> {
    match &args.about {
        ExerciseCommand::New(args) => new::run(args),
        ExerciseCommand::Mark(args) => mark::run(args),
        ExerciseCommand::Faults(args) => faults::run(args),
    }
}
