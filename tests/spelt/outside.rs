//! Values outside what is asked of a setting: by edges, by steps, by units, by evidence.

use super::chance::Chance;
use super::quantities::is_short;
use rules::assess::Assessor;
use serde::Deserialize;
use serde_json::{Value as Json, json};
use settings_model::catalogue::{ENABLED, SettingId, Shape};
use settings_model::claim::{Bound, Claim, Evidence, Limit, Part, Term};
use settings_model::curve;
use settings_model::exact::Exact;
use settings_model::facts::Facts;
use settings_model::files::SiteFile;
use settings_model::quantity::Dimension;
use settings_model::value::Value;

/// A setting of a device, and the claims on it.
pub struct Asked {
    pub device: String,
    pub setting: SettingId,
    pub claims: Vec<Claim>,
    pub facts: Facts,
}

/// The settings of a complying site that act, with what is asked of each.
pub fn asked(site: &Json, assessor: &mut Assessor) -> Vec<Asked> {
    let text = site.to_string();
    let file = SiteFile::deserialize(&mut serde_json::Deserializer::from_str(&text)).unwrap();
    let assessment = assessor.assess(&file);
    let mut asked = Vec::new();
    for device in assessment.devices.iter().filter(|device| device.name != rules::installation::NAME) {
        let requirement = &device.counted.requirement;
        let acts = |setting: SettingId| {
            let Some(state) = setting.state().filter(|state| *state != setting) else { return true };
            match device.settings.get(state) {
                Some(known) => known.value == Value::Word(ENABLED),
                None => requirement.get(state).is_none_or(|resolved| resolved.entry.require == Some(Value::Word(ENABLED))),
            }
        };
        for resolved in &requirement.entries {
            let setting = resolved.entry.setting;
            if acts(setting) && !requirement.keeps_idle(setting) && !resolved.entry.is_gap() {
                asked.push(Asked {
                    device: device.name.to_owned(),
                    setting,
                    claims: resolved.entry.comply.clone(),
                    facts: device.facts.clone(),
                });
            }
        }
    }
    asked
}

/// An edge, and whether it is outside itself.
pub type Edge = Option<(Exact, bool)>;

/// The edges of a quantity at the site: the highest lower and the lowest upper one.
pub fn edges(asked: &Asked) -> (Edge, Edge) {
    let (mut low, mut high) = (None::<(Exact, bool)>, None::<(Exact, bool)>);
    for claim in asked.claims.iter().filter(|claim| claim.on == Term::Var(asked.setting.into())) {
        let at = |bound: Bound| bound.value.at(&asked.facts).map(|at| (at, bound.open));
        match claim.limit {
            Limit::AtLeast(bound) => low = low.max(at(bound)),
            Limit::AtMost(bound) => high = [high, at(bound)].into_iter().flatten().min_by_key(|(at, open)| (*at, !*open)),
            _ => {}
        }
    }
    (low, high)
}

pub fn is_outside(value: Exact, (low, high): (Edge, Edge)) -> bool {
    low.is_some_and(|(at, open)| value < at || (open && value == at)) || high.is_some_and(|(at, open)| value > at || (open && value == at))
}

pub fn with(site: &Json, asked: &Asked, stated: Json) -> Json {
    let mut site = site.clone();
    site["devices"][&asked.device]["as-left"]["settings"][asked.setting.function().key][asked.setting.parameter().key] = stated;
    site
}

/// A number between a hair and very much, of few digits.
pub fn distance(scale: Exact, chance: &mut Chance) -> Exact {
    let part = Exact::new(1 + chance.below(99) as i64, 2 + chance.below(4) as u32);
    let distance = if scale == Exact::ZERO { part } else { scale.abs() * part };
    distance.nine_digits().0.rounded(5).max(Exact::new(1, 5))
}

/// Base units as a file writes them, of at most nine digits.
pub fn text(dimension: Dimension, value: Exact) -> Option<String> {
    let shown = value.to_string();
    let symbol = dimension.symbols().next().unwrap_or_default();
    is_short(&shown).then(|| format!("{shown} {symbol}").trim().to_owned())
}

