//! What options give: amounts, and the device that stands for requirements.

use replay::subjects::NoSite;
use rules::operand::OperandError;
use settings_model::exact::Exact;
use settings_model::facts::{FactId, FactValue, Facts};
use settings_model::notation;
use settings_model::quantity::Dimension;

/// A device of this rating, fed from this word of the catalogue's energy sources, at this nominal voltage
/// where it is said, as options of the command line write them.
pub fn no_site(rated: &str, source: &str, nominal: Option<&str>) -> Result<NoSite, OperandError> {
    let mut facts = Facts::default();
    let words = FactId::EnergySource.words();
    let word = notation::word(words, source).map_err(|slip| OperandError::Words(format!("--source: {slip}")))?;
    facts.set(FactId::EnergySource, FactValue::Word(word));
    facts.set_number(FactId::Nameplate, above_zero("--rated", Dimension::ApparentPower, rated)?);
    if let Some(nominal) = nominal {
        facts.set_number(FactId::NominalVoltage, above_zero("--nominal", Dimension::Voltage, nominal)?);
    }
    Ok(NoSite::of(facts))
}

/// An amount that an option gives.
pub fn above_zero(option: &str, dimension: Dimension, text: &str) -> Result<Exact, OperandError> {
    let amount = dimension.parse(text).map_err(|slip| OperandError::Words(format!("{option}: {slip}")))?;
    let is_above = amount.of.is_none() && amount.number > Exact::ZERO;
    let slip = || OperandError::Words(format!("{option}: `{text}` is not above zero; write it as `{}`", dimension.example()));
    is_above.then_some(amount.number).ok_or_else(slip)
}
