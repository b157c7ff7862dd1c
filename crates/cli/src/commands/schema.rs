//! `asleft schema`: the shape of each kind of file and output.

use crate::Exit;
use crate::args::{Schema, SchemaKind};
use crate::render;
use crate::report::CheckReport;
use crate::report::affected::AffectedReport;
use crate::report::attest::{AttestCheckReport, AttestListReport};
use crate::report::capture::CaptureReport;
use crate::report::diff::DiffReport;
use crate::report::exercise::{FaultsReport, MarkReport};
use crate::report::identify::IdentifyReport;
use crate::report::lint::LintReport;
use crate::report::register::{DueReport, RegisterListReport, RegisterVerifyReport, RollUpReport};
use crate::report::revision::RevisionReport;
use crate::report::rise::RiseReport;
use crate::report::sheet::SheetReport;
use crate::report::test_sheet::TestSheetReport;
use crate::report::verify::VerifyReport;
use record::seal::ProfileSeal;
use settings_model::files::Kind;
use settings_model::schema::of_kind;
use std::io;
use views::report::curve::CurveReport;
use views::report::events::EventsReport;
use views::report::scenario::ScenarioReport;
use views::report::trip_map::TripMapReport;

/// Prints one schema.
pub fn run(args: &Schema) -> io::Result<Exit> {
    let schema = match args.kind {
        SchemaKind::Standard => of_kind(Kind::Standard),
        SchemaKind::Overlay => of_kind(Kind::Overlay),
        SchemaKind::Site => of_kind(Kind::Site),
        SchemaKind::LabelMap => of_kind(Kind::LabelMap),
        SchemaKind::ColumnMap => of_kind(Kind::ColumnMap),
        SchemaKind::Attestation => of_kind(Kind::Attestation),
        SchemaKind::Scenario => of_kind(Kind::Scenario),
        SchemaKind::ExerciseKey => of_kind(Kind::ExerciseKey),
        SchemaKind::ExerciseMarkReport => schemars::schema_for!(MarkReport).to_value(),
        SchemaKind::ExerciseFaultsReport => schemars::schema_for!(FaultsReport).to_value(),
        SchemaKind::ExportMap => of_kind(Kind::ExportMap),
        SchemaKind::RegisterImage => of_kind(Kind::RegisterImage),
        SchemaKind::ProfileSeal => schemars::schema_for!(ProfileSeal).to_value(),
        SchemaKind::VerifyReport => schemars::schema_for!(VerifyReport).to_value(),
        SchemaKind::RegisterListReport => schemars::schema_for!(RegisterListReport).to_value(),
        SchemaKind::RollUpReport => schemars::schema_for!(RollUpReport).to_value(),
        SchemaKind::RegisterVerifyReport => schemars::schema_for!(RegisterVerifyReport).to_value(),
        SchemaKind::DueReport => schemars::schema_for!(DueReport).to_value(),
        SchemaKind::Commissioning => of_kind(Kind::Commissioning),
        SchemaKind::CloseOutRecord => schemars::schema_for!(record::Envelope).to_value(),
        SchemaKind::TestSheetReport => schemars::schema_for!(TestSheetReport).to_value(),
        SchemaKind::AttestListReport => schemars::schema_for!(AttestListReport).to_value(),
        SchemaKind::AttestCheckReport => schemars::schema_for!(AttestCheckReport).to_value(),
        SchemaKind::CheckReport => schemars::schema_for!(CheckReport).to_value(),
        SchemaKind::CaptureReport => schemars::schema_for!(CaptureReport).to_value(),
        SchemaKind::SheetReport => schemars::schema_for!(SheetReport).to_value(),
        SchemaKind::IdentifyReport => schemars::schema_for!(IdentifyReport).to_value(),
        SchemaKind::TripMapReport => schemars::schema_for!(TripMapReport).to_value(),
        SchemaKind::CurveReport => schemars::schema_for!(CurveReport).to_value(),
        SchemaKind::AffectedReport => schemars::schema_for!(AffectedReport).to_value(),
        SchemaKind::LintReport => schemars::schema_for!(LintReport).to_value(),
        SchemaKind::RiseReport => schemars::schema_for!(RiseReport).to_value(),
        SchemaKind::RevisionReport => schemars::schema_for!(RevisionReport).to_value(),
        SchemaKind::ScenarioReport => schemars::schema_for!(ScenarioReport).to_value(),
        SchemaKind::EventsReport => schemars::schema_for!(EventsReport).to_value(),
        SchemaKind::DiffReport => schemars::schema_for!(DiffReport).to_value(),
    };
    let mut out = terminal::stdout();
    render::json(&mut out, &schema)?;
    Ok(Exit::Fine)
}
