//! `asleft events`: a log of voltage and frequency, played by a device with the settings that it holds.

mod advice;
mod notes;

use super::assessor;
use super::operand::{Fault as OperandFault, Operand, file_of, operand, write_fault};
use super::played::people;
use crate::args::{Events, Format, InService, MeansStamped, MeasuredAt};
use crate::render;
use crate::walk::write_messages;
use crate::{Exit, files};
use logs::{Expected, Fault, Log, Plausible, ReadOptions, Row, Spacing};
use notes::notes;
use plot::timeline::Clock;
use plot::{braille, svg};
use replay::acting::{Equipment, Measured, equipment};
use replay::held::{Held, site};
use replay::overview::{APART_FOR, Overview};
use replay::playing::Playing;
use replay::subjects::{NoSite, Subject, subjects};
use response::timeline::{Micros, Values, micros};
use rules::assess::Assessor;
use settings_model::exact::Exact;
use settings_model::facts::{FactId, Facts};
use settings_model::quantity::Dimension;
use std::io::{self, Write};
use views::played::log_told::{About, log_report};
use views::played::told::{Scene, kilowatt_hours};
use views::played::{picture, sentences, told};
use views::report::events::{EventsReport, LostReport, PlayedReport};

/// Values closer than this prove a mean (IEC 61000-4-30 builds its 10-minute values from 3-second
/// ones; from memory).
const PROVES_MEANS: Micros = 3_000_000;
/// The window of the means that stages look at.
const TEN_MINUTES: Micros = 600_000_000;
/// Values this far apart are taken to be means, unless it is said that they are not (common practice,
/// no source).
const TAKEN_FOR_MEANS: Micros = 60_000_000;

/// Why a log could not be played.
enum Refused {
    Operand(OperandFault),
    Log(Fault),
}

impl From<OperandFault> for Refused {
    fn from(fault: OperandFault) -> Self {
        Self::Operand(fault)
    }
}

impl From<Fault> for Refused {
    fn from(fault: Fault) -> Self {
        Self::Log(fault)
    }
}

impl From<String> for Refused {
    fn from(says: String) -> Self {
        Self::Operand(OperandFault::Words(says))
    }
}

/// Plays a log, and tells what happened.
pub fn run(args: &Events) -> io::Result<Exit> {
    let mut assessor = assessor(&args.under)?;
    let (report, clock) = match report(args, &mut assessor) {
        Ok(report) => report,
        Err(Refused::Operand(fault)) => return write_fault(fault, &assessor),
        Err(Refused::Log(fault)) => {
            let finding = fault.finding(&terminal::path(&args.log), &mut assessor.sources);
            return write_messages(&[finding], &assessor.sources).map(|()| Exit::CouldNotTell);
        }
    };
    let mut out = terminal::stdout();
    match args.format {
        Format::Json => render::json(&mut out, &report)?,
        Format::Text => {
            let plot = |width| braille::timeline(&picture::timeline(&report, clock), width, render::colour());
            people::write(&mut out, &report, (!args.drawing.no_plot).then_some(&plot))?;
        }
    }
    if let Some(file) = &args.drawing.svg {
        let draw = if args.slide { svg::slide } else { svg::timeline };
        files::write_whole(file, draw(&picture::timeline(&report, clock), "timeline").as_bytes())?;
        writeln!(terminal::stderr(), "drawn: {}", terminal::path(file))?;
    }
    Ok(exit(&report))
}

/// Fine where no device dropped out, may have, or was held back, and every stage was played that a log can show,
/// on every phase.
fn exit(report: &EventsReport) -> Exit {
    let happened = |device: &PlayedReport| {
        // a limit that was agreed is no event
        let is_event = |lost: &LostReport| sentences::is_held_back(lost) && !lost.cause.ends_with("-limit");
        device.events.iter().any(|event| matches!(event.what, "tripped" | "left-unseen" | "left-by-loss"))
            || device.lost.iter().any(is_event)
            || device.could_not_play > 0
            || device.phases_not_logged > 0
    };
    if report.suspect_neutral || report.devices.iter().any(happened) { Exit::NotFine } else { Exit::Fine }
}

fn report(args: &Events, assessor: &mut Assessor) -> Result<(EventsReport, Clock), Refused> {
    let words: Vec<&str> = std::iter::once(args.site.as_str()).chain(args.with.iter().map(String::as_str)).collect();
    let mut operands = Vec::new();
    for word in words {
        operands.push((word, operand(word, assessor)?));
    }
    let mut sites = Vec::new();
    for (_, operand) in &operands {
        sites.push(if let Operand::Site(of) = operand { Some(site(of)?) } else { None });
    }
    let bare = NoSite::default();
    let subjects = subjects(&operands, &sites, &bare, assessor)?;
    let (report, clock) = played(args, &subjects)?;
    let site = operands.iter().find(|(_, operand)| matches!(operand, Operand::Site(_)));
    let advice = advice::advice(&report, site.map(|(word, _)| file_of(word)).as_deref());
    Ok((EventsReport { advice, ..report }, clock))
}

