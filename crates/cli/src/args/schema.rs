//! The command line of `asleft schema`.

use clap::{Args, ValueEnum};

/// A kind of file or output.
#[derive(Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum SchemaKind {
    /// A base standard, one edition
    Standard,
    /// A network operator's requirements, one version
    Overlay,
    /// One site and what its devices hold
    Site,
    /// What the display of a family of devices says
    LabelMap,
    /// What an office calls the columns of its sheets
    ColumnMap,
    /// What an office read in its licensed copy
    Attestation,
    /// What happens to a device in a lesson
    Scenario,
    /// The answers of an exercise
    ExerciseKey,
    /// In what columns an operator wants to be told of sites
    ExportMap,
    /// Registers of a device, as `capture --raw` keeps them
    RegisterImage,
    /// What lies beside a signed profile
    ProfileSeal,
    /// What is known of the work at a site
    Commissioning,
    /// The record that `close-out` writes
    CloseOutRecord,
    /// What `test-sheet --format json` prints
    TestSheetReport,
    /// What `check --format json` prints
    CheckReport,
    /// What `capture --format json` and `decode --format json` print
    CaptureReport,
    /// What `sheet --format json` prints
    SheetReport,
    /// What `identify --format json` prints
    IdentifyReport,
    /// What `diff --format json` prints
    DiffReport,
    /// What `curve --format json` prints
    CurveReport,
    /// What `rise --format json` prints
    RiseReport,
    /// What `events --format json` prints
    EventsReport,
    /// What `scenario --format json` prints
    ScenarioReport,
    /// What `trip-map --format json` prints
    TripMapReport,
    /// What `affected --format json` prints
    AffectedReport,
    /// What `lint --format json` prints
    LintReport,
    /// What `revision-check --format json` prints
    RevisionReport,
    /// What `attest list --format json` prints
    AttestListReport,
    /// What `attest check --format json` prints
    AttestCheckReport,
    /// What `exercise mark --format json` prints
    ExerciseMarkReport,
    /// What `exercise faults --format json` prints
    ExerciseFaultsReport,
    /// What `verify --format json` prints
    VerifyReport,
    /// What `register list --format json` prints
    RegisterListReport,
    /// What `register roll-up --format json` prints
    RollUpReport,
    /// What `register verify --format json` prints
    RegisterVerifyReport,
    /// What `due --format json` prints
    DueReport,
}

/// `asleft schema`
#[derive(Args)]
pub struct Schema {
    /// The kind of file or output
    #[arg(value_enum)]
    pub kind: SchemaKind,
}
