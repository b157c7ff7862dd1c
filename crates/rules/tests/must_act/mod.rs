//! Limits on power: a device that holds one and does not act by it limits nothing.

use rules::assess::DeviceResult;
use settings_model::catalogue::SettingId;
use settings_model::claim::Limit;

/// Every limit on what leaves a device or its site, and on what it is when nobody can be reached.
const LIMITS: [(&str, &str); 6] = [
    ("export-limit", "site-total"),
    ("export-limit", "per-phase"),
    ("export-limit", "hard-limit"),
    ("remote-control", "fallback"),
    ("generation-limit", "soft"),
    ("generation-limit", "hard"),
];

/// The word of a state that is off.
pub const OFF: u8 = 1;

/// The limits that are asked of a device, but where a layer says in so many words that the function may be off.
pub fn asked_of(device: &DeviceResult<'_>) -> Vec<SettingId> {
    let requirement = &device.counted.requirement;
    let is_asked = |limit: &SettingId| {
        let asked = requirement.get(*limit).map(|resolved| &resolved.entry);
        asked.is_some_and(|entry| !entry.demands_nothing() && !entry.is_gap())
    };
    let may_be_off = |limit: &SettingId| {
        let state = limit.state().unwrap();
        let admits = |limit: &Limit| matches!(limit, Limit::OneOf(words) if words.has(OFF));
        let is_stated = !device.book.rulebook.stated(state).is_empty();
        is_stated && requirement.get(state).is_some_and(|resolved| resolved.entry.comply.iter().all(|claim| admits(&claim.limit)))
    };
    let named = LIMITS.into_iter().map(|(function, key)| SettingId::of(function, key));
    named.filter(is_asked).filter(|limit| !may_be_off(limit)).collect()
}

/// A site with a paper that limits its first device, which no layer may speak of.
pub fn with_paper(text: &str) -> String {
    format!(
        "{}
site-specific-approvals:
  - setting: generation-limit/soft
    comply: at most 4 kVA
    exception: {{ reference: P-2, reason: weak feeder }}
    approval: {{ reference: P-1, by: network operator, role: engineer, granted: 2026-01-05 }}
",
        text.trim_end()
    )
}
