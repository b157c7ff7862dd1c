//! Files of counters, read device by device: where the lines of each stand is found first, so that only one device is
//! ever held.

use super::counters::{VERSION, day_read};
use crate::files;
use crate::report::behaves_counters::CountersLine;
use std::collections::BTreeMap;
use std::fs::File;
use std::io::{self, BufRead, BufReader, Read, Seek, SeekFrom};
use std::path::{Path, PathBuf};

/// The longest line that is read; a day takes some kilobytes.
const LONGEST: usize = 4 << 20;
/// So many faults of a file are told.
const MOST_FAULTS: usize = 20;

/// Where a line stands.
#[derive(Clone, Copy)]
struct At {
    file: usize,
    start: u64,
    length: usize,
}

/// Files of counters.
#[derive(Default)]
pub struct Kept {
    files: Vec<File>,
    at: BTreeMap<(String, String), Vec<At>>,
    /// What is wrong with them.
    pub faults: Vec<String>,
}

impl Kept {
    /// Looks at every line of files.
    ///
    /// # Errors
    /// Where one cannot be opened.
    pub fn of(paths: &[PathBuf]) -> io::Result<Self> {
        let mut kept = Self::default();
        for path in paths {
            let name = terminal::path(path);
            let says = |error: io::Error| io::Error::other(format!("{name}: {}", input_files::why(&error)));
            let file = files::regular(path).map_err(says)?;
            kept.files.push(file.try_clone().map_err(says)?);
            kept.look_at(path, file).map_err(says)?;
        }
        Ok(kept)
    }

    fn look_at(&mut self, path: &Path, file: File) -> io::Result<()> {
        let (name, file_number, before) = (terminal::path(path), self.files.len() - 1, self.faults.len());
        let (mut input, mut line, mut start) = (BufReader::with_capacity(1 << 20, file), Vec::new(), 0);
        for number in 1_usize.. {
            line.clear();
            let length = input.by_ref().take(LONGEST as u64).read_until(b'\n', &mut line)?;
            if length == 0 {
                break;
            }
            let fault = match read(&line) {
                _ if length == LONGEST => Some((1, "the line is longer than 4 MB, which no day is".to_owned())),
                Ok(None) => None,
                Ok(Some(whose)) => {
                    self.at.entry(whose).or_default().push(At { file: file_number, start, length });
                    None
                }
                Err(fault) => Some(fault),
            };
            start += length as u64;
            let Some((column, says)) = fault else { continue };
            self.faults.push(format!("{name}:{number}:{column}: {says}"));
            if length == LONGEST || self.faults.len() - before == MOST_FAULTS {
                self.faults.push(format!("{name}: nothing behind line {number} was read"));
                break;
            }
        }
        Ok(())
    }

    /// The devices of a site that have lines.
    pub fn devices(&self, site: &str) -> Vec<String> {
        let of_site = self.at.range((site.to_owned(), String::new())..).take_while(|((other, _), _)| other == site);
        of_site.map(|((_, device), _)| device.clone()).collect()
    }

    /// Every site that has lines.
    pub fn sites(&self) -> Vec<&str> {
        let mut sites: Vec<&str> = self.at.keys().map(|(site, _)| site.as_str()).collect();
        sites.dedup();
        sites
    }

    /// The lines of a device.
    ///
    /// # Errors
    /// Where they cannot be read again.
    pub fn lines(&mut self, site: &str, device: &str) -> io::Result<Vec<CountersLine>> {
        let at = self.at.get(&(site.to_owned(), device.to_owned())).cloned().unwrap_or_default();
        let changed = || io::Error::other("a file of counters was changed meanwhile");
        let mut lines = Vec::with_capacity(at.len());
        for At { file, start, length } in at {
            let (file, mut bytes) = (&mut self.files[file], vec![0; length]);
            file.seek(SeekFrom::Start(start))?;
            file.read_exact(&mut bytes)?;
            lines.push(serde_json::from_slice(&bytes).map_err(|_| changed())?);
        }
        Ok(lines)
    }
}

/// Whose a line is; `None` of a blank one. Else the column and what is wrong there.
fn read(line: &[u8]) -> Result<Option<(String, String)>, (usize, String)> {
    if line.trim_ascii().is_empty() {
        return Ok(None);
    }
    if line.starts_with(&[0x1f, 0x8b]) || line.starts_with(&[0x28, 0xb5, 0x2f, 0xfd]) {
        return Err((1, "the file is packed; unpack it first: counters are read from where they stand".to_owned()));
    }
    let wrong = |error: serde_json::Error| {
        let says = error.to_string();
        let says = says.rsplit_once(" at line ").map_or(says.as_str(), |(says, _)| says);
        (error.column().max(1), terminal::escaped(says).into_owned())
    };
    let read: CountersLine = serde_json::from_slice(line).map_err(wrong)?;
    let at = |key: &str| {
        let found = memchr::memmem::find(line, format!("\"{key}\"").as_bytes());
        found.map_or(1, |at| at + 1)
    };
    if read.version != VERSION {
        return Err((at("version"), format!("version {} is not read by this program, which writes {VERSION}", read.version)));
    }
    if day_read(&read.day, read.log.has_dates).is_none() {
        return Err((at("day"), format!("`{}` is no day, such as 2026-11-16", terminal::escaped(&read.day))));
    }
    if let Some(key) = read.counts.impossible() {
        return Err((at(key), format!("`{key}` is more than the time that was read or used on the day")));
    }
    Ok(Some((read.site, read.device)))
}
