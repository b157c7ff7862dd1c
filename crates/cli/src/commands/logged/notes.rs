//! What has to be known of a log, whatever is done with it.

use crate::args::{LogForm, MeansStamped};
use logs::Layout;
use views::played::events::grouped;

/// How its times and rows are written.
pub fn spelling(form: &LogForm, layout: &Layout) -> Vec<String> {
    let mut notes = vec![layout.clock.told()];
    if let Some(order) = layout.dates {
        let by = if form.dates.is_some() { "as said" } else { "as the log shows" };
        notes.push(format!("dates are read {}, {by}", order.word()));
    }
    match layout.passed_over {
        0 => {}
        1 => notes.push("1 line above the heading was passed over".to_owned()),
        lines => notes.push(format!("{lines} lines above the heading were passed over")),
    }
    let [again, headings] = layout.says_nothing_new.counts();
    notes.extend(
        [
            (again, "says what the row before says: passed over", "say what the row before each says: passed over"),
            (headings, "is the heading once more: passed over", "are the heading once more: passed over"),
        ]
        .into_iter()
        .filter(|(count, ..)| *count > 0)
        .map(|(count, one, several)| match count {
            1 => format!("1 row {one}"),
            rows => format!("{} rows {several}", grouped(rows)),
        }),
    );
    notes
}

/// What its values are.
pub fn values(form: &LogForm, layout: &Layout, are_means: bool) -> Vec<String> {
    let mut notes = Vec::new();
    if layout.is_line_to_line {
        notes.push(
            "voltages between lines, divided by √3: right only where all phases are alike; a stage that one phase trips is not decided"
                .to_owned(),
        );
    }
    let assumed = layout.taken_for_volts();
    if !assumed.is_empty() {
        notes.push(format!("{}: no unit is said; by their size they are volts", assumed.join(", ")));
    }
    if are_means {
        let said =
            if form.means.is_none() { "counted as means, by their spacing or heading (`--samples` says otherwise)" } else { "means" };
        let stamp = if form.means == Some(MeansStamped::End) { "the end" } else { "the beginning" };
        notes.push(format!("values are {said}, stamped with {stamp} of their interval"));
    }
    notes
}
