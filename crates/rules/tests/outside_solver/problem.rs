//! A list of claims, and what is asked of it: do they contradict each other, what is left of a variable,
//! does another claim follow.

use super::written::{claim, example, facts, fingerprint, name, variables};
use rules::core::core;
use rules::escape::{Proof, escape};
use rules::range::{Edge, Range, range};
use rules::unproven::Unproven;
use serde_json::{Value as Json, json};
use settings_model::claim::{Claim, Var};
use settings_model::exact::Exact;
use settings_model::facts::Facts;

/// Claims that hold, and what is asked of them.
pub struct Problem {
    /// What holds.
    pub claims: Vec<Claim>,
    /// The facts that are known; only numbers matter.
    pub facts: Facts,
    /// Of which variables the range is asked.
    pub ranges: Vec<Var>,
    /// Which claims may follow.
    pub others: Vec<Claim>,
}

/// What was counted, of which kind.
pub type Count = (&'static str, usize);

impl Problem {
    /// As the solver's script reads it.
    pub fn json(&self) -> Json {
        let all = || self.claims.iter().chain(&self.others);
        json!({
            "variables": variables(all().flat_map(|claim| claim.on.vars()).chain(self.ranges.iter().copied())),
            "facts": facts(all(), &self.facts),
            "claims": self.claims.iter().map(claim).collect::<Vec<_>>(),
            "ranges": self.ranges.iter().copied().map(name).collect::<Vec<_>>(),
            "others": self.others.iter().map(claim).collect::<Vec<_>>(),
        })
    }

    /// What is shown here to those who ask, for the solver to look into once it has its own answers: the
    /// contradiction, and the examples that do not keep the other claims.
    pub fn shown(&self) -> Json {
        let examples = self.others.iter().map(|other| match escape(&self.claims, other, &[], &self.facts) {
            Proof::Escapes(witness) => example(&witness),
            Proof::Implied | Proof::Unproven(_) => Json::Null,
        });
        json!({ "core": core(&self.claims, &self.facts), "examples": examples.collect::<Vec<_>>() })
    }

    /// Compares what is answered here with what the solver says; how much of each kind there was.
    pub fn compare(&self, answer: &Json) -> Vec<Count> {
        let mut counts = vec![self.compare_contradiction(answer)];
        for (var, theirs) in self.ranges.iter().zip(answer["ranges"].as_array().unwrap()) {
            counts.extend(self.compare_range(*var, theirs));
        }
        let follows = answer["follows"].as_array().unwrap().iter().zip(answer["examples"].as_array().unwrap());
        for (other, (follows, confirmed)) in self.others.iter().zip(follows) {
            counts.push(self.compare_following(other, follows, confirmed));
        }
        counts
    }

    /// Whether there is one, and that the one shown is among those that the solver confirmed: that it is
    /// one, and that it needs every claim.
    fn compare_contradiction(&self, answer: &Json) -> Count {
        let ours = core(&self.claims, &self.facts);
        assert_eq!(json!(ours.is_some()), answer["contradicts"], "{}", self.json());
        assert_eq!(json!(ours), answer["core"], "not confirmed by the solver: {}", self.json());
        (if ours.is_some() { "contradictions" } else { "no contradiction" }, 1)
    }

    /// `null` where nothing is left while its function is enabled; then only that nothing is said to be left
    /// where something is was compared. Of multiples of an unknown fact the range waits, and holds what is left
    /// whatever the fact turns out to be.
    fn compare_range(&self, var: Var, theirs: &Json) -> Vec<Count> {
        let of = || format!("{}: the solver says {theirs}\n{}", name(var), self.json());
        let Json::Array(edges) = theirs else { return vec![("nothing left", 1)] };
        let interval = match range(&self.claims, &self.facts, var) {
            Ok(Range::Numbers(interval)) => interval,
            other => panic!("{other:?}\n{}", of()),
        };
        let ours = [&interval.low, &interval.high].map(|edge| edge.as_ref().map(|edge| (edge.at, edge.open)));
        let solved =
            [0, 1].map(|side| edges[side].as_array().map(|edge| (Exact::parse(edge[0].as_str().unwrap()).unwrap(), edge[1] == true)));
        if !interval.waits_for.is_empty() {
            assert!(is_within(solved[0], ours[0], true) && is_within(solved[1], ours[1], false), "{ours:?}\n{}", of());
            return vec![("waits for a fact", 1)];
        }
        assert_eq!(ours, solved, "{}", of());
        let edges: Vec<&Edge> = interval.low.iter().chain(&interval.high).collect();
        vec![("edges", edges.len()), ("open edges", edges.iter().filter(|edge| edge.open).count()), ("unbounded", 2 - edges.len())]
    }

    /// Whether the claim follows; where it does not, that the example shown is one that the solver confirmed.
    fn compare_following(&self, other: &Claim, follows: &Json, confirmed: &Json) -> Count {
        match (escape(&self.claims, other, &[], &self.facts), follows) {
            (Proof::Implied, Json::Bool(true)) => ("follows", 1),
            (Proof::Escapes(witness), Json::Bool(false)) => {
                let shown = example(&witness);
                assert_eq!(json!(fingerprint(&shown.to_string())), *confirmed, "not confirmed by the solver: {shown}\n{}", self.json());
                ("examples", 1)
            }
            (Proof::Unproven(Unproven::NotWritable(_)), Json::Bool(false)) => ("not writable", 1),
            (ours, _) => panic!("{other:?}: {ours:?}, and the solver says {follows}\n{}", self.json()),
        }
    }
}

/// Whether the edge of a range lies within that of another.
fn is_within(inner: Option<(Exact, bool)>, outer: Option<(Exact, bool)>, is_low: bool) -> bool {
    let Some((outer, open)) = outer else { return true };
    let Some((inner, inner_open)) = inner else { return false };
    (if is_low { inner > outer } else { inner < outer }) || (inner == outer && (inner_open || !open))
}
