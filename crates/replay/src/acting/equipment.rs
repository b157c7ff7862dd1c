//! What a device will do over time: its stages, its reconnection and its responses.
//!
//! A stage of which nobody knows a setting is not played, and told.

use super::device::responses;
use super::left_out::{Play, left_out};
use super::relay::relay;
use super::stages::is_a_stage;
use super::values::Values;
use super::words::{taken_for_granted, title};
use crate::held::DeviceAtMoment;
use response::characteristic::RESPONSES;
use response::device::{Device, ReactiveMode, Unclear};
use response::timeline::{Protection, Stage};
use rules::percentages::unverified_percentages;
use rules::phrase::capitalised;
use rules::provenance::Figures;
use settings_model::exact::Exact;
use settings_model::facts::{FactId, Facts};

/// A device that a course of voltage and frequency is played on.
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
    /// How many of them could be: something of them is not known, or is not measured.
    pub could_not_play: usize,
    /// What was taken for granted.
    pub taken: Vec<String>,
    /// The phases that it feeds, by their places among those measured.
    pub phases: Vec<usize>,
    /// How many phases it feeds, or a relay before it looks at, that are not measured.
    pub phases_not_measured: usize,
    /// How the figures that are not its own are known.
    pub figures: Figures,
    /// The names of the relays before it, in the order of its protection.
    pub relays: Vec<String>,
}

impl Equipment {
    /// Puts a relay before it.
    fn put_behind(&mut self, held: &DeviceAtMoment<'_>, measured: Measured) {
        let Some(acting) = relay(held, measured) else {
            self.taken.push(format!("{}: nothing is required of a relay here; none is played", held.name));
            return;
        };
        let place = Some(self.protection.relays.len());
        self.protection.stages.extend(acting.stages.into_iter().map(|stage| Stage { relay: place, ..stage }));
        self.protection.relays.push(acting.relay);
        self.relays.push(held.name.to_owned());
        self.not_played.extend(acting.not_played);
        self.could_not_play += acting.could_not_play;
        self.taken.extend(acting.taken);
    }

    /// The relay that holds a stage, where it is not the device itself.
    pub fn relay_of(&self, stage: &Stage) -> Option<&str> {
        self.relays.get(stage.relay?).map(String::as_str)
    }

    /// The name of a stage for people, with that of its relay.
    pub fn title_of(&self, stage: &Stage) -> String {
        let relay = self.relay_of(stage).map_or(String::new(), |relay| format!(" of {relay}"));
        format!("{}{relay}", title(stage.function))
    }
}

/// What is measured, as far as it decides what can be played.
#[derive(Clone, Copy)]
pub struct Measured {
    /// Phases.
    pub phases: usize,
    /// Whether it has frequency.
    pub frequency: bool,
    /// Whether it has the power that could have been given.
    pub available: bool,
    /// Whether it has what the site uses itself.
    pub load: bool,
}

/// Builds a device from what it holds, behind the relays of its site.
///
/// # Errors
/// In words, where nobody knows which of the phases it feeds.
pub fn equipment(held: &DeviceAtMoment<'_>, relays: &[DeviceAtMoment<'_>], measured: Measured) -> Result<Equipment, String> {
    let values = if held.is_requirement { Values::or_as_required(held) } else { Values::of(held) };
    let mut building = Building::of(values);
    let phases = building.phases(measured)?;
    let stages = building.stages(measured);
    let figures = building.values.figures(is_played);
    let reconnection = building.reconnection(measured, true);
    let ceasing = building.ceasing();
    building.hanging();
    building.taken.extend(left_out(&building.values, Play::Time).iter().map(|says| capitalised(says)));
    let (device, is_rated) = building.device(measured);
    let Building { not_played, could_not_play, taken, .. } = building;
    let protection = Protection { stages, reconnection, ceasing, relays: Vec::new() };
    let title = held.title.clone();
    let mut equipment = Equipment {
        title,
        device,
        protection,
        is_rated,
        not_played,
        could_not_play,
        taken,
        phases,
        phases_not_measured: looks_at(held, relays).saturating_sub(measured.phases),
        figures,
        relays: Vec::new(),
    };
    relays.iter().for_each(|held| equipment.put_behind(held, measured));
    Ok(equipment)
}

/// How many phases a device feeds, or all of its supply where a relay stands before it; where nobody says, all.
fn looks_at(held: &DeviceAtMoment<'_>, relays: &[DeviceAtMoment<'_>]) -> usize {
    let own = held.facts.number(FactId::DevicePhases).filter(|_| relays.is_empty());
    own.or(held.facts.number(FactId::Phases)).map_or(1, |phases| phases.approximate() as usize)
}

/// Whether a function takes part in what is played.
fn is_played(function: &str) -> bool {
    const OTHERS: [&str; 4] = ["reconnection", "cease-generation", "export-limit", "generation-limit"];
    OTHERS.contains(&function) || is_a_stage(function) || RESPONSES.iter().any(|response| response.function == function)
}

/// A device on its way.
pub(super) struct Building<'b> {
    pub(super) values: Values<'b>,
    pub(super) not_played: Vec<String>,
    pub(super) could_not_play: usize,
    pub(super) taken: Vec<String>,
    /// Stages of which nothing says how long they stay on at least.
    pub(super) of_unknown_delay: Vec<&'static str>,
}

