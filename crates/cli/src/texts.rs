//! The texts of sites, one after another, from files, folders and lines.

use crate::files;
use settings_model::files::Kind;
use settings_model::reader;
use settings_model::source::SourceId;
use std::fs::File;
use std::io::{self, BufRead, BufReader, IsTerminal, Write};
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

/// A text that was found.
pub struct Found<'t> {
    /// Its file, for people.
    pub name: &'t str,
    /// Its line, where a file holds one site a line.
    pub line: Option<usize>,
    /// The text, or why it cannot be read, which does not stop the rest.
    pub text: Result<&'t str, String>,
}

/// What is done with each text.
pub type Take<'t> = &'t mut dyn FnMut(Found<'_>) -> io::Result<()>;

/// Hands on every text that the paths lead to, in order.
pub fn each_text(paths: &[PathBuf], take: Take<'_>) -> io::Result<()> {
    let mut progress = Progress::new();
    for path in paths {
        if path.as_os_str() == "-" {
            lines(io::stdin().lock(), "standard input", &mut progress, take)?;
        } else if path.is_dir() {
            folder(path, &mut progress, take)?;
        } else if path.extension().is_some_and(|e| e == "ndjson" || e == "jsonl") {
            let file = File::open(path).map_err(|e| io::Error::other(format!("{}: {e}", path.display())))?;
            lines(BufReader::with_capacity(1 << 20, file), &path.display().to_string(), &mut progress, take)?;
        } else {
            one_file(path, take)?;
        }
    }
    Ok(())
}

/// Every site file below a folder; files of other kinds are passed over, and said so.
fn folder(path: &Path, progress: &mut Progress, take: Take<'_>) -> io::Result<()> {
    let mut found = Vec::new();
    files::list(path, &["yaml", "yml", "json"], &mut found)?;
    let mut taken = 0;
    for file in &found {
        let text = files::text(file);
        if text.as_ref().is_ok_and(|text| is_another_kind(text)) {
            continue;
        }
        let text = text.as_deref().map_err(ToString::to_string);
        take(Found { name: &file.display().to_string(), line: None, text })?;
        taken += 1;
        progress.step();
    }
    if taken < found.len() {
        writeln!(io::stderr(), "asleft: {}: {} files of other kinds were passed over", path.display(), found.len() - taken)?;
    }
    if taken == 0 {
        return Err(io::Error::other(format!("{}: no site files in this folder", path.display())));
    }
    Ok(())
}

/// Whether a text says that it is a standard or an overlay; anything else is taken for a site.
fn is_another_kind(text: &str) -> bool {
    let root = settings_model::document::parse(SourceId(0), text, &mut Vec::new());
    matches!(root.as_ref().and_then(reader::kind_of), Some(Kind::Standard | Kind::Overlay))
}

fn one_file(path: &Path, take: Take<'_>) -> io::Result<()> {
    let text = files::text(path);
    take(Found { name: &path.display().to_string(), line: None, text: text.as_deref().map_err(ToString::to_string) })
}

/// One site a line.
fn lines(mut input: impl BufRead, name: &str, progress: &mut Progress, take: Take<'_>) -> io::Result<()> {
    let mut bytes = Vec::new();
    for number in 1.. {
        bytes.clear();
        let whole = next_line(&mut input, &mut bytes).map_err(|e| io::Error::other(format!("{name}: line {number}: {e}")))?;
        if bytes.is_empty() {
            return Ok(());
        }
        let text = match std::str::from_utf8(&bytes) {
            _ if !whole => Err(format!("{name}: line {number} is longer than 4 MB, which no site is")),
            Err(_) => Err(format!("{name}: line {number} is not UTF-8 text; save the file as UTF-8")),
            Ok(line) if line.trim().is_empty() => continue,
            Ok(line) => Ok(line.trim_end()),
        };
        take(Found { name, line: Some(number), text })?;
        progress.step();
    }
    Ok(())
}

/// The longest line that is read; a site is a few kilobytes.
const MAX_LINE: usize = 4 << 20;

/// Reads up to the end of the line, of which no more than [`MAX_LINE`] is kept; whether that was all.
fn next_line(input: &mut impl BufRead, kept: &mut Vec<u8>) -> io::Result<bool> {
    let mut whole = true;
    loop {
        let available = input.fill_buf()?;
        let end = available.iter().position(|byte| *byte == b'\n').map(|at| at + 1);
        let taken = end.unwrap_or(available.len());
        let room = MAX_LINE.saturating_sub(kept.len());
        kept.extend_from_slice(&available[..taken.min(room)]);
        whole &= taken <= room;
        input.consume(taken);
        if end.is_some() || taken == 0 {
            return Ok(whole);
        }
    }
}

/// A line on a terminal's standard error, once a second, for work that takes longer than that.
struct Progress {
    done: usize,
    next: Instant,
    on_terminal: bool,
    shown: bool,
}

impl Progress {
    fn new() -> Self {
        Self { done: 0, next: Instant::now() + Duration::from_secs(1), on_terminal: io::stderr().is_terminal(), shown: false }
    }

    fn step(&mut self) {
        self.done += 1;
        if self.on_terminal && self.done.is_multiple_of(256) && Instant::now() >= self.next {
            self.next = Instant::now() + Duration::from_secs(1);
            self.shown = true;
            let _ = write!(io::stderr(), "\r{} sites looked at", self.done);
        }
    }
}

impl Drop for Progress {
    fn drop(&mut self) {
        if self.shown {
            let _ = writeln!(io::stderr());
        }
    }
}
