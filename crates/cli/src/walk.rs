//! Sites, one after another, from files, folders and lines; each is judged and handed on.
//!
//! A line is read straight into its type. Only when something is to be said about it are places
//! looked up, and only a line that is not sound is read again, for all its faults at once.

use crate::files;
use rules::assess::{Assessment, Assessor, SiteVerdict};
use rules::wording;
use settings_model::document::Node;
use settings_model::files::{Kind, SiteFile};
use settings_model::finding::Finding;
use settings_model::places::JsonLine;
use settings_model::reader;
use settings_model::source::{Place, SourceId};
use std::fs::File;
use std::io::{self, BufRead, BufReader, IsTerminal, Write};
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

use crate::report::{Figures, Known, LayerReport, figures, layers, not_checked};

/// A site and what it came to.
pub struct Judged {
    /// The site's own name.
    pub id: Option<String>,
    /// The file.
    pub file: String,
    /// The line, where a file holds one site a line.
    pub line: Option<usize>,
    /// The verdict.
    pub verdict: SiteVerdict,
    /// How its figures are known.
    pub figures: Figures,
    /// How the values of its devices are known.
    pub known_by: Known,
    /// The same in words, for people.
    pub under: String,
    /// The layers it stands under.
    pub layers: Vec<LayerReport>,
    /// What was not checked.
    pub not_checked: Vec<String>,
    /// The findings, gravest first.
    pub findings: Vec<Finding>,
    /// The text that the findings point into; `None` for a line of which nothing is to be said.
    text: Option<SourceId>,
}

/// Judges every site that the paths lead to, in order.
pub fn each_site(
    paths: &[PathBuf],
    assessor: &mut Assessor,
    full: bool,
    take: &mut dyn FnMut(Judged, &Assessor) -> io::Result<()>,
) -> io::Result<()> {
    let mut progress = Progress::new();
    for path in paths {
        if path.as_os_str() == "-" {
            lines(io::stdin().lock(), "standard input", assessor, full, &mut progress, take)?;
        } else if path.is_dir() {
            folder(path, assessor, &mut progress, take)?;
        } else if path.extension().is_some_and(|e| e == "ndjson" || e == "jsonl") {
            let file = File::open(path).map_err(|e| io::Error::other(format!("{}: {e}", path.display())))?;
            lines(BufReader::with_capacity(1 << 20, file), &path.display().to_string(), assessor, full, &mut progress, take)?;
        } else {
            one_file(path, assessor, take)?;
        }
    }
    Ok(())
}

/// Every site file below a folder; files of other kinds are passed over, and said so.
fn folder(
    path: &Path,
    assessor: &mut Assessor,
    progress: &mut Progress,
    take: &mut dyn FnMut(Judged, &Assessor) -> io::Result<()>,
) -> io::Result<()> {
    let mut found = Vec::new();
    files::list(path, &["yaml", "yml", "json"], &mut found)?;
    let mut judged = 0;
    for file in &found {
        match files::text(file) {
            Ok(text) if is_another_kind(&text) => continue,
            Ok(text) => one_text(file, &text, assessor, take)?,
            Err(error) => hand_on(unreadable(file, &error), assessor, take)?,
        }
        judged += 1;
        progress.step();
    }
    if judged < found.len() {
        writeln!(io::stderr(), "asleft: {}: {} files of other kinds were passed over", path.display(), found.len() - judged)?;
    }
    if judged == 0 {
        return Err(io::Error::other(format!("{}: no site files in this folder", path.display())));
    }
    Ok(())
}

/// Whether a text says that it is a standard or an overlay; anything else is taken for a site.
fn is_another_kind(text: &str) -> bool {
    let root = settings_model::document::parse(SourceId(0), text, &mut Vec::new());
    matches!(root.as_ref().and_then(reader::kind_of), Some(Kind::Standard | Kind::Overlay))
}

fn one_file(path: &Path, assessor: &mut Assessor, take: &mut dyn FnMut(Judged, &Assessor) -> io::Result<()>) -> io::Result<()> {
    match files::text(path) {
        Ok(text) => one_text(path, &text, assessor, take),
        Err(error) => hand_on(unreadable(path, &error), assessor, take),
    }
}

