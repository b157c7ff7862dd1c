//! The command line of `asleft exercise`.

use super::{Format, Profiles, Under};
use clap::{Args, Subcommand, ValueEnum};
use std::path::PathBuf;

/// `asleft exercise`
#[derive(Args)]
pub struct Exercise {
    /// What to do.
    #[command(subcommand)]
    pub about: ExerciseCommand,
}

/// What to do about an exercise.
#[derive(Subcommand)]
pub enum ExerciseCommand {
    /// Faulty sites for a class, one for each student, and the answers in a file of their own
    New(ExerciseNew),
    /// What students handed in, marked by the answers
    Mark(ExerciseMark),
    /// The faults that may be drawn: the names for a diagnosis, and how each is told
    Faults(ExerciseFaults),
}

/// `asleft exercise new`
#[derive(Args)]
pub struct ExerciseNew {
    /// A standard's region (`as-nzs-4777.2/2020-amd2/australia-a`), a network's version (`quillbrook/2.0.0`), or a
    /// complying site's file as the model
    #[arg(value_name = "REQUIREMENTS|SITE")]
    pub of: String,
    /// A number to draw by: the same number, day and profiles make the same files. Without it one is drawn
    #[arg(long, value_name = "N")]
    pub seed: Option<u64>,
    /// How many students, or a file with a name a line
    #[arg(long, value_name = "N|NAMES.list")]
    pub students: String,
    /// How many faults each site has: a number, or the fewest and the most
    #[arg(long, value_name = "N..M", default_value = "1..3", value_parser = faults)]
    pub faults: FaultCount,
    /// The folder for the students' files; new or empty
    #[arg(long, value_name = "FOLDER")]
    pub out: PathBuf,
    /// The file for the answers; new, and not within the students' folder
    #[arg(long, value_name = "KEY.yaml")]
    pub key: PathBuf,
    /// Where requirements come from.
    #[command(flatten)]
    pub under: Under,
}

/// `asleft exercise mark`
#[derive(Args)]
pub struct ExerciseMark {
    /// The answers that `exercise new` wrote
    #[arg(value_name = "KEY.yaml")]
    pub key: PathBuf,
    /// What students handed in: files, or folders of them
    #[arg(value_name = "FOLDER|FILES", required = true)]
    pub handed_in: Vec<PathBuf>,
    #[command(flatten)]
    pub profiles: Profiles,
    /// The form of the answer
    #[arg(long, value_enum, default_value_t = MarkFormat::Text)]
    pub format: MarkFormat,
}

/// `asleft exercise faults`
#[derive(Args)]
pub struct ExerciseFaults {
    /// The form of the answer
    #[arg(long, value_enum, default_value_t = Format::Text)]
    pub format: Format,
}

/// The form of marks.
#[derive(Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum MarkFormat {
    /// For people
    Text,
    /// For a spreadsheet: a row for each fault of each student
    Csv,
    /// For programs; `asleft schema exercise-mark-report` describes it
    Json,
}

/// How many faults a site has.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct FaultCount {
    /// The fewest.
    pub fewest: u8,
    /// The most.
    pub most: u8,
}

/// More would leave nothing right to compare with.
const MOST_FAULTS: u8 = 6;

/// `2`, or `1..3`.
fn faults(text: &str) -> Result<FaultCount, String> {
    let number = |text: &str| text.trim().parse::<u8>().ok().filter(|n| (1..=MOST_FAULTS).contains(n));
    let (fewest, most) = text.split_once("..").map_or((number(text), number(text)), |(low, high)| (number(low), number(high)));
    match (fewest, most) {
        (Some(fewest), Some(most)) if fewest <= most => Ok(FaultCount { fewest, most }),
        _ => Err(format!("write `2` or `1..3`, from 1 to {MOST_FAULTS}")),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn how_many_faults() {
        assert_eq!(faults("2"), Ok(FaultCount { fewest: 2, most: 2 }));
        assert_eq!(faults("1..3"), Ok(FaultCount { fewest: 1, most: 3 }));
        for wrong in ["0", "7", "3..1", "..", "1..", "-1", "1...3", "two", ""] {
            assert!(faults(wrong).is_err(), "{wrong}");
        }
    }
}
