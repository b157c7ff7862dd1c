//! For people: each site with something to say, and a summary.

use super::said::Messages;
use super::{CheckQuery, Ended, Form};
use crate::render::{self, table};
use crate::report::Summary;
use crate::report::fleet::{AnswerableSites, FaultCount};
use crate::report::judged::Judged;
use rules::assess::Assessor;
use rules::provenance::{Figures, Verdict};
use settings_model::files::training::NOTICE;
use settings_model::finding::{Finding, Outcome};
use settings_model::source::Sources;
use std::io::{self, Write};
use terminal::style;

/// Laid out for so many columns.
#[derive(Clone, Copy)]
pub struct Text {
    width: usize,
    colour: bool,
    /// Every consequence and note of a finding.
    all: bool,
}

impl Text {
    /// For the terminal at hand.
    pub fn here() -> Self {
        Self { width: render::width(), colour: render::colour(), all: true }
    }

    /// The same, with one fault on one screen unless all is asked for.
    pub fn of(all: bool) -> Self {
        Self { all, ..Self::here() }
    }

    /// How many lines a finding may take: beneath so many of its site's, or among others.
    fn room(self, head: usize, findings: usize) -> usize {
        match (self.all, findings) {
            (true, _) => usize::MAX,
            // an empty line in front, and the caution behind
            (false, 1) => SCREEN.saturating_sub(head + 2),
            (false, _) => AMONG_OTHERS,
        }
    }

    /// For a page, without colour.
    #[cfg(feature = "page")]
    pub fn of_width(width: usize) -> Self {
        Self { width, colour: false, all: true }
    }
}

impl Form for Text {
    fn tells_all(&self, _: &CheckQuery) -> bool {
        false
    }

    fn site(&self, said: &mut Messages, judged: &Judged, assessor: &Assessor, asked: &CheckQuery) -> io::Result<()> {
        if judged.line.is_some() && judged.findings.is_empty() {
            return Ok(());
        }
        if !said.is_silent() {
            said.answer().extend_from_slice(self.between());
        }
        let before = said.answer().len();
        write_headline(said.answer(), judged, asked, *self)?;
        let head = said.answer()[before..].iter().filter(|byte| **byte == b'\n').count();
        let room = self.room(head, judged.findings.len());
        for finding in &judged.findings {
            let shown = render::findings::within(finding, &assessor.sources, self.width, self.colour, room);
            // what keeps a file from being read is a message, not an answer
            let to = if finding.outcome == Outcome::Unusable { said.message() } else { said.answer() };
            writeln!(to, "\n{shown}")?;
        }
        Ok(())
    }

    fn faults_of_profile(&self, _: &str, findings: &[Finding], sources: &Sources) -> io::Result<Vec<u8>> {
        let mut said = Vec::new();
        findings
            .iter()
            .try_for_each(|finding| writeln!(said, "\n{}", render::findings::finding(finding, sources, self.width, self.colour)))?;
        Ok(said)
    }

    fn between(&self) -> &'static [u8] {
        b"\n"
    }

    fn end(&self, out: &mut dyn Write, _: &CheckQuery, Ended { tally, beside, has_said, .. }: &Ended) -> io::Result<()> {
        if !beside.stopped_by.is_empty() {
            out.flush()?;
            beside.say()?;
        }
        if tally.summary.sites > 1 {
            if *has_said {
                writeln!(out)?;
            }
            write_summary(out, &tally.summary)?;
            if !beside.left_out.is_empty() {
                writeln!(out, "{} of the folders were left out: they are no sites", files(beside.left_out.len()))?;
            }
            write_faults(out, &tally.faults(), self.width)?;
            write_answerable(out, &tally.answerable(), self.width)?;
        }
        if tally.summary.does_not_comply > 0 {
            // beneath the findings of one site it is one row more
            let before = if tally.summary.sites == 1 { "  caution   " } else { "" };
            writeln!(out, "{before}{}", render::wrapped(LICENSED, self.width - before.len(), before.len()))?;
        }
        Ok(())
    }
}

