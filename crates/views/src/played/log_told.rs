//! The log itself, as a report: what it has, and what has to be known of it before answers are believed.

use super::events::grouped;
use super::told::{Scene, seconds, short};
use crate::report::events::{EnvelopeReport, ExtremeReport, LeftOutReport, LogReport};
use logs::{LeftOut, Shown};
use replay::overview::{Extreme, Overview};
use response::timeline::Micros;

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
    /// Whether it has what the site uses itself.
    pub has_load: bool,
}

/// The log as a report.
pub fn log_report(about: About, overview: &Overview, scene: &Scene, left_out: &[LeftOut], notes: Vec<String>) -> LogReport {
    let extreme = |extreme: Option<Extreme>| extreme.map(|extreme| ExtremeReport { value: extreme.value, at: scene.moment(extreme.at) });
    let finite = |pair: [f64; 2]| pair[0].is_finite().then_some(pair);
    let mut notes = notes;
    let left_out: Vec<LeftOutReport> = left_out.iter().map(|out| left_out_told(out, scene)).collect();
    notes.extend(left_out.iter().map(LeftOutReport::told));
    notes.extend(lacking(&about, overview));
    notes.extend(empty(overview));
    notes.extend(clock_forward(overview, scene));
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
        left_out,
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

/// What rows lack of voltage and frequency.
fn empty(overview: &Overview) -> Option<String> {
    let counted = |count: u64, one: &str, several: &str| match count {
        0 => None,
        1 => Some(format!("1 {one}")),
        n => Some(format!("{} {several}", grouped(n))),
    };
    let rows = counted(overview.without_voltage, "row has no voltage at all", "rows have no voltage at all");
    let cells = counted(overview.missing, "other cell is empty", "other cells are empty");
    let lacks: Vec<String> = rows.into_iter().chain(cells).collect();
    (!lacks.is_empty()).then(|| format!("{}: what they lack is not known, and decides nothing", lacks.join(", ")))
}

/// The hour before which clocks are put forward for daylight saving (common practice, no source).
const PUT_FORWARD_BEFORE: usize = 4;
const HOUR: Micros = 3_600_000_000;

/// A gap of just an hour by a clock of which nobody says the zone may be none.
fn clock_forward(overview: &Overview, scene: &Scene) -> Option<String> {
    let is_an_hour = |[from, to]: &&[Micros; 2]| {
        2 * (to - from - HOUR).abs() <= scene.spacing && scene.clock.hour(*from).is_some_and(|hour| hour < PUT_FORWARD_BEFORE)
    };
    let [from, to] = overview.gaps.iter().find(is_an_hour).filter(|_| scene.clock == Shown::AsWritten)?;
    let [from, to] = [from, to].map(|at| scene.moment(*at).time);
    Some(format!(
        "the gap from {from} to {to} is just an hour: if the clock was put forward then for daylight saving, nothing is missing there; \
         export in UTC to see"
    ))
}

fn left_out_told(out: &LeftOut, scene: &Scene) -> LeftOutReport {
    LeftOutReport {
        column: out.column.clone(),
        value: out.value,
        cells: out.cells,
        first: scene.moment(out.first),
        why: if out.is_mark { "no-value" } else { "no-supply" },
    }
}

impl LeftOutReport {
    /// In words.
    fn told(&self) -> String {
        left_out_words(&self.column, self.value, self.cells, self.why == "no-value", Some(&self.first.time))
    }
}

/// Cells that were left out, in words; `first` is when, where that is told.
pub fn left_out_words(column: &str, value: f64, cells: u64, is_mark: bool, first: Option<&str>) -> String {
    let cells = if cells == 1 { "1 cell".to_owned() } else { format!("{} cells", grouped(cells)) };
    match (is_mark, first.map_or_else(String::new, |at| format!(" at {at}"))) {
        (true, at) => {
            let first = if at.is_empty() { at } else { format!(", first{at}") };
            format!("`{column}` holds {value} in {cells}{first}: loggers write this where they have no value; left out")
        }
        (false, at) => format!("`{column}` holds what no supply has in {cells}, first {value}{at}; left out"),
    }
}

/// What rows lack of powers: an empty cell is no zero.
fn lacking(about: &About, overview: &Overview) -> Vec<String> {
    let columns = [
        (about.has_power, "no power given: what was given then is not known"),
        (about.has_available, "no available power: energy is not counted there"),
        (about.has_load, "nothing on the site's own use: an export limit is held against the device's output there"),
    ];
    let told = columns.into_iter().zip(overview.lacking).filter(|((has, _), rows)| *has && *rows > 0).map(|((_, says), rows)| {
        let has = if rows == overview.rows { "all rows have".to_owned() } else { format!("{} rows have", grouped(rows)) };
        format!("{has} {says}")
    });
    told.collect()
}
