//! No request that could change a device can be built: in the sources, and in what the program sends.

use std::path::{Path, PathBuf};

fn sources(folder: &Path, found: &mut Vec<PathBuf>) {
    for entry in std::fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            sources(&path, found);
        } else if path.extension().is_some_and(|extension| extension == "rs") {
            found.push(path);
        }
    }
}

/// The library for frames can build write requests; nobody calls it for one, and only one room speaks with it at all.
#[test]
fn the_only_request_in_the_sources_reads_holding_registers() {
    let crates = Path::new(env!("CARGO_MANIFEST_DIR")).join("..");
    let mut found = Vec::new();
    for one in ["modbus-read", "sunspec", "cli"] {
        sources(&crates.join(one).join("src"), &mut found);
    }
    assert!(found.len() > 100);
    let mut builds = Vec::new();
    for path in found {
        let text = std::fs::read_to_string(&path).unwrap();
        let name = path.file_name().unwrap().to_string_lossy().into_owned();
        for line in text.lines().filter(|line| line.contains("generate_") || line.contains("ModbusFunction")) {
            let call = line.split("generate_").nth(1).unwrap_or(line);
            builds.push((name.clone(), call.split('(').next().unwrap().to_owned()));
        }
        let speaks = text.contains("rmodbus");
        assert!(!speaks || path.to_string_lossy().contains("modbus-read"), "{name} speaks with the library for frames");
    }
    builds.dedup();
    assert_eq!(builds, [("frame.rs".to_owned(), "get_holdings".to_owned())]);
}

/// Every manifest takes the library for frames alone, without its server.
#[test]
fn nobody_else_takes_a_modbus_library() {
    let crates = Path::new(env!("CARGO_MANIFEST_DIR")).join("..");
    let takes = |name: &str| std::fs::read_to_string(crates.join(name).join("Cargo.toml")).unwrap().contains("rmodbus");
    assert!(takes("modbus-read"));
    assert!(!["cli", "sunspec", "rules", "record", "settings-model"].into_iter().any(takes));
}
