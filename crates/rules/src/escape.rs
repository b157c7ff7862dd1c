//! Containment: does something that keeps the old claims break the new one?

use crate::range::{Range, range};
use crate::satisfy::{satisfy, satisfy_with};
use crate::states::{all_evidence, functions, vocabulary};
use crate::tube::{self, Tube};
use crate::unproven::Unproven;
use crate::witness::{Witness, keeps};
use settings_model::catalogue::SettingId;
use settings_model::claim::{Bound, Claim, Limit, Part, Term};
use settings_model::exact::Exact;
use settings_model::facts::Facts;
use settings_model::quantity::Amount;
use settings_model::value::{Point, Value};

/// What is known of one claim against a list of others.
#[derive(Clone, Debug, PartialEq)]
pub enum Proof {
    /// Whatever keeps the old claims keeps the new one.
    Implied,
    /// This keeps the old claims and breaks the new one.
    Escapes(Box<Witness>),
    /// Neither could be shown.
    Unproven(Unproven),
}

/// Looks for an example that keeps all of `old`, and what holds of every device and site
/// (`space`), and breaks `new`. Facts that are unknown are part of the search.
///
/// The functions that `new` is about are taken to be enabled: where `old` forbids that, `new` is
/// implied. Any other function that `old` lets be off or absent imposes nothing.
#[must_use]
pub fn escape(old: &[Claim], new: &Claim, space: &[Claim], facts: &Facts) -> Proof {
    let nobody_keeps = |claim: &Claim| claim.limit == Limit::NoCase;
    if old.iter().any(nobody_keeps) {
        return Proof::Implied;
    }
    if nobody_keeps(new) {
        return any_of(old, space, facts);
    }
    if new.limit == Limit::NotSeen {
        return Proof::Unproven(Unproven::NotSeen);
    }
    let Some(breaches) = breaches(new) else {
        return Proof::Unproven(Unproven::NoMeaning);
    };
    if old.iter().chain(space).any(|claim| claim.on == new.on && claim.limit == new.limit) {
        return Proof::Implied;
    }
    let question = Question { claims: old.iter().chain(space).cloned().collect(), new, facts, enabled: functions(new.on).collect() };
    let proof = match new.limit {
        Limit::Above(_) | Limit::Below(_) => question.of_response(),
        _ if question.has_lines_around(new.on) => question.of_points_within_lines(breaches),
        _ => question.by_search(breaches, &[None]),
    };
    match proof {
        Ok(Some(_)) if old.iter().any(|claim| is_unseen_demand_on(claim, new.on)) => Proof::Unproven(Unproven::NotSeen),
        Ok(Some(witness)) => Proof::Escapes(Box::new(witness)),
        Ok(None) => Proof::Implied,
        Err(why) => Proof::Unproven(why),
    }
}

/// Whatever keeps the old claims breaks one that nothing keeps.
fn any_of(old: &[Claim], space: &[Claim], facts: &Facts) -> Proof {
    let claims: Vec<Claim> = old.iter().chain(space).cloned().collect();
    match satisfy(&claims, facts, &[]) {
        Ok(Some(witness)) => Proof::Escapes(Box::new(witness)),
        Ok(None) => Proof::Implied,
        Err(why) => Proof::Unproven(why),
    }
}

/// What holds, and the claim that may be broken.
struct Question<'q> {
    claims: Vec<Claim>,
    new: &'q Claim,
    facts: &'q Facts,
    enabled: Vec<SettingId>,
}

