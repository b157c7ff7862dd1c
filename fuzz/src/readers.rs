//! The readers, each as a function of bytes.

mod kept;
mod profiles;

use cli::fuzzing::{self, Page};
use settings_model::document::Node;
use settings_model::files::{
    AttestationFile, ColumnMapFile, CommissioningFile, ExerciseKeyFile, ExportMapFile, Kind, RegisterImageFile, SiteFile,
};
use settings_model::finding::{Finding, MOST_FAULTS};
use settings_model::reader;
use settings_model::source::Sources;
use std::cell::RefCell;

/// Takes a case.
pub type Reader = fn(&[u8]);

/// Every reader, by name.
const READERS: [(&str, Reader); 20] = [
    ("site", site),
    ("site-line", site_line),
    ("fleet", fleet),
    ("filled-sheet", filled_sheet),
    ("standard", |data| profiles::of_kind(Kind::Standard, data)),
    ("overlay", |data| profiles::of_kind(Kind::Overlay, data)),
    ("label-map", |data| profiles::of_kind(Kind::LabelMap, data)),
    ("scenario", profiles::scenario),
    ("attestation", |data| file(Kind::Attestation, data, |root| reader::typed::<AttestationFile>(root).map(drop))),
    ("column-map", |data| file(Kind::ColumnMap, data, |root| reader::typed::<ColumnMapFile>(root).map(drop))),
    ("commissioning", |data| file(Kind::Commissioning, data, |root| reader::typed::<CommissioningFile>(root).map(drop))),
    ("export-map", |data| file(Kind::ExportMap, data, |root| reader::typed::<ExportMapFile>(root).map(drop))),
    ("exercise-key", |data| file(Kind::ExerciseKey, data, |root| reader::typed::<ExerciseKeyFile<'_>>(root).map(drop))),
    ("register-image", register_image),
    ("record", kept::record),
    ("register", kept::register),
    ("log", fuzzing::log),
    ("packed", |data| drop(fuzzing::unpacked(data))),
    ("page-request", |data| with_page(|page| page.connection(data))),
    ("page-opened", |data| with_page(|page| page.opened(data))),
];

/// The reader that the environment names.
///
/// # Panics
/// Where it names none; says which there are.
pub fn asked() -> Reader {
    let names = || READERS.map(|(name, _)| name).join(" ");
    let asked = std::env::var("ASLEFT_READER").unwrap_or_default();
    let found = READERS.iter().find(|(name, _)| *name == asked);
    found.unwrap_or_else(|| panic!("ASLEFT_READER has to be one of: {}", names())).1
}

/// A text with its name, as a run keeps it.
fn text(data: &[u8]) -> Option<(&str, Sources)> {
    let text = std::str::from_utf8(data).ok()?;
    let mut sources = Sources::default();
    sources.add("fuzzed", text);
    Some((text, sources))
}

/// Reads a file of a kind, and then its type.
fn file(kind: Kind, data: &[u8], typed: fn(&Node) -> Result<(), Vec<Finding>>) {
    let Some((text, sources)) = text(data) else { return };
    if let Err(findings) = reader::read(settings_model::source::SourceId(0), text, kind).and_then(|root| typed(&root)) {
        refused(&findings, &sources);
    }
}

/// What is refused is refused with words, as many as anybody reads, and at least once inside the text.
fn refused(findings: &[Finding], sources: &Sources) {
    assert!((1..=MOST_FAULTS + 1).contains(&findings.len()), "{} findings", findings.len());
    let is_inside = |finding: &&Finding| {
        let (start, end) = (finding.place.start as usize, finding.place.end as usize);
        sources.get(finding.place.source).is_some_and(|source| source.text.get(start..end).is_some())
    };
    assert!(findings.iter().any(|finding| is_inside(&finding)), "no place inside the text: {findings:?}");
    for finding in findings {
        assert!(!finding.headline.is_empty() && finding.hint.is_some(), "{finding:?}");
    }
    let shown = fuzzing::shown(&findings[..findings.len().min(8)], sources);
    assert!(shown.iter().all(|shown| !shown.is_empty()));
}

/// A site as its file is read, judged and put into words.
fn site(data: &[u8]) {
    file(Kind::Site, data, |root| reader::typed::<SiteFile<'_>>(root).map(drop));
    let Ok(text) = std::str::from_utf8(data) else { return };
    with_assessor(|assessor| {
        fuzzing::verdicts(text, assessor);
    });
}

/// A site of JSON says the same in a file of its own and as a line among others.
fn site_line(data: &[u8]) {
    let Ok(text) = std::str::from_utf8(data) else { return };
    let text = text.trim();
    if text.contains(['\n', '\r']) || serde_json::from_str::<serde_json::Map<_, serde_json::Value>>(text).is_err() {
        return;
    }
    with_assessor(|assessor| {
        let [whole, line] = fuzzing::verdicts(text, assessor);
        assert_eq!(whole, line, "one verdict, whatever the form");
    });
}

fn fleet(data: &[u8]) {
    with_assessor(|assessor| fuzzing::fleet(data, assessor));
}

fn filled_sheet(data: &[u8]) {
    const SITE: &str = include_str!("../../tests/sites/larkspur-row-3.yaml");
    let Ok(text) = std::str::from_utf8(data) else { return };
    with_assessor(|assessor| {
        let sheet = rules::filled_sheet::FilledSheet::new(("sheet.csv", text), None, &mut assessor.sources).expect("the usual columns");
        let source = assessor.sources.add("site.yaml", SITE);
        if let Err(findings) = assessor.read_site_with(source, SITE, Some(&sheet)) {
            refused(&findings, &assessor.sources);
        }
    });
}

fn register_image(data: &[u8]) {
    let Some((text, sources)) = text(data) else { return };
    let read = reader::read(settings_model::source::SourceId(0), text, Kind::RegisterImage);
    match read.and_then(|root| reader::typed::<RegisterImageFile>(&root)) {
        Ok(file) => {
            let mut image = sunspec::Image::of_file(&file);
            if let Ok(walk) = sunspec::walk::walk(&mut image, &sunspec::Options::default(), &mut |_| {}) {
                drop(sunspec::mapping::captured(&walk, &sunspec::mapping::Against::default()));
            }
        }
        Err(findings) => refused(&findings, &sources),
    }
}

/// Texts that an assessor keeps before it is made anew.
const MOST_TEXTS: usize = 4_000;

fn with_assessor(with: impl FnOnce(&mut rules::assess::Assessor)) {
    thread_local!(static KEPT: RefCell<rules::assess::Assessor> = RefCell::new(fuzzing::assessor()));
    KEPT.with_borrow_mut(|assessor| {
        if assessor.sources.len() > MOST_TEXTS {
            *assessor = fuzzing::assessor();
        }
        with(assessor);
    });
}

fn with_page(with: impl FnOnce(&mut Page)) {
    thread_local!(static KEPT: RefCell<Page> = RefCell::default());
    KEPT.with_borrow_mut(with);
}
