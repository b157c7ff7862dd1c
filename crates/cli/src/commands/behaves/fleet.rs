//! `asleft behaves --fleet`: many sites, each by its log; a line a device, the one to look at first first.

mod counted;
mod counters;
mod first;
mod found;
mod judged;
mod kept;
mod people;
mod sites;

use crate::Exit;
use crate::args::{Behaves, BehavesFormat};
use crate::commands::{NO_SITES, assessor, day, refused};
use crate::pipeline::Progress;
use crate::render;
use crate::report::behaves_fleet::{BehavesFleetReport, DeviceLine, FleetAnswer};
use behaviour::function::Function;
pub use counters::counted_under;
use found::{FoundLog, found};
use kept::Kept;
use logs::{Log, LogError, Owner, ReadOptions};
use rules::assess::Assessor;
use serde::Serialize;
use sites::Sites;
use std::collections::BTreeMap;
use std::io::{self, BufWriter, Write};
use std::path::Path;
use whole_file::Partial;

/// Judges every log that is of one of the sites.
pub fn run(args: &Behaves) -> io::Result<Exit> {
    let functions = match super::functions(&args.functions) {
        Ok(functions) => functions,
        Err(says) => return refused(&says),
    };
    let options = match super::logged::options(&args.form) {
        Ok(options) => options.of_many(),
        Err(fault) => return refused(&format!("{}; {}", fault.says, fault.help)),
    };
    if args.site == "-" && args.logs.iter().any(|log| log.as_os_str() == "-") {
        return refused("sites and logs cannot both come from standard input: write one of them into a file");
    }
    let sites = Sites::of(&args.site)?;
    if sites.all.is_empty() && sites.faults.is_empty() {
        return refused(NO_SITES);
    }
    let (logs, left_out) = found(&args.logs)?;
    let kept = Kept::of(&args.from_counters)?;
    let counters = args.counters.as_deref().map(|file| Partial::beside(file).map_err(|error| about(file, &error))).transpose()?;
    let mut out = BufWriter::new(terminal::stdout());
    let counters = counters.map(BufWriter::new);
    let mut fleet = Fleet { args, functions, options, assessor: assessor(&args.under)?, sites, told: FleetLines::default(), counters };
    let mut progress = Progress::of("logs of devices");
    let mut take = |line: &DeviceLine| {
        progress.step(1);
        if !is_streamed(args) {
            return Ok(());
        }
        progress.clear();
        write_line(&mut out, line)
    };
    logs.iter().try_for_each(|log| fleet.judge_log(log, &mut take))?;
    fleet.judge_kept(kept, &mut take)?;
    fleet.tell_without_log(&mut take)?;
    drop(progress);
    fleet.keep_counters()?;
    let exit = fleet.exit();
    let report = fleet.report(left_out.iter().map(terminal::path).collect());
    match args.format {
        BehavesFormat::Text => people::write(&mut out, &report, args)?,
        BehavesFormat::Json => render::json(&mut out, &report)?,
        BehavesFormat::Ndjson => people::say_beside(&report)?,
    }
    out.flush()?;
    Ok(exit)
}

/// Whether each line goes out as soon as it is known, so that only its answer has to be kept.
fn is_streamed(args: &Behaves) -> bool {
    args.format == BehavesFormat::Ndjson
}

fn write_line(out: &mut dyn Write, line: &impl Serialize) -> io::Result<()> {
    serde_json::to_writer(&mut *out, line)?;
    writeln!(out)
}

/// What was told so far.
#[derive(Default)]
struct FleetLines {
    lines: Vec<DeviceLine>,
    /// The place of each device's line, by site and the device that its log names.
    places: BTreeMap<(usize, Option<String>), usize>,
    logs_without_site: Vec<String>,
    not_read: Vec<String>,
    /// Whether rows of a device came back.
    came_back: bool,
}

/// A fleet that is being judged.
struct Fleet<'a> {
    args: &'a Behaves,
    functions: Vec<Function>,
    options: ReadOptions,
    assessor: Assessor,
    sites: Sites,
    told: FleetLines,
    /// Where what was counted is written to.
    counters: Option<BufWriter<Partial>>,
}

/// Where a line goes as soon as it is known.
type Take<'t> = &'t mut dyn FnMut(&DeviceLine) -> io::Result<()>;

