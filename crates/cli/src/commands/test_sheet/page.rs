//! The test sheet for paper: one page of its own, without anything from elsewhere.

use super::people::is_by_type_test;
use super::{figure, of_all, words};
use crate::render::origins::Origins;
use maud::{DOCTYPE, Markup, PreEscaped, html};
use record::making::TestSheet;
use record::{Expected, Test};
use rules::provenance::Standing;
use std::io::{self, Write};

/// Writes the page.
pub fn write(out: &mut dyn Write, sheet: &TestSheet, as_of: jiff::civil::Date) -> io::Result<()> {
    let (by_type_test, on_site): (Vec<&Test>, Vec<&Test>) = sheet.tests.iter().partition(|test| is_by_type_test(test));
    let mut origins = Origins::default();
    let tests: Vec<Markup> = on_site.iter().enumerate().map(|(n, test)| on_site_test(n + 1, test, sheet, &mut origins)).collect();
    let stands_for = (!by_type_test.is_empty()).then(|| type_tested(&by_type_test, &mut origins));
    let page = html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                title { "Test sheet, " (sheet.site) }
                style { (PreEscaped(STYLE)) }
            }
            body {
                header {
                    h1 { "Test sheet" @if let Some(outcome) = sheet.outcome { ": " (of_all(outcome)) } }
                    p.site { (sheet.site) }
                    p { "under " (sheet.under) ", as of " (as_of.to_string()) }
                }
                section.mind {
                    h2 { "Before anything is tested" }
                    ul { @for caution in &sheet.cautions { li { (caution) } } }
                }
                @for test in tests { (test) }
                @if let Some(stands_for) = stands_for { (stands_for) }
                @if !sheet.without.is_empty() {
                    section { h2 { "Not planned: no figure is known" } ul { @for says in &sheet.without { li { (says) } } } }
                }
                section.sign {
                    h2 { "Done by" }
                    table { tbody {
                        tr { th scope="row" { "Role and licence number" } td {} }
                        tr { th scope="row" { "Instrument, serial, calibrated until" } td {} }
                        tr { th scope="row" { "Date and signature" } td {} }
                    } }
                }
                section.from {
                    h2 { "Where each figure was found" }
                    ol { @for origin in origins.all() { li { (origin) } } }
                }
                footer { "A test without a result is not done, and not a pass. Only the network operator, local rules and the device's manual decide." }
            }
        }
    };
    writeln!(out, "{}", page.into_string())
}

fn on_site_test(n: usize, test: &Test, sheet: &TestSheet, origins: &mut Origins) -> Markup {
    html! {
        section.test {
            h2 { (n) " " (test.title) @if sheet.outcome.is_some() { ": " (words(test.result)) } }
            p.name { (test.name) }
            ul.steps { @for step in &test.steps { li { (step) } } }
            table {
                thead { tr {
                    th.measure scope="col" { "Measure" } th.expected scope="col" { "Expected" } th.tolerance scope="col" { "Test tolerance" }
                    th.blank scope="col" { "Measured" } th.mark scope="col" { "Initials" } th.source scope="col" { "From" }
                } }
                tbody { @for expected in &test.expected {
                    tr {
                        th.measure scope="row" { (figure(expected.figure)) }
                        td.expected { (expected.says) }
                        td.tolerance { (expected.tolerance.as_ref().map_or("-", |tolerance| &tolerance.says)) }
                        td.blank { (measured(test, expected)) }
                        td.mark {}
                        td.source { (mark(expected, origins)) }
                    }
                } }
            }
            @if sheet.outcome.is_some() { p.says { (words(test.result)) ": " (test.says) } }
            @else { p.not-done { "Not done because" span.line {} "to be done by" span.line.short {} } }
        }
    }
}

fn measured<'t>(test: &'t Test, expected: &Expected) -> &'t str {
    test.measured.iter().find(|measured| measured.figure == expected.figure).map_or("", |measured| &measured.value)
}

fn type_tested(tests: &[&Test], origins: &mut Origins) -> Markup {
    html! {
        section.test {
            h2 { "By type test" }
            p { "Not tested on site: no hand can time these, or they need a source whose voltage and frequency can be moved. The type test of the certified device stands for them." }
            table {
                thead { tr { th scope="col" { "Stage" } th.expected scope="col" { "Off within" } th.tolerance scope="col" { "Stands for it" } th.source scope="col" { "From" } } }
                tbody { @for test in tests { @for expected in &test.expected {
                    tr {
                        th scope="row" { (test.device) ": " (test.title) }
                        td.expected { (expected.says) }
                        td.tolerance { (test.says) }
                        td.source { (mark(expected, origins)) }
                    }
                } } }
            }
        }
    }
}

/// The numbers of where a figure and its tolerance were found, and how sure they are.
fn mark(expected: &Expected, origins: &mut Origins) -> Markup {
    let own = (origins.number(&expected.from), expected.basis.map_or("", Standing::column));
    let tolerance = expected.tolerance.as_ref();
    let tolerance = tolerance.map(|tolerance| (origins.number(&format!("Tolerance: {}", tolerance.source)), tolerance.basis.column()));
    html! { (own.0) " " (own.1) @if let Some((number, basis)) = tolerance { br; (number) " " (basis) } }
}

const STYLE: &str = include_str!("page.css");
