//! `asleft register list`: the newest state of each site.

use crate::Exit;
use crate::args::{Format, RegisterList};
use crate::files::register::{about, filter, of_walk, open};
use crate::render::{self, table};
use crate::report::register::{EntryReport, RegisterListReport};
use std::io::{self, Write};

/// Lists the entries asked for.
pub fn run(args: &RegisterList) -> io::Result<Exit> {
    let path = &args.register.register;
    let register = open(path)?;
    let entries = register.len().map_err(|fault| about(path, fault))?;
    let mut sites = Vec::new();
    let walked = register.each(&filter(&register, &args.which, args.all)?, &mut |entry, _| {
        sites.push(EntryReport::from(entry));
        Ok(())
    });
    walked.map_err(of_walk(path))?;
    let report = RegisterListReport { entries, sites };
    let mut out = terminal::stdout();
    match args.format {
        Format::Text => write_text(&mut out, &report, args.all)?,
        Format::Json => render::json(&mut out, &report)?,
    }
    Ok(Exit::Fine)
}

fn write_text(out: &mut dyn Write, report: &RegisterListReport, all: bool) -> io::Result<()> {
    let width = render::width();
    if !report.sites.is_empty() {
        let mut table = table::table(["Entry", "Site", "As of", "Verdict", "Answerable", "Seals"], width);
        let site = |name: &str| table::cut(name, width / 4);
        for entry in &report.sites {
            let who = &entry.answerable;
            let named: Vec<&str> = [&who.company, &who.branch, &who.crew].into_iter().flatten().map(String::as_str).collect();
            table.add_row([
                entry.entry.to_string(),
                site(&entry.site),
                entry.as_of.clone(),
                entry.headline.clone(),
                if named.is_empty() { "-".to_owned() } else { named.join(", ") },
                entry.sealed_by.len().to_string(),
            ]);
        }
        let sites: Vec<String> = report.sites.iter().map(|entry| site(&entry.site)).collect();
        table::whole(&mut table, 1, sites.iter().map(String::as_str));
        table::at_least(&mut table, 2, 12);
        table::at_least(&mut table, 3, 17);
        table::at_least(&mut table, 4, 13);
        writeln!(out, "{}\n", table::lines(&table, &[]))?;
    }
    let of = |n: u64, one: &str| {
        if n == 1 { format!("1 {one}") } else { format!("{n} {}", one.replace("entry", "entries").replace("site", "sites")) }
    };
    let shown = report.sites.len() as u64;
    match all {
        true => writeln!(out, "{} of {}", shown, of(report.entries, "entry")),
        false => writeln!(out, "{}, each in its newest state, of {}", of(shown, "site"), of(report.entries, "entry")),
    }
}
