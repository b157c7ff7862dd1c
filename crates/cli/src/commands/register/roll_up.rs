//! `asleft register roll-up`: what the sites of each company, branch and crew came to.

mod office;

use crate::Exit;
use crate::args::{Format, RegisterRollUp};
use crate::files::register::{filter, of_walk, open};
use crate::render::{self, table, wrapped};
use crate::report::register::{Counts, RollUpReport, RollUpRow};
use record::register::Header;
use std::collections::BTreeMap;
use std::io::{self, Write};

/// Counts the newest state of every site.
pub fn run(args: &RegisterRollUp) -> io::Result<Exit> {
    let path = &args.register.register;
    let register = open(path)?;
    if let Some(to) = &args.out {
        return office::run(args, &register, to);
    }
    let mut counted = Counted::default();
    let walked = register.each(&filter(&register, &args.which, false)?, &mut |entry, _| {
        counted.add(&entry.header);
        Ok(())
    });
    walked.map_err(of_walk(path))?;
    let report = counted.report();
    let mut out = terminal::stdout();
    match args.format {
        Format::Text => write_text(&mut out, &report)?,
        Format::Json => render::json(&mut out, &report)?,
    }
    Ok(Exit::Fine)
}

/// Company, branch and crew; what is `None` stands for all of them together.
type Who = (String, Option<String>, Option<String>);

/// Sites counted, as entries come by.
#[derive(Default)]
struct Counted {
    all: Counts,
    rows: BTreeMap<Who, Counts>,
}

impl Counted {
    fn add(&mut self, header: &Header) {
        let who = &header.answerable;
        let [company, branch, crew] = [&who.company, &who.branch, &who.crew].map(|name| name.clone().unwrap_or_default());
        self.all.count(header);
        for key in [(company.clone(), None, None), (company.clone(), Some(branch.clone()), None), (company, Some(branch), Some(crew))] {
            self.rows.entry(key).or_default().count(header);
        }
    }

    fn report(self) -> RollUpReport {
        let row = |((company, branch, crew), sites): (Who, Counts)| RollUpRow { company, branch, crew, sites };
        RollUpReport { all: self.all, answerable: self.rows.into_iter().map(row).collect() }
    }
}

fn write_text(out: &mut dyn Write, report: &RollUpReport) -> io::Result<()> {
    let mut table = table::table(COLUMNS, render::width());
    for (depth, cells) in rows(report) {
        let [name, counts @ ..] = cells;
        table.add_row([format!("{}{name}", table::INDENT.repeat(depth))].into_iter().chain(counts));
    }
    writeln!(out, "{}", table::lines(&table, &[]))?;
    told_besides(report.all).iter().try_for_each(|says| writeln!(out, "\n{}", wrapped(says, render::width(), 0)))
}

/// What a row says.
const COLUMNS: [&str; 7] = ["Who answers", "Sites", "Comply", "Unverified", "Not proven", "Do not comply", "Share"];

/// What the column means.
const UNVERIFIED: &str = "Unverified: those of the complying sites that agree with figures from memory or a single source, or disputed; compare them with a licensed copy.";

/// What the columns do not say: which sites are judged by figures that nobody verified.
fn told_besides(all: Counts) -> Vec<String> {
    let of =
        |sites: usize, one: &str, many: &str| (sites > 0).then(|| if sites == 1 { format!("1 {one}") } else { format!("{sites} {many}") });
    let unverified = (all.unverified > 0).then(|| UNVERIFIED.to_owned());
    let disputed = of(
        all.disputed,
        "complying site agrees with a figure that a licensed copy contradicts: no one should call it fine.",
        "complying sites agree with figures that a licensed copy contradicts: no one should call them fine.",
    );
    let broken = of(
        all.broken_by_unverified,
        "site that does not comply breaks only unverified figures: compare them with a licensed copy before anybody changes a setting.",
        "sites that do not comply break only unverified figures: compare them with a licensed copy before anybody changes a setting.",
    );
    unverified.into_iter().chain(disputed).chain(broken).collect()
}

/// Each company with its branches and their crews, and how deep each lies; all sites last.
fn rows(report: &RollUpReport) -> Vec<(usize, [String; 7])> {
    let cells = |name: String, counts: Counts| {
        let Counts { sites, complies, unverified, not_proven, does_not_comply, .. } = counts;
        // rounded down: 99.6 % is not all of them
        let share = (complies * 100).checked_div(sites).map_or("-".to_owned(), |share| format!("{share} %"));
        [name, sites.to_string(), complies.to_string(), unverified.to_string(), not_proven.to_string(), does_not_comply.to_string(), share]
    };
    let named = |name: &str, of: &str| if name.is_empty() { format!("no {of} named") } else { name.to_owned() };
    // where nobody is named, the parts are no news
    let is_news = |row: &&RollUpRow| row.branch.as_deref() != Some("") || row.crew.as_deref().is_some_and(|crew| !crew.is_empty());
    let of = |row: &RollUpRow| match (&row.branch, &row.crew) {
        (None, _) => (0, cells(named(&row.company, "company"), row.sites)),
        (Some(branch), None) => (1, cells(named(branch, "branch"), row.sites)),
        (_, Some(crew)) => (2, cells(named(crew, "crew"), row.sites)),
    };
    let all = (0, cells("all sites".to_owned(), report.all));
    report.answerable.iter().filter(is_news).map(of).chain([all]).collect()
}
