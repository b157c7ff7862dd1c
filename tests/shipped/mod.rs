//! The profiles and sites that come with the program, as they lie in the repository.
#![allow(dead_code, reason = "each test file uses its own part")]

use jiff::civil::date;
use rules::assess::Assessor;
use serde_json::Value as Json;
use settings_model::document;
use settings_model::library::{Library, Profile};
use settings_model::source::SourceId;
use std::path::{Path, PathBuf};

pub fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../..")
}

pub fn files_below(folder: &Path, found: &mut Vec<PathBuf>) {
    for entry in std::fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() { files_below(&path, found) } else { found.push(path) }
    }
    found.sort();
}

/// Judges by the shipped profiles, on a day of the tests.
pub fn assessor() -> Assessor {
    let (mut library, mut found) = (Library::default(), Vec::new());
    files_below(&root().join("profiles"), &mut found);
    for file in found.iter().filter(|f| f.extension().is_some_and(|e| e == "yaml")) {
        let path = file.strip_prefix(root().join("profiles")).unwrap().to_string_lossy().replace('\\', "/");
        library.add(Profile { name: path.clone(), path, text: std::fs::read_to_string(file).unwrap().into(), shipped: true });
    }
    Assessor::new(library, date(2026, 11, 25))
}

/// Every shipped site by its name, as JSON.
pub fn sites() -> Vec<(String, Json)> {
    let mut found = Vec::new();
    files_below(&root().join("tests/sites"), &mut found);
    let read = |file: &PathBuf| {
        let text = std::fs::read_to_string(file).unwrap();
        let tree = document::parse(SourceId(0), &text, &mut Vec::new()).unwrap();
        (file.file_stem().unwrap().to_string_lossy().into_owned(), tree.to_json())
    };
    found.iter().filter(|file| file.extension().is_some_and(|extension| extension == "yaml")).map(read).collect()
}

/// Whether it says what displays show: by the time it is judged, that is another site's `settings`.
pub fn is_displayed(site: &Json) -> bool {
    site.to_string().contains("\"displayed\"")
}
