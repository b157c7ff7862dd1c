//! Points of a curve ascend on the measured axis. Those of several units have an order only where all are in base
//! units: at a site, or at the nominal voltage that a standard is written for.

use settings_model::catalogue::{SettingId, Shape};
use settings_model::claim::{Bound, Claim, Limit, Part, ProvenanceId, Term, Var};
use settings_model::curve;
use settings_model::entry::{Entry, Verbs};
use settings_model::exact::Exact;
use settings_model::facts::{FactId, Facts};
use settings_model::finding::Finding;
use settings_model::quantity::{Amount, Dimension};
use settings_model::requirement::Rulebook;

/// What is to be done about points that do not ascend.
pub const MEND: &str = "write all points in one unit, in ascending order";

/// A point that lies before the one in front of it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Descent {
    /// The setting.
    pub setting: SettingId,
    /// Where the point in front lies, as it is written and in base units.
    before: (Amount, Exact),
    /// Where the point itself lies.
    point: (Amount, Exact),
    /// The line that asks for the point.
    pub why: ProvenanceId,
}

impl Descent {
    /// The first of a list of points, as somebody wrote it.
    #[must_use]
    pub fn of_points(setting: SettingId, points: &[settings_model::value::Point], why: ProvenanceId, facts: &Facts) -> Option<Self> {
        // points of one base keep their order whatever that base is here
        if points.windows(2).all(|pair| pair[0].x.of == pair[1].x.of && pair[0].x.number < pair[1].x.number) {
            return None;
        }
        let at = curve::at_site(points, facts)?;
        let n = curve::first_descent(&at)?;
        let place = |n: usize| (points[n].x, at[n].0);
        Some(Self { setting, before: place(n - 1), point: place(n), why })
    }

    /// The first that an entry asks for, whichever layers it is of.
    #[must_use]
    pub fn of_entry(entry: &Entry, facts: &Facts) -> Option<Self> {
        of_claims(entry.setting, &entry.comply, facts)
    }

    /// `260 V stands behind 1.2 pu (276 V at this site)`.
    #[must_use]
    pub fn told(&self, at: &str) -> String {
        let Some(x) = measured(self.setting) else { return String::new() };
        let shown = |(written, here): (Amount, Exact)| match (written.of, written.show(x)) {
            (None, shown) => shown,
            (Some(_), shown) => format!("{shown} ({} {at})", x.show(here)),
        };
        format!("{} stands behind {}", shown(self.point), shown(self.before))
    }
}

/// The measured axis of a curve.
fn measured(setting: SettingId) -> Option<Dimension> {
    match setting.parameter().shape {
        Shape::Curve { x, .. } => Some(x),
        _ => None,
    }
}

/// The first point of a curve that can lie nowhere behind the one in front of it.
fn of_claims<'c>(setting: SettingId, claims: impl IntoIterator<Item = &'c Claim>, facts: &Facts) -> Option<Descent> {
    measured(setting)?;
    let claims: Vec<&Claim> = claims.into_iter().collect();
    let lines = claims.iter().find_map(|claim| match &claim.limit {
        Limit::Above(line) | Limit::Below(line) => Descent::of_points(setting, line, claim.why, facts),
        _ => None,
    });
    let edges = |n: u8| {
        let on = Term::Var(Var { setting, part: Part::X(n) });
        claims.iter().filter(move |claim| claim.on == on).filter_map(|claim| {
            let place = |bound: &Bound| Some((bound.value, bound.value.at(facts)?));
            match &claim.limit {
                Limit::AtLeast(bound) => Some((true, place(bound)?, claim.why)),
                Limit::AtMost(bound) => Some((false, place(bound)?, claim.why)),
                _ => None,
            }
        })
    };
    let last = claims.iter().flat_map(|claim| claim.on.vars()).filter_map(|var| match var.part {
        Part::X(n) => Some(n),
        _ => None,
    });
    let points = (1..=last.max().unwrap_or_default()).find_map(|n| {
        let (_, before, _) = edges(n - 1).filter(|(is_least, ..)| *is_least).max_by_key(|(_, place, _)| place.1)?;
        let (_, point, why) = edges(n).filter(|(is_least, ..)| !is_least).min_by_key(|(_, place, _)| place.1)?;
        (before.1 > point.1).then_some(Descent { setting, before, point, why })
    });
    lines.or(points)
}

/// Every line of a layer whose points do not ascend at the nominal voltage that its standard is written for: no
/// device can hold them, and nothing is judged on the strength of them.
#[must_use]
pub fn descending(rulebook: &Rulebook) -> Vec<Finding> {
    let mut facts = Facts::default();
    if let Some(nominal) = rulebook.nominal {
        facts.set_number(FactId::NominalVoltage, nominal);
    }
    let curves = SettingId::all().filter(|setting| measured(*setting).is_some());
    let stated = curves.flat_map(|setting| rulebook.stated(setting));
    let said = stated.flat_map(|(layer, stated)| {
        let cases = stated.cases.iter().map(|case| &case.verbs);
        cases.chain(&stated.otherwise).map(move |verbs| (*layer, stated.setting, verbs))
    });
    let found = said.filter_map(|(layer, setting, verbs)| {
        let descent = of_verbs(setting, verbs, &facts)?;
        let place = rulebook.whys.get(descent.why)?.place;
        let (title, of) = (&rulebook.layers[usize::from(layer.0)].title, setting.function().title.to_lowercase());
        let at = "at the nominal voltage of the standard";
        let finding =
            Finding::unusable("points-out-of-order", place, format!("{title}: {of}: its points do not ascend: {}", descent.told(at)));
        Some(finding.hint(MEND))
    });
    found.collect()
}

/// The first that one layer says by itself.
fn of_verbs(setting: SettingId, verbs: &Verbs, facts: &Facts) -> Option<Descent> {
    let required: Vec<Claim> = verbs.require.iter().flat_map(|(value, why)| value.exactly(setting, *why)).collect();
    let lists = [Some(&required), verbs.comply.as_ref(), Some(&verbs.also), verbs.adjustable.as_ref()];
    lists.into_iter().flatten().find_map(|claims| of_claims(setting, claims, facts))
}
