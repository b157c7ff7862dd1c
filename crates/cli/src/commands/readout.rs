//! What comes of registers, however they were read: the settings, what is left open, a site's file, a verdict.
//!
//! - `site`: the site that the device stands at, and what its file says otherwise
//! - `laid`: the site's file with what was read
//! - `people`, `crate::report::capture`: what is printed

mod laid;
mod people;
mod site;

use super::{NO_SITES, assessor, check, refused};
use crate::args::{Format, Readout};
use crate::render;
use crate::report::SiteReport;
use crate::report::capture::CaptureReport;
use crate::{Exit, files};
use rules::provenance::Verdict;
use site::AtSite;
use std::io::{self, Write};
use std::path::Path;
use sunspec::image::ReadFrom;
use sunspec::walk::{NoMap, Tried};
use sunspec::{Against, Captured, Walk};

/// Registers that were read.
pub struct Read {
    /// The models.
    pub walk: Walk,
    /// What they were read from, for people.
    pub name: String,
    /// Where and when a device was read, if that is known.
    pub from: Option<ReadFrom>,
}

/// What came of it.
struct Outcome {
    captured: Captured,
    site: Option<AtSite>,
    /// The site's file with what was read.
    text: String,
}

/// Says what was read, writes it where that is wished, and judges it where that is asked.
pub fn finish(read: &Read, args: &Readout) -> io::Result<Exit> {
    let mut assessor = assessor(&args.under)?;
    let site = match args.judge.as_ref().or(args.site.as_ref()) {
        None => None,
        Some(path) => match AtSite::named(path, read, args, &mut assessor)? {
            Ok(site) => Some(site),
            Err(Some(says)) => return refused(&says),
            Err(None) => return Ok(Exit::CouldNotTell),
        },
    };
    let against = site.as_ref().map_or_else(Against::default, |site| site.against);
    let mut captured = sunspec::mapping::captured(&read.walk, &against);
    if let Some(site) = &site {
        site.compare(&mut captured, args);
    }
    let text = laid::text(read, &captured, site.as_ref(), args);
    let outcome = Outcome { captured, site, text };
    if let Some(says) = write_out(args, &outcome)? {
        return refused(&says);
    }
    let judged = match (&args.judge, &outcome.site) {
        (Some(path), Some(site)) => Some(judged(path, site, &outcome, read, args)?),
        _ => None,
    };
    say(read, &outcome, judged.as_ref(), args)?;
    let open = if outcome.captured.leaves_open() { Exit::NotFine } else { Exit::Fine };
    Ok(judged.map_or(open, |judged| judged.exit().max(open)))
}

/// A verdict with what `check` says of it.
struct Judged {
    verdict: Verdict,
    said: String,
    report: serde_json::Value,
}

impl Judged {
    fn exit(&self) -> Exit {
        match self.verdict {
            Verdict::Complies => Exit::Fine,
            Verdict::NotProven | Verdict::DoesNotComply => Exit::NotFine,
            Verdict::CouldNotTell => Exit::CouldNotTell,
        }
    }
}

/// Judges the site by what was read; what it was found with, as if it had been left so.
fn judged(path: &Path, site: &AtSite, outcome: &Outcome, read: &Read, args: &Readout) -> io::Result<Judged> {
    let name = format!("{} with {}", terminal::path(path), read.name);
    let as_left = args.as_found.then(|| laid::as_if_left(read, &outcome.captured, site));
    let text = as_left.as_deref().unwrap_or(&outcome.text);
    let mut judged = None;
    check::each_judged(&name, text, &args.under, &mut |site, said, sources| {
        let report = serde_json::to_value(SiteReport::new(site, sources))?;
        judged = Some(Judged { verdict: site.judgement.verdict, said, report });
        Ok(())
    })?;
    judged.ok_or_else(|| io::Error::other(NO_SITES))
}

/// Writes the site's file where that is wished; what keeps it from being written.
fn write_out(args: &Readout, outcome: &Outcome) -> io::Result<Option<String>> {
    let Some(path) = args.out.as_ref().filter(|path| path.as_os_str() != "-") else { return Ok(None) };
    write_new(path, outcome.text.as_bytes(), args.replace)
}

/// Writes a file that is not there yet, or replaces it where that was asked for.
pub fn write_new(path: &Path, bytes: &[u8], replace: bool) -> io::Result<Option<String>> {
    if files::says_otherwise(path, bytes)? && !replace {
        return Ok(Some(format!(
            "{}: a file is there already, and says something else; name another place, or give `--replace`",
            terminal::path(path)
        )));
    }
    files::write_whole(path, bytes)?;
    Ok(None)
}

fn say(read: &Read, outcome: &Outcome, judged: Option<&Judged>, args: &Readout) -> io::Result<()> {
    if args.out.as_ref().is_some_and(|path| path.as_os_str() == "-") {
        terminal::stdout().write_all(outcome.text.as_bytes())?;
        return people::write(&mut terminal::stderr(), read, outcome, judged, args);
    }
    match args.format {
        Format::Text => people::write(&mut terminal::stdout(), read, outcome, judged, args),
        Format::Json => {
            let training = outcome.site.as_ref().and_then(|site| site.training);
            let report = CaptureReport::new(
                &read.walk,
                &read.name,
                read.from.as_ref(),
                &outcome.captured,
                training,
                judged.map(|judged| judged.report.clone()),
            );
            let mut out = terminal::stdout();
            render::json(&mut out, &report)
        }
    }
}

/// Says why there was nothing to read.
pub fn no_map(why: &NoMap, name: &str) -> io::Result<Exit> {
    match why {
        NoMap::Lost(failure) => refused(&format!("{name}: {failure}")),
        NoMap::NotFound(tried) => {
            let tried = tried.iter().map(|(at, came)| match came {
                Tried::Holds([first, second]) => format!("{at} holds {first:04x} {second:04x}"),
                Tried::Refused(failure) => format!("{at}: {failure}"),
            });
            let tried = tried.collect::<Vec<_>>().join("; ");
            refused(&format!(
                "{name}: no map of SunSpec models, which begins with 5375 6e53 (`SunS`): {tried}. The device may not speak them, may \
                 need them switched on, or has another unit id (`--unit`) or its map elsewhere (`--base`)"
            ))
        }
    }
}
