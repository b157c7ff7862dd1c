//! What has to be known of a log before its answers are believed.

use crate::args::{Events, InService, MeansStamped, MeasuredAt};
use logs::Layout;
use views::played::events::grouped;
use views::played::told::Scene;

/// What has to be known of a log before its answers are believed.
pub fn notes(args: &Events, layout: &Layout, scene: &Scene, in_service: Option<bool>) -> Vec<String> {
    let mut notes = vec![layout.clock.told()];
    if let Some(order) = layout.dates {
        let by = if args.dates.is_some() { "as said" } else { "as the log shows" };
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
    match args.measured_at {
        Some(MeasuredAt::Terminals) => notes.push("measured at the device's terminals".to_owned()),
        Some(place) => notes.push(format!(
            "measured at the {}, not at the terminals: while it gives power the device sees more, so its overvoltage stages and volt-watt \
             are not decided exactly",
            if place == MeasuredAt::Supply { "point of supply" } else { "switchboard" }
        )),
        None => notes.push(
            "where it was measured is not said (`--measured-at`): only a log from the terminals shows what the device saw".to_owned(),
        ),
    }
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
    if scene.are_means {
        let said =
            if args.means.is_none() { "counted as means, by their spacing or heading (`--samples` says otherwise)" } else { "means" };
        let stamp = if args.means == Some(MeansStamped::End) { "the end" } else { "the beginning" };
        notes.push(format!("values are {said}, stamped with {stamp} of their interval"));
    }
    match (args.in_service, in_service) {
        (None, None) => notes.push("whether the device was on when the log begins is not said (`--in-service`)".to_owned()),
        (None, Some(_)) => notes.push("the device was on when the log begins: it gave power".to_owned()),
        (Some(InService::Yes), _) => notes.push("the device was on when the log begins, as said".to_owned()),
        (Some(InService::No), _) => notes.push("the device was off when the log begins, as said".to_owned()),
    }
    notes
}
