//! `asleft test-sheet`: the tests to do on site, and what measurements come to.

mod commissioning;
mod csv;
mod page;
pub mod people;

use super::{assessor, texts};
use crate::Exit;
use crate::args::{TestSheet, TestSheetFormat};
use crate::render;
use crate::report::test_sheet::TestSheetReport;
use crate::walk::write_messages;
use record::TestResult;
use record::making::test_sheet;
use rules::provenance::Verdict;
use std::io;

/// Prints the test sheet of a site.
pub fn run(args: &TestSheet) -> io::Result<Exit> {
    let mut assessor = assessor(&args.under)?;
    let sheet = match test_sheet(&texts(&args.site, &args.filled, args.results.as_deref())?, &mut assessor) {
        Ok(sheet) => sheet,
        Err(findings) => return write_messages(&findings, &assessor.sources).map(|()| Exit::CouldNotTell),
    };
    let mut out = terminal::stdout();
    match args.format {
        TestSheetFormat::Text => people::write(&mut out, &sheet, assessor.today)?,
        TestSheetFormat::Csv => csv::write(&mut out, &sheet)?,
        TestSheetFormat::Html => page::write(&mut out, &sheet, assessor.today)?,
        TestSheetFormat::Commissioning => commissioning::write(&mut out, &sheet)?,
        TestSheetFormat::Json => render::json(&mut out, &TestSheetReport::new(&sheet, assessor.today))?,
    }
    Ok(match sheet.outcome {
        None | Some(Verdict::Complies) => Exit::Fine,
        Some(_) => Exit::NotFine,
    })
}

/// What a test came to, in print.
pub fn words(result: TestResult) -> &'static str {
    match result {
        TestResult::Passed => "passed",
        TestResult::Failed => "FAILED",
        TestResult::NotProven => "not proven",
        TestResult::NotDone => "not done",
        TestResult::ByTypeTest => "by type test",
    }
}

/// What all tests came to, in print.
pub fn of_all(outcome: Verdict) -> &'static str {
    match outcome {
        Verdict::Complies => "all passed",
        Verdict::NotProven | Verdict::CouldNotTell => "not proven",
        Verdict::DoesNotComply => "FAILED",
    }
}

/// What a figure is, in print.
pub fn figure(figure: record::Figure) -> &'static str {
    record::site_tests::figure_title(figure)
}
