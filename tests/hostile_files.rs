//! Files that were made to hurt: bombs, circles of links, files that are no files. None hangs or ends in a panic,
//! all are refused with words, and what each costs in memory is printed: `--nocapture` shows the table.
#![cfg(target_os = "linux")]

use crate::measured;

use measured::table::{Made, Table, gzip_of, lines};
use measured::{asleft, root, says};
use std::io::Write as _;
use std::path::Path;

fn gzip(text: &[u8]) -> Vec<u8> {
    let mut packed = flate2::write::GzEncoder::new(Vec::new(), flate2::Compression::best());
    packed.write_all(text).unwrap();
    packed.finish().unwrap()
}

fn good_site() -> String {
    std::fs::read_to_string(root().join("tests/sites/larkspur-row-3.yaml")).unwrap()
}

/// The good site, and more.
fn with(more: &str) -> Vec<u8> {
    [good_site().as_bytes(), more.as_bytes()].concat()
}

fn instead(what: &str, other: &str) -> Vec<u8> {
    good_site().replace(what, other).into_bytes()
}

/// A name, and what the file holds.
fn bombs() -> Vec<(&'static str, Made)> {
    let approval = "  - { setting: nobody/overvoltage-1/threshold, require: 1 V, approval: { reference: x } }";
    let functions = || lines(90_000, |n| format!("        overvoltage-{n}: {{}}")) + "        undervoltage-1:";
    vec![
        ("1,000-unknown-keys.yaml", Box::new(|| with(&lines(1_000, |n| format!("key-{n}: 1"))))),
        ("90,000-unknown-keys.yaml", Box::new(|| with(&lines(90_000, |n| format!("key-{n}: 1"))))),
        ("90,000-unknown-keys-packed.yaml", Box::new(|| gzip(&with(&lines(90_000, |n| format!("key-{n}: 1")))))),
        ("90,000-unknown-functions.yaml", Box::new(move || instead("        undervoltage-1:", &functions()))),
        ("90,000-keys-given-twice.yaml", Box::new(|| with(&lines(90_000, |n| format!("key-{}: 1", n / 2))))),
        (
            "90,000-keys-given-twice-far-apart.yaml",
            Box::new(|| with(&lines(90_000, |n| format!("key-{}: {}", n % 45_000, "v".repeat(100))))),
        ),
        ("one-key-90,000-times.yaml", Box::new(|| with(&lines(90_000, |_| "key: 1".to_owned())))),
        ("90,000-merge-keys.yaml", Box::new(|| with(&lines(90_000, |_| "<<: 1".to_owned())))),
        ("90,000-wrong-points.yaml", Box::new(|| instead("[253 V, 100 %], [260 V, 20 %]", &vec!["1"; 90_000].join(", ")))),
        ("30,000-devices.yaml", Box::new(|| with(&lines(30_000, |n| format!("  device-{n}: {{ certified: 1 }}"))))),
        (
            "30,000-wrong-approvals.yaml",
            Box::new(move || with(&format!("site-specific-approvals:\n{}", lines(30_000, |_| approval.to_owned())))),
        ),
        ("a-key-of-15-mb.yaml", Box::new(|| with(&format!("{}: 1\n", "k".repeat(15 << 20))))),
        ("a-value-of-15-mb.yaml", Box::new(|| with(&format!("note: {}\n", "v".repeat(15 << 20))))),
        (
            "a-line-of-15-mb-of-faults.yaml",
            Box::new(|| format!("{{{}}}\n", lines(60_000, |n| format!("k{n:0240}: 1,")).replace('\n', " ")).into_bytes()),
        ),
        ("15-mb-of-comments-and-a-fault.yaml", Box::new(|| with(&format!("{}key: 1\n", "# nothing\n".repeat(1_500_000))))),
        ("15-mb-of-brackets.yaml", Box::new(|| "[".repeat(15 << 20).into_bytes())),
        ("15-mb-of-dashes.yaml", Box::new(|| "- ".repeat(7 << 20).into_bytes())),
        ("15-mb-of-line-ends.yaml", Box::new(|| "\n".repeat(15 << 20).into_bytes())),
        ("1-gb-of-spaces.yaml", Box::new(|| gzip_of(b' ', 1 << 30))),
        ("1-gb-of-zeros.yaml", Box::new(|| gzip_of(0, 1 << 30))),
        ("anchors.yaml", Box::new(|| b"a: &a [x, x]\nb: &b [*a, *a]\n".to_vec())),
        ("deep.yaml", Box::new(|| lines(5_000, |n| format!("{}a:", " ".repeat(n))).into_bytes())),
        ("brackets.json", Box::new(|| [b"{\"a\":".repeat(100_000), b"1".to_vec()].concat())),
        ("latin.yaml", Box::new(|| b"kind: site\nsite: caf\xe9\n".to_vec())),
    ]
}

