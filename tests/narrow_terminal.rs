//! A terminal of 80 columns, as a phone or a narrow window has: every verb, every shipped site, standard and network.
//! And one fault is on one screen.

use crate::program;

use program::{DAY, asleft, root, with_columns};
use std::path::Path;
use std::process::Output;

const WIDTH: usize = 80;

/// What a line is folded at: a command between backquotes is one word.
fn words(line: &str) -> usize {
    let is_command = |n: usize, part: &str| n % 2 == 1 && part.starts_with("asleft ");
    let joined = line.split('`').enumerate().map(|(n, part)| if is_command(n, part) { part.replace(' ', "_") } else { part.to_owned() });
    joined.collect::<Vec<_>>().join("`").split_whitespace().count()
}

/// A place, which is never folded so that it can be copied; or one word, behind the word in front of its row; or a line of
/// a picture.
fn may_be_wide(line: &str) -> bool {
    let has_front = line.starts_with("  ") && line.chars().nth(2).is_some_and(char::is_alphabetic);
    let has_digest = line.split_whitespace().any(|word| word.len() == 64 && word.bytes().all(|byte| byte.is_ascii_hexdigit()));
    line.starts_with("  in  ") || has_digest || words(line) <= 1 + usize::from(has_front)
}

fn said(output: &Output) -> String {
    String::from_utf8(output.stdout.clone()).unwrap() + &String::from_utf8(output.stderr.clone()).unwrap()
}

/// Runs each command at 80 columns on every core, and collects what is wider.
fn hold(commands: &[Vec<String>]) {
    let cores = std::thread::available_parallelism().map_or(1, usize::from);
    let mut wide: Vec<String> = std::thread::scope(|scope| {
        let workers: Vec<_> = (0..cores)
            .map(|n| {
                scope.spawn(move || commands.iter().skip(n).step_by(cores).flat_map(|command| wide_lines(command)).collect::<Vec<_>>())
            })
            .collect();
        workers.into_iter().flat_map(|worker| worker.join().unwrap()).collect()
    });
    wide.sort();
    assert!(wide.is_empty(), "{} lines\n{}", wide.len(), wide.join("\n"));
}

fn wide_lines(command: &[String]) -> Vec<String> {
    let arguments: Vec<&str> = command.iter().map(String::as_str).collect();
    let said = said(&with_columns(WIDTH as u32, &arguments));
    assert!(!said.is_empty(), "{command:?}");
    let wide = said.lines().filter(|line| line.chars().count() > WIDTH && !may_be_wide(line));
    wide.map(|line| format!("{}: {line}", arguments.join(" "))).collect()
}

/// Words that a command prints at this width, pictures aside; names may be folded behind their slashes.
fn printed(width: u32, arguments: &[&str]) -> std::collections::BTreeSet<String> {
    let said = said(&with_columns(width, arguments));
    let words = said.split([' ', '\n', '/']);
    words.filter(|word| word.chars().any(char::is_alphabetic) && word.chars().all(|sign| sign < '\u{2500}')).map(str::to_owned).collect()
}

#[test]
fn no_table_breaks_a_word_in_two() {
    let register = ["--register", "tests/register/office.db"];
    for arguments in [
        &["list"][..],
        &["list", "settings"],
        &["list", "facts"],
        &["list", "rules"],
        &["list", "labels"],
        &["list", "scenarios"],
        &["attest", "list"],
        &["exercise", "faults"],
        &["diff", "quillbrook/1.0.0", "quillbrook/2.0.0"],
        &["identify", "tests/sites/vineyard-gate-6.yaml", "--as-of", DAY],
        &["sheet", "tests/sites/quarry-siding-4.yaml", "--all", "--as-of", DAY],
        &["test-sheet", "tests/sites/quarry-siding-4.yaml", "--as-of", DAY],
        &["rise", "tests/sites/woolshed-track-11.yaml", "--as-of", DAY],
        &[&["due"][..], &register].concat(),
        &[&["register", "list"][..], &register].concat(),
        &[&["register", "roll-up"][..], &register].concat(),
    ] {
        let broken: Vec<String> = printed(80, arguments).difference(&printed(300, arguments)).cloned().collect();
        assert!(broken.is_empty(), "{arguments:?}: {broken:?}");
    }
}

/// Every file of this ending below a folder, from the root.
fn files(folder: &str, ending: &str) -> Vec<String> {
    let mut found = Vec::new();
    for entry in std::fs::read_dir(root().join(folder)).unwrap() {
        let path = format!("{folder}/{}", entry.unwrap().file_name().to_string_lossy());
        match root().join(&path).is_dir() {
            true => found.extend(files(&path, ending)),
            false => found.extend(path.ends_with(ending).then_some(path)),
        }
    }
    found.sort();
    found
}

fn command(words: &[&str]) -> Vec<String> {
    words.iter().map(|word| (*word).to_owned()).collect()
}

