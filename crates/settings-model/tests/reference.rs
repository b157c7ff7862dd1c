//! Every shipped figure of a standard against the collection that it was taken from, as the project keeps it in
//! `tests/reference`; and how sure figures are called against the sources that their profiles name.

use settings_model::attested::{Figure, Verb, figures, gaps};
use settings_model::catalogue::SettingId;
use settings_model::claim::Basis;
use settings_model::files::{CitationText, StandardFile};
use settings_model::library::{Library, Profile};
use settings_model::source::Sources;
use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};
use std::rc::Rc;

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../..")
}

/// Every shipped standard by its key.
fn standards() -> BTreeMap<String, Rc<StandardFile>> {
    let (folder, mut library) = (root().join("profiles"), Library::default());
    for standard in std::fs::read_dir(folder.join("standards")).unwrap().map(|entry| entry.unwrap().path()) {
        for path in std::fs::read_dir(standard).unwrap().map(|entry| entry.unwrap().path()) {
            let key = path.strip_prefix(&folder).unwrap().to_string_lossy().replace('\\', "/");
            library.add(Profile { name: key.clone(), path: key, text: std::fs::read_to_string(&path).unwrap().into(), shipped: true });
        }
    }
    let mut sources = Sources::default();
    let keys = library.standards();
    keys.into_iter().map(|key| (key.clone(), Rc::new(library.standard(&key, &mut sources).ok().unwrap().file.clone()))).collect()
}

/// A table of `tests/reference` without its head.
fn table(name: &str) -> Vec<Vec<String>> {
    let text = std::fs::read_to_string(root().join("tests/reference").join(name)).unwrap();
    text.lines().skip(1).map(|line| line.split('\t').map(str::to_owned).collect()).collect()
}

/// The numbers in a text, as they would be written shortest.
fn numbers(text: &str) -> BTreeSet<String> {
    let of_number = |c: char| c.is_ascii_digit() || c == '.' || c == '-';
    let words = text.split(|c: char| !of_number(c)).filter_map(|word| word.trim_end_matches('.').parse::<f64>().ok());
    words.map(|number| number.to_string()).collect()
}

fn basis(source: Option<&CitationText>) -> &'static str {
    match source.map(|source| source.basis) {
        Some(Basis::Published) => "published",
        Some(Basis::SingleSource) => "single-source",
        Some(Basis::Invented) => "invented",
        Some(Basis::Memory) | None => "memory",
    }
}

/// Whether a figure states a value of the collection: its number, or its word.
fn states(figure: &Figure<'_>, value: &str) -> bool {
    let words = figure.said.words();
    match value.parse::<f64>() {
        Ok(number) => numbers(&words).contains(&number.to_string()),
        Err(_) => words.split(' ').any(|word| word == value),
    }
}

