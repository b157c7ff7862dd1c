//! The answers as a file.

use crate::args::FaultCount;
use rules::exercise::drawing::{Drawn, Touched};
use rules::exercise::text::scalar;
use settings_model::files::training::NOTICE;
use std::fmt::Write as _;

/// What stands at the head of a key.
pub struct Head<'h> {
    /// The exercise's name.
    pub exercise: &'h str,
    /// What was drawn by.
    pub seed: u64,
    /// For which day.
    pub as_of: jiff::civil::Date,
    /// What was named on the command line.
    pub made_from: &'h str,
    /// How many faults a site has.
    pub faults: FaultCount,
    /// By which profiles the sites are judged: key and content.
    pub pinned: &'h [(String, String)],
}

/// The file of a key; each student comes with the name and the text of the file that is given out.
pub fn text(head: &Head<'_>, students: &[(&Drawn, &str, &str)]) -> String {
    let mut text = format!("# {NOTICE}. The answers of an exercise: keep them from the students.\n");
    let Head { exercise, seed, as_of, made_from, faults, pinned } = head;
    let _ = writeln!(
        text,
        "kind: exercise-key\nexercise: {}\nseed: {seed}\nas-of: {as_of}\nmade-from: {}\nfewest: {}\nmost: {}\npinned:",
        scalar(exercise),
        scalar(made_from),
        faults.fewest,
        faults.most
    );
    for (profile, sha256) in *pinned {
        let _ = writeln!(text, "  - {{ profile: {profile}, sha256: {} }}", scalar(sha256));
    }
    text.push_str("students:\n");
    for (drawn, file, issued) in students {
        let _ = writeln!(text, "  {}:\n    file: {}\n    faults:", scalar(&drawn.student), scalar(file));
        for fault in &drawn.faults {
            let _ = writeln!(text, "      - fault: {}\n        settings:", fault.kind.name);
            fault.touched.iter().for_each(|touched| write_touched(&mut text, touched));
        }
        text.push_str("    issued: |\n");
        for line in issued.lines() {
            let _ = writeln!(text, "{}{line}", if line.is_empty() { "" } else { "      " });
        }
    }
    text
}

fn write_touched(text: &mut String, Touched { spot, found, right }: &Touched) {
    let _ = writeln!(text, "          - device: {}\n            setting: {}", scalar(&spot.device), spot.what);
    for (key, value) in [("found", found), ("right", right)] {
        if let Some(value) = value {
            let _ = writeln!(text, "            {key}: {}", scalar(value));
        }
    }
}
