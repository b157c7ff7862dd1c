//! `asleft check`: does what the devices hold comply?

use super::assessor;
use crate::Exit;
use crate::args::{Check, Format};
use crate::render;
use crate::report::{FindingReport, SiteReport, Summary, headline};
use crate::walk::{Judged, each_site};
use rules::assess::{Assessor, GovernedBy, SiteVerdict};
use settings_model::finding::Outcome;
use std::io::{self, Write};

/// Judges every site and says what it came to.
pub fn run(args: &Check) -> io::Result<Exit> {
    let mut assessor = assessor(&args.under)?;
    if args.pinned {
        assessor.governed_by = GovernedBy::Pins;
    }
    let mut out = io::BufWriter::new(anstream::stdout().lock());
    let mut report: Box<dyn Report> = match args.format {
        Format::Text => Box::new(Text::default()),
        Format::Json => Box::new(Json::default()),
    };
    let mut summary = Summary::default();
    report.begin(&mut out, args, &assessor)?;
    let walked = each_site(&args.sites, &mut assessor, args.format == Format::Json, &mut |judged, assessor| {
        summary.count(judged.verdict, judged.figures.unverified() > 0);
        report.site(&mut out, &judged, assessor)
    });
    report.end(&mut out, &summary, &assessor)?;
    out.flush()?;
    walked?;
    Ok(exit(&summary, args.require_verified))
}

fn exit(summary: &Summary, require_verified: bool) -> Exit {
    if summary.could_not_tell > 0 {
        Exit::CouldNotTell
    } else if summary.does_not_comply + summary.not_proven > 0 || (require_verified && summary.on_unverified_figures > 0) {
        Exit::NotFine
    } else {
        Exit::Fine
    }
}

/// A form that the answer may take, written as the sites come.
trait Report {
    fn begin(&mut self, out: &mut dyn Write, args: &Check, assessor: &Assessor) -> io::Result<()>;
    fn site(&mut self, out: &mut dyn Write, judged: &Judged, assessor: &Assessor) -> io::Result<()>;
    fn end(&mut self, out: &mut dyn Write, summary: &Summary, assessor: &Assessor) -> io::Result<()>;
}

#[derive(Default)]
struct Text {
    faulty: usize,
}

impl Report for Text {
    fn begin(&mut self, _: &mut dyn Write, _: &Check, _: &Assessor) -> io::Result<()> {
        Ok(())
    }

    fn site(&mut self, out: &mut dyn Write, judged: &Judged, assessor: &Assessor) -> io::Result<()> {
        let bulk_and_fine = judged.line.is_some() && judged.findings.is_empty();
        if bulk_and_fine {
            return Ok(());
        }
        let (width, colour) = (render::width(), render::colour());
        self.faulty += usize::from(judged.verdict > SiteVerdict::NotProven);
        write_headline(out, judged, assessor, width, colour)?;
        for finding in &judged.findings {
            let shown = render::findings::finding(finding, &assessor.sources, width, colour);
            match finding.outcome {
                // what keeps a file from being read is a message, not an answer
                Outcome::Unusable => {
                    out.flush()?;
                    writeln!(anstream::stderr(), "\n{shown}")?;
                }
                _ => writeln!(out, "\n{shown}")?,
            }
        }
        writeln!(out)
    }

    fn end(&mut self, out: &mut dyn Write, summary: &Summary, _: &Assessor) -> io::Result<()> {
        if summary.sites > 1 {
            write_summary(out, summary)?;
        }
        if summary.does_not_comply > 0 {
            let says = "Only licensed persons may change settings; the network operator's own document decides.";
            writeln!(out, "{}", render::wrapped(says, render::width(), 0))?;
        }
        Ok(())
    }
}

