//! Which scenario a word names: one of those at hand, or a file.

use crate::commands::operand::OperandError;
use replay::scenario::NamedScenario;
use rules::assess::Assessor;
use settings_model::files::Kind;
use settings_model::finding::nearest;
use settings_model::library::Profile;
use settings_model::reader;
use std::path::Path;

/// The scenario of this name or in this file.
pub fn named(word: &str, assessor: &mut Assessor) -> Result<NamedScenario, OperandError> {
    let path = Path::new(word);
    if path.is_file() || word == "-" {
        let text = crate::files::text(path)?;
        let source = assessor.sources.add(word, text.as_str());
        let profile =
            Profile { path: "scenarios/named.yaml".to_owned(), name: word.to_owned(), text: text.as_str().into(), shipped: false };
        assessor.library.admit(&profile, source)?;
        let root = reader::read(source, &text, Kind::Scenario)?;
        return Ok(NamedScenario { name: word.to_owned(), file: reader::typed(&root)? });
    }
    let name = word.trim_start_matches("scenarios/").trim_end_matches(".yaml");
    NamedScenario::at_hand(name, assessor)?.ok_or_else(|| unknown(word, assessor))
}

fn unknown(word: &str, assessor: &Assessor) -> OperandError {
    let known = assessor.library.scenarios();
    let hint = match nearest(word, known.iter().map(String::as_str)) {
        Some(meant) => format!("did you mean `{meant}`?"),
        None => "`asleft list scenarios` names those at hand; another needs the path of its file".to_owned(),
    };
    OperandError::Words(format!("no scenario `{word}`, and no file of that name; {hint}"))
}
