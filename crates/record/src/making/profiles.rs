//! Every profile that had a part in a verdict, by content.

use crate::parts::Pin;
use rules::assess::{Assessment, Assessor};

/// Whether a profile is a layer of requirements, and not what is said beside them.
pub(super) fn is_layer(profile: &str) -> bool {
    profile.starts_with("standards/") || profile.starts_with("overlays/")
}

/// The layers, lowest first; then what offices read of them, and the label maps of displays.
pub(super) fn of(assessment: &Assessment<'_>, assessor: &Assessor) -> Vec<Pin> {
    let mut keys = assessment.layers();
    let attestations = assessor.library.attestations();
    let read: Vec<String> = keys
        .iter()
        .flat_map(|key| attestations.iter().filter(move |path| path.starts_with(&format!("attestations/{key}/"))))
        .map(|path| path.trim_end_matches(".yaml").to_owned())
        .collect();
    let maps = assessment.devices.iter().filter_map(|device| device.labels.as_ref());
    let maps = maps.filter_map(|map| {
        let name = &assessor.sources.get(map.source)?.name;
        let profile = assessor.library.profiles().find(|profile| profile.name == *name)?;
        Some(profile.path.trim_end_matches(".yaml").to_owned())
    });
    let beside: Vec<String> = read.into_iter().chain(maps).collect();
    beside.into_iter().for_each(|key| add(&mut keys, key));
    keys.into_iter().filter_map(|key| Some(Pin { sha256: assessor.library.profile(&key)?.sha256(), profile: key })).collect()
}

fn add(keys: &mut Vec<String>, key: String) {
    if !keys.contains(&key) {
        keys.push(key);
    }
}
