//! The only room that opens files: sites, profiles, standard input.

pub mod filled;
pub mod keys;
pub mod signed;
mod unpacked;

use settings_model::document::MAX_BYTES;
use settings_model::library::{Library, Profile};
use std::collections::BTreeMap;
use std::fs;
use std::io::{self, Read, Write};
use std::path::{Path, PathBuf};

/// The profiles that come with the program: path and text.
const SHIPPED: &[(&str, &str)] = include!(concat!(env!("OUT_DIR"), "/shipped.rs"));

/// The shipped profiles, with those of the given folders over them.
pub fn library(folders: &[PathBuf]) -> io::Result<Library> {
    let mut library = Library::default();
    for (path, text) in SHIPPED {
        library.add(Profile { path: (*path).to_owned(), name: format!("shipped:{path}"), text: (*text).into(), shipped: true });
    }
    for folder in folders {
        let mut found = Listed::default();
        list(folder, &["yaml", "yml", "json"], &mut found)?;
        // signatures stand beside profiles and are read with them, and notes on them are for people
        found.left_out.retain(|file| !matches!(extension(file).as_deref(), Some("sig" | "md")));
        say_left_out(folder, ["profile", "profiles"], &found.left_out)?;
        let mut kept: BTreeMap<String, PathBuf> = BTreeMap::new();
        for file in found.files {
            let key = file.strip_prefix(folder).unwrap_or(&file).with_extension("yaml");
            let key = key.to_string_lossy().replace('\\', "/");
            if let Some(first) = kept.insert(key.clone(), file.clone()) {
                return Err(io::Error::other(format!(
                    "{} and {} are the same profile by their names; keep one of them",
                    first.display(),
                    file.display()
                )));
            }
            if !is_profile(&key) {
                return Err(io::Error::other(format!(
                    "{}: not where a profile is kept; name it `standards/<standard>/<edition>.yaml`, `overlays/<network>/<three numbers>.yaml`, `labels/<family>/<name>.yaml`, `scenarios/<name>.yaml`, or below `attestations/` at its profile's place, as `attestations/standards/<standard>/<edition>/<office>.yaml`",
                    file.display()
                )));
            }
            library.add(Profile { path: key, name: file.display().to_string(), text: text(&file)?.into(), shipped: false });
        }
    }
    Ok(library)
}

/// Whether a path is one that the library looks at. Any other would be passed over without a word.
fn is_profile(key: &str) -> bool {
    let Some(stem) = key.strip_suffix(".yaml") else { return false };
    match stem.split('/').collect::<Vec<_>>()[..] {
        ["standards" | "labels", _, _] | ["scenarios", _] => true,
        ["overlays", _, version] | ["attestations", "overlays", _, version, _] => semver::Version::parse(version).is_ok(),
        ["attestations", "standards", _, _, _] => true,
        _ => false,
    }
}

/// A file's text, or standard input's for `-`; says which file an error is about.
pub fn text(path: &Path) -> io::Result<String> {
    let says = |error: &dyn std::fmt::Display| io::Error::other(format!("{}: {error}", path.display()));
    let mut bytes = Vec::new();
    let limit = MAX_BYTES as u64 + 1;
    let input = if path.as_os_str() == "-" { standard_input() } else { open(path) };
    input.and_then(|input| input.take(limit).read_to_end(&mut bytes)).map_err(|e| says(&e))?;
    String::from_utf8(bytes).map_err(|e| {
        let line = e.as_bytes()[..e.utf8_error().valid_up_to()].iter().filter(|b| **b == b'\n').count() + 1;
        says(&format!("line {line} is not UTF-8 text; save the file as UTF-8"))
    })
}

/// A file's bytes, or standard input's for `-`; says which file an error is about.
pub fn bytes(path: &Path) -> io::Result<Vec<u8>> {
    let mut bytes = Vec::new();
    let read =
        if path.as_os_str() == "-" { io::stdin().read_to_end(&mut bytes).map(drop) } else { fs::read(path).map(|read| bytes = read) };
    read.map_err(|error| io::Error::other(format!("{}: {error}", path.display())))?;
    Ok(bytes)
}

