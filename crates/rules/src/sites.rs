//! Which values of site facts people recognise.

use settings_model::facts::FactId;

/// A value that people recognise. Decides only which of many examples is shown, never a verdict.
pub(crate) fn familiar(fact: FactId) -> i64 {
    match fact {
        FactId::NominalVoltage => 230, // IEC 60038, line to neutral
        FactId::NameplateTotal | FactId::ApprovedExport => 5000,
        FactId::Phases => 1,
        FactId::ExportKind | FactId::Applied | FactId::Approved | FactId::Installed | FactId::Today => 0,
    }
}
