//! Why a log cannot be used: where, what, and how to mend it.

use settings_model::finding::Finding;
use settings_model::source::{Place, Sources};
use std::ops::Range;

/// Why a log cannot be used.
#[derive(Clone, Debug)]
pub struct LogError {
    /// A stable name for the kind of fault.
    pub name: &'static str,
    /// The line, from 1, its text and what of it is meant; `None` for the log as a whole.
    pub place: Option<(u64, String, Range<usize>)>,
    /// What is wrong.
    pub says: String,
    /// What to do.
    pub help: String,
}

impl LogError {
    /// A fault of the log as a whole.
    pub fn new(name: &'static str, says: impl Into<String>, help: impl Into<String>) -> Self {
        Self { name, place: None, says: says.into(), help: help.into() }
    }

    /// A fault of one line.
    pub fn at(self, line: u64, text: impl Into<String>, meant: Range<usize>) -> Self {
        Self { place: Some((line, text.into(), meant)), ..self }
    }

    /// The same as a message, with its line among the sources.
    pub fn finding(&self, file: &str, sources: &mut Sources) -> Finding {
        let place = match &self.place {
            Some((line, text, meant)) => {
                let source = sources.add_from_line(file, text.as_str(), *line as usize);
                Place { source, start: meant.start as u32, end: meant.end as u32 }
            }
            None => Place::NOWHERE,
        };
        let says = if self.place.is_some() { self.says.clone() } else { format!("{file}: {}", self.says) };
        Finding::unusable(self.name, place, says).hint(self.help.as_str())
    }
}
