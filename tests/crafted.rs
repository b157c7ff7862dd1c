//! Files that somebody made with care, so that what is wrong passes: each is refused, told or counted.
#![cfg(unix)]

use crate::measured;

use measured::{Ended, asleft, root, says};
use std::fmt::Write as _;
use std::path::Path;

/// What a refused file may cost at most.
const MOST: u64 = 200_000_000;

fn site() -> String {
    std::fs::read_to_string(root().join("tests/sites/larkspur-row-3.yaml")).unwrap()
}

/// The shipped site with one thing in place of another.
fn instead(what: &str, other: &str) -> String {
    assert!(site().contains(what), "{what}");
    site().replace(what, other)
}

fn put(folder: &Path, name: &str, text: impl AsRef<[u8]>) {
    let path = folder.join(name);
    std::fs::create_dir_all(path.parent().unwrap()).unwrap();
    std::fs::write(path, text).unwrap();
}

#[test]
fn a_column_that_looks_like_another_is_not_passed_over() {
    let folder = tempfile::tempdir().unwrap();
    put(folder.path(), "site.yaml", site());
    let check = |heading: &str, row: &str| {
        put(folder.path(), "sheet.csv", format!("{heading}\n{row}\n"));
        asleft(folder.path(), &["check", "site.yaml", "--filled", "sheet.csv", "--as-of", "2026-11-25"])
    };
    for twin in ["as-left", "As_Left", "as  left", "as\u{a0}left", "asleft", "as left\u{200b}", "\u{430}s left", "аѕ ⅼеfτ", "ＡＳ ＬＥＦＴ"]
    {
        let ended = check(&format!("device,setting,as found,as left,{twin}"), "inverter-1,overvoltage-1/threshold,,265 V,290 V");
        assert_eq!(ended.code, Some(2), "{twin}: {}", says(&ended));
        assert!(says(&ended).contains("column-twice"), "{twin}: {}", says(&ended));
    }
    let ended = check("device,setting,as found,as left,as left (V)", "inverter-1,overvoltage-1/threshold,,265 V,290");
    assert!(says(&ended).contains("1 column not read: `as left (V)`"), "{}", says(&ended));
    // the program's own sheet has no strange columns
    let own = asleft(folder.path(), &["sheet", "site.yaml", "--format", "csv", "--as-of", "2026-11-25"]).stdout;
    put(folder.path(), "own.csv", own);
    let ended = asleft(folder.path(), &["check", "site.yaml", "--filled", "own.csv", "--as-of", "2026-11-25"]);
    assert!(says(&ended).contains("rows read") && !says(&ended).contains("not read"), "{}", says(&ended));
}

/// Two inverters of a millionth of a volt-ampere would leave a site too small to be asked for a relay.
#[test]
fn ratings_below_any_device_are_refused() {
    let folder = tempfile::tempdir().unwrap();
    for rating in ["0.000000001 kVA", "1 VA", "9.99 VA"] {
        put(folder.path(), "site.yaml", instead("nameplate: 6 kVA", &format!("nameplate: {rating}")));
        let ended = asleft(folder.path(), &["check", "site.yaml"]);
        assert!(ended.code == Some(2) && says(&ended).contains("cannot be the nameplate rating"), "{rating}: {}", says(&ended));
    }
}

/// What `check` refuses as no curve at all, no other verb plays or draws.
#[test]
fn points_that_descend_once_they_are_volts_are_played_by_no_verb() {
    let folder = tempfile::tempdir().unwrap();
    put(folder.path(), "site.yaml", instead("[[253 V, 100 %], [260 V, 20 %]]", "[[1.10 pu, 100 %], [250 V, 20 %]]"));
    put(folder.path(), "good.yaml", site());
    let log = root().join("tests/logs/noon-creep.csv").display().to_string();
    let device = "site.yaml:inverter-1:as-left";
    for verb in [
        ["check", "site.yaml"].as_slice(),
        &["sheet", "site.yaml"],
        &["curve", "site.yaml", "--of", "volt-watt"],
        &["curve", "site.yaml", "--of", "power"],
        &["scenario", "site.yaml", "noon-creep"],
        &["events", "site.yaml", &log],
        &["trip-map", "site.yaml"],
        &["diff", device, "good.yaml:inverter-1:as-left"],
    ] {
        let ended = asleft(folder.path(), verb);
        assert_eq!(ended.code, Some(2), "{verb:?}: {}", says(&ended));
        assert!(says(&ended).contains("points-out-of-order"), "{verb:?}: {}", says(&ended));
    }
}

fn costs_little(ended: &Ended, what: &str) {
    assert!(ended.peak < MOST, "{what}: {} MB", ended.peak / 1_000_000);
    println!("{:>7.1} MB {:>7.2} s  {what}", ended.peak as f64 / 1e6, ended.seconds);
}