/// Sheets to be laid over the good site.
fn sheets() -> Vec<(&'static str, Made)> {
    const HEADING: &str = "site,device,setting,unit,as found,as left,photo,initials\n";
    let sheet = |rows: String| gzip(&[HEADING.as_bytes(), rows.as_bytes()].concat());
    vec![
        ("sheet-of-16-mb-of-commas.csv", Box::new(move || sheet(",".repeat(15 << 20)))),
        ("sheet-of-1-gb-of-commas.csv", Box::new(|| gzip_of(b',', 1 << 30))),
        ("sheet-of-16-mb-of-line-ends.csv", Box::new(move || sheet(",\n".repeat(7 << 20)))),
        ("sheet-of-24,000-wrong-rows.csv", Box::new(move || sheet("x,nobody,nothing,V,1,1,1,z\n".repeat(24_000)))),
        ("sheet-with-a-cell-of-15-mb.csv", Box::new(move || sheet(format!("x,nobody,{},V,1,1,1,z\n", "n".repeat(15 << 20))))),
        ("sheet-of-quotes.csv", Box::new(move || sheet(format!("\"{}", "\"\",".repeat(5 << 20))))),
    ]
}

#[test]
fn bombs_are_refused_and_cost_little() {
    let folder = tempfile::tempdir().unwrap();
    let mut table = Table::default();
    for (name, made) in bombs() {
        std::fs::write(folder.path().join(name), made()).unwrap();
        table.refused(name, &asleft(folder.path(), &["check", name]));
    }
    let site = root().join("tests/sites/larkspur-row-3.yaml");
    for (name, made) in sheets() {
        std::fs::write(folder.path().join(name), made()).unwrap();
        table.refused(name, &asleft(folder.path(), &["check", site.to_str().unwrap(), "--filled", name]));
    }
    // what is read whole besides: records, keys, lists
    for name in ["1-gb-of-zeros.yaml", "brackets.json", "a-value-of-15-mb.yaml"] {
        for arguments in [["verify", name].as_slice(), &["report", name], &["register", "add", "--register", "new.db", name]] {
            table.refused(&format!("{} {name}", arguments[0]), &asleft(folder.path(), arguments));
        }
    }
    std::fs::write(folder.path().join("endless.list"), gzip_of(b'x', 1 << 30)).unwrap();
    table.refused("endless.list", &asleft(folder.path(), &["check", "endless.list"]));
    assert!(!folder.path().join("new.db").exists(), "nothing was added, so nothing was made");
    table.end();
}

/// More faults than anybody reads are cut, and that is said, with what to do.
#[test]
fn more_faults_than_anybody_reads_end_in_a_sentence() {
    let folder = tempfile::tempdir().unwrap();
    let text = (0..2_000).fold(good_site(), |text, n| text + &format!("key-{n}: 1\n"));
    std::fs::write(folder.path().join("a.yaml"), text).unwrap();
    let said = says(&asleft(folder.path(), &["check", "a.yaml"]));
    assert_eq!(said.matches("unknown key `key-").count(), 500, "{said:.2000}");
    assert!(said.contains("more than 500 faults") && said.contains("mend those above first"));
}

