//! Readings that cannot be: of a region, a setting or a word that the profile does not have, or of one
//! value twice.

use super::comparing::{Entry, entries, verbs_read};
use super::figures::{Figure, Stating, figures};
use super::said::{Says, Verb};
use crate::catalogue::SettingId;
use crate::files::{AttestationFile, Conditions};
use crate::finding::{Finding, nearest};
use crate::located::At;
use crate::slip::one_of;
use crate::source::Place;

/// Everything that an attestation says of what the profile does not state.
#[must_use]
pub fn faults(file: &AttestationFile, profile: &dyn Stating, title: &str) -> Vec<Finding> {
    let (figures, entries) = (figures(profile), entries(file));
    let keys: Vec<&str> = profile.holders().into_iter().map(|(key, _)| key).filter(|key| !key.is_empty()).collect();
    let named = file.confirmed.iter().flat_map(|confirmed| &confirmed.regions);
    let mut findings: Vec<Finding> = named.filter_map(|region| no_such_region(region, &keys, title)).collect();
    let is_known = |entry: &&Entry<'_>| entry.regions.iter().all(|region| keys.contains(&region.as_str()));
    for entry in entries.iter().filter(is_known) {
        let before = findings.len();
        findings.extend(not_stated(entry, &figures, profile, title));
        if findings.len() == before {
            findings.extend(differs_by_region(entry, &figures, profile));
        }
    }
    findings.extend(read_twice(&entries, &figures));
    findings.sort_by_key(|finding| finding.place);
    findings
}

fn no_such_region(region: &At<String>, keys: &[&str], title: &str) -> Option<Finding> {
    if keys.contains(&region.as_str()) {
        return None;
    }
    if keys.is_empty() {
        let finding = Finding::unusable("region", region.place, format!("{title} says the same in every region"));
        return Some(finding.hint("leave `regions` out"));
    }
    let finding = Finding::unusable("region", region.place, format!("{title} has no region `{}`", region.value));
    Some(finding.hint(match nearest(region, keys.iter().copied()) {
        Some(meant) => format!("did you mean `{meant}`?"),
        None => format!("known: {}", keys.join(", ")),
    }))
}

/// A setting, a case or a word that the profile does not have.
fn not_stated(entry: &Entry<'_>, figures: &[Figure<'_>], profile: &dyn Stating, title: &str) -> Vec<Finding> {
    let finding = |place, says: String| Finding::unusable("not-stated", place, says);
    let of_setting: Vec<&Figure<'_>> = figures.iter().filter(|f| (f.kind, f.setting) == (entry.kind, entry.setting)).collect();
    let named: Vec<&str> = entry.regions.iter().map(|region| region.as_str()).collect();
    let place = verbs_read(entry).next().map_or(entry.place, |(_, said)| said.place());
    if of_setting.is_empty() {
        let says = format!("{title} states no value of {}", entry.setting);
        let help = match has_gap(entry, profile) {
            true => "it is a gap there: write the value into a profile of your own, with this copy as its source",
            false => "leave it out, or correct the setting; `asleft attest new PROFILE` lists what can be read",
        };
        return vec![finding(place, says).hint(help)];
    }
    // region by region: a figure may speak in one of those named, and not in the other
    let regions: Vec<Option<&str>> = if named.is_empty() { vec![None] } else { named.into_iter().map(Some).collect() };
    let mut findings: Vec<Finding> = Vec::new();
    for region in regions {
        let there: Vec<&&Figure<'_>> = of_setting.iter().filter(|f| region.is_none_or(|region| f.regions.contains(&region))).collect();
        let own: Vec<&&Figure<'_>> = there.iter().filter(|f| super::figures::same_sites(entry.when, f.when)).copied().collect();
        let where_ = region.map(|region| format!(" in `{region}`")).unwrap_or_default();
        if there.is_empty() {
            let says = format!("{title} states no value of {}{where_}", entry.setting);
            findings.push(finding(place, says).hint("leave the region out, or correct it"));
        } else if own.is_empty() {
            let says = format!("{title} states {} for other sites than these{where_}", entry.setting);
            let cases: Vec<String> = there.iter().map(|f| f.when.map_or_else(|| "no `when`".to_owned(), when)).collect();
            let mut cases: Vec<String> = cases.into_iter().map(|case| format!("write {case}")).collect();
            cases.dedup();
            findings.push(finding(place, says).hint(one_of(&cases)));
        } else {
            let stated: Vec<String> = own.iter().map(|f| format!("`{}`", f.verb.word())).collect();
            let beside = verbs_read(entry).filter(|(verb, _)| own.iter().all(|f| f.verb != *verb));
            let beside = beside.map(|(verb, said)| {
                let says = format!("{title} states no `{}` of {}{where_}", verb.word(), entry.setting);
                finding(said.place(), says).hint(format!("it states {}: write what the copy says of that", one_of(&stated)))
            });
            findings.extend(beside);
        }
    }
    findings.dedup_by(|later, first| later.place == first.place);
    findings
}

