//! Papers: nothing of a record is lost on the way to paper, every page says what it came to, and a record that is
//! not as it was made is put on none.

use scraper::{Html, Selector};
use serde_json::Value;
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../..").canonicalize().unwrap()
}

fn asleft(arguments: &[&str]) -> Output {
    let mut command = Command::new(env!("CARGO_BIN_EXE_asleft"));
    command.current_dir(root()).env_remove("ASLEFT_PROFILES").env_remove("ASLEFT_REGISTER").env("NO_COLOR", "1").stdin(Stdio::null());
    command.args(arguments).output().unwrap()
}

fn says(output: &Output) -> String {
    String::from_utf8_lossy(&output.stderr).split_whitespace().collect::<Vec<_>>().join(" ")
}

/// Every record that is kept: solar, storage behind a relay, approvals, an overlay of an overlay.
fn records() -> Vec<PathBuf> {
    let kept = ["wattle-bend-6", "mangle-lane-11"].map(|site| root().join(format!("tests/records/{site}/close-out.json")));
    let registered = std::fs::read_dir(root().join("tests/register/records")).unwrap().map(|entry| entry.unwrap().path());
    let all: Vec<_> = kept.into_iter().chain(registered).collect();
    assert!(all.len() >= 7);
    all
}

fn page(record: &Path) -> (Value, Html) {
    let output = asleft(&["report", record.to_str().unwrap(), "--out", "-"]);
    assert_eq!((output.status.code(), &*says(&output)), (Some(0), ""), "{}", record.display());
    let record = serde_json::from_slice(&std::fs::read(record).unwrap()).unwrap();
    (record, Html::parse_document(std::str::from_utf8(&output.stdout).unwrap()))
}

/// The text as a reader has it.
fn text(page: &Html) -> String {
    page.root_element().text().collect::<Vec<_>>().join(" ").split_whitespace().collect::<Vec<_>>().join(" ")
}

/// What stands on paper in other words, by its keys, and how.
const IN_OTHER_WORDS: [(&str, &str); 28] = [
    ("/devices/certified/to", "by its title"),
    ("/kind", "in the title"),
    ("/given", "by hash: the record holds the texts"),
    ("/not-checked", "by titles"),
    ("/verdict/outcome", "as its headline"),
    ("/verdict/settings", "in print"),
    ("/verdict/tests", "in print"),
    ("/verdict/evidence", "in print"),
    ("/requirement/region", "in the words of what it stands under"),
    ("/requirement/layers", "in the words of what it stands under"),
    ("/devices/kind", "in print"),
    ("/devices/settings/setting", "by its title"),
    ("/devices/settings/title", "in its two parts, looked for below"),
    ("/devices/settings/required", "within what complies, looked for below"),
    ("/devices/settings/complies-within", "looked for below"),
    ("/devices/settings/from", "looked for below"),
    ("/devices/settings/basis", "with where it is from"),
    ("/devices/settings/state", "in print"),
    ("/findings/name", "a name for programs"),
    ("/findings/outcome", "as a heading"),
    ("/findings/setting", "in its sentence"),
    ("/findings/because", "excerpts of the texts that the record holds"),
    ("/tests/test", "by its title"),
    ("/tests/result", "in print"),
    ("/tests/name", "by device and title"),
    ("/tests/steps", "on the test sheet, before"),
    ("/photos/found", "in print"),
    ("/photos/stated-sha256", "as the hash of the file that was there"),
];

/// Of a test, what it came to says what was expected, within what and why.
const OF_TESTS: [&str; 3] = ["/tests/expected", "/tests/measured/figure", "/tests/title"];

/// Every text of a record that a reader of the paper has to find, with the keys that lead to it.
fn texts<'r>(value: &'r Value, path: &str, found: &mut Vec<(String, &'r str)>) {
    if IN_OTHER_WORDS.iter().any(|(other, _)| *other == path) || OF_TESTS.contains(&path) {
        return;
    }
    match value {
        Value::Object(map) => map.iter().for_each(|(key, value)| texts(value, &format!("{path}/{key}"), found)),
        Value::Array(items) => items.iter().for_each(|item| texts(item, path, found)),
        Value::String(text) => found.push((path.to_owned(), text)),
        _ => {}
    }
}