/// A file that cannot be read is reported, and does not stop the rest.
fn unreadable(path: &Path, error: &io::Error) -> Judged {
    let finding = Finding::unusable("unreadable", Place::NOWHERE, error.to_string());
    could_not_tell(&path.display().to_string(), None, vec![finding], None)
}

fn could_not_tell(file: &str, id: Option<String>, findings: Vec<Finding>, text: Option<SourceId>) -> Judged {
    Judged {
        id,
        file: file.to_owned(),
        line: None,
        verdict: SiteVerdict::CouldNotTell,
        figures: Figures::default(),
        known_by: Known::default(),
        under: String::new(),
        layers: Vec::new(),
        not_checked: Vec::new(),
        findings,
        text,
    }
}

fn one_text(path: &Path, text: &str, assessor: &mut Assessor, take: &mut dyn FnMut(Judged, &Assessor) -> io::Result<()>) -> io::Result<()> {
    let judged = judge_text(&path.display().to_string(), text, 1, assessor);
    hand_on(judged, assessor, take)
}

/// Hands a site on, and then gives its text back, so that a fleet needs no memory. A text that
/// profiles were read after stays with them.
fn hand_on(judged: Judged, assessor: &mut Assessor, take: &mut dyn FnMut(Judged, &Assessor) -> io::Result<()>) -> io::Result<()> {
    let text = judged.text;
    take(judged, assessor)?;
    if let Some(text) = text.filter(|text| usize::from(text.0) + 1 == assessor.sources.len()) {
        assessor.sources.forget_after(usize::from(text.0));
    }
    Ok(())
}

/// Reads a text with places, and judges it.
pub fn judge_text(name: &str, text: &str, first_line: usize, assessor: &mut Assessor) -> Judged {
    let source = assessor.sources.add_from_line(name, text, first_line);
    let unusable = |id, findings| could_not_tell(name, id, findings, Some(source));
    let root = match reader::read(source, text, Kind::Site) {
        Ok(root) => root,
        Err(findings) => return unusable(id_of(text, source), findings),
    };
    match reader::typed::<SiteFile<'_>>(&root) {
        Ok(site) => Judged { text: Some(source), ..judge(name, &site, &root, assessor) },
        Err(findings) => unusable(id_of(text, source), findings),
    }
}

/// The site's name, if its file can be read that far.
fn id_of(text: &str, source: SourceId) -> Option<String> {
    let root = settings_model::document::parse(source, text, &mut Vec::new())?;
    root.get("site").map(|node| node.text().to_owned()).filter(|id| !id.is_empty())
}

fn judge(name: &str, site: &SiteFile<'_>, root: &Node, assessor: &mut Assessor) -> Judged {
    let assessment = assessor.assess(site);
    Judged {
        id: Some(site.site.to_string()),
        file: name.to_owned(),
        line: None,
        verdict: assessment.verdict,
        figures: figures(&assessment),
        known_by: Known::at(&assessment),
        under: under(&assessment),
        layers: layers(&assessment),
        not_checked: not_checked(&assessment),
        findings: wording::findings(&assessment, root),
        text: None,
    }
}

/// One site a line. With `full`, complying sites are handed on whole; without, only counted.
fn lines(
    mut input: impl BufRead,
    name: &str,
    assessor: &mut Assessor,
    full: bool,
    progress: &mut Progress,
    take: &mut dyn FnMut(Judged, &Assessor) -> io::Result<()>,
) -> io::Result<()> {
    let mut bytes = Vec::new();
    for number in 1.. {
        bytes.clear();
        let whole = next_line(&mut input, &mut bytes).map_err(|e| io::Error::other(format!("{name}: line {number}: {e}")))?;
        if bytes.is_empty() {
            return Ok(());
        }
        let judged = match std::str::from_utf8(&bytes) {
            _ if !whole => broken_line(name, number, "is longer than 4 MB, which no site is"),
            Err(_) => broken_line(name, number, "is not UTF-8 text; save the file as UTF-8"),
            Ok(line) if line.trim().is_empty() => continue,
            Ok(line) => one_line(name, line.trim_end(), number, full, assessor),
        };
        hand_on(judged, assessor, take)?;
        progress.step();
    }
    Ok(())
}