fn files(count: usize) -> String {
    if count == 1 { "1 file".to_owned() } else { format!("{count} files") }
}

/// What stands beneath what does not comply.
const LICENSED: &str = "only licensed persons change settings; the network operator decides";
/// Lines of a screen that one fault fits on.
const SCREEN: usize = 20;
/// Lines of a finding that is not the only one.
const AMONG_OTHERS: usize = 14;

fn write_headline(out: &mut dyn Write, judged: &Judged, asked: &CheckQuery, Text { width, colour, all }: Text) -> io::Result<()> {
    let (strong, plain) = if colour { (style(code(judged.judgement.verdict)), style("0")) } else { Default::default() };
    let words = render::wrapped(&judged.headline().to_uppercase(), width, 2);
    if let Some(notice) = judged.training {
        writeln!(out, "{notice}")?;
    }
    let id = judged.id.as_deref().unwrap_or("unnamed site");
    let line = judged.line.map(|line| format!(":{line}")).unwrap_or_default();
    let of_site = format!("{id}  ({}{line})", judged.file);
    let is_narrow = words.lines().last().unwrap_or_default().chars().count() + 2 + of_site.chars().count() > width;
    writeln!(out, "{strong}{words}{plain}{}{of_site}", if is_narrow { "\n  " } else { "  " })?;
    if judged.under.is_empty() {
        return Ok(());
    }
    let under = format!("under {}, as of {}", judged.under, asked.today);
    writeln!(out, "  {}", render::wrapped(&under, width - 2, 4))?;
    if let Some(says) = figures(judged.judgement.figures) {
        writeln!(out, "  {}", render::wrapped(&says, width - 2, 4))?;
    }
    let known_by = judged.known_by.words();
    if !known_by.is_empty() {
        writeln!(out, "  {}", render::wrapped(&format!("values: {known_by}"), width - 2, 4))?;
    }
    if !judged.not_checked.is_empty() {
        let unseen = functions(&judged.not_checked);
        let named = render::wrapped(&format!("not checked (not in profile): {}", unseen.join(", ")), width - 2, 4);
        let is_long = !all && named.contains('\n');
        let counted = || format!("not checked (not in profile): {} functions, which `--all` names", unseen.len());
        writeln!(out, "  {}", if is_long { counted() } else { named })?;
    }
    Ok(())
}

/// `58 figures: 52 UNVERIFIED (40 memory, 12 one source), 5 invented, 1 published`.
fn figures(figures: Figures) -> Option<String> {
    let counted = |parts: &[(u32, &str)]| {
        let parts: Vec<String> = parts.iter().filter(|(count, _)| *count > 0).map(|(count, word)| format!("{count} {word}")).collect();
        (!parts.is_empty()).then(|| parts.join(", "))
    };
    let unsure =
        counted(&[(figures.memory, "memory"), (figures.single_source, "one source"), (figures.disputed, "DISPUTED by a licensed copy")]);
    let unsure = unsure.map(|each| format!("{} UNVERIFIED ({each})", figures.unverified()));
    let sure = counted(&[
        (figures.invented, "invented"),
        (figures.attested, "attested"),
        (figures.published, "published"),
        (figures.site_approval, "by site-specific approval"),
    ]);
    let parts: Vec<String> = unsure.into_iter().chain(sure).collect();
    let noun = if figures.total() == 1 { "figure" } else { "figures" };
    (figures.total() > 0).then(|| format!("{} {noun}: {}", figures.total(), parts.join(", ")))
}

/// The functions of settings, each once: `voltage-withstand` of `voltage-withstand/state`.
fn functions(settings: &[String]) -> Vec<&str> {
    let mut functions: Vec<&str> = settings.iter().map(|setting| setting.split('/').next().unwrap_or(setting)).collect();
    functions.dedup();
    functions
}

fn code(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::Complies => "1;32",
        Verdict::NotProven => "1;33",
        Verdict::DoesNotComply | Verdict::CouldNotTell => "1;31",
    }
}

