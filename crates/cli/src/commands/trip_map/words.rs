//! What is asked of a slice of voltage or of frequency, in words.

use rules::trip_map::{Slice, Stay};
use settings_model::catalogue::SettingId;
use settings_model::exact::Exact;
use settings_model::quantity::Dimension;

/// The stages that act, by name.
pub fn stages(slice: &Slice) -> Vec<&'static str> {
    slice.stages.iter().filter_map(|key| Some(SettingId::of_function(key)?.function().title)).collect()
}

/// A time in words.
pub fn time(seconds: Exact) -> String {
    Dimension::Time.show(seconds)
}

/// How long a device has to stay on.
pub fn stays(slice: &Slice) -> String {
    match slice.stays {
        [Stay::For(low), Stay::For(high)] if low != high => format!("{} to {}, along a line", time(low.min(high)), time(low.max(high))),
        [Stay::For(seconds), _] | [_, Stay::For(seconds)] if seconds == Exact::ZERO => "not at all".to_owned(),
        [Stay::For(seconds), _] | [_, Stay::For(seconds)] => time(seconds),
        [Stay::Always, Stay::Always] => "as long as it lasts".to_owned(),
    }
}

/// From when it may trip.
pub fn may(slice: &Slice) -> String {
    match slice.stays {
        [Stay::Always, Stay::Always] => "-".to_owned(),
        [Stay::For(low), Stay::For(high)] if low != high => "after that".to_owned(),
        [Stay::For(seconds), _] | [_, Stay::For(seconds)] if seconds == Exact::ZERO => "at once".to_owned(),
        [Stay::For(seconds), _] | [_, Stay::For(seconds)] => format!("from {}", time(seconds)),
    }
}

/// By when it must be off.
pub fn off(slice: &Slice) -> String {
    slice.off_by.map_or("-".to_owned(), |seconds| format!("by {}", time(seconds)))
}

/// All of it in a sentence: `stays on for 1 s, is off within 2 s`.
pub fn told(slice: &Slice) -> String {
    let stays = match slice.stays {
        [Stay::Always, Stay::Always] => "stays on".to_owned(),
        [Stay::For(seconds), _] | [_, Stay::For(seconds)] if seconds == Exact::ZERO => "may trip at once".to_owned(),
        _ => format!("stays on for {}", stays(slice)),
    };
    slice.off_by.map_or(stays.clone(), |seconds| format!("{stays}, is off within {}", time(seconds)))
}
