//! The test sheet on a terminal.

use super::{figure, of_all, words};
use crate::render::origins::Origins;
use crate::render::{self, heading, table, wrapped};
use record::making::TestSheet;
use record::{Certainty, Expected, Test, TestResult};
use std::io::{self, Write};

/// Writes the sheet: what to mind first, then each test, then what the type test stands for.
pub fn write(out: &mut dyn Write, sheet: &TestSheet, as_of: jiff::civil::Date) -> io::Result<()> {
    let width = render::width();
    let verdict = sheet.outcome.map_or_else(String::new, |outcome| format!(": {}", of_all(outcome)));
    render::title(out, &format!("Test sheet{verdict}"), &sheet.site)?;
    writeln!(out, "{}", wrapped(&format!("under {}, as of {as_of}", sheet.under), width, 2))?;
    heading(out, "BEFORE YOU START", "")?;
    for caution in &sheet.cautions {
        writeln!(out, "  - {}", wrapped(caution, width - 4, 4))?;
    }
    let (by_type_test, on_site): (Vec<&Test>, Vec<&Test>) = sheet.tests.iter().partition(|test| is_by_type_test(test));
    let mut origins = Origins::default();
    for (n, test) in on_site.iter().enumerate() {
        let result = sheet.outcome.map_or_else(String::new, |_| format!(": {}", words(test.result)));
        heading(out, &format!("{}  {}{result}", n + 1, test.title), "")?;
        writeln!(out, "  {}", test.name)?;
        for step in &test.steps {
            writeln!(out, "  - {}", wrapped(step, width - 4, 4))?;
        }
        writeln!(out, "{}", table_of(test.expected.iter().map(|e| (figure(e.figure).to_owned(), e)), &mut origins, width))?;
        if sheet.outcome.is_some() {
            writeln!(out, "  {}", wrapped(&format!("{}: {}", words(test.result), test.says), width - 2, 4))?;
            let seen = test.saw.iter().map(|saw| format!("seen: {saw}"));
            let by = test.instrument.iter().map(|instrument| format!("with {instrument}"));
            for said in seen.chain(by) {
                writeln!(out, "  {}", wrapped(&said, width - 2, 4))?;
            }
        }
    }
    if !by_type_test.is_empty() {
        heading(out, "BY TYPE TEST", "not tested on site")?;
        let says = "No hand can time these, or they need a source whose voltage and frequency can be moved: they rely on the type test.";
        writeln!(out, "  {}", wrapped(says, width - 2, 2))?;
        let rows = by_type_test.iter().flat_map(|test| test.expected.iter().map(|e| (test.name.clone(), e)));
        writeln!(out, "{}", table_of(rows, &mut origins, width))?;
        for test in by_type_test.iter().filter(|test| test.result != TestResult::ByTypeTest) {
            writeln!(out, "  {}", wrapped(&format!("{}: {}: {}", test.name, words(test.result), test.says), width - 2, 4))?;
        }
    }
    if !sheet.without.is_empty() {
        heading(out, "NOT PLANNED", "no figure is known for these")?;
        for says in &sheet.without {
            writeln!(out, "  {}", wrapped(says, width - 2, 4))?;
        }
    }
    origins.write(out, width)?;
    writeln!(out)
}

/// Whether nobody does it on site.
pub fn is_by_type_test(test: &Test) -> bool {
    test.expected.iter().all(|expected| expected.certainty == Certainty::TypeTest)
}

fn table_of<'e>(rows: impl Iterator<Item = (String, &'e Expected)>, origins: &mut Origins, width: usize) -> String {
    let mut table = table::table(["Measure", "Expected", "Test tolerance", "From"], width - 2);
    let rows: Vec<(String, &Expected)> = rows.collect();
    table::whole(&mut table, 0, rows.iter().map(|(name, _)| name.as_str()));
    table::at_least(&mut table, 1, 16);
    for (name, expected) in rows {
        let mut from = origins.mark(&expected.from);
        from.extend(expected.basis.map(|basis| format!(" {}", basis.column())));
        let tolerance = expected.tolerance.as_ref().map_or_else(
            || "-".to_owned(),
            |tolerance| {
                from.push_str(&format!(", [{}] {}", origins.number(&format!("tolerance: {}", tolerance.source)), tolerance.basis.column()));
                tolerance.says.clone()
            },
        );
        table.add_row([name, render::unbroken(&expected.says), render::unbroken(&tolerance), from]);
    }
    table::lines(&table, &[])
}
