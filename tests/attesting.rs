//! What offices read: it changes how a figure is known, and never what a site comes to; and no value
//! but the profile's own vouches for the profile.

use jiff::civil::date;
use proptest::prelude::*;
use rules::assess::Assessor;
use rules::attestation::Which;
use rules::provenance::Figures;
use rules::provenance::Verdict;
use rules::wording;
use settings_model::attested::{Figure, ReadValue, Verb, figures};
use settings_model::catalogue::Shape;
use settings_model::document::Node;
use settings_model::exact::Exact;
use settings_model::files::{BLOCKS, Kind, SiteFile};
use settings_model::library::{Library, Profile};
use settings_model::notation::Written;
use settings_model::reader;
use settings_model::source::{SourceId, Sources};
use std::path::{Path, PathBuf};
use std::sync::LazyLock;

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../..")
}

fn add_below(library: &mut Library, folder: &Path, below: &Path) {
    for entry in std::fs::read_dir(below).unwrap().flatten() {
        let path = entry.path();
        if path.is_dir() {
            add_below(library, folder, &path);
        } else if path.extension().is_some_and(|e| e == "yaml") {
            let key = path.strip_prefix(folder).unwrap().to_string_lossy().replace('\\', "/");
            library.add(Profile { name: key.clone(), path: key, text: std::fs::read_to_string(&path).unwrap().into(), shipped: false });
        }
    }
}

fn library() -> Library {
    let mut library = Library::default();
    for folder in ["profiles", "tests/attested/profiles"] {
        add_below(&mut library, &root().join(folder), &root().join(folder));
    }
    library
}

/// One thing that an attestation says: for which regions, of which setting, under which word, what.
#[derive(Clone, Debug)]
struct Line {
    regions: String,
    block: &'static str,
    setting: (&'static str, &'static str),
    when: Option<String>,
    verb: Verb,
    value: String,
}

/// A value as YAML.
fn yaml(said: ReadValue<'_>) -> String {
    let quoted = |text: &str| format!("\"{text}\"");
    match said {
        ReadValue::Text(text) => quoted(text),
        ReadValue::Pair(pair) => format!("[{}, {}]", quoted(&pair.0), quoted(&pair.1)),
        ReadValue::Written(written) => match &written.value {
            Written::Text(text) => quoted(text),
            Written::Points(points) => {
                let points: Vec<String> = points.iter().map(|(x, y)| format!("[{}, {}]", quoted(x), quoted(y))).collect();
                format!("[{}]", points.join(", "))
            }
        },
    }
}

/// The same kind of value, but not the same: a number moved by a little, another word.
fn other_than(figure: &Figure<'_>) -> Option<String> {
    let moved = |text: &str| {
        let start = text.find(|c: char| c.is_ascii_digit())?;
        let end = text[start..].find(|c: char| !c.is_ascii_digit() && c != '.').map_or(text.len(), |n| start + n);
        let (number, little) = (Exact::parse(&text[start..end]).ok()?, Exact::new(1, 3));
        let number = if number > Exact::ZERO { number - little } else { number + little };
        Some(format!("{}{number}{}", &text[..start], &text[end..]))
    };
    let other = match (figure.said, figure.setting.parameter().shape) {
        (ReadValue::Text(text), _) if figure.verb == Verb::Evidence => if text.as_str() == "test" { "read" } else { "test" }.to_owned(),
        (ReadValue::Text(text), _) => moved(text)?,
        (ReadValue::Pair(pair), _) => return Some(format!("[\"{}\", \"{}\"]", moved(&pair.0)?, pair.1)),
        (ReadValue::Written(written), Shape::Choice(words)) => {
            let Written::Text(text) = &written.value else { return None };
            words.iter().find(|word| **word != text.as_str())?.to_string()
        }
        (ReadValue::Written(written), _) => match &written.value {
            Written::Text(text) => moved(text)?,
            Written::Points(points) => {
                let mut points = points.clone();
                let last = points.last_mut()?;
                last.1 = moved(&last.1)?;
                let points: Vec<String> = points.iter().map(|(x, y)| format!("[\"{x}\", \"{y}\"]")).collect();
                return Some(format!("[{}]", points.join(", ")));
            }
        },
    };
    Some(format!("\"{other}\""))
}

fn line(figure: &Figure<'_>, value: String) -> Line {
    let when = figure.when.map(|when| {
        let all: Vec<String> = when.0.0.iter().map(|(fact, test)| format!("{}: \"{}\"", fact.value, test.value)).collect();
        format!("{{ {} }}", all.join(", "))
    });
    Line {
        regions: figure.regions.join(", "),
        block: BLOCKS[figure.kind as usize],
        setting: (figure.setting.function().key, figure.setting.parameter().key),
        when,
        verb: figure.verb,
        value,
    }
}

/// A standard under test: its key, and for every figure a true line and a false one.
struct Subject {
    key: &'static str,
    head: &'static str,
    lines: Vec<(Line, Option<Line>)>,
}

