//! What has to be known of a log before its answers are believed.

use crate::args::{Events, InService, MeasuredAt};
use crate::commands::logged::notes::{spelling, values};
use logs::Layout;
use views::played::told::Scene;

/// What has to be known of a log before its answers are believed.
pub fn notes(args: &Events, layout: &Layout, scene: &Scene, in_service: Option<bool>) -> Vec<String> {
    let mut notes = spelling(&args.form, layout);
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
    notes.extend(values(&args.form, layout, scene.are_means));
    match (args.in_service, in_service) {
        (None, None) => notes.push("whether the device was on when the log begins is not said (`--in-service`)".to_owned()),
        (None, Some(_)) => notes.push("the device was on when the log begins: it gave power".to_owned()),
        (Some(InService::Yes), _) => notes.push("the device was on when the log begins, as said".to_owned()),
        (Some(InService::No), _) => notes.push("the device was off when the log begins, as said".to_owned()),
    }
    notes
}
