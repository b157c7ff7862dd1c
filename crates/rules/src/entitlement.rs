//! May this layer do that? An overlay moves values within the range that the layers below leave to
//! the network operator. It may reach outside, or move what is fixed, but only with a declared
//! reason; without one the overlay is at fault, and nothing is judged on the strength of it.

use crate::escape::{Proof, escape};
use settings_model::catalogue::{REFERENCE, SettingId, Shape};
use settings_model::claim::{Claim, LayerId, LayerKind, Limit, ProvenanceId};
use settings_model::entry::{Entry, Stated, Verbs, lay};
use settings_model::facts::{FactId, Facts};
use settings_model::finding::Finding;
use settings_model::quantity::Amount;
use settings_model::requirement::{Rulebook, at_least_as_tight};
use settings_model::value::Value;

/// Every line that reaches outside what the layers below leave, without saying why.
#[must_use]
pub fn overreach(rulebook: &Rulebook) -> Vec<Finding> {
    let mut facts = Facts::default();
    if let Some(nominal) = rulebook.nominal {
        facts.set_number(FactId::NominalVoltage, nominal);
    }
    let reader = Reader { rulebook, facts };
    SettingId::all().flat_map(|setting| reader.of_setting(setting)).collect()
}

/// Whether what an approval of one site asks instead reaches beyond what the layers leave: the adjustable
/// range, or what is fixed where there is none.
#[must_use]
pub fn beyond(rulebook: &Rulebook, facts: &Facts, below: &Entry, verbs: &Verbs) -> bool {
    let reader = Reader { rulebook, facts: facts.clone() };
    let beside = reader.reference_of(below.setting, LayerId(u8::MAX));
    let allowed: &[Claim] = if below.adjustable.is_empty() { &below.comply } else { &below.adjustable };
    let mut allowed = allowed.iter().filter(|claim| !claim.is_about_evidence());
    allowed.any(|claim| {
        let value = verbs.require.as_ref().is_some_and(|(value, _)| reader.breaks(value, below.setting, &beside, claim));
        value || verbs.comply.as_ref().is_some_and(|range| !reader.leaves(range, &beside, claim))
    })
}

struct Reader<'r> {
    rulebook: &'r Rulebook,
    facts: Facts,
}

/// What a layer reaches outside of.
struct Reach<'e> {
    claim: &'e Claim,
    by: ProvenanceId,
    what: String,
}

