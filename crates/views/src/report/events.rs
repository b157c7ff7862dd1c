//! What `events --format json` prints; text and pictures are made from the same.

use replay::standing::SiteStanding;
use rules::provenance::{Figures, Verdict};
use schemars::JsonSchema;
use serde::Serialize;

/// What `events --format json` prints.
#[derive(Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub struct EventsReport {
    /// The log.
    pub log: LogReport,
    /// What happened to each device, or to each set of settings of one.
    pub devices: Vec<PlayedReport>,
    /// What to look into, in this order; empty where nothing happened.
    pub advice: Vec<String>,
    /// Whether the phases moved apart, so that the neutral is suspected: stop, and call the network.
    pub suspect_neutral: bool,
}

/// A moment.
#[derive(Clone, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub struct MomentReport {
    /// As the log's own clock shows it.
    pub time: String,
    /// Seconds since the log began.
    pub seconds: f64,
}

/// A value of the log.
#[derive(Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub struct ExtremeReport {
    /// In volts or hertz.
    pub value: f64,
    /// When.
    pub at: MomentReport,
}

/// A log.
#[derive(Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub struct LogReport {
    /// The file.
    pub file: String,
    /// Whether it was made for a lesson, and not measured.
    pub made: bool,
    /// What each column was taken for.
    pub columns: Vec<String>,
    /// Columns that were not read.
    pub ignored: Vec<String>,
    /// Its first row.
    pub first: MomentReport,
    /// Its last row.
    pub last: MomentReport,
    /// Rows.
    pub rows: u64,
    /// The usual step between rows, in seconds.
    pub spacing: f64,
    /// `samples` or `means`.
    pub values: &'static str,
    /// `terminals`, `switchboard`, `supply` or `not-stated`.
    pub measured_at: &'static str,
    /// Stretches without any row or without any voltage: how many.
    pub gaps: u64,
    /// All of them together, in seconds.
    pub gaps_seconds: f64,
    /// The first of them: from, until.
    pub first_gaps: Vec<[MomentReport; 2]>,
    /// Rows without any voltage.
    pub rows_without_voltage: u64,
    /// Cells without a value, in other rows.
    pub missing_values: u64,
    /// Steps longer than usual that are no gap: the value before was held.
    pub steps_held: u64,
    /// Cells that were left out, because they hold no measured value.
    pub left_out: Vec<LeftOutReport>,
    /// Highest voltage of any phase.
    pub highest_voltage: Option<ExtremeReport>,
    /// Lowest voltage of any phase.
    pub lowest_voltage: Option<ExtremeReport>,
    /// Highest frequency.
    pub highest_frequency: Option<ExtremeReport>,
    /// Lowest frequency.
    pub lowest_frequency: Option<ExtremeReport>,
    /// For how many seconds one phase was high while another was low.
    pub phases_apart_seconds: f64,
    /// The log over equal stretches, to draw it from.
    pub envelope: EnvelopeReport,
    /// What has to be known of it.
    pub notes: Vec<String>,
}

/// Cells that were left out.
#[derive(Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub struct LeftOutReport {
    /// The heading of their column.
    pub column: String,
    /// The value as written; of those that no supply has, the first.
    pub value: f64,
    /// How many.
    pub cells: u64,
    /// When first.
    pub first: MomentReport,
    /// `no-value` where loggers write it for want of a value, `no-supply` where no supply has it.
    pub why: &'static str,
}

/// Lowest and highest values over equal stretches.
#[derive(Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub struct EnvelopeReport {
    /// How long each lasts, in seconds, from the log's first row on.
    pub seconds: f64,
    /// Lowest and highest voltage of any phase in each; null where there is none.
    pub voltage: Vec<Option<[f64; 2]>>,
    /// The same of each phase, where the log has several.
    pub phases: Vec<Vec<Option<[f64; 2]>>>,
    /// Lowest and highest frequency in each; empty where the log has none.
    pub frequency: Vec<Option<[f64; 2]>>,
    /// Mean kilowatts that the log says were given; empty where it does not say.
    pub given: Vec<Option<f64>>,
    /// Mean kilowatts that could have been given; empty where the log does not say.
    pub available: Vec<Option<f64>>,
}

