//! The roll-up on paper: what the sites of an office came to, which of them want work, and what is due.

use super::{COLUMNS, Counted, rows, told_besides};
use crate::Exit;
use crate::args::RegisterRollUp;
use crate::commands::{clock, printed, refused};
use crate::files::register::{about, filter, of_walk};
use crate::report::due;
use crate::report::register::{Counts, DueReport};
use paper::{Block, Column, Headline, Paper, Part, Row, Run, Table, Text, Weight, plain, strong};
use record::canonical;
use record::register::{Entry, Register};
use rules::provenance::Verdict;
use std::io;
use std::path::Path;

/// Writes the paper of the sites asked for.
pub fn run(args: &RegisterRollUp, register: &Register, to: &Path) -> io::Result<Exit> {
    let form = match printed::Form::of(to) {
        Ok(form) => form,
        Err(says) => return refused(&says),
    };
    let (today, path) = (args.as_of.unwrap_or_else(clock), register.path());
    let (mut counted, mut due, mut wanting) = (Counted::default(), due::Rows::new(today), Vec::new());
    let walked = register.each(&filter(register, &args.which, false)?, &mut |entry, _| {
        counted.add(&entry.header);
        due.add(entry.header.clone());
        if entry.header.verdict != Verdict::Complies {
            wanting.push(entry);
        }
        Ok(())
    });
    walked.map_err(of_walk(path))?;
    let last = register.len().and_then(|number| register.entry(number)).map_err(|fault| about(path, fault))?;
    let (counts, due) = (counted.all, due.report(None));
    let parts = vec![
        part("Who answers, and what their sites came to", numbers(counted)),
        part("Sites that want work", sites(wanting, counts)),
        part("What is due", of_due(&due)),
        part("How it can be checked", checked(last.as_ref())),
    ];
    let link = last.map_or_else(|| "none".to_owned(), |entry| canonical::hex(&entry.link));
    let paper = Paper {
        title: format!("Sites of a register, as of {today}"),
        footer: format!("Sites of a register, as of {today}, last link {link}"),
        standing: standing(counts),
        parts,
    };
    printed::write(&paper, form, to, &args.on)
}

fn part(title: &str, blocks: Vec<Block>) -> Part {
    Part { title: title.to_owned(), starts_page: false, blocks }
}

fn standing(counts: Counts) -> Headline {
    let Counts { sites, does_not_comply, not_proven, unverified, .. } = counts;
    let (weight, says) = match (does_not_comply, not_proven) {
        _ if sites == 0 => (Weight::Mind, "NO SITES".to_owned()),
        (0, 0) if unverified > 0 => (Weight::Mind, format!("ALL OF {sites} AGREE, {unverified} WITH UNVERIFIED FIGURES")),
        (0, 0) => (Weight::Calm, format!("ALL OF {sites} COMPLY")),
        (0, open) => (Weight::Mind, format!("{open} OF {sites} NOT PROVEN")),
        (wrong, _) => (Weight::Stop, format!("{wrong} OF {sites} DO NOT COMPLY")),
    };
    Headline { says, weight }
}

fn columns<const N: usize>(columns: [(&str, u16); N]) -> Vec<Column> {
    columns.map(|(title, share)| Column { title: title.to_owned(), share }).to_vec()
}

fn numbers(counted: Counted) -> Vec<Block> {
    let besides = told_besides(counted.all);
    let shares = [38, 10, 12, 14, 14, 17, 10];
    let heads = COLUMNS.iter().zip(shares).map(|(title, share)| Column { title: (*title).to_owned(), share }).collect();
    let row = |(depth, cells): (usize, [String; 7])| {
        let [name, counts @ ..] = cells;
        // a company stands out, and its parts stand below it
        let name: Text = if depth == 0 { strong(name) } else { plain(format!("{}{name}", "\u{2003}".repeat(depth))) };
        Row::Cells([name].into_iter().chain(counts.map(plain)).collect())
    };
    let caption = "Results of each company, branch and crew, in sites".to_owned();
    let table = Block::Table(Table { caption, columns: heads, rows: rows(&counted.report()).into_iter().map(row).collect() });
    [table].into_iter().chain(besides.into_iter().map(|says| Block::Words(plain(says)))).collect()
}

/// Sites that do not comply or are not proven, the former first.
fn sites(mut wanting: Vec<Entry>, counts: Counts) -> Vec<Block> {
    if wanting.is_empty() {
        let says = match counts {
            Counts { sites: 0, .. } => "No site was looked at.",
            Counts { unverified: 0, .. } => "None: every site complies.",
            _ => "None: nothing was found to be wrong or open, though some of it by figures that nobody verified.",
        };
        return vec![Block::Words(plain(says))];
    }
    wanting.sort_by(|one, other| (other.header.verdict, &one.header.site).cmp(&(one.header.verdict, &other.header.site)));
    let row = |entry: &Entry| {
        let (header, who) = (&entry.header, &entry.header.answerable);
        let who: Vec<&str> = [&who.crew, &who.branch, &who.company].into_iter().flatten().map(String::as_str).collect();
        let who = if who.is_empty() { "-".to_owned() } else { who.join(", ") };
        let cells =
            [header.site.clone(), header.headline.clone(), header.as_of.clone(), who, header.under.clone(), entry.number.to_string()];
        let cells = cells.map(plain).to_vec();
        if header.verdict == Verdict::DoesNotComply { Row::Marked(cells) } else { Row::Cells(cells) }
    };
    let columns = columns([("Site", 24), ("Came to", 18), ("As of", 18), ("Who answers", 24), ("Under", 34), ("Entry", 8)]);
    let caption = "Sites that do not comply, or are not proven, by their newest records".to_owned();
    vec![Block::Table(Table { caption, columns, rows: wanting.iter().map(row).collect() })]
}

fn of_due(report: &DueReport) -> Vec<Block> {
    if report.due.is_empty() {
        return vec![Block::Words(plain("Nothing."))];
    }
    let row = |row| {
        let cells = due::words(row).map(plain).to_vec();
        if row.in_days.is_some_and(|days| days < 0) { Row::Marked(cells) } else { Row::Cells(cells) }
    };
    let columns = columns([("By", 16), ("When", 20), ("What", 52), ("Site", 22), ("Who answers", 16)]);
    let caption = format!("What is due, soonest first, as of {}", report.as_of);
    vec![Block::Table(Table { caption, columns, rows: report.due.iter().map(row).collect() })]
}

fn checked(last: Option<&Entry>) -> Vec<Block> {
    let says = "Each entry of a register is tied to the one before it. Note its last link elsewhere: asleft register verify --noted LINK shows later that nothing of before was altered, cut off or written anew.";
    let facts = last.map(|entry| {
        let link = vec![Run::Code(canonical::hex(&entry.link))];
        Block::Facts(vec![("Entries".to_owned(), plain(entry.number.to_string())), ("Last link".to_owned(), link)])
    });
    [Block::Words(plain(says))].into_iter().chain(facts).collect()
}
