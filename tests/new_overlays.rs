//! `asleft new overlay`: an officer's first requirements, on every standard and network, and what is filled in afterwards.

use crate::{new_files, program};

#[cfg(target_os = "linux")]
use new_files::terminal;
use new_files::{shipped, stderr};
use program::asleft;
use settings_model::source::Sources;

/// What an overlay says of itself, whatever it extends.
const ISSUE: [&str; 10] = [
    "--network",
    "hollowmere",
    "--issue",
    "Issue 1",
    "--published",
    "2026-01-15",
    "--in-force",
    "applied from 2026-02-01",
    "--document",
    "Notes",
];

#[test]
fn a_first_overlay_lints_clean_and_its_network_takes_sites() {
    let library = shipped();
    let regions = |standard: &str| {
        let (mut library, mut sources) = (shipped(), Sources::default());
        let file = library.standard(standard, &mut sources).unwrap();
        file.file.regions.iter().map(|(key, _)| key.to_owned()).collect::<Vec<_>>()
    };
    let standards = library.standards().into_iter().filter(|key| !regions(key).is_empty());
    for of in standards.chain(library.networks()) {
        let folder = tempfile::tempdir().unwrap();
        let place = folder.path().to_str().unwrap();
        let make = || asleft(&[&["new", "overlay", place, "--title", "Hollow: Mere", "--extends", &of], &ISSUE[..]].concat());
        let output = make();
        assert_eq!(output.status.code(), Some(0), "{of}: {}", stderr(&output));
        let lint = asleft(&["lint", "hollowmere/1.0.0", "--profiles", place]);
        assert_eq!(lint.status.code(), Some(0), "{of}: {}", String::from_utf8_lossy(&lint.stdout));
        assert!(String::from_utf8_lossy(&lint.stdout).starts_with("1 profile: 0 faults, 0 remarks"), "{of}");
        assert_eq!(make().status.code(), Some(2), "{of}: written over");
    }
}

/// What stands behind `#` in a first overlay is taken once it is filled in.
#[test]
fn what_is_left_to_fill_in_is_taken() {
    let folder = tempfile::tempdir().unwrap();
    let place = folder.path().to_str().unwrap();
    let of = ["--title", "Hollowmere", "--extends", "as-nzs-4777.2/2020-amd2", "--region", "Australia A"];
    let output = asleft(&[&["new", "overlay", place], &of[..], &ISSUE].concat());
    assert_eq!(output.status.code(), Some(0), "{}", stderr(&output));
    let file = folder.path().join("overlays/hollowmere/1.0.0.yaml");
    let text = std::fs::read_to_string(&file).unwrap();
    let wanted = ["settings:", "  sustained-overvoltage: #", "    threshold: {", "  export-limit: #", "    site-total: {"];
    let mut is_overvoltage = false;
    let fill = |line: &str| {
        let inner = line.strip_prefix("# ").unwrap_or_default();
        is_overvoltage = inner.starts_with("  sustained") || (is_overvoltage && !inner.starts_with("  export"));
        let is_wanted = wanted.iter().any(|head| inner.starts_with(head)) && (is_overvoltage || !inner.contains("threshold"));
        if is_wanted { inner.replace("at most …", "at most 5").replace('…', "255 V") } else { line.to_owned() }
    };
    let filled = text.lines().map(fill).collect::<Vec<_>>().join("\n");
    assert!(filled.contains("require: 255 V") && filled.contains("at most 5 kW"), "{filled}");
    std::fs::write(&file, &filled).unwrap();
    let lint = asleft(&["lint", "hollowmere/1.0.0", "--profiles", place]);
    assert_eq!(lint.status.code(), Some(0), "{filled}\n{}", String::from_utf8_lossy(&lint.stdout));
}

/// A question that may be passed over says what that means: of regions, that every one is left.
#[cfg(target_os = "linux")]
#[test]
fn enter_alone_is_told_for_what_it_means() {
    let folder = tempfile::tempdir().unwrap();
    let place = folder.path().to_str().unwrap();
    let answers = ["Hollowmere", "as-nzs-4777.2/2020-amd2", ""];
    let (says, _) = terminal::talk(&["new", "overlay", place, "--network", "hollowmere"], &answers);
    let (_, asked) = says.split_once("Regions of its sites").unwrap_or_else(|| panic!("{says}"));
    let means = asked.lines().find(|line| line.contains("Enter alone")).unwrap_or_else(|| panic!("{says}"));
    assert!(means.contains("every region") && !means.contains("not known"), "{means}");
}
