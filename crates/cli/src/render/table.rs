//! Tables: plain lines, aligned, folded to the width at hand.

use super::UNBROKEN;
use comfy_table::{ColumnConstraint, ContentArrangement, LineStyle, Table, TableStyle, Width};

/// A table with a heading row, laid out for `width` columns.
pub fn table<const N: usize>(heading: [&str; N], width: usize) -> Table {
    of_headings(heading.into_iter(), width)
}

/// The same, of as many columns as there are headings.
pub fn of_headings<'h>(headings: impl Iterator<Item = &'h str>, width: usize) -> Table {
    let mut table = Table::new();
    table.load_style(TableStyle::new().header_separator(LineStyle::new('-', '-', '-', '-')));
    table.set_content_arrangement(ContentArrangement::Dynamic).set_width(width as u16);
    table.set_header(headings.collect::<Vec<_>>());
    for column in table.column_iter_mut() {
        column.set_padding((0, 2));
    }
    table
}

/// Keeps a column no narrower than this, so that its numbers stay whole.
pub fn at_least(table: &mut Table, column: usize, columns: u16) {
    if let Some(column) = table.column_mut(column) {
        column.set_constraint(ColumnConstraint::LowerBoundary(Width::Fixed(columns)));
    }
}

/// Keeps a column of keys whole: a key that is cut in two can be neither read nor copied.
pub fn whole<'k>(table: &mut Table, column: usize, keys: impl IntoIterator<Item = &'k str>) {
    let longest = keys.into_iter().map(|key| key.chars().count()).max().unwrap_or(0);
    at_least(table, column, longest as u16 + 2);
}

/// Stands before a cell whose row begins a group; it has no width of its own.
const GROUP: char = '\u{200b}';
/// Sets a cell in beneath its group's title; a plain space would be lost where the cell folds.
pub const INDENT: &str = "\u{a0}\u{a0}";

/// A first cell that begins a group.
pub fn group_start(cell: &str) -> String {
    format!("{GROUP}{cell}")
}

/// The table's lines without trailing spaces, each group under its title.
pub fn lines(table: &Table, titles: &[&str]) -> String {
    let mut titles = titles.iter();
    let mut lines = Vec::new();
    for line in table.lines() {
        if line.contains(GROUP) {
            lines.extend(titles.next().map(|title| format!(" {title}")));
        }
        lines.push(line.replace(GROUP, "").replace(UNBROKEN, " ").trim_end().to_owned());
    }
    lines.join("\n")
}
