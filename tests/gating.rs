//! The gate of `docs/gating.md`, run as an office would run it.
#![cfg(unix)]

use std::path::{Path, PathBuf};
use std::process::Command;

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../..").canonicalize().unwrap()
}

/// Runs the gate in a folder; its exit code and what it printed.
fn gate(folder: &Path, proposed: &Path, accepted: Option<&Path>) -> (i32, String) {
    let program = Path::new(env!("CARGO_BIN_EXE_asleft")).parent().unwrap().display().to_string();
    let path = format!("{program}:{}", std::env::var("PATH").unwrap_or_default());
    let mut command = Command::new("sh");
    command.arg(root().join("docs/gate-requirements.sh")).arg(root().join("tests/gating/published")).arg(proposed);
    command.arg(root().join("tests/gating/sites")).args(accepted);
    command.current_dir(folder).env("PATH", path).env("AS_OF", "2026-12-01").env_remove("ASLEFT_PROFILES");
    let output = command.output().unwrap();
    let printed = String::from_utf8(output.stdout).unwrap() + &String::from_utf8(output.stderr).unwrap();
    (output.status.code().unwrap(), printed)
}

/// The proposed folder with its new version under another number.
fn renumbered(folder: &Path, version: &str) -> PathBuf {
    let proposed = folder.join("proposed");
    let network = proposed.join("overlays/hollowmere");
    std::fs::create_dir_all(&network).unwrap();
    let shipped = root().join("tests/gating/proposed/overlays/hollowmere");
    std::fs::copy(shipped.join("1.0.0.yaml"), network.join("1.0.0.yaml")).unwrap();
    let text = std::fs::read_to_string(shipped.join("1.1.0.yaml")).unwrap();
    std::fs::write(network.join(format!("{version}.yaml")), text.replace("version: 1.1.0", &format!("version: {version}"))).unwrap();
    proposed
}

#[test]
fn a_number_that_promises_too_much_is_held_back() {
    let folder = tempfile::tempdir().unwrap();
    let (code, printed) = gate(folder.path(), &root().join("tests/gating/proposed"), None);
    assert_eq!(code, 1, "{printed}");
    for said in ["version-too-low", "deserved    breaking: at least 2.0.0", "complied, and no longer does", "boathouse-2"] {
        assert!(printed.contains(said), "{said}: {printed}");
    }
}

#[test]
fn a_version_that_strands_sites_waits_for_somebody_to_read_the_list() {
    let folder = tempfile::tempdir().unwrap();
    let proposed = renumbered(folder.path(), "2.0.0");
    let (code, printed) = gate(folder.path(), &proposed, None);
    assert_eq!(code, 1, "{printed}");
    assert!(printed.contains("has to be read and accepted") && !printed.contains("TOO LOW"), "{printed}");
    let list = std::fs::read_to_string(folder.path().join("work-list.csv")).unwrap();
    assert!(
        list.lines().any(|line| line.starts_with("boathouse-2,Reedbank Electrical (invented),west,west 1,stranded,inverter-1,")),
        "{list}"
    );
    let accepted = folder.path().join("accepted.csv");
    std::fs::write(&accepted, list).unwrap();
    let (code, printed) = gate(folder.path(), &proposed, Some(&accepted));
    assert_eq!(code, 0, "{printed}");
}

#[test]
fn a_published_version_never_changes() {
    let folder = tempfile::tempdir().unwrap();
    let proposed = renumbered(folder.path(), "2.0.0");
    let published = proposed.join("overlays/hollowmere/1.0.0.yaml");
    let text = std::fs::read_to_string(&published).unwrap();
    std::fs::write(&published, text.replace("257 V", "256 V")).unwrap();
    let (code, printed) = gate(folder.path(), &proposed, None);
    assert!(code == 1 && printed.contains("differ"), "{printed}");
}

/// Signatures and notes lie beside versions; none of them is an older version.
#[test]
fn what_lies_beside_a_version_is_no_version() {
    let folder = tempfile::tempdir().unwrap();
    let proposed = renumbered(folder.path(), "2.0.0");
    for beside in ["1.0.0.yaml.sig", "1.1.0.yaml.sig", "2.0.0.yaml.sig", "README.md"] {
        std::fs::write(proposed.join("overlays/hollowmere").join(beside), "not a version").unwrap();
    }
    let (code, printed) = gate(folder.path(), &proposed, None);
    assert_eq!(code, 1, "{printed}");
    assert!(printed.contains("== hollowmere 2.0.0 after 1.0.0: what it deserves"), "{printed}");
}
