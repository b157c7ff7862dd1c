//! What is said of a block of sites, kept until it is its turn.

use std::io::{self, Write};

/// Where something is said.
#[derive(Clone, Copy, PartialEq, Eq)]
enum To {
    /// Standard output.
    Answer,
    /// Standard error.
    Message,
}

/// Answers and messages, in the order in which they were said.
#[derive(Default)]
pub struct Messages(Vec<(To, Vec<u8>)>);

impl Messages {
    /// Whether there is no answer.
    pub fn is_empty(&self) -> bool {
        self.0.iter().all(|(to, bytes)| *to == To::Message || bytes.is_empty())
    }

    /// Whether nothing is said at all.
    pub fn is_silent(&self) -> bool {
        self.0.iter().all(|(_, bytes)| bytes.is_empty())
    }

    /// An answer, for standard output.
    pub fn answer(&mut self) -> &mut Vec<u8> {
        self.to(To::Answer)
    }

    /// A message, for standard error.
    pub fn message(&mut self) -> &mut Vec<u8> {
        self.to(To::Message)
    }

    fn to(&mut self, to: To) -> &mut Vec<u8> {
        if self.0.last().is_none_or(|(last, _)| *last != to) {
            self.0.push((to, Vec::new()));
        }
        &mut self.0.last_mut().expect("just put there").1
    }

    /// All of it, wherever it would be said.
    pub fn text(self) -> String {
        self.0.into_iter().map(|(_, bytes)| String::from_utf8_lossy(&bytes).into_owned()).collect()
    }

    /// Says it all; a message comes after what was answered before it.
    pub fn write(self, out: &mut dyn Write) -> io::Result<()> {
        for (to, bytes) in self.0 {
            match to {
                To::Answer => out.write_all(&bytes)?,
                To::Message => {
                    out.flush()?;
                    terminal::stderr().write_all(&bytes)?;
                }
            }
        }
        Ok(())
    }
}
