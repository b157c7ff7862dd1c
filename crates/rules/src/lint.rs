//! Do requirement files make sense? What each file says by itself, what its layers come to together,
//! and how a network's versions follow one another.
//!
//! A fault keeps a file from being relied on. A remark is something its author should know.

mod cells;
mod history;
mod kinds;
mod labels;
mod plausible;
mod shapes;
mod statements;

use crate::assess::Assessor;
use crate::attestation::Checked;
use settings_model::finding::{Finding, Outcome, nearest};
use settings_model::library::Refusal;
use settings_model::located::At;
use settings_model::source::Sources;

/// The profiles to look at: keys such as `standards/as-nzs-4777.2/2020-amd2`, `labels/fernhill-k/2.0`,
/// `scenarios/noon-creep`, or below `attestations/`.
pub type Key = String;

/// What looking at profiles came to.
#[derive(Debug, Default)]
pub struct Linted {
    /// How many profiles were looked at.
    pub profiles: usize,
    /// What was found, profile by profile.
    pub findings: Vec<Finding>,
    /// What could not be checked, and why.
    pub not_checked: Vec<String>,
}

impl Linted {
    /// Whether a file cannot be relied on.
    #[must_use]
    pub fn has_faults(&self) -> bool {
        self.findings.iter().any(|finding| finding.outcome != Outcome::Remark)
    }
}

/// Looks at these profiles, each with the layers it stands on, and at how the versions of their
/// networks follow one another.
pub fn lint(keys: &[Key], assessor: &mut Assessor) -> Linted {
    let mut linted = Linted::default();
    let mut networks: Vec<String> = Vec::new();
    for key in keys {
        linted.profiles += 1;
        let found = match key.split('/').collect::<Vec<_>>()[..] {
            ["standards", name, edition] => of_standard(&format!("{name}/{edition}"), assessor, &mut linted),
            ["overlays", network, version] => {
                let Ok(version) = semver::Version::parse(version) else { continue };
                if !networks.iter().any(|known| known == network) {
                    networks.push(network.to_owned());
                }
                of_overlay(network, &version, assessor, &mut linted)
            }
            ["labels", _, _] => labels::of_map(key, assessor, &mut linted),
            ["scenarios", name] => of_scenario(name, assessor),
            ["attestations", ..] => Checked::of(&format!("{key}.yaml"), assessor).map(|checked| checked.findings()),
            _ => continue,
        };
        match found {
            Ok(findings) | Err(Refusal::Unusable(findings)) => add(&mut linted, findings, &assessor.sources),
            Err(refusal) => linted.not_checked.push(format!("{key}: {}", says(refusal))),
        }
    }
    for network in networks {
        // what keeps a version from being read was said above
        if let Ok((findings, not_checked)) = history::of_network(&network, assessor) {
            add(&mut linted, findings, &assessor.sources);
            linted.not_checked.extend(not_checked);
        }
    }
    linted.not_checked.dedup();
    linted
}

/// A finding that two versions share, because it lies in a layer below both, is told once; the layer
/// may have been read for each.
fn add(linted: &mut Linted, findings: Vec<Finding>, sources: &Sources) {
    for finding in findings {
        let same = |other: &Finding| {
            let is_alike = (other.name, &other.headline) == (finding.name, &finding.headline);
            is_alike && (other.place == finding.place || sources.locate(other.place) == sources.locate(finding.place))
        };
        if !linted.findings.iter().any(same) {
            linted.findings.push(finding);
        }
    }
}

fn says(refusal: Refusal) -> String {
    match refusal {
        Refusal::Unknown { says, .. } => says,
        Refusal::Hangs { versions, .. } => format!("it depends on a site's dates which of {} is meant", versions.join(", ")),
        Refusal::Unusable(_) => "a file is at fault".to_owned(),
    }
}

fn of_standard(key: &str, assessor: &mut Assessor, linted: &mut Linted) -> Result<Vec<Finding>, Refusal> {
    let mut findings = superseded_that_are_not_there(key, assessor)?;
    for rulebooks in assessor.library.rulebooks_in_every_region(key, &mut assessor.sources)? {
        findings.extend(rulebooks.iter().flat_map(crate::order::descending));
        findings.extend(statements::of_layers(&rulebooks, &assessor.sources));
        cells::of_rulebooks(&rulebooks, &mut findings, &mut linted.not_checked);
    }
    Ok(findings)
}

/// What is wrong with a scenario by itself; whether its levels can be counted is told where it is played.
fn of_scenario(name: &str, assessor: &mut Assessor) -> Result<Vec<Finding>, Refusal> {
    let Some(file) = assessor.library.scenario(name, &mut assessor.sources) else { return Ok(Vec::new()) };
    let known: Vec<String> = assessor.library.standards();
    let names: Vec<&str> = known.iter().filter_map(|key| key.split('/').next()).collect();
    let help = "name one that is at hand (`asleft list`), or leave `standards` out";
    Ok(file?.standards.iter().filter_map(|meant| no_such_standard(meant, &names, help)).collect())
}

/// Editions of another name that a standard says it took the place of, and that are not at hand.
fn superseded_that_are_not_there(key: &str, assessor: &mut Assessor) -> Result<Vec<Finding>, Refusal> {
    let standard = assessor.library.standard(key, &mut assessor.sources)?;
    let known = assessor.library.standards();
    let names: Vec<&str> = known.iter().map(String::as_str).collect();
    let help = "name a standard and edition that are at hand (`asleft list`), or leave it out of `supersedes`";
    Ok(standard.file.supersedes.iter().filter_map(|meant| no_such_standard(meant, &names, help)).collect())
}

fn no_such_standard(meant: &At<String>, names: &[&str], help: &str) -> Option<Finding> {
    if names.contains(&meant.value.as_str()) {
        return None;
    }
    let finding = Finding::unusable("no-such-standard", meant.place, format!("no standard `{}` among the profiles", meant.value));
    Some(match nearest(&meant.value, names.iter().copied()) {
        Some(near) => finding.hint(format!("did you mean `{near}`?")),
        None => finding.hint(help),
    })
}

fn of_overlay(network: &str, version: &semver::Version, assessor: &mut Assessor, linted: &mut Linted) -> Result<Vec<Finding>, Refusal> {
    let mut findings = Vec::new();
    let all = assessor.library.rulebooks_on_every_parent((network, version), &mut assessor.sources)?;
    findings.extend(statements::that_change_nothing(&all));
    let windows = assessor.library.windows(network, version, &mut assessor.sources)?;
    findings.extend(statements::that_meet_no_governed_site(&all, &windows));
    for rulebooks in all {
        findings.extend(rulebooks.iter().flat_map(crate::order::descending));
        let overreach: Vec<Finding> = rulebooks.iter().flat_map(crate::entitlement::overreach).collect();
        let is_within = overreach.is_empty();
        findings.extend(overreach);
        findings.extend(statements::of_layers(&rulebooks, &assessor.sources));
        if is_within {
            cells::of_rulebooks(&rulebooks, &mut findings, &mut linted.not_checked);
        }
    }
    Ok(findings)
}
