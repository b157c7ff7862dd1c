//! A response as a table: place by place what is required, what is held, and how far inside it lies.

use crate::render::{self, table, wrapped};
use std::io::{self, Write};
use views::curve::columns::{Column, columns, letters, remarks};
use views::curve::series::Shown;

/// Writes one response.
pub fn write(out: &mut dyn Write, shown: &Shown) -> io::Result<()> {
    let width = render::width();
    render::title(out, shown.response.title(), shown.response.axes[1].title)?;
    for (subject, letter) in shown.subjects.iter().zip(letters(shown)) {
        let lead = if letter.is_empty() { String::new() } else { format!("{letter}  ") };
        writeln!(out, "  {}", wrapped(&format!("{lead}{}{}", subject.title, remarks(subject)), width - 2, 2 + lead.len()))?;
    }
    writeln!(out, "\n{}", tables_of(shown, width))?;
    write_unverified(out, shown, width)
}

/// How many figures of what is asked nobody verified: once, where it is the same of every subject.
fn write_unverified(out: &mut dyn Write, shown: &Shown, width: usize) -> io::Result<()> {
    let warnings: Vec<Option<String>> = shown.subjects.iter().map(|subject| subject.figures.warning("that are asked")).collect();
    let alike = warnings.iter().all(|warning| *warning == warnings[0]);
    let letters = if alike { vec![String::new()] } else { letters(shown) };
    for (says, letter) in warnings.iter().zip(letters) {
        let lead = if letter.is_empty() { String::new() } else { format!("{letter}  ") };
        if let Some(says) = says {
            writeln!(out, "  {}", wrapped(&format!("{lead}{says}"), width - 2, 2 + lead.len()))?;
        }
    }
    Ok(())
}

/// Columns that stand side by side in the usual widths.
const ABREAST: usize = 9;

/// One table, or several below one another where there are too many columns for one.
fn tables_of(shown: &Shown, width: usize) -> String {
    let (lead, groups) = columns(shown);
    let mut tables = Vec::new();
    let mut abreast: Vec<&Column<'_>> = Vec::new();
    for group in &groups {
        if !abreast.is_empty() && lead.len() + abreast.len() + group.len() > ABREAST {
            tables.push(table_of(shown, &lead, &abreast, width));
            abreast.clear();
        }
        abreast.extend(group);
    }
    if !abreast.is_empty() || tables.is_empty() {
        tables.push(table_of(shown, &lead, &abreast, width));
    }
    tables.join("\n\n")
}

fn table_of(shown: &Shown, lead: &[Column<'_>], others: &[&Column<'_>], width: usize) -> String {
    let columns = || lead.iter().chain(others.iter().copied());
    let mut table = table::of_headings(columns().map(|(heading, _)| heading.as_str()), width);
    for x in &shown.places {
        table.add_row(columns().map(|(_, cell)| render::unbroken(&cell(*x))));
    }
    table::lines(&table, &[])
}