/// `when: { phases: 3 }`, as a file would write it.
fn when(conditions: &Conditions) -> String {
    let all: Vec<String> = conditions.0.0.iter().map(|(fact, test)| format!("{}: {}", fact.value, test.value)).collect();
    format!("`when: {{ {} }}`", all.join(", "))
}

fn has_gap(entry: &Entry<'_>, profile: &dyn Stating) -> bool {
    let holders = profile.holders().into_iter().flat_map(|(_, holders)| holders);
    let mut statements = holders.flat_map(|holder| &holder.on(entry.kind).0.0).flat_map(|(function, parameters)| {
        parameters.0.iter().filter(move |(parameter, _)| SettingId::find(function, parameter) == Some(entry.setting))
    });
    statements.any(|(_, said)| said.gap.is_some() || said.cases.iter().flatten().any(|case| case.gap.is_some()))
}

/// A value that is read for every region, where the profile has several.
fn differs_by_region(entry: &Entry<'_>, figures: &[Figure<'_>], profile: &dyn Stating) -> Option<Finding> {
    if !entry.regions.is_empty() {
        return None;
    }
    let (verb, said) = verbs_read(entry).find(|(verb, _)| {
        let own: Vec<&Figure<'_>> = figures.iter().filter(|f| f.verb == *verb && entry.is_of(f)).collect();
        own.iter().any(|f| !f.said.agrees(own[0].said, entry.setting, *verb, profile.nominal()))
    })?;
    let finding = Finding::unusable("region-not-named", said.place(), format!("`{}` of {} differs by region", verb.word(), entry.setting));
    Some(finding.hint("say under `regions` for which ones it was read, with a group for each"))
}

/// One value, read twice for one region in one file.
fn read_twice(entries: &[Entry<'_>], figures: &[Figure<'_>]) -> Vec<Finding> {
    let mut findings = Vec::new();
    for (n, entry) in entries.iter().enumerate() {
        let earlier = entries[..n].iter().find_map(|earlier| first_place_of_both(earlier, entry, figures));
        if let Some((verb, first, again)) = earlier {
            let says = format!("`{}` of {} is read twice", verb.word(), entry.setting);
            let finding = Finding::unusable("read-twice", again, says).because(first, "here first");
            findings.push(finding.hint("keep the reading that is right"));
        }
    }
    findings
}

fn first_place_of_both(one: &Entry<'_>, other: &Entry<'_>, figures: &[Figure<'_>]) -> Option<(Verb, Place, Place)> {
    let of_both = figures.iter().filter(|figure| one.is_of(figure) && other.is_of(figure));
    let of_both = of_both.filter(|figure| figure.regions.is_empty() || figure.regions.iter().any(|r| speaks(one, r) && speaks(other, r)));
    let mut both = of_both.filter_map(|figure| {
        let (first, again) = (one.reading.said(figure.verb)?, other.reading.said(figure.verb)?);
        Some((figure.verb, first.place(), again.place()))
    });
    both.next()
}

fn speaks(entry: &Entry<'_>, region: &str) -> bool {
    entry.regions.is_empty() || entry.regions.iter().any(|named| named.as_str() == region)
}
