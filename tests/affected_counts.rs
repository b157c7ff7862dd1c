//! What `affected` counts as changing nothing `check` may find at fault all the same: then `affected` says how many.

use crate::program;

use program::{DAY, asleft, root, text};
use serde_json::Value;

const NEW: &str = "quillbrook/3.0.0";

fn json(arguments: &[&str]) -> Value {
    serde_json::from_slice(&asleft(&[arguments, &["--as-of", DAY, "--format", "json"]].concat()).stdout).unwrap()
}

fn of_network(file: &str) -> bool {
    std::fs::read_to_string(root().join(file)).is_ok_and(|text| text.lines().any(|line| line == "network: quillbrook"))
}

#[test]
fn sites_at_which_nothing_changes_are_told_of_where_they_are_at_fault() {
    let folder = std::fs::read_dir(root().join("tests/sites")).unwrap();
    let files = folder.map(|entry| format!("tests/sites/{}", entry.unwrap().file_name().to_string_lossy()));
    let files: Vec<String> = files.filter(|file| of_network(file)).collect();
    let (mut at_fault, mut sound) = (0, 0);
    for file in &files {
        let affected = json(&["affected", "quillbrook/2.0.0", NEW, file]);
        let is_unchanged = affected["summary"]["unchanged"] == 1;
        let verdict = text(&json(&["check", file])["sites"][0]["verdict"]);
        let counted = affected["at-fault-already"].as_u64().unwrap();
        assert_eq!(counted, u64::from(is_unchanged && verdict != "complies"), "{file}: {verdict} {affected}");
        at_fault += counted;
        sound += u64::from(is_unchanged && verdict == "complies");
    }
    assert!(at_fault >= 2 && sound >= 2, "{at_fault} {sound} of {}", files.len());
    // and so for all of them together, in every form that has counts
    let files: Vec<&str> = files.iter().map(String::as_str).collect();
    let all = [&["affected", "quillbrook/2.0.0", NEW], &files[..]].concat();
    assert_eq!(json(&all)["at-fault-already"], at_fault);
    for format in ["text", "markdown"] {
        let says = String::from_utf8(asleft(&[&all[..], &["--as-of", DAY, "--format", format]].concat()).stdout).unwrap();
        assert!(says.contains(&format!("AT FAULT ALREADY: {at_fault} sites")), "{says}");
    }
}
