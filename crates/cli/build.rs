//! Builds the shipped profiles into the program, so that it works with no file beside it.

use std::fmt::Write as _;
use std::path::{Path, PathBuf};

fn main() {
    let crate_folder = PathBuf::from(std::env::var_os("CARGO_MANIFEST_DIR").expect("cargo sets it"));
    let root = crate_folder.join("../../profiles");
    println!("cargo::rerun-if-changed={}", root.display());
    let mut found = Vec::new();
    walk(&root, &mut found);
    found.sort();
    let mut list = String::from("&[\n");
    for path in &found {
        let key = path.strip_prefix(&root).expect("walked from the root").to_string_lossy().replace('\\', "/");
        println!("cargo::rerun-if-changed={}", path.display());
        let _ = writeln!(list, "    ({key:?}, include_str!({:?})),", path.canonicalize().expect("a file that was just listed"));
    }
    list.push_str("]\n");
    let out = PathBuf::from(std::env::var_os("OUT_DIR").expect("cargo sets it")).join("shipped.rs");
    std::fs::write(out, list).expect("cargo's own folder can be written");
}

fn walk(folder: &Path, found: &mut Vec<PathBuf>) {
    for entry in std::fs::read_dir(folder).expect("profiles can be listed").flatten() {
        let path = entry.path();
        if path.is_dir() {
            walk(&path, found);
        } else if path.extension().is_some_and(|e| e == "yaml") {
            found.push(path);
        }
    }
}