static SUBJECTS: LazyLock<Vec<Subject>> = LazyLock::new(|| {
    let keys = [
        ("hill-code/2021-amd1", "standard: hill-code\nedition: { year: 2021, amendment: 1 }"),
        ("as-nzs-4777.2/2020-amd2", "standard: as-nzs-4777.2\nedition: { year: 2020, amendment: 2 }"),
        ("ieee-1547/2018", "standard: ieee-1547\nedition: { year: 2018 }"),
        ("as-nzs-4777.1/2024", "standard: as-nzs-4777.1\nedition: { year: 2024 }"),
        ("erec-g98/2018-amd7", "standard: erec-g98\nedition: { year: 2018, amendment: 7 }"),
    ];
    let (mut library, mut sources) = (library(), Sources::default());
    let mut subject = |(key, head)| {
        let typed = library.standard(key, &mut sources).unwrap();
        let lines = figures(&typed.file).iter().map(|f| (line(f, yaml(f.said)), other_than(f).map(|other| line(f, other)))).collect();
        Subject { key, head, lines }
    };
    keys.map(&mut subject).into()
});

/// An attestation of these lines; figures of one setting under one condition share a group.
fn attestation(head: &str, lines: &[&Line]) -> String {
    let mut text = format!(
        "kind: attestation\n{head}\noffice: Fernhold (invented)\nread-by: officer\nread-on: 2022-01-20\n\
         copy: {{ document: an invented copy, amendments: all }}\nconfirmed:\n"
    );
    for Line { regions, block, setting: (function, parameter), when, verb, value } in lines {
        let regions = if regions.is_empty() { String::new() } else { format!("regions: [{regions}], ") };
        let when = when.as_ref().map(|when| format!("when: {when}, ")).unwrap_or_default();
        let verb = verb.word();
        text += &format!("  - {{ {regions}clause: t, {block}: {{ {function}: {{ {parameter}: {{ {when}{verb}: {value} }} }} }} }}\n");
    }
    text
}

/// Every site whose verdict is looked at.
static SITES: LazyLock<Vec<Node>> = LazyLock::new(|| {
    let mut files = Vec::new();
    for folder in ["tests/sites", "tests/attested"] {
        files.extend(std::fs::read_dir(root().join(folder)).unwrap().flatten().map(|entry| entry.path()));
    }
    files.retain(|file| file.extension().is_some_and(|e| e == "yaml"));
    files.sort();
    // a site that cannot be used comes to nothing
    files.iter().filter_map(|file| reader::read(SourceId(60_000), &std::fs::read_to_string(file).unwrap(), Kind::Site).ok()).collect()
});

/// What a site came to, without what offices read.
type CameTo = (Verdict, Vec<(String, String)>);

fn judged(assessor: &mut Assessor) -> Vec<(CameTo, Vec<Figures>, usize)> {
    let judge = |root: &Node| {
        let site: SiteFile<'_> = reader::typed(root).unwrap();
        let assessment = assessor.assess(&site);
        let findings = wording::findings(&assessment, root);
        let told = findings.iter().filter(|finding| finding.name == "attestation-disagrees").count();
        let others = findings.iter().filter(|finding| finding.name != "attestation-disagrees");
        let others = others.map(|finding| (finding.name.to_owned(), without_basis(&finding.headline))).collect();
        let tallies = assessment.devices.iter().map(|device| device.counted.figures).collect();
        ((assessment.verdict, others), tallies, told)
    };
    SITES.iter().map(judge).collect()
}

static UNATTESTED: LazyLock<Vec<(CameTo, Vec<u32>)>> = LazyLock::new(|| {
    let judged = judged(&mut Assessor::new(library(), date(2026, 11, 25)));
    judged.into_iter().map(|(came_to, tallies, _)| (came_to, tallies.iter().copied().map(Figures::total).collect())).collect()
});

/// A headline without what it says of how the figure is known, which readings move.
fn without_basis(headline: &str) -> String {
    let ends = ["; the required figure is ", "; a licensed copy contradicts "].iter().filter_map(|says| headline.find(says)).min();
    headline[..ends.unwrap_or(headline.len())].to_owned()
}

fn attested_by(subject: &Subject, lines: &[&Line]) -> Assessor {
    let mut library = library();
    let path = format!("attestations/standards/{}/fernhold.yaml", subject.key);
    library.add(Profile { name: path.clone(), path, text: attestation(subject.head, lines).into(), shipped: false });
    Assessor::new(library, date(2026, 11, 25))
}

#[test]
fn every_figure_can_be_read_and_then_nothing_of_the_standard_is_unverified() {
    for subject in SUBJECTS.iter() {
        let lines: Vec<&Line> = subject.lines.iter().map(|(line, _)| line).collect();
        let mut assessor = attested_by(subject, &lines);
        let (open, attested) =
            rules::attestation::listed_figures(&[format!("standards/{}", subject.key)], Which::Unverified, &mut assessor)
                .unwrap_or_else(|refusal| panic!("{}: {refusal:?}", subject.key));
        assert_eq!((open.len(), attested), (0, lines.len()), "{}: {:?}", subject.key, open.first());
        for rulebooks in assessor.library.rulebooks_in_every_region(subject.key, &mut assessor.sources).unwrap() {
            for rulebook in rulebooks {
                let requirement = rulebook.resolve(&settings_model::facts::Facts::default());
                assert_eq!(Figures::of(&requirement, &rulebook).unverified(), 0, "{}", subject.key);
            }
        }
    }
}

