//! Files that are written whole or not at all: beside their place first, under a name that nobody can
//! foresee and that is made exclusively, then moved there.
//!
//! A partial file is locked while it is written. The lock ends with its writer, so the next one knows a
//! leftover from the work of somebody else, and sweeps it away.

use std::fs::{self, File};
use std::io::{self, Write};
use std::path::{Path, PathBuf};
use std::time::Duration;
use tempfile::{NamedTempFile, TempDir};

/// What partial files end in.
const ENDING: &str = ".partial";
/// A partial file this old was locked long ago, if somebody writes it.
const OLD: Duration = Duration::from_secs(60);

/// A file that is being written, and becomes the one of its name with [`Partial::keep`]. Dropped before
/// that, it is gone.
#[derive(Debug)]
pub struct Partial {
    file: NamedTempFile,
    place: PathBuf,
}

impl Partial {
    /// Begins a file beside its place, and sweeps away what writers of the same file left who were killed.
    ///
    /// # Errors
    /// Where the path ends in no name, or the folder cannot be written to.
    pub fn beside(place: &Path) -> io::Result<Self> {
        let (folder, beginning) = named(place)?;
        sweep(folder, &beginning);
        let mut how = tempfile::Builder::new();
        how.prefix(&beginning).suffix(ENDING);
        #[cfg(unix)]
        how.permissions(usual(0o666));
        let file = how.tempfile_in(folder)?;
        // where there are no locks, nothing is swept either
        let _ = file.as_file().try_lock();
        Ok(Self { file, place: place.to_owned() })
    }

    /// Where it is written meanwhile.
    #[must_use]
    pub fn path(&self) -> &Path {
        self.file.path()
    }

    /// Moves it to its place, once it is on the disk; what was there before is replaced.
    ///
    /// # Errors
    /// Where it cannot be moved; what was there before is as it was.
    pub fn keep(self) -> io::Result<()> {
        self.file.as_file().sync_all()?;
        self.file.persist(&self.place).map(drop).map_err(|error| error.error)
    }
}

/// Writes a file whole or not at all, where nothing is yet.
///
/// # Errors
/// Where it cannot be written, or something is there by now, which stays as it is.
pub fn write_new(place: &Path, bytes: &[u8]) -> io::Result<()> {
    let mut partial = Partial::beside(place)?;
    partial.write_all(bytes)?;
    partial.file.as_file().sync_all()?;
    partial.file.persist_noclobber(place).map(drop).map_err(|error| error.error)
}

impl Write for Partial {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        self.file.write(bytes)
    }

    fn flush(&mut self) -> io::Result<()> {
        self.file.flush()
    }
}

/// A folder that is being filled, and becomes the one of its name with [`PartialFolder::keep`]. Dropped
/// before that, it is gone with all that is in it.
#[derive(Debug)]
pub struct PartialFolder {
    folder: TempDir,
    place: PathBuf,
    _lock: Option<File>,
}

impl PartialFolder {
    /// Begins a folder beside its place, and sweeps away what writers of the same folder left who were killed.
    ///
    /// # Errors
    /// Where the path ends in no name, or the folder above cannot be written to.
    pub fn beside(place: &Path) -> io::Result<Self> {
        let (above, beginning) = named(place)?;
        sweep(above, &beginning);
        let mut how = tempfile::Builder::new();
        how.prefix(&beginning).suffix(ENDING);
        #[cfg(unix)]
        how.permissions(usual(0o777));
        let folder = how.tempdir_in(above)?;
        let lock = File::open(folder.path()).ok().filter(|lock| lock.try_lock().is_ok());
        Ok(Self { folder, place: place.to_owned(), _lock: lock })
    }

    /// Where it is filled meanwhile.
    #[must_use]
    pub fn path(&self) -> &Path {
        self.folder.path()
    }

    /// Moves it to its place. An empty folder there gives way.
    ///
    /// # Errors
    /// Where it cannot be moved, or something is there.
    pub fn keep(self) -> io::Result<()> {
        let _ = fs::remove_dir(&self.place);
        fs::rename(self.folder.path(), &self.place)?;
        // it is no longer where it would be removed
        let _ = self.folder.keep();
        Ok(())
    }
}

