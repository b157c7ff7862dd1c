//! Zones: settings whose differences are bounded, `x − y ≤ c` or `x − y < c`.
//!
//! Intervals, the spacing and order of curve points, "starts before the trip", order of times and
//! limits tied to a site fact all have this form. Shortest paths then give the tightest implied
//! bounds, and a cycle that is shorter than nothing is a contradiction that names its claims.

use crate::ratio::{Digits, Ratio, plus, ten_to, times};
use crate::unproven::Unproven;
use settings_model::claim::{Claim, Limit, Part, Term, Var};
use settings_model::exact::Exact;
use settings_model::facts::{FactId, Facts};
use std::collections::{BTreeMap, BTreeSet};
use std::ops::Add;

/// Something with a number.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub(crate) enum Node {
    /// Zero: what a bound on one setting alone is measured from.
    Zero,
    /// A part of a setting.
    Setting(Var),
    /// A site fact that is unknown.
    Fact(FactId),
}

impl Node {
    fn fact(self) -> Option<FactId> {
        if let Self::Fact(fact) = self { Some(fact) } else { None }
    }

    fn is_whole(self) -> bool {
        matches!(self, Self::Zero | Self::Setting(Var { part: Part::PointCount, .. }))
    }
}

/// `x − y ≤ constant + slope × fact`, or `<`.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Demand {
    pub x: Node,
    pub y: Node,
    constant: Exact,
    /// The unknown fact that the bound grows with.
    pub slope: Option<(FactId, Exact)>,
    open: bool,
    /// The claim that demands it; `None` for what holds of every site.
    by: Option<usize>,
}

impl Demand {
    pub(crate) fn is_about(&self, node: Node) -> bool {
        self.x == node || self.y == node
    }
}

/// What the numbered claims demand of numbers, in groups that have nothing to do with each other.
pub(crate) fn groups<'c>(claims: impl IntoIterator<Item = (usize, &'c Claim)> + Clone, facts: &Facts) -> Vec<Vec<Demand>> {
    let steep: BTreeSet<FactId> = claims.clone().into_iter().filter_map(|(_, claim)| steep_in(claim, facts)).collect();
    let mut demands: Vec<Demand> = claims.into_iter().filter_map(|(by, claim)| demand(by, claim, facts, &steep)).collect();
    let level: BTreeSet<FactId> = demands.iter().flat_map(|d| [d.x, d.y]).filter_map(Node::fact).collect();
    for fact in level {
        let (low, high) = fact.possible();
        let held = |x, y, at, open| Demand { x, y, constant: Exact::from(at), slope: None, open, by: None };
        demands.extend(low.map(|low| held(Node::Zero, Node::Fact(fact), -low.at, low.open)));
        demands.extend(high.map(|high| held(Node::Fact(fact), Node::Zero, high.at, high.open)));
    }
    connected(demands)
}

/// The unknown fact that a claim uses in a way that no difference can express.
fn steep_in(claim: &Claim, facts: &Facts) -> Option<FactId> {
    let (Limit::AtLeast(bound) | Limit::AtMost(bound)) = claim.limit else { return None };
    let fact = bound.value.of.filter(|f| facts.number(*f).is_none())?;
    let plain = bound.value.number == Exact::ONE && matches!(claim.on, Term::Var(_)) && !fact.is_whole();
    (!plain && bound.value.number != Exact::ZERO).then_some(fact)
}

fn demand(by: usize, claim: &Claim, facts: &Facts, steep: &BTreeSet<FactId>) -> Option<Demand> {
    let (bound, is_upper) = match claim.limit {
        Limit::AtMost(bound) => (bound, true),
        Limit::AtLeast(bound) => (bound, false),
        Limit::OneOf(_) | Limit::Above(_) | Limit::Below(_) | Limit::Stated(_) | Limit::NotSeen | Limit::NoCase => return None,
    };
    let (more, mut less) = match claim.on {
        Term::Var(x) => (Node::Setting(x), Node::Zero),
        Term::Gap(x, y) => (Node::Setting(x), Node::Setting(y)),
    };
    let sign = if is_upper { Exact::ONE } else { -Exact::ONE };
    let (mut constant, mut slope) = (Exact::ZERO, None);
    match (bound.value.at(facts), bound.value.of) {
        (Some(number), _) => constant = sign * number,
        (None, Some(fact)) if bound.value.number != Exact::ZERO => {
            if steep.contains(&fact) {
                slope = Some((fact, sign * bound.value.number));
            } else {
                less = Node::Fact(fact);
            }
        }
        (None, _) => {} // no part of an unknown fact is zero
    }
    let (x, y) = if is_upper { (more, less) } else { (less, more) };
    Some(Demand { x, y, constant, slope, open: bound.open, by: Some(by) })
}

