//! Sheets as people write them: their words, their commas, their folders; and what is no sheet at all.

use crate::program;

use program::{DAY, asleft, root, text};
use serde_json::Value;
use std::path::{Path, PathBuf};
use std::process::Output;

const SITE: &str = "tests/sites/larkspur-row-3.yaml";
const OTHER: &str = "tests/sites/kiln-row-19.yaml";

/// The rows of a site's sheet, each as left with what `left` makes of its setting and what is required.
fn sheet(site: &str, separator: u8, left: &dyn Fn(&str, &str) -> String) -> Vec<u8> {
    let printed = asleft(&["sheet", site, "--format", "csv", "--as-of", DAY]);
    let mut rows = csv::Reader::from_reader(&printed.stdout[..]);
    let heading = rows.headers().unwrap().clone();
    let at = |name: &str| heading.iter().position(|head| head == name).unwrap();
    let (setting, required, as_left) = (at("setting"), at("required"), at("as left"));
    let mut table = csv::WriterBuilder::new().delimiter(separator).from_writer(Vec::new());
    table.write_record(&heading).unwrap();
    for row in rows.records() {
        let mut row: Vec<String> = row.unwrap().iter().map(str::to_owned).collect();
        if row[as_left].is_empty() {
            let right = match row[setting].as_str() {
                "date" => "2026-11-20",
                "role" => "licensed installer",
                "known-by" => "display",
                // a range is left as the region sets it
                _ if ["at ", "under "].iter().any(|range| row[required].starts_with(range)) => "",
                // of several that would do, the first
                _ => row[required].split(" or ").next().unwrap(),
            };
            row[as_left] = left(&row[setting], right);
        }
        table.write_record(&row).unwrap();
    }
    table.into_inner().unwrap()
}

fn as_required(_: &str, right: &str) -> String {
    right.to_owned()
}

fn written(folder: &Path, name: &str, bytes: &[u8]) -> PathBuf {
    let path = folder.join(name);
    std::fs::write(&path, bytes).unwrap();
    path
}

fn check(site: &str, sheet: &Path) -> (Option<i32>, Value) {
    let output = asleft(&["check", site, "--filled", sheet.to_str().unwrap(), "--format", "json", "--as-of", DAY]);
    (output.status.code(), serde_json::from_slice(&output.stdout).unwrap())
}

fn on_one_line(output: &Output) -> String {
    let all = [&output.stdout[..], &output.stderr].concat();
    String::from_utf8_lossy(&all).split_whitespace().collect::<Vec<_>>().join(" ")
}

#[test]
fn words_in_any_case_and_those_of_displays_are_taken() {
    let folder = tempfile::tempdir().unwrap();
    let capital = |text: &str| text[..1].to_uppercase() + &text[1..];
    type Spells<'s> = &'s dyn Fn(&str, &str) -> String;
    let (large, first): (Spells<'_>, Spells<'_>) = (
        &|setting, right| if setting == "role" || right.contains(char::is_numeric) { right.to_owned() } else { right.to_uppercase() },
        &|_, right| if right.is_empty() || right.contains(char::is_numeric) { right.to_owned() } else { capital(right) },
    );
    let displays: Spells<'_> = &|_, right| match right {
        "enabled" => "ON".to_owned(),
        "off" => "Disabled".to_owned(),
        "australia-a" => "Australia A".to_owned(),
        right => right.to_owned(),
    };
    for (n, spelt) in [large, first, displays].into_iter().enumerate() {
        let file = written(folder.path(), &format!("{n}.csv"), &sheet(SITE, b',', spelt));
        let (code, answer) = check(SITE, &file);
        assert_eq!((code, &answer["sites"][0]["verdict"]), (Some(0), &Value::from("complies")), "{n}: {answer:#}");
        assert_eq!(answer["sites"][0]["findings"], Value::Array(Vec::new()), "{n}");
    }
}