#[test]
fn every_site_fits_whatever_is_asked_of_it() {
    let sites = files("tests/sites", ".yaml");
    assert!(sites.len() >= 60, "{}", sites.len());
    let asked: [&[&str]; 9] = [
        &["check"],
        &["check", "--all"],
        &["sheet"],
        &["sheet", "--all"],
        &["rise"],
        &["test-sheet"],
        &["trip-map"],
        &["curve"],
        &["identify"],
    ];
    let of_site = |site: &String| asked.map(|words| command(&[&words[..1], &[site.as_str(), "--as-of", DAY], &words[1..]].concat()));
    hold(&sites.iter().flat_map(of_site).collect::<Vec<_>>());
}

#[test]
fn every_standard_and_network_fits() {
    let keys = |folder: &str| -> Vec<String> {
        let of = |file: String| file.strip_prefix(folder).unwrap().trim_start_matches('/').trim_end_matches(".yaml").to_owned();
        files(folder, ".yaml").into_iter().map(of).collect()
    };
    let keys = [keys("profiles/standards"), keys("profiles/overlays")].concat();
    assert!(keys.len() >= 30, "{}", keys.len());
    let of_key = |key: &String| {
        [command(&["lint", key]), command(&["attest", "list", key]), command(&["explain", "volt-watt/points", "--network", key])]
    };
    let mut commands: Vec<Vec<String>> = keys.iter().flat_map(of_key).collect();
    for pair in keys.windows(2).filter(|pair| pair[0].split('/').next() == pair[1].split('/').next()) {
        commands.push(command(&["diff", &pair[0], &pair[1]]));
        commands.push(command(&["revision-check", &pair[0], &pair[1]]));
        commands.push(command(&["affected", &pair[0], &pair[1], "tests/sites"]));
    }
    hold(&commands);
}

#[test]
fn every_scenario_and_all_other_tables_fit() {
    let scenarios = files("profiles/scenarios", ".yaml");
    let named = |file: &String| Path::new(file).file_stem().unwrap().to_string_lossy().into_owned();
    let mut commands: Vec<Vec<String>> =
        scenarios.iter().map(|file| command(&["scenario", "tests/sites/larkspur-row-3.yaml", &named(file), "--as-of", DAY])).collect();
    let of_register = ["--register", "tests/register/office.db"];
    for words in [
        &["list"][..],
        &["list", "settings"],
        &["list", "facts"],
        &["list", "rules"],
        &["list", "labels"],
        &["list", "scenarios"],
        &["lint"],
        &["attest", "list"],
        &["exercise", "faults"],
        &["help"],
        &["check", "tests/sites", "--as-of", DAY],
        &["events", "tests/sites/kiln-row-19.yaml", "tests/logs/noon-creep.csv", "--as-of", DAY],
        &["events", "tests/sites/three-wells-road-5.yaml", "tests/logs/loose-neutral.csv", "--as-of", DAY],
        &["verify", "tests/register/records/larkspur-row-3.json", "tests/cases/verify/forged/record.json"],
        &[&["due"][..], &of_register].concat(),
        &[&["register", "list"][..], &of_register].concat(),
        &[&["register", "verify"][..], &of_register].concat(),
        &[&["register", "roll-up"][..], &of_register].concat(),
    ] {
        commands.push(command(words));
    }
    let help = String::from_utf8(asleft(&["help"]).stdout).unwrap();
    let verbs = help.lines().filter(|line| line.starts_with("  ") && !line.starts_with("   ") && !line.starts_with("  -"));
    commands.extend(verbs.filter_map(|line| line.split_whitespace().next()).map(|verb| command(&["help", verb])));
    assert!(commands.len() >= 60, "{}", commands.len());
    hold(&commands);
}

/// Every shipped site with one thing wrong: what is wrong, where, what is required and what to do stand on one screen; the
/// rest is counted, and `--all` shows it.
#[test]
fn one_fault_is_one_screen_and_all_of_it_is_behind_a_flag() {
    let (mut single, mut folded) = (0, 0);
    for site in files("tests/sites", ".yaml") {
        let short = said(&with_columns(80, &["check", &site, "--as-of", DAY]));
        let all = said(&with_columns(80, &["check", &site, "--as-of", DAY, "--all"]));
        for row in ["  in  ", "  required  ", "  to do  ", "  caution  "] {
            let rows = |text: &str| text.lines().filter(|line| line.starts_with(row)).map(str::to_owned).collect::<Vec<_>>();
            assert_eq!(rows(&short), rows(&all), "{site}");
        }
        let words = |text: &str| text.split_whitespace().count();
        assert!(words(&short) == words(&all) || short.contains("`--all`"), "{site}: left out without a word\n{short}\n{all}");
        assert!(!all.contains("`--all`"), "{all}");
        if short.lines().filter(|line| line.starts_with("  in  ")).count() == 1 {
            single += 1;
            folded += usize::from(short.contains("  more  "));
            assert!(short.lines().count() <= 20, "{site}: {} lines\n{short}", short.lines().count());
        }
    }
    assert!(single >= 15 && folded >= 4, "{single} sites with one fault, {folded} of them folded");
}
