//! What people are told to do: a sheet says the same with a label map and without, no region is selected that a device does
//! not have, an owner learns what stays live, and a file is not taken for another network's.

use serde_json::Value as Json;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../..").canonicalize().unwrap()
}

fn asleft(arguments: &[&str]) -> Output {
    let mut command = Command::new(env!("CARGO_BIN_EXE_asleft"));
    command.current_dir(root()).env("COLUMNS", "100").env("NO_COLOR", "1").env_remove("ASLEFT_PROFILES");
    command.args(arguments).output().unwrap()
}

fn text(output: &Output) -> String {
    String::from_utf8_lossy(&output.stdout).into_owned()
}

fn flowing(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// What is only read back is never entered, by whatever words the display has for it.
#[test]
fn a_label_map_has_nobody_enter_what_is_only_verified() {
    let (mut entered, mut verified) = (0, 0);
    for site in std::fs::read_dir(root().join("tests/sites")).unwrap() {
        let path = site.unwrap().path();
        let path = path.to_str().unwrap();
        let output = asleft(&["sheet", path, "--as-of", "2026-11-25", "--format", "json"]);
        let Ok(sheet) = serde_json::from_slice::<Json>(&output.stdout) else { continue };
        let told = text(&asleft(&["sheet", path, "--as-of", "2026-11-25"]));
        let csv = text(&asleft(&["sheet", path, "--as-of", "2026-11-25", "--format", "csv"]));
        for device in sheet["devices"].as_array().unwrap().iter().filter(|device| device["labels"]["title"].is_string()) {
            let rows = device["rows"].as_array().unwrap();
            for row in rows {
                for on in row["display"].as_array().unwrap() {
                    let (task, enter, shows) = (row["task"].as_str().unwrap(), &on["enter"], &on["shows"]);
                    match task {
                        "enter" => assert_eq!(enter, shows, "{path}: {row}"),
                        _ => assert!(enter.is_null(), "{path}: {row}"),
                    }
                    let Some(shows) = shows.as_str() else { continue };
                    let word = if task == "enter" { "enter" } else { "verify" };
                    if ["enter", "verify"].contains(&task) && !shows.contains(' ') {
                        assert!(told.contains(&format!("{word} {shows}")), "{path}: {word} {shows}\n{told}");
                    }
                    // the sheet to fill in has the display's words, and the task of the setting
                    let key = format!("{} > {}", on["menu"].as_str().unwrap_or_default(), on["words"].as_str().unwrap());
                    let mark =
                        format!(",{},{}", device["device"].as_str().unwrap(), if task == "enter" { "enter," } else { "verify only," });
                    let lines: Vec<&str> = csv.lines().filter(|line| line.contains(&format!(",{key},"))).collect();
                    // a choice among modes stands for several settings, and has one line
                    let is_one_settings =
                        rows.iter().filter(|row| row["display"].to_string().contains(on["words"].as_str().unwrap())).count() == 1;
                    if let (true, "enter" | "verify", false) = (is_one_settings, task, lines.is_empty()) {
                        assert!(lines.iter().any(|line| line.contains(&mark)), "{path}: {mark}{key}: {lines:?}");
                    }
                    entered += usize::from(task == "enter");
                    verified += usize::from(task == "verify");
                }
            }
        }
    }
    assert!(entered > 20 && verified > 100, "{entered} entered, {verified} verified");
}

/// A device of an older edition is not told to select a region of the newer one: not by the sheet, not by the sheet to fill
/// in, not by what is said of missing values.
#[test]
fn a_device_of_an_older_edition_selects_no_newer_region() {
    let folder = tempfile::tempdir().unwrap();
    let site = folder.path().join("site.yaml");
    std::fs::write(
        &site,
        "kind: site\nsite: older\nrequirements: { standard: as-nzs-4777.2/2020-amd2, region: australia-a }\n\
         dates: { applied: 2026-05-01, installed: 2026-06-01 }\nsupply: { phases: 1, nominal: 230 V line-neutral }\n\
         devices:\n  inverter-1:\n    certified: { standard: as-nzs-4777.2, edition: { year: 2015 } }\n    nameplate: 5 kVA\n\
         \x20   as-left: { date: 2026-06-01, known-by: display, settings: {} }\n",
    )
    .unwrap();
    let site = site.to_str().unwrap();
    let says = "certified to as-nzs-4777.2/2015, so it does not have the region Australia A";
    let sheet = flowing(&text(&asleft(&["sheet", site, "--as-of", "2026-11-25"])));
    assert!(sheet.contains("SELECT nothing yet") && sheet.contains(says), "{sheet}");
    let json: Json = serde_json::from_slice(&asleft(&["sheet", site, "--as-of", "2026-11-25", "--format", "json"]).stdout).unwrap();
    assert!(json["devices"][0]["no-region"].as_str().unwrap().contains(says), "{json}");
    let csv = text(&asleft(&["sheet", site, "--as-of", "2026-11-25", "--format", "csv"]));
    let select = csv.lines().find(|line| line.contains(",select,")).unwrap();
    assert!(select.contains(says) && !select.contains(",australia-a,"), "{select}");
    let check = flowing(&text(&asleft(&["check", site, "--as-of", "2026-11-25"])));
    assert!(check.contains(says) && !check.contains("select Australia A"), "{check}");
}

/// A hybrid keeps circuits live when the network is gone: its owner is told, and not that nobody can be hurt.
#[test]
fn the_owner_of_a_hybrid_learns_what_stays_live() {
    for (record, is_hybrid) in
        [("tests/records/mangle-lane-11/close-out.json", true), ("tests/records/wattle-bend-6/close-out.json", false)]
    {
        let folder = tempfile::tempdir().unwrap();
        let out = folder.path().join("paper.html");
        let output = asleft(&["report", record, "--out", out.to_str().unwrap()]);
        let of_owner = folder.path().join("paper.owner.html");
        assert!(of_owner.is_file(), "{record}: {}", String::from_utf8_lossy(&output.stderr));
        let paper = flowing(&std::fs::read_to_string(&of_owner).unwrap());
        assert!(!paper.contains("nobody is hurt"), "{record}");
        assert!(paper.contains("It stops feeding the network when the network is gone"), "{record}");
        assert_eq!(paper.contains("Circuits on backup stay live"), is_hybrid, "{record}");
    }
}

/// A file among profiles is that of its folder; a draft may lie anywhere.
#[test]
fn an_overlay_filed_under_another_network_is_refused() {
    let folder = tempfile::tempdir().unwrap();
    let shipped = std::fs::read_to_string(root().join("profiles/overlays/quillbrook/3.0.0.yaml")).unwrap();
    let lint = |path: &str| {
        let file = folder.path().join(path);
        std::fs::create_dir_all(file.parent().unwrap()).unwrap();
        std::fs::write(&file, &shipped).unwrap();
        let output = asleft(&["lint", file.to_str().unwrap(), "--as-of", "2026-11-25"]);
        (output.status.code().unwrap(), flowing(&(text(&output) + &String::from_utf8_lossy(&output.stderr))))
    };
    for (path, says) in [
        (
            "overlays/saltmarsh-islands/3.0.0.yaml",
            "network `quillbrook`, in a file that is kept as `overlays/saltmarsh-islands/3.0.0.yaml`",
        ),
        ("overlays/quillbrook/3.1.0.yaml", "version `3.0.0`, in a file that is kept as `overlays/quillbrook/3.1.0.yaml`"),
        ("overlays/quillbrook/draft.yaml", "version `3.0.0`, in a file that is kept as `overlays/quillbrook/draft.yaml`"),
        ("drafts/3.1.0.yaml", "version `3.0.0`, in a file that is kept as"),
    ] {
        let (code, told) = lint(path);
        assert!(code == 2 && told.contains("misfiled") && told.contains(says), "{path}: {code} {told}");
    }
    for path in ["overlays/quillbrook/3.0.0.yaml", "drafts/quillbrook.yaml", "3.0.0.yaml"] {
        let (code, told) = lint(path);
        assert!(code == 0 && !told.contains("misfiled"), "{path}: {code} {told}");
    }
}
