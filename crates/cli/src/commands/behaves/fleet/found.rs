//! The logs of a fleet: files, folders of them, and whose each is where its own rows do not say.

use crate::files::{self, Listed};
use std::io;
use std::path::{Component, Path, PathBuf};

/// What logs end in, packed or not.
const ENDINGS: [&str; 3] = ["csv", "tsv", "parquet"];
/// And what packed files do.
const PACKED: [&str; 2] = ["gz", "zst"];

/// A log, in one file or in several that follow one another.
pub struct FoundLog {
    /// Its files, in order.
    pub files: Vec<PathBuf>,
    /// The site that its folder or its name says.
    pub site: String,
    /// The device that its folder says.
    pub device: Option<String>,
    /// Whether a folder says so.
    is_by_folder: bool,
}

/// Every log that the paths lead to, in order, and the files of folders that are none.
///
/// # Errors
/// Where a folder cannot be read.
pub fn found(paths: &[PathBuf]) -> io::Result<(Vec<FoundLog>, Vec<PathBuf>)> {
    let (mut logs, mut left_out) = (Vec::<FoundLog>::new(), Vec::new());
    for path in paths {
        let mut listed = Listed::default();
        if path.is_dir() {
            files::list(path, &[&ENDINGS[..], &PACKED[..]].concat(), &mut listed)?;
            let (files, others) = listed.files.into_iter().partition(|file| is_log(file));
            listed.files = files;
            listed.left_out.extend::<Vec<PathBuf>>(others);
            // what engines leave beside what they wrote
            listed.left_out.retain(|file| !is_of_engine(file));
            files::say_left_out(path, ["log", "logs"], &listed.left_out)?;
            if listed.files.is_empty() {
                return Err(io::Error::other(format!("{}: no logs in this folder", terminal::path(path))));
            }
        } else {
            listed.files.push(path.clone());
        }
        left_out.extend(listed.left_out);
        for file in listed.files {
            let log = of(file);
            match logs.last_mut().filter(|last| last.goes_on_with(&log)) {
                Some(last) => last.files.extend(log.files),
                None => logs.push(log),
            }
        }
    }
    Ok((logs, left_out))
}

impl FoundLog {
    /// Whether another is a later part of it: of the same folder of one site.
    fn goes_on_with(&self, other: &Self) -> bool {
        self.is_by_folder && other.is_by_folder && self.site == other.site && self.device == other.device
    }

    /// Its first file, for people.
    pub fn name(&self) -> String {
        self.files.first().map(terminal::path).unwrap_or_default()
    }
}

fn is_log(file: &Path) -> bool {
    let ending = files::extension(&unpacked(file));
    ending.is_some_and(|ending| ENDINGS.contains(&ending.as_str())) && !is_of_engine(file)
}

/// Checksums and marks, whose names begin with a dot or an underscore.
fn is_of_engine(file: &Path) -> bool {
    file.file_name().is_some_and(|name| name.to_string_lossy().starts_with(['.', '_']))
}

fn of(file: PathBuf) -> FoundLog {
    let (site, device) = (in_folders(&file, "site="), in_folders(&file, "device="));
    let is_by_folder = site.is_some();
    FoundLog { site: site.unwrap_or_else(|| stem(&file)), device, is_by_folder, files: vec![file] }
}

/// `site=heron-court-11` among the folders of a path, as engines write partitions.
fn in_folders(file: &Path, key: &str) -> Option<String> {
    let folders = file.parent()?.components().filter_map(|part| if let Component::Normal(name) = part { name.to_str() } else { None });
    folders.filter_map(|name| name.strip_prefix(key)).next_back().map(unescaped)
}

/// `%20` as a space.
fn unescaped(text: &str) -> String {
    let mut bytes = Vec::with_capacity(text.len());
    let mut rest = text.as_bytes();
    while let [first, after @ ..] = rest {
        let code = (*first == b'%').then(|| after.get(..2)).flatten().and_then(|hex| std::str::from_utf8(hex).ok());
        match code.and_then(|hex| u8::from_str_radix(hex, 16).ok()) {
            Some(byte) => {
                bytes.push(byte);
                rest = &after[2..];
            }
            None => {
                bytes.push(*first);
                rest = after;
            }
        }
    }
    String::from_utf8_lossy(&bytes).into_owned()
}

/// The name of a file without what it ends in, packed or not.
fn stem(file: &Path) -> String {
    unpacked(file).file_stem().map(|stem| stem.to_string_lossy().into_owned()).unwrap_or_default()
}

/// Its name as it would be unpacked.
fn unpacked(file: &Path) -> PathBuf {
    let is_packed = files::extension(file).is_some_and(|ending| PACKED.contains(&ending.as_str()));
    if is_packed { file.with_extension("") } else { file.to_owned() }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn folders_and_names_say_whose_a_log_is() {
        let whose = |path: &str| {
            let log = of(PathBuf::from(path));
            (log.site, log.device)
        };
        assert_eq!(whose("logs/heron-court-11.csv.gz"), ("heron-court-11".to_owned(), None));
        assert_eq!(whose("out/site=a%20b/device=inverter-2/part-0.parquet"), ("a b".to_owned(), Some("inverter-2".to_owned())));
        assert_eq!(unescaped("100%, 5%zz"), "100%, 5%zz");
    }
}
