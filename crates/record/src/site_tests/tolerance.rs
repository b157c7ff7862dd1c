//! How far a measurement may lie off, and who says so. None of this ever widens a setting.

use rules::provenance::Standing;
use settings_model::exact::Exact;
use settings_model::facts::{FactId, Facts};
use settings_model::quantity::Dimension;

/// How far beyond what is asked a device may lie in a test.
#[derive(Clone, Debug, PartialEq)]
pub struct Allowance {
    /// So far, either way, in base units.
    pub by: Exact,
    /// In words.
    pub says: String,
    /// Where it is from.
    pub source: &'static str,
    /// How sure that is.
    pub basis: Standing,
}

/// What a trade does without anybody having written it down.
pub(super) const COMMON_PRACTICE: (&str, Standing) = ("common practice, no source", Standing::CommonPractice);

/// A response may lie off by 4 % of the rating.
const RESPONSE: (&str, Standing) = (
    "AS/NZS 4777.2:2020: test scripts of CanmetENERGY and CSIRO for its draft, and SA Power Networks' Dynamic Exports Test Procedure, agree",
    Standing::Published,
);

/// How far a hand with a stopwatch may be off, either way.
pub(super) fn by_hand() -> Exact {
    Exact::new(5, 1)
}

/// The same in words.
pub(super) const BY_HAND: &str = "by hand, common practice, no source";

/// What nobody can time by hand: an edge at which the hand alone is as large as the time.
pub(super) fn is_too_short_for_a_hand(time: Exact) -> bool {
    time <= Exact::ONE
}

/// The accuracy of a response at a device, in watts; only where its standard is known to give one.
pub(super) fn of_power(standard: &str, facts: &Facts) -> Option<Allowance> {
    let rating = of_rating(standard, facts)?;
    let by = rating * Exact::new(4, 2);
    Some(allowance(by, format!("± {}: 4 % of {}", Dimension::ActivePower.show(by), Dimension::ApparentPower.show(rating)), RESPONSE))
}

/// The same for a ramp that was watched for a time, in per cent a minute.
pub(super) fn of_ramp(standard: &str, facts: &Facts, watched: Exact) -> Option<Allowance> {
    of_rating(standard, facts)?;
    let by = Exact::from(240).divided_roughly(watched, 3)?;
    let says = format!("± {}: 4 % of the rating over {}", Dimension::RampRate.show(by), Dimension::Time.show(watched));
    Some(allowance(by, says, RESPONSE))
}

/// What a watt comes to in a ramp that was watched for a time, in per cent of rated active power a
/// minute; of a device whose active power is not stated, of its nameplate.
pub(super) fn per_watt(facts: &Facts, watched: Exact) -> Option<Exact> {
    let rating = facts.number(FactId::RatedPower).or(facts.number(FactId::Nameplate))?;
    Exact::from(6000).divided_roughly(rating * watched, 9)
}

/// Whether a ramp has such an allowance, which hangs on how long it is watched.
pub(super) fn ramp_words(standard: &str, facts: &Facts) -> Option<Allowance> {
    of_rating(standard, facts)?;
    Some(allowance(Exact::ZERO, "± 4 % of the rating over the time watched".to_owned(), RESPONSE))
}

/// What 4 % is taken of.
fn of_rating(standard: &str, facts: &Facts) -> Option<Exact> {
    // a device that is limited to less is held to that: the stricter reading, common practice
    facts.number(FactId::LimitedTo).filter(|_| standard == "as-nzs-4777.2")
}

/// Where a relay's stage may pick up, around its threshold.
pub(super) fn of_pick_up(dimension: Dimension, threshold: Exact) -> Allowance {
    let (by, says) = match dimension {
        Dimension::Voltage => (threshold * Exact::new(1, 2), "1 % of the threshold".to_owned()),
        Dimension::Frequency => (Exact::new(2, 2), "of a frequency".to_owned()),
        _ => (threshold * Exact::new(5, 2), "5 % of the threshold".to_owned()),
    };
    allowance(by, format!("± {}: {says}", dimension.show(by)), COMMON_PRACTICE)
}

/// How far a relay's time may lie off.
pub(super) fn of_relay_time(time: Exact) -> Allowance {
    let by = (time * Exact::new(5, 2)).max(Exact::new(5, 2));
    allowance(by, format!("± {}: 5 % of the time, and 50 ms at least", Dimension::Time.show(by)), COMMON_PRACTICE)
}

fn allowance(by: Exact, says: String, (source, basis): (&'static str, Standing)) -> Allowance {
    Allowance { by, says, source, basis }
}
