//! What a device will do over time: its stages, its reconnection and its responses, from what it holds
//! and, where the region selected on it stands for that, from what its standard brings.
//!
//! Nothing is guessed: a stage of which nobody knows a setting is not played, and told.

use crate::commands::held::Held;
use response::characteristic::Circumstances;
use response::device::{Device, Unclear, device};
use response::timeline::{Ceasing, Micros, Protection, Reconnection, Side, Stage, Watched, micros};
use rules::range::{Range, range};
use settings_model::catalogue::{ENABLED, SettingId};
use settings_model::claim::{Claim, Part, Var};
use settings_model::exact::Exact;
use settings_model::facts::FactId;
use settings_model::value::Value;

/// A device that a log is played on.
pub struct Equipment {
    /// Site and device, for people.
    pub title: String,
    /// What it gives.
    pub device: Device,
    /// What makes it leave and return.
    pub protection: Protection,
    /// Whether its ratings are known, so that energy can be told.
    pub is_rated: bool,
    /// Stages that are not played, and why.
    pub not_played: Vec<String>,
    /// What was taken for granted.
    pub taken: Vec<String>,
    /// The phases of the log that it feeds, by their places.
    pub phases: Vec<usize>,
}

/// What the log has, as far as it decides what can be played.
#[derive(Clone, Copy)]
pub struct Measured {
    /// Phases.
    pub phases: usize,
    /// Whether it has frequency.
    pub frequency: bool,
    /// Whether it has the power that could have been given.
    pub available: bool,
}

/// What a stage of the catalogue looks at.
const STAGES: [(&str, Watched, Side); 11] = [
    ("undervoltage-1", Watched::AnyPhase, Side::Below),
    ("undervoltage-2", Watched::AnyPhase, Side::Below),
    ("undervoltage-3", Watched::AnyPhase, Side::Below),
    ("overvoltage-1", Watched::AnyPhase, Side::Above),
    ("overvoltage-2", Watched::AnyPhase, Side::Above),
    ("overvoltage-3", Watched::AnyPhase, Side::Above),
    ("sustained-overvoltage", Watched::MeanOfAnyPhase(TEN_MINUTES), Side::Above),
    ("underfrequency-1", Watched::Frequency, Side::Below),
    ("underfrequency-2", Watched::Frequency, Side::Below),
    ("overfrequency-1", Watched::Frequency, Side::Above),
    ("overfrequency-2", Watched::Frequency, Side::Above),
];

/// What the words of the catalogue mean by sustained overvoltage.
const TEN_MINUTES: Micros = 600_000_000;

/// Stages that no log of voltage and frequency decides.
const OF_WAVEFORMS: [&str; 3] = ["rate-of-change-of-frequency", "vector-shift", "active-anti-islanding"];

/// Builds a device from what it holds.
pub fn equipment(held: &Held<'_>, measured: Measured) -> Result<Equipment, String> {
    let mut building = Building { held, not_played: Vec::new(), taken: Vec::new() };
    let phases = building.phases(measured)?;
    let stages = STAGES.iter().filter_map(|stage| building.stage(*stage, measured)).collect();
    building.of_waveforms();
    let reconnection = building.reconnection(measured);
    let ceasing = building.ceasing();
    let (device, is_rated) = building.device(measured);
    let Building { not_played, taken, .. } = building;
    let protection = Protection { stages, reconnection, ceasing };
    Ok(Equipment { title: held.title.clone(), device, protection, is_rated, not_played, taken, phases })
}

struct Building<'b> {
    held: &'b Held<'b>,
    not_played: Vec<String>,
    taken: Vec<String>,
}

/// A value between two edges, in base units.
type Span = [f64; 2];

