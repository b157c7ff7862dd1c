//! Which device to look at first: by stated keys, one after another, and no score that blends them.

use crate::report::behaves::FunctionReport;
use crate::report::behaves_fleet::{DeviceLine, RankReport};
use std::cmp::Ordering;

/// The kinds of departure, the gravest first.
pub const ORDER: [&str; 6] = [
    "stays on when it must be off",
    "gives more than a limit",
    "volt-watt or volt-var is off or reversed",
    "another response to frequency",
    "another response",
    "comes back too early or too fast",
];

/// Devices that depart, by their keys; then the others, those of which nobody could tell first.
pub fn order(one: &DeviceLine, other: &DeviceLine) -> Ordering {
    let keys = |line: &DeviceLine| line.rank.as_ref().map(|rank| (rank.order, !rank.certain));
    let missed = |line: &DeviceLine| line.rank.as_ref().map_or(0.0, |rank| rank.missed_kvah);
    let name = |line: &DeviceLine| (line.site.clone(), line.device.clone());
    one.answer
        .cmp(&other.answer)
        .then_with(|| keys(one).cmp(&keys(other)))
        .then_with(|| missed(other).total_cmp(&missed(one)))
        .then_with(|| name(one).cmp(&name(other)))
}

/// The gravest of what departs.
pub fn rank(functions: &[FunctionReport], rated: f64) -> Option<RankReport> {
    let ranks = functions.iter().filter(|function| function.answer == "departs").map(|function| rank_of(function, rated));
    ranks.min_by(|one, other| {
        let keys = |rank: &RankReport| (rank.order, !rank.certain);
        keys(one).cmp(&keys(other)).then_with(|| other.missed_kvah.total_cmp(&one.missed_kvah))
    })
}

fn rank_of(report: &FunctionReport, rated: f64) -> RankReport {
    let order = kind(report);
    let hours = report.minutes.as_ref().map_or(0.0, |minutes| minutes.outside / 60.0);
    let typical = report.size.as_ref().map_or(rated, |size| size.typical);
    RankReport {
        order,
        because: ORDER[order - 1],
        function: report.function,
        certain: report.sure == Some("certain"),
        missed_kvah: (typical * hours / 1e3 * 100.0).round() / 100.0,
    }
}

fn kind(report: &FunctionReport) -> usize {
    let looks_like = report.looks_like.as_ref().and_then(|looks| looks.name.as_deref());
    let does_nothing = looks_like.is_some_and(|name| name == "off" || name == "reversed signs");
    match report.function {
        "trips" => 1,
        "export-limit" | "generation-limit" => 2,
        "volt-watt" | "volt-var" if does_nothing => 3,
        "over-frequency-response" | "under-frequency-response" => 4,
        "reconnection" => 6,
        _ => 5,
    }
}
