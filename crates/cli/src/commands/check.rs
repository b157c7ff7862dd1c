//! `asleft check`: does what the devices hold comply?

mod beside;
mod lines;
mod people;
mod programs;
mod said;
mod sarif;
mod sheets;

use super::{NO_SITES, assessor, day, refused};
use crate::Exit;
use crate::args::{Check, CheckFormat, Under};
use crate::files::filled;
use crate::pipeline::{Progress, WorkerFactory, in_order, jobs};
use crate::report::Summary;
use crate::report::fleet::Tally;
use crate::report::judged::Judged;
use crate::texts::{Block, is_one_site};
use crate::walk::{each_site, write_messages};
use beside::Beside;
use rules::assess::{Assessor, GovernedBy};
use rules::filled_sheet::FilledSheet;
use said::Messages;
use settings_model::finding::Finding;
use settings_model::source::Sources;
use std::io::{self, Write};
use std::sync::Arc;

/// Judges every site and says what it came to.
pub fn run(args: &Check) -> io::Result<Exit> {
    if let Some(folder) = sheets::folder(&args.filled) {
        return sheets::run(args, folder);
    }
    if args.filled.filled.is_some() && !is_one_site(&args.sites) {
        return refused("a filled sheet is laid over one site; name that site's file and no other, or a folder of sheets");
    }
    let mut sources = Sources::default();
    let asked = match filled::named(&args.filled, &mut sources)? {
        Ok(over) => CheckQuery::of(args, over),
        Err(findings) => return write_messages(&findings, &sources).map(|()| Exit::CouldNotTell),
    };
    let form = form(args.format, args.all);
    let mut out = io::BufWriter::new(terminal::stdout());
    form.begin(&mut out, &asked)?;
    let (mut tally, mut beside, mut progress, mut is_first) = (Tally::default(), Beside::default(), Progress::of("sites"), true);
    let judged = in_order(&args.sites, jobs(args.jobs.jobs), workers(args, asked.clone()), &mut |done: Done| {
        if !is_first && !done.said.is_empty() {
            out.write_all(form.between())?;
        }
        is_first &= done.said.is_empty();
        if !done.said.is_silent() {
            progress.clear();
            done.said.write(&mut out)?;
            progress.flush_beside(&mut out)?;
        }
        progress.step(done.tally.summary.sites);
        tally.add(done.tally);
        beside.add(done.beside);
        Ok(())
    });
    drop(progress);
    let failure = match &judged {
        Err(error) => Some(error.to_string()),
        Ok(()) if tally.summary.sites == 0 => Some(NO_SITES.to_owned()),
        Ok(()) => None,
    };
    let exit = if failure.is_none() { exit(&tally.summary, args.require_verified) } else { Exit::CouldNotTell };
    let ended = Ended { tally, beside, exit, failure, has_said: !is_first };
    match judged.and(form.end(&mut out, &asked, &ended).and_then(|()| out.flush())) {
        // a reader that went away is a quiet end, and no proof that all sites comply
        Err(error) if error.kind() == io::ErrorKind::BrokenPipe => Ok(Exit::CouldNotTell),
        Err(error) => Err(error),
        Ok(()) => ended.failure.map_or(Ok(exit), |says| refused(&says)),
    }
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

/// What is asked of every site.
#[derive(Clone)]
struct CheckQuery {
    under: Under,
    /// The same day for every worker, whatever time it is where one begins.
    today: jiff::civil::Date,
    require_verified: bool,
    pinned: bool,
    /// Whether only one site is asked about, so that everything is told of it.
    is_one: bool,
    /// What the devices of the one site hold, in place of what its file says.
    over: Option<FilledSheet>,
}

impl CheckQuery {
    fn of(args: &Check, over: Option<FilledSheet>) -> Self {
        let today = day(&args.under);
        let under = Under { as_of: Some(today), ..args.under.clone() };
        let is_one = is_one_site(&args.sites);
        Self { under, today, require_verified: args.require_verified, pinned: args.pinned, is_one, over }
    }
}

/// What came of one block.
struct Done {
    said: Messages,
    tally: Tally,
    beside: Beside,
}

/// What all sites came to.
struct Ended {
    tally: Tally,
    beside: Beside,
    exit: Exit,
    /// Whether anything was said of any site.
    has_said: bool,
    /// What kept it from going on to the last site, or from beginning with one.
    failure: Option<String>,
}

/// Makes workers, each with an assessor of its own.
fn workers(args: &Check, asked: CheckQuery) -> WorkerFactory<Done> {
    let (format, all) = (args.format, args.all);
    Arc::new(move || {
        let (form, asked) = (form(format, all), asked.clone());
        let mut assessor = assessor(&asked.under)?;
        if asked.pinned {
            assessor.governed_by = GovernedBy::Pins;
        }
        Ok(Box::new(move |block| {
            let mut done = Done { said: Messages::default(), tally: Tally::default(), beside: Beside::default() };
            if let Block::LeftOut(files) = block {
                done.beside.left_out = files;
                return Ok(done);
            }
            each_site(block, &mut assessor, asked.over.as_ref(), form.tells_all(&asked), &mut |mut judged, assessor| {
                if !asked.is_one {
                    done.beside.take(&mut judged, &*form, &assessor.sources)?;
                }
                done.tally.count(&judged);
                form.site(&mut done.said, &judged, assessor, &asked)
            })?;
            Ok(done)
        }))
    })
}

/// A form that the answer may take: begun and ended once, and of each site wherever it was judged.
trait Form {
    /// Whether it says something of sites, given one a line, of which nothing is to be said.
    fn tells_all(&self, asked: &CheckQuery) -> bool;
    fn begin(&self, _: &mut dyn Write, _: &CheckQuery) -> io::Result<()> {
        Ok(())
    }
    fn site(&self, said: &mut Messages, judged: &Judged, assessor: &Assessor, asked: &CheckQuery) -> io::Result<()>;
    /// The faults of a profile that keeps sites from being judged, to be told at the end.
    fn faults_of_profile(&self, _profile: &str, findings: &[Finding], sources: &Sources) -> io::Result<Vec<u8>> {
        people::Text::here().faults_of_profile("", findings, sources)
    }
    /// What stands between two things said.
    fn between(&self) -> &'static [u8] {
        b""
    }
    fn end(&self, _: &mut dyn Write, _: &CheckQuery, _: &Ended) -> io::Result<()> {
        Ok(())
    }
}

