//! `asleft register roll-up`: what the sites of each company, branch and crew came to.

use super::{filter, of_walk, open};
use crate::Exit;
use crate::args::{Format, RegisterRollUp};
use crate::render::{self, table};
use crate::report::register::{Counts, RollUpReport, RollUpRow};
use std::collections::BTreeMap;
use std::io::{self, Write};

/// Counts the newest state of every site.
pub fn run(args: &RegisterRollUp) -> io::Result<Exit> {
    let path = &args.register.register;
    let register = open(path)?;
    let (mut all, mut rows) = (Counts::default(), BTreeMap::<(String, Option<String>, Option<String>), Counts>::new());
    let walked = register.each(&filter(&args.which, false), &mut |entry, _| {
        let (who, verdict) = (entry.header.answerable, entry.header.verdict);
        let [company, branch, crew] = [who.company, who.branch, who.crew].map(Option::unwrap_or_default);
        all.count(verdict);
        for key in [(company.clone(), None, None), (company.clone(), Some(branch.clone()), None), (company, Some(branch), Some(crew))] {
            rows.entry(key).or_default().count(verdict);
        }
        Ok(())
    });
    walked.map_err(of_walk(path))?;
    let row =
        |((company, branch, crew), sites): ((String, Option<String>, Option<String>), Counts)| RollUpRow { company, branch, crew, sites };
    let report = RollUpReport { all, answerable: rows.into_iter().map(row).collect() };
    let mut out = anstream::stdout().lock();
    match args.format {
        Format::Text => write_text(&mut out, &report)?,
        Format::Json => {
            serde_json::to_writer_pretty(&mut out, &report)?;
            writeln!(out)?;
        }
    }
    Ok(Exit::Fine)
}

fn write_text(out: &mut dyn Write, report: &RollUpReport) -> io::Result<()> {
    let mut table = table::table(["Who answers", "Sites", "Comply", "Not proven", "Do not comply", "Share"], render::width());
    let mut add = |name: String, counts: Counts| {
        let Counts { sites, complies, not_proven, does_not_comply } = counts;
        // rounded down: 99.6 % is not all of them
        let share = (complies * 100).checked_div(sites).map_or("-".to_owned(), |share| format!("{share} %"));
        table.add_row([name, sites.to_string(), complies.to_string(), not_proven.to_string(), does_not_comply.to_string(), share]);
    };
    let named = |name: &str, of: &str| if name.is_empty() { format!("no {of} named") } else { name.to_owned() };
    // where nobody is named, the parts are no news
    let is_news = |row: &&RollUpRow| row.branch.as_deref() != Some("") || row.crew.as_deref().is_some_and(|crew| !crew.is_empty());
    for row in report.answerable.iter().filter(is_news) {
        let name = match (&row.branch, &row.crew) {
            (None, _) => named(&row.company, "company"),
            (Some(branch), None) => format!("{}{}", table::INDENT, named(branch, "branch")),
            (_, Some(crew)) => format!("{}{}{}", table::INDENT, table::INDENT, named(crew, "crew")),
        };
        add(name, row.sites);
    }
    add("all sites".to_owned(), report.all);
    writeln!(out, "{}", table::lines(&table, &[]))
}