/// The longest line that is read; a site is a few kilobytes.
const MAX_LINE: usize = 4 << 20;

/// Reads up to the end of the line, of which no more than [`MAX_LINE`] is kept; whether that was all.
fn next_line(input: &mut impl BufRead, kept: &mut Vec<u8>) -> io::Result<bool> {
    let mut whole = true;
    loop {
        let available = input.fill_buf()?;
        let end = available.iter().position(|byte| *byte == b'\n').map(|at| at + 1);
        let taken = end.unwrap_or(available.len());
        let room = MAX_LINE.saturating_sub(kept.len());
        kept.extend_from_slice(&available[..taken.min(room)]);
        whole &= taken <= room;
        input.consume(taken);
        if end.is_some() || taken == 0 {
            return Ok(whole);
        }
    }
}

/// A line that cannot be read is reported with its number, and does not stop the rest.
fn broken_line(name: &str, number: usize, says: &str) -> Judged {
    let finding = Finding::unusable("unreadable", Place::NOWHERE, format!("{name}: line {number} {says}"));
    Judged { line: Some(number), ..could_not_tell(name, None, vec![finding], None) }
}

/// A line that is sound is read once; of a fault, only the places are looked up.
fn one_line(name: &str, line: &str, number: usize, full: bool, assessor: &mut Assessor) -> Judged {
    let read = serde_json::from_str::<SiteFile<'_>>(line);
    let Some(site) = read.ok().filter(|site| site.kind == Kind::Site && site.is_plain()) else {
        return Judged { line: Some(number), ..judge_text(name, line, number, assessor) };
    };
    let assessment = assessor.assess(&site);
    let quiet = assessment.has_nothing_to_say();
    let source = if quiet { None } else { Some(assessor.sources.add_from_line(name, line, number)) };
    Judged {
        id: (full || !quiet).then(|| site.site.to_string()),
        file: if full || !quiet { name.to_owned() } else { String::new() },
        line: Some(number),
        verdict: assessment.verdict,
        figures: figures(&assessment),
        known_by: if full || !quiet { Known::at(&assessment) } else { Known::default() },
        under: if full || !quiet { under(&assessment) } else { String::new() },
        layers: if full || !quiet { layers(&assessment) } else { Vec::new() },
        not_checked: if full || !quiet { not_checked(&assessment) } else { Vec::new() },
        findings: source.map(|source| wording::findings(&assessment, &JsonLine { source, text: line })).unwrap_or_default(),
        text: source,
    }
}

fn under(assessment: &Assessment<'_>) -> String {
    assessment.book.as_ref().map(|book| rules::phrase::under(&book.rulebook)).unwrap_or_default()
}

/// A line on a terminal's standard error, once a second, for work that takes longer than that.
struct Progress {
    done: usize,
    next: Instant,
    on_terminal: bool,
    shown: bool,
}

impl Progress {
    fn new() -> Self {
        Self { done: 0, next: Instant::now() + Duration::from_secs(1), on_terminal: io::stderr().is_terminal(), shown: false }
    }

    fn step(&mut self) {
        self.done += 1;
        if self.on_terminal && self.done.is_multiple_of(256) && Instant::now() >= self.next {
            self.next = Instant::now() + Duration::from_secs(1);
            self.shown = true;
            let _ = write!(io::stderr(), "\r{} sites checked", self.done);
        }
    }
}

impl Drop for Progress {
    fn drop(&mut self) {
        if self.shown {
            let _ = writeln!(io::stderr());
        }
    }
}

/// Writes what keeps files from being used to standard error.
pub fn write_messages(findings: &[Finding], sources: &settings_model::source::Sources) -> io::Result<()> {
    let colour = io::stderr().is_terminal() && crate::render::colour_allowed();
    for finding in findings {
        writeln!(anstream::stderr(), "{}\n", crate::render::findings::finding(finding, sources, crate::render::width(), colour))?;
    }
    Ok(())
}
