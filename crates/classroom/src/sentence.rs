//! One plain sentence: what a device does here, what makes it, and whose figure that is.

use super::loaded::Loaded;
use super::position::Position;
use response::device::ReactiveMode;
use response::operating_point::{Cap, OperatingPoint};
use rules::trip_map::{Slice, Stay};
use settings_model::exact::Exact;
use settings_model::quantity::Dimension;
use views::operating::{exact, in_thousands, is_cut};
use views::trip_map::map::{HeldStage, Trips};
use views::trip_map::words::{stages, time, told};

/// Says whose figure a function holds.
type Provenance<'w> = &'w mut dyn FnMut(&str) -> String;

/// The sentence.
pub fn sentence(loaded: &Loaded, position: &Position, point: &OperatingPoint) -> String {
    let mut named = Vec::new();
    let mut why = |function: &str| loaded.reasons.behind(function, &mut named);
    let mut said = format!("{}, it {}", position.words(), active(loaded, position, point, &mut why));
    said.push_str(&format!(", and {}", reactive(loaded, point, &mut why)));
    said.push_str(&format!("; {}", staying(loaded, position, &mut |function| loaded.reasons.behind_asked(function, &mut named))));
    said.push('.');
    said
}

fn active(loaded: &Loaded, position: &Position, point: &OperatingPoint, why: Provenance<'_>) -> String {
    let power = in_thousands(point.active.abs(), "kW");
    let gives = if point.active < 0.0 { format!("charges with {power}") } else { format!("gives {power}") };
    let mut held = |what: &str, function: &str| format!("{gives}, held by {what}{}", why(function));
    match point.held_by {
        Cap::Available => format!("{gives}, all that is {}", if point.active < 0.0 { "wanted" } else { "available" }),
        Cap::RatedActive => format!("{gives}, its rated active power"),
        Cap::RatedApparent => format!("{gives}, its rated apparent power"),
        Cap::VoltWatt if point.active < 0.0 => held("volt-watt when charging", "volt-watt-charging"),
        Cap::VoltWatt => held("volt-watt", "volt-watt"),
        Cap::Frequency => held("the response to frequency", frequency_response(loaded, position)),
        Cap::ExportLimit => held("the export limit", "export-limit"),
        Cap::GenerationLimit => held("the generation limit", "generation-limit"),
        Cap::ReactivePower => held("its apparent-power limit, at which reactive power comes first", "power-priority"),
    }
}

/// The response to frequency that acts here.
fn frequency_response(loaded: &Loaded, position: &Position) -> &'static str {
    let is_high = position.frequency.approximate() > loaded.operating.nominal_frequency;
    if is_high { "over-frequency-response" } else { "under-frequency-response" }
}

fn reactive(loaded: &Loaded, point: &OperatingPoint, why: Provenance<'_>) -> String {
    let (function, words) = match loaded.operating.device.reactive {
        ReactiveMode::Unity => return "asks for no reactive power".to_owned(),
        ReactiveMode::VoltVar(_) => ("volt-var", "volt-var"),
        ReactiveMode::Fixed(_) => ("fixed-reactive-power", "a fixed amount"),
        ReactiveMode::PowerFactor(..) => ("fixed-power-factor", "a fixed power factor"),
        ReactiveMode::PowerFactorByPower(..) => ("power-dependent-power-factor", "a power factor that follows its power"),
        ReactiveMode::VarByPower(_) => ("watt-var", "watt-var"),
    };
    let why = why(function);
    if in_thousands(point.reactive, "") == in_thousands(0.0, "") {
        return format!("neither supplies nor absorbs reactive power, by {words}{why}");
    }
    let verb = if point.reactive < 0.0 { "absorbs" } else { "supplies" };
    let amount = |of: f64| in_thousands(of.abs(), "kvar");
    let cut = if is_cut(point) { format!(", of {} asked for", amount(point.reactive_asked)) } else { String::new() };
    format!("{verb} {}{cut} by {words}{why}", amount(point.reactive))
}

