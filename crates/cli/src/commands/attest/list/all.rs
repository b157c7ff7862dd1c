//! Every figure of a profile on a terminal, with where each was found: to go through it with the copy.

use super::{CAUTION, one_profile, place_of, value_of, write_networks};
use crate::render::origins::Origins;
use crate::render::{self, table, wrapped};
use crate::report::attest::AttestListReport;
use rules::attestation::ListedFigure;
use rules::provenance::Standing;
use settings_model::claim::Citation;
use std::io::{self, Write};

pub(super) fn write(out: &mut dyn Write, rows: &[(&ListedFigure, usize)], report: &AttestListReport) -> io::Result<()> {
    let width = render::width();
    let of = rows.first().filter(|_| one_profile(rows)).map(|(figure, _)| format!("of {}", figure.title)).unwrap_or_default();
    render::title(out, "EVERY FIGURE", &of)?;
    let count = |standing: Standing| rows.iter().filter(|(figure, _)| figure.standing == standing).count();
    let counts = Standing::ALL.iter().map(|standing| (count(*standing), standing.column())).filter(|(count, _)| *count > 0);
    let counts: Vec<String> = counts.map(|(count, word)| format!("{count} {word}")).collect();
    writeln!(out, "  {}\n", wrapped(&counts.join(", "), width - 2, 4))?;
    write_networks(out, report, width)?;
    let mut origins = Origins::default();
    if !rows.is_empty() {
        writeln!(out, "{}", table_of(rows, &mut origins, width))?;
        origins.write(out, width)?;
        writeln!(out)?;
    }
    writeln!(out, "{}", wrapped(CAUTION, width, 0))
}

fn table_of(rows: &[(&ListedFigure, usize)], origins: &mut Origins, width: usize) -> String {
    let mut table = table::table(["Setting", "Value", "Where", "Basis"], width);
    let (of_one, mut longest) = (one_profile(rows), 0);
    for (figure, _) in rows {
        let basis = format!("{} {}", figure.standing.column(), origins.mark(&source_of(figure)));
        let place = place_of(figure, of_one);
        longest = place.split(' ').map(|word| word.chars().count()).max().unwrap_or_default().max(longest);
        table.add_row([key_of(figure), value_of(figure), place, basis].map(|cell| render::unbroken(&cell)));
    }
    let names: Vec<String> = rows.iter().map(|(figure, _)| key_of(figure)).collect();
    table::whole(&mut table, 0, names.iter().flat_map(|name| name.lines()));
    for (column, columns) in [(1, 11), (2, longest as u16 + 2), (3, 12)] {
        table::at_least(&mut table, column, columns);
    }
    table::lines(&table, &[])
}

/// A key is broken behind its function, so that eighty columns hold what is said of it.
fn key_of(figure: &ListedFigure) -> String {
    figure.setting.to_string().replace('/', "/\n")
}

/// The document, the clause, who published it, what else is known.
fn source_of(figure: &ListedFigure) -> String {
    let Some(source) = &figure.source else { return "no source is named".to_owned() };
    let cited = std::iter::once(source.document.as_str()).chain(source.clause.as_deref()).collect::<Vec<_>>().join(", ");
    let confirmed = figure.confirmed.as_ref().map(|when| format!("last confirmed {when}"));
    let known = Citation::from(source).known().into_iter().chain(confirmed).map(|says| render::capitalised(&says));
    std::iter::once(cited).chain(known).collect::<Vec<_>>().join(". ")
}
