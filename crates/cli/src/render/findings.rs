//! A finding as people read it: what is wrong, where it stands and what stands there, what is required and why, and
//! what to do, each in a row with its own word in front.

mod quoted;

use super::wrapped;
use quoted::Quoted;
use settings_model::finding::{Because, Finding, Outcome};
use settings_model::source::{Place, Sources};
use terminal::{escaped, style, visible};

/// Columns of the word in front of a row.
const FRONT: usize = 12;

/// A finding in at most `width` columns; only the path of a file may be longer.
pub fn finding(finding: &Finding, sources: &Sources, width: usize, colour: bool) -> String {
    let mut rows = Rows { width, lines: vec![headline(finding, width, colour)] };
    rows.place(finding, sources);
    rows.consequences(finding);
    finding.because.iter().for_each(|line| rows.because(line, sources));
    finding.notes.iter().for_each(|note| rows.note(note));
    if let Some(hint) = &finding.hint {
        rows.add("to do", hint);
    }
    rows.lines.join("\n")
}

/// What is wrong, with the name of the kind of fault.
fn headline(finding: &Finding, width: usize, colour: bool) -> String {
    let words = finding.outcome.phrase();
    let text = wrapped(&escaped(&format!("{words} ({}): {}", finding.name, finding.headline)), width, 4);
    match text.strip_prefix(words).filter(|_| colour) {
        Some(rest) => format!("{}{words}{}{rest}", style(code(finding.outcome)), style("0")),
        None => text,
    }
}

fn code(outcome: Outcome) -> &'static str {
    match outcome {
        Outcome::Unusable | Outcome::DoesNotComply => "1;31",
        Outcome::NotProven => "1;33",
        Outcome::Remark => "1;34",
    }
}

struct Rows {
    width: usize,
    lines: Vec<String>,
}

impl Rows {
    /// A row of text, its later lines beneath its first.
    fn add(&mut self, word: &str, text: &str) {
        let text = wrapped(&visible(text), self.width - FRONT, 0).replace('\n', &format!("\n{}", " ".repeat(FRONT)));
        self.lines.push(format!("  {word:<width$}{text}", width = FRONT - 2));
    }

    /// A line beneath the row before it, as it is.
    fn below(&mut self, line: &str) {
        self.lines.push(format!("{}{line}", " ".repeat(FRONT)));
    }

    /// Where the fault is, and what stands there.
    fn place(&mut self, finding: &Finding, sources: &Sources) {
        let Some(at) = located(finding.place, sources) else { return };
        // a path is never folded, so that it can be copied
        self.lines.push(format!("  {:<width$}{at}", "in", width = FRONT - 2));
        let Some(source) = sources.get(finding.place.source) else { return };
        let Some(Quoted { line, marks }) = quoted::of(source, finding.place, self.width - FRONT) else { return };
        self.below(&line);
        match &finding.label {
            Some(label) if FRONT + marks.chars().count() + 1 + label.chars().count() > self.width => {
                self.below(&marks);
                self.add("", &escaped(label));
            }
            Some(label) => self.below(&format!("{marks} {}", escaped(label))),
            None if marks.trim().len() < line.len() => self.below(&marks),
            None => {}
        }
    }

    /// What follows from the same fault.
    fn consequences(&mut self, finding: &Finding) {
        for (n, line) in finding.folded.iter().enumerate() {
            self.add(if n == 0 { "with it" } else { "" }, &escaped(&line.to_string()));
        }
    }

    /// Another place, or what is required, by whom and where.
    fn because(&mut self, line: &Because, sources: &Sources) {
        let written = sources.written(line.place).lines().next().map(str::trim).filter(|text| is_short(text)).map(escaped);
        let at = sources.locate(line.place).map(|at| format!("{}, line {}", escaped(at.file), at.line));
        let required = line.text.as_deref().and_then(|text| text.split_once(REQUIRED_BY));
        let (word, mut says) = match required {
            Some((asked, by)) => {
                let asked = if asked.is_empty() { written.as_deref().unwrap_or_default() } else { asked.trim() };
                ("required", format!("{asked} by {by}"))
            }
            None => {
                let says = line.text.as_deref().unwrap_or(&line.label);
                ("see", written.map_or_else(|| says.to_owned(), |written| format!("{says}: {written}")))
            }
        };
        if line.text.is_none() && at.is_none() {
            return;
        }
        says.extend(at.map(|at| format!(", in {at}")));
        self.add(word, &says);
    }

    fn note(&mut self, note: &str) {
        match note.strip_prefix(REASON) {
            Some(reason) => self.add("reason", reason),
            None => self.add("note", note),
        }
    }
}

/// What stands before who requires something, and behind what is required where that is said.
const REQUIRED_BY: &str = "required by ";
/// How the note with the reason begins.
const REASON: &str = "reason given: ";

/// What is short enough to be repeated beside its place.
fn is_short(text: &str) -> bool {
    const MOST: usize = 48;
    !text.is_empty() && text.len() <= MOST
}

fn located(place: Place, sources: &Sources) -> Option<String> {
    let at = sources.locate(place)?;
    Some(format!("{}, line {}, column {}", escaped(at.file), at.line, at.column))
}
