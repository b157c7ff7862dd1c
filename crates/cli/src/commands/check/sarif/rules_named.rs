//! One sentence for the name of a finding.

use rules::practice;
use settings_model::ties::TIES;

/// What findings of this name are about; `None` for those of a file that cannot be read, whose
/// message says it all.
pub fn sentence(name: &str) -> Option<&'static str> {
    let of_practice = practice::named(name).map(|rule| rule.sentence);
    let of_tie = || TIES.iter().find(|tie| tie.name == name).map(|tie| tie.sentence);
    let own = || SENTENCES.iter().find(|(of, _)| *of == name).map(|(_, says)| *says);
    of_practice.or_else(of_tie).or_else(own)
}

/// Of the findings that compare a value with what is required.
const SENTENCES: [(&str, &str); 15] = [
    ("too-high", "a value lies above what is required"),
    ("too-low", "a value lies below what is required"),
    ("wrong-state", "a function is in a state that is not required, or an entry is not the one required"),
    ("curve-differs", "a curve has other points than required"),
    ("response-outside", "a response leaves what is allowed"),
    ("same-response", "a curve has other points than required, and the same response"),
    ("not-stated", "a required value is not stated, so nothing proves it"),
    ("evidence-missing", "a value is not known in a way that is accepted"),
    ("fact-not-stated", "what is required depends on a fact that is not stated"),
    ("counted-from-unstated", "a value is counted from another that is not stated"),
    ("display-too-coarse", "a display rounds too coarsely to show on which side of a limit the value lies"),
    ("meaning-of-time-not-shown", "which of a stage's times a value means is not known"),
    ("no-case", "what is required has cases, and none is for such a site"),
    ("profile-at-fault", "a profile cannot be used, so its sites were not judged"),
    ("unverified-figures", "figures that nobody compared with a licensed copy decided"),
];