#[test]
fn nothing_of_a_record_is_lost() {
    for file in records() {
        let (envelope, page) = page(&file);
        let (record, paper) = (&envelope["record"], text(&page));
        let (mut all, mut lost) = (Vec::new(), Vec::new());
        texts(record, "", &mut all);
        assert!(all.len() > 40, "{}: {}", file.display(), all.len());
        // a sentence begins with a capital; what stands for a test that nobody does is told once, for all of them
        let small = paper.to_lowercase();
        let is_there = |text: &str| small.contains(&text.split_whitespace().collect::<Vec<_>>().join(" ").to_lowercase());
        all.retain(|(path, text)| !(path == "/tests/says" && text.starts_with("relies on the type test")));
        lost.extend(all.iter().filter(|(_, text)| !is_there(text)).map(|(path, text)| format!("{path}: {text}")));
        for device in record["devices"].as_array().unwrap() {
            for held in device["settings"].as_array().unwrap() {
                let title = held["title"].as_str().unwrap();
                let asked = held["complies-within"].as_str().or(held["required"].as_str()).unwrap_or_default();
                let from = held["from"].as_str().unwrap_or_default();
                let told = title.split_once(": ").map_or(vec![title], |(function, parameter)| vec![function, parameter]);
                lost.extend(
                    told.into_iter().chain([asked, from]).filter(|text| !paper.contains(*text)).map(|text| format!("{title}: {text}")),
                );
            }
        }
        let given = record["given"].as_object().unwrap().values();
        let hashes = given.map(|given| given["sha256"].as_str().unwrap()).chain([envelope["sha256"].as_str().unwrap()]);
        lost.extend(hashes.filter(|hash| !paper.contains(*hash)).map(str::to_owned));
        assert!(lost.is_empty(), "{}:\n{}", file.display(), lost.join("\n"));
    }
}

#[test]
fn every_page_says_what_the_record_came_to_and_whose_it_is() {
    let all = |page: &Html, selector: &str| -> Vec<String> {
        let selector = Selector::parse(selector).unwrap();
        page.select(&selector).map(|element| element.text().collect::<Vec<_>>().join(" ")).collect()
    };
    for file in records() {
        let (envelope, page) = page(&file);
        let headline = envelope["record"]["verdict"]["headline"].as_str().unwrap().to_uppercase();
        // head and foot stand on every printed page, as their styles say
        let head = all(&page, "header .running").join(" ");
        assert!(head.contains(&headline), "{}: {head}", file.display());
        let foot = all(&page, "footer.foot").join(" ");
        assert!(foot.contains(envelope["sha256"].as_str().unwrap()), "{}: {foot}", file.display());
        let pictures = Selector::parse("svg[role=img]").unwrap();
        let (drawn, svg) = (page.select(&pictures).count(), Selector::parse("svg").unwrap());
        assert!(drawn >= 3 && drawn == page.select(&svg).count(), "{}: every picture has words", file.display());
    }
}

#[test]
fn approvals_and_what_an_operator_asks_differ_from_the_base_standard() {
    let (_, page) = page(&root().join("tests/register/records/orchard-close-5.json"));
    let paper = text(&page);
    let (_, differences) = paper.split_once("Where this differs from the base standard").unwrap();
    let rows = differences.split_once("Who asks").unwrap().0;
    // 258 V in the base standard's region, 255 V by the operator, 257 V by an approval for this site
    assert!(rows.contains("Sustained overvoltage (10-minute average): threshold 258 V 257 V"), "{rows}");
    assert!(paper.contains("Approvals for this site"));
}

#[test]
fn a_record_that_is_not_as_it_was_made_is_put_on_no_paper() {
    let folder = tempfile::tempdir().unwrap();
    let (record, to) = (folder.path().join("record.json"), folder.path().join("record.html"));
    let good = std::fs::read(root().join("tests/register/records/larkspur-row-3.json")).unwrap();
    let tried = |bytes: &[u8]| {
        std::fs::write(&record, bytes).unwrap();
        let output = asleft(&["report", record.to_str().unwrap()]);
        assert!(output.status.code() == Some(2) && output.stdout.is_empty() && !to.exists(), "{}", says(&output));
        says(&output)
    };
    let altered = String::from_utf8(good.clone()).unwrap().replacen("licensed", "licenced", 1);
    assert!(tried(altered.as_bytes()).contains("the record was altered"));
    assert!(tried(b"{}").contains("not a record"));
    let mut envelope: Value = serde_json::from_slice(&good).unwrap();
    let signature = envelope["signatures"][0]["signature"].as_str().unwrap();
    let other = if signature.starts_with('0') { "1" } else { "0" };
    envelope["signatures"][0]["signature"] = format!("{other}{}", &signature[1..]).into();
    assert!(tried(serde_json::to_string(&envelope).unwrap().as_bytes()).contains("a signature on it does not hold"));
    std::fs::write(&record, &good).unwrap();
    assert_eq!(asleft(&["report", record.to_str().unwrap()]).status.code(), Some(0));
    assert!(to.exists());
}

