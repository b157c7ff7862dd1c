//! Exercises from the command line: the shipped class is what its order makes, nothing is written where it must not
//! be, and whatever is said of a site made for a lesson is marked.

use std::path::{Path, PathBuf};
use std::process::{Command, Output};

const NOTICE: &str = "TRAINING, NOT FOR SITE USE";
const AS_OF: [&str; 2] = ["--as-of", "2026-11-25"];

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../..").canonicalize().unwrap()
}

fn asleft(arguments: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_asleft"))
        .current_dir(root())
        .env("COLUMNS", "100")
        .env("NO_COLOR", "1")
        .env_remove("ASLEFT_PROFILES")
        .args(arguments)
        .output()
        .unwrap()
}

fn stdout(output: &Output) -> String {
    String::from_utf8(output.stdout.clone()).unwrap()
}

/// Draws a class into a folder, and says how that ended.
fn new(of: &str, students: &str, folder: &Path) -> Output {
    let (out, key) = (folder.join("class"), folder.join("key.yaml"));
    let places = ["--out", out.to_str().unwrap(), "--key", key.to_str().unwrap()];
    asleft(&[&["exercise", "new", of, "--seed", "20", "--students", students][..], &places, &AS_OF].concat())
}

fn texts(folder: &Path) -> Vec<(String, String)> {
    let mut files: Vec<PathBuf> = std::fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()).collect();
    files.sort();
    let name = |path: &PathBuf| path.file_name().unwrap().to_string_lossy().into_owned();
    files.iter().map(|path| (name(path), std::fs::read_to_string(path).unwrap())).collect()
}

/// Byte for byte, whatever machine it runs on.
#[test]
fn the_shipped_class_is_what_its_order_makes() {
    let folder = tempfile::tempdir().unwrap();
    let output = new("quillbrook/3.0.0", "tests/exercises/benches.list", folder.path());
    assert_eq!(output.status.code(), Some(0), "{output:?}");
    let kept = root().join("tests/exercises");
    if std::env::var_os("ASLEFT_REWRITE").is_some() {
        for (name, text) in texts(&folder.path().join("class")) {
            std::fs::write(kept.join("issued").join(name), text).unwrap();
        }
        std::fs::copy(folder.path().join("key.yaml"), kept.join("key.yaml")).unwrap();
    }
    assert_eq!(texts(&folder.path().join("class")), texts(&kept.join("issued")));
    assert_eq!(std::fs::read_to_string(folder.path().join("key.yaml")).unwrap(), std::fs::read_to_string(kept.join("key.yaml")).unwrap());
}

#[test]
fn nothing_is_written_where_it_must_not_be() {
    let folder = tempfile::tempdir().unwrap();
    assert_eq!(new("quillbrook/3.0.0", "2", folder.path()).status.code(), Some(0));
    let before = (texts(&folder.path().join("class")), std::fs::read(folder.path().join("key.yaml")).unwrap());
    let again = new("quillbrook/3.0.0", "3", folder.path());
    assert_eq!(again.status.code(), Some(2));
    assert_eq!(before, (texts(&folder.path().join("class")), std::fs::read(folder.path().join("key.yaml")).unwrap()));
    // a key within the folder, said in a roundabout way, and through a link
    let class = folder.path().join("other");
    std::fs::create_dir(&class).unwrap();
    let roundabout = folder.path().join("nothing/../other/key.yaml");
    let mut keys = vec![class.join("key.yaml"), roundabout];
    #[cfg(unix)]
    {
        std::os::unix::fs::symlink(&class, folder.path().join("link")).unwrap();
        keys.push(folder.path().join("link/key.yaml"));
    }
    for key in keys {
        let places = ["--out", class.to_str().unwrap(), "--key", key.to_str().unwrap()];
        let output = asleft(&[&["exercise", "new", "quillbrook/3.0.0", "--students", "2"][..], &places, &AS_OF].concat());
        assert_eq!(output.status.code(), Some(2), "{}", key.display());
        let said = String::from_utf8_lossy(&output.stderr).split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(said.contains("keep the answers elsewhere"), "{said}");
        assert_eq!(texts(&class), []);
    }
    // a key that cannot be written leaves no folder
    let (out, key) = (folder.path().join("third"), folder.path().join("nowhere/key.yaml"));
    let places = ["--out", out.to_str().unwrap(), "--key", key.to_str().unwrap()];
    let output = asleft(&[&["exercise", "new", "quillbrook/3.0.0", "--students", "2"][..], &places, &AS_OF].concat());
    assert_eq!((output.status.code(), out.exists()), (Some(2), false));
    let left: Vec<String> =
        std::fs::read_dir(folder.path()).unwrap().map(|entry| entry.unwrap().file_name().to_string_lossy().into_owned()).collect();
    assert!(left.iter().all(|name| !name.contains("partial")), "{left:?}");
}

