//! `asleft attest list`: what still rests on memory or a single source, most used first.

mod all;

use super::CAUTION;
use crate::Exit;
use crate::args::{AttestList, ListFormat, Under};
use crate::commands::operand::{OperandError, add_file, with_figures, write_fault};
use crate::commands::{assessor, day, refused};
use crate::pipeline::{Progress, WorkerFactory, in_order, jobs};
use crate::render::spreadsheet::Spreadsheet;
use crate::render::{self, table, wrapped};
use crate::report::attest::{AttestListReport, FigureReport, NetworkReport};
use crate::texts::{Block, Found};
use crate::walk::write_messages;
use rules::assess::Assessor;
use rules::attestation::{ListedFigure, Use, Which, lines_at, listed_figures};
use rules::provenance::Standing;
use settings_model::attested::Verb;
use settings_model::files::{Kind, SiteFile};
use settings_model::library::Refusal;
use settings_model::reader;
use std::collections::BTreeSet;
use std::io::{self, Write};
use std::sync::Arc;

/// Lists the figures that nobody read in a licensed copy.
pub fn run(args: &AttestList) -> io::Result<Exit> {
    let mut assessor = assessor(&args.under)?;
    let which = if args.all { Which::All } else { Which::Unverified };
    let found = keys(args, &mut assessor).and_then(|keys| {
        let (open, attested) = listed_figures(&keys, which, &mut assessor)?;
        Ok((keys, open, attested))
    });
    let (keys, open, attested) = match found {
        Ok(found) => found,
        Err(fault) => return write_fault(fault, &assessor),
    };
    let (used, unread) = match &args.sites[..] {
        [] => match Use::in_profiles(&open, &mut assessor) {
            Ok(used) => (used, 0),
            Err(Refusal::Unusable(findings)) => return write_messages(&findings, &assessor.sources).map(|()| Exit::CouldNotTell),
            Err(_) => return refused("which networks extend which profile cannot be told; `asleft lint` says why"),
        },
        sites => at_sites(sites, args, &keys, &open)?,
    };
    let mut rows: Vec<(&ListedFigure, usize)> = open.iter().zip(used.of_figures.iter().copied()).collect();
    let most_used_first = |(one, count): &(&ListedFigure, usize), (other, of_other): &(&ListedFigure, usize)| {
        let worst = |figure: &ListedFigure| figure.standing != Standing::Disputed;
        of_other.cmp(count).then_with(|| worst(one).cmp(&worst(other))).then_with(|| one.profile.cmp(&other.profile))
    };
    // with the copy at hand, one goes through it from front to back
    if which == Which::Unverified {
        rows.sort_by(most_used_first);
    }
    let report = AttestListReport {
        as_of: assessor.today.to_string(),
        counted: if args.sites.is_empty() { "regions-and-versions" } else { "sites" },
        users: used.users,
        attested,
        networks: networks(&used, &open),
        figures: rows.iter().map(|(figure, used)| FigureReport::new(figure, *used)).collect(),
    };
    let mut out = terminal::stdout();
    match args.format {
        ListFormat::Text if args.all => all::write(&mut out, &rows, &report)?,
        ListFormat::Text => write_text(&mut out, &rows, &report, !args.named.is_empty())?,
        ListFormat::Csv => write_csv(&mut out, &report)?,
        ListFormat::Json => render::json(&mut out, &report)?,
    }
    Ok(if unread > 0 { Exit::CouldNotTell } else { Exit::Fine })
}

/// The profiles named, or all at hand.
fn keys(args: &AttestList, assessor: &mut Assessor) -> Result<Vec<String>, OperandError> {
    if args.named.is_empty() {
        let paths = assessor.library.profiles().map(|profile| profile.path.trim_end_matches(".yaml").to_owned());
        return Ok(paths.filter(|key| !key.starts_with("attestations/")).collect());
    }
    args.named.iter().map(|word| with_figures(word, assessor)).collect()
}

/// How many sites use each figure, and how many could not be read.
fn at_sites(sites: &[std::path::PathBuf], args: &AttestList, keys: &[String], open: &[ListedFigure]) -> io::Result<(Use, usize)> {
    let under = Under { as_of: Some(day(&args.under)), ..args.under.clone() };
    let (mut used, mut unread, mut progress) = (Use::of(open), 0, Progress::of("sites"));
    in_order(sites, jobs(args.jobs.jobs), workers(under, args.named.clone(), keys.to_vec(), args.all), &mut |done: Counted| {
        progress.step(done.used.users + done.unread.len());
        used.merge(&done.used);
        unread += done.unread.len();
        done.unread.iter().try_for_each(|line| refused(line).map(drop))
    })?;
    Ok((used, unread))
}

/// What came of one block.
struct Counted {
    used: Use,
    /// What could not be read, or stands under nothing that is at hand, and why.
    unread: Vec<String>,
}

