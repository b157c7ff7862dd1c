//! A site, a company, a branch or a crew that a register does not know is a slip of the pen, and no answer.

use crate::program;

const OFFICE: &str = "tests/register/office.db";

#[test]
fn who_is_not_in_the_register_has_nothing_that_is_due() {
    for verb in [["register", "list"].as_slice(), &["register", "export"], &["register", "roll-up"], &["due"]] {
        for of in ["site", "company", "branch", "crew"] {
            let flag = format!("--{of}");
            let output = program::asleft(&[verb, &["--register", OFFICE, &flag, "Nobody"]].concat());
            let said = String::from_utf8_lossy(&output.stderr).into_owned();
            assert_eq!((output.status.code(), output.stdout.len()), (Some(2), 0), "{verb:?} {of}: {said}");
            let words = said.split_whitespace().collect::<Vec<_>>().join(" ");
            assert!(words.contains(OFFICE) && words.contains(&format!("no {of} `Nobody` in this register")), "{verb:?}: {said}");
        }
        // one of two that is known does not vouch for the other
        let known = ["--register", OFFICE, "--site", "larkspur-row-3"];
        let output = program::asleft(&[verb, &known, &["--site", "larkspur-row-33"]].concat());
        assert_eq!(output.status.code(), Some(2), "{verb:?}");
        let output = program::asleft(&[verb, &known].concat());
        assert_ne!(output.status.code(), Some(2), "{verb:?}: {}", String::from_utf8_lossy(&output.stderr));
    }
}