/// A student's file, and what a student left, through every verb and form that takes a site.
#[test]
fn everything_that_is_said_of_it_is_marked() {
    let (issued, left) = ("tests/exercises/issued/bench-2.yaml", "tests/exercises/handed-in/bench-2.yaml");
    let at_top: [&[&str]; 10] = [
        &["rise", left],
        &["pin", left],
        &["check", left],
        &["sheet", issued],
        &["sheet", issued, "--format", "html"],
        &["sheet", issued, "--format", "csv"],
        &["identify", left],
        &["diff", left],
        &["diff", left, "--format", "markdown"],
        &["explain", "volt-watt", "--site", issued],
    ];
    for arguments in at_top {
        let printed = stdout(&asleft(&[arguments, &AS_OF].concat()));
        let head = match arguments {
            ["explain", ..] => printed.lines().find(|line| line.starts_with("At ")).unwrap_or_default().to_owned(),
            [.., "html"] => printed.split("<h1>").next().unwrap().to_owned(),
            _ => printed.lines().take(2).collect(),
        };
        assert!(head.contains(NOTICE), "{arguments:?}: {printed}");
    }
    let every_line: [&[&str]; 2] = [&["check", left, "--format", "lines"], &["sheet", issued, "--format", "csv"]];
    for arguments in every_line {
        let printed = stdout(&asleft(&[arguments, &AS_OF].concat()));
        let skipped = usize::from(arguments[0] == "sheet");
        assert!(printed.lines().count() > skipped && printed.lines().skip(skipped).all(|line| line.contains(NOTICE)), "{printed}");
    }
    let programs: [&[&str]; 10] = [
        &["scenario", left, "tap-step", "--format", "json"],
        &["check", left, "--format", "json"],
        &["check", left, "--format", "ndjson"],
        &["check", left, "--format", "sarif"],
        &["sheet", issued, "--format", "json"],
        &["identify", left, "--format", "json"],
        &["diff", left, "--format", "json"],
        &["curve", left, "--format", "json"],
        &["trip-map", left, "--format", "json"],
        &["events", left, "tests/logs/noon-creep.csv", "--format", "json"],
    ];
    for arguments in programs {
        let printed = stdout(&asleft(&[arguments, &AS_OF].concat()));
        let _: serde_json::Value = printed.lines().map(|line| serde_json::from_str(line).unwrap_or_default()).next().unwrap();
        assert!(printed.contains(NOTICE), "{arguments:?}: {printed}");
    }
    let pictures: [&[&str]; 4] = [
        &["curve", left, "--of", "volt-watt"],
        &["trip-map", left],
        &["events", left, "tests/logs/noon-creep.csv"],
        &["scenario", left, "tap-step"],
    ];
    for arguments in pictures {
        let folder = tempfile::tempdir().unwrap();
        let file = folder.path().join("drawn.svg");
        let output = asleft(&[arguments, &AS_OF, &["--svg", file.to_str().unwrap()]].concat());
        assert!(stdout(&output).contains(NOTICE), "{arguments:?}: {output:?}");
        let drawn: String = texts(folder.path()).into_iter().map(|(_, text)| text).collect();
        assert!(drawn.contains(NOTICE), "{arguments:?}: {drawn}");
    }
    // and no other site is
    for arguments in [&["check", "tests/sites/larkspur-row-3.yaml", "--format", "json"][..], &["sheet", "tests/sites/larkspur-row-3.yaml"]]
    {
        assert!(!stdout(&asleft(&[arguments, &AS_OF].concat())).to_lowercase().contains("training"), "{arguments:?}");
    }
}

/// A fleet says how many of it are none.
#[test]
fn sites_of_lessons_are_counted_apart() {
    let answer = stdout(&asleft(&[
        "check",
        "tests/exercises/handed-in",
        "tests/sites/larkspur-row-3.yaml",
        "--as-of",
        "2026-11-25",
        "--format",
        "json",
    ]));
    let answer: serde_json::Value = serde_json::from_str(&answer).unwrap();
    assert_eq!((answer["summary"]["sites"].clone(), answer["summary"]["training"].clone()), (5.into(), 4.into()));
    let printed = stdout(&asleft(&["check", "tests/exercises/handed-in", "tests/sites/larkspur-row-3.yaml", "--as-of", "2026-11-25"]));
    assert!(printed.contains(&format!("4  of all these: {NOTICE}")), "{printed}");
}

