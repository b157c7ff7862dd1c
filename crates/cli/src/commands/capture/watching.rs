//! What is being read, for somebody who waits at a terminal.

use std::io::{self, IsTerminal, Write};
use std::time::{Duration, Instant};
use sunspec::models::title;
use sunspec::walk::Doing;

/// One line that is written over, once waiting is worth a word.
pub struct Watching {
    began: Instant,
    on_terminal: bool,
    shown: bool,
}

impl Watching {
    /// Nothing said yet.
    pub fn new() -> Self {
        Self { began: Instant::now(), on_terminal: io::stderr().is_terminal(), shown: false }
    }

    /// Says what comes next.
    pub fn step(&mut self, doing: Doing) {
        if !self.on_terminal || self.began.elapsed() < Duration::from_millis(700) {
            return;
        }
        let says = match doing {
            Doing::Looking(at) => format!("looking for a map at {at}"),
            Doing::Reading { id, at, registers } => format!("reading model {id} ({}), {registers} registers from {at}", title(id)),
            Doing::Passing { id } => format!("passing over model {id} ({})", title(id)),
        };
        self.shown = true;
        let _ = write!(io::stderr(), "\r\u{1b}[K{}", terminal::escaped(&says));
    }
}

impl Drop for Watching {
    fn drop(&mut self) {
        if self.shown {
            let _ = write!(io::stderr(), "\r\u{1b}[K");
        }
    }
}
