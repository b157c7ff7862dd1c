//! Several inverters in one log: their powers are a sum, so what is asked of them is one too.

use super::asked::{AskedFunction, DeviceQuery, Judged, Tolerance};
use behaviour::curve::Curve;
use behaviour::function::{Answers, Function, Rule, To};

/// All of them as if they were one device.
pub fn together(all: Vec<DeviceQuery>) -> DeviceQuery {
    let ratings: Vec<f64> = all.iter().map(|asked| asked.rated).collect();
    let mut rules: Vec<Rule> = Vec::new();
    let mut functions = Vec::new();
    for function in Function::ALL {
        let of: Vec<Option<&AskedFunction>> = all.iter().map(|asked| asked.functions.iter().find(|of| of.function == function)).collect();
        let is_set = |of: &&&AskedFunction| of.judged != Judged::NotSet;
        let Some(first) = of.iter().flatten().find(is_set).or(of.iter().flatten().next()) else { continue };
        let mut of_one = AskedFunction { function, set: None, required: None, judged: first.judged };
        if first.judged == Judged::ByRows {
            let place = |of: fn(&AskedFunction) -> Option<usize>| {
                move |(asked, function): (&DeviceQuery, &Option<&AskedFunction>)| {
                    function.and_then(of).and_then(|place| asked.rules.get(place)).cloned()
                }
            };
            let set: Vec<Option<Rule>> = all.iter().zip(&of).map(place(|of| of.set)).collect();
            let required: Vec<Option<Rule>> = all.iter().zip(&of).map(place(|of| of.required)).collect();
            let clash = function.is_reactive() && has_others(&all, function);
            of_one.set = summed(&set, &ratings).filter(|_| !clash).map(|rule| put(&mut rules, rule));
            of_one.required = summed(&required, &ratings).filter(|_| !clash).map(|rule| put(&mut rules, rule));
            let was_asked = set.iter().chain(&required).any(Option::is_some);
            if was_asked && of_one.set.is_none() && of_one.required.is_none() {
                of_one.judged = Judged::NotTogether;
            }
        } else if first.judged == Judged::ByTime {
            of_one.judged = Judged::NotTogether;
        }
        functions.push(of_one);
    }
    let beside: Vec<Rule> = Function::ALL
        .into_iter()
        .filter_map(|function| {
            let of: Vec<Option<Rule>> =
                all.iter().map(|asked| asked.beside.iter().find(|rule| rule.function == function).cloned()).collect();
            summed(&of, &ratings)
        })
        .collect();
    let rated = ratings.iter().sum();
    let nameplate = all.iter().map(|asked| asked.nameplate).sum();
    let mut all = all.into_iter();
    let first = all.next().expect("a site with inverters");
    let device = format!("{} inverters together", ratings.len());
    let tolerance = Tolerance { watts: first.tolerance.percent / 100.0 * rated, ..first.tolerance };
    let mut assumed = first.assumed;
    assumed.extend(all.flat_map(|other| other.assumed));
    assumed.push("every inverter sees the voltage that is logged".to_owned());
    assumed.dedup();
    DeviceQuery { device, inverters: ratings.len(), rated, nameplate, rules, beside, functions, tolerance, assumed, ..first }
}

/// Whether some inverter decides its vars by another function, so that nobody knows whose vars are whose.
fn has_others(all: &[DeviceQuery], function: Function) -> bool {
    all.iter().flat_map(|asked| &asked.beside).any(|rule| rule.function.is_reactive() && rule.function != function)
}

fn put(rules: &mut Vec<Rule>, rule: Rule) -> usize {
    if let Some(place) = rules.iter().position(|other| other.acts_like(&rule)) {
        return place;
    }
    rules.push(rule);
    rules.len() - 1
}

/// The sum of what is asked of each; `None` where nothing is, or where it depends on how power is shared among them.
fn summed(all: &[Option<Rule>], ratings: &[f64]) -> Option<Rule> {
    let first = all.iter().flatten().next()?;
    let curve = match (first.answers, first.to) {
        // it is the site's
        (Answers::Export, _) => {
            let limits = all.iter().flatten().map(|rule| rule.curve.extremes()[0]);
            Curve::flat(limits.fold(f64::INFINITY, f64::min))
        }
        (_, To::Watts) => alike(all, ratings)?,
        _ => {
            // without the function, a cap is the rating, and there are no vars
            let each = all.iter().zip(ratings).map(|(rule, rated)| match rule {
                Some(rule) if rule.answers.is_cap() => rule.curve.within(f64::NEG_INFINITY, *rated),
                Some(rule) => rule.curve.clone(),
                None => Curve::flat(if first.answers.is_cap() { *rated } else { 0.0 }),
            });
            Curve::sum(&each.collect::<Vec<_>>())
        }
    };
    let yields_to = all.iter().flatten().map(|rule| rule.yields_to).sum();
    Some(Rule { curve, yields_to, may_rest: all.iter().flatten().any(|rule| rule.may_rest), ..first.clone() })
}

/// What answers to power, where every inverter does so alike: however power is shared, the sum follows the sum only then,
/// and only where it is shared by rating.
fn alike(all: &[Option<Rule>], ratings: &[f64]) -> Option<Curve> {
    let per_unit = |(rule, rated): (&Option<Rule>, &f64)| {
        rule.as_ref().map(|rule| rule.curve.points().iter().map(|[x, y]| [x / rated, y / rated]).collect::<Vec<[f64; 2]>>())
    };
    let each: Option<Vec<_>> = all.iter().zip(ratings).map(per_unit).collect();
    let each = each?;
    let is_close = |one: &[f64; 2], other: &[f64; 2]| (one[0] - other[0]).abs() < 1e-6 && (one[1] - other[1]).abs() < 1e-6;
    let first = each.first()?;
    let are_alike = each.iter().all(|other| other.len() == first.len() && first.iter().zip(other).all(|(one, other)| is_close(one, other)));
    let rated: f64 = ratings.iter().sum();
    are_alike.then(|| Curve::new(first.iter().map(|[x, y]| [x * rated, y * rated]).collect()))
}
