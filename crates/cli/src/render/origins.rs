//! Where figures were found, told once below a table and named in it by number.

use super::{heading, wrapped};
use std::io::{self, Write};

/// What was told so far, in its order.
#[derive(Default)]
pub struct Origins(Vec<String>);

impl Origins {
    /// The number of an origin, from 1; one that is new comes last.
    pub fn number(&mut self, origin: &str) -> usize {
        let known = self.0.iter().position(|known| known == origin);
        1 + known.unwrap_or_else(|| {
            self.0.push(origin.to_owned());
            self.0.len() - 1
        })
    }

    /// The same as a mark: `[2]`.
    pub fn mark(&mut self, origin: &str) -> String {
        format!("[{}]", self.number(origin))
    }

    /// Each, in the order of its number.
    pub fn all(&self) -> impl Iterator<Item = &str> {
        self.0.iter().map(String::as_str)
    }

    /// The list on a terminal.
    pub fn write(&self, out: &mut dyn Write, width: usize) -> io::Result<()> {
        heading(out, "FROM", "where each figure was found")?;
        for (n, origin) in self.all().enumerate() {
            let mark = format!("[{}]", n + 1);
            writeln!(out, "  {mark:<5}{}", wrapped(origin, width - 7, 7))?;
        }
        Ok(())
    }
}
