//! Where sources disagree on the figure that a value breaks, every form of the finding says so, and the sheet and
//! `explain` tell what the region's notes tell: a device that is right by the other source is not changed unasked.

use crate::program;

use program::{DAY, asleft, root};

/// New Zealand under the standard alone: its region's figures stand against what its engineers' association tells.
const SITE: &str = "tests/sites/bellbird-terrace-18.yaml";
/// Values of the site on which sources disagree, and one that breaks each.
const BROKEN: [(&str, &str, &str); 3] = [
    ("sustained-overvoltage/threshold", "threshold: 249 V", "threshold: 258 V"),
    ("volt-watt/points", "[[242 V, 100 %], [250 V, 20 %]]", "[[253 V, 100 %], [260 V, 20 %]]"),
    ("volt-var/points", "[235 V, 0 %], [244 V, -60 %]]", "[240 V, 0 %], [258 V, -60 %]]"),
];

fn squeezed(arguments: &[&str]) -> String {
    let printed = String::from_utf8(asleft(arguments).stdout).unwrap();
    printed.split_whitespace().collect::<Vec<_>>().join(" ")
}

#[test]
fn a_finding_by_a_figure_in_conflict_says_so_in_every_form() {
    let site = std::fs::read_to_string(root().join(SITE)).unwrap();
    let folder = tempfile::tempdir().unwrap();
    for (setting, held, broken) in BROKEN {
        assert!(site.contains(held), "{held}");
        let path = folder.path().join("site.yaml");
        std::fs::write(&path, site.replacen(held, broken, 1)).unwrap();
        for form in ["text", "json", "ndjson", "lines", "sarif"] {
            let said = squeezed(&["check", path.to_str().unwrap(), "--as-of", DAY, "--format", form]);
            assert!(said.contains("sources disagree on"), "{setting}, {form}: {said}");
        }
    }
}

#[test]
fn a_figure_that_no_source_contradicts_is_not_called_so() {
    let site = std::fs::read_to_string(root().join(SITE)).unwrap();
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("site.yaml");
    assert!(site.contains("threshold: 55 Hz"));
    std::fs::write(&path, site.replacen("threshold: 55 Hz", "threshold: 54 Hz", 1)).unwrap();
    let said = squeezed(&["check", path.to_str().unwrap(), "--as-of", DAY]);
    assert!(said.starts_with("DOES NOT COMPLY") && !said.contains("sources disagree"), "{said}");
}

#[test]
fn the_sheet_and_explain_tell_the_notes_of_the_region() {
    let note = "New Zealand's voltages are disputed.";
    assert!(squeezed(&["sheet", SITE, "--as-of", DAY]).contains(note));
    for (setting, ..) in BROKEN {
        assert!(squeezed(&["explain", setting, "--site", SITE, "--as-of", DAY]).contains(note), "{setting}");
    }
}