#[test]
fn nothing_else_is_written_over() {
    let folder = tempfile::tempdir().unwrap();
    let to = folder.path().join("paper.html");
    let to = to.to_str().unwrap();
    let report = |more: &[&str]| asleft(&[&["report", "tests/records/wattle-bend-6/close-out.json", "--out", to], more].concat());
    std::fs::write(to, "a list of screws").unwrap();
    let refused = report(&[]);
    assert!(refused.status.code() == Some(2) && says(&refused).contains("--replace"), "{}", says(&refused));
    assert_eq!(std::fs::read_to_string(to).unwrap(), "a list of screws");
    assert_eq!(report(&["--replace"]).status.code(), Some(0));
    let once = std::fs::read(to).unwrap();
    // the same again is no other file
    assert_eq!(report(&[]).status.code(), Some(0));
    assert_eq!(std::fs::read(to).unwrap(), once);
    assert_eq!(report(&["--paper", "letter"]).status.code(), Some(2));
    // the technical record, and what the owner gets
    assert_eq!(std::fs::read_dir(folder.path()).unwrap().count(), 2);
    let unnamed = asleft(&["report", "tests/records/wattle-bend-6/close-out.json", "--out", "paper.doc"]);
    assert!(unnamed.status.code() == Some(2) && says(&unnamed).contains("ends in `.html` or `.pdf`"));
}

#[test]
fn the_newest_record_of_a_site_comes_from_the_register_with_its_profiles() {
    let from = |site: &str| asleft(&["report", "--register", "tests/register/office.db", "--site", site, "--out", "-"]);
    let direct = asleft(&["report", "tests/register/records/osier-bank-27.json", "--out", "-"]);
    assert_eq!(from("osier-bank-27").stdout, direct.stdout);
    let unknown = from("nowhere-1");
    assert!(unknown.status.code() == Some(2) && says(&unknown).contains("no record of a site `nowhere-1`"));
}

#[test]
fn without_its_profiles_a_record_goes_on_paper_and_says_what_is_left_out() {
    let folder = tempfile::tempdir().unwrap();
    let profile = folder.path().join("overlays/quillbrook/3.0.0.yaml");
    std::fs::create_dir_all(profile.parent().unwrap()).unwrap();
    let shipped = std::fs::read_to_string(root().join("profiles/overlays/quillbrook/3.0.0.yaml")).unwrap();
    std::fs::write(&profile, format!("{shipped}# another remark\n")).unwrap();
    let record = "tests/records/wattle-bend-6/close-out.json";
    let profiles = folder.path().to_str().unwrap();
    let output = asleft(&["report", record, "--out", "-", "--profiles", profiles]);
    let page = Html::parse_document(std::str::from_utf8(&output.stdout).unwrap());
    assert_eq!(output.status.code(), Some(0));
    assert!(text(&page).contains("Left out: what it was judged against is not at hand overlays/quillbrook/3.0.0"));
    assert_eq!(page.select(&Selector::parse("svg").unwrap()).count(), 0);
}

#[test]
fn an_office_has_its_sites_on_paper() {
    let arguments = ["register", "roll-up", "--register", "tests/register/office.db", "--as-of", "2026-11-25", "--out", "-"];
    let output = asleft(&arguments);
    assert_eq!(output.status.code(), Some(0), "{}", says(&output));
    let paper = text(&Html::parse_document(std::str::from_utf8(&output.stdout).unwrap()));
    for wanted in
        ["2 OF 5 DO NOT COMPLY", "osier-bank-27 does not comply 2026-11-25 east 1", "OVERDUE by 36 days", "all sites 5 0 0 3 2 0 %"]
    {
        assert!(paper.contains(wanted), "{wanted}: {paper}");
    }
    // no sites are no pass
    assert_eq!(asleft(&[&arguments[..], &["--crew", "nobody"]].concat()).status.code(), Some(2));
    let nobody = asleft(&[&arguments[..], &["--crew", "north 2", "--site", "larkspur-row-3"]].concat());
    let paper = text(&Html::parse_document(std::str::from_utf8(&nobody.stdout).unwrap()));
    assert!(paper.contains("NO SITES") && !paper.contains("complies"), "{paper}");
}

