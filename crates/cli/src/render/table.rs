//! Tables: plain lines, aligned, folded to the width at hand.

use super::UNBROKEN;
use comfy_table::{Cell, ColumnConstraint, ContentArrangement, LineStyle, Row, Table, TableStyle, Width};

/// Spaces behind each column, where there is room.
const PADDING: u16 = 2;

/// No column is folded to less than this.
const LEAST: u16 = 10;

/// A table with a heading row, laid out for `width` columns.
pub fn table<const N: usize>(heading: [&str; N], width: usize) -> Table {
    of_headings(heading.into_iter(), width)
}

/// The same, of as many columns as there are headings.
pub fn of_headings<'h>(headings: impl Iterator<Item = &'h str>, width: usize) -> Table {
    let mut table = Table::new();
    table.load_style(TableStyle::new().header_separator(LineStyle::new('-', '-', '-', '-')));
    table.set_content_arrangement(ContentArrangement::Dynamic).set_width(width as u16);
    let headings: Vec<&str> = headings.collect();
    table.set_header(headings.clone());
    for (column, heading) in table.column_iter_mut().zip(headings) {
        column.set_padding((0, PADDING));
        // no word of a heading is broken in two
        let longest = heading.split(' ').map(|word| word.chars().count()).max().unwrap_or(0);
        column.set_constraint(ColumnConstraint::LowerBoundary(Width::Fixed(columns(longest + 2))));
    }
    table
}

/// A number of columns, where no terminal has more than this type holds.
fn columns(wanted: usize) -> u16 {
    wanted.min(MOST_IN_A_CELL).try_into().unwrap_or(u16::MAX)
}

/// Keeps a column no narrower than this, so that its numbers stay whole.
pub fn at_least(table: &mut Table, column: usize, columns: u16) {
    if let Some(column) = table.column_mut(column) {
        column.set_constraint(ColumnConstraint::LowerBoundary(Width::Fixed(columns)));
    }
}

/// A name in at most so many columns, with a sign where it is cut; it is whole in the forms for programs.
pub fn cut(name: &str, columns: usize) -> String {
    if name.chars().count() <= columns {
        return name.to_owned();
    }
    let kept: String = name.chars().take(columns.saturating_sub(1)).collect();
    format!("{}…", kept.trim_end())
}

/// Keeps a column of keys whole: a key that is cut in two can be neither read nor copied.
pub fn whole<'k>(table: &mut Table, column: usize, keys: impl IntoIterator<Item = &'k str>) {
    let longest = keys.into_iter().map(|key| key.chars().count()).max().unwrap_or(0);
    at_least(table, column, columns(longest + 2));
}

/// Stands before a cell whose row begins a group; it has no width of its own.
const GROUP: char = '\u{200b}';
/// Sets a cell in beneath its group's title; a plain space would be lost where the cell folds.
pub const INDENT: &str = "\u{a0}\u{a0}";

/// A first cell that begins a group.
pub fn group_start(cell: &str) -> String {
    format!("{GROUP}{cell}")
}

/// What a column is kept at, at the least.
fn least(column: &comfy_table::Column) -> u16 {
    match column.constraint() {
        Some(ColumnConstraint::LowerBoundary(Width::Fixed(columns))) => *columns,
        _ => 0,
    }
}

/// The longest word of each column.
fn longest_words(table: &Table) -> Vec<u16> {
    let mut longest = vec![0; table.column_iter().count()];
    for row in table.row_iter() {
        for (longest, cell) in longest.iter_mut().zip(row.cell_iter()) {
            let words = cell.content().split([' ', '\n', '\u{a0}', GROUP]).map(|word| word.chars().count()).max();
            *longest = words.map_or(*longest, |words| (*longest).max(columns(words)));
        }
    }
    longest
}