/// Splits demands into groups that share no setting and no unknown fact.
fn connected(demands: Vec<Demand>) -> Vec<Vec<Demand>> {
    fn root(parent: &[usize], mut of: usize) -> usize {
        while parent[of] != of {
            of = parent[of];
        }
        of
    }
    let (mut ids, mut parent): (BTreeMap<Node, usize>, Vec<usize>) = (BTreeMap::new(), Vec::new());
    let mut first_node = Vec::with_capacity(demands.len());
    for demand in &demands {
        let nodes = [demand.x, demand.y].into_iter().chain(demand.slope.map(|(fact, _)| Node::Fact(fact))).filter(|n| *n != Node::Zero);
        let mut first = None;
        for node in nodes {
            let id = *ids.entry(node).or_insert_with(|| {
                parent.push(parent.len());
                parent.len() - 1
            });
            let joined = root(&parent, *first.get_or_insert(id));
            let own = root(&parent, id);
            parent[own] = joined;
        }
        first_node.push(first);
    }
    let mut groups: BTreeMap<Option<usize>, Vec<Demand>> = BTreeMap::new();
    for (demand, first) in demands.into_iter().zip(first_node) {
        groups.entry(first.map(|id| root(&parent, id))).or_default().push(demand);
    }
    groups.into_values().collect()
}

/// How far one node may lie above another: a number of the zone's units and, for every open edge
/// on the way, one step less, smaller than any unit. So `<` and `<=` never mix up, and their sums
/// are as strict as their strictest part.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub(crate) struct Weight {
    pub at: i128,
    /// Zero, or minus the number of open edges.
    steps: i64,
}

impl Weight {
    pub(crate) const ZERO: Self = Self { at: 0, steps: 0 };

    pub(crate) fn is_open(self) -> bool {
        self.steps < 0
    }
}

impl Add for Weight {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self { at: self.at + other.at, steps: self.steps + other.steps }
    }
}

/// A [`Demand`] in whole numbers of the zone's unit; nodes are indexes.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Edge {
    x: usize,
    y: usize,
    pub constant: i128,
    pub slope: i128,
    pub open: bool,
    pub by: Option<usize>,
}

/// One group of linked demands, with at most one unknown fact that bounds grow with.
#[derive(Debug)]
pub(crate) struct Zone {
    /// The first is [`Node::Zero`].
    pub nodes: Vec<Node>,
    pub edges: Vec<Edge>,
    /// Numbers are in units of 10^-`decimals`.
    pub decimals: u32,
    /// The unknown fact.
    pub parameter: Option<FactId>,
}

/// Shortest distances from one node, and the edge by which each node was reached.
pub(crate) struct Reach {
    distance: Vec<Option<Weight>>,
    by: Vec<Option<usize>>,
}

impl Zone {
    pub(crate) fn new(demands: &[Demand]) -> Result<Self, Unproven> {
        let mut parameters = demands.iter().filter_map(|d| d.slope).map(|(fact, _)| fact);
        let parameter = parameters.next();
        if let (Some(fact), Some(other)) = (parameter, parameters.find(|other| Some(*other) != parameter)) {
            return Err(Unproven::TwoUnknownFacts(fact, other));
        }
        let read = |d: &Demand| Ok((Digits::of(d.constant)?, Digits::of(d.slope.map_or(Exact::ZERO, |(_, k)| k))?));
        let digits = demands.iter().map(read).collect::<Result<Vec<_>, _>>()?;
        let decimals = digits.iter().map(|(c, s)| c.decimals.max(s.decimals)).max().unwrap_or(0);

        let mut nodes = vec![Node::Zero];
        let mut index = BTreeMap::from([(Node::Zero, 0)]);
        let mut edges = Vec::with_capacity(demands.len());
        for (demand, (constant, slope)) in demands.iter().zip(digits) {
            let mut of = |node| {
                *index.entry(node).or_insert_with(|| {
                    nodes.push(node);
                    nodes.len() - 1
                })
            };
            let (x, y) = (of(demand.x), of(demand.y));
            let edge =
                Edge { x, y, constant: constant.in_units(decimals)?, slope: slope.in_units(decimals)?, open: demand.open, by: demand.by };
            let counts = demand.x.is_whole() && demand.y.is_whole();
            edges.push(if counts { edge.between_counts(demand, ten_to(decimals)?)? } else { edge });
        }
        Ok(Self { nodes, edges, decimals, parameter })
    }

