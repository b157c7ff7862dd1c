//! Which thresholds a panel shows: those that were met, and those within reach of what was measured. What
//! lies farther is told in words, or the lines of what was measured would be flat.

use crate::played::events::letter;
use crate::report::events::{EventReport, EventsReport, PlayedReport, StageReport};
use plot::timeline::{Does, Level, Panel, Series};
use settings_model::catalogue::SettingId;

/// A threshold, and whether it was met.
pub struct Threshold {
    level: Level,
    was_met: bool,
}

/// Those of the voltage.
pub fn of_voltage(report: &EventsReport) -> Vec<Threshold> {
    together(report, |device| {
        let mut all = stages(device, false);
        all.extend(window(device, ["lower-voltage", "upper-voltage"], device.reconnection.voltage, "V"));
        let ceases = ["below", "above"].iter().zip(device.ceases).filter_map(|(key, at)| {
            Some(Threshold { level: level(at?, function_title("cease-generation"), key, "V", Does::Ceases)?, was_met: false })
        });
        all.extend(ceases);
        all
    })
}

/// Those of the frequency.
pub fn of_frequency(report: &EventsReport) -> Vec<Threshold> {
    together(report, |device| {
        let mut all = stages(device, true);
        all.extend(window(device, ["lower-frequency", "upper-frequency"], device.reconnection.frequency, "Hz"));
        all
    })
}

fn function_title(function: &str) -> &'static str {
    SettingId::of_function(function).map_or("?", |id| id.function().title)
}

fn level(at: f64, title: &str, key: &str, unit: &str, does: Does) -> Option<Level> {
    at.is_finite().then(|| Level {
        at,
        label: format!("{title}, {}", key.replace('-', " ")),
        value: format!("{} {unit}", crate::played::told::short(at)),
        does,
    })
}

fn stages(device: &PlayedReport, of_frequency: bool) -> Vec<Threshold> {
    let unit = if of_frequency { "Hz" } else { "V" };
    let own = device.stages.iter().filter(|stage| stage.function.contains("frequency") == of_frequency);
    let met = |stage: &StageReport| {
        let of_event =
            |event: &EventReport| event.stages.iter().zip(&event.relays).any(|of| (*of.0, of.1) == (stage.function, &stage.relay));
        device.events.iter().any(of_event)
    };
    own.map(|stage| Threshold {
        level: Level {
            at: stage.threshold,
            label: stage.relay.as_ref().map_or_else(|| stage.title.to_owned(), |relay| format!("{} of {relay}", stage.title)),
            value: format!("{} {unit}", crate::played::told::short(stage.threshold)),
            does: Does::Trips,
        },
        was_met: met(stage),
    })
    .collect()
}

fn window(device: &PlayedReport, keys: [&str; 2], edges: [Option<f64>; 2], unit: &str) -> Vec<Threshold> {
    let broken_off = if unit == "V" { "broken-off-by-voltage" } else { "broken-off-by-frequency" };
    let value = |event: &EventReport| event.value.filter(|_| event.what == broken_off);
    let broke = |n: usize, at: f64| device.events.iter().filter_map(value).any(|value| if n == 0 { value < at } else { value > at });
    let edge = |(n, (key, at)): (usize, (&str, Option<f64>))| {
        let at = at?;
        let name = SettingId::find("reconnection", key).map_or(key, |id| id.parameter().title);
        Some(Threshold { level: level(at, function_title("reconnection"), name, unit, Does::Connects)?, was_met: broke(n, at) })
    };
    keys.into_iter().zip(edges).enumerate().filter_map(edge).collect()
}

/// Of several devices: what some have alike once, with the letters of those unless all have it.
fn together(report: &EventsReport, of: impl Fn(&PlayedReport) -> Vec<Threshold>) -> Vec<Threshold> {
    let mut all: Vec<(Threshold, Vec<usize>)> = Vec::new();
    for (n, own) in report.devices.iter().map(of).enumerate() {
        for threshold in own {
            match all.iter_mut().find(|(known, _)| known.level == threshold.level) {
                Some((known, whose)) => {
                    known.was_met |= threshold.was_met;
                    if whose.last() != Some(&n) {
                        whose.push(n);
                    }
                }
                None => all.push((threshold, vec![n])),
            }
        }
    }
    let named = |(threshold, whose): (Threshold, Vec<usize>)| {
        if whose.len() == report.devices.len() {
            return threshold;
        }
        let letters: Vec<String> = whose.iter().map(|n| letter(*n).to_string()).collect();
        let label = format!("({}) {}", letters.join(", "), threshold.level.label);
        Threshold { level: Level { label, ..threshold.level }, ..threshold }
    };
    all.into_iter().map(named).collect()
}

