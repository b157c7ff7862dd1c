//! What happened to a device, as a report.

use crate::report::events::{
    ChargingReport, CountReport, EventReport, LostReport, MomentReport, PlayedEnvelopeReport, PlayedReport, ReconnectionReport,
    StageReport, StandingReport, StateReport,
};
use logs::Shown;
use replay::acting::{Equipment, title};
use replay::playing::Playing;
use replay::subjects::Subject;
use replay::trace::{Did, Trace};
use response::operating_point::Cap;
use response::timeline::{BrokenOff, Cause, Energy, Happening, Lost, Merged, Micros, Player, Side, State, Sure, Watched};

/// How many events are kept in a report, one by one; all are counted.
const MOST_EVENTS: usize = 5_000;

const SECOND: Micros = 1_000_000;

/// What a reader of the log knows besides.
#[derive(Clone, Copy)]
pub struct Scene {
    /// How times are shown.
    pub clock: Shown,
    /// The first row.
    pub first: Micros,
    /// The usual step between rows.
    pub spacing: Micros,
    /// Whether values are means.
    pub are_means: bool,
    /// Whether values prove means.
    pub prove_means: bool,
    /// Whether the log says what could have been given.
    pub has_available: bool,
    /// Kilowatt-hours that the log says were given.
    pub given_by_log: Option<f64>,
    /// Whether the mean had a history.
    pub has_history: bool,
    /// Whether it was made for a lesson, and not measured: nothing lies between two of its values.
    pub is_made: bool,
}

impl Scene {
    /// A moment that is not later: where rows are a second apart or more, its whole second.
    fn earliest(&self, at: Micros) -> MomentReport {
        self.moment(if self.spacing >= SECOND { at.div_euclid(SECOND) * SECOND } else { at })
    }

    /// A moment that is not earlier.
    fn latest(&self, at: Micros) -> MomentReport {
        self.moment(if self.spacing >= SECOND { -(-at).div_euclid(SECOND) * SECOND } else { at })
    }

    /// A stretch of time that holds another.
    fn stretch(&self, [from, to]: [Micros; 2]) -> [MomentReport; 2] {
        [self.earliest(from), self.latest(to)]
    }

    /// A moment as the report has it.
    pub fn moment(&self, at: Micros) -> MomentReport {
        // what is made jumps at whole milliseconds, a microsecond after the last value before
        let at = if self.is_made { (at + 500).div_euclid(1000) * 1000 } else { at };
        MomentReport { time: self.clock.time(at), seconds: seconds(at - self.first) }
    }
}

/// In seconds.
pub fn seconds(micros: Micros) -> f64 {
    micros as f64 / 1e6
}

/// Kilowatt-hours of watts times microseconds.
pub fn kilowatt_hours(energy: f64) -> f64 {
    energy / 3.6e12
}

/// Everything that happened to every device, with how its settings stand.
pub fn of_all(players: &[Playing<'_>], subjects: &[Subject<'_>], scene: &Scene) -> Vec<PlayedReport> {
    let told = players.iter().zip(subjects).map(|(playing, subject)| PlayedReport {
        is_requirement: subject.held.is_requirement,
        standing: subject.standing.as_ref().map(StandingReport::of),
        ..told(playing, scene)
    });
    told.collect()
}

