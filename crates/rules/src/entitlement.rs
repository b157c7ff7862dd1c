//! May this layer do that? An overlay moves values within the range that the layers below leave to
//! the network operator. It may reach outside, or move what is fixed, but only with a declared
//! reason; without one the overlay is at fault, and nothing is judged on the strength of it.

use settings_model::catalogue::SettingId;
use settings_model::claim::{Claim, LayerKind};
use settings_model::entry::{Entry, Stated, Verbs, lay};
use settings_model::finding::Finding;
use settings_model::requirement::{Rulebook, at_least_as_tight};

/// Every line that reaches outside what the layers below leave, without saying why.
#[must_use]
pub fn overreach(rulebook: &Rulebook) -> Vec<Finding> {
    SettingId::all().flat_map(|setting| of_setting(rulebook, setting)).collect()
}

fn of_setting(rulebook: &Rulebook, setting: SettingId) -> Vec<Finding> {
    let mut below = Entry::unstated(setting);
    let mut findings = Vec::new();
    for (layer, stated) in rulebook.stated(setting) {
        if rulebook.layers[usize::from(layer.0)].kind == LayerKind::Overlay {
            findings.extend(said(stated).filter_map(|verbs| finding(rulebook, &below, verbs)));
        }
        // what holds for some sites only is not what the next layer builds on
        if let [case] = &stated.cases[..]
            && case.when.is_empty()
        {
            below = lay(below, &case.verbs);
        }
    }
    findings
}

fn said(stated: &Stated) -> impl Iterator<Item = &Verbs> {
    stated.cases.iter().map(|case| &case.verbs).chain(&stated.otherwise)
}

fn finding(rulebook: &Rulebook, below: &Entry, verbs: &Verbs) -> Option<Finding> {
    if verbs.outside_because.is_some() {
        return None;
    }
    let fixed = below.adjustable.is_empty();
    let allowed: &[Claim] = if fixed { &below.comply } else { &below.adjustable };
    let required = verbs.require.as_ref().map(|(value, why)| (allowed.iter().find(|claim| value.keeps(claim) == Some(false)), *why));
    let range = verbs.adjustable.as_ref().map(|range| {
        let why = range.first().map(|claim| claim.why);
        (allowed.iter().find(|claim| !range.iter().any(|new| at_least_as_tight(new, claim))), why)
    });
    let (claim, why, what) = match (required, range) {
        (Some((Some(claim), why)), _) => (claim, why, "the required value"),
        (_, Some((Some(claim), Some(why)))) => (claim, why, "the adjustable range"),
        _ => return None,
    };
    let (line, layer) = rulebook.why(why)?;
    let reach = if fixed { "moves what is fixed below" } else { "reaches outside the range below" };
    let headline = format!("{}: {what} of {} {reach}, without a reason", layer.title, below.setting);
    let finding = Finding::unusable("outside-without-reason", line.place, headline);
    let finding = match rulebook.why(claim.why) {
        Some((line, _)) => finding.because(line.place, if fixed { "fixed here" } else { "left to it here" }),
        None => finding,
    };
    Some(finding.hint("add `outside-because: …` with the reason, or stay within"))
}