/// No word is broken in two, as far as the table is wide enough: where it is not, columns first move closer together,
/// then the longest word is given up.
fn keep_words(table: &mut Table) {
    let words = longest_words(table);
    let wanted = |kept: &[u16], padding: u16| -> Vec<u16> {
        words.iter().zip(kept).map(|(word, kept)| word.saturating_add(padding).max(*kept)).collect()
    };
    // one space stands between columns, and one in front of the first
    let room = table.width().unwrap_or(u16::MAX).saturating_sub(words.len() as u16 + 1);
    // what no line of this width could hold is folded like any other text
    let kept = |column: &comfy_table::Column| Some(least(column)).filter(|columns| *columns <= room).unwrap_or(LEAST);
    let mut kept: Vec<u16> = table.column_iter().map(kept).collect();
    let fits = |wanted: &[u16]| wanted.iter().fold(0_u16, |sum, columns| sum.saturating_add(*columns)) <= room;
    let mut bounds = wanted(&kept, PADDING);
    if !fits(&bounds) {
        table.column_iter_mut().for_each(|column| _ = column.set_padding((0, PADDING - 1)));
        kept.iter_mut().for_each(|columns| *columns = columns.saturating_sub(1));
        bounds = wanted(&kept, PADDING - 1);
    }
    while !fits(&bounds) {
        let beyond = (0..bounds.len()).filter(|n| bounds[*n] > kept[*n]).max_by_key(|n| bounds[*n]);
        let Some(widest) = beyond else { break };
        bounds[widest] = kept[widest];
    }
    for (column, columns) in bounds.into_iter().enumerate() {
        at_least(table, column, columns);
    }
}

/// What is longer is cut in a cell, with a sign: the library counts columns no further, and nobody reads on. It is whole
/// in the forms for programs.
const MOST_IN_A_CELL: usize = 20_000;

/// The table with no cell longer than what the library lays out.
fn with_cells_cut(table: &Table) -> Table {
    let mut table = table.clone();
    let is_long = |cell: &Cell| cell.content().len() > MOST_IN_A_CELL;
    for row in table.row_iter_mut().filter(|row| row.cell_iter().any(is_long)) {
        let cells = row.cell_iter().map(|cell| if is_long(cell) { Cell::new(cut(&cell.content(), MOST_IN_A_CELL)) } else { cell.clone() });
        *row = Row::from(cells.collect::<Vec<_>>());
    }
    table
}

/// The table made narrower until it fits: on a narrow terminal the widest of the columns that were to be kept whole is
/// folded, and not the screen.
fn fitted(table: &Table) -> Table {
    let mut table = with_cells_cut(table);
    keep_words(&mut table);
    let is_too_wide = |table: &Table| {
        let width = usize::from(table.width().unwrap_or(u16::MAX));
        table.lines().any(|line| line.trim_end().chars().count() > width)
    };
    while is_too_wide(&table) {
        let widest = table.column_iter().map(least).enumerate().max_by_key(|(_, columns)| *columns);
        let Some((widest, columns)) = widest.filter(|(_, columns)| *columns > LEAST) else { break };
        at_least(&mut table, widest, columns - 1);
    }
    table
}

/// The table's lines without trailing spaces, each group under its title.
pub fn lines(table: &Table, titles: &[&str]) -> String {
    let table = fitted(table);
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

#[cfg(test)]
mod tests {
    use super::{lines, table, whole};

    /// A word, and a text, longer than the library counts columns.
    #[test]
    fn a_text_of_any_length_is_laid_out() {
        let long = ["x".repeat(70_000), "ab ".repeat(70_000), "é".repeat(u16::MAX.into())];
        for text in &long {
            let mut of_text = table(["What", "Why"], 80);
            whole(&mut of_text, 0, [text.as_str()]);
            of_text.add_row([text.as_str(), "short"]);
            let laid_out = lines(&of_text, &[]);
            assert!(laid_out.contains("short") && laid_out.contains('…'), "{laid_out:.200}");
        }
    }
}
