//! No two rooms of a crate import each other: what both need lies below both. A room is a module of a crate, and in
//! the program each verb is one. Crates themselves cannot, as cargo refuses it.

use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};

/// Rooms that do import each other, still. The list becomes shorter and never longer.
const STILL: [(&str, &[&str]); 1] = [(
    "settings-model",
    &[
        "attested",
        "catalogue",
        "cells",
        "claim",
        "curve",
        "entry",
        "facts",
        "files",
        "filled",
        "labels",
        "layer",
        "library",
        "notation",
        "quantity",
        "reader",
        "requirement",
        "schema",
        "settings",
        "ties",
        "value",
    ],
)];

type Imports = BTreeMap<String, BTreeSet<String>>;

#[test]
fn no_two_rooms_import_each_other() {
    let crates = Path::new(env!("CARGO_MANIFEST_DIR")).join("..");
    let mut found = Vec::new();
    for folder in std::fs::read_dir(crates).unwrap().map(|entry| entry.unwrap().path()) {
        let name = folder.file_name().unwrap().to_string_lossy().into_owned();
        found.extend(circles(&imports(&folder.join("src"))).into_iter().map(|rooms| (name.clone(), rooms)));
    }
    found.sort();
    let still = STILL.map(|(name, rooms)| (name.to_owned(), rooms.iter().map(|room| (*room).to_owned()).collect::<BTreeSet<_>>()));
    assert_eq!(found, still, "put what both need into a room below; where one is gone, shorten the list");
}

/// A test file that no binary names would never run.
#[test]
fn every_test_file_is_run() {
    let crates = Path::new(env!("CARGO_MANIFEST_DIR")).join("..");
    let of_crate = std::fs::read_dir(&crates).unwrap().map(|entry| entry.unwrap().path().join("tests"));
    for folder in of_crate.filter(|folder| folder.is_dir()).chain([crates.join("../tests")]) {
        let files = std::fs::read_dir(&folder).unwrap().map(|entry| entry.unwrap().path());
        let files: Vec<PathBuf> = files.filter(|path| path.extension().is_some_and(|extension| extension == "rs")).collect();
        let named: String = files.iter().map(|file| std::fs::read_to_string(file).unwrap()).collect();
        let manifests = ["../Cargo.toml", "../crates/cli/Cargo.toml"].map(|path| std::fs::read_to_string(folder.join(path)));
        let manifests: String = manifests.into_iter().flatten().collect();
        for file in files {
            let name = file.file_name().unwrap().to_string_lossy().into_owned();
            let is_run = named.contains(&format!("#[path = \"{name}\"]\nmod ")) || manifests.contains(&format!("tests/{name}\""));
            assert!(is_run, "{}: name it in the file that the manifest names, beside the others", file.display());
        }
    }
}

#[test]
fn a_circle_is_found() {
    let of = |pairs: &[(&str, &str)]| {
        let mut imports = Imports::new();
        for (from, to) in pairs {
            imports.entry((*from).to_owned()).or_default().insert((*to).to_owned());
        }
        circles(&imports)
    };
    assert!(of(&[("a", "b"), ("b", "c"), ("a", "c")]).is_empty());
    assert_eq!(of(&[("a", "b"), ("b", "c"), ("c", "b")]), [["b", "c"].map(str::to_owned).into()]);
    let text = "use super::{walk::{self, Judged}, due};\n// use crate::no;\nfn f() { crate::commands::list::run(); }";
    let at: Vec<String> = ["commands", "check"].map(str::to_owned).to_vec();
    let imported: BTreeSet<String> = paths(text, &at).iter().filter_map(|path| room(path)).collect();
    assert_eq!(imported, ["commands/due", "commands/list", "commands/walk"].map(str::to_owned).into());
}

