//! The texts of sites, from files, folders, lists and lines: found in order by one thread, to be
//! read by any.

pub mod lines;

use crate::files;
use input_files::folders::Folders;
use settings_model::files::Kind;
use settings_model::reader;
use settings_model::source::SourceId;
use std::io::{self, BufReader, Read, Write};
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// A piece of what the paths lead to.
pub enum Block {
    /// A file of one site.
    Whole {
        /// The file, for people.
        name: String,
        /// All of it.
        text: String,
    },
    /// Whole lines of one site each.
    Lines {
        /// The file, for people.
        name: Arc<str>,
        /// The number of the first line.
        first: usize,
        /// The lines, each with its newline but perhaps the last.
        bytes: Vec<u8>,
    },
    /// Files of a folder that are no sites, for people.
    LeftOut(Vec<String>),
    /// A file or a line that cannot be read, which does not stop the rest.
    Unreadable {
        /// The file, for people.
        name: Arc<str>,
        /// The line, where a file holds one site a line.
        line: Option<usize>,
        /// Why.
        says: String,
    },
}

/// A text that was found.
pub struct Found<'t> {
    /// Its file, for people.
    pub name: &'t str,
    /// Its line, where a file holds one site a line.
    pub line: Option<usize>,
    /// The text, or why it cannot be read, which does not stop the rest.
    pub text: Result<&'t str, String>,
}

impl Block {
    /// Hands on every text in it, in order.
    pub fn each_text(self, take: &mut dyn FnMut(Found<'_>) -> io::Result<()>) -> io::Result<()> {
        match self {
            Self::Whole { name, text } => take(Found { name: &name, line: None, text: Ok(&text) }),
            Self::LeftOut(_) => Ok(()),
            Self::Unreadable { name, line, says } => take(Found { name: &name, line, text: Err(says) }),
            Self::Lines { name, first, bytes } => {
                lines::each_line(&name, first, &bytes, &mut |number, text| take(Found { name: &name, line: Some(number), text }))
            }
        }
    }
}

/// Where blocks go.
pub type Put<'p> = &'p mut dyn FnMut(Block) -> io::Result<()>;

/// Hands on every block that the paths lead to, in order.
pub fn blocks(paths: &[PathBuf], put: Put<'_>) -> io::Result<()> {
    paths.iter().try_for_each(|path| of_path(path, false, put))
}

fn of_path(path: &Path, is_listed: bool, put: Put<'_>) -> io::Result<()> {
    if path.as_os_str() == "-" {
        return lines_of(files::standard_input(), "standard input", put);
    }
    if path.is_dir() {
        return folder(path, put);
    }
    let name = named(path);
    match holds(path) {
        Holds::Lines => lines_of(files::open(path), &name, put),
        Holds::List if is_listed => put(unreadable(&name, format!("{name}: a list does not name other lists"))),
        Holds::List => list(path, &name, put),
        Holds::Site => whole(path, name, put),
    }
}

/// Whether a path leads to one site, or to no more than a file.
pub fn is_one_site(paths: &[PathBuf]) -> bool {
    matches!(paths, [one] if one.as_os_str() != "-" && !one.is_dir() && holds(one) == Holds::Site)
}

/// What a file holds, by its name.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Holds {
    /// One site a line.
    Lines,
    /// One path a line.
    List,
    /// One site.
    Site,
}

fn holds(path: &Path) -> Holds {
    match extension(path).as_deref() {
        Some("ndjson" | "jsonl") => Holds::Lines,
        Some("list" | "txt") => Holds::List,
        _ => Holds::Site,
    }
}

/// What a name ends in, in small letters, without `.gz` and `.zst`.
fn extension(path: &Path) -> Option<String> {
    match files::extension(path).as_deref() {
        Some("gz" | "zst") => files::extension(Path::new(path.file_stem()?)),
        _ => files::extension(path),
    }
}

/// A path for people: on one line, whatever stands in it.
fn named(path: &Path) -> String {
    terminal::path(path)
}

fn unreadable(name: &str, says: String) -> Block {
    Block::Unreadable { name: name.into(), line: None, says }
}