fn played(args: &Events, subjects: &[Subject<'_>]) -> Result<(EventsReport, Clock), Refused> {
    let Some(one) = subjects.first().map(|subject| &subject.held) else { return Err("nothing is named".to_owned().into()) };
    let mut log = Log::open(&args.log, &ReadOptions::new(args.columns.as_deref(), args.line_to_line, args.dates)?)?;
    let mut rows = log.more()?;
    let mut plausible = Plausible::new(&log.layout, expected(one));
    plausible.volts(&mut rows, &log.layout)?;
    let spacing = Spacing::of(&rows, args.gap.as_deref().map(time).transpose()?);
    if rows.len() < 2 {
        return Err(Fault::new("one-row", "the log has a single row: nothing lasts in it", "name a log with rows").into());
    }
    let are_means = args.means.is_some() || (!args.samples && (log.layout.says_means || spacing.usual >= TAKEN_FOR_MEANS));
    let shift = if args.means == Some(MeansStamped::End) { spacing.usual } else { 0 };
    rows.iter_mut().for_each(|row| row.at -= shift);

    let measured = Measured {
        phases: log.layout.phases(),
        frequency: log.layout.has_frequency(),
        available: log.layout.has_available(),
        load: log.layout.has_load(),
    };
    let equipment =
        subjects.iter().map(|subject| equipment(&subject.held, &subject.relays, measured)).collect::<Result<Vec<Equipment>, String>>()?;
    // means prove a longer one only where it is made of whole ones
    let prove_means = if are_means { TEN_MINUTES % spacing.usual.max(1) == 0 } else { spacing.usual <= PROVES_MEANS };
    let in_service = match args.in_service {
        Some(InService::Yes) => Some(true),
        Some(InService::No) => Some(false),
        None => rows.first().map(Row::power).filter(|power| *power > 0.0).map(|_| true),
    };
    let history = args.history.as_deref().map(|text| volts(text, one)).transpose()?;
    let mut players: Vec<Playing<'_>> = Vec::new();
    for equipment in &equipment {
        let values = Values { phases: equipment.phases.len(), are_means, prove_means };
        let history = history.map(|volts| (rows[0].at, volts));
        players.push(Playing::new(equipment, in_service, values, history, spacing.usual));
    }
    let mut overview = Overview::new(expected(one).nominal, measured.phases, spacing);
    let layout = log.layout.clone();
    replay::reading::play(log, rows, shift, &mut plausible, &mut overview, &mut players)?;

    let scene = Scene {
        clock: layout.clock,
        first: overview.first,
        spacing: spacing.usual,
        are_means,
        prove_means,
        has_available: overview.has_available(),
        given_by_log: overview.has_given().then(|| kilowatt_hours(overview.given)),
        has_history: history.is_some(),
        is_made: false,
    };
    let devices = told::of_all(&players, subjects, &scene);
    let suspect_neutral = overview.apart >= APART_FOR;
    let notes = notes(args, &layout, &scene, in_service);
    let about = About {
        file: terminal::path(&args.log),
        columns: layout.read(),
        ignored: layout.ignored.clone(),
        measured_at: args.measured_at.map_or("not-stated", MeasuredAt::word),
        phases: measured.phases,
        has_frequency: measured.frequency,
        has_power: layout.has_power(),
        has_available: measured.available,
        has_load: measured.load,
    };
    let log = log_report(about, &overview, &scene, plausible.left_out(), notes);
    let report = EventsReport { advice: Vec::new(), log, devices, suspect_neutral };
    Ok((report, Clock { shown: scene.clock, first: scene.first }))
}

fn expected(held: &Held<'_>) -> Expected {
    let nominal = held.facts.number(FactId::NominalVoltage).map_or(230.0, Exact::approximate);
    let book = held.asked.as_ref().map(|(book, _)| &book.rulebook);
    Expected {
        nominal,
        frequency: book.and_then(|book| book.nominal_frequency).map(Exact::approximate),
        rated: held.facts.number(FactId::RatedPower).or_else(|| held.facts.number(FactId::Nameplate)).map(Exact::approximate),
    }
}

fn time(text: &str) -> Result<Micros, String> {
    let amount = Dimension::Time.parse(text).map_err(|slip| format!("--gap: {slip}"))?;
    let seconds = amount.at(&Facts::default()).map(Exact::approximate).filter(|seconds| *seconds > 0.0);
    seconds.map(micros).ok_or_else(|| format!("--gap: `{text}` is no time above zero; write it as `10 s`"))
}

fn volts(text: &str, held: &Held<'_>) -> Result<f64, String> {
    let amount = Dimension::Voltage.parse(text).map_err(|slip| format!("--history: {slip}"))?;
    let volts = amount.at(&held.facts).map(Exact::approximate);
    let volts = volts.ok_or_else(|| format!("--history: `{text}` counts in a nominal voltage that is not known"))?;
    let nominal = expected(held).nominal;
    // a supply may have been dead before
    let is_sound = (0.0..=1.5 * nominal).contains(&volts);
    if is_sound { Ok(volts) } else { Err(format!("--history: `{text}` is no voltage of a {nominal} V supply")) }
}