/// How long it has to stay on, by whichever of voltage and frequency presses more, and what its own stages do.
fn staying(loaded: &Loaded, position: &Position, why: Provenance<'_>) -> String {
    let slices = loaded.maps.iter().map(|map| {
        let (value, nominal) = measured(loaded, position, map.measured());
        let slice = map.slice_at(value, nominal);
        (map, slice, slice.stays_at(value))
    });
    let pressing = slices.min_by_key(|(_, slice, stays)| (slice.off_by.is_none(), slice.off_by, stays.is_none(), *stays));
    let Some((map, slice, stays)) = pressing else { return "no stage that would make it leave is known".to_owned() };
    let is_calm = slice.off_by.is_none() && !slice.by_mean && slice.stays == [Stay::Always; 2];
    let asked = match (is_calm, slice.by_mean) {
        (true, _) => calm(loaded),
        (_, true) => format!("it {}, by {}{}", told(slice, map).replacen("stays", "has to stay", 1), named(slice), behind(slice, why)),
        _ => asked(slice, stays, map.measured(), why),
    };
    let mean = loaded.maps.iter().find_map(|map| Some((map, map.held_mean_at(measured(loaded, position, map.measured()).0)?)));
    let acting = loaded.maps.iter().filter_map(|map| map.held_at(measured(loaded, position, map.measured()).0));
    let first = acting.min_by_key(|stage| stage.when.order());
    let of_mean = mean.filter(|_| first.is_none()).map(|(map, stage)| map.held_words(stage).replacen("the device: ", "as it is set, ", 1));
    match of_mean {
        Some(says) => format!("{asked}; {says}"),
        None => format!("{asked}{}", own(first, !is_calm && !map.held.is_empty())),
    }
}

/// No stage acts here; that is as sure as the figures of the stages around.
fn calm(loaded: &Loaded) -> String {
    let is_unverified = loaded.maps.iter().any(|map| map.figures.unverified() > 0);
    let known = if is_unverified { ", by stages whose figures are unverified" } else { "" };
    format!("it must stay on, with no time limit{known}")
}

/// What is asked of a place where it may or must leave.
fn asked(slice: &Slice, stays: Option<Exact>, measured: Dimension, why: Provenance<'_>) -> String {
    let said = match (stays, slice.off_by) {
        (Some(stay), Some(off)) if off < stay => {
            format!("it is asked both to stay on for {} and to be off by {}", time(stay), time(off))
        }
        (stay, off) => {
            let may = match stay {
                Some(seconds) if seconds == Exact::ZERO => "it may trip at once".to_owned(),
                Some(seconds) => format!("it has to stay on for {}, may trip from then", time(seconds)),
                None => "it has to stay on".to_owned(),
            };
            format!("{may}{}", off.map_or_else(String::new, |seconds| format!(" and must be off by {}", time(seconds))))
        }
    };
    let which = if slice.stages.is_empty() { format!("by its {}", measured.name()) } else { format!("by {}", named(slice)) };
    format!("{said}, {which}{}", behind(slice, why))
}

fn named(slice: &Slice) -> String {
    stages(slice).join(" and ").to_lowercase()
}

fn behind(slice: &Slice, why: Provenance<'_>) -> String {
    slice.stages.last().map_or_else(String::new, |stage| why(stage))
}

/// What the device's own stages do: the one that trips first, or that none does where one might.
fn own(first: Option<&HeldStage>, might: bool) -> String {
    match first.map(|stage| stage.when) {
        Some(Trips::After(seconds)) if seconds == Exact::ZERO => "; as it is set, it trips at once".to_owned(),
        Some(Trips::After(seconds)) => format!("; as it is set, it trips after {}", time(seconds)),
        Some(Trips::OffBy(seconds)) => format!("; as it is set, it is off by {}", time(seconds)),
        Some(Trips::NotKnown) => "; as it is set, it trips after a time that is not known".to_owned(),
        None if might => "; as it is set, it does not trip".to_owned(),
        None => String::new(),
    }
}

/// A measured value of the position, and what is nominal.
pub fn measured(loaded: &Loaded, position: &Position, of: Dimension) -> (Exact, Exact) {
    match of {
        Dimension::Voltage => (position.voltage, loaded.operating.nominal),
        _ => (position.frequency, exact(loaded.operating.nominal_frequency)),
    }
}
