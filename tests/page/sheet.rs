//! The page of `sheet --format html` in a real browser: as left is in view on a phone, what is filled in is saved as the
//! table that `check` reads, with the verdict of the same table filled in by hand, and nothing is sent anywhere. One
//! device is one sheet of paper.

use crate::program::{DAY, asleft};
use crate::webdriver::Browser;
use serde_json::{Value, json};
use std::path::Path;

const SITE: &str = "tests/sites/larkspur-row-3.yaml";

/// The page in a file of this folder, by its address.
fn page(site: &str, folder: &Path, more: &[&str]) -> String {
    let output = asleft(&[&["sheet", site, "--as-of", DAY, "--format", "html"][..], more].concat());
    assert_eq!(output.status.code(), Some(0));
    let file = folder.join("sheet.html");
    std::fs::write(&file, output.stdout).unwrap();
    format!("file://{}", file.display())
}

/// What `check` says of a table: the exit code, and each finding by name and setting.
fn judged(table: &str) -> (Option<i32>, Vec<String>) {
    let file = tempfile::NamedTempFile::with_suffix(".csv").unwrap();
    std::fs::write(file.path(), table).unwrap();
    let output = asleft(&["check", SITE, "--filled", file.path().to_str().unwrap(), "--as-of", DAY, "--format", "json"]);
    let answer: Value = serde_json::from_slice(&output.stdout).unwrap();
    let findings = answer["sites"][0]["findings"].as_array().unwrap().iter();
    (output.status.code(), findings.map(|finding| format!("{} {}", finding["name"], finding["setting"])).collect())
}

/// Fills in what is required but for one value, by the events that a finger makes, and gives the table that is saved.
fn filled_in(browser: &Browser, instead: &[(&str, &str)]) -> String {
    browser.run(
        "const instead = new Map(arguments[0]);
         const noted = new Map([['date', '2026-11-20'], ['role', 'licensed installer'], ['known-by', 'display']]);
         for (const row of document.querySelectorAll('tr[data-setting]')) {
           const field = row.querySelector('[data-column=\"as left\"]');
           const { setting, required } = row.dataset;
           field.value = instead.get(setting) ?? noted.get(setting) ?? required;
           field.dispatchEvent(new Event('input', { bubbles: true }));
         }",
        json!([instead]),
    );
    let saved = browser.run_later(
        "const done = arguments[0];
         const of = URL.createObjectURL;
         URL.createObjectURL = (blob) => { blob.text().then(done); return of.call(URL, blob); };
         document.getElementById('save').click();",
    );
    saved.as_str().unwrap().to_owned()
}

#[test]
#[ignore = "needs chromium and chromium-driver"]
fn what_is_filled_in_on_a_phone_is_judged_as_the_same_table() {
    let (browser, folder) = (Browser::start(), tempfile::tempdir().unwrap());
    for more in [&[][..], &["--all"]] {
        browser.go(&page(SITE, folder.path(), more));
        for (instead, code) in [
            (&[][..], Some(0)),
            (&[("sustained-overvoltage/threshold", "258")], Some(1)),
            (&[("reconnection/ramp-rate", "")], Some(1)),
            (&[("role", "=1+1, \"or\" so")], Some(0)),
        ] {
            // the region brings ranges: nobody enters one
            let ranges = ["undervoltage-1", "undervoltage-2", "overvoltage-1", "overvoltage-2", "underfrequency-1", "overfrequency-1"];
            let left: Vec<String> = ranges.iter().map(|stage| format!("{stage}/definite-delay")).collect();
            let instead: Vec<(&str, &str)> = left.iter().map(|key| (key.as_str(), "")).chain(instead.iter().copied()).collect();
            let saved = filled_in(&browser, &instead);
            let (found, findings) = judged(&saved);
            assert_eq!(found, code, "{instead:?}: {findings:?}\n{saved}");
            assert_eq!(findings.len(), usize::from(code == Some(1)), "{findings:?}");
        }
        // what was filled in is still there when the page is opened again
        browser.go(&page(SITE, folder.path(), more));
        let kept = browser.run("return document.querySelector('tr[data-setting=\"role\"] [data-column=\"as left\"]').value", json!([]));
        assert_eq!(kept, "=1+1, \"or\" so");
        browser.run("localStorage.clear()", json!([]));
        let asked = browser.run("return performance.getEntriesByType('resource').map((entry) => entry.name)", json!([]));
        assert!(asked.as_array().unwrap().iter().all(|name| name.as_str().unwrap().starts_with("blob:")), "{asked}");
        let errors = browser.log("browser");
        assert!(errors.is_empty(), "{errors:#?}");
    }
}

