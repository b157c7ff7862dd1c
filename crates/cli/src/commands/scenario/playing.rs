//! A scenario played by devices, moment by moment.

use super::links::{Does, OnLosses};
use super::named::Named;
use crate::commands::acting::{Equipment, Measured, equipment};
use crate::commands::played::log_told::{About, log_report};
use crate::commands::played::overview::{APART_FOR, Overview};
use crate::commands::played::playing::{Playing, Shape, play_row};
use crate::commands::played::subjects::Subject;
use crate::commands::played::told::{self, Scene, seconds};
use crate::report::events::EventsReport;
use crate::report::scenario::{ScenarioReport, ScenarioTold, StepTold};
use logs::{Row, Shown, Spacing};
use plot::timeline::Clock;
use response::course::{Course, DENSEST, Signal, Stretch};
use response::timeline::{Micros, Values};
use settings_model::files::Link;

/// Plays a course on every subject.
pub fn played(named: &Named, course: &Course, subjects: &[Subject<'_>], nominal: f64) -> Result<(ScenarioReport, Clock), String> {
    let phases = if course.stretches.iter().any(|stretch| differs(&stretch.begins) || differs(&stretch.ends)) { 3 } else { 1 };
    let mut made: Vec<Equipment> = subjects.iter().map(|subject| built(subject, phases)).collect::<Result<_, String>>()?;
    let on_losses: Vec<OnLosses> = subjects.iter().zip(&made).map(|(subject, made)| OnLosses::of(&subject.held, made)).collect();
    let lost: Vec<Link> = course.stretches.iter().flat_map(|stretch| &stretch.links).map(|(link, _)| *link).collect();
    for (equipment, on_losses) in made.iter_mut().zip(&on_losses) {
        equipment.taken.extend(on_losses.taken.iter().filter(|(link, _)| lost.contains(link)).map(|(_, says)| says.clone()));
    }
    let history = course.stretches.first().map(|stretch| (0, stretch.begins.voltage[0]));
    let mut players: Vec<Playing<'_>> = Vec::new();
    for equipment in &made {
        let values = Values { phases: equipment.phases.len(), are_means: false, prove_means: true };
        players.push(Playing::new(equipment, Some(named.file.in_service.unwrap_or(true)), values, history, DENSEST));
    }
    let mut overview = Overview::new(nominal, phases, Spacing { usual: DENSEST, longest: 2 * DENSEST });
    play(course, &on_losses, phases, &mut overview, &mut players);

    let scene = Scene {
        clock: Shown::FromBeginning,
        first: 0,
        spacing: DENSEST,
        are_means: false,
        prove_means: true,
        has_available: true,
        given_by_log: None,
        has_history: true,
        is_made: true,
    };
    let devices = told::of_all(&players, subjects, &scene);
    let about = About {
        file: named.file.title.clone(),
        columns: Vec::new(),
        ignored: Vec::new(),
        measured_at: "terminals",
        phases,
        has_frequency: true,
        has_power: false,
        has_available: true,
        has_load: true,
    };
    let notes =
        vec!["made up for a lesson; the voltage of the beginning is taken to have held for as long as any average looks back".to_owned()];
    let log = log_report(about, &overview, &scene, &[], notes);
    let timeline = EventsReport { advice: Vec::new(), log, devices, suspect_neutral: overview.apart >= APART_FOR };
    Ok((ScenarioReport { scenario: scenario_told(named, course), timeline }, Clock { shown: scene.clock, first: 0 }))
}

fn differs(signal: &Signal) -> bool {
    signal.voltage.iter().any(|volts| *volts != signal.voltage[0])
}

/// A device as it acts; of one on a phase that nobody states, the first is taken.
fn built(subject: &Subject<'_>, phases: usize) -> Result<Equipment, String> {
    let measured = |phases| Measured { phases, frequency: true, available: true, load: true };
    equipment(&subject.held, &subject.relays, measured(phases)).or_else(|_| {
        let mut made = equipment(&subject.held, &subject.relays, measured(1))?;
        made.taken.push("On which phase it sits is not stated; it is taken to sit on the first".to_owned());
        Ok(made)
    })
}

/// What one of the two readings of a device does at a moment.
struct Action<'o> {
    at: Micros,
    device: usize,
    which: usize,
    /// `None` where what was lost is back.
    does: Option<&'o Does>,
}