fn form(format: CheckFormat, all: bool) -> Box<dyn Form> {
    match format {
        CheckFormat::Text => Box::new(people::Text::of(all)),
        CheckFormat::Json => Box::new(programs::Json),
        CheckFormat::Ndjson => Box::new(programs::Ndjson),
        CheckFormat::Lines => Box::new(lines::Lines),
        CheckFormat::Sarif => Box::new(sarif::Sarif),
    }
}

/// Judges a text of one site, and hands it on with what `check` prints of it.
pub fn each_judged(
    name: &str,
    text: &str,
    under: &Under,
    take: &mut dyn FnMut(&Judged, String, &Sources) -> io::Result<()>,
) -> io::Result<()> {
    let mut assessor = assessor(under)?;
    let asked = CheckQuery { under: under.clone(), today: day(under), require_verified: false, pinned: false, is_one: true, over: None };
    let form = people::Text::here();
    let block = Block::Whole { name: name.to_owned(), text: text.to_owned() };
    each_site(block, &mut assessor, None, true, &mut |judged, assessor| {
        let mut said = Messages::default();
        form.site(&mut said, &judged, assessor, &asked)?;
        take(&judged, said.text(), &assessor.sources)
    })
}

/// What `check` prints of one text in so many columns, without colour: answers and messages, for a page.
#[cfg(feature = "page")]
pub fn said_of(name: &str, text: &str, under: &Under, width: usize) -> io::Result<String> {
    let mut assessor = assessor(under)?;
    let asked = CheckQuery { under: under.clone(), today: day(under), require_verified: false, pinned: false, is_one: true, over: None };
    let (mut said, form) = (Messages::default(), people::Text::of_width(width));
    let block = Block::Whole { name: name.to_owned(), text: text.to_owned() };
    each_site(block, &mut assessor, None, true, &mut |judged, assessor| form.site(&mut said, &judged, assessor, &asked))?;
    Ok(said.text())
}
