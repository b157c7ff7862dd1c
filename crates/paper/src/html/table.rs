//! A table, its head on every printed page that it reaches; on a telephone each row stands by itself.

use super::text;
use crate::{Column, Row, Table, Text};
use maud::{Markup, html as page};

pub fn written(table: &Table) -> Markup {
    let all: u32 = table.columns.iter().map(|column| u32::from(column.share)).sum();
    let width = |column: &Column| format!("width:{:.2}%", f64::from(column.share) * 100.0 / f64::from(all.max(1)));
    page! {
        table.rows {
            caption { (table.caption) }
            colgroup { @for column in &table.columns { col style=(width(column)); } }
            thead { tr { @for column in &table.columns { th scope="col" { (column.title) } } } }
            @if table.rows.is_empty() {
                tbody { tr.none { td colspan=(table.columns.len()) { "None" } } }
            }
            @for rows in groups(&table.rows) {
                tbody { @for row in rows { (self::row(row, table)) } }
            }
        }
    }
}

/// The rows, a new group beginning at each row that says what those below have in common.
fn groups(rows: &[Row]) -> Vec<&[Row]> {
    let mut starts: Vec<usize> = (0..rows.len()).filter(|at| *at == 0 || matches!(rows[*at], Row::Group(_))).collect();
    starts.push(rows.len());
    starts.windows(2).map(|two| &rows[two[0]..two[1]]).collect()
}

fn row(row: &Row, table: &Table) -> Markup {
    match row {
        Row::Group(words) => page! {
            tr.group { th scope="rowgroup" colspan=(table.columns.len()) { (words) } }
        },
        Row::Cells(cells) => page! { tr { (self::cells(cells, table)) } },
        Row::Marked(cells) => page! { tr.marked { (self::cells(cells, table)) } },
    }
}

fn cells(cells: &[Text], table: &Table) -> Markup {
    page! {
        @for (n, (cell, column)) in cells.iter().zip(&table.columns).enumerate() {
            @if n == 0 {
                th scope="row" { (text(cell)) }
            } @else {
                td data-label=(column.title) { div { (text(cell)) } }
            }
        }
    }
}
