//! One plain sentence: what a device does here, what makes it, and whose figure that is.

use super::loaded::Loaded;
use super::position::Position;
use crate::commands::operating::{exact, in_thousands, is_cut};
use crate::commands::trip_map::words::{stages, time};
use response::device::ReactiveMode;
use response::operating_point::{Cap, OperatingPoint};
use rules::trip_map::{Slice, Stay};
use settings_model::exact::Exact;
use settings_model::quantity::Dimension;

/// The sentence.
pub fn sentence(loaded: &Loaded, position: &Position, point: &OperatingPoint) -> String {
    let mut said = format!("{}, it {}", position.words(), active(loaded, point));
    said.push_str(&format!(", and {}", reactive(loaded, point)));
    said.push_str(&format!("; {}", staying(loaded, position)));
    if let Some(limit) = loaded.operating.sustained_limit.filter(|limit| position.voltage.approximate() > *limit) {
        let volts = Dimension::Voltage.show(exact(limit));
        let why = loaded.reasons.behind("sustained-overvoltage");
        said.push_str(&format!("; kept up for the 10-minute average, it is above the limit of {volts} on sustained overvoltage{why}"));
    }
    said.push('.');
    said
}

fn active(loaded: &Loaded, point: &OperatingPoint) -> String {
    let power = in_thousands(point.active.abs(), "kW");
    let gives = if point.active < 0.0 { format!("charges with {power}") } else { format!("gives {power}") };
    let held = |what: &str, function: &str| format!("{gives}, held by {what}{}", loaded.reasons.behind(function));
    match point.held_by {
        Cap::Available => format!("{gives}, all that is {}", if point.active < 0.0 { "wanted" } else { "available" }),
        Cap::RatedActive => format!("{gives}, its rated active power"),
        Cap::RatedApparent => format!("{gives}, its rated apparent power"),
        Cap::VoltWatt if point.active < 0.0 => held("volt-watt when charging", "volt-watt-charging"),
        Cap::VoltWatt => held("volt-watt", "volt-watt"),
        Cap::Frequency => held("the response to frequency", frequency_response(loaded)),
        Cap::ExportLimit => held("the export limit", "export-limit"),
        Cap::GenerationLimit => held("the generation limit", "generation-limit"),
        Cap::ReactivePower => held("its apparent-power limit, at which reactive power comes first", "power-priority"),
    }
}

/// The one response to frequency, of two the one to high frequency: both have one source in every standard.
fn frequency_response(loaded: &Loaded) -> &'static str {
    if loaded.operating.device.over_frequency.is_some() { "over-frequency-response" } else { "under-frequency-response" }
}

fn reactive(loaded: &Loaded, point: &OperatingPoint) -> String {
    let (function, words) = match loaded.operating.device.reactive {
        ReactiveMode::Unity => return "asks for no reactive power".to_owned(),
        ReactiveMode::VoltVar(_) => ("volt-var", "volt-var"),
        ReactiveMode::Fixed(_) => ("fixed-reactive-power", "a fixed amount"),
        ReactiveMode::PowerFactor(..) => ("fixed-power-factor", "a fixed power factor"),
        ReactiveMode::PowerFactorByPower(..) => ("power-dependent-power-factor", "a power factor that follows its power"),
        ReactiveMode::VarByPower(_) => ("watt-var", "watt-var"),
    };
    let why = loaded.reasons.behind(function);
    if in_thousands(point.reactive, "") == in_thousands(0.0, "") {
        return format!("neither supplies nor absorbs reactive power, by {words}{why}");
    }
    let verb = if point.reactive < 0.0 { "absorbs" } else { "supplies" };
    let amount = |of: f64| in_thousands(of.abs(), "kvar");
    let cut = if is_cut(point) { format!(", of {} asked for", amount(point.reactive_asked)) } else { String::new() };
    format!("{verb} {}{cut} by {words}{why}", amount(point.reactive))
}

/// How long it stays on, by whichever of voltage and frequency presses more.
fn staying(loaded: &Loaded, position: &Position) -> String {
    let slices = loaded.maps.iter().map(|map| {
        let (value, nominal) = measured(loaded, position, map.measured());
        (map.measured(), map.slice_at(value, nominal))
    });
    let pressing = slices.min_by_key(|(_, slice)| (slice.off_by.is_none(), slice.off_by, shortest(slice).is_none(), shortest(slice)));
    match pressing {
        None => "no stage that would make it leave is known".to_owned(),
        Some((_, slice)) if slice.off_by.is_none() && slice.stays == [Stay::Always; 2] => {
            "it has to stay on as long as this lasts".to_owned()
        }
        Some((measured, slice)) => {
            let may = match shortest(slice) {
                Some(seconds) if seconds == Exact::ZERO => "it may trip at once".to_owned(),
                Some(seconds) => format!("it has to stay on for {}, may trip from then", time(seconds)),
                None => "it has to stay on".to_owned(),
            };
            let off = slice.off_by.map_or_else(String::new, |seconds| format!(" and must be off by {}", time(seconds)));
            let stages = stages(slice);
            let which = if stages.is_empty() {
                format!("by its {}", measured.name())
            } else {
                format!("by {}", stages.join(" and ").to_lowercase())
            };
            let why = slice.stages.last().map_or_else(String::new, |stage| loaded.reasons.behind(stage));
            format!("{may}{off}, {which}{why}")
        }
    }
}

/// The shorter time at the edges of a slice; `None` for as long as it lasts.
fn shortest(slice: &Slice) -> Option<Exact> {
    let seconds = slice.stays.iter().filter_map(|stay| if let Stay::For(seconds) = stay { Some(*seconds) } else { None });
    seconds.min()
}

/// A measured value of the position, and what is nominal.
pub fn measured(loaded: &Loaded, position: &Position, of: Dimension) -> (Exact, Exact) {
    match of {
        Dimension::Voltage => (position.voltage, loaded.operating.nominal),
        _ => (position.frequency, exact(loaded.operating.nominal_frequency)),
    }
}