/// Everything that happened to a device.
fn told(Playing { equipment, player, trace }: &Playing<'_>, scene: &Scene) -> PlayedReport {
    let story = player.story();
    let events: Vec<EventReport> = story.iter().map(|merged| event(merged, equipment, scene)).collect();
    let energy = player.energy();
    let energy = energy.each_ref();
    let has_energy = scene.has_available && equipment.is_rated;
    let lost = lost(energy, equipment, scene, has_energy);
    PlayedReport {
        of: equipment.title.clone(),
        is_requirement: false,
        standing: None,
        in_short: String::new(),
        first_cause: None,
        figures: equipment.figures,
        stages: stages(equipment, player),
        reconnection: reconnection(equipment),
        ceases: edges([equipment.protection.ceasing.below, equipment.protection.ceasing.above]),
        counts: counts(&story, equipment, scene),
        drop_outs: drop_outs(energy, &story, player.untold()),
        states: states(player, scene),
        envelope: envelope(trace, has_energy),
        available: has_energy.then(|| kilowatt_hours(energy[0].available)),
        given: has_energy.then(|| both(energy.map(|energy| kilowatt_hours(energy.given)))),
        given_by_log: scene.given_by_log,
        charging: charging(energy).filter(|_| has_energy),
        lost,
        undecided: super::undecided::undecided(equipment, player, scene),
        not_played: equipment.not_played.clone(),
        could_not_play: equipment.could_not_play,
        // a scenario has all of them
        phases_not_logged: if scene.is_made { 0 } else { equipment.phases_not_measured },
        taken_for_granted: equipment.taken.clone(),
        events: events.into_iter().take(MOST_EVENTS).collect(),
    }
    .with_sentences(equipment)
}

impl PlayedReport {
    fn with_sentences(mut self, equipment: &Equipment) -> Self {
        self.in_short = super::sentences::in_short(&self);
        self.first_cause = super::sentences::first_cause(&self, equipment);
        self
    }
}

/// How often it dropped out. Where nothing says how soon it comes back, one window may hold it several times; it counts
/// once, as it is told.
fn drop_outs([least, most]: [&Energy; 2], story: &[Merged], untold: u64) -> [u64; 2] {
    let is_one = |merged: &&Merged| matches!(merged.what, Happening::Tripped(..) | Happening::LeftUnseen | Happening::LeftByLink);
    let told = story.iter().filter(is_one).count() as u64 + untold;
    [least.drop_outs.min(told), most.drop_outs.min(told)]
}

/// What storage wanted to charge with, and charged.
fn charging(energy: [&Energy; 2]) -> Option<ChargingReport> {
    let wanted = kilowatt_hours(energy[0].wanted);
    let charged = both(energy.map(|energy| kilowatt_hours(energy.charged)));
    (wanted > 0.0 || charged[1] > 0.0).then_some(ChargingReport { wanted, charged })
}

fn both([one, other]: [f64; 2]) -> [f64; 2] {
    [one.min(other), one.max(other)]
}

fn sure_word(sure: Sure) -> &'static str {
    match sure {
        Sure::Certain => "certain",
        Sure::SoonestOnly => "may-have",
        Sure::LatestOnly => "at-the-latest",
    }
}

/// The word for it, the places of the stages, and the value.
fn what(happening: &Happening) -> (&'static str, Vec<usize>, Option<f64>) {
    let (what, stages, value) = match happening {
        Happening::Connected => ("connected", Vec::new(), None),
        Happening::Tripped(stages, value) => ("tripped", stages.clone(), Some(*value)),
        Happening::LeftUnseen => ("left-unseen", Vec::new(), None),
        Happening::LeftByLink => ("left-by-loss", Vec::new(), None),
        Happening::Opened(stage, value) => ("relay-opened", vec![*stage], Some(*value)),
        Happening::BrokenOff(BrokenOff::Voltage(volts), _) => ("broken-off-by-voltage", Vec::new(), Some(*volts)),
        Happening::BrokenOff(BrokenOff::Frequency(hertz), _) => ("broken-off-by-frequency", Vec::new(), Some(*hertz)),
    };
    (what, stages, value.filter(|value| !value.is_nan()))
}

/// The relay that holds each of some stages.
fn relays(stages: &[usize], equipment: &Equipment) -> Vec<Option<String>> {
    let relay = |stage: &usize| equipment.relay_of(equipment.protection.stages.get(*stage)?).map(str::to_owned);
    stages.iter().map(relay).collect()
}

fn event(merged: &Merged, equipment: &Equipment, scene: &Scene) -> EventReport {
    let (what, stages, value) = what(&merged.what);
    let (earliest, latest) = (scene.earliest(merged.earliest), scene.latest(merged.latest));
    let times = if let Happening::BrokenOff(_, times) = merged.what { times } else { 1 };
    let (stages, relays) = (equipment.protection.functions(&stages), relays(&stages, equipment));
    let sure = sure_word(merged.sure);
    EventReport { what, stages, unseen: merged.unseen, relays, value, times, earliest, latest, sure }
}