#[test]
fn a_pdf_is_made_where_the_program_can() {
    let folder = tempfile::tempdir().unwrap();
    let to = |name: &str| folder.path().join(name).to_str().unwrap().to_owned();
    let made = |name: &str| asleft(&["report", "tests/records/mangle-lane-11/close-out.json", "--out", &to(name), "--paper", "letter"]);
    let (one, other) = (made("one.pdf"), made("other.pdf"));
    if cfg!(feature = "pdf") {
        assert_eq!((one.status.code(), other.status.code()), (Some(0), Some(0)), "{}", says(&one));
        let [one, other] = [to("one.pdf"), to("other.pdf")].map(|path| std::fs::read(path).unwrap());
        assert!(one.starts_with(b"%PDF-") && one == other, "the same record makes the same PDF");
    } else {
        assert!(one.status.code() == Some(2) && says(&one).contains("--features pdf"), "{}", says(&one));
        assert_eq!(std::fs::read_dir(folder.path()).unwrap().count(), 0);
    }
}

/// A record that complies by figures that nobody verified is nowhere said to comply without that.
#[test]
fn unverified_figures_are_told_wherever_a_record_is() {
    let folder = tempfile::tempdir().unwrap();
    let (record, register) = ("tests/records/wattle-bend-6/close-out.json", folder.path().join("office.db"));
    let register = register.to_str().unwrap();
    assert_eq!(asleft(&["register", "add", "--register", register, record]).status.code(), Some(0));
    let kept = |verb: &'static str| ["register", verb, "--register", register];
    let (list, show) = (kept("list"), ["register", "show", "--register", register, "wattle-bend-6"]);
    for arguments in [&["verify", record][..], &list, &show] {
        let printed = String::from_utf8(asleft(arguments).stdout).unwrap();
        let printed = printed.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(!printed.contains("complies") && printed.contains("agrees with"), "{arguments:?}: {printed}");
    }
    let counted = String::from_utf8(asleft(&kept("roll-up")).stdout).unwrap();
    assert!(counted.lines().any(|line| line.split_whitespace().eq("all sites 1 1 1 0 0 100 %".split(' '))), "{counted}");
    let paper = asleft(&[&kept("roll-up")[..], &["--out", "-"]].concat());
    let paper = text(&Html::parse_document(std::str::from_utf8(&paper.stdout).unwrap()));
    assert!(paper.contains("ALL OF 1 AGREE, 1 WITH UNVERIFIED FIGURES") && !paper.contains("every site complies"), "{paper}");
    let (_, page) = page(&root().join(record));
    assert!(text(&page).contains("Settings agrees with unverified figures Tests on site as expected Evidence complete"));
}

/// What an owner gets is a file of its own, and names no file and no line; where it may not be written, neither is.
#[test]
fn what_an_owner_gets_is_for_an_owner() {
    for record in records() {
        let folder = tempfile::tempdir().unwrap();
        let (technical, owners) = (folder.path().join("paper.html"), folder.path().join("paper.owner.html"));
        let write = || asleft(&["report", record.to_str().unwrap(), "--out", technical.to_str().unwrap()]);
        std::fs::write(&owners, "something else").unwrap();
        assert_eq!(write().status.code(), Some(2));
        assert!(!technical.exists(), "{}", record.display());
        std::fs::remove_file(&owners).unwrap();
        assert_eq!(write().status.code(), Some(0));
        let says = text(&Html::parse_document(&std::fs::read_to_string(&owners).unwrap()));
        let kept: Value = serde_json::from_slice(&std::fs::read(&record).unwrap()).unwrap();
        assert!(says.contains(kept["record"]["site"]["name"].as_str().unwrap()), "{says}");
        assert!(says.to_lowercase().contains(kept["record"]["verdict"]["headline"].as_str().unwrap()), "{says}");
        for technical in [".yaml", ".csv", ".json", ", line ", "shipped:", "asleft "] {
            assert!(!says.contains(technical), "{}: `{technical}`: {says}", record.display());
        }
    }
}
