//! How far a measurement may lie off, and who says so. None of this ever widens a setting.

use rules::provenance::Standing;
use rules::sheet::DeviceSheet;
use settings_model::claim::Citation;
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
    pub source: String,
    /// How sure that is.
    pub basis: Standing,
}

/// What a trade does without anybody having written it down.
pub(super) const COMMON_PRACTICE: (&str, Standing) = ("common practice, no source", Standing::CommonPractice);

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
pub(super) fn of_power(sheet: &DeviceSheet) -> Option<Allowance> {
    let (share, source) = sheet.response_tolerance.as_ref()?;
    let rating = rating(&sheet.facts)?;
    let by = rating * *share * Exact::new(1, 2);
    let (off, of) = (Dimension::ActivePower.show(by), Dimension::ApparentPower.show(rating));
    Some(as_cited(by, format!("± {off}: {} of {of}", Dimension::Percent.show(*share)), source))
}

/// The same for a ramp that was watched for a time, in per cent a minute.
pub(super) fn of_ramp(sheet: &DeviceSheet, watched: Exact) -> Option<Allowance> {
    let (share, source) = sheet.response_tolerance.as_ref()?;
    rating(&sheet.facts)?;
    let by = (*share * Exact::from(60)).divided_roughly(watched, 3)?;
    let (off, over) = (Dimension::RampRate.show(by), Dimension::Time.show(watched));
    Some(as_cited(by, format!("± {off}: {} of the rating over {over}", Dimension::Percent.show(*share)), source))
}

/// What a watt comes to in a ramp that was watched for a time, as a percentage of rated active power a
/// minute; of a device whose active power is not stated, of its nameplate.
pub(super) fn per_watt(facts: &Facts, watched: Exact) -> Option<Exact> {
    let rating = facts.number(FactId::RatedPower).or(facts.number(FactId::Nameplate))?;
    Exact::from(6000).divided_roughly(rating * watched, 9)
}

/// Whether a ramp has such an allowance, which depends on how long it is watched.
pub(super) fn ramp_words(sheet: &DeviceSheet) -> Option<Allowance> {
    let (share, source) = sheet.response_tolerance.as_ref()?;
    rating(&sheet.facts)?;
    let says = format!("± {} of the rating over the time watched", Dimension::Percent.show(*share));
    Some(as_cited(Exact::ZERO, says, source))
}

/// What it is taken of: a device that is limited to less is held to that, the stricter reading, common practice.
fn rating(facts: &Facts) -> Option<Exact> {
    facts.number(FactId::LimitedTo)
}

/// By whom, as a crew is told: the document and the kind of source.
fn as_cited(by: Exact, says: String, citation: &Citation) -> Allowance {
    let document = std::iter::once(citation.document.as_str()).chain(citation.clause.as_deref()).collect::<Vec<_>>().join(", ");
    let source = std::iter::once(document).chain(citation.remarks()).collect::<Vec<_>>().join(": ");
    Allowance { by, says, source, basis: citation.basis.into() }
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
    Allowance { by, says, source: source.to_owned(), basis }
}
