//! Stops at what is no text before it fills the memory: a file of zeros, or one without lines.

use super::fault::LogError;
use input_files::not_text::what_it_is;
use std::io::{self, Read};

/// The longest line of a log.
const LONGEST_LINE: usize = 64 << 10;

/// What a log is that its beginning shows to be no text in UTF-8.
pub fn other_than_text(head: &[u8]) -> Option<LogError> {
    let (what, help) = what_it_is(head)?;
    Some(LogError::new("no-text", format!("this is {what}"), help))
}

/// What is wrong with the bytes of a log.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum NoText {
    /// A zero byte.
    Binary,
    /// A line that does not end.
    Endless,
}

/// What is said of it.
pub fn no_text(found: NoText, line: u64) -> LogError {
    match found {
        NoText::Binary => LogError::new("binary", format!("line {line}: a zero byte: this is no text"), "save the log as CSV in UTF-8"),
        NoText::Endless => LogError::new("endless-line", format!("line {line} does not end"), "save the log as CSV, a row on each line"),
    }
}

/// Reads text and nothing else.
pub struct Guarded<R> {
    input: R,
    /// Bytes since the last line ended.
    open: usize,
    /// What was found that is no text.
    pub found: Option<NoText>,
}

impl<R: Read> Guarded<R> {
    pub fn new(input: R) -> Self {
        Self { input, open: 0, found: None }
    }
}

impl<R: Read> Read for Guarded<R> {
    fn read(&mut self, into: &mut [u8]) -> io::Result<usize> {
        let read = self.input.read(into)?;
        let bytes = &into[..read];
        if memchr::memchr(0, bytes).is_some() {
            self.found = Some(NoText::Binary);
        }
        match memchr::memrchr(b'\n', bytes) {
            Some(at) => self.open = read - at - 1,
            None => self.open += read,
        }
        if self.open > LONGEST_LINE {
            self.found = self.found.or(Some(NoText::Endless));
        }
        match self.found {
            Some(_) => Err(io::Error::other("no text")),
            None => Ok(read),
        }
    }
}
