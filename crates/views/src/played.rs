//! What devices did over time, as a report, in sentences and as a picture: what `events`, `scenario` and the page share.

pub mod events;
pub mod log_told;
pub mod picture;
pub mod sentences;
pub mod told;
mod undecided;

use crate::report::events::EventsReport;

/// What a comparison does not show.
pub fn not_shown(report: &EventsReport) -> &'static str {
    if report.log.made { AS_MADE } else { AS_MEASURED }
}

const AS_MADE: &str = "The voltages are those of the scenario, whatever the devices give: this says what settings do at these \
voltages, not what may be set.";
const AS_MEASURED: &str = "The voltages are those that were measured. A device that gives more or less than the one that was \
on site would have met others, so this says what settings do at these voltages, not what would have been, nor what may be set.";