fn fifo(path: &Path) {
    assert!(std::process::Command::new("mkfifo").arg(path).status().unwrap().success());
}

#[test]
fn pipes_and_devices_are_refused_before_they_are_opened() {
    let folder = tempfile::tempdir().unwrap();
    fifo(&folder.path().join("pipe.yaml"));
    fifo(&folder.path().join("pipe.ndjson"));
    std::os::unix::fs::symlink("/dev/zero", folder.path().join("zero.yaml")).unwrap();
    let site = root().join("tests/sites/larkspur-row-3.yaml");
    let site = site.to_str().unwrap();
    for arguments in [
        ["check", "pipe.yaml"].as_slice(),
        &["check", "pipe.ndjson"],
        &["check", "zero.yaml"],
        &["check", "/dev/zero"],
        &["check", "."],
        &["check", site, "--filled", "pipe.yaml"],
        &["check", site, "--profiles", "."],
        &["events", site, "pipe.yaml"],
        &["events", site, "/dev/zero"],
        &["decode", "pipe.yaml"],
        &["verify", "pipe.yaml"],
        &["report", "pipe.yaml"],
        &["register", "add", "--register", "r.db", "pipe.yaml"],
        &["register", "add", "--register", "pipe.yaml", site],
        &["register", "list", "--register", "pipe.yaml"],
        &["seal", "--key", "pipe.yaml", site],
        &["keys", "show", "pipe.yaml"],
        &["curve", "pipe.yaml"],
        &["scenario", site, "pipe.yaml"],
        &["close-out", site, "--photos", ".", "--dry-run"],
        &["close-out", site, "--out", "pipe.yaml"],
        &["exercise", "mark", "--key", "pipe.yaml", "pipe.yaml"],
    ] {
        let ended = asleft(folder.path(), arguments);
        let said = says(&ended);
        assert!(ended.code == Some(2) || ended.code == Some(1), "{arguments:?}: {:?} {said}", ended.code);
        assert!(!said.contains("panicked"), "{arguments:?}: {said}");
    }
    let said = says(&asleft(folder.path(), &["check", "pipe.yaml"]));
    assert!(said.contains("a pipe, a device or a socket, and no file"), "{said}");
}

/// A register is opened by a library that reads whatever it is given, and waits for more.
#[test]
#[cfg(target_os = "linux")]
fn a_register_that_is_a_file_of_the_system_is_refused() {
    let folder = tempfile::tempdir().unwrap();
    std::os::unix::fs::symlink("/proc/kmsg", folder.path().join("r.db")).unwrap();
    let record = root().join("tests/register/records/larkspur-row-3.json").display().to_string();
    for verb in [
        ["register", "list"].as_slice(),
        &["register", "verify"],
        &["register", "add", &record],
        &["register", "export"],
        &["due"],
        &["verify", &record],
        &["report", "--site", "larkspur-row-3", "--out", "r.html"],
    ] {
        let ended = asleft(folder.path(), &[verb, &["--register", "r.db"]].concat());
        assert!(ended.code == Some(2) && says(&ended).contains("r.db"), "{verb:?}: {:?} {}", ended.code, says(&ended));
    }
}

/// Files that say that they are larger than any disk, and hold nothing.
#[test]
fn files_without_end_are_not_read_to_their_end() {
    let folder = tempfile::tempdir().unwrap();
    let site = root().join("tests/sites/larkspur-row-3.yaml").display().to_string();
    std::fs::create_dir(folder.path().join("photos")).unwrap();
    for name in ["sparse.ndjson", "sparse.yaml", "photos/sparse.jpg"] {
        std::fs::File::create(folder.path().join(name)).unwrap().set_len(1 << 40).unwrap();
    }
    let mut table = Table::default();
    for (arguments, says_so) in [
        (["check", "sparse.ndjson"].as_slice(), "nothing behind it was read"),
        (&["check", "sparse.yaml"], "more than 16 MB"),
        (&["close-out", &site, "--photos", "photos", "--dry-run"], "more than 1 GB, which no photo has"),
    ] {
        let ended = asleft(folder.path(), arguments);
        assert!(says(&ended).contains(says_so), "{arguments:?}: {}", says(&ended));
        table.refused(&arguments.join(" "), &ended);
    }
    table.end();
}

