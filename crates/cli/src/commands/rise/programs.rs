//! The rise for programs.

use super::RiseStudy;
use super::figures::Limited;
use super::settling::{Begins, From, Row, could_give};
use super::site::Plan;
use crate::report::layers;
use crate::report::rise::{
    ByPartsReport, CableReport, FigureReport, InverterReport, RiseReport, SettledInverter, SettledReport, SwingEnd, SwingReport,
};
use response::network::settle::Before;
use response::supply::{End, Jump, NoPoint};
use views::report::curve::number;

/// All that is told of a site.
pub fn report(told: &RiseStudy<'_>) -> RiseReport {
    let (plan, figures) = (&told.plan, &told.figures);
    let settled = told.rows.iter().map(|row| SettledReport {
        supply: row.supply,
        share: row.share,
        before: row.before.map(|before| if before == Before::Acting { "acting" } else { "not-acting" }),
        no_point: row.settled.as_ref().err().map(key),
        swings: swings(plan, row),
        inverters: row.settled.as_ref().ok().map(|settled| {
            let each = settled.iter().enumerate().map(|(n, settled)| SettledInverter {
                inverter: plan.inverters[n].name.to_owned(),
                voltage: rounded(settled.voltage, VOLTS),
                active: rounded(settled.point.active, POWERS),
                reactive: rounded(settled.point.reactive, POWERS),
                curtailed: rounded(could_give(plan, n, row.share) - settled.point.active, POWERS),
                held_by: settled.point.held_by.phrase(),
                loop_gain: rounded(settled.loop_gain, 4),
                acts: settled.acts,
            });
            each.collect()
        }),
    });
    RiseReport {
        verdict: told.verdict(),
        decided_by: told.decided_by(),
        nominal: Some(plan.nominal.approximate()),
        figures: figures.limited.iter().map(figure).collect(),
        cables: plan
            .cables
            .iter()
            .zip(&figures.cables)
            .map(|(laid, (current, volts))| CableReport {
                cable: laid.name.to_owned(),
                current: rounded(*current, 4),
                volts: rounded(*volts, 4),
                counts: laid.counts(),
                basis: laid.from.map(|row| row.basis()),
            })
            .collect(),
        inverters: plan
            .inverters
            .iter()
            .zip(&figures.inverters)
            .zip(&told.begins)
            .map(|((inverter, rise), begins)| InverterReport {
                inverter: inverter.name.to_owned(),
                volts: rounded(rise.simple, 4),
                volts_by_phasors: rise.exact.as_ref().ok().map(|volts| rounded(*volts, 4)),
                volts_with_others_off: rounded(rise.others_off, 4),
                limit: inverter.limit,
                loses_1_percent_above: begins.losing[0].volts().map(|volts| rounded(volts, 2)),
                loses_10_percent_above: begins.losing[1].volts().map(|volts| rounded(volts, 2)),
                passes_limit_above: begins.passing_limit.volts().map(|volts| rounded(volts, 2)),
                not_known: not_known(begins),
            })
            .collect(),
        settled: settled.collect(),
        taken_as: told.granted(),
        ..RiseReport::not_proven(told.site, &told.day, layers(told.assessment), Vec::new())
    }
}

/// Decimals of volts, and of watts and vars: a steep curve and its cables still agree by them to a millionth.
const VOLTS: i32 = 6;
const POWERS: i32 = 4;

/// The figures of an inverter that nobody knows.
fn not_known(begins: &Begins) -> Vec<&'static str> {
    let each = [
        (begins.losing[0], "loses-1-percent-above"),
        (begins.losing[1], "loses-10-percent-above"),
        (begins.passing_limit, "passes-limit-above"),
    ];
    each.into_iter().filter(|(from, _)| *from == From::NotKnown).map(|(_, key)| key).collect()
}

fn key(no: &NoPoint) -> &'static str {
    match no {
        NoPoint::TooWeak => "too-weak",
        NoPoint::NotAFigure => "not-a-figure",
        NoPoint::NotFound => "not-found",
        NoPoint::Swings(_) => "swings",
    }
}

fn swings(plan: &Plan<'_>, row: &Row) -> Vec<SwingReport> {
    let Err(NoPoint::Swings(swings)) = &row.settled else { return Vec::new() };
    let end = |end: End| SwingEnd {
        voltage: rounded(end.voltage, VOLTS),
        active: rounded(end.active, POWERS),
        reactive: rounded(end.reactive, POWERS),
    };
    let each = swings.iter().map(|swing| SwingReport {
        inverter: plan.inverters[swing.inverter].name.to_owned(),
        steps_at: if let Jump::Step(volts) = swing.jump { Some(rounded(volts, VOLTS)) } else { None },
        ends: swing.ends.map(end),
    });
    each.collect()
}

fn figure(limited: &Limited) -> FigureReport {
    FigureReport {
        setting: limited.setting.to_string(),
        volts: rounded(limited.volts, 4),
        percent: limited.percent.map(number),
        complies_within: limited.asked.as_ref().map(|(words, _)| words.clone()),
        required_by: limited.asked.as_ref().map(|(_, from)| from.clone()),
        basis: limited.basis,
        verdict: limited.verdict,
        by_parts: ByPartsReport {
            volts: rounded(limited.by_parts.volts, 4),
            percent: limited.by_parts.percent.map(number),
            verdict: limited.by_parts.verdict,
        },
        otherwise_from: limited.otherwise.iter().map(|(_, base)| rounded(*base, 4)).collect(),
    }
}

/// So many decimals, and never a zero below zero.
fn rounded(number: f64, decimals: i32) -> f64 {
    let scale = 10_f64.powi(decimals);
    (number * scale).round() / scale + 0.0
}