    /// The edges' weights where the parameter is `n`, in units of 10^-`decimals` / `n.bottom`.
    pub(crate) fn weights(&self, n: Ratio) -> Result<Vec<Weight>, Unproven> {
        let mut room = 0i128;
        let mut weights = Vec::with_capacity(self.edges.len());
        for edge in &self.edges {
            let at = plus(times(edge.constant, n.bottom)?, times(edge.slope, n.top)?)?;
            room = plus(room, at.checked_abs().ok_or(Unproven::TooManyDigits)?)?;
            weights.push(Weight { at, steps: -i64::from(edge.open) });
        }
        // No sum below can be larger: each adds up at most one edge per node.
        times(room, self.nodes.len() as i128 + 1)?;
        Ok(weights)
    }

    /// Edges round which the demands add up to less than nothing: they contradict each other.
    pub(crate) fn cycle(&self, weights: &[Weight]) -> Option<Vec<usize>> {
        let everywhere = Reach { distance: vec![Some(Weight::ZERO); self.nodes.len()], by: vec![None; self.nodes.len()] };
        self.relax(weights, false, everywhere).err()
    }

    /// The tightest upper bound on `node` (or on its negative), and the edges that imply it.
    /// The demands must not contradict each other.
    pub(crate) fn bound(&self, weights: &[Weight], node: usize, is_upper: bool) -> Option<(Weight, Vec<usize>)> {
        let mut start = Reach { distance: vec![None; self.nodes.len()], by: vec![None; self.nodes.len()] };
        start.distance[0] = Some(Weight::ZERO);
        let reach = self.relax(weights, !is_upper, start).ok()?;
        let distance = reach.distance[node]?;
        let (mut path, mut at) = (Vec::new(), node);
        while let Some(edge) = reach.by[at] {
            path.push(edge);
            at = if is_upper { self.edges[edge].y } else { self.edges[edge].x };
        }
        Some((distance, path))
    }

    /// Bellman and Ford's shortest paths, from y to x of every edge, or backwards.
    fn relax(&self, weights: &[Weight], backwards: bool, mut reach: Reach) -> Result<Reach, Vec<usize>> {
        let ends = |edge: &Edge| if backwards { (edge.x, edge.y) } else { (edge.y, edge.x) };
        let mut last_changed = None;
        for _round in 0..self.nodes.len() {
            last_changed = None;
            for (index, edge) in self.edges.iter().enumerate() {
                let (from, to) = ends(edge);
                let Some(start) = reach.distance[from] else { continue };
                let through = start + weights[index];
                if reach.distance[to].is_none_or(|now| through < now) {
                    reach.distance[to] = Some(through);
                    reach.by[to] = Some(index);
                    last_changed = Some(to);
                }
            }
            if last_changed.is_none() {
                return Ok(reach);
            }
        }
        // Something still shrinks after as many rounds as there are nodes: going back that often
        // from it ends on a cycle.
        let Some(mut at) = last_changed else { return Ok(reach) };
        let back = |at: usize| reach.by[at].map(|edge| (edge, ends(&self.edges[edge]).0));
        for _ in 0..self.nodes.len() {
            at = back(at).map_or(at, |(_, before)| before);
        }
        let (start, mut cycle) = (at, Vec::new());
        while let Some((edge, before)) = back(at) {
            cycle.push(edge);
            at = before;
            if at == start {
                break;
            }
        }
        Err(cycle)
    }