/// A file to read from, unpacked where it is packed.
pub fn open(path: &Path) -> io::Result<Box<dyn Read + Send>> {
    unpacked::unpacked(fs::File::open(path)?)
}

/// Standard input, unpacked where it is packed.
pub fn standard_input() -> io::Result<Box<dyn Read + Send>> {
    unpacked::unpacked(io::stdin())
}

/// Writes a file whole or not at all: beside its place first, then moved there.
pub fn write_whole(path: &Path, bytes: &[u8]) -> io::Result<()> {
    let says = |error: io::Error| io::Error::other(format!("{}: {error}", path.display()));
    // what a link names is written, and not the link
    let path = &fs::canonicalize(path).unwrap_or_else(|_| path.to_owned());
    let name = path.file_name().ok_or_else(|| io::Error::other(format!("{}: not the name of a file", path.display())))?;
    let beside = path.with_file_name(format!(".{}.{}.partial", name.to_string_lossy(), std::process::id()));
    let written = fs::File::create(&beside).and_then(|mut file| file.write_all(bytes).and_then(|()| file.sync_all()));
    let kept = fs::metadata(path).map(|before| before.permissions());
    let as_before = written.and_then(|()| kept.map_or(Ok(()), |permissions| fs::set_permissions(&beside, permissions)));
    let moved = as_before.and_then(|()| fs::rename(&beside, path));
    if moved.is_err() {
        let _ = fs::remove_file(&beside);
    }
    moved.map_err(says)
}

/// What was found below a folder.
#[derive(Default)]
pub struct Listed {
    /// Files of the kinds that were looked for, in order.
    pub files: Vec<PathBuf>,
    /// All others.
    pub left_out: Vec<PathBuf>,
}

/// Adds every file below a folder: those with one of these extensions, in large letters or small, and the others.
pub fn list(folder: &Path, extensions: &[&str], found: &mut Listed) -> io::Result<()> {
    for path in entries(folder)? {
        if path.is_dir() {
            list(&path, extensions, found)?;
        } else if extension(&path).is_some_and(|extension| extensions.contains(&extension.as_str())) {
            found.files.push(path);
        } else {
            found.left_out.push(path);
        }
    }
    Ok(())
}

/// What the name of a file ends in, in small letters.
pub fn extension(path: &Path) -> Option<String> {
    path.extension().map(|extension| extension.to_string_lossy().to_lowercase())
}

/// Names the files of a folder that are none of the `wanted`, on standard error: nothing is passed over in silence.
/// Of many that end alike, their number is said.
pub fn say_left_out(folder: &Path, [one, several]: [&str; 2], left_out: &[PathBuf]) -> io::Result<()> {
    /// More than so many files that end alike are counted.
    const FEW: usize = 3;
    if left_out.is_empty() {
        return Ok(());
    }
    let mut alike: BTreeMap<Option<String>, Vec<&PathBuf>> = BTreeMap::new();
    for file in left_out {
        alike.entry(extension(file)).or_default().push(file);
    }
    let named = |file: &&PathBuf| file.strip_prefix(folder).unwrap_or(file).display().to_string();
    let said = alike.into_iter().flat_map(|(extension, files)| match extension {
        Some(extension) if files.len() > FEW => vec![format!("{} that end in .{extension}", files.len())],
        None if files.len() > FEW => vec![format!("{} without an ending", files.len())],
        _ => files.iter().map(named).collect(),
    });
    let (count, said) = (left_out.len(), said.collect::<Vec<_>>().join(", "));
    let are = if count == 1 { format!("file is no {one} and was") } else { format!("files are no {several} and were") };
    let says = format!("asleft: {}: {count} {are} left out: {said}", folder.display());
    writeln!(crate::shown::stderr(), "{}", crate::render::wrapped(&says, crate::render::width(), 8))
}

/// What lies in a folder, in order.
pub fn entries(folder: &Path) -> io::Result<Vec<PathBuf>> {
    let says = |error| io::Error::other(format!("{}: {error}", folder.display()));
    let entries: io::Result<Vec<PathBuf>> = fs::read_dir(folder).map_err(says)?.map(|entry| Ok(entry?.path())).collect();
    let mut entries = entries.map_err(says)?;
    entries.sort();
    Ok(entries)
}