/// What happened to a device.
#[derive(Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub struct PlayedReport {
    /// Site and device, and the moment it was looked at.
    pub of: String,
    /// Whether it is what a requirement asks, and not what a device holds.
    pub is_requirement: bool,
    /// How it stands to what the site is asked; null where no site is named, or that cannot be told.
    pub standing: Option<StandingReport>,
    /// What it came to, in a sentence.
    pub in_short: String,
    /// The first cause, in a sentence.
    pub first_cause: Option<String>,
    /// How the figures are known that are not its own and it was played with: those of its region, or of the requirement.
    pub figures: Figures,
    /// Its stages as played.
    pub stages: Vec<StageReport>,
    /// Where it may connect.
    pub reconnection: ReconnectionReport,
    /// The voltages below and above which it gives nothing for a moment without leaving.
    pub ceases: [Option<f64>; 2],
    /// What happened, in order; the first thousands, where there is more.
    pub events: Vec<EventReport>,
    /// How many events there are, by what happened and how sure it is.
    pub counts: Vec<CountReport>,
    /// How many times a lawful device dropped out: at the least and at the most; a gap of the log counts once. Where
    /// it left in one of several events and not in all, they count once.
    pub drop_outs: [u64; 2],
    /// What it may have been doing, at the least and at the most.
    pub states: Vec<StateReport>,
    /// What it did over the stretches of the log's envelope, to draw it from.
    pub envelope: PlayedEnvelopeReport,
    /// What was lost, and to what.
    pub lost: Vec<LostReport>,
    /// Kilowatt-hours that could have been given, where the log says.
    pub available: Option<f64>,
    /// Kilowatt-hours given: at the least and at the most.
    pub given: Option<[f64; 2]>,
    /// Kilowatt-hours that the log itself says were given.
    pub given_by_log: Option<f64>,
    /// What storage charged; null where it never wanted to, or the log does not say.
    pub charging: Option<ChargingReport>,
    /// What the data cannot decide.
    pub undecided: Vec<String>,
    /// Stages that are not played, and why.
    pub not_played: Vec<String>,
    /// How many of them could be: something of them is not known, or the log lacks what they look at. Then nothing is
    /// proven.
    pub could_not_play: usize,
    /// How many phases that it feeds, or that a relay before it looks at, the log does not have. Then nothing is proven.
    pub phases_not_logged: usize,
    /// What was taken for granted.
    pub taken_for_granted: Vec<String>,
}

/// How what was played stands to what its site is asked.
#[derive(Clone, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub struct StandingReport {
    /// What it comes to.
    pub verdict: Verdict,
    /// The same in words; never plain where figures that nobody verified decided.
    pub headline: String,
    /// How its required figures are known.
    pub figures: Figures,
    /// How many findings `check` has of the site with these settings; of a requirement, how many of the
    /// settings that the site is asked for do not comply, or cannot be shown to.
    pub findings: usize,
    /// What the site stands under, in words.
    pub under: Option<String>,
}

impl StandingReport {
    /// As programs read it.
    pub fn of(standing: &SiteStanding) -> Self {
        let SiteStanding { verdict, headline, figures, findings, under } = standing.clone();
        Self { verdict, headline, figures, findings, under }
    }
}

/// A stage as it was played.
#[derive(Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub struct StageReport {
    /// The function, as files name it.
    pub function: &'static str,
    /// Its name for people.
    pub title: &'static str,
    /// The grid protection relay that holds it; null where the device itself does.
    pub relay: Option<String>,
    /// In volts or hertz.
    pub threshold: f64,
    /// `above` or `below`.
    pub side: &'static str,
    /// Seconds that its condition has to last before it may trip.
    pub least: f64,
    /// Seconds by when it has to be off; null where nobody says.
    pub most: Option<f64>,
    /// Window of its mean in seconds, where it looks at one.
    pub window: Option<f64>,
    /// The highest mean at any row, in volts, where it looks at one.
    pub highest_mean: Option<f64>,
}

/// Where and when a device may connect.
#[derive(Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub struct ReconnectionReport {
    /// Lowest and highest voltage; null where nobody says.
    pub voltage: [Option<f64>; 2],
    /// Lowest and highest frequency.
    pub frequency: [Option<f64>; 2],
    /// For how many seconds both have to hold.
    pub observation: Option<f64>,
}

