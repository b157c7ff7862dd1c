//! `asleft schema`: the shape of each kind of file and output.

use crate::Exit;
use crate::args::{Schema, SchemaKind, SchemaOutput};
use crate::render;
use crate::report::CheckReport;
use crate::report::affected::AffectedReport;
use crate::report::attest::{AttestCheckReport, AttestListReport};
use crate::report::behaves::BehavesReport;
use crate::report::behaves_counters::CountersLine;
use crate::report::behaves_fleet::BehavesFleetReport;
use crate::report::capture::CaptureReport;
use crate::report::diff::DiffReport;
use crate::report::exercise::{FaultsReport, MarkReport};
use crate::report::identify::IdentifyReport;
use crate::report::lint::LintReport;
#[cfg(feature = "register")]
use crate::report::register::{DueReport, RegisterListReport, RegisterVerifyReport, RollUpReport};
use crate::report::revision::RevisionReport;
use crate::report::rise::RiseReport;
use crate::report::sheet::SheetReport;
use crate::report::test_sheet::TestSheetReport;
use crate::report::verify::VerifyReport;
use record::seal::ProfileSeal;
use settings_model::schema::of_kind;
use std::io;
use views::report::curve::CurveReport;
use views::report::events::EventsReport;
use views::report::scenario::ScenarioReport;
use views::report::trip_map::TripMapReport;

/// Prints one schema.
pub fn run(args: &Schema) -> io::Result<Exit> {
    let schema = match args.kind {
        SchemaKind::File(kind) => of_kind(kind),
        SchemaKind::Output(output) => of_output(output),
    };
    let mut out = terminal::stdout();
    render::json(&mut out, &schema)?;
    Ok(Exit::Fine)
}

fn of_output(output: SchemaOutput) -> serde_json::Value {
    match output {
        SchemaOutput::ExerciseMarkReport => schemars::schema_for!(MarkReport).to_value(),
        SchemaOutput::ExerciseFaultsReport => schemars::schema_for!(FaultsReport).to_value(),
        SchemaOutput::ProfileSeal => schemars::schema_for!(ProfileSeal).to_value(),
        SchemaOutput::VerifyReport => schemars::schema_for!(VerifyReport).to_value(),
        #[cfg(feature = "register")]
        SchemaOutput::RegisterListReport => schemars::schema_for!(RegisterListReport).to_value(),
        #[cfg(feature = "register")]
        SchemaOutput::RollUpReport => schemars::schema_for!(RollUpReport).to_value(),
        #[cfg(feature = "register")]
        SchemaOutput::RegisterVerifyReport => schemars::schema_for!(RegisterVerifyReport).to_value(),
        #[cfg(feature = "register")]
        SchemaOutput::DueReport => schemars::schema_for!(DueReport).to_value(),
        SchemaOutput::CloseOutRecord => schemars::schema_for!(record::Envelope).to_value(),
        SchemaOutput::TestSheetReport => schemars::schema_for!(TestSheetReport).to_value(),
        SchemaOutput::AttestListReport => schemars::schema_for!(AttestListReport).to_value(),
        SchemaOutput::AttestCheckReport => schemars::schema_for!(AttestCheckReport).to_value(),
        SchemaOutput::CheckReport => schemars::schema_for!(CheckReport).to_value(),
        SchemaOutput::CaptureReport => schemars::schema_for!(CaptureReport).to_value(),
        SchemaOutput::SheetReport => schemars::schema_for!(SheetReport).to_value(),
        SchemaOutput::IdentifyReport => schemars::schema_for!(IdentifyReport).to_value(),
        SchemaOutput::TripMapReport => schemars::schema_for!(TripMapReport).to_value(),
        SchemaOutput::CurveReport => schemars::schema_for!(CurveReport).to_value(),
        SchemaOutput::BehavesReport => schemars::schema_for!(BehavesReport).to_value(),
        SchemaOutput::BehavesFleetReport => schemars::schema_for!(BehavesFleetReport).to_value(),
        SchemaOutput::BehavesCounters => schemars::schema_for!(CountersLine).to_value(),
        SchemaOutput::AffectedReport => schemars::schema_for!(AffectedReport).to_value(),
        SchemaOutput::LintReport => schemars::schema_for!(LintReport).to_value(),
        SchemaOutput::RiseReport => schemars::schema_for!(RiseReport).to_value(),
        SchemaOutput::RevisionReport => schemars::schema_for!(RevisionReport).to_value(),
        SchemaOutput::ScenarioReport => schemars::schema_for!(ScenarioReport).to_value(),
        SchemaOutput::EventsReport => schemars::schema_for!(EventsReport).to_value(),
        SchemaOutput::DiffReport => schemars::schema_for!(DiffReport).to_value(),
    }
}
