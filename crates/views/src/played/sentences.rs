//! What happened, in sentences.

use crate::report::events::{EventReport, LostReport, PlayedReport};
use replay::acting::{Equipment, title};
use response::timeline::Stage;

/// What to say where phases move apart.
pub const STOP: &str = "One phase rose while another fell: suspect the neutral. Stop, keep clear, leave the device off, \
and call the network operator now: a lost neutral can kill and burn.";

/// `2 h 41 min`, `12 s`, `0.2 s`: two units at most.
pub fn lasting(seconds: f64) -> String {
    let whole = seconds.round() as u64;
    let two = |of: u64, unit: &str, rest: u64, smaller: &str| match rest {
        0 => format!("{of} {unit}"),
        rest => format!("{of} {unit} {rest} {smaller}"),
    };
    match whole {
        0..60 => format!("{} s", (seconds * 1000.0).round() / 1000.0),
        60..3600 => two(whole / 60, "min", whole % 60, "s"),
        3600..86_400 => two(whole / 3600, "h", whole / 60 % 60, "min"),
        _ => two(whole / 86_400, "d", whole / 3600 % 24, "h"),
    }
}

/// `1 h 2 min to 1 h 5 min`, or one of them where both are alike.
pub fn lasting_between([least, most]: [f64; 2]) -> String {
    let (least, most) = (lasting(least), lasting(most));
    if least == most { least } else { format!("{least} to {most}") }
}

fn times(count: u64) -> String {
    match count {
        1 => "once".to_owned(),
        2 => "twice".to_owned(),
        n => format!("{n} times"),
    }
}

/// How often a device dropped out, at the least and at the most.
fn dropped_out_times([least, most]: [u64; 2]) -> String {
    let up_to = |count: u64| if count == 1 { times(count) } else { format!("up to {}", times(count)) };
    match (least, most - least) {
        (0, 0) => "No stage that was played disconnected it".to_owned(),
        (0, n) => format!("It may have disconnected {}", up_to(n)),
        (n, 0) => format!("It disconnected {}", times(n)),
        (n, m) => format!("It disconnected {}, and may have {} more", times(n), up_to(m)),
    }
}

/// Causes that people ask about: not the sun, the ratings or the log.
pub fn is_held_back(lost: &LostReport) -> bool {
    matches!(
        lost.cause,
        "volt-watt"
            | "frequency"
            | "export-limit"
            | "generation-limit"
            | "reactive-power"
            | "ceased"
            | "charging-volt-watt"
            | "charging-frequency"
            | "charging-reactive-power"
    )
}

impl PlayedReport {
    /// What a reader has to be told of the figures that are not the device's own.
    pub fn unverified_warning(&self) -> Option<String> {
        self.figures.warning("that its region or the requirement brings")
    }
}

/// What it came to.
pub fn in_short(report: &PlayedReport) -> String {
    let mut said = vec![dropped_out_times(report.drop_outs)];
    match report.could_not_play {
        0 => {}
        _ if report.stages.is_empty() && report.drop_outs[1] == 0 => {
            said = vec!["None of its stages could be played, so that nothing says whether it disconnected".to_owned()];
        }
        1 => said.push("1 of its stages could not be played".to_owned()),
        n => said.push(format!("{n} of its stages could not be played")),
    }
    match report.phases_not_logged {
        0 => {}
        1 => said.push("1 of its phases is not in the log".to_owned()),
        n => said.push(format!("{n} of its phases are not in the log")),
    }
    for lost in report.lost.iter().filter(|lost| is_held_back(lost)) {
        let energy = lost.energy.map_or(String::new(), |energy| format!(" ({} kWh)", between(energy)));
        said.push(format!("{} for {}{energy}", uncapitalised(&lost.title), lasting_between(lost.seconds)));
    }
    format!("{}.", said.join("; "))
}

/// `1.2`, or `1.2 to 1.4`.
pub fn between([least, most]: [f64; 2]) -> String {
    let shown = |value: f64| if value < 9.95 { format!("{value:.2}") } else { format!("{value:.1}") };
    let (least, most) = (shown(least), shown(most));
    if least == most { least } else { format!("{least} to {most}") }
}

