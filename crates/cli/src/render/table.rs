//! Tables: plain lines, aligned, folded to the width at hand.

use comfy_table::{ColumnConstraint, ContentArrangement, LineStyle, Table, TableStyle, Width};

/// A table with a heading row, laid out for `width` columns.
pub fn table<const N: usize>(heading: [&str; N], width: usize) -> Table {
    let mut table = Table::new();
    table.load_style(TableStyle::new().header_separator(LineStyle::new('-', '-', '-', '-')));
    table.set_content_arrangement(ContentArrangement::Dynamic).set_width(width as u16);
    table.set_header(heading);
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

/// The table's lines without trailing spaces.
pub fn lines(table: &Table) -> String {
    table.lines().map(|line| line.trim_end().to_owned()).collect::<Vec<_>>().join("\n")
}