fn write_headline(out: &mut dyn Write, judged: &Judged, assessor: &Assessor, width: usize, colour: bool) -> io::Result<()> {
    let (strong, plain) = if colour { (style(judged.verdict), "\u{1b}[0m") } else { ("", "") };
    let words = headline(judged.verdict, judged.figures).to_uppercase();
    let id = judged.id.as_deref().unwrap_or("unnamed site");
    let line = judged.line.map(|line| format!(":{line}")).unwrap_or_default();
    writeln!(out, "{strong}{words}{plain}  {id}  ({}{line})", judged.file)?;
    if judged.under.is_empty() {
        return Ok(());
    }
    let under = format!("under {}, as of {}", judged.under, assessor.today);
    writeln!(out, "  {}", render::wrapped(&under, width - 2, 4))?;
    let figures = judged.figures;
    if figures.total() > 0 {
        let words = [
            (figures.published, "published"),
            (figures.invented, "invented"),
            (figures.single_source, "from a single source (unverified)"),
            (figures.memory, "from memory (unverified)"),
            (figures.site_approval, "by site-specific approval"),
        ];
        let parts: Vec<String> = words.iter().filter(|(n, _)| *n > 0).map(|(n, word)| format!("{n} {word}")).collect();
        writeln!(out, "  {}", render::wrapped(&format!("{} requirements: {}", figures.total(), parts.join(", ")), width - 2, 4))?;
    }
    let known_by = judged.known_by.phrase();
    if !known_by.is_empty() {
        writeln!(out, "  {}", render::wrapped(&format!("values: {known_by}"), width - 2, 4))?;
    }
    if !judged.not_checked.is_empty() {
        let unseen = format!("not checked, as its content was not seen: {}", judged.not_checked.join(", "));
        writeln!(out, "  {}", render::wrapped(&unseen, width - 2, 4))?;
    }
    Ok(())
}

fn style(verdict: SiteVerdict) -> &'static str {
    match verdict {
        SiteVerdict::Complies => "\u{1b}[1;32m",
        SiteVerdict::NotProven => "\u{1b}[1;33m",
        SiteVerdict::DoesNotComply | SiteVerdict::CouldNotTell => "\u{1b}[1;31m",
    }
}

fn write_summary(out: &mut dyn Write, summary: &Summary) -> io::Result<()> {
    let rows = [
        ("comply, on verified figures", summary.complies - summary.on_unverified_figures),
        ("agree with unverified figures", summary.on_unverified_figures),
        ("not proven", summary.not_proven),
        ("do not comply", summary.does_not_comply),
        ("could not tell", summary.could_not_tell),
    ];
    let width = summary.sites.to_string().len();
    writeln!(out, "{} sites", summary.sites)?;
    for (words, number) in rows.iter().filter(|(_, number)| *number > 0) {
        writeln!(out, "  {number:>width$}  {words}")?;
    }
    Ok(())
}

/// One object; its list of sites is written as they come, so that a fleet needs no memory.
#[derive(Default)]
struct Json {
    some: bool,
}

impl Report for Json {
    fn begin(&mut self, out: &mut dyn Write, args: &Check, assessor: &Assessor) -> io::Result<()> {
        write!(out, "{{\"as-of\":\"{}\",\"require-verified\":{},\"sites\":[", assessor.today, args.require_verified)
    }

    fn site(&mut self, out: &mut dyn Write, judged: &Judged, assessor: &Assessor) -> io::Result<()> {
        let report = SiteReport {
            id: judged.id.clone(),
            file: judged.file.clone(),
            line: judged.line,
            verdict: judged.verdict.word(),
            headline: headline(judged.verdict, judged.figures),
            layers: judged.layers.clone(),
            figures: judged.figures,
            known_by: judged.known_by,
            not_checked: judged.not_checked.clone(),
            findings: judged.findings.iter().map(|f| FindingReport::new(f, &assessor.sources)).collect(),
        };
        out.write_all(if self.some { b",\n" } else { b"\n" })?;
        self.some = true;
        serde_json::to_writer(out, &report).map_err(io::Error::from)
    }

    fn end(&mut self, out: &mut dyn Write, summary: &Summary, _: &Assessor) -> io::Result<()> {
        write!(out, "\n],\"summary\":")?;
        serde_json::to_writer(&mut *out, summary).map_err(io::Error::from)?;
        writeln!(out, "}}")
    }
}