/// A site of the trainer's own, without what tells whose it is; the answers as the key has them are full marks.
#[test]
fn a_site_of_ones_own_is_a_model() {
    for model in ["tests/sites/larkspur-row-3.yaml", "tests/sites/orchard-close-5.yaml", "tests/sites/weir-street-22.yaml"] {
        let folder = tempfile::tempdir().unwrap();
        let output = new(model, "4", folder.path());
        assert_eq!(output.status.code(), Some(0), "{model}: {output:?}");
        let class = folder.path().join("class");
        for (name, text) in texts(&class) {
            assert!(!text.contains("larkspur") && !text.contains("orchard") && !text.contains("weir-street"), "{name}: {text}");
            assert!(!text.contains("as-left:") && text.starts_with(&format!("# {NOTICE}")), "{name}: {text}");
        }
        let (key, class) = (folder.path().join("key.yaml"), class.to_str().unwrap().to_owned());
        let marked = asleft(&["exercise", "mark", key.to_str().unwrap(), &class, "--format", "json"]);
        let marked: serde_json::Value = serde_json::from_slice(&marked.stdout).unwrap();
        let none =
            marked["students"].as_array().unwrap().iter().all(|student| student["marks"] == 0 && student["out-of"].as_u64() > Some(1));
        assert!(none && marked["summary"]["not-all-right"] == 4, "{model}: {marked}");
    }
}

/// Full marks end with 0, anything else with 1, what could not be read with 2.
#[test]
fn the_exit_says_how_the_class_did() {
    let folder = tempfile::tempdir().unwrap();
    assert_eq!(new("as-nzs-4777.2/2020-amd2/new-zealand", "1", folder.path()).status.code(), Some(0));
    let (key, file) = (folder.path().join("key.yaml"), folder.path().join("class/student-01.yaml"));
    let (text, answers) = (std::fs::read_to_string(&file).unwrap(), std::fs::read_to_string(&key).unwrap());
    let mark = || asleft(&["exercise", "mark", key.to_str().unwrap(), file.to_str().unwrap()]).status.code();
    assert_eq!(mark(), Some(1), "as it was given out");
    std::fs::write(&file, answered(&text, &answers)).unwrap();
    assert_eq!(mark(), Some(0), "as the key has it: {}", std::fs::read_to_string(&file).unwrap());
    std::fs::write(&file, text.replace("kind: site", "kind: sight")).unwrap();
    assert_eq!(mark(), Some(2), "no site's file");
}

/// The answer that the key has, as a student would write it.
fn answered(text: &str, key: &str) -> String {
    let parse = |text: &str| {
        let tree = settings_model::document::parse(settings_model::source::SourceId(0), text, &mut Vec::new());
        tree.unwrap().to_json()
    };
    let (mut site, key) = (parse(text), parse(key));
    let mut diagnosis = Vec::new();
    for (_, device) in site["devices"].as_object_mut().unwrap() {
        device["as-left"] = device["as-found"].clone();
    }
    for fault in key["students"]["student-01"]["faults"].as_array().unwrap() {
        let mut settings = Vec::new();
        for touched in fault["settings"].as_array().unwrap() {
            let (device, setting, right) = (touched["device"].as_str().unwrap(), touched["setting"].as_str().unwrap(), &touched["right"]);
            settings.push(format!("{device}/{setting}"));
            let left = &mut site["devices"][device]["as-left"];
            match setting.split_once('/') {
                None => left[setting] = right.clone(),
                Some((function, key)) if key == "points" => left["settings"][function][key] = points(right.as_str().unwrap()),
                Some((function, key)) => left["settings"][function][key] = right.clone(),
            }
        }
        diagnosis.push(serde_json::json!({ "fault": fault["fault"], "settings": settings }));
    }
    site["training"]["diagnosis"] = diagnosis.into();
    site.to_string()
}

/// `44 % at 207 V, 0 % at 220 V` as files write it.
fn points(words: &str) -> serde_json::Value {
    let pairs = words.split(", ").map(|point| point.split_once(" at ").unwrap());
    pairs.map(|(level, place)| serde_json::json!([place, level])).collect()
}