impl Question<'_> {
    /// An example for one of the breaches, with one of these curves given.
    fn by_search(mut self, breaches: Vec<Claim>, given: &[Option<(SettingId, &Value)>]) -> Result<Option<Witness>, Unproven> {
        let mut open = None;
        for breach in breaches {
            self.claims.push(breach);
            for curve in given {
                match satisfy_with(&self.claims, self.facts, &self.enabled, *curve) {
                    Ok(None) => {}
                    Ok(Some(witness)) => return Ok(Some(witness)),
                    Err(why) => open = Some(why),
                }
            }
            self.claims.pop();
        }
        open.map_or(Ok(None), Err)
    }

    /// Whether some line is around the response of the curve whose points a term is about.
    fn has_lines_around(&self, on: Term) -> bool {
        let settings = tube::settings_of(self.claims.iter());
        on.vars().any(|var| settings.contains(&var.setting))
    }

    /// A response that keeps what holds and breaks a line around it.
    fn of_response(self) -> Result<Option<Witness>, Unproven> {
        let setting = self.new.on.subject().setting;
        let Some(example) = satisfy(&self.claims, self.facts, &self.enabled)? else { return Ok(None) };
        if keeps(self.new, &example) == Some(false) {
            return Ok(Some(example)); // the points that it must have break the line
        }
        if self.is_pinned(setting, &example)? {
            return Ok(None);
        }
        let Some(curve) = Tube::escape(&self.claims, self.new, self.facts)? else { return Ok(None) };
        let breaking = satisfy_with(&self.claims, self.facts, &self.enabled, Some((setting, &curve)))?;
        breaking.map(Some).ok_or(Unproven::PointsAndResponse)
    }

    /// Whether what holds leaves the curve no other points than those of the example.
    fn is_pinned(&self, setting: SettingId, example: &Witness) -> Result<bool, Unproven> {
        if example.curve(setting).is_none() {
            return Ok(false);
        }
        for var in example.settings.keys().filter(|var| var.setting == setting && var.part != Part::Whole) {
            let Range::Numbers(interval) = range(&self.claims, self.facts, *var)? else { return Ok(false) };
            let edges = interval.low.zip(interval.high);
            if edges.is_none_or(|(low, high)| low.at != high.at) || !interval.waits_for.is_empty() {
                return Ok(false);
            }
        }
        Ok(true)
    }

    /// The same response may be written with more points, so that its points break the claim.
    fn of_points_within_lines(self, breaches: Vec<Claim>) -> Result<Option<Witness>, Unproven> {
        let setting = self.new.on.subject().setting;
        let Some(tube) = Tube::of(self.claims.iter().enumerate(), setting, self.facts)? else { return Ok(None) };
        if tube.contradiction()?.is_some() {
            return Ok(None);
        }
        let written = longer(tube.response()?);
        let given: Vec<_> = written.iter().map(|curve| Some((setting, curve))).collect();
        // another curve within the lines may break it where these do not
        self.by_search(breaches, &given)?.map(Some).ok_or(Unproven::PointsAndResponse)
    }
}

/// A curve, and the same response with a further point on its flat ends.
fn longer(curve: Value) -> Vec<Value> {
    let Value::Curve(points) = &curve else { return vec![curve] };
    let beyond = |point: &Point, by: i64| Point { x: Amount { number: point.x.number + Exact::from(by), ..point.x }, ..*point };
    let (mut before, mut after) = (points.clone(), points.clone());
    before.splice(..0, points.first().map(|first| beyond(first, -1)));
    after.extend(points.last().map(|last| beyond(last, 1)));
    vec![curve, Value::Curve(before), Value::Curve(after)]
}

/// A gap stands on the whole setting, the new claim perhaps on one point of its curve.
fn is_unseen_demand_on(claim: &Claim, on: Term) -> bool {
    claim.limit == Limit::NotSeen && claim.on.vars().any(|unseen| on.vars().any(|var| var.setting == unseen.setting))
}

/// The ways to break a claim; `None` if the claim has no meaning.
fn breaches(claim: &Claim) -> Option<Vec<Claim>> {
    let beyond = |bound: Bound| Bound { open: !bound.open, ..bound };
    let breach = |limit| Claim { limit, ..*claim };
    Some(match (&claim.limit, claim.on) {
        (Limit::AtLeast(bound), _) => vec![breach(Limit::AtMost(beyond(*bound)))],
        (Limit::AtMost(bound), _) => vec![breach(Limit::AtLeast(beyond(*bound)))],
        (Limit::OneOf(words), Term::Var(var)) => vec![breach(Limit::OneOf(vocabulary(var).without(*words)))],
        (Limit::Stated(kinds), on) => {
            let otherwise = Limit::Stated(all_evidence().without(*kinds));
            on.vars().map(|var| Claim { on: Term::Var(var), limit: otherwise.clone(), ..*claim }).collect()
        }
        (Limit::Above(_) | Limit::Below(_), Term::Var(_)) => Vec::new(), // no single claim says it: see `Question::of_response`
        (Limit::OneOf(_) | Limit::Above(_) | Limit::Below(_), Term::Gap(..)) | (Limit::NotSeen | Limit::NoCase, _) => return None,
    })
}
