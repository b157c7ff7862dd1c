//! Folders below folders: each is entered once, whatever links lead to it, so that a circle of links ends.

use super::why;
use std::collections::HashSet;
use std::fs;
use std::io;
use std::path::{Path, PathBuf};

/// The folders that a walk has been in.
#[derive(Default)]
pub struct Folders {
    entered: HashSet<PathBuf>,
    /// How many times a folder was met again.
    pub met_again: usize,
}

impl Folders {
    /// What lies in a folder, in order; nothing where the walk was there before. Folders that links lead to
    /// come last, so that they are found where they really are.
    ///
    /// # Errors
    /// Where the folder cannot be read; says which.
    pub fn enter(&mut self, folder: &Path) -> io::Result<Vec<PathBuf>> {
        let says = |error| io::Error::other(format!("{}: {}", terminal::path(folder), why(&error)));
        if !self.entered.insert(fs::canonicalize(folder).map_err(says)?) {
            self.met_again += 1;
            return Ok(Vec::new());
        }
        let entries = fs::read_dir(folder).and_then(|entries| entries.map(|entry| entry.map(|entry| entry.path())).collect());
        let mut entries: Vec<PathBuf> = entries.map_err(says)?;
        entries.sort_by_cached_key(|path| (path.is_symlink() && path.is_dir(), path.clone()));
        Ok(entries)
    }
}

#[cfg(all(test, unix))]
mod tests {
    use super::Folders;
    use std::fs;
    use std::os::unix::fs::symlink;
    use std::path::{Path, PathBuf};

    fn below(folder: &Path, folders: &mut Folders, found: &mut Vec<PathBuf>) {
        for path in folders.enter(folder).unwrap() {
            if path.is_dir() { below(&path, folders, found) } else { found.push(path) }
        }
    }

    /// Without an end, the two links of each folder would be 2 to the power of 40 ways.
    #[test]
    fn circles_of_links_end_and_every_file_is_found_once() {
        let root = tempfile::tempdir().unwrap();
        let at = |path: &str| root.path().join(path);
        for folder in ["b", "c"] {
            fs::create_dir(at(folder)).unwrap();
            fs::write(at(folder).join("site.yaml"), "").unwrap();
            symlink(root.path(), at(folder).join("up")).unwrap();
            symlink(".", at(folder).join("self")).unwrap();
        }
        symlink("b", at("a-link-to-b")).unwrap();
        let (mut folders, mut found) = (Folders::default(), Vec::new());
        below(root.path(), &mut folders, &mut found);
        assert_eq!(found, [at("b/site.yaml"), at("c/site.yaml")]);
        assert_eq!(folders.met_again, 5);
    }
}