/// Below this share of the highest, a frequency is none of a supply.
const FAINT: f64 = 0.8;

/// A panel whose axis holds what was measured and what it met. `least` is how much the axis spans at least,
/// so that noise is not drawn as if it were an event.
pub fn panel(label: &str, unit: &'static str, series: Vec<Series>, thresholds: Vec<Threshold>, least: f64) -> Panel {
    let steps = || series.iter().flat_map(|series| &series.steps);
    let highest = steps().map(|step| step.high).fold(f64::NEG_INFINITY, f64::max);
    let lowest = steps().map(|step| step.low).fold(f64::INFINITY, f64::min);
    let is_faint = |value: f64| unit == "Hz" && value < FAINT * highest;
    let drawn = steps().map(|step| step.low).filter(|low| !is_faint(*low)).fold(highest, f64::min);
    let mut farther = Vec::new();
    if is_faint(lowest) {
        farther.push(format!("values down to {lowest:.2} {unit}, drawn at the edge"));
    }
    let short = (least - (highest - drawn)).max(0.0) / 2.0;
    let met = thresholds.iter().filter(|threshold| threshold.was_met).map(|threshold| threshold.level.at);
    let held = met.fold([drawn - short, highest + short], |[low, high], at| [low.min(at), high.max(at)]);
    let reach = held[1] - held[0];
    let is_near = |level: &Level| held[0] - reach <= level.at && level.at <= held[1] + reach;
    let (near, far): (Vec<_>, Vec<_>) = thresholds.into_iter().map(|threshold| threshold.level).partition(is_near);
    let range = near.iter().fold(held, |[low, high], level| [low.min(level.at), high.max(level.at)]);
    farther.extend(far.iter().map(|level| format!("{}: {}", level.label, level.value)));
    Panel { label: label.to_owned(), unit, series, levels: near, farther, range }
}

#[cfg(test)]
mod tests {
    use super::*;
    use plot::timeline::{Step, Style};

    fn drawn(unit: &'static str, values: &[[f64; 2]], thresholds: &[(f64, bool)], least: f64) -> Panel {
        let step = |(n, [low, high]): (usize, &[f64; 2])| Step { from: n as f64, until: n as f64 + 1.0, low: *low, high: *high };
        let steps = values.iter().enumerate().map(step).collect();
        let threshold = |(at, was_met): &(f64, bool)| Threshold {
            level: Level { at: *at, label: "stage".to_owned(), value: format!("{at}"), does: Does::Trips },
            was_met: *was_met,
        };
        let series = vec![Series { label: "values".to_owned(), style: Style::Measured(0), steps }];
        panel("any", unit, series, thresholds.iter().map(threshold).collect(), least)
    }

    #[test]
    fn what_was_met_is_drawn_what_is_near_too_and_what_is_far_is_told() {
        let panel = drawn("V", &[[240.0, 244.0], [238.0, 250.0]], &[(180.0, true), (265.0, false), (400.0, false)], 10.0);
        assert_eq!(panel.range, [180.0, 265.0]);
        assert_eq!((panel.levels.len(), &panel.farther[..]), (2, &["stage: 400".to_owned()][..]));
        let calm = drawn("V", &[[229.0, 231.0]], &[(253.0, false)], 10.0);
        assert_eq!((calm.range, calm.levels.len()), ([225.0, 235.0], 0), "noise is no event");
    }

    #[test]
    fn a_frequency_of_nothing_lies_at_the_edge() {
        let panel = drawn("Hz", &[[0.0, 0.0], [49.9, 50.1]], &[], 0.4);
        assert!(panel.range[0] > 49.7 && panel.farther[0].starts_with("values down to 0.00 Hz"), "{panel:?}");
    }
}
