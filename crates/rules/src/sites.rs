//! Which values of site facts people recognise.

use settings_model::facts::FactId;

/// A value that people recognise. Decides only which of many examples is shown, never a verdict.
pub(crate) fn familiar(fact: FactId) -> i64 {
    match fact {
        FactId::NominalVoltage => 230, // IEC 60038, line to neutral
        FactId::NameplateTotal
        | FactId::LimitedTotal
        | FactId::Nameplate
        | FactId::LimitedTo
        | FactId::RatedPower
        | FactId::ApprovedExport => 5000,
        FactId::Phases | FactId::DevicePhases => 1,
        FactId::CertifiedYear => 2020,
        _ => 0, // words and dates: any example serves
    }
}