#[test]
fn a_word_that_is_taken_means_what_it_says() {
    let folder = tempfile::tempdir().unwrap();
    for (setting, word) in [("export-limit/state", "OFF"), ("region-selected", "Australia B"), ("volt-watt/state", "Disabled")] {
        let left = |key: &str, right: &str| if key == setting { word.to_owned() } else { right.to_owned() };
        let (code, answer) = check(SITE, &written(folder.path(), "a.csv", &sheet(SITE, b',', &left)));
        assert_eq!((code, &answer["sites"][0]["verdict"]), (Some(1), &Value::from("does-not-comply")), "{setting}: {answer:#}");
    }
}

#[test]
fn decimal_commas_are_read_where_semicolons_part_the_cells_and_mean_the_same() {
    let folder = tempfile::tempdir().unwrap();
    let comma = |setting: &str, right: &str| if setting == "role" { right.to_owned() } else { right.replace('.', ",") };
    let (code, answer) = check(SITE, &written(folder.path(), "right.csv", &sheet(SITE, b';', &comma)));
    assert_eq!((code, &answer["sites"][0]["verdict"]), (Some(0), &Value::from("complies")), "{answer:#}");
    for (setting, wrong) in [("sustained-overvoltage/threshold", "257,5 V"), ("volt-watt/points", "100 % at 252,5 V, 20 % at 260 V")] {
        let left = |key: &str, right: &str| if key == setting { wrong.to_owned() } else { comma(key, right) };
        let (code, answer) = check(SITE, &written(folder.path(), "wrong.csv", &sheet(SITE, b';', &left)));
        let findings = answer["sites"][0]["findings"].as_array().unwrap();
        assert_eq!((code, findings.len()), (Some(1), 1), "{setting}: {answer:#}");
        assert!(text(&findings[0]["headline"]).contains(&wrong.replace(',', ".")[..5]) || setting.contains("points"), "{answer:#}");
    }
    // before three digits it may part thousands; between commas nobody can tell
    let left = |key: &str, right: &str| if key == "export-limit/site-total" { "4,999 kW".to_owned() } else { right.to_owned() };
    let (code, _) = check(SITE, &written(folder.path(), "either.csv", &sheet(SITE, b';', &left)));
    assert_eq!(code, Some(2));
    let (code, _) = check(SITE, &written(folder.path(), "commas.csv", &sheet(SITE, b',', &comma)));
    assert_eq!(code, Some(2));
}

#[test]
fn a_date_in_another_order_is_refused_with_the_dates_that_it_may_be() {
    let folder = tempfile::tempdir().unwrap();
    for (date, says) in [
        ("01/03/2026", "write `2026-03-01` if it is 1 March, or `2026-01-03` if it is 3 January"),
        ("16.9.2026", "write `2026-09-16`"),
        ("09/16/2026", "write `2026-09-16`"),
        ("tomorrow", "write year, month and day as `2026-02-03`"),
    ] {
        let left = |key: &str, right: &str| if key == "date" { date.to_owned() } else { right.to_owned() };
        let file = written(folder.path(), "a.csv", &sheet(SITE, b',', &left));
        let output = asleft(&["check", SITE, "--filled", file.to_str().unwrap(), "--as-of", DAY]);
        let said = on_one_line(&output);
        assert!(output.status.code() == Some(2) && said.contains(says), "{date}: {said}");
    }
}

#[test]
fn a_sheet_of_another_site_is_one_message() {
    let folder = tempfile::tempdir().unwrap();
    let file = written(folder.path(), "a.csv", &sheet(OTHER, b',', &as_required));
    let (code, answer) = check(SITE, &file);
    let findings = answer["sites"][0]["findings"].as_array().unwrap();
    assert_eq!((code, findings.len()), (Some(2), 1), "{answer:#}");
    assert!(text(&findings[0]["headline"]).contains("kiln-row-19"), "{answer:#}");
}