/// The folder that a path lies in, and what the names of its partial files begin with.
fn named(place: &Path) -> io::Result<(&Path, String)> {
    let name = place.file_name().ok_or_else(|| io::Error::new(io::ErrorKind::InvalidInput, "the path ends in no name"))?;
    let folder = place.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
    Ok((folder, format!(".{}.", name.to_string_lossy())))
}

/// Writes a file whole or not at all. What a link names is written, and not the link; the permissions of
/// a file that is there stay.
///
/// # Errors
/// Where it cannot be written; what was there before is as it was.
pub fn write(place: &Path, bytes: &[u8]) -> io::Result<()> {
    let place = &fs::canonicalize(place).unwrap_or_else(|_| place.to_owned());
    let before = fs::metadata(place).ok();
    if before.as_ref().is_some_and(|before| !before.is_file()) {
        return Err(io::Error::new(io::ErrorKind::InvalidInput, "something is there that is no file; name another"));
    }
    let mut partial = Partial::beside(place)?;
    partial.write_all(bytes)?;
    if let Some(before) = before {
        partial.file.as_file().set_permissions(before.permissions())?;
    }
    partial.keep()
}

/// As anything new has them, less what the process takes away.
#[cfg(unix)]
fn usual(mode: u32) -> fs::Permissions {
    use std::os::unix::fs::PermissionsExt;
    fs::Permissions::from_mode(mode)
}

/// Removes partial files and folders of one name that nobody writes any more. One that cannot be removed is in
/// nobody's way.
fn sweep(folder: &Path, beginning: &str) {
    let Ok(entries) = fs::read_dir(folder) else { return };
    for entry in entries.flatten() {
        let name = entry.file_name();
        let is_partial = name.to_str().and_then(|name| name.strip_prefix(beginning)?.strip_suffix(ENDING)).is_some_and(is_one_word);
        // of a link, the link itself is asked, which is neither
        let Some(about) = entry.metadata().ok().filter(|about| is_partial && about.modified().is_ok_and(is_old)) else { continue };
        let _ = match entry.path() {
            path if about.is_file() && is_left(&path) => fs::remove_file(path),
            path if about.is_dir() && is_left(&path) => fs::remove_dir_all(path),
            _ => Ok(()),
        };
    }
}

/// What stands in the name of a partial file is one word, so that `.a.b.X.partial` is none of `a`'s.
fn is_one_word(word: &str) -> bool {
    !word.is_empty() && word.bytes().all(|byte| byte.is_ascii_alphanumeric())
}

fn is_old(modified: std::time::SystemTime) -> bool {
    modified.elapsed().is_ok_and(|age| age > OLD)
}

/// Whether nobody holds the lock of a partial file.
fn is_left(path: &Path) -> bool {
    File::open(path).is_ok_and(|file| file.try_lock().is_ok())
}

#[cfg(test)]
mod tests {
    use super::{Partial, PartialFolder, write};
    use std::fs::{self, File};
    use std::io::Write;
    use std::path::Path;
    use std::time::{Duration, SystemTime};

    fn names(folder: &Path) -> Vec<String> {
        let mut names: Vec<String> = fs::read_dir(folder).unwrap().map(|e| e.unwrap().file_name().into_string().unwrap()).collect();
        names.sort();
        names
    }

    fn age(path: &Path) {
        File::options().write(true).open(path).unwrap().set_modified(SystemTime::now() - Duration::from_secs(3600)).unwrap();
    }

    #[test]
    fn a_file_is_written_whole_and_nothing_stays_beside_it() {
        let folder = tempfile::tempdir().unwrap();
        let place = folder.path().join("a.csv");
        for text in ["one", "two"] {
            write(&place, text.as_bytes()).unwrap();
            assert_eq!(fs::read_to_string(&place).unwrap(), text);
        }
        assert_eq!(names(folder.path()), ["a.csv"]);
    }