fn counts(story: &[Merged], equipment: &Equipment, scene: &Scene) -> Vec<CountReport> {
    let mut counts: Vec<CountReport> = Vec::new();
    for merged in story {
        let (what, stages, _) = what(&merged.what);
        let (stages, relays) = (equipment.protection.functions(&stages), relays(&stages, equipment));
        let sure = sure_word(merged.sure);
        let same = |count: &CountReport| count.what == what && count.stages == stages && count.relays == relays && count.sure == sure;
        let at = counts.iter().position(same).unwrap_or_else(|| {
            counts.push(CountReport { what, stages, relays, sure, count: 0, by_hour: None });
            counts.len() - 1
        });
        counts[at].count += if let Happening::BrokenOff(_, times) = merged.what { times } else { 1 };
        if let Some(hour) = scene.clock.hour(merged.earliest) {
            counts[at].by_hour.get_or_insert([0; 24])[hour] += 1;
        }
    }
    counts
}

fn stages(equipment: &Equipment, player: &Player<'_>) -> Vec<StageReport> {
    let stage = |(n, stage): (usize, &response::timeline::Stage)| StageReport {
        function: stage.function,
        title: title(stage.function),
        relay: equipment.relay_of(stage).map(str::to_owned),
        threshold: stage.threshold,
        side: if stage.side == Side::Above { "above" } else { "below" },
        least: seconds(stage.least),
        most: (stage.most != Micros::MAX).then(|| seconds(stage.most)),
        window: if let Watched::MeanOfAnyPhase(window) = stage.watched { Some(seconds(window)) } else { None },
        highest_mean: player.highest_mean(n),
    };
    equipment.protection.stages.iter().enumerate().map(stage).collect()
}

/// What is known of two edges.
fn edges(edges: [f64; 2]) -> [Option<f64>; 2] {
    edges.map(|edge| Some(edge).filter(|edge| edge.is_finite()))
}

fn reconnection(equipment: &Equipment) -> ReconnectionReport {
    let reconnection = &equipment.protection.reconnection;
    ReconnectionReport {
        voltage: edges(reconnection.voltage),
        frequency: edges(reconnection.frequency),
        observation: Some(reconnection.observation[1]).filter(|most| *most != Micros::MAX).map(seconds),
    }
}

fn envelope(trace: &Trace, has_energy: bool) -> PlayedEnvelopeReport {
    let all = &trace.stretches.all;
    PlayedEnvelopeReport {
        mean: if trace.mean_of.is_some() { all.iter().map(|did| did.mean().map(|mean| mean.map(short))).collect() } else { Vec::new() },
        given: if has_energy { all.iter().map(|did| did.watts().map(kilowatts)).collect() } else { Vec::new() },
        doing: all.iter().map(Did::shares).collect(),
    }
}

fn kilowatts(watts: [f64; 2]) -> [f64; 2] {
    watts.map(|watts| short(watts / 1000.0))
}

/// With four decimals: it is drawn, and decides nothing.
pub fn short(value: f64) -> f64 {
    (value * 1e4).round() / 1e4
}

fn state_word(state: State) -> &'static str {
    match state {
        State::Waiting => "waiting",
        State::Observing => "observing",
        State::Ramping => "ramping",
        State::Running => "running",
        State::Ceased => "ceased",
    }
}

