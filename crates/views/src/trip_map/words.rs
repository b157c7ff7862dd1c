//! What is asked of a slice of voltage or of frequency, in words.

use super::map::Map;
use rules::trip_map::{Slice, Stay};
use settings_model::catalogue::SettingId;
use settings_model::exact::Exact;
use settings_model::quantity::Dimension;

/// The stages that act, by name.
pub fn stages(slice: &Slice) -> Vec<&'static str> {
    slice.stages.iter().filter_map(|key| Some(short(SettingId::of_function(key)?.function().title))).collect()
}

/// `Sustained overvoltage`, without what is said beside it.
pub fn short(title: &'static str) -> &'static str {
    title.split_once(" (").map_or(title, |(short, _)| short)
}

/// A time in words.
pub fn time(seconds: Exact) -> String {
    Dimension::Time.show(seconds)
}

/// What a limit on a mean looks at: `the 10-minute average`.
pub fn average(window: Exact) -> String {
    if window == Exact::new(600, 0) { "the 10-minute average".to_owned() } else { format!("the average over {}", time(window)) }
}

/// `the 10-minute average is above 258 V`, of the limit that acts in a slice.
fn mean_is_above(map: &Map) -> String {
    let mean = map.map.mean.as_ref();
    mean.map_or_else(String::new, |mean| format!("{} is above {}", average(mean.window), map.shown(mean.above[0])))
}

/// How long a device has to stay on.
pub fn stays(slice: &Slice, map: &Map) -> String {
    match slice.stays {
        [Stay::For(low), Stay::For(high)] if low != high => format!("{} to {}, along a line", time(low.min(high)), time(low.max(high))),
        [Stay::For(seconds), _] | [_, Stay::For(seconds)] if seconds == Exact::ZERO => "not at all".to_owned(),
        [Stay::For(seconds), _] | [_, Stay::For(seconds)] => time(seconds),
        [Stay::Always, Stay::Always] if slice.by_mean => format!("until {}", mean_is_above(map)),
        [Stay::Always, Stay::Always] => "no time limit".to_owned(),
    }
}

/// From when it may trip.
pub fn may(slice: &Slice) -> String {
    match slice.stays {
        [Stay::Always, Stay::Always] if slice.by_mean => "from then".to_owned(),
        [Stay::Always, Stay::Always] => "-".to_owned(),
        [Stay::For(low), Stay::For(high)] if low != high => "after that".to_owned(),
        [Stay::For(seconds), _] | [_, Stay::For(seconds)] if seconds == Exact::ZERO => "at once".to_owned(),
        [Stay::For(seconds), _] | [_, Stay::For(seconds)] => format!("from {}", time(seconds)),
    }
}

/// By when it must be off.
pub fn off(slice: &Slice, map: &Map) -> String {
    if slice.by_mean {
        let within = map.map.mean.as_ref().filter(|_| slice.off_by.is_some()).and_then(|mean| mean.off_within);
        return within.map_or("-".to_owned(), |seconds| format!("within {} of that", time(seconds)));
    }
    slice.off_by.map_or("-".to_owned(), |seconds| format!("by {}", time(seconds)))
}

/// All of it in a sentence: `stays on for 1 s, is off within 2 s`.
pub fn told(slice: &Slice, map: &Map) -> String {
    let stays = match slice.stays {
        [Stay::Always, Stay::Always] if slice.by_mean => format!("stays on {}", stays(slice, map)),
        [Stay::Always, Stay::Always] => "stays on".to_owned(),
        [Stay::For(seconds), _] | [_, Stay::For(seconds)] if seconds == Exact::ZERO => "may trip at once".to_owned(),
        _ => format!("stays on for {}", stays(slice, map)),
    };
    match (slice.by_mean, slice.off_by) {
        (_, None) => stays,
        (true, _) => format!("{stays}, is off {}", off(slice, map)),
        (false, Some(seconds)) => format!("{stays}, is off within {}", time(seconds)),
    }
}

/// What a limit on a mean comes to at a value that stays.
pub fn of_mean(map: &Map) -> Option<String> {
    let mean = map.map.mean.as_ref()?;
    let [may, must] = mean.above.map(|at| map.shown(at));
    let latest = mean.off_by()?;
    let average = average(mean.window);
    let may = if may == must { String::new() } else { format!(" It may trip from an average of {may} on.") };
    let stays = format!("A voltage that stays above {must} brings {average} there within {}", time(mean.window));
    Some(format!("{stays}: it must be off by {} at the latest.{may}", time(latest)))
}
