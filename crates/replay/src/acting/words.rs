//! Words for what nobody stated.

use response::device::Unclear;
use settings_model::catalogue::SettingId;

/// A function's name for people.
pub fn title(function: &str) -> &'static str {
    SettingId::of_function(function).map_or("?", |id| id.function().title)
}

/// What had to be taken for granted, in words.
pub fn taken_for_granted(unclear: &Unclear) -> String {
    match unclear {
        Unclear::State(setting) => format!("whether {} acts is not stated; it is assumed not to", setting.function().title.to_lowercase()),
        Unclear::Setting(setting) => {
            let (function, parameter) = (setting.function().title.to_lowercase(), setting.parameter().title);
            format!("of {function}, {parameter} is not stated; the function is assumed not to act")
        }
        Unclear::ReactiveModes(modes) => format!("{} are enabled together; {} is assumed to act", modes.join(" and "), modes[0]),
        Unclear::Rating(fact) => format!("the {} is not stated; its apparent power is used instead", fact.row().title),
        Unclear::Priority => {
            "which kind of power comes first at full apparent power is not stated; reactive power is assumed to come first".to_owned()
        }
        Unclear::LockIn(function) => format!("{}; it is assumed not to act there", locks_in(function)),
        Unclear::BelowZero("volt-watt") => {
            "volt-watt: its curve falls below zero; without storage the device gives nothing there and draws nothing".to_owned()
        }
        Unclear::BelowZero(function) => {
            format!("{}: its curve falls below zero; the device takes nothing there and gives nothing", title(function).to_lowercase())
        }
        Unclear::FrequencyBase => {
            "not known: the power from which the response to high frequency is counted; the power at that moment is used".to_owned()
        }
    }
}

/// What decides whether a function acts that begins to at one place and ends at another.
pub fn locks_in(function: &str) -> String {
    format!("{}: between where it ends and where it begins to act, what came before decides", title(function).to_lowercase())
}
