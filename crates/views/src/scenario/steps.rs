//! The steps of a scenario in words.

use crate::played::sentences::lasting;
use crate::played::told::short;
use crate::report::scenario::{ScenarioTold, StepTold};
use logs::Shown;

/// Steps that are told one by one.
pub const TOLD: usize = 40;

/// The steps of a scenario as a table, wherever it is shown.
pub struct Steps {
    /// Over the columns.
    pub headings: Vec<&'static str>,
    /// A row for each of the first [`TOLD`] steps.
    pub rows: Vec<Vec<String>>,
}

impl Steps {
    /// Of a scenario; a column that says nothing is left out.
    pub fn of(told: &ScenarioTold) -> Self {
        let has = |differs: fn(&StepTold) -> bool| told.steps.iter().any(differs);
        let has_use = has(|step| step.own_use != [0.0; 2]);
        let has_words = has(|step| !happens(step).is_empty());
        let is_apart = has(|step| step.voltage.iter().any(|phases| phases.iter().any(|volts| *volts != phases[0])));
        let mut headings = vec!["From", "For", "Voltage", "Frequency", "Available"];
        headings.extend(has_use.then_some("Own use"));
        headings.extend(has_words.then_some("What happens"));
        let row = |step: &StepTold| {
            let mut cells = vec![
                Shown::FromBeginning.time((step.from * 1e6).round() as i64),
                lasting(step.to - step.from),
                voltage(step, is_apart),
                moved(step.frequency, "Hz", 1.0),
                moved(step.available, "kW", 1e-3),
            ];
            cells.extend(has_use.then(|| moved(step.own_use, "kW", 1e-3)));
            cells.extend(has_words.then(|| happens(step)));
            cells
        };
        Self { headings, rows: told.steps.iter().take(TOLD).map(row).collect() }
    }
}

/// What the class is told, and what is lost or comes back.
fn happens(step: &StepTold) -> String {
    let links = |links: &[&str], what: &str| links.iter().map(|link| format!("({}: {what})", link.replace('-', " "))).collect::<Vec<_>>();
    let words = step.says.clone().into_iter().chain(links(&step.loses, "lost")).chain(links(&step.regains, "back"));
    words.collect::<Vec<_>>().join(" ")
}

/// `230 V`, or `230 V to 253 V`.
fn moved([begins, ends]: [f64; 2], unit: &str, scale: f64) -> String {
    let shown = |value: f64| format!("{} {unit}", short(value * scale));
    if begins == ends { shown(begins) } else { format!("{} to {}", shown(begins), shown(ends)) }
}

/// The voltage of a step, of each phase where they differ.
fn voltage(step: &StepTold, is_apart: bool) -> String {
    let [begins, ends] = step.voltage;
    if !is_apart {
        return moved([begins[0], ends[0]], "V", 1.0);
    }
    (0..3).map(|phase| format!("L{} {}", phase + 1, moved([begins[phase], ends[phase]], "V", 1.0))).collect::<Vec<_>>().join("\n")
}