    /// How far each node may lie above each other, everything taken together (row: x, column: y).
    /// The demands must not contradict each other.
    pub(crate) fn closed(&self, weights: &[Weight]) -> Vec<Vec<Option<Weight>>> {
        let size = self.nodes.len();
        let mut most = vec![vec![None; size]; size];
        for (node, row) in most.iter_mut().enumerate() {
            row[node] = Some(Weight::ZERO);
        }
        for (edge, weight) in self.edges.iter().zip(weights) {
            let slot: &mut Option<Weight> = &mut most[edge.x][edge.y];
            *slot = Some(slot.map_or(*weight, |now| now.min(*weight)));
        }
        for via in 0..size {
            let onward = most[via].clone();
            for row in &mut most {
                let Some(first) = row[via] else { continue };
                for (slot, second) in row.iter_mut().zip(&onward) {
                    if let Some(second) = second {
                        let through = first + *second;
                        *slot = Some(slot.map_or(through, |now| now.min(through)));
                    }
                }
            }
        }
        most
    }
}

impl Edge {
    /// Between counts of points only whole numbers count: `< 5` is `<= 4`.
    fn between_counts(self, demand: &Demand, one: i128) -> Result<Self, Unproven> {
        if let Some((fact, _)) = demand.slope {
            return Err(Unproven::CountDependsOn(fact));
        }
        let whole = self.constant.div_euclid(one);
        let leaves_edge_out = self.open && whole * one == self.constant;
        Ok(Self { constant: (whole - i128::from(leaves_edge_out)) * one, open: false, ..self })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use settings_model::catalogue::SettingId;
    use settings_model::claim::{Bound, ProvenanceId};
    use settings_model::quantity::Amount;

    /// `sustained-overvoltage/threshold − reconnection/upper-voltage` and each alone.
    fn upper(gap: [bool; 2], number: i64, open: bool) -> Claim {
        let [a, b] = ["sustained-overvoltage/threshold", "reconnection/upper-voltage"].map(|path| SettingId::named(path).unwrap().into());
        let on = match gap {
            [true, true] => Term::Gap(a, b),
            [true, false] => Term::Var(a),
            _ => Term::Var(b),
        };
        Claim { on, limit: Limit::AtMost(Bound { value: Amount::plain(Exact::new(number, 1)), open }), why: ProvenanceId(0) }
    }

    fn zone(claims: &[Claim]) -> Zone {
        let groups = groups(claims.iter().enumerate(), &Facts::default());
        assert_eq!(groups.len(), 1);
        Zone::new(&groups[0]).unwrap()
    }

    #[test]
    fn a_sum_is_as_strict_as_its_strictest_part() {
        for (first, second, open) in [(false, false, false), (true, false, true), (false, true, true), (true, true, true)] {
            let zone = zone(&[upper([false, true], 1, first), upper([true, true], 2, second)]);
            let weights = zone.weights(Ratio::ZERO).unwrap();
            let subject =
                zone.nodes.iter().position(|n| matches!(n, Node::Setting(v) if v.setting.function().key == "sustained-overvoltage"));
            let (bound, path) = zone.bound(&weights, subject.unwrap(), true).unwrap();
            assert_eq!((bound.at, zone.decimals, bound.is_open(), path.len()), (3, 1, open, 2), "0.1 + 0.2 is 0.3");
        }
    }

    #[test]
    fn a_cycle_of_nothing_contradicts_only_with_an_open_edge() {
        for (open, contradicts) in [(false, false), (true, true)] {
            let least = Claim { limit: Limit::AtLeast(Bound::closed(Amount::plain(Exact::new(3, 1)))), ..upper([true, false], 0, false) };
            let zone = zone(&[upper([false, true], 1, false), upper([true, true], 2, open), least]);
            let cycle = zone.cycle(&zone.weights(Ratio::ZERO).unwrap());
            assert_eq!(cycle.map(|edges| edges.len()), contradicts.then_some(3));
        }
    }

    #[test]
    fn what_shares_nothing_is_a_group_of_its_own() {
        let apart = [upper([true, false], 1, false), upper([false, true], 1, false)];
        assert_eq!(groups(apart.iter().enumerate(), &Facts::default()).len(), 2);
    }
}