impl Building<'_> {
    /// What the device holds, or what its region brings.
    fn value(&self, id: SettingId) -> Option<&Value> {
        let own = self.held.holding.and_then(|holding| holding.settings.get(id)).map(|known| &known.value);
        own.or_else(|| self.of_region(id)?.base.require.as_ref())
    }

    /// What the region stands for, where it does.
    fn of_region(&self, id: SettingId) -> Option<&settings_model::requirement::Resolved> {
        let (_, counted) = self.held.asked.as_ref().filter(|_| self.held.region_stands)?;
        counted.requirement.get(id).filter(|resolved| resolved.covered_by_region)
    }

    fn word_is_enabled(&self, function: &str) -> Option<bool> {
        Some(*self.value(SettingId::find(function, "state")?)? == Value::Word(ENABLED))
    }

    /// The value, or the edges between which the region's standard leaves it.
    fn span(&self, function: &str, key: &str) -> Option<Span> {
        let id = SettingId::find(function, key)?;
        match self.value(id) {
            Some(value) => self.number(value).map(|number| [number; 2]),
            None => self.edges(&self.of_region(id)?.base.comply, id),
        }
    }

    /// What a certified device was type tested for, whatever was selected on it.
    fn type_tested(&self, function: &str, key: &str) -> Option<Span> {
        let id = SettingId::find(function, key)?;
        let asked = || {
            let (_, counted) = self.held.asked.as_ref().filter(|_| self.held.device.certified.is_some())?;
            self.edges(&counted.requirement.get(id)?.base.comply, id)
        };
        self.span(function, key).or_else(asked)
    }

    fn number(&self, value: &Value) -> Option<f64> {
        value.part(Part::Whole)?.at(&self.held.facts).map(Exact::approximate)
    }

    fn exactly(&self, function: &str, key: &str) -> Option<f64> {
        self.span(function, key).filter(|[low, high]| low == high).map(|[low, _]| low)
    }

    fn edges(&self, claims: &[Claim], id: SettingId) -> Option<Span> {
        match range(claims, &self.held.facts, Var::from(id)).ok()? {
            Range::Numbers(interval) if interval.low.is_some() || interval.high.is_some() => {
                let edge = |edge: Option<rules::range::Edge>, open: f64| edge.map_or(open, |edge| edge.at.approximate());
                Some([edge(interval.low, f64::NEG_INFINITY), edge(interval.high, f64::INFINITY)])
            }
            _ => None,
        }
    }

    fn not_played(&mut self, function: &str, why: &str) {
        self.not_played.push(format!("{}: {why}", title(function)));
    }

    /// Whether anybody speaks of a function: the device, or what is asked of it.
    fn is_spoken_of(&self, function: &str) -> bool {
        let own = self.held.holding.is_some_and(|holding| holding.settings.iter().any(|(id, _)| id.function().key == function));
        own || SettingId::of_function(function)
            .is_some_and(|id| self.held.asked.as_ref().is_some_and(|(_, counted)| counted.requirement.asks_of_function(id)))
    }

    fn stage(&mut self, (function, watched, side): (&'static str, Watched, Side), measured: Measured) -> Option<Stage> {
        if !self.is_spoken_of(function) || self.word_is_enabled(function) == Some(false) {
            return None;
        }
        if self.word_is_enabled(function).is_none() {
            self.not_played(function, "whether it is enabled is not known");
            return None;
        }
        let Some(threshold) = self.exactly(function, "threshold") else {
            self.not_played(function, "its threshold is not known");
            return None;
        };
        if watched == Watched::Frequency && !measured.frequency {
            self.not_played(function, "the log has no frequency");
            return None;
        }
        let (watched, times) = match watched {
            Watched::MeanOfAnyPhase(_) => {
                let window = self.type_tested(function, "averaging-window").filter(|[low, high]| low == high);
                let window = window.map_or(TEN_MINUTES, |[seconds, _]| micros(seconds));
                let most = self.type_tested(function, "disconnection").map_or(Micros::MAX, |[_, most]| finite(most));
                (Watched::MeanOfAnyPhase(window), Some((0, most)))
            }
            momentary => (momentary, self.times(function)),
        };
        let Some((least, most)) = times else {
            self.not_played(function, "its time is not known");
            return None;
        };
        if most == Micros::MAX {
            self.taken.push(format!("{}: by when it is off is not known, so that no trip of it is certain", title(function)));
        }
        Some(Stage { function, watched, side, threshold, least, most })
    }

    /// The least time before a stage may trip, and by when it has to be off.
    fn times(&mut self, function: &str) -> Option<(Micros, Micros)> {
        let is_held = |key| {
            let id = SettingId::find(function, key);
            id.is_some_and(|id| self.held.holding.is_some_and(|holding| holding.settings.states(id)))
        };
        let disconnection = self.type_tested(function, "disconnection").map(|[_, most]| most);
        let off_by = |delay: f64| match (disconnection, self.margin(function)) {
            (Some(most), _) if most > delay => finite(most),
            // longer than its standard lets it take: what the standard leaves after the delay
            (_, Some(margin)) => finite(delay + margin),
            _ => Micros::MAX,
        };
        // what the device itself shows comes before what its region brings
        let shows_another_time = ["clearing-time", "operate-time", "unnamed-time"].into_iter().any(is_held);
        if (is_held("definite-delay") || !shows_another_time)
            && let Some([least, most]) = self.span(function, "definite-delay")
        {
            let least = least.max(0.0);
            return Some((micros(least), if least == most { off_by(least) } else { disconnection.map_or(Micros::MAX, finite) }));
        }
        if let Some([_, most]) = self.span(function, "clearing-time") {
            return Some((0, finite(most)));
        }
        if let Some([least, _]) = self.span(function, "operate-time").filter(|_| is_held("operate-time")) {
            return Some((micros(least.max(0.0)), off_by(least)));
        }
        if let Some([time, _]) = self.span(function, "unnamed-time") {
            let most = off_by(time);
            self.taken.push(format!("{}: what its time means is not known; it is played under every meaning", title(function)));
            return Some((0, most));
        }
        disconnection.map(|most| (0, finite(most)))
    }

    /// What its standard leaves between the least delay and the disconnection time.
    fn margin(&self, function: &str) -> Option<f64> {
        let (_, counted) = self.held.asked.as_ref()?;
        let edges = |key| {
            let id = SettingId::find(function, key)?;
            self.edges(&counted.requirement.get(id)?.base.comply, id)
        };
        let [_, most] = edges("disconnection")?;
        let least = edges("definite-delay").map_or(0.0, |[least, _]| least.max(0.0));
        Some(most - least).filter(|margin| *margin >= 0.0)
    }

    fn of_waveforms(&mut self) {
        for function in OF_WAVEFORMS {
            if self.is_spoken_of(function) && self.word_is_enabled(function) != Some(false) {
                self.not_played(function, "no log of voltage and frequency shows it");
            }
        }
    }

    fn reconnection(&mut self, measured: Measured) -> Reconnection {
        let mut unknown = Vec::new();
        let mut edge = |key: &str, open: f64| {
            self.exactly("reconnection", key).unwrap_or_else(|| {
                unknown.push(key.replace('-', " "));
                open
            })
        };
        let voltage = [edge("lower-voltage", f64::NEG_INFINITY), edge("upper-voltage", f64::INFINITY)];
        let mut frequency = [edge("lower-frequency", f64::NEG_INFINITY), edge("upper-frequency", f64::INFINITY)];
        let observation = self.exactly("reconnection", "observation-time");
        if observation.is_none() {
            unknown.push("observation time".to_owned());
        }
        if !measured.frequency {
            self.taken.push("Reconnection: the log has no frequency; it is taken to lie inside".to_owned());
            frequency = [f64::NEG_INFINITY, f64::INFINITY];
        }
        if !unknown.is_empty() {
            self.taken.push(format!("Reconnection: its {} not known, so that no return is certain", is_or_are(&unknown)));
        }
        let by_rate = || self.exactly("reconnection", "ramp-rate").filter(|rate| *rate > 0.0).map(|rate| 6000.0 / rate);
        let ramp = self.exactly("reconnection", "ramp-time").or_else(by_rate);
        if ramp.is_none() {
            self.taken.push("Reconnection: its ramp is not known; it is taken to come back at once".to_owned());
        }
        let least = observation.map_or(0, micros);
        let most = if unknown.is_empty() { least } else { Micros::MAX };
        let random = self.exactly("reconnection", "random-delay").map_or(0, micros);
        Reconnection { voltage, frequency, observation: [least, most], random, ramp: ramp.map_or(0, micros) }
    }

    fn ceasing(&self) -> Ceasing {
        let own = Ceasing::default();
        Ceasing {
            below: self.exactly("cease-generation", "below").unwrap_or(own.below),
            above: self.exactly("cease-generation", "above").unwrap_or(own.above),
        }
    }

    /// What it gives; without a rating, of one watt, so that times are right where energies are not told.
    fn device(&mut self, measured: Measured) -> (Device, bool) {
        let book = self.held.asked.as_ref().map(|(book, _)| &book.rulebook);
        let mut facts = self.held.facts.clone();
        let is_rated = facts.number(FactId::Nameplate).or(facts.number(FactId::LimitedTo)).is_some();
        if !is_rated {
            facts.set_number(FactId::Nameplate, Exact::ONE);
            self.taken.push("Its nameplate rating is not stated: times are told, energies are not".to_owned());
        }
        let circumstances = Circumstances { facts: &facts, nominal_frequency: book.and_then(|book| book.nominal_frequency) };
        let held = |id| self.value(id);
        let (found, unclear) = device(&held, circumstances, book.and_then(|book| book.percent_of));
        let mut device = found.unwrap_or_else(|| unreachable!("its apparent power is stated or set"));
        // without what there was to give, nothing is said of what gives way or of limits
        let gives_reactive = !matches!(device.reactive, response::device::ReactiveMode::Unity);
        let matters = |unclear: &&Unclear| match unclear {
            Unclear::Priority | Unclear::ReactiveModes(_) => measured.available && gives_reactive,
            Unclear::State(id) | Unclear::Setting(id) => measured.available || !id.function().key.ends_with("-limit"),
            _ => true,
        };
        let words: Vec<String> = unclear.iter().filter(matters).filter_map(|unclear| self.unclear(unclear)).collect();
        self.taken.extend(words);
        if !measured.available {
            (device.export_limit, device.generation_limit) = (None, None);
        } else if device.export_limit.is_some() {
            self.taken
                .push("Export limit: the log does not have the site's own use; the limit is held against the device's output".to_owned());
        }
        if device.stores {
            self.taken.push("Storage: only what it gives is played, not its charging".to_owned());
        }
        (device, is_rated)
    }

    /// What is not clear of a response that somebody speaks of.
    fn unclear(&self, unclear: &Unclear) -> Option<String> {
        let acts_on_power =
            |function: &str| matches!(function, "volt-watt" | "over-frequency-response" | "export-limit" | "generation-limit");
        match unclear {
            Unclear::State(id) => {
                let function = id.function().key;
                (acts_on_power(function) && self.is_spoken_of(function))
                    .then(|| format!("{}: whether it is enabled is not known; it is played as if it were not", title(function)))
            }
            Unclear::Setting(id) => {
                Some(format!("{}: its {} is not known; it is played as if it were off", title(id.function().key), id.parameter().title))
            }
            Unclear::ReactiveModes(modes) => Some(format!("Several functions decide reactive power; {} was taken", title(modes[0]))),
            Unclear::Rating(fact) => Some(format!("Its {} is not stated; its apparent power was taken", fact.row().title)),
            Unclear::Priority => {
                Some("Which of active and reactive power comes first is not known; reactive power is taken to come first".to_owned())
            }
            Unclear::FrequencyBase => {
                Some("Response to high frequency: of what power it falls is not known; of momentary power was taken".to_owned())
            }
        }
    }

    /// The phases of the log that the device feeds.
    fn phases(&mut self, measured: Measured) -> Result<Vec<usize>, String> {
        let all: Vec<usize> = (0..measured.phases).collect();
        let feeds_one = self.held.facts.number(FactId::DevicePhases).is_some_and(|phases| phases == Exact::ONE);
        if measured.phases == 1 || !feeds_one {
            return Ok(all);
        }
        match self.held.device.on_phase {
            Some(phase) if (phase as usize) < measured.phases => Ok(vec![phase as usize]),
            _ => {
                Err(format!("{} feeds one phase and the log has {}: state `on-phase` in the site's file", self.held.title, measured.phases))
            }
        }
    }
}

fn finite(seconds: f64) -> Micros {
    if seconds.is_finite() { micros(seconds) } else { Micros::MAX }
}

/// Its name for people.
pub fn title(function: &str) -> &'static str {
    SettingId::of_function(function).map_or("?", |id| id.function().title)
}

fn is_or_are(words: &[String]) -> String {
    match words {
        [one] => format!("{one} is"),
        many => format!("{} are", many.join(", ")),
    }
}
