//! Where the students' files and the answers go: nothing is written over, and the two lie apart.

use crate::files::write_whole;
use std::fs;
use std::io;
use std::path::{Component, Path, PathBuf};
use whole_file::PartialFolder;

/// Says why the two places will not do.
pub fn refuse(folder: &Path, key: &Path) -> Option<String> {
    let is_used = folder.exists() && (!folder.is_dir() || fs::read_dir(folder).is_ok_and(|mut entries| entries.next().is_some()));
    if is_used {
        return Some(format!("{}: there is something already; name a new folder, or an empty one", terminal::path(folder)));
    }
    if key.exists() {
        return Some(format!("{}: is there already; name a new file for the answers", terminal::path(key)));
    }
    if key.file_name().is_none() || key.as_os_str() == "-" {
        return Some(format!("{}: not the name of a file; name one for the answers", terminal::path(key)));
    }
    if settled(key).starts_with(settled(folder)) {
        return Some(format!(
            "{}: lies within the students' folder {}; keep the answers elsewhere",
            terminal::path(key),
            terminal::path(folder)
        ));
    }
    None
}

/// A path with all links and steps upwards followed as far as it is there.
pub fn settled(path: &Path) -> PathBuf {
    let absolute = std::path::absolute(path).unwrap_or_else(|_| path.to_owned());
    let mut settled = PathBuf::new();
    for part in absolute.components() {
        match part {
            Component::ParentDir => _ = settled.pop(),
            Component::CurDir => {}
            other => settled.push(other),
        }
        if let Ok(real) = settled.canonicalize() {
            settled = real;
        }
    }
    settled
}

/// Writes every file or none: the folder is filled beside its place and moved there, the answers come first, since
/// nobody can do without them.
pub fn write(folder: &Path, files: &[(String, String)], key: &Path, answers: &str) -> io::Result<()> {
    let says = |error: io::Error| io::Error::other(format!("{}: {error}", terminal::path(folder)));
    let at = settled(folder);
    let beside = PartialFolder::beside(&at).map_err(says)?;
    files.iter().try_for_each(|(name, text)| fs::write(beside.path().join(name), text)).map_err(says)?;
    write_whole(key, answers.as_bytes())?;
    beside.keep().map_err(says).inspect_err(|_| _ = fs::remove_file(key))
}