/// What a device did over the stretches of the log's envelope.
#[derive(Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub struct PlayedEnvelopeReport {
    /// Lowest and highest mean of any phase that a stage looks at, in volts; null until its window is full.
    pub mean: Vec<Option<[f64; 2]>>,
    /// Mean kilowatts given, at the least and at the most; empty where the log does not say what there was.
    pub given: Vec<Option<[f64; 2]>>,
    /// Shares of each stretch in each state, of the device that leaves as soon and of the one that leaves as
    /// late as it may: waiting, observing, ramping, running, ceased, held back. Pictures only.
    #[serde(skip)]
    pub doing: Vec<Option<[[f64; 6]; 2]>>,
}

/// Something that happened.
#[derive(Clone, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub struct EventReport {
    /// `tripped`, `connected`, `left-unseen`; `left-by-loss` of one that lost what it keeps its limit by; `relay-opened` where a relay opened before a device that was
    /// off already; `broken-off-by-voltage` or `broken-off-by-frequency` where
    /// a device that was off had to begin its observation again.
    pub what: &'static str,
    /// Of a trip, the stages; several where either may have been first.
    pub stages: Vec<&'static str>,
    /// How many of them, at the end, the log does not show: it lacks what they look at.
    pub unseen: usize,
    /// For each of them the relay that holds it; null for the device's own.
    pub relays: Vec<Option<String>>,
    /// What a stage looks at, or what broke an observation off, in volts or hertz.
    pub value: Option<f64>,
    /// How many times in a row: of broken-off observations, else 1.
    pub times: u64,
    /// At the earliest; of several in a row, the first.
    pub earliest: MomentReport,
    /// At the latest, if it happened; of several in a row, the last.
    pub latest: MomentReport,
    /// `certain` where every lawful device did it within this window; `may-have` where some did and others did not;
    /// `at-the-latest` where every one that had not left before did it, or, of a connection, some that were off did.
    pub sure: &'static str,
}

/// How many events of a kind.
#[derive(Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub struct CountReport {
    /// As in an event.
    pub what: &'static str,
    /// As in an event.
    pub stages: Vec<&'static str>,
    /// As in an event.
    pub relays: Vec<Option<String>>,
    /// As in an event.
    pub sure: &'static str,
    /// How many.
    pub count: u64,
    /// By hour of the day, from 0 to 23, where the log says what time it is.
    pub by_hour: Option<[u64; 24]>,
}

/// What a device was doing from a moment on.
#[derive(Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub struct StateReport {
    /// From when on.
    pub from: MomentReport,
    /// The least that a device which does nothing forbidden may be doing: `waiting`, `observing`, `ceased`,
    /// `ramping` or `running`.
    pub leaving_soonest: &'static str,
    /// The most that one may be doing.
    pub leaving_latest: &'static str,
}

/// What storage charged, in kilowatt-hours.
#[derive(Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub struct ChargingReport {
    /// What it wanted to charge with, by the log.
    pub wanted: f64,
    /// What it charged with, at the least and at the most.
    pub charged: [f64; 2],
}

/// What one cause took.
#[derive(Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub struct LostReport {
    /// `trip`, `start`, `ceased`, `gap`, `volt-watt`, `frequency`, `export-limit`, `generation-limit`,
    /// `rated-active-power`, `rated-apparent-power` or `reactive-power`; of what storage could not charge,
    /// `charging-volt-watt`, `charging-frequency`, `charging-reactive-power` or `charging-rated-power`.
    pub cause: &'static str,
    /// In words.
    pub title: String,
    /// Kilowatt-hours at the least and at the most; null where the log does not say what was available.
    pub energy: Option<[f64; 2]>,
    /// For how many seconds, at the least and at the most.
    pub seconds: [f64; 2],
    /// How many times, at most.
    pub times: u64,
    /// The smallest share of what was available that was left, in per cent.
    pub least_left: f64,
    /// From the first to the last moment.
    pub between: [MomentReport; 2],
    /// The longest time.
    pub longest: [MomentReport; 2],
}
