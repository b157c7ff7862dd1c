//! Of what the percentages of a standard are taken, in words, with how sure that is.

use crate::provenance::{Standing, of_line};
use settings_model::files::{FrequencyBase, PercentOf, Percentage};
use settings_model::requirement::Rulebook;

/// `% of active power is % of the device's rated active power; …`, and how it is known
/// where nobody verified it; `None` where the standard does not say.
#[must_use]
pub fn percentages(rulebook: &Rulebook) -> Option<String> {
    let PercentOf { active, reactive, frequency_response } = rulebook.percent_of?;
    let powers = if active == reactive {
        format!("% of power is % of the device's {}", active.word())
    } else {
        format!("% of active power is % of the device's {}; % of reactive power is % of its {}", active.word(), reactive.word())
    };
    let fall = frequency_response.map_or_else(String::new, |of| format!("; for the response to high frequency, % of {}", fall_of(of)));
    let unverified: Vec<(Percentage, &str)> =
        rulebook.percent_lines.iter().filter_map(|(of, _)| Some((*of, unverified(rulebook, *of)?))).collect();
    let known = match unverified[..] {
        [] => String::new(),
        [(_, how), ..] if unverified.len() == rulebook.percent_lines.len() && unverified.iter().all(|(_, other)| *other == how) => {
            format!(" ({how})")
        }
        _ => {
            let each = unverified.iter().map(|(of, how)| format!("{}: {how}", name(*of)));
            format!(" ({})", each.collect::<Vec<_>>().join("; "))
        }
    };
    Some(format!("{powers}{fall}{known}"))
}

/// The same, only where nobody verified some of it.
#[must_use]
pub fn unverified_percentages(rulebook: &Rulebook) -> Option<String> {
    let is_any = rulebook.percent_lines.iter().any(|(of, _)| unverified(rulebook, *of).is_some());
    percentages(rulebook).filter(|_| is_any)
}

/// How one of them is known, where nobody verified it: `from memory, unverified`.
#[must_use]
pub fn unverified(rulebook: &Rulebook, of: Percentage) -> Option<&'static str> {
    let (_, line) = rulebook.percent_lines.iter().find(|(other, _)| *other == of)?;
    of_line(*line, rulebook).filter(|standing| standing.is_unverified()).map(Standing::phrase)
}

/// Of what power the response to high frequency takes its percentages, in words.
fn fall_of(base: FrequencyBase) -> String {
    match base {
        FrequencyBase::Momentary => "the power at that moment".to_owned(),
        FrequencyBase::Rated => format!("the device's {}", base.word()),
    }
}

fn name(of: Percentage) -> &'static str {
    match of {
        Percentage::OfActivePower => "active power",
        Percentage::OfReactivePower => "reactive power",
        Percentage::OfFrequencyResponse => "high frequency",
    }
}
