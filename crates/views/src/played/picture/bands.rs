//! What each device did, as rows of states, and what happened, as numbered marks.

use super::Axis;
use crate::played::events::{grouped, letter, name, sure, told, what, when};
use crate::report::events::{EventReport, EventsReport, PlayedReport, StateReport};
use plot::timeline::{DeviceTimeline, Doing, Mark, Row, Span, Spell, without};

/// Changes of state that are drawn one by one; of more, the shares of each stretch.
const ONE_BY_ONE: usize = 300;
/// Moments that have a tick, at most.
const TICKS: usize = 400;
/// Share of the picture that is too short to see.
const UNSEEN: f64 = 1.0 / 400.0;

/// The devices of a report.
pub fn devices(report: &EventsReport, axis: &Axis) -> Vec<DeviceTimeline> {
    let is_one = report.devices.len() == 1;
    let device = |(n, device): (usize, &PlayedReport)| {
        let marks = marks(report, n);
        let all: u64 = device.counts.iter().map(|count| count.count).sum();
        let (more, more_says) = match device.events.len() > marks.len() {
            true => (ticks(device, axis), Some(format!("{} events in all; those without a number are ticks", grouped(all)))),
            false => (Vec::new(), None),
        };
        let title = if is_one { device.of.clone() } else { format!("{}  {}", letter(n), device.of) };
        DeviceTimeline { title, says: device.in_short.clone(), rows: rows(device, axis), marks, more, more_says }
    };
    report.devices.iter().enumerate().map(device).collect()
}

fn rows(device: &PlayedReport, axis: &Axis) -> Vec<Row> {
    let row = |n: usize, label| Row { label, spells: spells(device, n, axis) };
    let (soonest, latest) = (row(0, "off where it may be"), row(1, "on where it may be"));
    let is_seen = |event: &EventReport| event.sure != "certain" || event.latest.seconds - event.earliest.seconds > UNSEEN * axis.lasts;
    let agree = soonest.spells == latest.spells
        || (device.states.len() <= ONE_BY_ONE && !differ(&device.states) && !device.events.iter().any(is_seen));
    if agree { vec![Row { label: "", ..soonest }] } else { vec![soonest, latest] }
}

/// Whether the log begins or ends with the two in different states.
fn differ(states: &[StateReport]) -> bool {
    let is_other = |state: Option<&StateReport>| state.is_some_and(|state| state.leaving_soonest != state.leaving_latest);
    is_other(states.first()) || is_other(states.last())
}

fn spells(device: &PlayedReport, n: usize, axis: &Axis) -> Vec<Spell> {
    let shares = device.envelope.doing.iter().map(|doing| doing.as_ref().map(|both| both[n]));
    if device.states.len() > ONE_BY_ONE {
        let known = shares.enumerate().filter_map(|(at, shares)| Some((axis.span(at), shares?)));
        return alike(known.flat_map(|(span, shares)| cut(span, shares, axis)));
    }
    let held: Vec<f64> = shares.map(|shares| shares.map_or(0.0, |shares| held_back(&shares))).collect();
    let mut spells = Vec::new();
    for (at, state) in device.states.iter().enumerate() {
        let until = device.states.get(at + 1).map_or(axis.lasts, |next| next.from.seconds);
        let doing = doing(if n == 0 { state.leaving_soonest } else { state.leaving_latest });
        for span in within(state.from.seconds, until, axis.stretch) {
            let middle = (f64::midpoint(span[0], span[1]) / axis.stretch) as usize;
            let held = if doing == Doing::Running { held.get(middle).copied().unwrap_or(0.0) } else { 0.0 };
            let mut shares = doing.only().map(|share| share * (1.0 - held));
            shares[Doing::HeldBack.place()] += held;
            spells.extend(cut(span, shares, axis));
        }
    }
    alike(spells.into_iter())
}

/// How much of the time in which it ran it was held back, in steps that can be told apart.
fn held_back(shares: &[f64; 6]) -> f64 {
    let [held, free] = [Doing::HeldBack, Doing::Running].map(|doing| shares[doing.place()]);
    if held > 0.0 { (held / (held + free) * 16.0).round() / 16.0 } else { 0.0 }
}

/// A span in pieces that lie in one stretch each.
fn within(from: f64, until: f64, stretch: f64) -> Vec<Span> {
    let first = (from / stretch).floor() as usize + 1;
    let edges = (first..).map(|n| n as f64 * stretch).take_while(|edge| *edge < until);
    let edges: Vec<f64> = std::iter::once(from).chain(edges).chain([until]).collect();
    edges.windows(2).map(|pair| [pair[0], pair[1]]).filter(|[from, until]| from < until).collect()
}

fn cut(span: Span, shares: [f64; 6], axis: &Axis) -> Vec<Spell> {
    without(span, &axis.unknown).into_iter().map(|[from, until]| Spell { from, until, shares }).collect()
}

/// Neighbours that are alike are one.
fn alike(all: impl Iterator<Item = Spell>) -> Vec<Spell> {
    let mut spells: Vec<Spell> = Vec::new();
    for spell in all {
        match spells.last_mut() {
            Some(last) if last.until >= spell.from && last.shares == spell.shares => last.until = spell.until,
            _ => spells.push(spell),
        }
    }
    spells
}

fn doing(word: &str) -> Doing {
    match word {
        "observing" => Doing::Observing,
        "ramping" => Doing::Ramping,
        "running" => Doing::Running,
        "ceased" => Doing::Ceased,
        _ => Doing::Waiting,
    }
}

fn marks(report: &EventsReport, device: usize) -> Vec<Mark> {
    let log = &report.log;
    // a day that all have in common stands below the axis
    let day = log.first.time.split_once(' ').map(|(day, _)| format!("{day} ")).filter(|day| log.last.time.starts_with(day.as_str()));
    let time = |event: &EventReport| day.as_ref().map_or_else(|| when(event), |day| when(event).replace(day.as_str(), ""));
    let mark = |(n, event): (usize, &EventReport)| Mark {
        name: name(report, device, n),
        between: [event.earliest.seconds, event.latest.seconds],
        is_certain: event.sure == "certain",
        says: format!("{}, {} ({})", time(event), what(event), sure(event)),
    };
    told(&report.devices[device].events).into_iter().enumerate().map(mark).collect()
}

/// Moments of events, no closer than can be seen.
fn ticks(device: &PlayedReport, axis: &Axis) -> Vec<f64> {
    let mut ticks: Vec<f64> = Vec::new();
    for event in &device.events {
        if ticks.last().is_none_or(|last| event.earliest.seconds - last > axis.lasts / TICKS as f64) {
            ticks.push(event.earliest.seconds);
        }
    }
    ticks
}
