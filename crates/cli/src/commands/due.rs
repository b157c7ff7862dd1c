//! `asleft due`: what is due at the sites of a register, and when.

use super::clock;
use crate::Exit;
use crate::args::{Due as Args, Format};
use crate::files::register::{filter, of_walk, open};
use crate::render::{self, table, wrapped};
use crate::report::due::{Rows, words};
use crate::report::register::DueReport;
use std::io::{self, Write};

/// Lists what is due, soonest first.
pub fn run(args: &Args) -> io::Result<Exit> {
    let (path, today) = (&args.register.register, args.as_of.unwrap_or_else(clock));
    let mut rows = Rows::new(today);
    let register = open(path)?;
    let walked = register.each(&filter(&register, &args.which, false)?, &mut |entry, _| {
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

fn write_text(out: &mut dyn Write, report: &DueReport) -> io::Result<()> {
    let width = render::width();
    render::title(out, "DUE", &format!("as of {}, by the newest record of each site", report.as_of))?;
    if report.due.is_empty() {
        return writeln!(out, "  nothing is due");
    }
    let mut table = table::table(["By", "", "What", "Site", "Who answers"], width);
    for row in &report.due {
        let [by, when, what, site, who] = words(row);
        // a long name of a setting may be folded behind its slashes
        let what = if width < 100 { what.replace('/', "/ ") } else { what };
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