/// Makes workers, each with an assessor of its own that knows the same figures.
fn workers(under: Under, named: Vec<String>, keys: Vec<String>, is_all: bool) -> WorkerFactory<Counted> {
    let which = if is_all { Which::All } else { Which::Unverified };
    Arc::new(move || {
        let changed = || io::Error::other("a profile was changed meanwhile");
        let mut assessor = assessor(&under)?;
        for word in &named {
            add_file(word, &mut assessor).map_err(|_| changed())?;
        }
        let (open, _) = listed_figures(&keys, which, &mut assessor).map_err(|_| changed())?;
        Ok(Box::new(move |block: Block| {
            let mut counted = Counted { used: Use::of(&open), unread: Vec::new() };
            block.each_text(&mut |found| {
                count(found, &mut assessor, &mut counted);
                Ok(())
            })?;
            Ok(counted)
        }))
    })
}

fn count(found: Found<'_>, assessor: &mut Assessor, counted: &mut Counted) {
    let place = found.line.map_or_else(|| found.name.to_owned(), |line| format!("{}:{line}", found.name));
    let text = match found.text {
        Ok(text) => text,
        Err(says) => return counted.unread.push(if says.starts_with(found.name) { says } else { format!("{place}: {says}") }),
    };
    let before = assessor.sources.len();
    let source = assessor.sources.add_from_line(found.name, text, found.line.unwrap_or(1));
    let root = reader::read(source, text, Kind::Site);
    let site = root.as_ref().map_err(|_| ()).and_then(|root| reader::typed::<SiteFile<'_>>(root).map_err(|_| ()));
    match site.map(|site| {
        let assessment = assessor.assess(&site);
        let network = site.network.as_ref().map(ToString::to_string).unwrap_or_default();
        assessment.book.is_some().then(|| (network, lines_at(&assessment)))
    }) {
        Ok(Some((network, lines))) => counted.used.add_site(&network, &lines),
        Ok(None) => {
            counted.unread.push(format!("{place}: which requirements hold there cannot be told; `asleft check {}` says why", found.name));
        }
        Err(()) => counted.unread.push(format!("{place}: the site cannot be used; `asleft check {}` says why", found.name)),
    }
    // profiles that were read for it stay, and the site's text with them
    if assessor.sources.len() == before + 1 {
        assessor.sources.forget_after(before);
    }
}

/// On how many unverified figures the sites of each network rest.
fn networks(used: &Use, listed: &[ListedFigure]) -> Vec<NetworkReport> {
    let of_network = |(network, (sites, figures)): (&String, &(usize, BTreeSet<usize>))| {
        let unverified = figures.iter().filter(|figure| listed[**figure].standing.is_unverified()).count();
        NetworkReport { network: network.clone(), sites: *sites, unverified }
    };
    used.of_networks.iter().map(of_network).collect()
}

/// `quillbrook: 12 sites rest on 37 unverified figures`.
fn write_networks(out: &mut dyn Write, report: &AttestListReport, width: usize) -> io::Result<()> {
    for NetworkReport { network, sites, unverified } in &report.networks {
        let name = if network.is_empty() { "on no network" } else { network };
        let of_sites = if *sites == 1 { "1 site rests".to_owned() } else { format!("{sites} sites rest") };
        let figures = if *unverified == 1 { "figure" } else { "figures" };
        writeln!(out, "  {}", wrapped(&format!("{name}: {of_sites} on {unverified} unverified {figures}"), width - 2, 4))?;
    }
    if report.networks.is_empty() { Ok(()) } else { writeln!(out) }
}

/// How many figures fit a screen.
const MOST: usize = 12;

fn write_text(out: &mut dyn Write, rows: &[(&ListedFigure, usize)], report: &AttestListReport, is_named: bool) -> io::Result<()> {
    let width = render::width();
    let of = |standing: Standing| rows.iter().filter(|(figure, _)| figure.standing == standing).count();
    let counts = [
        (of(Standing::Disputed), "disputed by a licensed copy"),
        (of(Standing::Memory), "from memory"),
        (of(Standing::SingleSource), "from a single source"),
        (report.attested, "attested"),
    ];
    let counts: Vec<String> = counts.iter().filter(|(n, _)| *n > 0).map(|(n, words)| format!("{n} {words}")).collect();
    let users = match report.counted {
        "sites" => format!("\"used by\" counts the sites given, {} in all", report.users),
        _ => format!("\"used by\" counts the regions of each standard, and of each version of a network, at hand: {} in all", report.users),
    };
    let of = rows.first().filter(|_| one_profile(rows)).map(|(figure, _)| format!(" of {}", figure.title)).unwrap_or_default();
    render::title(out, "STILL TO BE READ", &format!("in a licensed copy{of}, most used first"))?;
    let words = if counts.is_empty() { "no figure is unverified".to_owned() } else { format!("figures: {}", counts.join(", ")) };
    writeln!(out, "  {}\n", wrapped(&format!("{words}; {users}"), width - 2, 4))?;
    write_networks(out, report, width)?;
    // those of a profile that was named are told whole: somebody goes through its copy
    let most = if is_named { rows.len() } else { MOST };
    let shown = &rows[..most.min(rows.len())];
    if !shown.is_empty() {
        writeln!(out, "{}\n", table_of(shown, width))?;
    }
    if shown.len() < rows.len() {
        let first = shown.first().map_or("", |(figure, _)| figure.profile.as_str());
        let says = format!(
            "{} of {} figures. To see all of one profile, name it: asleft attest list {first}. To see all: asleft attest list --format csv",
            shown.len(),
            rows.len()
        );
        writeln!(out, "{}\n", wrapped(&says, width, 0))?;
    }
    writeln!(out, "{}", wrapped(CAUTION, width, 0))
}

/// Whether all figures are of one profile, which the heading names then.
fn one_profile(rows: &[(&ListedFigure, usize)]) -> bool {
    rows.windows(2).all(|pair| pair[0].0.profile == pair[1].0.profile)
}

fn table_of(rows: &[(&ListedFigure, usize)], width: usize) -> String {
    let mut table = table::table(["Setting", "Value", "Where", "Clause", "Basis", "Used by"], width);
    let (of_one, mut longest) = (one_profile(rows), 0);
    for (figure, used) in rows {
        let clause = figure.clause.clone().unwrap_or_else(|| "-".to_owned());
        let place = place_of(figure, of_one);
        longest = place.split(' ').map(|word| word.chars().count()).max().unwrap_or_default().max(longest);
        let cells = [setting_cell(figure, width), value_of(figure), place, clause, figure.standing.column().to_owned(), used.to_string()];
        table.add_row(cells.map(|cell| render::unbroken(&cell)));
    }
    let names: Vec<String> = rows.iter().map(|(figure, _)| setting_cell(figure, width)).collect();
    table::whole(&mut table, 0, names.iter().flat_map(|name| name.lines()));
    let of_values = if width < 100 { 16 } else { 17 };
    for (column, columns) in [(1, of_values), (2, longest as u16 + 2), (3, 8), (4, 12), (5, 7)] {
        table::at_least(&mut table, column, columns);
    }
    table::lines(&table, &[])
}

/// The value, with its word where that is no demand; points one below another.
fn value_of(figure: &ListedFigure) -> String {
    match figure.verb.map(Verb::word) {
        None => figure.value.clone(),
        Some("require" | "comply") => figure.value.replace(", ", "\n"),
        Some(word) => format!("{word} {}", figure.value.replace(", ", "\n")),
    }
}

/// For whom: the profile, where several are listed, its regions and conditions.
fn place_of(figure: &ListedFigure, of_one: bool) -> String {
    let regions = match (figure.is_everywhere, &figure.regions[..]) {
        (_, []) => String::new(),
        (true, [_, _, ..]) => ", every region".to_owned(),
        (_, regions) => format!(", {}", regions.join(", ")),
    };
    let when = figure.when.as_ref().map(|when| format!("; where {when}")).unwrap_or_default();
    let title = if of_one { "" } else { &*figure.title };
    format!("{title}{regions}{when}").trim_start_matches([',', ';', ' ']).to_owned()
}

/// A key that is longer than most is broken behind its function.
fn setting_cell(figure: &ListedFigure, width: usize) -> String {
    let (key, most) = (figure.setting.to_string(), if width < 100 { 16 } else { 28 });
    if key.chars().count() > most { key.replace('/', "/\n") } else { key }
}

fn write_csv(out: &mut dyn Write, report: &AttestListReport) -> io::Result<()> {
    let mut csv = Spreadsheet::to(out);
    let used_by = format!("used by ({})", report.counted.replace('-', " "));
    csv.row([
        "setting",
        "under",
        "value",
        "profile",
        "of",
        "regions",
        "where",
        "document",
        "clause",
        "basis",
        "found in",
        "conflict",
        "note",
        "last confirmed",
        &used_by,
    ])?;
    for figure in &report.figures {
        csv.row([
            &*figure.setting,
            figure.verb,
            &figure.value,
            &figure.profile,
            figure.of,
            &figure.regions.join(" "),
            figure.when.as_deref().unwrap_or_default(),
            figure.document.as_deref().unwrap_or_default(),
            figure.clause.as_deref().unwrap_or_default(),
            figure.standing,
            &figure.found_in.join("; "),
            figure.conflict.as_deref().unwrap_or_default(),
            figure.note.as_deref().unwrap_or_default(),
            figure.confirmed.as_deref().unwrap_or_default(),
            &figure.used_by.to_string(),
        ])?;
    }
    csv.flush()
}
