//! What many devices came to together: answers, functions, and the groups that they belong to.

use crate::commands::behaves::words;
use crate::report::behaves_fleet::{DeviceLine, FleetAnswer, FleetSummary, FunctionCount, GroupCount};
use behaviour::function::Function;
use behaviour::interval::clopper_pearson;
use behaviour::thresholds::{FALSE_ALARMS, FALSE_ALARMS_CERTAIN};
use std::collections::BTreeMap;

/// Of fewer devices that were assessed no share is told.
const ENOUGH: usize = 20;

/// How many came to each answer.
pub fn summary(sites: usize, lines: &[DeviceLine]) -> FleetSummary {
    let count = |answer: FleetAnswer| lines.iter().filter(|line| line.answer == answer).count();
    FleetSummary {
        sites,
        devices: lines.len(),
        behaves: count(FleetAnswer::Behaves),
        behaves_as_far_as_shown: count(FleetAnswer::BehavesAsFarAsShown),
        departs: count(FleetAnswer::Departs),
        not_shown: count(FleetAnswer::NotShown),
        no_log: count(FleetAnswer::NoLog),
        could_not_tell: count(FleetAnswer::CouldNotTell),
        with_unverified_figures: lines.iter().filter(|line| line.unverified.is_some()).count(),
    }
}

/// What came of each function that some device is set to.
pub fn by_function(functions: &[Function], lines: &[DeviceLine]) -> Vec<FunctionCount> {
    let of = |function: &Function| {
        let all = || lines.iter().flat_map(|line| &line.functions).filter(|of| of.function == function.key() && of.against == "as-set");
        let count = |answer: &str| all().filter(|of| of.answer == answer).count();
        let (behaves, departs, not_shown) = (count("behaves"), count("departs"), count("not-shown"));
        let assessed = behaves + departs;
        let share = |of: f64| (assessed as f64 * of * 1e3).round() / 1e3;
        (assessed + not_shown > 0).then(|| FunctionCount {
            function: function.key(),
            title: words::title(*function),
            assessed,
            behaves,
            departs,
            departs_certainly: all().filter(|of| of.answer == "departs" && of.sure == Some("certain")).count(),
            not_shown,
            expected_certain: share(FALSE_ALARMS_CERTAIN),
            expected: share(FALSE_ALARMS),
        })
    };
    functions.iter().filter_map(of).collect()
}

/// What came of each group: those with the greatest share of departures first, those that nobody named last.
pub fn by<'l>(lines: impl Iterator<Item = &'l DeviceLine>, group: impl Fn(&DeviceLine) -> String) -> Vec<GroupCount> {
    let mut groups: BTreeMap<String, [usize; 3]> = BTreeMap::new();
    for line in lines {
        let [devices, assessed, departs] = groups.entry(group(line)).or_default();
        *devices += 1;
        *assessed += usize::from(line.answer.is_assessed());
        *departs += usize::from(line.answer == FleetAnswer::Departs);
    }
    let count = |(name, [devices, assessed, departs]): (String, [usize; 3])| GroupCount {
        name,
        devices,
        assessed,
        departs,
        departs_percent: (assessed >= ENOUGH)
            .then(|| clopper_pearson(departs as u64, assessed as u64).map(|share| (share * 1_000.0).round() / 10.0)),
    };
    let mut groups: Vec<GroupCount> = groups.into_iter().map(count).collect();
    let share = |group: &GroupCount| group.departs as f64 / group.assessed.max(1) as f64;
    groups.sort_by(|one, other| {
        (one.name.is_empty(), one.departs_percent.is_none())
            .cmp(&(other.name.is_empty(), other.departs_percent.is_none()))
            .then_with(|| share(other).total_cmp(&share(one)))
            .then_with(|| one.name.cmp(&other.name))
    });
    groups
}
