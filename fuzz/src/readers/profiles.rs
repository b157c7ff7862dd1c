//! What networks, standards and makers of devices ask: read, and put to use among the shipped ones.

use super::{refused, text, with_page};
use cli::fuzzing;
use settings_model::files::{Kind, OverlayFile, ScenarioFile, StandardFile};
use settings_model::library::Profile;
use settings_model::reader;
use settings_model::source::SourceId;

/// A profile, read and then looked at as `lint` does.
pub fn of_kind(kind: Kind, data: &[u8]) {
    let Some((text, sources)) = text(data) else { return };
    let root = match reader::read(SourceId(0), text, kind) {
        Ok(root) => root,
        Err(findings) => return refused(&findings, &sources),
    };
    let key = match kind {
        Kind::Standard => {
            reader::typed::<StandardFile>(&root).map(|file| format!("standards/{}/{}", file.standard.value, file.edition.key()))
        }
        Kind::Overlay => reader::typed::<OverlayFile>(&root).map(|file| format!("overlays/{}/{}", file.network.value, file.version.value)),
        _ => Ok("labels/fuzzed/fuzzed".to_owned()),
    };
    let key = match key {
        Ok(key) => key,
        Err(findings) => return refused(&findings, &sources),
    };
    let mut assessor = fuzzing::assessor();
    assessor.library.add(profile(&key, text));
    drop(rules::lint::lint(&[key], &mut assessor));
}

/// A scenario, read and then played.
pub fn scenario(data: &[u8]) {
    let Some((text, sources)) = text(data) else { return };
    match reader::read(SourceId(0), text, Kind::Scenario).and_then(|root| reader::typed::<ScenarioFile>(&root).map(drop)) {
        Ok(()) => with_page(|page| page.played(profile("scenarios/fuzzed", text))),
        Err(findings) => refused(&findings, &sources),
    }
}

fn profile(key: &str, text: &str) -> Profile {
    Profile { path: format!("{key}.yaml"), name: "fuzzed".to_owned(), text: text.into(), shipped: false }
}