impl<'b> Building<'b> {
    pub(super) fn of(values: Values<'b>) -> Self {
        Self { values, not_played: Vec::new(), could_not_play: 0, taken: Vec::new(), of_unknown_delay: Vec::new() }
    }
}

impl Building<'_> {
    /// What it gives; without a rating, of one watt, so that times are right where energies are not told.
    fn device(&mut self, measured: Measured) -> (Device, bool) {
        let mut facts = self.values.held.facts.clone();
        let is_rated = facts.number(FactId::Nameplate).or(facts.number(FactId::LimitedTo)).is_some();
        if !is_rated {
            facts.set_number(FactId::Nameplate, Exact::ONE);
            self.taken.push("Its nameplate rating is not stated: times are told, energies are not".to_owned());
        }
        let (found, unclear) = responses(&self.values, &facts, None);
        let mut device = found.unwrap_or_else(|| unreachable!("its apparent power is stated or set"));
        let words = unclear.iter().filter(|unclear| matters(unclear, &device, measured)).map(taken_for_granted);
        self.taken.extend(words.map(|words| capitalised(&words)));
        self.taken.extend(self.unverified(measured).map(|words| capitalised(&words)));
        if !measured.available {
            (device.export_limit, device.generation_limit) = (None, None);
        } else if device.export_limit.is_some() {
            self.taken.extend(taken_of_export(&facts, &device, measured).map(str::to_owned));
        }
        if device.stores {
            let says = match measured.available {
                true => {
                    "Storage: where less than nothing was available it is assumed to want to charge with that much; its response to low frequency is assumed to have no memory"
                }
                false => "Storage: the log does not say when it charges; only what it gives is played",
            };
            self.taken.push(says.to_owned());
        }
        (device, is_rated)
    }

    /// Of what the percentages of its responses are taken, where nobody verified that and it matters.
    fn unverified(&self, measured: Measured) -> Option<String> {
        let (book, _) = self.values.held.asked.as_ref().filter(|_| measured.available)?;
        unverified_percentages(&book.rulebook)
    }

    /// What is required, where that depends on facts that nobody states.
    fn hanging(&mut self) {
        let Some((_, counted)) = self.values.held.asked.as_ref().filter(|_| self.values.are_as_required()) else { return };
        let mut told: Vec<(&str, Vec<&str>)> = Vec::new();
        for hanging in &counted.hanging {
            let (of, on) = (hanging.setting.function().title, hanging.on.iter().map(|fact| fact.row().title));
            match told.iter_mut().find(|(other, _)| *other == of) {
                Some((_, facts)) => facts.extend(on),
                None => told.push((of, on.collect())),
            }
        }
        for (of, mut facts) in told {
            facts.sort_unstable();
            facts.dedup();
            self.taken.push(format!("{of}: what is required depends on what is not stated: {}", facts.join(", ")));
        }
    }

    /// The phases that the device feeds.
    fn phases(&mut self, measured: Measured) -> Result<Vec<usize>, String> {
        let held = self.values.held;
        let all: Vec<usize> = (0..measured.phases).collect();
        let feeds_one = held.facts.number(FactId::DevicePhases).is_some_and(|phases| phases == Exact::ONE);
        if measured.phases == 1 || !feeds_one {
            return Ok(all);
        }
        match held.device.on_phase {
            Some(phase) if (phase as usize) < measured.phases => Ok(vec![phase as usize]),
            _ => Err(format!("{} feeds one phase and the log has {}: state `on-phase` in the site's file", held.title, measured.phases)),
        }
    }
}

/// What is taken for granted of an export limit.
fn taken_of_export(facts: &Facts, device: &Device, measured: Measured) -> impl Iterator<Item = &'static str> {
    let no_load = "Export limit: the log does not have the site's own use; the limit is held against the device's output";
    let others = "Export limit: the site has other inverters, of which the log says nothing; they are assumed to give nothing";
    [(!measured.load).then_some(no_load), has_others(facts, device).then_some(others)].into_iter().flatten()
}

/// Whether the site has other inverters, which share an export limit.
pub fn has_others(facts: &Facts, device: &Device) -> bool {
    facts.number(FactId::LimitedTotal).map(Exact::approximate).is_some_and(|total| total > device.ratings.apparent)
}

/// Whether what is not clear of a device changes what a log shows: without what there was to give,
/// nothing is said of what gives way or of limits.
fn matters(unclear: &Unclear, device: &Device, measured: Measured) -> bool {
    let gives_reactive = !matches!(device.reactive, ReactiveMode::Unity);
    let is_played = |function: &str| {
        matches!(function, "volt-watt" | "over-frequency-response") || (measured.available && function.ends_with("-limit"))
    };
    match unclear {
        Unclear::Priority | Unclear::ReactiveModes(_) | Unclear::LockIn(_) => measured.available && gives_reactive,
        Unclear::State(id) => is_played(id.function().key),
        Unclear::Setting(id) => measured.available || !id.function().key.ends_with("-limit"),
        Unclear::Rating(_) | Unclear::FrequencyBase | Unclear::BelowZero(_) => true,
    }
}