fn lines_of(input: io::Result<impl Read>, name: &str, put: Put<'_>) -> io::Result<()> {
    match input {
        Ok(input) => lines::cut(input, name, put),
        Err(error) => put(unreadable(name, format!("{name}: {}", input_files::why(&error)))),
    }
}

fn whole(path: &Path, name: String, put: Put<'_>) -> io::Result<()> {
    match files::text(path) {
        Ok(text) => put(Block::Whole { name, text }),
        Err(error) => put(unreadable(&name, error.to_string())),
    }
}

/// Every path of a list, one a line, as `find` prints them: from where the program was started.
fn list(path: &Path, name: &str, put: Put<'_>) -> io::Result<()> {
    let mut input = match files::open(path) {
        Ok(input) => BufReader::new(input),
        Err(error) => return put(unreadable(name, format!("{name}: {}", input_files::why(&error)))),
    };
    for number in 1.. {
        match lines::path(&mut input).as_ref().map(|line| line.as_deref().map(str::trim)) {
            Ok(None) => break,
            Ok(Some("")) => {}
            Ok(Some(line)) => of_path(Path::new(line), true, put)?,
            Err(error) => return put(unreadable(name, format!("{name}: line {number}: {error}"))),
        }
    }
    Ok(())
}

/// Every site below a folder; every other file is left out, and named.
fn folder(path: &Path, put: Put<'_>) -> io::Result<()> {
    let (mut seen, mut folders) = (Seen::default(), Folders::default());
    below(path, &mut seen, &mut folders, put)?;
    if folders.met_again > 0 {
        let links = if folders.met_again == 1 { "1 link leads".to_owned() } else { format!("{} links lead", folders.met_again) };
        let says = format!("asleft: {}: {links} to a folder that was read already; each folder is read once", terminal::path(path));
        writeln!(terminal::stderr(), "{says}")?;
    }
    files::say_left_out(path, ["site", "sites"], &seen.left_out)?;
    if !seen.left_out.is_empty() {
        put(Block::LeftOut(seen.left_out.iter().map(terminal::path).collect()))?;
    }
    match seen.sites {
        0 => put(unreadable(&named(path), format!("{}: no site files in this folder", terminal::path(path)))),
        _ => Ok(()),
    }
}

/// What a folder was found to hold.
#[derive(Default)]
struct Seen {
    sites: usize,
    left_out: Vec<PathBuf>,
}

fn below(folder: &Path, seen: &mut Seen, folders: &mut Folders, put: Put<'_>) -> io::Result<()> {
    let entries = match folders.enter(folder) {
        Ok(entries) => entries,
        Err(error) => {
            seen.sites += 1;
            return put(unreadable(&named(folder), error.to_string()));
        }
    };
    for path in entries {
        if path.is_dir() {
            below(&path, seen, folders, put)?;
            continue;
        }
        match extension(&path).as_deref() {
            Some("ndjson" | "jsonl") => {
                seen.sites += 1;
                of_path(&path, true, put)?;
            }
            Some("yaml" | "yml" | "json") => {
                let name = named(&path);
                match files::text(&path) {
                    Ok(text) if is_another_kind(&text) => seen.left_out.push(path),
                    Ok(text) => {
                        seen.sites += 1;
                        put(Block::Whole { name, text })?;
                    }
                    Err(error) => {
                        seen.sites += 1;
                        put(unreadable(&name, error.to_string()))?;
                    }
                }
            }
            _ => seen.left_out.push(path),
        }
    }
    Ok(())
}

/// Whether a text says that it is a standard, an overlay or a label map; anything else is taken for a site.
fn is_another_kind(text: &str) -> bool {
    // most say so in a line of their own, and need no reading for it
    if text.lines().any(|line| line.trim_end() == "kind: site") {
        return false;
    }
    let root = settings_model::document::parse(SourceId(0), text, &mut Vec::new());
    matches!(
        root.as_ref().and_then(reader::kind_of),
        Some(kind) if kind != Kind::Site
    ) || root.as_ref().is_some_and(is_record)
}

/// Whether it is a record that was left behind at a site.
fn is_record(root: &settings_model::document::Node) -> bool {
    root.get("record").and_then(|record| record.get("kind")).is_some_and(|kind| kind.text() == "close-out")
}
