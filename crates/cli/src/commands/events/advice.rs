//! What to look into, in the order that keeps people safe. It never ends in raising a limit.

use std::path::Path;
use views::played::sentences::{STOP, is_held_back};
use views::report::events::EventsReport;

/// What to look into; empty where nothing happened. `site` is the site's file, where one was named.
pub fn advice(report: &EventsReport, site: Option<&Path>) -> Vec<String> {
    if report.suspect_neutral {
        return vec![STOP.to_owned()];
    }
    let devices = &report.devices;
    let dropped = devices.iter().flat_map(|device| &device.events).filter(|event| event.what == "tripped");
    let stages: Vec<&str> = dropped.flat_map(|event| event.stages.iter().copied()).collect();
    let held: Vec<&str> = devices.iter().flat_map(|device| &device.lost).filter(|lost| is_held_back(lost)).map(|lost| lost.cause).collect();
    let is_high = stages.iter().any(|stage| stage.contains("overvoltage")) || held.contains(&"volt-watt");
    let is_low =
        stages.iter().any(|stage| stage.contains("undervoltage")) || held.contains(&"ceased") || held.contains(&"charging-volt-watt");
    let is_frequency = stages.iter().any(|stage| stage.contains("frequency")) || held.iter().any(|cause| cause.ends_with("frequency"));
    let mut advice = Vec::new();
    let rise = rise_of(site);
    if is_high || is_low {
        advice.extend([
            "Measure at the device's terminals and at the point of supply at the same time, with the device giving and with it off.",
            &rise,
            "Check connections and the neutral, dead and isolated, from the point of supply to the terminals.",
        ]);
        if is_high {
            advice.push("Check volt-var: that it is enabled with the required curve, and that its signs are not reversed.");
        }
        advice
            .push("Then go to the network operator with this log. A limit is not raised to stop drop-outs: it protects what is connected.");
    }
    if is_frequency {
        advice.push("The frequency is the network's, or a generator's that feeds the site: report it with this log to whoever runs it.");
    }
    advice.into_iter().map(str::to_owned).collect()
}

/// How to look at the cables.
fn rise_of(site: Option<&Path>) -> String {
    let site = site.filter(|site| site.is_file()).map_or("SITE".to_owned(), terminal::path);
    format!("Compute the voltage rise of the cables between the two (`asleft rise {site}`), and compare it with what was measured.")
}