#[test]
#[ignore = "needs chromium and chromium-driver"]
fn as_left_is_in_view_on_a_phone() {
    let (browser, folder) = (Browser::start(), tempfile::tempdir().unwrap());
    for (site, more) in [(SITE, &[][..]), ("tests/sites/kiln-row-19.yaml", &["--all"]), ("tests/sites/saltings-row-8.yaml", &[])] {
        browser.go(&page(site, folder.path(), more));
        browser.screen(390, 844, true);
        let outside = browser.run(
            "const wide = document.documentElement.scrollWidth > innerWidth ? [`the page is ${document.documentElement.scrollWidth} wide`] : [];
             const fields = [...document.querySelectorAll('[data-column=\"as left\"]')];
             const hidden = fields.filter((field) => {
               const box = field.getBoundingClientRect();
               return box.left < 0 || box.right > innerWidth || box.width < 80 || box.height < 40;
             });
             return [...wide, ...hidden.map((field) => field.getAttribute('aria-label'))]",
            json!([]),
        );
        assert_eq!(outside, json!([]), "{site}");
    }
}

/// How many pages a PDF of the browser has.
fn pages(pdf: &[u8]) -> usize {
    let text = String::from_utf8_lossy(pdf);
    text.matches("/Type /Page").count() - text.matches("/Type /Pages").count()
}

#[test]
#[ignore = "needs chromium and chromium-driver"]
fn what_an_owner_gets_is_two_pages() {
    let (browser, folder) = (Browser::start(), tempfile::tempdir().unwrap());
    for record in ["tests/records/mangle-lane-11/close-out.json", "tests/register/records/osier-bank-27.json"] {
        let paper = folder.path().join("paper.html");
        assert_eq!(asleft(&["report", record, "--replace", "--out", paper.to_str().unwrap()]).status.code(), Some(0));
        browser.go(&format!("file://{}", folder.path().join("paper.owner.html").display()));
        for (name, size) in [("a4", [8.27, 11.69]), ("letter", [8.5, 11.0])] {
            let printed = browser.save_print(&folder.path().join("owner.pdf"), size);
            assert!(pages(&printed) <= 2, "{record}, {name}: {} pages", pages(&printed));
        }
    }
}

#[test]
#[ignore = "needs chromium and chromium-driver"]
fn one_device_is_one_sheet_of_paper() {
    let (browser, folder) = (Browser::start(), tempfile::tempdir().unwrap());
    let pictures = std::env::temp_dir().join("asleft-page");
    std::fs::create_dir_all(&pictures).unwrap();
    browser.go(&page(SITE, folder.path(), &[]));
    for (paper, size) in [("a4", [8.27, 11.69]), ("letter", [8.5, 11.0])] {
        let printed = browser.save_print(&pictures.join(format!("sheet-{paper}.pdf")), size);
        assert_eq!(pages(&printed), 1, "{paper}");
    }
    for (name, width, is_phone) in [("phone", 390, true), ("laptop", 1280, false)] {
        browser.screen(width, 844, is_phone);
        browser.save_picture(&pictures.join(format!("sheet-{name}.png")), true);
    }
    println!("pictures in {}", pictures.display());
}
