//! The shipped profiles.

use settings_model::library::{Library, Profile};
use std::path::{Path, PathBuf};

pub fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../..").canonicalize().unwrap()
}

/// The shipped profiles, under names of this test's own: what a file is called where it lies may not
/// find its way into a record.
pub fn library() -> Library {
    let mut library = Library::default();
    let folder = root().join("profiles");
    add(&folder, &folder, &mut library);
    library
}

fn add(folder: &Path, from: &Path, library: &mut Library) {
    for path in std::fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()) {
        if path.is_dir() {
            add(&path, from, library);
        } else if path.extension().is_some_and(|extension| extension == "yaml") {
            let key = path.strip_prefix(from).unwrap().to_string_lossy().replace('\\', "/");
            let text = std::fs::read_to_string(&path).unwrap();
            library.add(Profile { name: format!("elsewhere/{key}"), path: key, text: text.into(), shipped: false });
        }
    }
}
