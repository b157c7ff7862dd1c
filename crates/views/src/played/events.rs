//! One event in words, the same in tables, in pictures and on the page.

use crate::report::events::{EventReport, EventsReport, PlayedReport};
use replay::acting::title;

/// Events that are told one by one; of more the first and the last.
pub const TOLD: usize = 24;

/// The events that are told one by one.
pub fn told(events: &[EventReport]) -> Vec<&EventReport> {
    match events.len() {
        n if n <= TOLD => events.iter().collect(),
        n => events[..TOLD / 2].iter().chain(&events[n - TOLD / 2..]).collect(),
    }
}

/// The number of an event that is told, with the letter of its device where there are several.
pub fn name(report: &EventsReport, device: usize, event: usize) -> String {
    let letter = if report.devices.len() > 1 { letter(device).to_string() } else { String::new() };
    format!("{letter}{}", event + 1)
}

/// A list that every device has.
pub type ListOf = fn(&PlayedReport) -> &Vec<String>;

/// The letter of one of several.
pub fn letter(n: usize) -> char {
    char::from(b'A' + (n % 26) as u8)
}

/// `31,536,000`.
pub fn grouped(n: u64) -> String {
    let digits = n.to_string();
    let mut grouped = String::new();
    for (at, digit) in digits.chars().enumerate() {
        if at > 0 && (digits.len() - at).is_multiple_of(3) {
            grouped.push(',');
        }
        grouped.push(digit);
    }
    grouped
}

/// When it happened.
pub fn when(event: &EventReport) -> String {
    let (earliest, latest) = (&event.earliest.time, &event.latest.time);
    match (earliest == latest, earliest.split_once(' '), latest.split_once(' ')) {
        (true, ..) => earliest.clone(),
        (_, Some((day, _)), Some((other, time))) if day == other => format!("{earliest} to {time}"),
        _ => format!("{earliest} to {latest}"),
    }
}

/// What happened, in words.
pub fn what(event: &EventReport) -> String {
    let again = if event.times > 1 { format!(" {} times, the last at", grouped(event.times)) } else { String::from(":") };
    match event.what {
        "tripped" | "relay-opened" => {
            let seen = event.stages.len() - event.unseen;
            let stages = titles(&event.stages[..seen], &event.relays[..seen]);
            let unseen = titles(&event.stages[seen..], &event.relays[seen..]);
            let verb = if event.what == "tripped" { "tripped" } else { "opened while it was off" };
            // the value is that of the stage named first
            let unit = if event.stages.first().is_some_and(|stage| stage.contains("frequency")) { "Hz" } else { "V" };
            let digits = if unit == "Hz" { 2 } else { 1 };
            let value = event.value.map_or(String::new(), |value| format!(" at {value:.digits$} {unit}"));
            match (seen, event.unseen) {
                (_, 0) => format!("{verb}: {stages}{value}"),
                (0, _) => format!("{verb}, where the log lacks what it looks at: {unseen}"),
                _ => format!("{verb}: {stages}{value}; or, where the log lacks what it looks at: {unseen}"),
            }
        }
        "connected" => "connected, and ramped up".to_owned(),
        "broken-off-by-voltage" => {
            format!("observation begun again{again} {}", event.value.map_or("no voltage".to_owned(), |v| format!("{v:.1} V")))
        }
        "broken-off-by-frequency" => {
            format!("observation begun again{again} {}", event.value.map_or("no frequency".to_owned(), |f| format!("{f:.2} Hz")))
        }
        "left-by-loss" => "left: it lost what it keeps its limit by".to_owned(),
        _ => "left, while the log says nothing".to_owned(),
    }
}

/// Names of stages, with those of their relays.
pub fn titles(stages: &[&str], relays: &[Option<String>]) -> String {
    let named = stages.iter().zip(relays).map(|(stage, relay)| match relay {
        Some(relay) => format!("{} of {relay}", title(stage)),
        None => title(stage).to_owned(),
    });
    named.collect::<Vec<_>>().join(" or ")
}

/// How sure it is, in words.
pub fn sure(event: &EventReport) -> &'static str {
    match (event.what, event.sure) {
        (_, "certain") => "certain",
        ("broken-off-by-voltage" | "broken-off-by-frequency", _) => "if it was off",
        ("connected", "may-have") => "by then at the latest",
        ("connected" | "relay-opened", _) => "may have",
        (_, "may-have") => "may have",
        _ => "certain, if it was still on",
    }
}
