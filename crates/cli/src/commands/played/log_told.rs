//! The log itself, as a report: what it has, and what has to be known of it before answers are believed.

use super::overview::{Extreme, Overview};
use super::told::{Scene, seconds, short};
use crate::report::events::{EnvelopeReport, ExtremeReport, LogReport};

/// What is known of it beside its rows.
pub struct About {
    /// The file, or the scenario.
    pub file: String,
    /// What each column was taken for.
    pub columns: Vec<String>,
    /// Columns that were not read.
    pub ignored: Vec<String>,
    /// Where it was measured.
    pub measured_at: &'static str,
    /// Phases.
    pub phases: usize,
    /// Whether it has frequency.
    pub has_frequency: bool,
    /// Whether it has the power that was given.
    pub has_power: bool,
    /// Whether it has the power that could have been given.
    pub has_available: bool,
}

/// The log as a report.
pub fn log_report(about: About, overview: &Overview, scene: &Scene, notes: Vec<String>) -> LogReport {
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
        file: about.file,
        made: scene.is_made,
        columns: about.columns,
        ignored: about.ignored,
        first: scene.moment(overview.first),
        last: scene.moment(overview.last),
        rows: overview.rows,
        spacing: seconds(scene.spacing),
        values: if scene.are_means { "means" } else { "samples" },
        measured_at: about.measured_at,
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
            phases: if about.phases > 1 { (0..about.phases).map(phase).collect() } else { Vec::new() },
            frequency: if about.has_frequency { envelope.all.iter().map(|kept| finite(kept.frequency)).collect() } else { Vec::new() },
            given: if about.has_power { watts(0) } else { Vec::new() },
            available: if about.has_available { watts(1) } else { Vec::new() },
        },
        notes,
    }
}
