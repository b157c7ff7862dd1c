//! What rests on figures that nobody verified says so, in verbs that have no verdict of a site to say it by;
//! a number that is too long is never nothing; nothing is written that was not asked for.

use crate::program;

use program::{DAY, asleft, root, text};
use serde_json::Value;
use std::process::Command;

const SITE: &str = "tests/sites/fencepost-lane-9.yaml";

fn printed(arguments: &[&str]) -> String {
    String::from_utf8(asleft(arguments).stdout).unwrap()
}

fn squeezed(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

fn json(arguments: &[&str]) -> Value {
    serde_json::from_str(&printed(&[arguments, &["--format", "json"]].concat())).unwrap()
}

/// The profiles that come with the program, and an office's reading of the limit of the voltage rise.
fn attested(limit: &str) -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    let copied = Command::new("cp").arg("-R").arg(root().join("profiles/.")).arg(folder.path()).status();
    assert!(copied.unwrap().success());
    let to = folder.path().join("attestations/standards/as-nzs-4777.1/2024");
    std::fs::create_dir_all(&to).unwrap();
    let read = format!(
        "# Invented: the office and what it read.\nkind: attestation\nstandard: as-nzs-4777.1\nedition: {{ year: 2024 }}\n\
         office: Fernhold Compliance (invented)\nread-by: compliance officer\nread-on: 2026-01-20\n\
         copy: {{ document: licensed copy 7 (invented), amendments: without amendments }}\n\
         confirmed:\n  - clause: \"3.3\"\n    installation: {{ voltage-rise: {{ total: {{ comply: {limit} }} }} }}\n"
    );
    std::fs::write(to.join("fernhold.yaml"), read).unwrap();
    folder
}

#[test]
fn rise_knows_what_an_office_read() {
    let basis = |profiles: &[&str]| {
        let report = json(&[&["rise", SITE, "--as-of", DAY], profiles].concat());
        let limited =
            report["figures"].as_array().unwrap().iter().find(|figure| figure["setting"] == "voltage-rise/total").unwrap().clone();
        (text(&limited["basis"]), text(&report["decided-by"]))
    };
    assert_ne!(basis(&[]).0, "attested");
    let (agrees, disagrees) = (attested("at most 2 %"), attested("at most 3 %"));
    let of = |folder: &tempfile::TempDir| basis(&["--profiles", folder.path().to_str().unwrap()]);
    // the conductors' figures are from memory all the same
    assert_eq!(of(&agrees), ("attested".to_owned(), "memory".to_owned()));
    assert_eq!(of(&disagrees), ("disputed".to_owned(), "disputed".to_owned()));
    let disputed = ["rise", SITE, "--as-of", DAY, "--profiles", disagrees.path().to_str().unwrap()];
    let says = printed(&disputed);
    assert!(says.starts_with("NOT PROVEN, THE LIMIT IS DISPUTED"), "{says}");
    // and so do the exit code and the figure itself, as those of `check`
    let check = asleft(&[&["check"], &disputed[1..]].concat()).status.code();
    assert_eq!((asleft(&disputed).status.code(), check), (Some(1), Some(1)));
    assert_eq!(json(&disputed)["figures"][0]["verdict"], "not-proven");
}

/// Of a rise that the file states and one that its cables lead to, both have to keep the limit, in both verbs.
#[test]
fn rise_is_no_pass_where_the_file_states_more_than_the_limit() {
    let site = std::fs::read_to_string(root().join(SITE)).unwrap();
    assert!(site.contains("total: 0.8 %"));
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("site.yaml");
    for (stated, keeps) in [("0.8 %", true), ("1.9 %", true), ("2 %", true), ("2.001 %", false), ("2.7 %", false)] {
        std::fs::write(&file, site.replacen("total: 0.8 %", &format!("total: {stated}"), 1)).unwrap();
        for verb in ["rise", "check"] {
            let output = asleft(&[verb, file.to_str().unwrap(), "--as-of", DAY]);
            assert_eq!(
                output.status.code(),
                Some(i32::from(!keeps)),
                "{verb}: {stated}: {}",
                squeezed(&String::from_utf8_lossy(&output.stdout))
            );
        }
        let says = printed(&["rise", file.to_str().unwrap(), "--as-of", DAY]);
        assert_eq!(says.starts_with("NOT PROVEN, THE FILE STATES A RISE ABOVE THE LIMIT"), !keeps, "{stated}: {says}");
    }
}

