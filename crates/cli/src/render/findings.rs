//! A finding as people read it: what is wrong, where it stands and what stands there, what is required and why, and
//! what to do, each in a row with its own word in front.

mod quoted;

use super::{with_site, wrapped};
use quoted::Quoted;
use settings_model::finding::{Because, Finding, Outcome};
use settings_model::source::{Place, Sources};
use terminal::{escaped, style, visible};

/// Columns of the word in front of a row.
const FRONT: usize = 12;

/// A finding in at most `width` columns; only the path of a file, and a command, may be longer.
pub fn finding(finding: &Finding, sources: &Sources, width: usize, colour: bool) -> String {
    within(finding, sources, width, colour, usize::MAX)
}

/// A finding in at most `most` lines, where that many hold what is wrong, what is required and what to do: the last
/// consequences are counted, then the notes; what the remedy says again is left out of the headline.
pub fn within(finding: &Finding, sources: &Sources, width: usize, colour: bool, most: usize) -> String {
    let mut rows = Rows { width, lines: vec![(Rank::Kept, headline(finding, &finding.headline, width, colour))] };
    rows.place(finding, sources);
    rows.consequences(finding);
    finding.because.iter().for_each(|line| rows.because(line, sources));
    finding.notes.iter().for_each(|note| rows.note(note));
    if let Some(hint) = &finding.hint {
        let file = sources.locate(finding.place).map_or("", |at| at.file);
        rows.add("to do", &with_site(hint, file));
    }
    rows.fold_to(most);
    if rows.count() > most
        && let Some((says, _)) = finding.headline.split_once(OF_FIGURE)
    {
        rows.lines[0].1 = headline(finding, says, width, colour);
    }
    rows.lines.into_iter().map(|(_, line)| line).collect::<Vec<_>>().join("\n")
}

/// What is wrong, with the name of the kind of fault.
fn headline(finding: &Finding, says: &str, width: usize, colour: bool) -> String {
    let words = finding.outcome.phrase();
    let text = wrapped(&escaped(&format!("{words} ({}): {says}", finding.name)), width, 4);
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

/// What is left out where there is no room.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Rank {
    Kept,
    Consequence,
    Note,
    /// The marks beneath what stands there, whose column is told.
    Marks,
}

/// What is left out first: all consequences but one, notes, the last consequence, marks.
const LEAVE_OUT: [(Rank, usize); 4] = [(Rank::Consequence, 1), (Rank::Note, 0), (Rank::Consequence, 0), (Rank::Marks, 0)];

struct Rows {
    width: usize,
    lines: Vec<(Rank, String)>,
}

impl Rows {
    /// A row of text, its later lines beneath its first.
    fn add(&mut self, word: &str, text: &str) {
        self.ranked(Rank::Kept, word, text);
    }

    fn ranked(&mut self, rank: Rank, word: &str, text: &str) {
        let text = wrapped(&visible(text), self.width - FRONT, 0).replace('\n', &format!("\n{}", " ".repeat(FRONT)));
        self.lines.push((rank, format!("  {word:<width$}{text}", width = FRONT - 2)));
    }

    /// Leaves out what there is no room for, and says how much that is.
    fn fold_to(&mut self, most: usize) {
        let mut left_out = Vec::new();
        for (rank, least) in LEAVE_OUT {
            let of_rank = |rows: &Self| (0..rows.lines.len()).filter(|n| rows.lines[*n].0 == rank).collect::<Vec<_>>();
            while self.count() + usize::from(!left_out.is_empty()) > most
                && let Some(last) = of_rank(self).get(least..).and_then(|rows| rows.last().copied())
            {
                self.lines.remove(last);
                left_out.extend((rank != Rank::Marks).then_some(rank));
            }
        }
        let of = |rank: Rank| left_out.iter().filter(|one| **one == rank).count();
        let counted: Vec<String> =
            [counted(of(Rank::Consequence), "consequence"), counted(of(Rank::Note), "note")].into_iter().flatten().collect();
        if let Some(last) = self.lines.len().checked_sub(1).filter(|_| !counted.is_empty()) {
            let them = if left_out.len() == 1 { "it" } else { "them" };
            self.add("more", &format!("{}: see {them} with `--all`", counted.join(" and ")));
            // before what to do
            self.lines.swap(last, last + 1);
        }
    }

    fn count(&self) -> usize {
        self.lines.iter().map(|(_, lines)| lines.lines().count()).sum()
    }

    /// A line beneath the row before it, as it is.
    fn below(&mut self, line: &str) {
        self.lines.push((Rank::Kept, format!("{}{line}", " ".repeat(FRONT))));
    }

    /// Where the fault is, and what stands there.
    fn place(&mut self, finding: &Finding, sources: &Sources) {
        let Some(at) = located(finding.place, sources) else { return };
        // a path is never folded, so that it can be copied
        self.lines.push((Rank::Kept, format!("  {:<width$}{at}", "in", width = FRONT - 2)));
        let Some(source) = sources.get(finding.place.source) else { return };
        let Some(Quoted { line, marks }) = quoted::of(source, finding.place, self.width - FRONT) else { return };
        self.below(&line);
        match &finding.label {
            Some(label) if FRONT + marks.chars().count() + 1 + label.chars().count() > self.width => {
                self.below(&marks);
                self.add("", &escaped(label));
            }
            Some(label) => self.below(&format!("{marks} {}", escaped(label))),
            None if marks.trim().len() < line.len() => self.lines.push((Rank::Marks, format!("{}{marks}", " ".repeat(FRONT)))),
            None => {}
        }
    }

    /// What follows from the same fault.
    fn consequences(&mut self, finding: &Finding) {
        for (n, line) in finding.folded.iter().enumerate() {
            self.ranked(Rank::Consequence, if n == 0 { "with it" } else { "" }, &escaped(&line.to_string()));
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
        let rank = if note.starts_with(CONFLICT) { Rank::Kept } else { Rank::Note };
        match note.strip_prefix(REASON) {
            Some(reason) => self.ranked(rank, "reason", reason),
            None => self.ranked(rank, "note", note),
        }
    }
}

/// `2 notes`; nothing of none.
fn counted(number: usize, noun: &str) -> Option<String> {
    match number {
        0 => None,
        1 => Some(format!("1 {noun}")),
        many => Some(format!("{many} {noun}s")),
    }
}

/// What stands before who requires something, and behind what is required where that is said.
const REQUIRED_BY: &str = "required by ";
/// What a headline adds of a figure that nobody verified, which the remedy says too.
const OF_FIGURE: &str = "; the required figure is from ";
/// How the note begins that sources disagree.
const CONFLICT: &str = "conflict: ";
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
