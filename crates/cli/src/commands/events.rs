//! `asleft events`: a log of voltage and frequency, played by a device with the settings that it holds.

mod advice;
mod notes;

use super::assessor;
use super::logged::{self, Begun, Refused, expected, prove_means};
use super::operand::{Operand, file_of, operand};
use super::played::people;
use crate::args::{Events, Format, InService, MeasuredAt};
use crate::render;
use crate::{Exit, files};
use logs::{Log, Row};
use notes::notes;
use plot::timeline::Clock;
use plot::{braille, svg};
use replay::acting::{Equipment, Measured, equipment};
use replay::held::{DeviceAtMoment, site};
use replay::overview::{APART_FOR, Overview};
use replay::playing::Playing;
use replay::subjects::{NoSite, Subject, subjects};
use response::timeline::Values;
use rules::assess::Assessor;
use settings_model::exact::Exact;
use settings_model::quantity::Dimension;
use std::io::{self, Write};
use views::played::log_told::{About, log_report};
use views::played::told::{Scene, kilowatt_hours};
use views::played::{picture, sentences, told};
use views::report::events::{EventsReport, LostReport, PlayedReport};

/// Plays a log, and tells what happened.
pub fn run(args: &Events) -> io::Result<Exit> {
    let mut assessor = assessor(&args.under)?;
    let (report, clock) = match report(args, &mut assessor) {
        Ok(report) => report,
        Err(refused) => return logged::write_refused(refused, &args.log, &mut assessor),
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
    let mut log = Log::open(&args.log, &logged::options(&args.form)?)?;
    let Begun { rows, mut plausible, spacing, are_means, shift } = logged::begin(&mut log, &args.form, expected(one))?;
    let measured = Measured {
        phases: log.layout.phases(),
        frequency: log.layout.has_frequency(),
        available: log.layout.has_available(),
        load: log.layout.has_load(),
    };
    let equipment =
        subjects.iter().map(|subject| equipment(&subject.held, &subject.relays, measured)).collect::<Result<Vec<Equipment>, String>>()?;
    let prove_means = prove_means(are_means, spacing);
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

fn volts(text: &str, held: &DeviceAtMoment<'_>) -> Result<f64, String> {
    let amount = Dimension::Voltage.parse(text).map_err(|slip| format!("--history: {slip}"))?;
    let volts = amount.at(&held.facts).map(Exact::approximate);
    let volts =
        volts.ok_or_else(|| format!("--history: `{text}` is per unit of a nominal voltage that is not known; write it in volts"))?;
    let nominal = expected(held).nominal;
    // a supply may have been dead before
    let is_sound = (0.0..=1.5 * nominal).contains(&volts);
    if is_sound { Ok(volts) } else { Err(format!("--history: `{text}` is no voltage of a {nominal} V supply")) }
}