#[test]
fn a_title_above_the_heading_is_told() {
    let folder = tempfile::tempdir().unwrap();
    for separator in [b',', b';'] {
        let rows = sheet(SITE, separator, &as_required);
        let file = written(folder.path(), "a.csv", &[&b"Larkspur Row, as left in April\n\n"[..], &rows].concat());
        let (code, answer) = check(SITE, &file);
        let findings = answer["sites"][0]["findings"].as_array().unwrap();
        assert_eq!((code, findings.len(), &findings[0]["name"]), (Some(2), 1, &Value::from("title-above-heading")), "{answer:#}");
        assert!(text(&findings[0]["headline"]).contains("line 3"), "{answer:#}");
    }
}

#[test]
fn what_is_no_table_is_named_as_what_it_is() {
    let folder = tempfile::tempdir().unwrap();
    for (name, bytes, what) in [
        ("a.xlsx", &b"PK\x03\x04\x14\0\0\0\0\0workbook"[..], "a workbook of a spreadsheet"),
        ("b.jpg", b"\xff\xd8\xff\xe0\0\x10JFIF\0", "a photo"),
        ("c.heic", b"\0\0\0\x18ftypheic\0\0\0\0", "a photo"),
        ("d.png", b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR", "a picture"),
        ("e.pdf", b"%PDF-1.4\n1 0 obj\nendobj\n", "a PDF"),
    ] {
        let file = written(folder.path(), name, bytes);
        let output = asleft(&["check", SITE, "--filled", file.to_str().unwrap()]);
        let says = on_one_line(&output);
        assert!(output.status.code() == Some(2) && says.contains(&format!("this is {what}")), "{name}: {says}");
        let output = asleft(&["check", file.to_str().unwrap()]);
        assert!(output.status.code() == Some(2) && on_one_line(&output).contains(what), "{name}");
    }
}

#[test]
fn lagging_and_leading_end_in_a_whole_sentence() {
    let folder = tempfile::tempdir().unwrap();
    for word in ["lagging", "leading"] {
        let site = format!(
            "kind: site\nsite: a\nrequirements: {{ standard: as-nzs-4777.2/2020-amd2, region: australia-a }}\ndevices:\n  inverter-1:\n    \
             as-left:\n      settings:\n        fixed-power-factor: {{ power-factor: 0.95 {word}, direction: {word} }}\n"
        );
        let file = written(folder.path(), "a.yaml", site.as_bytes());
        let output = asleft(&["check", file.to_str().unwrap(), "--format", "json"]);
        let answer: Value = serde_json::from_slice(&output.stdout).unwrap();
        let findings = answer["sites"][0]["findings"].as_array().unwrap();
        assert_eq!(findings.len(), 2, "{answer:#}");
        for finding in findings {
            let hint = text(&finding["hint"]);
            assert!(hint.contains("absorbing` or `supplying`") && hint.contains("manual") && hint.split_whitespace().count() > 8, "{hint}");
        }
    }
}

/// What `--filled` says of a device, a verb says of a site's file that states the same.
#[test]
fn curve_identify_and_rise_take_a_filled_sheet() {
    let folder = tempfile::tempdir().unwrap();
    let points = "100 % at 250 V, 20 % at 262 V";
    let left = |key: &str, right: &str| if key == "volt-watt/points" { points.to_owned() } else { right.to_owned() };
    let file = written(folder.path(), "a.csv", &sheet(SITE, b',', &left));
    let stated =
        std::fs::read_to_string(root().join(SITE)).unwrap().replace("[[253 V, 100 %], [260 V, 20 %]]", "[[250 V, 100 %], [262 V, 20 %]]");
    let site = written(folder.path(), "larkspur-row-3.yaml", stated.as_bytes());
    let (site, file) = (site.to_str().unwrap(), file.to_str().unwrap());
    let curve = |arguments: &[&str]| {
        let output = asleft(&[&["curve"], arguments, &["--format", "json", "--as-of", DAY][..]].concat());
        assert_eq!(output.status.code(), Some(0), "{}", on_one_line(&output));
        serde_json::from_slice::<Value>(&output.stdout).unwrap()
    };
    for of in ["volt-watt", "power"] {
        let places = ["--of", of, "--at", "245..265:5"];
        let by_sheet = curve(&[&[SITE, "--filled", file][..], &places].concat());
        assert_eq!(by_sheet, curve(&[&[site][..], &places].concat()), "{of}");
        assert_ne!(by_sheet, curve(&[&[SITE][..], &places].concat()), "{of}");
    }
    let output = asleft(&["identify", SITE, "--filled", file, "--format", "json", "--as-of", DAY]);
    let answer: Value = serde_json::from_slice(&output.stdout).unwrap();
    let candidate = &answer["devices"][0]["candidates"][0];
    assert_eq!(candidate["differ"], Value::from(vec!["volt-watt/points"]), "{answer:#}");
    let woolshed = "tests/sites/woolshed-track-11.yaml";
    let file = written(folder.path(), "b.csv", &sheet(woolshed, b',', &as_required));
    let output = asleft(&["rise", woolshed, "--filled", file.to_str().unwrap(), "--no-plot", "--as-of", DAY]);
    assert!(matches!(output.status.code(), Some(0 | 1)), "{}", on_one_line(&output));
    let output = asleft(&["rise", SITE, "--filled", file.to_str().unwrap(), "--no-plot", "--as-of", DAY]);
    assert!(output.status.code() == Some(2) && on_one_line(&output).contains("woolshed-track-11"), "{}", on_one_line(&output));
}

/// One row for each sheet, and each as it is judged alone.
#[test]
fn a_folder_of_sheets_has_one_row_each() {
    let folder = tempfile::tempdir().unwrap();
    let sheets = folder.path().join("sheets");
    std::fs::create_dir(&sheets).unwrap();
    let wrong = |key: &str, right: &str| if key == "sustained-overvoltage/threshold" { "258 V".to_owned() } else { right.to_owned() };
    let right = written(&sheets, "a.csv", &sheet(OTHER, b';', &as_required));
    let wrong = written(&sheets, "b.csv", &sheet(SITE, b',', &wrong));
    written(&sheets, "notes.txt", b"of the day\n");
    let arguments = ["check", SITE, OTHER, "--filled", sheets.to_str().unwrap(), "--as-of", DAY];
    let text_form = asleft(&arguments);
    let shown = String::from_utf8(text_form.stdout.clone()).unwrap();
    let row = |of: &str| shown.lines().filter(|line| line.contains(of)).count();
    assert_eq!((row("a.csv"), row("b.csv"), text_form.status.code()), (1, 1, Some(1)), "{shown}");
    assert!(on_one_line(&text_form).contains("notes.txt"), "{}", on_one_line(&text_form));
    let output = asleft(&[&arguments[..], &["--format", "json"]].concat());
    let answer: Value = serde_json::from_slice(&output.stdout).unwrap();
    for (n, (site, sheet)) in [(OTHER, &right), (SITE, &wrong)].into_iter().enumerate() {
        let (_, alone) = check(site, sheet);
        assert_eq!(answer["sites"][n], alone["sites"][0]);
    }
    // a site without a sheet is no pass, nor is a sheet without its site
    let without =
        asleft(&["check", SITE, OTHER, "tests/sites/woolshed-track-11.yaml", "--filled", sheets.to_str().unwrap(), "--as-of", DAY]);
    assert!(on_one_line(&without).contains("woolshed-track-11"), "{}", on_one_line(&without));
    let unknown = asleft(&["check", SITE, "--filled", sheets.to_str().unwrap(), "--as-of", DAY]);
    assert_eq!(unknown.status.code(), Some(2), "{}", on_one_line(&unknown));
}