impl Reader<'_> {
    fn of_setting(&self, setting: SettingId) -> Vec<Finding> {
        let mut findings = Vec::new();
        for (layer, stated) in self.rulebook.stated(setting) {
            if self.rulebook.layers[usize::from(layer.0)].kind != LayerKind::Overlay {
                continue;
            }
            let below = self.laid(setting, |other| other < *layer);
            for verbs in said(stated).filter(|verbs| verbs.outside_because.is_none()) {
                findings.extend(self.finding(&below, verbs, *layer));
                findings.extend(self.drags_curves_outside(setting, verbs, *layer));
            }
        }
        findings
    }

    /// What some layers ask of a setting at every site; what holds for some sites only is not what the
    /// next layer builds on.
    fn laid(&self, setting: SettingId, counts: impl Fn(LayerId) -> bool) -> Entry {
        let stated = self.rulebook.stated(setting).iter().filter(|(layer, _)| counts(*layer));
        stated.fold(Entry::unstated(setting), |below, (_, stated)| match &stated.cases[..] {
            [case] if case.when.is_empty() => lay(below, &case.verbs),
            _ => below,
        })
    }

    /// What the layers up to one ask of the reference that a curve may be counted from.
    fn reference_of(&self, curve: SettingId, up_to: LayerId) -> Vec<Claim> {
        let Some(reference) = curve.sibling(REFERENCE) else { return Vec::new() };
        let entry = self.laid(reference, |layer| layer <= up_to);
        entry.require.map_or(entry.comply, |value| value.exactly(reference, ProvenanceId(0)))
    }

    fn finding(&self, below: &Entry, verbs: &Verbs, layer: LayerId) -> Option<Finding> {
        let beside = self.reference_of(below.setting, layer);
        let is_fixed = below.adjustable.is_empty();
        let allowed: &[Claim] = if is_fixed { &below.comply } else { &below.adjustable };
        let of_value = verbs.require.as_ref().and_then(|(value, by)| {
            let claim = allowed.iter().find(|claim| self.breaks(value, below.setting, &beside, claim))?;
            Some(Reach { claim, by: *by, what: format!("the required value of {}", below.setting) })
        });
        let of_range = || {
            let range = verbs.adjustable.as_ref()?;
            let claim = allowed.iter().find(|claim| !self.leaves(range, &beside, claim))?;
            Some(Reach { claim, by: range.first()?.why, what: format!("the adjustable range of {}", below.setting) })
        };
        match of_value.or_else(of_range) {
            Some(reach) => self.worded(&reach, is_fixed),
            None => self.between_steps(below, verbs),
        }
    }

    /// A value that the layers below leave to the network operator, but only in steps: equipment made to
    /// them need not be able to take one in between.
    fn between_steps(&self, below: &Entry, verbs: &Verbs) -> Option<Finding> {
        let (value, by) = verbs.require.as_ref()?;
        let Value::Quantity(wanted) = value else { return None };
        let step = below.step?;
        let low = below.adjustable.iter().find(|claim| matches!(claim.limit, Limit::AtLeast(_)))?;
        let numbers = [*wanted, low.bound()?.value, step];
        let alike = numbers.iter().all(|amount| amount.of == step.of);
        let plain = |amount: Amount| if alike { Some(amount.number) } else { amount.at(&self.facts) };
        let [wanted, from, of] = [plain(numbers[0])?, plain(numbers[1])?, plain(numbers[2])?];
        let steps = (wanted - from).divided_roughly(of, 0)?;
        if steps * of == wanted - from {
            return None;
        }
        let Shape::Quantity(dimension) = below.setting.parameter().shape else { return None };
        let (line, layer) = self.rulebook.why(*by)?;
        let what = format!("the required value of {} falls between the steps of {}", below.setting, step.show(dimension));
        let finding =
            Finding::unusable("between-steps", line.place, format!("{}: {what} that are left to it; no reason is given", layer.title));
        let finding = match self.rulebook.why(low.why) {
            Some((line, _)) => finding.because(line.place, "left to it in these steps"),
            None => finding,
        };
        Some(finding.hint("ask for a value on a step, or add `outside-because: …` with the reason: a device need not take this one"))
    }

    /// A reference that moves takes along what is counted from it: the points that this layer leaves as
    /// they were have to lie within their range still.
    fn drags_curves_outside(&self, reference: SettingId, verbs: &Verbs, layer: LayerId) -> Vec<Finding> {
        let Some((_, by)) = verbs.require.as_ref().filter(|_| reference.parameter().key == REFERENCE) else { return Vec::new() };
        let is_left = |curve: &SettingId| {
            let own = self.rulebook.stated(*curve).iter();
            matches!(curve.parameter().shape, Shape::Curve { .. }) && own.filter(|(other, _)| *other == layer).count() == 0
        };
        let curves = SettingId::all().filter(|id| id.same_function(reference)).filter(is_left);
        let dragged = curves.filter_map(|curve| {
            let entry = self.laid(curve, |other| other < layer);
            let beside = self.reference_of(curve, layer);
            let value = entry.require.as_ref()?;
            let claim = entry.adjustable.iter().find(|claim| self.breaks(value, curve, &beside, claim))?;
            self.worded(&Reach { claim, by: *by, what: format!("the required value of {reference} takes {curve} along, which") }, false)
        });
        dragged.collect()
    }

    /// Whether a value lies outside a claim, with what else is required of its function.
    fn breaks(&self, value: &Value, setting: SettingId, beside: &[Claim], claim: &Claim) -> bool {
        match value.keeps(claim) {
            Some(kept) => !kept,
            None if claim.bound().is_none() => false,
            None => !self.leaves(&value.exactly(setting, claim.why), beside, claim),
        }
    }

    /// Whether claims, with what else is required of the function, leave nothing that breaks another.
    fn leaves(&self, claims: &[Claim], beside: &[Claim], claim: &Claim) -> bool {
        let all = || [claims, beside].concat();
        claims.iter().any(|new| at_least_as_tight(new, claim)) || escape(&all(), claim, &[], &self.facts) == Proof::Implied
    }

    fn worded(&self, reach: &Reach<'_>, is_fixed: bool) -> Option<Finding> {
        let (line, layer) = self.rulebook.why(reach.by)?;
        let outside = if is_fixed { "moves what the requirements below fix" } else { "lies outside the range that is left to it" };
        let headline = format!("{}: {} {outside}; no reason is given", layer.title, reach.what);
        let finding = Finding::unusable("outside-without-reason", line.place, headline);
        let finding = match self.rulebook.why(reach.claim.why) {
            Some((line, _)) => finding.because(line.place, if is_fixed { "fixed here" } else { "left to it here" }),
            None => finding,
        };
        Some(finding.hint("add `outside-because: …` with the reason, or stay within what is left to it"))
    }
}

fn said(stated: &Stated) -> impl Iterator<Item = &Verbs> {
    stated.cases.iter().map(|case| &case.verbs).chain(&stated.otherwise)
}
