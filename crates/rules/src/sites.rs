//! What holds of every site, whatever a file says, and which values people recognise.

use settings_model::facts::{FactId, FactShape};
use settings_model::quantity::Dimension;

/// An edge of what a fact can be at all.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Edge {
    pub at: i64,
    pub open: bool,
}

/// The least and the greatest value a site can have.
pub(crate) fn possible(fact: FactId) -> (Option<Edge>, Option<Edge>) {
    let from = |at, open| Some(Edge { at, open });
    match fact {
        FactId::NominalVoltage | FactId::NameplateTotal => (from(0, true), None),
        FactId::ApprovedExport => (from(0, false), None),
        FactId::Phases => (from(1, false), from(3, false)),
        FactId::ExportKind | FactId::Applied | FactId::Approved | FactId::Installed | FactId::Today => (None, None),
    }
}

/// Whether it counts something: phases, days.
pub(crate) fn is_whole(fact: FactId) -> bool {
    matches!(fact.row().shape, FactShape::Date | FactShape::Quantity(Dimension::Count))
}

/// A value that people recognise. Decides only which of many examples is shown, never a verdict.
pub(crate) fn familiar(fact: FactId) -> i64 {
    match fact {
        FactId::NominalVoltage => 230, // IEC 60038, line to neutral
        FactId::NameplateTotal | FactId::ApprovedExport => 5000,
        FactId::Phases => 1,
        FactId::ExportKind | FactId::Applied | FactId::Approved | FactId::Installed | FactId::Today => 0,
    }
}
