//! What the program says, case by case. Each folder below `tests/cases` holds a `command`; some hold what it `printed`:
//! exit code, standard output, standard error. `ASLEFT_REWRITE=1` writes `printed` anew. The others have a row in `facts`.

use crate::ran;

use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../..").canonicalize().unwrap()
}

#[test]
fn every_case_prints_what_it_printed() {
    let mut wrong = Vec::new();
    for ran in ran::all() {
        let (now, file) = (ran.printed(), ran.folder().join("printed"));
        // those without have a row in `facts`
        let Ok(kept) = std::fs::read_to_string(&file) else { continue };
        if std::env::var_os("ASLEFT_REWRITE").is_some() {
            std::fs::write(&file, now).unwrap();
        } else if kept != now {
            wrong.push(format!("{}\nprints now:\n{now}", ran.name));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn no_line_is_wider_than_the_terminal() {
    for ran in ran::all() {
        // a template and pins are files, and no table; pages fold their own lines
        let is_file = ["json", "markdown", "csv", "html", "sarif"].iter().any(|form| ran.command.contains(form));
        if is_file || ["template ", "pin ", "attest new "].iter().any(|verb| ran.command.starts_with(verb)) {
            continue;
        }
        let width = if ran.command.contains("COLUMNS=80") { 80 } else { 100 };
        // paths are never folded; a line of somebody's file is cut by the renderer
        for line in ran.printed().lines().filter(|l| !l.contains(" | ") && !l.contains("tests/")) {
            assert!(line.chars().count() <= width, "{}: {line}", ran.name);
        }
    }
}

/// Every page: the README, and the book.
fn pages() -> Vec<String> {
    let book = std::fs::read_dir(root().join("docs")).unwrap().flatten().map(|entry| entry.file_name().into_string().unwrap());
    let mut pages: Vec<String> = book.filter(|name| name.ends_with(".md")).map(|name| format!("docs/{name}")).collect();
    pages.extend(["README.md", "DEVELOPERS.md", "profiles/README.md", "docs/decisions/README.md"].map(str::to_owned));
    pages.sort();
    pages
}

/// The pages show what the program prints: each block that begins `$ asleft` is run, and `…` alone
/// on a line stands for lines left out.
#[test]
fn the_pages_show_real_output() {
    let shown: usize = pages().iter().map(|page| shown_on(page)).sum();
    assert!(shown >= 45, "{shown}");
}

/// A block behind `<!-- path -->` stands in that file, but for lines left out.
#[test]
fn the_pages_show_files_as_they_are() {
    let mut shown = 0;
    for page in pages() {
        let text = std::fs::read_to_string(root().join(&page)).unwrap();
        for part in text.split("<!-- ").skip(1) {
            let (path, rest) = part.split_once(" -->\n```yaml\n").unwrap_or_else(|| panic!("{page}: no block behind <!-- {part}"));
            let file = format!("\n{}", std::fs::read_to_string(root().join(path)).unwrap());
            let block = rest.split_once("```").unwrap().0;
            assert!(matches_with_gaps(&format!("…\n{block}…\n"), &file), "{page}: not in {path}:\n{block}");
            shown += 1;
        }
    }
    assert!(shown >= 3, "{shown}");
}

/// A link to a file of the repository leads somewhere.
#[test]
fn the_pages_link_to_what_is_there() {
    let mut links = 0;
    for page in pages() {
        let (text, folder) = (std::fs::read_to_string(root().join(&page)).unwrap(), root().join(&page).parent().unwrap().to_owned());
        let targets = text.split("](").skip(1).filter_map(|rest| rest.split_once(')')).map(|(target, _)| target);
        for target in targets.filter(|target| !target.starts_with("http")) {
            let path = target.split('#').next().unwrap();
            assert!(path.is_empty() || folder.join(path).exists(), "{page}: {target} leads nowhere");
            links += 1;
        }
    }
    assert!(links >= 40, "{links}");
}

/// Runs every block of a page; how many there were.
fn shown_on(page: &str) -> usize {
    let text = std::fs::read_to_string(root().join(page)).unwrap();
    let mut shown = 0;
    for block in text.split("```console\n").skip(1).filter_map(|b| b.split_once("```")).map(|(block, _)| block) {
        let (command, printed) = block.split_once('\n').unwrap();
        let Some(arguments) = command.strip_prefix("$ asleft ") else { continue };
        let output = Command::new(env!("CARGO_BIN_EXE_asleft"))
            .current_dir(root())
            .env("COLUMNS", "100")
            .env("NO_COLOR", "1")
            .args(shell_words(arguments))
            .output()
            .unwrap();
        let now = String::from_utf8(output.stdout).unwrap() + &String::from_utf8(output.stderr).unwrap();
        assert!(matches_with_gaps(printed, &now), "{page}: `{command}` prints now:\n{now}");
        shown += 1;
    }
    shown
}

/// The words of a command as a shell parts them: what stands between double quotation marks is one.
fn shell_words(command: &str) -> Vec<String> {
    let mut words = vec![String::new()];
    for (n, part) in command.split('"').enumerate() {
        if n % 2 == 1 {
            words.last_mut().unwrap().push_str(part);
            continue;
        }
        for letter in part.chars() {
            match letter.is_whitespace() {
                true => words.push(String::new()),
                false => words.last_mut().unwrap().push(letter),
            }
        }
    }
    words.into_iter().filter(|word| !word.is_empty()).collect()
}

/// So are their pictures.
#[test]
fn the_pages_pictures_are_the_programs_own() {
    let folder = tempfile::tempdir().unwrap();
    let drawn = folder.path().join("drawn.svg");
    let pictures: [(&str, &[&str]); 2] = [
        ("docs/volt-watt.svg", &["curve", "tests/sites/larkspur-row-3.yaml", "--of", "volt-watt"]),
        ("docs/noon-creep.svg", &["events", "tests/sites/kiln-row-19.yaml:inverter-1:as-found", "tests/logs/noon-creep.csv"]),
    ];
    for (picture, command) in pictures {
        asleft(&[command, &["--as-of", "2026-11-25", "--svg", drawn.to_str().unwrap()]].concat());
        let (now, kept) = (std::fs::read_to_string(&drawn).unwrap(), root().join(picture));
        if std::env::var_os("ASLEFT_REWRITE").is_some() {
            std::fs::write(&kept, &now).unwrap();
        }
        assert!(std::fs::read_to_string(&kept).is_ok_and(|kept| kept == now), "{picture} is out of date: ASLEFT_REWRITE=1");
        std::fs::remove_file(&drawn).unwrap();
    }
}

/// Whether the parts between lines of `…` stand in the text, in order.
fn matches_with_gaps(shown: &str, text: &str) -> bool {
    let mut rest = text;
    for (n, part) in shown.split("…\n").enumerate() {
        match rest.find(part) {
            Some(at) if n > 0 || at == 0 => rest = &rest[at + part.len()..],
            _ => return false,
        }
    }
    shown.ends_with("…\n") || rest.trim().is_empty()
}

/// Schemas that editors use are those of the program.
#[test]
fn committed_schemas_are_the_programs_own() {
    let refusal = Command::new(env!("CARGO_BIN_EXE_asleft")).args(["schema", "nothing"]).output().unwrap().stderr;
    let refusal = String::from_utf8(refusal).unwrap();
    let (_, kinds) = refusal.split_once("possible values: ").expect("a list of all kinds");
    let kinds: Vec<&str> = kinds.split([',', ']', '\n', ' ']).take_while(|word| *word != "For").filter(|word| !word.is_empty()).collect();
    assert!(kinds.len() >= 12, "{kinds:?}");
    for kind in kinds {
        let printed = Command::new(env!("CARGO_BIN_EXE_asleft")).args(["schema", kind]).output().unwrap().stdout;
        let printed = String::from_utf8(printed).unwrap();
        let file = root().join(format!("schemas/{kind}.schema.json"));
        if std::env::var_os("ASLEFT_REWRITE").is_some() {
            std::fs::write(&file, &printed).unwrap();
        }
        assert!(std::fs::read_to_string(&file).is_ok_and(|kept| kept == printed), "{} is out of date: ASLEFT_REWRITE=1", file.display());
    }
}

/// A line that cannot be read is reported with its number, and does not stop the rest.
#[test]
fn a_broken_line_does_not_stop_the_rest() {
    let sites = std::fs::read_to_string(root().join("tests/cases/check/one-site-a-line/sites.ndjson")).unwrap();
    let good = sites.lines().find(|line| line.contains("larkspur")).unwrap();
    let long = "x".repeat(5 << 20);
    let mut bytes = Vec::new();
    for line in [good.as_bytes(), b"\xff\xfe", b"", long.as_bytes(), good.as_bytes()] {
        bytes.extend_from_slice(line);
        bytes.push(b'\n');
    }
    bytes.pop(); // the last line may end without a newline
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("sites.ndjson");
    std::fs::write(&file, bytes).unwrap();
    let output = Command::new(env!("CARGO_BIN_EXE_asleft")).arg("check").arg(&file).args(["--format", "json"]).output().unwrap();
    let answer: serde_json::Value = serde_json::from_slice(&output.stdout).unwrap();
    let sites = answer["sites"].as_array().unwrap().iter().map(|site| (site["line"].as_u64().unwrap(), site["verdict"].as_str().unwrap()));
    let expected = [(1, "complies"), (2, "could-not-tell"), (4, "could-not-tell"), (5, "complies")];
    assert_eq!(sites.collect::<Vec<_>>(), expected);
    assert_eq!(output.status.code(), Some(2));
}

/// A reader that goes away is a quiet end.
#[test]
fn a_closed_pipe_is_no_panic() {
    let mut child = Command::new(env!("CARGO_BIN_EXE_asleft"))
        .current_dir(root())
        .args(["sheet", "tests/sites/larkspur-row-3.yaml"])
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    drop(child.stdout.take());
    let output = child.wait_with_output().unwrap();
    assert_eq!(String::from_utf8_lossy(&output.stderr), "");
    assert!(output.status.code().is_some());
}

/// An attestation that contradicts its profile.
const DISAGREES: &str = "tests/attested/disagrees/attestations/standards/hill-code/2021-amd1/fernhold.yaml";

/// Machine answers keep to their schemas.
#[test]
fn reports_fit_their_schemas() {
    for (kind, arguments) in [
        ("check-report", &["check", "tests/sites", "--format", "json"][..]),
        ("sheet-report", &["sheet", "tests/sites/orchard-close-5.yaml", "--format", "json"]),
        ("sheet-report", &["sheet", "tests/sites/quarry-siding-4.yaml", "--format", "json"]),
        ("sheet-report", &["sheet", "tests/sites/gannet-parade-3.yaml", "--format", "json"]),
        ("identify-report", &["identify", "tests/sites/chapel-field-10.yaml", "--format", "json"]),
        ("diff-report", &["diff", "greywether/1.0.0", "greywether/2.0.0", "--format", "json"]),
        ("diff-report", &["diff", "tests/sites/kiln-row-19.yaml", "--format", "json"]),
        ("curve-report", &["curve", "tests/sites/larkspur-row-3.yaml", "as-nzs-4777.2/2020-amd2/new-zealand", "--format", "json"]),
        ("trip-map-report", &["trip-map", "tests/sites/larkspur-row-3.yaml", "--format", "json"]),
        ("trip-map-report", &["trip-map", "ieee-1547/2018/b-i", "--format", "json"]),
        ("events-report", &["events", "tests/sites/kiln-row-19.yaml", "tests/logs/noon-creep.csv", "--format", "json"]),
        ("events-report", &["events", "tests/sites/three-wells-road-5.yaml", "tests/logs/loose-neutral.csv", "--format", "json"]),
        ("affected-report", &["affected", "quillbrook/2.0.0", "quillbrook/3.0.0", "tests/cases/affected/sites", "--format", "json"]),
        (
            "verify-report",
            &["verify", "tests/register/records/larkspur-row-3.json", "tests/cases/verify/forged/record.json", "--format", "json"],
        ),
        ("register-list-report", &["register", "list", "--register", "tests/register/office.db", "--format", "json"]),
        ("roll-up-report", &["register", "roll-up", "--register", "tests/register/office.db", "--format", "json"]),
        ("register-verify-report", &["register", "verify", "--register", "tests/register/office.db", "--format", "json"]),
        ("due-report", &["due", "--register", "tests/register/office.db", "--format", "json"]),
        ("lint-report", &["lint", "--format", "json"]),
        ("lint-report", &["lint", "--profiles", "tests/cases/lint/nobody-can-comply/profiles", "--format", "json"]),
        ("revision-report", &["revision-check", "quillbrook/2.0.0", "quillbrook/3.0.0", "--format", "json"]),
        ("exercise-mark-report", &["exercise", "mark", "tests/exercises/key.yaml", "tests/exercises/handed-in", "--format", "json"]),
        ("exercise-faults-report", &["exercise", "faults", "--format", "json"]),
        ("check-report", &["check", "tests/exercises/handed-in", "--format", "json"]),
        ("sheet-report", &["sheet", "tests/exercises/issued/bench-1.yaml", "--format", "json"]),
        ("attest-list-report", &["attest", "list", "--format", "json"]),
        ("attest-check-report", &["attest", "check", DISAGREES, "--profiles", "tests/attested/profiles", "--format", "json"]),
        (
            "sheet-report",
            &[
                "sheet",
                "tests/attested/beck-end-4.yaml",
                "--profiles",
                "tests/attested/profiles",
                "--profiles",
                "tests/attested/disagrees",
                "--format",
                "json",
            ],
        ),
    ] {
        let output = Command::new(env!("CARGO_BIN_EXE_asleft")).current_dir(root()).args(arguments).output().unwrap();
        let answer: serde_json::Value = serde_json::from_slice(&output.stdout).unwrap();
        let schema = std::fs::read_to_string(root().join(format!("schemas/{kind}.schema.json"))).unwrap();
        let checker = schema_check::Checker::new(serde_json::from_str(&schema).unwrap(), &[]).unwrap();
        assert_eq!(checker.problems(&answer), [], "{kind}");
    }
}

fn asleft(arguments: &[&str]) -> std::process::Output {
    Command::new(env!("CARGO_BIN_EXE_asleft")).current_dir(root()).args(arguments).output().unwrap()
}

/// A site that was pinned is judged as it was then; where a profile has other content since, that is
/// not proven.
#[test]
fn pins_hold_as_long_as_the_profiles_are_the_same() {
    let folder = tempfile::tempdir().unwrap();
    let (site, profiles) = (folder.path().join("site.yaml"), folder.path().join("profiles"));
    std::fs::copy(root().join("tests/sites/weir-street-22.yaml"), &site).unwrap();
    let site = site.to_str().unwrap();
    assert!(asleft(&["pin", site, "--write", "--as-of", "2026-11-25"]).status.success());
    let verdict = |arguments: &[&str]| {
        let output = asleft(&[&["check", site, "--pinned", "--format", "json"], arguments].concat());
        let answer: serde_json::Value = serde_json::from_slice(&output.stdout).unwrap();
        let site = &answer["sites"][0];
        let names = site["findings"].as_array().unwrap().iter().map(|finding| finding["name"].as_str().unwrap().to_owned());
        (site["verdict"].as_str().unwrap().to_owned(), names.collect::<Vec<_>>())
    };
    assert_eq!(verdict(&[]), ("complies".to_owned(), vec![]));
    let profile = profiles.join("overlays/quillbrook/3.0.0.yaml");
    std::fs::create_dir_all(profile.parent().unwrap()).unwrap();
    let text = std::fs::read_to_string(root().join("profiles/overlays/quillbrook/3.0.0.yaml")).unwrap();
    std::fs::write(&profile, &text).unwrap();
    let at = ["--profiles", profiles.to_str().unwrap()];
    assert_eq!(verdict(&at), ("complies".to_owned(), vec![]), "the same content from elsewhere");
    std::fs::write(&profile, format!("{text}# another remark\n")).unwrap();
    assert_eq!(verdict(&at), ("not-proven".to_owned(), vec!["pinned-content-differs".to_owned()]));
}

/// A template is a site file without faults; as long as nobody fills it in it is not proven.
#[test]
fn a_template_reads_without_faults_and_never_complies() {
    for of in ["quillbrook", "tarn-basin", "tarnside", "greywether", "as-nzs-4777.2/2020-amd2", "as-nzs-4777.2/2015"] {
        let template = asleft(&["template", of]);
        assert!(template.status.success(), "{of}");
        let file = tempfile::Builder::new().suffix(".yaml").tempfile().unwrap();
        std::fs::write(file.path(), &template.stdout).unwrap();
        let answer = asleft(&["check", file.path().to_str().unwrap(), "--format", "json"]);
        let answer: serde_json::Value = serde_json::from_slice(&answer.stdout).unwrap();
        assert_eq!(answer["sites"][0]["verdict"], "not-proven", "{of}: {answer}");
    }
}

#[test]
fn every_verb_has_a_page_and_every_shell_its_completions() {
    for verb in [
        "check",
        "sheet",
        "identify",
        "diff",
        "curve",
        "revision-check",
        "affected",
        "lint",
        "attest",
        "pin",
        "exercise",
        "test-sheet",
        "capture",
        "decode",
        "close-out",
        "explain",
        "list",
        "show",
        "template",
        "schema",
    ] {
        let page = asleft(&["man", verb]);
        assert!(String::from_utf8_lossy(&page.stdout).contains(&format!("asleft\\-{}", verb.replace('-', "\\-"))), "{verb}");
    }
    for shell in ["bash", "zsh", "fish", "powershell", "elvish"] {
        let completions = asleft(&["completions", shell]);
        assert!(String::from_utf8_lossy(&completions.stdout).contains("identify"), "{shell}");
    }
}

/// What is shown is the file itself.
#[test]
fn a_profile_is_shown_as_it_is() {
    let shown = asleft(&["show", "overlays/quillbrook/3.0.0"]).stdout;
    assert_eq!(shown, std::fs::read(root().join("profiles/overlays/quillbrook/3.0.0.yaml")).unwrap());
}
