//! `V 0.5 %, P 1 %, Q 2 %`, or a kind of instrument: how exact a meter is, as its user says it.

use behaviour::accuracy::{Accuracy, INSTRUMENTS, Instrument, Stated};
use replay::held::DeviceAtMoment;
use settings_model::exact::Exact;
use settings_model::facts::Facts;
use settings_model::quantity::Dimension;

/// The accuracy of a log's meter.
///
/// # Errors
/// In words, where it cannot be read.
pub fn accuracy(text: Option<&str>, nominal: f64, rated: f64) -> Result<Accuracy, String> {
    let (mut stated, mut instrument) = (Stated::default(), None);
    for part in text.into_iter().flat_map(|text| text.split(',')).map(str::trim).filter(|part| !part.is_empty()) {
        if let Some(known) = INSTRUMENTS.iter().find(|known| known.key == part) {
            instrument = Some(known);
            continue;
        }
        let (of, share) = stated_part(part)?;
        let slot = match of {
            'V' => &mut stated.volts,
            'P' => &mut stated.watts,
            _ => &mut stated.vars,
        };
        if slot.replace(share).is_some() {
            return Err(format!("--accuracy: `{of}` is stated twice"));
        }
    }
    Ok(behaviour::accuracy::accuracy(stated, instrument, nominal, rated))
}

/// `V 0.5 %`.
fn stated_part(part: &str) -> Result<(char, f64), String> {
    let unclear = || {
        let keys: Vec<&str> = INSTRUMENTS.iter().map(|Instrument { key, .. }| *key).collect();
        format!("--accuracy: `{part}` is neither as in `V 0.5 %, P 1 %, Q 2 %` nor one of {}", keys.join(", "))
    };
    let (of, share) = part.split_once(' ').ok_or_else(unclear)?;
    let of = of.chars().next().filter(|letter| of.len() == 1 && "VPQ".contains(*letter)).ok_or_else(unclear)?;
    let percent = percent(share).map_err(|says| format!("--accuracy: `{part}`: {says}"))?;
    Ok((of, percent / 100.0))
}

/// A share from 0 up to 100 %.
///
/// # Errors
/// In words.
pub fn percent(text: &str) -> Result<f64, String> {
    let amount = Dimension::Percent.parse(text.trim()).map_err(|slip| slip.to_string())?;
    let percent = amount.at(&Facts::default()).map(Exact::approximate);
    percent.filter(|percent| (0.0..100.0).contains(percent)).ok_or_else(|| "it has to lie from 0 % to below 100 %".to_owned())
}

/// The standard deviation of voltage within a row.
///
/// # Errors
/// In words.
pub fn spread(text: &str, held: &DeviceAtMoment<'_>) -> Result<f64, String> {
    let amount = Dimension::Voltage.parse(text).map_err(|slip| format!("--spread: {slip}"))?;
    let volts = amount.at(&held.facts).map(Exact::approximate).filter(|volts| (0.0..100.0).contains(volts));
    volts.ok_or_else(|| format!("--spread: `{text}` is no spread of a voltage; write it as `1 V`"))
}