/// Millions of per cent have more than nine digits to a thousandth; it was taken for 0 %, and that for within the limit.
#[test]
fn a_rise_of_many_digits_is_above_the_limit() {
    let folder = tempfile::tempdir().unwrap();
    let (file, site) = (folder.path().join("long.yaml"), std::fs::read_to_string(root().join(SITE)).unwrap());
    std::fs::write(
        &file,
        site.replace("length: 14 m, conductor: { size: 16 mm2, material: copper }", "impedance: { resistance: 1000000 ohm }"),
    )
    .unwrap();
    let output = asleft(&["rise", file.to_str().unwrap(), "--as-of", DAY]);
    let says = String::from_utf8(output.stdout).unwrap();
    assert!(says.starts_with("ABOVE THE LIMIT"), "{says}{}", String::from_utf8_lossy(&output.stderr));
    assert_eq!(output.status.code(), Some(1));
}

#[test]
fn identify_says_what_it_compared_with() {
    let report = json(&["identify", SITE, "--as-of", DAY]);
    let best = &report["devices"][0]["candidates"][0]["figures"];
    let unverified = best["memory"].as_u64().unwrap() + best["single-source"].as_u64().unwrap() + best["disputed"].as_u64().unwrap();
    let says = printed(&["identify", SITE, "--as-of", DAY]);
    assert_eq!(says.contains("UNVERIFIED: "), unverified > 0, "{says}");
    let older = squeezed(&printed(&["identify", "tests/sites/larkspur-row-3.yaml", "--as-of", DAY]));
    assert!(older.contains("UNVERIFIED: ") && older.contains("that the values were compared with"), "{older}");
}

#[test]
fn revision_check_says_how_the_figures_are_known() {
    let (old, new) = ("as-nzs-4777.2/2015", "as-nzs-4777.2/2020-amd2");
    let report = json(&["revision-check", old, new]);
    let changes = report["changes"].as_array().unwrap();
    let unsure = |basis: &Value| ["memory", "single-source", "disputed"].contains(&basis.as_str().unwrap_or_default());
    let unverified = changes.iter().filter(|change| unsure(&change["basis"]) || unsure(&change["was-basis"])).count();
    assert!(unverified > 0);
    let says = printed(&["revision-check", old, new]);
    assert!(squeezed(&says).contains("UNVERIFIED: ") && squeezed(&says).contains("that changed"), "{says}");
    assert_eq!(says.lines().filter(|line| line.starts_with("    figure   ") && line.contains("unverified")).count(), unverified);
}

/// A site that cannot be judged is named with the reason, in every form.
#[test]
fn affected_says_why_it_could_not_tell() {
    let folder = tempfile::tempdir().unwrap();
    let site = std::fs::read_to_string(root().join("tests/cases/affected/sites/withy-end-1.yaml")).unwrap();
    let file = folder.path().join("site.yaml");
    std::fs::write(&file, site.replace("region: australia-a", "region: australia-q")).unwrap();
    for format in ["text", "markdown", "csv", "json"] {
        let output =
            asleft(&["affected", "quillbrook/2.0.0", "quillbrook/3.0.0", file.to_str().unwrap(), "--as-of", DAY, "--format", format]);
        let says = squeezed(&String::from_utf8(output.stdout).unwrap());
        assert!(says.contains("withy-end-1") && says.contains("australia-q"), "{format}: {says}");
        assert_eq!(output.status.code(), Some(2), "{format}");
    }
}

#[test]
fn a_record_goes_nowhere_that_nobody_named() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("site.yaml");
    std::fs::copy(root().join(SITE), &file).unwrap();
    let output = asleft(&["close-out", file.to_str().unwrap(), "--as-of", DAY]);
    assert_eq!(output.status.code(), Some(2));
    let says = squeezed(&String::from_utf8_lossy(&output.stderr));
    assert!(["--out FILE", "--out -", "--dry-run"].iter().all(|way| says.contains(way)), "{says}");
    assert_eq!(std::fs::read_dir(folder.path()).unwrap().count(), 1);
}
