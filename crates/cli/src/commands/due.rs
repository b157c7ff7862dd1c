//! `asleft due`: what is due at the sites of a register, and when.

use super::clock;
use super::register::{filter, of_walk, open};
use crate::Exit;
use crate::args::{Due as Asked, Format};
use crate::render::{self, table, wrapped};
use crate::report::register::{DueReport, DueRow};
use jiff::civil::Date;
use record::register::{Due, DueKind, Header};
use std::collections::HashMap;
use std::collections::hash_map::Entry;
use std::io::{self, Write};

/// Lists what is due, soonest first.
pub fn run(args: &Asked) -> io::Result<Exit> {
    let (path, today) = (&args.register.register, args.as_of.unwrap_or_else(clock));
    let mut rows = Rows::new(today);
    let walked = open(path)?.each(&filter(&args.which, false), &mut |entry, _| {
        rows.add(entry.header);
        Ok(())
    });
    walked.map_err(of_walk(path))?;
    let report = rows.report(args.within);
    let mut out = terminal::stdout();
    match args.format {
        Format::Text => write_text(&mut out, &report)?,
        Format::Json => render::json(&mut out, &report)?,
    }
    Ok(if report.overdue > 0 { Exit::NotFine } else { Exit::Fine })
}

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

fn write_text(out: &mut dyn Write, report: &DueReport) -> io::Result<()> {
    let width = render::width();
    render::title(out, "DUE", &format!("as of {}, by the newest record of each site", report.as_of))?;
    if report.due.is_empty() {
        return writeln!(out, "  nothing is due");
    }
    let mut table = table::table(["By", "", "What", "Site", "Who answers"], width);
    for row in &report.due {
        let [by, when, what, site, who] = words(row);
        table.add_row([by, when, render::unbroken(&what), site, who]);
    }
    table::at_least(&mut table, 0, 12);
    table::at_least(&mut table, 1, 15);
    table::whole(&mut table, 3, report.due.iter().filter(|row| row.sites.len() == 1).map(|row| row.sites[0].as_str()));
    writeln!(out, "{}\n", table::lines(&table, &[]))?;
    let says = match report.overdue {
        0 => "nothing is overdue".to_owned(),
        1 => "1 of them is overdue".to_owned(),
        many => format!("{many} of them are overdue"),
    };
    writeln!(out, "{}", wrapped(&says, width, 0))
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
