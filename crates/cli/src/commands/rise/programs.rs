//! The rise for programs.

use super::Told;
use super::figures::Limited;
use super::settling::could_give;
use crate::report::curve::number;
use crate::report::layers;
use crate::report::rise::{CableReport, FigureReport, InverterReport, RiseReport, SettledInverter, SettledReport};

/// All that is told of a site.
pub fn report(told: &Told<'_>) -> RiseReport {
    let (plan, figures) = (&told.plan, &told.figures);
    let settled = told.rows.iter().map(|row| SettledReport {
        supply: row.supply,
        share: row.share,
        inverters: row.settled.as_ref().ok().map(|settled| {
            let each = settled.iter().enumerate().map(|(n, settled)| SettledInverter {
                inverter: plan.inverters[n].name.to_owned(),
                voltage: rounded(settled.voltage, 4),
                active: rounded(settled.point.active, 2),
                reactive: rounded(settled.point.reactive, 2),
                curtailed: rounded(could_give(plan, n, row.share) - settled.point.active, 2),
                held_by: settled.point.held_by.phrase(),
                loop_gain: rounded(settled.loop_gain, 4),
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
                volts_by_phasors: rise.exact.ok().map(|volts| rounded(volts, 4)),
                volts_with_others_off: rounded(rise.others_off, 4),
                limit: inverter.limit,
                loses_1_percent_above: begins.losing[0].map(|volts| rounded(volts, 2)),
                loses_10_percent_above: begins.losing[1].map(|volts| rounded(volts, 2)),
                passes_limit_above: begins.passing_limit.map(|volts| rounded(volts, 2)),
            })
            .collect(),
        settled: settled.collect(),
        taken_as: told.granted(),
        ..RiseReport::not_proven(told.site, &told.day, layers(told.assessment), Vec::new())
    }
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
        otherwise_from: limited.otherwise.iter().map(|(_, base)| rounded(*base, 4)).collect(),
    }
}

/// So many decimals, and never a zero below zero.
fn rounded(number: f64, decimals: i32) -> f64 {
    let scale = 10_f64.powi(decimals);
    (number * scale).round() / scale + 0.0
}
