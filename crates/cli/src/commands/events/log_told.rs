//! The log itself, as a report: what it has, and what has to be known of it before answers are believed.

use super::overview::{Extreme, Overview};
use super::told::{Scene, seconds, short};
use crate::args::{Events, InService, MeansStamped, MeasuredAt};
use crate::logs::Layout;
use crate::report::events::{EnvelopeReport, ExtremeReport, LogReport};

/// What has to be known of a log before its answers are believed.
pub fn notes(args: &Events, layout: &Layout, scene: &Scene, in_service: Option<bool>) -> Vec<String> {
    let mut notes = vec![layout.clock.told()];
    match args.measured_at {
        Some(MeasuredAt::Terminals) => notes.push("measured at the device's terminals".to_owned()),
        Some(place) => notes.push(format!(
            "measured at the {}, not at the terminals: while it gives power the device sees more, so its overvoltage stages and volt-watt \
             are not decided exactly",
            if place == MeasuredAt::Supply { "point of supply" } else { "switchboard" }
        )),
        None => notes.push(
            "where it was measured is not said (`--measured-at`): only a log from the terminals shows what the device saw".to_owned(),
        ),
    }
    if layout.is_line_to_line {
        notes.push(
            "voltages between lines, divided by √3: right only where all phases are alike; a stage that one phase trips is not decided"
                .to_owned(),
        );
    }
    let assumed = layout.taken_for_volts();
    if !assumed.is_empty() {
        notes.push(format!("{}: no unit is said; by their size they are volts", assumed.join(", ")));
    }
    if scene.are_means {
        let said =
            if args.means.is_none() { "taken to be means, by their spacing or heading (`--samples` says otherwise)" } else { "means" };
        let stamp = if args.means == Some(MeansStamped::End) { "the end" } else { "the beginning" };
        notes.push(format!("values are {said}, stamped with {stamp} of their interval"));
    }
    match (args.in_service, in_service) {
        (None, None) => notes.push("whether the device was on when the log begins is not said (`--in-service`)".to_owned()),
        (None, Some(_)) => notes.push("the device was on when the log begins: it gave power".to_owned()),
        (Some(InService::Yes), _) => notes.push("the device was on when the log begins, as said".to_owned()),
        (Some(InService::No), _) => notes.push("the device was off when the log begins, as said".to_owned()),
    }
    notes
}

/// The log as a report.
pub fn log_report(args: &Events, layout: &Layout, overview: &Overview, scene: &Scene, notes: Vec<String>) -> LogReport {
    let extreme = |extreme: Option<Extreme>| extreme.map(|extreme| ExtremeReport { value: extreme.value, at: scene.moment(extreme.at) });
    let finite = |pair: [f64; 2]| pair[0].is_finite().then_some(pair);
    let mut notes = notes;
    if overview.missing + overview.without_voltage > 0 {
        notes.push(format!(
            "{} rows have no voltage at all, {} other cells are empty: what they lack is not known, and decides nothing",
            overview.without_voltage, overview.missing
        ));
    }
    if overview.less_than_no_use > 0 {
        notes.push(format!(
            "in {} rows the site uses less than nothing by this log: others give power there, or the column counts the other way round \
             (`--columns \"net-export=HEADING\"` or `net-import`)",
            overview.less_than_no_use
        ));
    }
    if overview.bridged > 0 {
        notes.push(format!("{} steps are longer than usual and no gap: the value before was held", overview.bridged));
    }
    let envelope = &overview.envelope;
    let watts = |n: usize| envelope.all.iter().map(|kept| kept.watts()[n].map(|watts| short(watts / 1000.0))).collect();
    let phase = |n: usize| envelope.all.iter().map(|kept| finite(kept.phases[n])).collect();
    LogReport {
        file: args.log.display().to_string(),
        columns: layout.read(),
        ignored: layout.ignored.clone(),
        first: scene.moment(overview.first),
        last: scene.moment(overview.last),
        rows: overview.rows,
        spacing: seconds(scene.spacing),
        values: if scene.are_means { "means" } else { "samples" },
        measured_at: args.measured_at.map_or("not-stated", MeasuredAt::word),
        gaps: overview.gap_count,
        gaps_seconds: seconds(overview.gap_total),
        first_gaps: overview.gaps.iter().map(|gap| gap.map(|at| scene.moment(at))).collect(),
        rows_without_voltage: overview.without_voltage,
        missing_values: overview.missing,
        steps_held: overview.bridged,
        highest_voltage: extreme(overview.highest),
        lowest_voltage: extreme(overview.lowest),
        lowest_frequency: extreme(overview.frequency[0]),
        highest_frequency: extreme(overview.frequency[1]),
        phases_apart_seconds: seconds(overview.apart),
        envelope: EnvelopeReport {
            seconds: seconds(envelope.width),
            voltage: envelope.all.iter().map(|kept| finite(kept.voltage())).collect(),
            phases: if layout.phases() > 1 { (0..layout.phases()).map(phase).collect() } else { Vec::new() },
            frequency: if layout.has_frequency() { envelope.all.iter().map(|kept| finite(kept.frequency)).collect() } else { Vec::new() },
            given: if layout.has_power() { watts(0) } else { Vec::new() },
            available: if layout.has_available() { watts(1) } else { Vec::new() },
        },
        notes,
    }
}
