//! A site and what it came to: what every form of the answer is made of.

use super::{Known, LayerReport};
use rules::assess::Reservations;
use rules::provenance::Judgement;
use settings_model::finding::Finding;
use settings_model::source::SourceId;

/// A site and what it came to.
pub struct Judged {
    /// The site's own name.
    pub id: Option<String>,
    /// That it was made for a lesson.
    pub training: Option<&'static str>,
    /// The file.
    pub file: String,
    /// The line, where a file holds one site a line.
    pub line: Option<usize>,
    /// What it came to, and the figures that it rests on.
    pub judgement: Judgement,
    /// How the values of its devices are known.
    pub known_by: Known,
    /// What it stands under, in words.
    pub under: String,
    /// The layers it stands under.
    pub layers: Vec<LayerReport>,
    /// What was not checked.
    pub not_checked: Vec<String>,
    /// What it states and no requirement judged.
    pub not_judged: Vec<String>,
    /// What its headline adds, where it complies.
    pub reservations: Reservations,
    /// Whether profiles that it stands under cannot be used: the findings are then theirs.
    pub is_stopped_by_profile: bool,
    /// The findings, gravest first.
    pub findings: Vec<Finding>,
    /// The company, branch and crew that answer for it; empty where nobody is named.
    pub answerable: [String; 3],
    /// The text that the findings point into; `None` for a line of which nothing is to be said.
    pub text: Option<SourceId>,
}

impl Judged {
    /// The one headline.
    pub fn headline(&self) -> String {
        self.reservations.add_to(self.judgement.headline(), self.judgement.verdict)
    }
}