/// How many sites came to each verdict.
pub fn write_summary(out: &mut dyn Write, summary: &Summary) -> io::Result<()> {
    let of_training = format!("of all these: {NOTICE}");
    let rows = [
        ("comply, on verified figures", summary.complies - summary.on_unverified_figures),
        ("agree with unverified figures", summary.on_unverified_figures),
        ("of those that comply or agree, with a reservation: their headlines name it", summary.with_reservations),
        ("not proven", summary.not_proven),
        ("do not comply", summary.does_not_comply - summary.broken_by_unverified_figures),
        ("do not comply with unverified figures", summary.broken_by_unverified_figures),
        ("could not tell", summary.could_not_tell),
        (of_training.as_str(), summary.training),
    ];
    let width = summary.sites.to_string().len();
    writeln!(out, "{} sites", summary.sites)?;
    for (words, number) in rows.iter().filter(|(_, number)| *number > 0) {
        writeln!(out, "  {number:>width$}  {words}")?;
    }
    Ok(())
}

/// The faults that most sites have.
fn write_faults(out: &mut dyn Write, faults: &[FaultCount], width: usize) -> io::Result<()> {
    const MOST: usize = 10;
    if faults.is_empty() {
        return Ok(());
    }
    let left = faults.len().saturating_sub(MOST);
    let more = if left > 0 { format!(", the {MOST} most frequent of {}", faults.len()) } else { String::new() };
    render::heading(out, "BY FAULT", &format!("sites that have it{more}"))?;
    let mut table = table::table(["Sites", "Fault", "Setting", "Comes to"], width - 2);
    for fault in faults.iter().take(MOST) {
        table.add_row([&fault.sites.to_string(), fault.name, &fault.setting, &fault.outcome.replace('-', " ")]);
    }
    writeln!(out, "{}\n", table::lines(&table, &[]))
}

/// Who answers for how many sites, branch by branch and crew by crew; nothing where no site says.
fn write_answerable(out: &mut dyn Write, all: &[AnswerableSites], width: usize) -> io::Result<()> {
    let is_named = |one: &AnswerableSites| [&one.company, &one.branch, &one.crew].iter().any(|name| !name.is_empty());
    if !all.iter().any(is_named) {
        return Ok(());
    }
    let branches: Vec<([&String; 2], Summary)> =
        all.chunk_by(|one, next| (&one.company, &one.branch) == (&next.company, &next.branch)).map(added_up).collect();
    if branches.len() < all.len() {
        render::title(out, "BY BRANCH", "sites of each company and branch")?;
        write_counts(out, ["Company", "Branch"], branches.iter().map(|(names, summary)| (*names, summary)), width)?;
    }
    render::title(out, "BY CREW", "sites of each company, branch and crew")?;
    let crews = all.iter().map(|one| ([&one.company, &one.branch, &one.crew], &one.summary));
    write_counts(out, ["Company", "Branch", "Crew"], crews, width)
}

/// The sites of all crews of a branch.
fn added_up(crews: &[AnswerableSites]) -> ([&String; 2], Summary) {
    let mut summary = Summary::default();
    crews.iter().for_each(|crew| summary += crew.summary);
    ([&crews[0].company, &crews[0].branch], summary)
}

fn write_counts<'s, const N: usize>(
    out: &mut dyn Write,
    heads: [&str; N],
    rows: impl Iterator<Item = ([&'s String; N], &'s Summary)>,
    width: usize,
) -> io::Result<()> {
    let counted = ["Sites", "Comply", "At fault", "Not proven", "Could not tell"];
    let mut table = table::of_headings(heads.into_iter().chain(counted), width - 2);
    for (names, summary) in rows {
        let named = |name: &String| if name.is_empty() { "not stated".to_owned() } else { table::cut(name, width / 4) };
        let Summary { sites, complies, does_not_comply, not_proven, could_not_tell, .. } = *summary;
        let counts = [sites, complies, does_not_comply, not_proven, could_not_tell].map(|count| count.to_string());
        table.add_row(names.map(named).into_iter().chain(counts));
    }
    writeln!(out, "{}\n", table::lines(&table, &[]))
}
