//! A door for fuzzing: the readers that live in this crate, without a file, a socket or a terminal.
//!
//! Each takes bytes as they come from outside. What is refused has to say why.

use crate::args::{Profiles, Under};
use crate::commands::page;
use crate::texts::Block;
use crate::{files, texts, walk};
use classroom::answers::Answers;
use classroom::choices::Choices;
use classroom::server::Request;
use classroom::server::guard::Guard;
use classroom::server::request::Head;
use logs::{Expected, Log, Plausible, ReadOptions};
use rules::assess::Assessor;
use rules::provenance::Verdict;
use settings_model::exact::Exact;
use settings_model::library::Profile;
use std::io::Cursor;

/// The day that everything is judged on.
const DAY: jiff::civil::Date = jiff::civil::date(2026, 6, 1);

fn profiles() -> Profiles {
    Profiles { folders: Vec::new(), require_signed: Vec::new(), trust_shipped: false }
}

/// An assessor over the shipped profiles.
///
/// # Panics
/// Where the program was not built whole.
#[must_use]
pub fn assessor() -> Assessor {
    let mut library = files::library(&profiles()).expect("the shipped profiles");
    library.set_now(DAY);
    Assessor::new(library, DAY)
}

/// Unpacks as much as any file is read.
#[must_use]
pub fn unpacked(bytes: &[u8]) -> Option<Vec<u8>> {
    files::unpacked_whole(Cursor::new(bytes.to_vec())).ok()
}

/// Reads a log to its end. What is refused says where, or that it is the log as a whole, and how to mend it.
///
/// # Panics
/// Where a refusal says too little, or time does not go on.
pub fn log(bytes: &[u8]) {
    let read = || -> Result<(), logs::LogError> {
        let mut log = Log::of(Box::new(Cursor::new(bytes.to_vec())), &ReadOptions::default())?;
        let mut plausible = Plausible::new(&log.layout, Expected { nominal: 230.0, frequency: Some(50.0), rated: Some(5_000.0) });
        let mut last = i64::MIN;
        loop {
            let mut rows = log.more()?;
            if rows.is_empty() {
                return plausible.end(&log.layout);
            }
            assert!(rows.iter().all(|row| std::mem::replace(&mut last, row.at) < row.at), "time goes on");
            plausible.volts(&mut rows, &log.layout)?;
        }
    };
    if let Err(fault) = read() {
        assert!(!fault.says.is_empty() && !fault.help.is_empty());
        if let Some((line, text, meant)) = fault.place {
            assert!(line > 0 && text.get(meant).is_some(), "a place inside its line");
        }
    }
}

/// The verdict of a site as a file of its own, and as a line among others; `None` where there was none.
///
/// # Panics
/// Where a site that is refused does not say why.
pub fn verdicts(text: &str, assessor: &mut Assessor) -> [Option<Verdict>; 2] {
    let whole = Block::Whole { name: "site.json".to_owned(), text: text.to_owned() };
    let line = Block::Lines { name: "sites.ndjson".into(), first: 1, bytes: text.as_bytes().to_vec() };
    [whole, line].map(|block| {
        let mut verdict = None;
        let judged = walk::each_site(block, assessor, None, true, &mut |judged, _| {
            assert!(judged.judgement.verdict != Verdict::CouldNotTell || !judged.findings.is_empty(), "refused without a word");
            verdict = Some(judged.judgement.verdict);
            Ok(())
        });
        judged.expect("nothing is written");
        verdict
    })
}

/// Judges every line of a fleet.
///
/// # Panics
/// Where a site that is refused does not say why.
pub fn fleet(bytes: &[u8], assessor: &mut Assessor) {
    let cut = texts::lines::cut(bytes, "sites.ndjson", &mut |block| {
        walk::each_site(block, assessor, None, false, &mut |judged, _| {
            assert!(judged.judgement.verdict != Verdict::CouldNotTell || !judged.findings.is_empty(), "refused without a word");
            Ok(())
        })
    });
    cut.expect("nothing is written");
}

/// The page, as it answers.
pub struct Page(Answers);

impl Default for Page {
    fn default() -> Self {
        let mut assessor = assessor();
        let choices = Choices::of(Vec::new(), &mut assessor).ok().expect("the examples that come with it");
        let under = Under { profiles: profiles(), as_of: Some(DAY) };
        Self(Answers::new(assessor, choices, page::program(under)))
    }
}

impl Page {
    /// Answers the bytes of a connection.
    pub fn connection(&mut self, bytes: &[u8]) {
        let Ok(Some((head, length))) = Head::parse(bytes) else { return };
        let guard = Guard { port: 80 };
        if guard.admits(&head).is_err() {
            return;
        }
        let Ok(promised) = head.body_length() else { return };
        let body = &bytes[length..];
        self.answer(&head.into_request(body[..promised.min(body.len())].to_vec()));
    }

    /// Opens a site's file, moves its sliders, and plays a scenario with it.
    pub fn opened(&mut self, site: &[u8]) {
        let asked = |path: &str, query: &[(&str, &str)], body: &[u8]| Request {
            is_post: !body.is_empty(),
            path: path.to_owned(),
            query: query.iter().map(|(name, value)| ((*name).to_owned(), (*value).to_owned())).collect(),
            body: body.to_vec(),
        };
        let answer = self.answer(&asked("/open", &[("name", "site.yaml")], site));
        let answer: serde_json::Value = serde_json::from_slice(&answer).unwrap_or_default();
        let Some(choice) = answer["choice"].as_str() else { return };
        self.answer(&asked("/", &[("of", choice), ("play", "noon-creep")], b""));
        let far = Exact::from(-5).to_string();
        for (volts, hertz, watts) in [("253", "50", "5"), ("180", "47.5", far.as_str()), ("0", "52", "0")] {
            self.answer(&asked("/at", &[("of", choice), ("v", volts), ("f", hertz), ("p", watts)], b""));
        }
    }

    /// Plays a scenario with the first of its choices.
    pub fn played(&mut self, scenario: Profile) {
        let name = scenario.path.trim_start_matches("scenarios/").trim_end_matches(".yaml").to_owned();
        self.0.library().add(scenario);
        self.answer(&Request { is_post: false, path: "/".to_owned(), query: vec![("play".to_owned(), name)], body: Vec::new() });
    }

    fn answer(&mut self, request: &Request) -> Vec<u8> {
        self.0.to(request).into_body()
    }
}

/// Findings as a terminal shows them.
#[must_use]
pub fn shown(findings: &[settings_model::finding::Finding], sources: &settings_model::source::Sources) -> Vec<String> {
    findings.iter().map(|finding| crate::render::findings::finding(finding, sources, 80, false)).collect()
}