/// How many figures are open, how many attested, and what the attestation's own findings are.
fn came_of(subject: &Subject, lines: &[&Line]) -> (Vec<&'static str>, usize, Vec<&'static str>) {
    let mut assessor = attested_by(subject, lines);
    let (open, attested) =
        rules::attestation::listed_figures(&[format!("standards/{}", subject.key)], Which::Unverified, &mut assessor).unwrap();
    let path = format!("attestations/standards/{}/fernhold.yaml", subject.key);
    let found = rules::attestation::Checked::of(&path, &mut assessor).unwrap().findings();
    let standings = open.iter().map(|figure| figure.standing.word()).collect();
    (standings, attested, found.iter().map(|finding| finding.name).collect())
}

/// All at once: each figure that can be read wrongly is disputed then, and none is attested.
#[test]
fn no_other_value_vouches_for_a_figure() {
    for subject in SUBJECTS.iter() {
        let others: Vec<&Line> = subject.lines.iter().filter_map(|(_, other)| other.as_ref()).collect();
        assert!(others.len() + 2 >= subject.lines.len(), "{}: most values can be other than they are", subject.key);
        let (_, attested, found) = came_of(subject, &others);
        assert_eq!((attested, found), (0, vec!["attestation-disagrees"; others.len()]), "{}", subject.key);
    }
}

/// One at a time: it takes nothing from the others, and they do not vouch for it.
#[test]
fn one_wrong_reading_is_one_disagreement() {
    let subject = &SUBJECTS[0];
    for (n, (_, other)) in subject.lines.iter().enumerate() {
        let mut lines: Vec<&Line> = subject.lines.iter().map(|(line, _)| line).collect();
        lines[n] = other.as_ref().unwrap();
        let expected = (vec!["disputed"], lines.len() - 1, vec!["attestation-disagrees"]);
        assert_eq!(came_of(subject, &lines), expected, "{other:?}");
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 8, failure_persistence: None, max_shrink_iters: 16, ..ProptestConfig::default() })]

    /// Whatever of a standard is read, truly or not: every site comes to what it came to, with the same
    /// findings and as many figures; only how they are known moves. But by a figure that a copy
    /// contradicts nothing is proven.
    #[test]
    fn reading_changes_what_a_site_comes_to_only_by_disputing_it(which in 0..5usize, chosen in prop::collection::vec(0..4u8, 400)) {
        let subject = &SUBJECTS[which];
        let lines: Vec<&Line> = subject.lines.iter().zip(&chosen).filter_map(|((line, other), choice)| match choice {
            0 => None,
            1 => other.as_ref(),
            _ => Some(line),
        }).collect();
        prop_assume!(!lines.is_empty());
        let now = judged(&mut attested_by(subject, &lines));
        for ((came_to, tallies, told), (before, totals)) in now.iter().zip(UNATTESTED.iter()) {
            let disputed: u32 = tallies.iter().map(|tally| tally.disputed).sum();
            let at_least = if disputed == 0 { Verdict::Complies } else { Verdict::NotProven };
            prop_assert_eq!(came_to.0, before.0.max(at_least));
            prop_assert_eq!(&came_to.1, &before.1);
            prop_assert_eq!(&tallies.iter().copied().map(Figures::total).collect::<Vec<_>>(), totals);
            prop_assert!(disputed == 0 || *told > 0, "a figure that decides is disputed, and nothing says so");
        }
    }
}

/// A profile whose number moves after it was read loses the reading.
#[test]
fn a_reading_does_not_outlive_the_value_that_was_read() {
    let mut library = library();
    add_below(&mut library, &root().join("tests/attested/whole"), &root().join("tests/attested/whole"));
    let path = "standards/hill-code/2021-amd1.yaml";
    let text = library.profile("standards/hill-code/2021-amd1").unwrap().text.replace("require: 1.15 pu", "require: 1.14 pu");
    library.add(Profile { path: path.to_owned(), name: path.to_owned(), text: text.into(), shipped: false });
    let mut assessor = Assessor::new(library, date(2026, 11, 25));
    let (open, _) =
        rules::attestation::listed_figures(&["standards/hill-code/2021-amd1".to_owned()], Which::Unverified, &mut assessor).unwrap();
    let disputed: Vec<String> = open.iter().filter(|f| f.standing.word() == "disputed").map(|f| f.setting.to_string()).collect();
    assert_eq!(disputed, ["overvoltage-1/threshold"]);
}

/// Nobody's word is shipped.
#[test]
fn no_attestation_is_shipped() {
    assert_eq!(library().attestations(), [""; 0]);
}
