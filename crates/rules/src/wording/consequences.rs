//! What one finding explains of others: a cause, a rule of practice, a tie between settings.

use super::{Primary, WRONG_REGION, Wording, outcome};
use crate::judge::{UnmetClaim, UnmetKind};
use crate::outcome::Cause;
use crate::phrase::{dimension_of, missing_evidence_phrase, missing_evidence_remedy, within};
use crate::practice::{self, Broken};
use crate::provenance::Standing;
use settings_model::catalogue::Harm;
use settings_model::claim::{Claim, Part, Term, Var};
use settings_model::finding::{Finding, Folded, Outcome};
use settings_model::ties::{TIES, Tie};

impl Wording<'_> {
    /// The findings that one cause explains become one; the others stay.
    pub(super) fn fold_into_cause(&self, cause: &Cause, primary: Vec<Primary>) -> Vec<Primary> {
        let is_explained = |one: &Primary| one.settings.iter().all(|setting| cause.explains.contains(setting));
        let (explained, others): (Vec<Primary>, Vec<Primary>) = primary.into_iter().partition(is_explained);
        let name = self.device.name;
        let region = ["devices", name, "as-left", "region-selected"];
        let settings = ["devices", name, "as-left", "settings"];
        let place = match &explained[..] {
            [one] => one.finding.place,
            _ if self.site.has(&region) => self.site.place(&region),
            _ => self.site.place(&settings),
        };
        let named = if cause.is_selected_region { WRONG_REGION } else { cause.name };
        let mut finding = Finding::new(Outcome::DoesNotComply, named, place, format!("{name}: {}", cause.says));
        finding.setting = match &explained[..] {
            [one] => one.finding.setting.clone(),
            _ => Some(name.to_owned()),
        };
        finding.hint = Some(cause.hint.clone());
        match &explained[..] {
            [one] => {
                finding.because.clone_from(&one.finding.because);
                finding.notes.extend(one.settings.first().and_then(|setting| self.whole_on_display(*setting)));
            }
            _ => finding.folded = explained.iter().map(|one| self.folded(one)).collect(),
        }
        finding.notes.extend(self.rulebook.region_notes.iter().filter(|_| cause.is_selected_region).cloned());
        for conflict in explained.iter().flat_map(|one| &one.finding.conflicts) {
            if !finding.conflicts.contains(conflict) {
                finding.conflicts.push(conflict.clone());
            }
        }
        // which region is selected no figure says
        finding.basis = if cause.is_selected_region { None } else { explained.iter().map(|one| one.finding.basis).min().flatten() };
        let harm = explained.iter().map(|one| one.harm).min().unwrap_or(Harm::Departs);
        std::iter::once(Primary { settings: cause.explains.clone(), harm, finding }).chain(others).collect()
    }

    fn folded(&self, one: &Primary) -> Folded {
        Folded { text: self.without_name(&one.finding.headline), basis: one.finding.basis }
    }

    pub(super) fn without_name(&self, headline: &str) -> String {
        headline.strip_prefix(&format!("{}: ", self.device.name)).unwrap_or(headline).to_owned()
    }

    /// A rule of practice that breaks where a setting is at fault anyway is a consequence.
    pub(super) fn fold_broken(&self, broken: &Broken, primary: &mut Vec<Primary>) {
        let involved = |one: &Primary| std::iter::once(&broken.setting).chain(&broken.with).any(|setting| one.settings.contains(setting));
        if let Some(cause) = primary.iter_mut().find(|one| involved(one) && one.finding.outcome <= broken.outcome) {
            let folded = Folded { text: broken.says.clone(), basis: broken.basis };
            cause.finding.basis = decided_with(&cause.finding, broken.outcome, folded.basis);
            cause.finding.folded.push(folded);
            return;
        }
        let place = self.place_of(broken.setting, Part::Whole);
        let mut finding = Finding::new(broken.outcome, broken.rule, place, format!("{}: {}", self.device.name, broken.says));
        finding.setting = Some(self.setting_path(broken.setting));
        for other in &broken.with {
            finding = finding.because(self.place_of(*other, Part::Whole), "with this");
        }
        if let Some(rule) = practice::named(broken.rule) {
            finding = finding.note(format!("{} ({})", rule.sentence, rule.source));
        }
        finding.hint = Some(broken.hint.clone());
        finding.basis = broken.basis;
        primary.push(Primary { settings: vec![broken.setting], harm: broken.setting.parameter().above, finding });
    }

    /// A tie that breaks because one side is already at fault is a consequence of that fault.
    pub(super) fn fold_tie(&self, tie: &UnmetClaim, primary: &mut Vec<Primary>) {
        let claim = &tie.claim;
        let cause = claim.on.vars().find_map(|var| primary.iter().position(|one| one.settings.contains(&var.setting)));
        match cause {
            Some(cause) => {
                let finding = &mut primary[cause].finding;
                finding.basis = decided_with(finding, outcome(tie.kind), None);
                finding.folded.push(self.tie_headline(claim).into());
            }
            None => {
                let finding = self.of_tie(tie, claim);
                let settings = claim.on.vars().map(|var| var.setting).collect();
                primary.push(Primary { settings, harm: tie.setting.parameter().above, finding });
            }
        }
    }

    pub(super) fn tie_sentence(&self, claim: &Claim) -> String {
        self.rulebook.whys.get(claim.why).and_then(|why| why.because.as_deref()).unwrap_or_default().to_owned()
    }

    pub(super) fn tie_of(&self, claim: &Claim) -> Option<&'static Tie> {
        let sentence = self.tie_sentence(claim);
        TIES.iter().find(|tie| tie.sentence == sentence)
    }

    pub(super) fn tie_headline(&self, claim: &Claim) -> String {
        match claim.on {
            Term::Var(var) => format!("{}: not kept: {}", var.setting.title(), self.tie_sentence(claim)),
            Term::Gap(x, y) => format!("{} against {}: not kept: {}", x.setting.title(), y.setting.title(), self.tie_sentence(claim)),
        }
    }

    pub(super) fn of_tie(&self, tie: &UnmetClaim, claim: &Claim) -> Finding {
        let known = self.tie_of(claim);
        let name = known.map_or("tie", |t| t.name);
        let outcome = outcome(tie.kind);
        let headline = match tie.kind {
            UnmetKind::NotProven(lack) => format!("{}: {}: {}", self.device.name, tie.setting.title(), missing_evidence_phrase(lack)),
            _ => self.tie_values(claim),
        };
        let mut finding = Finding::new(outcome, name, self.place_of(claim.on.subject().setting, claim.on.subject().part), headline);
        finding.setting = Some(self.setting_path(tie.setting));
        if let Term::Gap(_, other) = claim.on {
            finding = finding.because(self.place_of(other.setting, other.part), "compared with this");
        }
        finding.hint = Some(match (tie.kind, claim.on) {
            (UnmetKind::NotProven(lack), _) => missing_evidence_remedy(lack),
            (_, Term::Var(var)) => format!("set it to {}", self.tie_limit(var, claim)),
            (_, Term::Gap(..)) => known.map_or("", |tie| tie.to_do).to_owned(),
        });
        finding.note(format!("{} ({})", self.tie_sentence(claim), known.map_or("", |t| t.source)))
    }

    /// `at most the approved export (3 kW)`.
    pub(super) fn tie_limit(&self, var: Var, claim: &Claim) -> String {
        let facts = &self.device.facts;
        let limit = within(std::slice::from_ref(claim), var.setting, var.part, facts).unwrap_or_default();
        let at = claim.bound().and_then(|bound| bound.value.at(facts)).zip(dimension_of(var.setting, var.part));
        at.map_or(limit.clone(), |(number, dimension)| format!("{limit} ({})", dimension.show(number)))
    }

    pub(super) fn tie_values(&self, claim: &Claim) -> String {
        let written = |var: Var| {
            let value = self.value_of(var.setting).and_then(|v| v.part(var.part));
            let dimension = dimension_of(var.setting, var.part);
            value.zip(dimension).map_or_else(|| "?".to_owned(), |(v, d)| v.show(d))
        };
        match claim.on {
            Term::Gap(x, y) => format!(
                "{}: {} is {}, {} {} ({})",
                self.device.name,
                x.setting.title(),
                written(x),
                self.tie_of(claim).map_or("against", |tie| tie.relation),
                y.setting.title().to_lowercase(),
                written(y)
            ),
            Term::Var(x) => format!("{}: {} is {}, {}", self.device.name, x.setting.title(), written(x), self.tie_limit(x, claim)),
        }
    }
}

/// How the surest figure is known that decides a finding, with a consequence that comes to something by
/// itself: what no figure decides is the surest.
fn decided_with(finding: &Finding, outcome: Outcome, basis: Option<Standing>) -> Option<Standing> {
    if outcome == finding.outcome { finding.basis.min(basis) } else { finding.basis }
}