    #[test]
    fn what_was_given_up_is_gone_and_what_was_there_stays() {
        let folder = tempfile::tempdir().unwrap();
        let place = folder.path().join("a.csv");
        write(&place, b"before").unwrap();
        let mut partial = Partial::beside(&place).unwrap();
        partial.write_all(b"half").unwrap();
        drop(partial);
        assert_eq!((names(folder.path()), fs::read(&place).unwrap()), (vec!["a.csv".to_owned()], b"before".to_vec()));
    }

    /// A name that can be foreseen can be taken before, by a link to a file of the user's own.
    #[cfg(unix)]
    #[test]
    fn no_link_is_followed_to_a_file_of_somebody_else() {
        let folder = tempfile::tempdir().unwrap();
        let (place, victim) = (folder.path().join("a.csv"), folder.path().join("victim"));
        fs::write(&victim, "mine").unwrap();
        std::os::unix::fs::symlink(&victim, folder.path().join(format!(".a.csv.{}.partial", std::process::id()))).unwrap();
        write(&place, b"new").unwrap();
        assert_eq!(fs::read_to_string(&victim).unwrap(), "mine");
        assert_eq!(fs::read_to_string(&place).unwrap(), "new");
    }

    #[test]
    fn leftovers_of_writers_that_were_killed_are_swept_and_the_work_of_others_is_not() {
        let folder = tempfile::tempdir().unwrap();
        let place = folder.path().join("a.csv");
        let at_work = Partial::beside(&place).unwrap();
        age(at_work.path());
        let leftovers = [".a.csv.123.partial", ".a.csv.x9Yz.partial"];
        let others = [".a.csv.b.1.partial", ".b.csv.1.partial", ".a.csv..partial"];
        for name in leftovers.iter().chain(&others) {
            fs::write(folder.path().join(name), "half").unwrap();
            age(&folder.path().join(name));
        }
        fs::write(folder.path().join(".a.csv.new.partial"), "a moment ago").unwrap();
        write(&place, b"new").unwrap();
        let left = names(folder.path());
        assert!(leftovers.iter().all(|name| !left.iter().any(|left| left == name)), "{left:?}");
        assert!(others.iter().chain(&[".a.csv.new.partial"]).all(|name| left.iter().any(|left| left == name)), "{left:?}");
        assert!(at_work.path().exists());
    }

    #[test]
    fn a_folder_takes_its_place_whole_and_leftovers_are_swept() {
        let above = tempfile::tempdir().unwrap();
        let place = above.path().join("class");
        let leftover = above.path().join(".class.77.partial");
        fs::create_dir_all(leftover.join("below")).unwrap();
        File::open(&leftover).unwrap().set_modified(SystemTime::now() - Duration::from_secs(3600)).unwrap();
        fs::create_dir(&place).unwrap();
        let given_up = PartialFolder::beside(&place).unwrap();
        fs::write(given_up.path().join("a"), "half").unwrap();
        drop(given_up);
        let filled = PartialFolder::beside(&place).unwrap();
        fs::write(filled.path().join("a"), "whole").unwrap();
        filled.keep().unwrap();
        assert_eq!((names(above.path()), names(&place)), (vec!["class".to_owned()], vec!["a".to_owned()]));
        let second = PartialFolder::beside(&place).unwrap();
        assert!(second.keep().is_err(), "what is there is not written over");
        assert_eq!(names(above.path()), ["class"]);
    }

    #[cfg(unix)]
    #[test]
    fn permissions_are_those_of_any_new_file_or_those_that_were_there() {
        use std::os::unix::fs::PermissionsExt;
        let folder = tempfile::tempdir().unwrap();
        let (place, usual) = (folder.path().join("a.csv"), folder.path().join("usual"));
        let mode = |path: &Path| fs::metadata(path).unwrap().permissions().mode() & 0o777;
        fs::write(&usual, "").unwrap();
        write(&place, b"new").unwrap();
        assert_eq!(mode(&place), mode(&usual));
        fs::set_permissions(&place, fs::Permissions::from_mode(0o640)).unwrap();
        write(&place, b"newer").unwrap();
        assert_eq!(mode(&place), 0o640);
    }
}