/// Lines of two bytes, and lines of hundreds of faults: what is said of them is not kept until the end.
#[test]
fn many_sites_at_fault_on_short_lines_cost_little() {
    let folder = tempfile::tempdir().unwrap();
    put(folder.path(), "short.ndjson", "{}\n".repeat(60_000));
    let keys = (0..499).fold(String::new(), |mut text, n| {
        let _ = write!(text, ",\"k{n}\":1");
        text
    });
    put(folder.path(), "wide.ndjson", format!("{{\"kind\":\"site\"{keys}}}\n").repeat(200));
    // the system counts the memory of this process, which keeps what was said, as the program's: the longer answer is last
    for file in ["wide.ndjson", "short.ndjson"] {
        let ended = asleft(folder.path(), &["check", file, "--format", "json"]);
        assert_eq!(ended.code, Some(2));
        costs_little(&ended, file);
    }
}

/// An overlay on an invented network, with what is given in place of its windows and its settings.
fn overlay(in_force: &str, settings: &str) -> String {
    let head = "kind: overlay\nnetwork: hostile-net\ntitle: Hostile (invented)\nversion: 1.0.0\n\
                issue: { name: Issue 1, published: 2026-01-01 }\nextends: { standard: as-nzs-4777.2/2020-amd2 }\n";
    format!("{head}in-force:\n{in_force}sources:\n  g: {{ document: Guide, basis: invented }}\nsettings:\n{settings}")
}

/// Dates and conditions multiply: what nobody can have meant is refused before anybody tries it out.
#[test]
fn conditions_that_multiply_end_in_a_sentence() {
    let day = |n: usize| format!("20{:02}-{:02}-{:02}", 10 + n / 144, 1 + n / 12 % 12, 1 + n % 12);
    let plain = "  sustained-overvoltage: { threshold: { require: 255 V, source: g } }\n";
    let many_windows = (0..60).fold(String::new(), |text, n| {
        text + &format!("  - {{ applied: from {0}, approved: from {0}, installed: until {0}, today: from {0} }}\n", day(n))
    });
    let cases = (0..60).fold("  sustained-overvoltage:\n    threshold:\n      cases:\n".to_owned(), |text, n| {
        let at = n + 1;
        let when =
            format!("nameplate-total: over {at} kVA, approved-export: over {at} kW, nameplate: over {at} kVA, applied: from {}", day(n));
        text + &format!("        - {{ when: {{ {when} }}, require: 255 V, source: g }}\n")
    });
    let folder = tempfile::tempdir().unwrap();
    let site = instead("network: quillbrook", "network: hostile-net").replace("overlay: ^2.0, ", "");
    put(folder.path(), "site.yaml", site);
    for (name, text) in [("windows", overlay(&many_windows, plain)), ("cases", overlay("  - { applied: from 2025-01-01 }\n", &cases))] {
        put(folder.path(), &format!("{name}/overlays/hostile-net/1.0.0.yaml"), text);
        for verb in [["lint", "overlays/hostile-net/1.0.0"].as_slice(), &["check", "site.yaml"], &["list"]] {
            let ended = asleft(folder.path(), &[verb, &["--profiles", name]].concat());
            let said = says(&ended).split_whitespace().collect::<Vec<_>>().join(" ");
            assert_eq!(ended.code, Some(if verb[0] == "lint" { 1 } else { 2 }), "{name} {verb:?}: {said}");
            assert!(said.contains("more kinds of site apart than anybody can have meant"), "{name} {verb:?}: {said}");
            costs_little(&ended, &format!("{name} {}", verb[0]));
        }
    }
}

/// A draft that begins on a day is linted like any other: it took two minutes.
#[test]
fn a_draft_that_begins_on_a_day_is_linted() {
    let folder = tempfile::tempdir().unwrap();
    let draft = std::fs::read(root().join("tests/cases/diff/a-draft/draft.yaml")).unwrap();
    put(folder.path(), "profiles/overlays/quillbrook/3.1.0.yaml", draft);
    let ended = asleft(folder.path(), &["lint", "--profiles", "profiles", "overlays/quillbrook/3.1.0"]);
    assert!(ended.code == Some(1) && says(&ended).contains("1 fault, 0 remarks"), "{}", says(&ended));
    costs_little(&ended, "a draft");
}