/// The first cause: the first time it dropped out, or else what held it back most.
pub fn first_cause(report: &PlayedReport, equipment: &Equipment) -> Option<String> {
    let first = report.events.iter().find(|event| matches!(event.what, "tripped" | "left-unseen" | "left-by-loss"));
    if let Some(event) = first {
        let is_certain = event.sure != "may-have" && report.drop_outs[0] > 0;
        return Some(dropped_out(event, [is_certain, report.drop_outs[1] < 2], equipment));
    }
    let held = report.lost.iter().find(|lost| is_held_back(lost))?;
    let charging = held.title.strip_prefix("Charging ");
    let of = if charging.is_some() { "it wanted" } else { "there was" };
    let left = if held.least_left.is_finite() { format!(", down to {:.0} % of what {of}", held.least_left) } else { String::new() };
    let [from, _] = &held.between;
    Some(match charging {
        Some(held) => format!("Its charging was first {held} at {}{left}.", from.time),
        None if held.cause == "ceased" => format!("It first {} at {}.", uncapitalised(&held.title), from.time),
        None => format!("It was first {} at {}{left}.", uncapitalised(&held.title), from.time),
    })
}

fn dropped_out(event: &EventReport, [is_certain, is_only]: [bool; 2], equipment: &Equipment) -> String {
    let when = match event.earliest.time == event.latest.time {
        true => format!("at {}", event.earliest.time),
        false => format!("between {} and {}", event.earliest.time, event.latest.time),
    };
    let verb = match (is_certain, is_only) {
        (true, true) => "disconnected",
        (true, false) => "first disconnected",
        (false, true) => "may have disconnected",
        (false, false) => "may first have disconnected",
    };
    let because = match event.stages.first() {
        None if event.what == "left-by-loss" => "because it lost what it keeps its limit by".to_owned(),
        None => "while the log says nothing".to_owned(),
        Some(function) => {
            let relay = event.relays.first().and_then(Option::as_deref);
            let is_seen = event.unseen < event.stages.len();
            match is_seen {
                true => format!("because {}", condition((function, relay), event.value, equipment)),
                false => unseen((function, relay), equipment),
            }
        }
    };
    format!("It {verb} {when}, {because}.")
}

/// `where the log lacks the frequency, which may have stayed above 52 Hz (Overfrequency, stage 1)`.
fn unseen((function, relay): (&str, Option<&str>), equipment: &Equipment) -> String {
    let is_meant = |stage: &&Stage| stage.function == function && equipment.relay_of(stage) == relay;
    let Some(stage) = equipment.protection.stages.iter().find(is_meant) else { return title(function).to_owned() };
    let (quantity, unit) = if stage.watched == response::timeline::Watched::Frequency { ("frequency", "Hz") } else { ("voltage", "V") };
    let side = if stage.side == response::timeline::Side::Above { "above" } else { "below" };
    let (threshold, title) = (stage.threshold, equipment.title_of(stage));
    format!("where the log lacks the {quantity}, which may have stayed {side} {threshold} {unit} ({title})")
}

/// `the 10-minute average of the voltage, 255.1 V, passed 255 V`.
fn condition((function, relay): (&str, Option<&str>), value: Option<f64>, equipment: &Equipment) -> String {
    let is_meant = |stage: &&Stage| stage.function == function && equipment.relay_of(stage) == relay;
    let Some(stage) = equipment.protection.stages.iter().find(is_meant) else {
        return title(function).to_owned();
    };
    let is_frequency = stage.watched == response::timeline::Watched::Frequency;
    let is_mean = matches!(stage.watched, response::timeline::Watched::MeanOfAnyPhase(_));
    let (quantity, unit, digits) = match (is_mean, is_frequency) {
        (true, _) => ("the 10-minute average of the voltage", "V", 1),
        (_, true) => ("the frequency", "Hz", 2),
        _ => ("the voltage", "V", 1),
    };
    // a mean is told as it passes
    let shown = value.filter(|_| !is_mean).map_or(String::new(), |value| format!(", {value:.digits$} {unit},"));
    let side = if stage.side == response::timeline::Side::Above { "above" } else { "below" };
    let threshold = stage.threshold;
    let condition = match stage.drop_off.at {
        _ if is_mean => format!("rose {side} {threshold} {unit}"),
        [at, _] if at == threshold && stage.drop_off.at[1] == threshold => format!("stayed {side} {threshold} {unit}"),
        [_, at] => format!("had gone {side} {threshold} {unit} and stayed {side} {at:.digits$} {unit}, where it lets go at the latest"),
    };
    format!("{quantity}{shown} {condition} ({})", equipment.title_of(stage))
}

/// Begins a phrase that does not begin a sentence.
pub fn uncapitalised(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| first.to_lowercase().chain(letters).collect())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn times_are_told_in_two_units_at_most() {
        let told = [0.2, 12.0, 60.0, 61.0, 3_600.0, 9_660.0, 90_000.0].map(lasting);
        assert_eq!(told, ["0.2 s", "12 s", "1 min", "1 min 1 s", "1 h", "2 h 41 min", "1 d 1 h"]);
        assert_eq!(lasting_between([60.0, 60.2]), "1 min");
        assert_eq!(between([1.0, 12.34]), "1.00 to 12.3");
    }
}