#[test]
fn circles_of_links_end() {
    let folder = tempfile::tempdir().unwrap();
    let at = |path: &str| folder.path().join(path);
    for name in ["a", "b", "c"] {
        std::fs::create_dir(at(name)).unwrap();
        std::fs::write(at(name).join("site.yaml"), good_site()).unwrap();
        for (other, link) in [("../a", "one"), ("../b", "two"), ("../c", "three"), ("..", "up"), (".", "self")] {
            std::os::unix::fs::symlink(other, at(name).join(link)).unwrap();
        }
    }
    let ended = asleft(folder.path(), &["check", ".", "--format", "json"]);
    let report: serde_json::Value = serde_json::from_slice(&ended.stdout).unwrap();
    assert_eq!(report["summary"]["sites"], 3, "each once");
    assert!(String::from_utf8_lossy(&ended.stderr).contains("each folder is read once"));
    std::fs::create_dir_all(at("profiles/overlays")).unwrap();
    std::os::unix::fs::symlink("..", at("profiles/overlays/up")).unwrap();
    assert_eq!(asleft(folder.path(), &["list", "--profiles", "profiles"]).code, Some(0));
}

/// A cell that a spreadsheet would work out is text, and what a sheet says is read back as it was meant.
#[test]
fn tables_for_spreadsheets_hold_no_formulas() {
    let folder = tempfile::tempdir().unwrap();
    let name = "=HYPERLINK(1)";
    let site = good_site().replace("  inverter-1:", &format!("  \"{name}\":")).replace("site: larkspur-row-3", "site: \"@SUM(A1)\"");
    std::fs::write(folder.path().join("a.yaml"), &site).unwrap();
    for arguments in [["sheet", "a.yaml", "--format", "csv"].as_slice(), &["test-sheet", "a.yaml", "--format", "csv"]] {
        let ended = asleft(folder.path(), arguments);
        let table = String::from_utf8(ended.stdout.clone()).unwrap();
        assert!(table.contains("'@SUM(A1)") && table.contains(&format!("'{name}")), "{arguments:?} {table:.800} {}", says(&ended));
        let mut reader = csv::Reader::from_reader(ended.stdout.as_slice());
        for cell in reader.records().flat_map(|record| record.unwrap().iter().map(str::to_owned).collect::<Vec<_>>()) {
            assert!(!cell.starts_with(['=', '@', '\t', '\r']), "{cell}");
        }
    }
    // the sheet comes back, filled
    let sheet = String::from_utf8(asleft(folder.path(), &["sheet", "a.yaml", "--format", "csv"]).stdout).unwrap();
    let mut reader = csv::Reader::from_reader(sheet.as_bytes());
    let heading = reader.headers().unwrap().clone();
    let at = |name: &str| heading.iter().position(|column| column == name).unwrap();
    let mut filled = csv::Writer::from_writer(Vec::new());
    filled.write_record(&heading).unwrap();
    for record in reader.records() {
        let mut cells: Vec<String> = record.unwrap().iter().map(str::to_owned).collect();
        if cells[at("setting")] == "overvoltage-2/threshold" {
            cells[at("as left")] = "275 V".to_owned();
        }
        filled.write_record(&cells).unwrap();
    }
    std::fs::write(folder.path().join("filled.csv"), filled.into_inner().unwrap()).unwrap();
    let ended = asleft(folder.path(), &["check", "a.yaml", "--filled", "filled.csv"]);
    assert_ne!(ended.code, Some(2), "{}", says(&ended));
}