/// A text that nobody reads, in every kind of file: it was laid out in tables that count no further, and compared.
#[test]
fn a_text_longer_than_anybody_reads_is_refused_by_every_reader() {
    let folder = tempfile::tempdir().unwrap();
    let long = "w ".repeat(40_000);
    let put = |name: &str, text: &str, what: &str| put(folder.path(), name, instead_in(text, what, &format!("{what}{long}")));
    let kept = |path: &str| std::fs::read_to_string(root().join(path)).unwrap();
    put("site.yaml", &site(), "site: ");
    put("sites.ndjson", &kept("tests/attested/beck-end-4.ndjson"), "\"site\": \"");
    put("scenario.yaml", &kept("tests/cases/scenario/own-file/mine.yaml"), "teaches: ");
    put("attestation.yaml", &kept("tests/attested/whole/attestations/standards/hill-code/2021-amd1/fernhold.yaml"), "office: ");
    put("columns.yaml", &kept("tests/cases/check/filled-sheet-own-columns/columns.yaml"), "setting: ");
    put("standard.yaml", &kept("tests/attested/profiles/standards/hill-code/2021-amd1.yaml"), "document: ");
    put("work.yaml", &kept("tests/register/commissioning/larkspur-row-3.yaml"), "what: ");
    put("key.yaml", &kept("tests/exercises/key.yaml"), "made-from: ");
    put("export.yaml", &kept("tests/register/operator-columns.yaml"), "always: ");
    let (good, office) = (root().join("tests/sites/larkspur-row-3.yaml"), root().join("tests/register/office.db"));
    let (good, office) = (good.to_str().unwrap(), office.to_str().unwrap());
    let attested = root().join("tests/attested/profiles");
    for verb in [
        ["check", "site.yaml"].as_slice(),
        &["check", "sites.ndjson"],
        &["scenario", good, "scenario.yaml", "--no-plot"],
        &["attest", "check", "attestation.yaml", "--profiles", attested.to_str().unwrap()],
        &["check", good, "--filled", good, "--columns", "columns.yaml"],
        &["lint", "standard.yaml"],
        &["test-sheet", good, "--results", "work.yaml"],
        &["exercise", "mark", "key.yaml", good],
        &["register", "export", "--register", office, "--columns", "export.yaml"],
    ] {
        let ended = asleft(folder.path(), verb);
        let said = says(&ended);
        assert!(ended.code == Some(2) && said.contains("long-text"), "{verb:?}: {:?} {said:.600}", ended.code);
        assert!(said.len() < 10_000, "{verb:?}: {} bytes said", said.len());
    }
}

fn instead_in(text: &str, what: &str, other: &str) -> String {
    assert!(text.contains(what), "{what}");
    text.replacen(what, other, 1)
}

/// An office's name of one column for what was found and what was left: what was left would never be read.
#[test]
fn a_column_is_one_thing() {
    let folder = tempfile::tempdir().unwrap();
    put(folder.path(), "site.yaml", site());
    let check = |map: &str, heading: &str, row: &str| {
        put(folder.path(), "sheet.csv", format!("{heading}\n{row}\n"));
        put(folder.path(), "map.yaml", format!("kind: column-map\ncolumns: {{ {map} }}\n"));
        asleft(folder.path(), &["check", "site.yaml", "--filled", "sheet.csv", "--columns", "map.yaml", "--as-of", "2026-11-25"])
    };
    let (heading, row) = ("device,setting,Before,as left", "inverter-1,sustained-overvoltage/threshold,255 V,290 V");
    for map in ["as-found: Before, as-left: Before", "as-found: Before, as-left: bef-ore", "as-left: Before, as-found: Bеfоrе"] {
        let ended = check(map, heading, row);
        assert!(ended.code == Some(2) && says(&ended).contains("column-of-two"), "{map}: {}", says(&ended));
    }
    let ended = check("as-found: as left", heading, row);
    assert!(ended.code == Some(2) && says(&ended).contains("column-of-two"), "{}", says(&ended));
    // what an office calls its devices may be what others call units
    let ended = check("device: Unit, as-found: Before", "Unit,setting,Before,as left", "inverter-1,overvoltage-1/threshold,255 V,290 V");
    assert!(ended.code == Some(1) && says(&ended).contains("290 V"), "{}", says(&ended));
}

/// Each region takes in the whole file: many of them in a large file are more than anybody can have meant.
#[test]
fn regions_that_multiply_end_in_a_sentence() {
    let folder = tempfile::tempdir().unwrap();
    let whole = std::fs::read_to_string(root().join("tests/attested/profiles/standards/hill-code/2021-amd1.yaml")).unwrap();
    let (head, _) = whole.split_once("regions:").unwrap();
    let standard = |count: usize| {
        let regions =
            (0..count).fold(String::new(), |text, n| text + &format!("  r{n}: {{ title: Region {n}, made-of: [hill-curves] }}\n"));
        format!("{head}regions:\n{regions}")
    };
    put(folder.path(), "profiles/standards/hill-code/2021-amd1.yaml", standard(5_000));
    for verb in [
        ["lint", "--profiles", "profiles", "standards/hill-code/2021-amd1"].as_slice(),
        &["list", "--profiles", "profiles"],
        &["attest", "list", "--profiles", "profiles"],
        &["diff", "profiles/standards/hill-code/2021-amd1.yaml", "profiles/standards/hill-code/2021-amd1.yaml"],
    ] {
        let ended = asleft(folder.path(), verb);
        assert!(ended.code != Some(0) && says(&ended).contains("many-regions"), "{verb:?}: {:?} {:.600}", ended.code, says(&ended));
        costs_little(&ended, &verb.join(" "));
    }
    put(folder.path(), "profiles/standards/hill-code/2021-amd1.yaml", standard(200));
    let ended = asleft(folder.path(), &["lint", "--profiles", "profiles", "standards/hill-code/2021-amd1"]);
    assert_eq!(ended.code, Some(0), "{}", says(&ended));
    costs_little(&ended, "200 regions");
}
