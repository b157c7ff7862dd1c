//! Which scenario a word names: one of those at hand, or a file.

use super::grounds::Required;
use crate::commands::operand::Fault;
use rules::assess::Assessor;
use settings_model::files::{Kind, ScenarioFile};
use settings_model::finding::{Finding, nearest};
use settings_model::reader;
use std::path::Path;

/// A scenario, and its name.
pub struct Named {
    /// Its name among those at hand, or its file.
    pub name: String,
    /// What it says.
    pub file: ScenarioFile,
}

/// The scenario of this name or in this file.
pub fn named(word: &str, assessor: &mut Assessor) -> Result<Named, Fault> {
    let path = Path::new(word);
    let (name, shown, text) = if path.is_file() || word == "-" {
        (word.to_owned(), word.to_owned(), crate::files::text(path)?)
    } else {
        let key = word.trim_start_matches("scenarios/").trim_end_matches(".yaml");
        let profile = assessor.library.profile(&format!("scenarios/{key}")).ok_or_else(|| unknown(word, assessor))?;
        let source = assessor.sources.add(profile.name.as_str(), profile.text.clone());
        assessor.library.admit(profile, source)?;
        (key.to_owned(), profile.name.clone(), profile.text.to_string())
    };
    let source = assessor.sources.add(shown, text.as_str());
    let root = reader::read(source, &text, Kind::Scenario)?;
    Ok(Named { name, file: reader::typed(&root)? })
}

fn unknown(word: &str, assessor: &Assessor) -> Fault {
    let known = assessor.library.scenarios();
    let hint = match nearest(word, known.iter().map(String::as_str)) {
        Some(meant) => format!("did you mean `{meant}`?"),
        None => "`asleft list scenarios` names those at hand; another needs the path of its file".to_owned(),
    };
    Fault::Words(format!("no scenario `{word}`, and no file of that name; {hint}"))
}

impl Named {
    /// Whether it is meant for the standard that a device stands under.
    pub fn fits(&self, required: &Required<'_>) -> Result<(), Fault> {
        let Some(standard) = required
            .standard()
            .filter(|standard| !self.file.standards.is_empty() && self.file.standards.iter().all(|meant| meant.value != *standard))
        else {
            return Ok(());
        };
        let meant: Vec<&str> = self.file.standards.iter().map(|standard| standard.value.as_str()).collect();
        let says = format!("it shows figures of {}, and {standard} is asked here", meant.join(", "));
        let finding = Finding::unusable("other-standard", self.file.standards[0].place, says);
        Err(vec![finding.hint("choose another scenario (`asleft list scenarios`), or leave `standards` out of a copy of this one")].into())
    }
}
