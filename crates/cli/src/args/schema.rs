//! The command line of `asleft schema`.

use clap::builder::PossibleValue;
use clap::{Args, ValueEnum};
use settings_model::files::Kind;

/// A kind of file or output.
#[derive(Clone, Copy, PartialEq, Eq)]
pub enum SchemaKind {
    /// A kind of file that people write.
    File(Kind),
    /// What the program writes.
    Output(SchemaOutput),
}

/// What the program writes.
#[derive(Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum SchemaOutput {
    /// What lies beside a signed profile
    ProfileSeal,
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
    /// What `behaves --format json` prints
    BehavesReport,
    /// What `behaves --fleet --format json` prints
    BehavesFleetReport,
    /// A line of what `behaves --fleet --counters` writes
    BehavesCounters,
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
    #[cfg(feature = "register")]
    RegisterListReport,
    /// What `register roll-up --format json` prints
    #[cfg(feature = "register")]
    RollUpReport,
    /// What `register verify --format json` prints
    #[cfg(feature = "register")]
    RegisterVerifyReport,
    /// What `due --format json` prints
    #[cfg(feature = "register")]
    DueReport,
}

impl ValueEnum for SchemaKind {
    fn value_variants<'a>() -> &'a [Self] {
        static ALL: std::sync::OnceLock<Vec<SchemaKind>> = std::sync::OnceLock::new();
        ALL.get_or_init(|| {
            let outputs = SchemaOutput::value_variants().iter().map(|output| Self::Output(*output));
            Kind::ALL.into_iter().map(Self::File).chain(outputs).collect()
        })
    }

    fn to_possible_value(&self) -> Option<PossibleValue> {
        match self {
            Self::File(kind) => Some(PossibleValue::new(kind.word()).help(kind.about())),
            Self::Output(output) => output.to_possible_value(),
        }
    }
}

/// `asleft schema`
#[derive(Args)]
pub struct Schema {
    /// The kind of file or output
    #[arg(value_enum)]
    pub kind: SchemaKind,
}