#[test]
fn what_is_collected_is_shipped_as_it_was_collected() {
    let standards = standards();
    let rows = table("figures.tsv");
    assert!(rows.len() > 1000);
    let mut wrong = Vec::new();
    for row in &rows {
        let [key, regions, setting, value, least, most, known, of_range, place] = &row[..] else { panic!("{row:?} has nine cells") };
        let Some(file) = standards.get(key) else { panic!("{key} is not shipped") };
        let named = SettingId::named(setting).unwrap_or_else(|| panic!("{setting} is no setting"));
        let speaks = |of: &[&str]| regions.is_empty() || of.is_empty() || regions.split(' ').any(|region| of.contains(&region));
        let all = figures(&**file);
        let own: Vec<&Figure<'_>> = all.iter().filter(|figure| figure.setting == named && speaks(&figure.regions)).collect();
        let not_seen: Vec<_> = gaps(&**file).into_iter().filter(|gap| gap.setting == named && speaks(&gap.regions)).collect();
        let asks = own.iter().filter(|figure| figure.verb.asks() && figure.verb != Verb::ResponseWithin);
        let has_value = asks.clone().any(|figure| states(figure, value) && basis(figure.source) == known);
        let in_a_gap = not_seen.iter().any(|gap| numbers(&gap.says.value).contains(value) && known == "open");
        if !value.is_empty() && !has_value && !in_a_gap {
            wrong.push(format!("{key} {regions} {setting}: {value} ({known}) of `{place}` is not what is shipped"));
        }
        let ranges = own.iter().filter(|figure| figure.verb == Verb::Adjustable && basis(figure.source) == of_range);
        let within = |figure: &&Figure<'_>| [least, most].into_iter().all(|edge| edge.is_empty() || states(figure, edge));
        if !of_range.is_empty() && !ranges.clone().any(within) {
            wrong.push(format!("{key} {regions} {setting}: {least} to {most} ({of_range}) of `{place}` is not the range that is shipped"));
        }
        // what no row of the collection has is kept with the ways in which it is known
        if value.is_empty() && of_range.is_empty() {
            let mut found: BTreeSet<&str> = own.iter().map(|figure| basis(figure.source)).collect();
            found.extend(not_seen.iter().map(|_| "open"));
            if known.split(' ').collect::<BTreeSet<_>>() != found {
                wrong.push(format!("{key} {setting}: known as {known} by the table, as {found:?} by the profile"));
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn whatever_is_shipped_has_a_row() {
    let rows = table("figures.tsv");
    let known: BTreeSet<(&str, &str)> = rows.iter().map(|row| (row[0].as_str(), row[2].as_str())).collect();
    let mut without = Vec::new();
    for (key, file) in &standards() {
        let stated: BTreeSet<String> = figures(&**file).iter().map(|figure| figure.setting.to_string()).collect();
        let not_seen: BTreeSet<String> = gaps(&**file).iter().map(|gap| gap.setting.to_string()).collect();
        without
            .extend(stated.union(&not_seen).filter(|setting| !known.contains(&(key, setting))).map(|setting| format!("{key} {setting}")));
    }
    assert_eq!(without, [""; 0], "shipped, and in no row of tests/reference/figures.tsv");
}

#[test]
fn what_is_collected_and_not_shipped_says_why() {
    let (shipped, left): (BTreeSet<String>, Vec<_>) =
        (table("figures.tsv").into_iter().map(|row| row[8].clone()).collect(), table("not-shipped.tsv"));
    for row in &left {
        assert!(row.len() == 3 && row[2].len() > 10, "{row:?} says why");
        assert!(!shipped.contains(&row[0]), "{} is shipped after all", row[0]);
    }
}

/// Two independent sources make a figure published, one single-source, none memory; where sources disagree it is
/// single-source at best.
#[test]
fn no_figure_is_called_surer_than_its_sources_make_it() {
    for (key, file) in &standards() {
        for (name, source) in file.sources.iter() {
            let found: BTreeSet<&String> = source.found_in.iter().collect();
            let expected = match found.len() {
                0 => Basis::Memory,
                1 => Basis::SingleSource,
                _ if source.conflict.is_some() => Basis::SingleSource,
                _ => Basis::Published,
            };
            assert_eq!(source.basis, expected, "{key}: source `{name}` names {} publications", found.len());
            assert_eq!(found.len(), source.found_in.len(), "{key}: source `{name}` names one twice");
            assert!(source.confirmed.is_none() || !found.is_empty(), "{key}: `{name}` was held against nothing");
            let note = source.note.as_deref().unwrap_or_default();
            assert!(!note.starts_with("conflict"), "{key}: what disagrees in `{name}` stands under `conflict`");
        }
    }
}

/// How many figures are known in which way: whoever makes one surer changes this table too, and adds the source.
#[test]
fn figures_are_known_as_the_kept_table_says() {
    let mut found = String::from("profile\tpublished\tsingle-source\tmemory\tgaps\tsources named\n");
    for (key, file) in &standards() {
        let all = figures(&**file);
        let of = |word: &str| all.iter().filter(|figure| basis(figure.source) == word).count();
        let named: BTreeSet<&String> = file.sources.iter().flat_map(|(_, source)| &source.found_in).collect();
        let counts = [of("published"), of("single-source"), of("memory"), gaps(&**file).len(), named.len()];
        assert_eq!(counts[..3].iter().sum::<usize>(), all.len(), "{key}");
        found.push_str(&format!("{key}\t{}\n", counts.map(|count| count.to_string()).join("\t")));
    }
    let kept = std::fs::read_to_string(root().join("tests/reference/bases.tsv")).unwrap_or_default();
    assert_eq!(kept, found, "the table would be\n{found}");
}

/// What a newer edition asks and an older one of it does not speak of, the older did not ask: anything that was merely
/// not seen there is a gap, or a change note would call it added.
#[test]
fn what_an_older_edition_does_not_speak_of_it_did_not_ask() {
    let standards = standards();
    let speaks_of = |key: &str| -> BTreeSet<String> {
        let file = &standards[key];
        let stated = figures(&**file).into_iter().map(|figure| figure.setting.to_string()).collect::<BTreeSet<_>>();
        stated.into_iter().chain(gaps(&**file).into_iter().map(|gap| gap.setting.to_string())).collect()
    };
    for (older, newer, is_new) in [
        ("as-nzs-4777.1/2016", "as-nzs-4777.1/2024", &[][..]),
        ("as-nzs-4777.2/2015", "as-nzs-4777.2/2020-amd2", &[]),
        // recalled of 2019 alone; see the notes of the older file
        ("cei-0-21/2016", "cei-0-21/2019", &[]),
        // G98 brought the answer to high frequency, as recalled
        ("erec-g83/2012", "erec-g98/2018-amd7", &["over-frequency-response"]),
        ("erec-g99/2018", "erec-g99/2018-amd9", &[]),
        ("ieee-1547/2018", "ieee-1547/2018-amd1", &[]),
    ] {
        let (old, new) = (speaks_of(older), speaks_of(newer));
        let is_new = |setting: &&String| is_new.iter().any(|function| setting.starts_with(*function));
        let unsaid: Vec<&String> = new.difference(&old).filter(|setting| !is_new(setting)).collect();
        assert!(unsaid.is_empty(), "{older} neither states nor calls a gap what {newer} asks: {unsaid:?}");
    }
}

/// Who is handed a sheet or a record reads which document a figure is from and what kind of source says it; which
/// network operator published it stands under `found-in` alone, and no other file names one.
#[test]
fn no_network_operator_is_named_but_where_its_publication_is() {
    const OPERATORS: [&str; 9] =
        ["SA Power", "Western Power", "Evoenergy", "Energex", "Ergon", "Ausgrid", "Essential Energy", "UK Power", "Horizon Power"];
    let mut folders = vec![root().join("profiles"), root().join("crates")];
    let mut files = Vec::new();
    while let Some(folder) = folders.pop() {
        for path in std::fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()) {
            match path.is_dir() {
                true => folders.push(path),
                false => files.push(path),
            }
        }
    }
    let is_text =
        |path: &PathBuf| path.extension().is_some_and(|end| end == "yaml" || end == "rs") && !path.ends_with("tests/reference.rs");
    for path in files.iter().filter(|path| is_text(path)) {
        let text = std::fs::read_to_string(path).unwrap();
        let is_publication = |line: &&str| path.extension().is_some_and(|end| end == "yaml") && line.starts_with("      - \"");
        for line in text.lines().filter(|line| !is_publication(line)) {
            let named = OPERATORS.iter().find(|name| line.contains(**name));
            assert_eq!(named, None, "{}: {line}", path.display());
        }
    }
}