impl Fleet<'_> {
    /// Judges what a log is of: one device, or many.
    fn judge_log(&mut self, found: &FoundLog, take: Take<'_>) -> io::Result<()> {
        let name = found.name();
        let Some(first) = found.files.first() else { return Ok(()) };
        let is_input = first.as_os_str() == "-";
        let mut log = match Log::open(first, &self.options) {
            Ok(log) if !log.layout.has_sites() && is_input => {
                let says = "standard input: no column is `site`: nobody knows whose the rows are";
                self.told.not_read.push(says.to_owned());
                return Ok(());
            }
            Ok(log) if !log.layout.has_sites() => log.followed_by(&found.files[1..], &self.options),
            Ok(log) if found.files.len() > 1 => {
                let says = format!("{name}: {} files of one folder, with a column `site` in them", found.files.len());
                self.told.not_read.push(format!("{says}: take the column out, or write each site into one file"));
                drop(log);
                return Ok(());
            }
            Ok(log) => log,
            Err(fault) => return self.unreadable(found, &fault, take),
        };
        if !log.layout.has_sites() {
            let owner = Owner { site: found.site.clone(), device: found.device.clone(), line: 0 };
            return self.judge_rows(&name, &owner, &mut log, take);
        }
        loop {
            match log.next_owner() {
                Ok(Some(owner)) => self.judge_rows(&name, &owner, &mut log, take)?,
                Ok(None) => return Ok(()),
                Err(fault) => {
                    self.told.not_read.push(format!("{}; nothing behind it was read", judged::in_words(&name, &fault)));
                    return Ok(());
                }
            }
        }
    }

    /// A log that cannot be opened: of a site whose name its file has, that site's; of no site, a fault of its own.
    fn unreadable(&mut self, found: &FoundLog, fault: &LogError, take: Take<'_>) -> io::Result<()> {
        let (name, owner) = (found.name(), Owner { site: found.site.clone(), device: found.device.clone(), line: 0 });
        let says = judged::in_words(&name, fault);
        match self.sites.place(&found.site) {
            Some(site) => self.tell(site, &owner, judged::could_not_tell(&self.sites.all[site], &name, says), take),
            None => {
                self.told.not_read.push(says);
                Ok(())
            }
        }
    }

    /// Judges the rows of one device.
    fn judge_rows(&mut self, name: &str, owner: &Owner, log: &mut Log, take: Take<'_>) -> io::Result<()> {
        let Some(site) = self.sites.place(&owner.site) else {
            let at = if owner.line > 0 { format!("{name}:{}", owner.line) } else { name.to_owned() };
            self.told.logs_without_site.push(format!("{} ({at})", shown(&owner.site)));
            return Ok(());
        };
        if let Some(place) = self.told.places.get(&(site, owner.device.clone())).copied() {
            return self.tell_again(place, name, owner, take);
        }
        let judged = self.judged(site, name, owner, log);
        for line in &judged.counters {
            self.counters.as_mut().map_or(Ok(()), |out| write_line(out, line))?;
        }
        self.tell(site, owner, judged.line, take)
    }

    /// Decides by counters, site by site.
    fn judge_kept(&mut self, mut kept: Kept, take: Take<'_>) -> io::Result<()> {
        for site in 0..self.sites.all.len() {
            let name = self.sites.all[site].name.clone();
            for device in kept.devices(&name) {
                let lines = kept.lines(&name, &device)?;
                let line = self.judged_again(site, &device, &lines);
                let owner = Owner { site: name.clone(), device: Some(device), line: 0 };
                self.tell(site, &owner, line, take)?;
            }
        }
        let strangers = kept.sites().into_iter().filter(|site| self.sites.place(site).is_none()).map(shown);
        self.told.logs_without_site.extend(strangers);
        self.told.not_read.append(&mut kept.faults);
        Ok(())
    }

    /// Keeps the file of counters, where all of it can be added up.
    fn keep_counters(&mut self) -> io::Result<()> {
        let (Some(out), Some(file)) = (self.counters.take(), &self.args.counters) else { return Ok(()) };
        if self.told.came_back {
            let says = "no counters were kept: rows of some device come back, and its counters would lack them";
            self.told.not_read.push(format!("{}: {says}", terminal::path(file)));
            return Ok(());
        }
        let partial = out.into_inner().map_err(io::IntoInnerError::into_error)?;
        partial.keep().map_err(|error| about(file, &error))
    }

    fn tell(&mut self, site: usize, owner: &Owner, line: DeviceLine, take: Take<'_>) -> io::Result<()> {
        if let Some(place) = self.told.places.get(&(site, owner.device.clone())).copied() {
            return self.tell_again(place, line.log.as_deref().unwrap_or_default(), owner, take);
        }
        take(&line)?;
        self.sites.all[site].is_met = true;
        self.told.places.insert((site, owner.device.clone()), self.told.lines.len());
        self.told.lines.push(if is_streamed(self.args) { judged::answer_alone(line) } else { line });
        Ok(())
    }

    /// Rows of a device that come back: what was said of it rests on some of its rows, so it is taken back. Adding them up
    /// would count a row twice that stands in both places.
    fn tell_again(&mut self, place: usize, name: &str, owner: &Owner, take: Take<'_>) -> io::Result<()> {
        self.told.came_back = true;
        let line = &mut self.told.lines[place];
        if line.answer == FleetAnswer::CouldNotTell {
            return Ok(());
        }
        let at = if owner.line > 0 { format!("{name}:{}", owner.line) } else { name.to_owned() };
        let first = line.log.clone().unwrap_or_default();
        let says = format!(
            "{at}: rows of {} come back after others (first in {first}): sort by site and time, or count each part (`--counters`)",
            shown(&owner.site)
        );
        *line = judged::taken_back(line, says);
        take(line)
    }

    /// Tells the sites, and the inverters of a site, of which no log was met.
    fn tell_without_log(&mut self, take: Take<'_>) -> io::Result<()> {
        for (place, site) in self.sites.all.iter().enumerate() {
            let is_told = |device: Option<String>| self.told.places.contains_key(&(place, device));
            let mut missing: Vec<Option<String>> = Vec::new();
            if !site.is_met {
                missing.push(None);
            } else if !is_told(None) {
                missing.extend(site.inverters.iter().cloned().map(Some).filter(|device| !is_told(device.clone())));
            }
            for device in missing {
                let line = DeviceLine { device, ..judged::line_of(site, FleetAnswer::NoLog, None) };
                take(&line)?;
                self.told.lines.push(line);
            }
        }
        Ok(())
    }

    fn exit(&self) -> Exit {
        let could_not_tell = self.told.lines.iter().any(|line| line.answer == FleetAnswer::CouldNotTell);
        if could_not_tell || !self.told.not_read.is_empty() || !self.sites.faults.is_empty() {
            return Exit::CouldNotTell;
        }
        if self.told.lines.iter().all(|line| line.answer == FleetAnswer::Behaves) { Exit::Fine } else { Exit::NotFine }
    }

    fn report(self, left_out: Vec<String>) -> BehavesFleetReport {
        let Self { args, sites, mut told, functions, .. } = self;
        told.lines.sort_by(first::order);
        let is_logged = |line: &&DeviceLine| line.device.is_some() && line.log.is_some();
        BehavesFleetReport {
            as_of: day(&args.under).to_string(),
            summary: counted::summary(sites.all.len() + sites.faults.len(), &told.lines),
            order: first::ORDER.iter().enumerate().map(|(n, says)| format!("{} {says}", n + 1)).collect(),
            by_function: counted::by_function(&functions, &told.lines),
            by_crew: counted::by(told.lines.iter(), |line| crew(&line.answerable)),
            by_network: counted::by(told.lines.iter().filter(is_logged), |line| line.network.clone().unwrap_or_default()),
            by_family: counted::by(told.lines.iter().filter(is_logged), |line| line.family.clone().unwrap_or_default()),
            devices: told.lines,
            logs_without_site: told.logs_without_site,
            not_read: sites.faults.into_iter().chain(told.not_read).collect(),
            left_out,
            cautions: super::words::CAUTIONS.to_vec(),
        }
    }
}

/// A crew with its branch: others may have one of the same name.
fn crew([_, branch, crew]: &[String; 3]) -> String {
    [branch, crew].iter().filter(|name| !name.is_empty()).map(|name| name.as_str()).collect::<Vec<_>>().join(" / ")
}

fn about(file: &Path, error: &io::Error) -> io::Error {
    io::Error::other(format!("{}: {}", terminal::path(file), input_files::why(error)))
}

/// A name from outside, on one line.
fn shown(name: &str) -> String {
    if name.trim().is_empty() { "a site without a name".to_owned() } else { terminal::escaped(name).into_owned() }
}
