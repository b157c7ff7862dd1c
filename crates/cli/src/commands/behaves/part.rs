//! Which part of a log settings are judged by: a site that was altered within it held others before.

use crate::commands::operand::Moment;
use behaviour::reading::Setup;
use logs::{Row, Shown};
use replay::held::DeviceAtMoment;
use settings_model::exact::Exact;
use settings_model::facts::{FactId, date_of};

/// The rows that settings hold for.
pub struct Part {
    /// The day on which the site was altered, counted from 1970: on it both settings held.
    altered: Option<i32>,
    moment: Moment,
    /// Rows that are judged, and rows that are not.
    counts: [u64; 2],
}

impl Part {
    /// Of a device's settings at a moment; a log without dates is taken whole.
    pub fn of(held: &DeviceAtMoment<'_>, moment: Moment, clock: Shown) -> Self {
        let has_dates = matches!(clock, Shown::At(_) | Shown::AsWritten);
        let altered = held.facts.number(FactId::Altered).filter(|_| has_dates).map(|days| Exact::approximate(days) as i32);
        Self { altered, moment, counts: [0; 2] }
    }

    /// Whether a row is judged.
    pub fn takes(&mut self, row: &Row, setup: &Setup) -> bool {
        let is_judged = self.altered.is_none_or(|altered| match self.moment {
            Moment::AsLeft => setup.day(row.at) > altered,
            Moment::AsFound => setup.day(row.at) < altered,
        });
        self.counts[usize::from(!is_judged)] += 1;
        is_judged
    }

    /// What was not judged, in words.
    ///
    /// # Errors
    /// In words, where nothing is left.
    pub fn told(&self) -> Result<Vec<String>, String> {
        let [judged, others] = self.counts;
        let Some(altered) = self.altered.filter(|_| others > 0) else { return Ok(Vec::new()) };
        let date = date(altered);
        let (hold, other) = match self.moment {
            Moment::AsLeft => ("only after that day", "as-found"),
            Moment::AsFound => ("only before that day", "as-left"),
        };
        if judged == 0 {
            return Err(format!(
                "the site was altered on {date} (`dates`), and these settings hold {hold}: no row of the log is of that time; judge it by the other settings, `SITE:DEVICE:{other}`"
            ));
        }
        Ok(vec![format!(
            "The site was altered on {date}: these settings hold {hold}, and {others} rows of another time are not judged (`SITE:DEVICE:{other}` judges them)."
        )])
    }
}

/// A day for people.
pub fn date(day: i32) -> String {
    date_of(Exact::from(i64::from(day))).map_or_else(|| format!("day {day}"), |date| date.to_string())
}
