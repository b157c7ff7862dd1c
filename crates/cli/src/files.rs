//! The only room that opens files: sites, profiles, standard input.

pub mod filled;
pub mod keys;
#[cfg(feature = "register")]
pub mod register;
#[cfg(not(feature = "register"))]
#[path = "files/no_register.rs"]
pub mod register;
pub mod signed;

use crate::args::Profiles;
use input_files::folders::Folders;
use input_files::not_text;
pub use input_files::{extension, open, regular, standard_input};
use settings_model::document::MAX_BYTES;
use settings_model::library::{Library, Profile};
use settings_model::slip::listed;
use std::collections::BTreeMap;
use std::io::{self, Read, Write as _};
use std::path::{Path, PathBuf};

/// Where one of several pictures goes: `curves.svg` for volt-var is `curves-volt-var.svg`.
pub fn one_of_several(file: &Path, function: &str) -> PathBuf {
    let stem = file.file_stem().unwrap_or_default().to_string_lossy();
    let extension = file.extension().map_or("svg".into(), |extension| extension.to_string_lossy());
    file.with_file_name(format!("{stem}-{function}.{extension}"))
}

/// The profiles that come with the program: path and text.
const SHIPPED: &[(&str, &str)] = include!(concat!(env!("OUT_DIR"), "/shipped.rs"));

/// The shipped profiles, with those of the given folders over them, behind the gate that was asked for.
pub fn library(from: &Profiles) -> io::Result<Library> {
    let mut library = Library::default();
    if let Some(gate) = signed::gate(from)? {
        library.set_gate(gate);
    }
    for (path, text) in SHIPPED {
        library.add(Profile { path: (*path).to_owned(), name: format!("shipped:{path}"), text: (*text).into(), shipped: true });
    }
    for folder in &from.folders {
        let mut found = Listed::default();
        list(folder, &["yaml", "yml", "json"], &mut found)?;
        // signatures stand beside profiles and are read with them, and notes on them are for people
        found.left_out.retain(|file| !matches!(extension(file).as_deref(), Some("sig" | "md")));
        say_left_out(folder, ["profile", "profiles"], &found.left_out)?;
        let mut kept: BTreeMap<String, PathBuf> = BTreeMap::new();
        let mut misplaced: Vec<String> = Vec::new();
        for file in found.files {
            let key = file.strip_prefix(folder).unwrap_or(&file).with_extension("yaml");
            let key = key.to_string_lossy().replace('\\', "/");
            if let Some(first) = kept.insert(key.clone(), file.clone()) {
                return Err(io::Error::other(format!(
                    "{} and {} are the same profile by their names; keep one of them",
                    terminal::path(&first),
                    terminal::path(&file)
                )));
            }
            if !is_profile(&key) {
                misplaced.push(terminal::path(&file));
                continue;
            }
            library.add(Profile { path: key, name: terminal::path(&file), text: text(&file)?.into(), shipped: false });
        }
        if !misplaced.is_empty() {
            return Err(io::Error::other(format!(
                "{}: not where a profile is kept; name it `standards/<standard>/<edition>.yaml`, `overlays/<network>/<three numbers>.yaml`, `labels/<family>/<name>.yaml`, `scenarios/<name>.yaml`, or below `attestations/` at its profile's place, as `attestations/standards/<standard>/<edition>/<office>.yaml`",
                listed(&misplaced)
            )));
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
    let says = |error: &dyn std::fmt::Display| io::Error::other(format!("{}: {error}", terminal::path(path)));
    let input = if path.as_os_str() == "-" { standard_input() } else { open(path) };
    let bytes = input.and_then(bounded).map_err(|error| says(&input_files::why(&error)))?;
    not_text::text(&bytes).map_err(|error| says(&error))?;
    String::from_utf8(bytes).map_err(|error| says(&error))
}

/// A file's bytes, or standard input's for `-`; says which file an error is about.
pub fn bytes(path: &Path) -> io::Result<Vec<u8>> {
    let read = if path.as_os_str() == "-" { bounded(io::stdin()) } else { whole(path) };
    read.map_err(|error| about(path, &error))
}

/// An error that says which file it is about.
fn about(path: &Path, error: &io::Error) -> io::Error {
    io::Error::other(format!("{}: {}", terminal::path(path), input_files::why(error)))
}

/// A file's bytes, with the kind of an error, which does not say which file it is about.
pub fn whole(path: &Path) -> io::Result<Vec<u8>> {
    bounded(regular(path)?)
}

/// Whether a file is there that says something else than these bytes.
pub fn says_otherwise(path: &Path, bytes: &[u8]) -> io::Result<bool> {
    let mut there = Vec::new();
    let most = bytes.len() as u64 + 1;
    match regular(path).and_then(|file| file.take(most).read_to_end(&mut there)) {
        Ok(_) => Ok(there != bytes),
        Err(error) if error.kind() == io::ErrorKind::NotFound => Ok(false),
        Err(error) => Err(about(path, &error)),
    }
}

/// All that there is to read, unless it is more than any file that is read whole.
fn bounded(input: impl Read) -> io::Result<Vec<u8>> {
    let mut bytes = Vec::new();
    input.take(MAX_BYTES as u64 + 1).read_to_end(&mut bytes)?;
    if bytes.len() <= MAX_BYTES {
        return Ok(bytes);
    }
    Err(io::Error::other(
        "more than 16 MB, unpacked where it is packed, which no site, sheet, profile or record has; many sites go one a line into a .ndjson file, which is read in pieces",
    ))
}

/// All that is packed in an input, as a file's would be read.
#[cfg(feature = "fuzzing")]
pub fn unpacked_whole(input: impl Read + Send) -> io::Result<Vec<u8>> {
    bounded(input_files::unpacked(input)?)
}

/// Writes a file whole or not at all; says which file an error is about.
pub fn write_whole(path: &Path, bytes: &[u8]) -> io::Result<()> {
    whole_file::write(path, bytes).map_err(|error| about(path, &error))
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
    below(folder, extensions, &mut Folders::default(), found)
}

fn below(folder: &Path, extensions: &[&str], folders: &mut Folders, found: &mut Listed) -> io::Result<()> {
    for path in folders.enter(folder)? {
        if path.is_dir() {
            below(&path, extensions, folders, found)?;
        } else if extension(&path).is_some_and(|extension| extensions.contains(&extension.as_str())) {
            found.files.push(path);
        } else {
            found.left_out.push(path);
        }
    }
    Ok(())
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
    let named = |file: &&PathBuf| terminal::path(file.strip_prefix(folder).unwrap_or(file));
    let said = alike.into_iter().flat_map(|(extension, files)| match extension {
        Some(extension) if files.len() > FEW => vec![format!("{} that end in .{extension}", files.len())],
        None if files.len() > FEW => vec![format!("{} without an ending", files.len())],
        _ => files.iter().map(named).collect(),
    });
    let (count, said) = (left_out.len(), said.collect::<Vec<_>>().join(", "));
    let are = if count == 1 { format!("file is no {one} and was") } else { format!("files are no {several} and were") };
    let says = format!("asleft: {}: {count} {are} left out: {said}", terminal::path(folder));
    writeln!(terminal::stderr(), "{}", crate::render::wrapped(&says, crate::render::width(), 8))
}