/// Which rooms each room of a crate imports, outside of its tests.
fn imports(source: &Path) -> Imports {
    let mut files = Vec::new();
    rust_files(source, &mut files);
    let mut imports = Imports::new();
    for file in files {
        let mut at: Vec<String> =
            file.strip_prefix(source).unwrap().with_extension("").iter().map(|part| part.to_string_lossy().into()).collect();
        if matches!(at.last().map(String::as_str), Some("lib" | "main" | "mod")) {
            at.pop();
        }
        let Some(own) = room(&at) else { continue };
        let text = std::fs::read_to_string(&file).unwrap();
        let others = paths(&text, &at).into_iter().filter_map(|path| room(&path)).filter(|other| *other != own);
        imports.entry(own.clone()).or_default().extend(others);
    }
    let rooms: BTreeSet<String> = imports.keys().cloned().collect();
    imports.values_mut().for_each(|others| others.retain(|other| rooms.contains(other)));
    imports
}

fn rust_files(folder: &Path, files: &mut Vec<PathBuf>) {
    for path in std::fs::read_dir(folder).into_iter().flatten().map(|entry| entry.unwrap().path()) {
        match path.extension() {
            None if path.is_dir() => rust_files(&path, files),
            Some(extension) if extension == "rs" => files.push(path),
            _ => {}
        }
    }
}

/// The room of a path in its crate; `None` of what lies above all rooms.
fn room(path: &[String]) -> Option<String> {
    match path {
        [commands, verb, ..] if commands == "commands" => Some(format!("commands/{verb}")),
        [commands] if commands == "commands" => None,
        [first, ..] => Some(first.clone()),
        [] => None,
    }
}

/// Every path into its own crate that a text speaks of, from the crate's root.
fn paths(text: &str, at: &[String]) -> Vec<Vec<String>> {
    let code: String =
        text.split("#[cfg(test)]\nmod tests {").next().unwrap_or_default().lines().map(without_comment).collect::<Vec<_>>().join("\n");
    let mut found = Vec::new();
    for (start, _) in code.match_indices("crate::").chain(code.match_indices("super::")) {
        let before = code[..start].chars().next_back();
        if before.is_some_and(|c| c.is_alphanumeric() || matches!(c, '_' | ':')) {
            continue; // of another crate, or the rest of a path that was taken whole
        }
        let ups = code[start..].split("::").take_while(|part| *part == "super").count();
        let base = if ups == 0 { &[] } else { &at[..at.len().saturating_sub(ups)] };
        tree(&code[start + 7 * ups.max(1)..], base.to_vec(), &mut found);
    }
    found
}

fn without_comment(line: &str) -> &str {
    line.split_once("//").map_or(line, |(code, _)| code)
}

/// Adds what a tree of names (`a::{b, c::d}`) leads to; gives back what follows it.
fn tree<'t>(text: &'t str, base: Vec<String>, found: &mut Vec<Vec<String>>) -> &'t str {
    let text = text.trim_start();
    if let Some(mut rest) = text.strip_prefix('{') {
        loop {
            rest = rest.trim_start_matches([',', ' ', '\n']);
            if let Some(after) = rest.strip_prefix('}') {
                return after;
            }
            let after = tree(rest, base.clone(), found);
            if after.len() == rest.len() {
                return after;
            }
            // `as other`
            rest = &after[after.find([',', '}']).unwrap_or(after.len())..];
        }
    }
    let length = text.find(|c: char| !(c.is_alphanumeric() || c == '_')).unwrap_or(text.len());
    let (name, rest) = text.split_at(length);
    let mut path = base;
    if name != "self" && !name.is_empty() {
        path.push(name.to_owned());
    }
    if let Some(rest) = rest.strip_prefix("::") {
        return tree(rest, path, found);
    }
    found.push(path);
    rest
}

/// Rooms that can be reached from each other, group by group.
fn circles(imports: &Imports) -> Vec<BTreeSet<String>> {
    let reached = |from: &String| {
        let (mut seen, mut open) = (BTreeSet::new(), vec![from]);
        while let Some(next) = open.pop() {
            open.extend(imports.get(next).into_iter().flatten().filter(|other| seen.insert((*other).clone())));
        }
        seen
    };
    let reached: BTreeMap<&String, BTreeSet<String>> = imports.keys().map(|from| (from, reached(from))).collect();
    let together = |from: &String| -> BTreeSet<String> {
        reached[from].iter().filter(|to| reached.get(to).is_some_and(|back| back.contains(from))).cloned().collect()
    };
    let all: BTreeSet<BTreeSet<String>> = imports.keys().map(together).filter(|rooms| rooms.len() > 1).collect();
    all.into_iter().collect()
}
