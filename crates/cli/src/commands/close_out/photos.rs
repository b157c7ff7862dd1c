//! The photos of a folder, each with its hash.

use crate::files;
use crate::pipeline::Progress;
use input_files::folders::Folders;
use record::canonical;
use record::making::Photos;
use std::collections::BTreeMap;
use std::fs::File;
use std::io;
use std::path::Path;

/// Every file below a folder, by its path from there, with its SHA-256. What begins with a dot is no
/// photo: systems leave such files behind.
pub fn in_folder(folder: &Path) -> io::Result<Photos> {
    let mut found = BTreeMap::new();
    below(folder, "", &mut found, (&mut Folders::default(), &mut Progress::of("photos")))?;
    Ok(Photos::InFolder(found))
}

type Walk<'w> = (&'w mut Folders, &'w mut Progress);

fn below(folder: &Path, before: &str, found: &mut BTreeMap<String, String>, (folders, progress): Walk<'_>) -> io::Result<()> {
    for path in folders.enter(folder)? {
        let name = path.file_name().unwrap_or_default().to_string_lossy().into_owned();
        if name.starts_with('.') {
            continue;
        }
        let name = format!("{before}{name}");
        if path.is_dir() {
            below(&path, &format!("{name}/"), found, (folders, progress))?;
        } else {
            let hash = files::regular(&path).and_then(a_photo).and_then(canonical::sha256_of);
            let hash = hash.map_err(|error| io::Error::other(format!("{}: {error}", terminal::path(&path))))?;
            found.insert(name, canonical::hex(&hash));
            progress.step(1);
        }
    }
    Ok(())
}

/// The largest photo that is hashed. A file may say that it is larger than any disk.
const LARGEST: u64 = 1 << 30;

fn a_photo(file: File) -> io::Result<File> {
    match file.metadata()?.len() {
        0..=LARGEST => Ok(file),
        _ => Err(io::Error::other("more than 1 GB, which no photo has; take it out of the folder")),
    }
}
