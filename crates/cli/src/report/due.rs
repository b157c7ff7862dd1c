//! What is due at the sites of a register: the same rows for `due` and for the paper of an office.

use super::register::{DueReport, DueRow};
use jiff::civil::Date;
use record::register::{Due, DueKind, Header};
use std::collections::HashMap;
use std::collections::hash_map::Entry;

/// What is due, as entries come by.
pub struct Rows {
    today: Date,
    due: Vec<DueRow>,
    /// The rows of instruments: one is used at many sites.
    instruments: HashMap<(String, Option<String>), usize>,
}

impl Rows {
    /// Nothing yet.
    pub fn new(today: Date) -> Self {
        Self { today, due: Vec::new(), instruments: HashMap::new() }
    }

    /// Adds what is due at a site.
    pub fn add(&mut self, header: Header) {
        for Due { by, kind, what } in header.due {
            if kind == DueKind::Calibration {
                match self.instruments.entry((what.clone(), by.clone())) {
                    Entry::Occupied(row) => {
                        self.due[*row.get()].sites.push(header.site.clone());
                        continue;
                    }
                    Entry::Vacant(free) => drop(free.insert(self.due.len())),
                }
            }
            let in_days = by.as_ref().and_then(|by| by.parse::<Date>().ok()).map(|by| days_between(self.today, by));
            self.due.push(DueRow { by, in_days, kind, what, sites: vec![header.site.clone()], answerable: header.answerable.clone() });
        }
    }

    /// Soonest first; with `within`, only what is due within so many days, and what is overdue.
    pub fn report(self, within: Option<i64>) -> DueReport {
        let Self { today, mut due, .. } = self;
        if let Some(within) = within {
            due.retain(|row| row.in_days.is_none_or(|days| days <= within));
        }
        due.sort_by_cached_key(|row| (row.by.is_none(), row.by.clone(), row.kind, row.sites.clone()));
        let overdue = due.iter().filter(|row| row.in_days.is_some_and(|days| days < 0)).count();
        DueReport { as_of: today.to_string(), overdue, due }
    }
}

fn days_between(from: Date, to: Date) -> i64 {
    i64::from(from.until(to).map(|span| span.get_days()).unwrap_or_default())
}

/// By which day, in how long, what, where, and who answers.
pub fn words(row: &DueRow) -> [String; 5] {
    let when = match row.in_days {
        None => "no day named".to_owned(),
        Some(0) => "today".to_owned(),
        Some(1) => "tomorrow".to_owned(),
        Some(days @ 2..) => format!("in {days} days"),
        Some(-1) => "OVERDUE by 1 day".to_owned(),
        Some(days) => format!("OVERDUE by {} days", -days),
    };
    let site = match &row.sites[..] {
        [site] => site.clone(),
        sites => format!("{} sites", sites.len()),
    };
    let who = &row.answerable;
    let who = [&who.crew, &who.branch, &who.company].into_iter().flatten().next().cloned().unwrap_or_else(|| "-".to_owned());
    [row.by.clone().unwrap_or_else(|| "-".to_owned()), when, format!("{}: {}", row.kind.phrase(), row.what), site, who]
}
