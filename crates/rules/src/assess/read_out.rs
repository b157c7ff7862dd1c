//! What a reading of a device's registers has to say beside its values: what it left open, limits of power that were in
//! force, and registers that the device does not implement, for which the selected region stands.

use super::{DeviceResult, Note, RegionStands};
use settings_model::catalogue::SettingId;
use settings_model::files::Holding;
use settings_model::finding::Outcome;

/// What may limit active power by command, where it is asked for: a limit that is in force is then no surprise.
const COMMANDED: [SettingId; 4] = [
    SettingId::of("remote-control", "state"),
    SettingId::of("demand-response", "state"),
    SettingId::of("export-limit", "state"),
    SettingId::of("generation-limit", "state"),
];

/// What the program that read the device could not tell: a selected region does not stand for that.
pub(super) fn left_open<'h>(device: &'h str, left: &'h Holding<'_>) -> impl Iterator<Item = Note> + 'h {
    let open = left.captured.iter().flat_map(|captured| &captured.left_open);
    open.enumerate().map(move |(n, says)| Note {
        outcome: Outcome::NotProven,
        name: "reading-left-open",
        path: path(device, "left-open", n),
        headline: format!("{device}: left open by the reading: {says}"),
        hint: Some("clear it up on the device and read it again; a value typed in beside does not close it".to_owned()),
        lines: None,
    })
}

/// Settings that the selected region stands for, and that the device could have told.
pub(super) fn not_implemented(left: &Holding<'_>, judged: &DeviceResult<'_>) -> Vec<SettingId> {
    let named = left.captured.iter().flat_map(|captured| &captured.not_implemented).filter_map(|name| SettingId::named(name));
    let stands_for = |setting: &SettingId| {
        let resolved = judged.counted.requirement.get(*setting);
        judged.region == RegionStands::Yes
            && judged.settings.get(*setting).is_none()
            && !judged.counted.requirement.keeps_idle(*setting)
            && resolved.is_some_and(|resolved| resolved.covered_by_region && !resolved.entry.demands_nothing() && !resolved.entry.is_gap())
    };
    let mut settings: Vec<SettingId> = named.filter(stands_for).collect();
    settings.sort_unstable();
    settings.dedup();
    settings
}

/// Limits of power that were in force, what else acted, and that the region stands for registers.
pub(super) fn beside(left: &Holding<'_>, judged: &DeviceResult<'_>) -> Vec<Note> {
    let Some(captured) = &left.captured else { return Vec::new() };
    let device = judged.name;
    let mut notes: Vec<Note> = captured.limited.iter().enumerate().map(|(n, says)| limited(judged, n, says)).collect();
    notes.extend(captured.acts_beside.iter().enumerate().map(|(n, says)| Note {
        outcome: Outcome::Remark,
        name: "acts-beside",
        path: path(device, "acts-beside", n),
        headline: format!("{device}: not judged: {says}"),
        hint: Some("no requirement is compared with it: see that it is meant".to_owned()),
        lines: None,
    }));
    if !judged.not_implemented.is_empty() {
        let names: Vec<String> = judged.not_implemented.iter().map(ToString::to_string).collect();
        let (settings, them) = if names.len() == 1 { ("setting", "it") } else { ("settings", "them") };
        notes.push(Note {
            outcome: Outcome::Remark,
            name: "region-stands-for-registers",
            path: ["devices", device, "as-left", "captured", "not-implemented"].map(str::to_owned).to_vec(),
            headline: format!(
                "{device}: the selected region stands for {} {settings} whose registers the device does not implement: {}",
                names.len(),
                names.join(", ")
            ),
            hint: Some(format!("read {them} on the display and state {them}; the reading shows nothing of {them}")),
            lines: None,
        });
    }
    notes
}

/// The device was left limited. It protects the network as it did, but it was not left as anybody asked: who set the
/// limit, and whether it stays, the reading does not tell. So nothing is proven, but for where limits by command are asked
/// for: there it may be one of them.
fn limited(judged: &DeviceResult<'_>, n: usize, says: &str) -> Note {
    let device = judged.name;
    let asked = COMMANDED.into_iter().filter(|state| judged.settings.is_enabled(*state));
    let asked: Vec<String> = asked.map(|state| state.function().title.to_lowercase()).collect();
    let (outcome, hint) = match &asked[..] {
        [] => (
            Outcome::NotProven,
            "nothing that this site states asks for it: find out who set it. If the network operator did, state what asks for it \
             (`generation-limit`, `remote-control`); if nobody did, lift it, and read the device again"
                .to_owned(),
        ),
        _ => (
            Outcome::Remark,
            format!("see that it comes from what is asked for: {}. If it does not, lift it, and read the device again", asked.join(", ")),
        ),
    };
    Note {
        outcome,
        name: "left-limited",
        path: path(device, "limited", n),
        headline: format!("{device}: left limited: {says}"),
        hint: Some(hint),
        lines: None,
    }
}

fn path(device: &str, key: &str, n: usize) -> Vec<String> {
    ["devices", device, "as-left", "captured", key].map(str::to_owned).into_iter().chain([n.to_string()]).collect()
}