fn play<'p>(course: &Course, on_losses: &'p [OnLosses], phases: usize, overview: &mut Overview, players: &mut [Playing<'p>]) {
    let shape = Shape { phases, has_frequency: true, is_net: false };
    let mut due: Vec<Action<'p>> = Vec::new();
    for stretch in &course.stretches {
        for (link, is_lost) in &stretch.links {
            turn(stretch.from, *link, *is_lost, on_losses, &mut due);
        }
        for (at, signal) in stretch.samples() {
            while let Some(action) = due.first().filter(|action| action.at < at).map(|action| action.at) {
                play_row(&row(action, stretch.at(action)), shape, overview, players);
                act(&mut due, action, players);
            }
            play_row(&row(at, signal), shape, overview, players);
            act(&mut due, at, players);
        }
    }
    if let Some(last) = course.stretches.last() {
        play_row(&row(last.to, last.ends), shape, overview, players);
    }
}

/// Puts down what follows of a loss or a return; what a loss that is over would still have brought is struck.
fn turn<'o>(now: Micros, link: Link, is_lost: bool, on_losses: &'o [OnLosses], due: &mut Vec<Action<'o>>) {
    due.retain(|action| action.does.is_none());
    for (device, on_losses) in on_losses.iter().enumerate() {
        let on_loss = on_losses.losing(link);
        for (which, within) in on_loss.within.into_iter().enumerate() {
            let (at, does) = if is_lost { (now + within, Some(&on_loss.does)) } else { (now, None) };
            due.push(Action { at, device, which, does });
        }
    }
    due.sort_by_key(|action| action.at);
}

/// Does what has fallen due.
fn act<'p>(due: &mut Vec<Action<'p>>, now: Micros, players: &mut [Playing<'p>]) {
    let fallen = due.iter().take_while(|action| action.at <= now).count();
    for Action { device, which, does, .. } in due.drain(..fallen) {
        let Playing { equipment, player, .. } = &mut players[device];
        match does {
            Some(Does::Nothing) => {}
            Some(Does::ActsAs(other)) => player.act_as(which, other),
            Some(Does::Leaves) => player.hold_off(which),
            None => {
                player.act_as(which, &equipment.device);
                player.let_go();
            }
        }
    }
}

fn row(at: Micros, signal: Signal) -> Row {
    Row::made(at, signal.voltage, signal.frequency, signal.available, signal.own_use)
}

fn scenario_told(named: &Named, course: &Course) -> ScenarioTold {
    ScenarioTold {
        name: named.name.clone(),
        title: named.file.title.clone(),
        teaches: named.file.teaches.clone(),
        source: named.file.source.clone(),
        seconds: seconds(course.end()),
        steps: course.stretches.iter().map(step_told).collect(),
    }
}

fn step_told(stretch: &Stretch) -> StepTold {
    let both = |of: fn(&Signal) -> f64| [of(&stretch.begins), of(&stretch.ends)];
    let links = |is_lost: bool| {
        let of = stretch.links.iter().filter(move |(_, lost)| *lost == is_lost);
        of.map(|(link, _)| word(*link)).collect()
    };
    StepTold {
        from: seconds(stretch.from),
        to: seconds(stretch.to),
        says: stretch.says.clone(),
        voltage: [stretch.begins.voltage, stretch.ends.voltage],
        frequency: both(|signal| signal.frequency),
        available: both(|signal| signal.available),
        own_use: both(|signal| signal.own_use),
        loses: links(true),
        regains: links(false),
    }
}

/// The word in files and in machine-readable answers.
fn word(link: Link) -> &'static str {
    match link {
        Link::Communication => "communication",
        Link::ExportSensor => "export-sensor",
    }
}
