//! The tests on site, done or not.

use crate::commands::test_sheet::{figure, words};
use paper::{Block, Column, Part, Row, Run, Table, Text, plain};
use record::{Record, Test, TestResult};

/// The part; `None` where nothing was to be tested.
pub fn part(record: &Record) -> Option<Part> {
    let (by_type_test, on_site): (Vec<&Test>, Vec<&Test>) = record.tests.iter().partition(|test| test.result == TestResult::ByTypeTest);
    let mut blocks = Vec::new();
    if !on_site.is_empty() {
        let rows = on_site.iter().map(|test| row(test)).collect();
        blocks.push(Block::Table(Table { caption: "Tests on site".to_owned(), columns: columns(), rows }));
    }
    if !by_type_test.is_empty() {
        blocks.push(Block::Heading("By type test".to_owned()));
        blocks.push(Block::Words(plain(
            "Not tested on site: no hand can time these, or they need a source whose voltage and frequency can be moved. The type test of the certified device stands for them.",
        )));
        let each = by_type_test.iter().map(|test| plain(format!("{}, {}: {}", test.device, test.title.to_lowercase(), expected(test))));
        blocks.push(Block::List(each.collect()));
    }
    if !record.not_planned.is_empty() {
        blocks.push(Block::Heading("Not planned: no figure is known".to_owned()));
        blocks.push(Block::List(record.not_planned.iter().map(plain).collect()));
    }
    (!blocks.is_empty()).then(|| Part { title: "Tests on site".to_owned(), starts_page: true, blocks })
}

fn columns() -> Vec<Column> {
    let columns = [("Test", 20), ("Expected", 20), ("Measured", 16), ("Came to", 12), ("Because", 40)];
    columns.map(|(title, share)| Column { title: title.to_owned(), share }).to_vec()
}

fn row(test: &Test) -> Row {
    let measured: Vec<String> = test.measured.iter().map(|one| format!("{}: {}", figure(one.figure), one.value)).collect();
    let measured = if measured.is_empty() { "-".to_owned() } else { measured.join("; ") };
    let cells = vec![
        plain(format!("{}: {}", test.device, test.title)),
        plain(expected(test)),
        plain(measured),
        plain(words(test.result)),
        because(test),
    ];
    if test.result == TestResult::Passed { Row::Cells(cells) } else { Row::Marked(cells) }
}

fn expected(test: &Test) -> String {
    test.expected.iter().map(|one| format!("{}: {}", figure(one.figure), one.says)).collect::<Vec<_>>().join("; ")
}

/// Why it came to that, with what, when, and what else was seen.
fn because(test: &Test) -> Text {
    let with = test.instrument.as_ref().map(|instrument| format!("with {instrument}"));
    let on = test.date.as_ref().map(|day| format!("on {day}"));
    let saw = test.saw.as_ref().map(|saw| format!("seen: {saw}"));
    let more: Vec<String> = [with, on, saw].into_iter().flatten().collect();
    let mut text = plain(&test.says);
    if !more.is_empty() {
        text.push(Run::Plain(format!("; {}", more.join(", "))));
    }
    text
}
