//! The test sheet for a spreadsheet, with empty columns to fill in.

use super::people::is_by_type_test;
use super::{figure, words};
use crate::render::spreadsheet::Spreadsheet;
use record::making::TestSheet;
use rules::provenance::Standing;
use std::io::{self, Write};

const HEADS: [&str; 16] = [
    "site",
    "test",
    "device",
    "title",
    "measure",
    "expected",
    "test tolerance",
    "basis",
    "from",
    "measured",
    "instrument",
    "date",
    "result",
    "because",
    "not done, why",
    "retry by",
];

/// One line for each figure of each test.
pub fn write(out: &mut dyn Write, sheet: &TestSheet) -> io::Result<()> {
    let mut table = Spreadsheet::to(out);
    table.row(HEADS)?;
    for test in &sheet.tests {
        let result = if sheet.outcome.is_some() || is_by_type_test(test) { words(test.result) } else { "" };
        let because = if sheet.outcome.is_some() || is_by_type_test(test) { test.says.as_str() } else { "" };
        for expected in &test.expected {
            let measured = test.measured.iter().find(|measured| measured.figure == expected.figure);
            table.row([
                sheet.site.as_str(),
                &test.name,
                &test.device,
                &test.title,
                figure(expected.figure),
                &expected.says,
                expected.tolerance.as_ref().map_or("", |tolerance| &tolerance.says),
                expected.basis.map_or("", Standing::column),
                &expected.from,
                measured.map_or("", |measured| &measured.value),
                test.instrument.as_deref().unwrap_or_default(),
                test.date.as_deref().unwrap_or_default(),
                result,
                because,
                test.not_done.as_deref().unwrap_or_default(),
                test.retry_by.as_deref().unwrap_or_default(),
            ])?;
        }
    }
    table.flush()
}