/// The least and the most that it may have been doing, at each moment at which either changed.
fn states(player: &Player<'_>, scene: &Scene) -> Vec<StateReport> {
    let [soonest, latest] = player.changes();
    let mut moments: Vec<Micros> = soonest.iter().chain(latest).map(|change| change.at).collect();
    moments.sort_unstable();
    moments.dedup();
    let at = |changes: &[response::timeline::Change], moment| {
        let after = changes.partition_point(|change| change.at <= moment);
        changes.get(after.saturating_sub(1)).map_or("waiting", |change| state_word(change.to))
    };
    let mut states: Vec<StateReport> = Vec::new();
    for moment in moments.into_iter().take(2 * MOST_EVENTS) {
        let (leaving_soonest, leaving_latest) = (at(soonest, moment), at(latest, moment));
        if states.last().is_none_or(|last| (last.leaving_soonest, last.leaving_latest) != (leaving_soonest, leaving_latest)) {
            states.push(StateReport { from: scene.moment(moment), leaving_soonest, leaving_latest });
        }
    }
    states
}

/// The word and the name of a cause.
pub fn cause_words(cause: Cause, equipment: &Equipment) -> (&'static str, String) {
    let words = |word, title: &str| (word, title.to_owned());
    match cause {
        Cause::Start => words("start", "Not connected yet when the log begins"),
        Cause::Trip(stage) => {
            let title = equipment.protection.stages.get(stage).map_or("?".to_owned(), |stage| equipment.title_of(stage));
            ("trip", format!("Off after {title}"))
        }
        Cause::Ramp => words("ramp", "Ramping up"),
        Cause::Ceased => words("ceased", "Ceased for a moment"),
        Cause::Link => words("loss", "Off after it lost what it keeps its limit by"),
        Cause::Gap => words("gap", "Perhaps off after a gap of the log"),
        Cause::Cap(cap) => match cap {
            Cap::VoltWatt => words("volt-watt", "Limited by volt-watt"),
            Cap::Frequency => words("frequency", "Limited by its response to high frequency"),
            Cap::ExportLimit => words("export-limit", "Limited by the export limit"),
            Cap::GenerationLimit => words("generation-limit", "Limited by the generation limit"),
            Cap::RatedActive => words("rated-active-power", "More than its rated active power"),
            Cap::RatedApparent => words("rated-apparent-power", "More than its rated apparent power"),
            Cap::ReactivePower => words("reactive-power", "Reduced to make room for reactive power"),
            Cap::Available => words("available", "Nothing more available"),
        },
        Cause::Charging(cap) => match cap {
            Cap::VoltWatt => words("charging-volt-watt", "Charging limited by volt-watt"),
            Cap::Frequency => words("charging-frequency", "Charging limited by its response to low frequency"),
            Cap::ReactivePower => words("charging-reactive-power", "Charging reduced to make room for reactive power"),
            _ => words("charging-rated-power", "Wanted to charge with more than its rated power"),
        },
    }
}

fn lost([least, most]: [&Energy; 2], equipment: &Equipment, scene: &Scene, has_energy: bool) -> Vec<LostReport> {
    let mut causes: Vec<Cause> = least.lost.keys().chain(most.lost.keys()).copied().collect();
    causes.sort_unstable();
    causes.dedup();
    let mut lost: Vec<LostReport> = causes
        .into_iter()
        .filter_map(|cause| {
            let sides = [least.lost.get(&cause), most.lost.get(&cause)];
            let all = || sides.iter().flatten().copied();
            let of = |get: fn(&Lost) -> f64| both(sides.map(|side| side.map_or(0.0, get)));
            let longest = all().max_by_key(|lost| lost.longest[1] - lost.longest[0])?.longest;
            let between = [all().map(|lost| lost.between[0]).min()?, all().map(|lost| lost.between[1]).max()?];
            let (cause, title) = cause_words(cause, equipment);
            Some(LostReport {
                cause,
                title,
                energy: has_energy.then(|| of(|lost| kilowatt_hours(lost.energy))),
                seconds: of(|lost| seconds(lost.lasted)),
                times: all().map(|lost| lost.times).max()?,
                least_left: 100.0 * all().map(|lost| lost.least_left).fold(f64::INFINITY, f64::min),
                between: scene.stretch(between),
                longest: scene.stretch(longest),
            })
        })
        .collect();
    let weight = |lost: &LostReport| lost.energy.map_or(lost.seconds[1], |energy| energy[1]);
    lost.sort_by(|one, other| weight(other).total_cmp(&weight(one)));
    lost
}