/// A value outside what is asked of a setting, as a file states it, and by which way.
pub fn outside(asked: &Asked, chance: &mut Chance) -> Option<(&'static str, Json)> {
    let kinds = asked.claims.iter().find_map(|claim| if let Limit::Stated(kinds) = claim.limit { Some(kinds) } else { None });
    match asked.setting.parameter().shape {
        Shape::Choice(words) => {
            let allowed =
                asked.claims.iter().find_map(|claim| if let Limit::OneOf(allowed) = claim.limit { Some(allowed) } else { None })?;
            let word = chance.below(words.len());
            (!allowed.has(word as u8)).then(|| ("word", json!(words[word])))
        }
        Shape::Curve { x, y } => {
            let pinned: Vec<&Claim> =
                asked.claims.iter().filter(|claim| matches!(claim.limit, Limit::AtLeast(_) | Limit::AtMost(_))).collect();
            let required = |part: Part| {
                let on = |claim: &&&Claim| matches!(claim.on, Term::Var(var) if var.part == part);
                let edge = |claim: &Claim| claim.bound().and_then(|bound| bound.value.at(&asked.facts));
                let edges: Vec<Exact> = pinned.iter().filter(on).filter_map(|claim| edge(claim)).collect();
                // only a point that is asked for to the digit
                (edges.len() == 2 && edges[0] == edges[1]).then(|| edges[0])
            };
            let mut points: Vec<(Exact, Exact)> = (0..20u8).map_while(|n| required(Part::X(n)).zip(required(Part::Y(n)))).collect();
            let at = if points.len() < 2 { return None } else { chance.below(points.len()) };
            let asked_for = points.clone();
            let by = distance(Exact::from(10), chance);
            let by = if chance.one_in(2) { by } else { -by };
            if chance.one_in(2) {
                points[at].0 = points[at].0 + by;
            } else {
                points[at].1 = points[at].1 + by;
            }
            // the same response in other points passes, with a remark
            let ascends = points.windows(2).all(|pair| pair[0].0 < pair[1].0) && !curve::same_response(&asked_for, &points);
            let written: Option<Vec<Json>> =
                points.iter().map(|(px, py)| Some(json!([text(x, *px)?, text(y, *py)?]))).collect::<Option<Vec<_>>>().filter(|_| ascends);
            written.map(|points| ("point", json!(points)))
        }
        Shape::Quantity(dimension) => {
            let edges = edges(asked);
            let (low, high) = edges;
            let edge = if chance.one_in(2) { low.or(high)?.0 } else { high.or(low)?.0 };
            let is_pinned = low.zip(high).is_some_and(|(low, high)| low.0 == high.0);
            let way = if kinds.is_some() && chance.one_in(2) { 3 } else { chance.below(3) };
            match way {
                0 => {
                    let by = distance(edge, chance);
                    let value = edge + if chance.one_in(2) { by } else { -by };
                    is_outside(value, edges).then_some(())?;
                    Some(("edge", json!(text(dimension, value)?)))
                }
                1 => {
                    let (by, step) = (distance(edge, chance), distance(edge, chance) + distance(edge, chance));
                    let value = edge + if chance.one_in(2) { by } else { -by };
                    // a set point may lie off by less than a step, where the step is not out of all proportion
                    let may_pass = is_pinned && (value - edge).abs() < step && (step < edge.abs() || edge == Exact::ZERO);
                    let is_wrong = is_outside(value, edges) && !may_pass;
                    let exact = is_wrong && chance.one_in(2);
                    is_wrong.then_some(())?;
                    Some(("step", json!({ "value": text(dimension, value)?, "step": text(dimension, step)?, "exact": exact })))
                }
                2 => {
                    let shown = text(dimension, edge)?;
                    let (number, own) = shown.split_once(' ')?;
                    let others: Vec<&str> = dimension.symbols().filter(|symbol| *symbol != own).collect();
                    let other = if others.is_empty() { return None } else { *chance.of_these(&others) };
                    let wrong = format!("{number} {other}");
                    let value = dimension.parse(&wrong).ok()?.at(&asked.facts)?;
                    is_outside(value, edges).then(|| ("unit", json!(wrong)))
                }
                _ => {
                    let kinds = kinds?;
                    let kind = *chance.of_these(&Evidence::ALL);
                    let refused = kind != Evidence::Region && !kinds.has(kind as u8);
                    refused.then_some(())?;
                    Some(("evidence", json!({ "value": text(dimension, edge)?, "known-by": kind.word() })))
                }
            }
        }
    }
}
