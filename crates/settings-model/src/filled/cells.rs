//! A table of comma-separated values with the place of every cell.

use crate::finding::Finding;
use crate::source::{Place, SourceId};
use crate::spreadsheet::unescaped;
use csv_core::{ReadFieldResult, Reader, ReaderBuilder};

/// A cell: its text without quotes and outer spaces, and where it is written.
#[derive(Clone, Debug)]
pub(super) struct Cell {
    /// The text; a number with its decimal comma, where the table is one of those, has a point.
    pub(super) text: String,
    /// Where.
    pub(super) place: Place,
}

impl Cell {
    /// Whether somebody wrote something: a dash alone says that there is nothing, and what is set by the region was not
    /// read.
    pub(super) fn is_filled(&self) -> bool {
        let is_left_to_the_region = ["by the region", "set by the region"].iter().any(|words| self.text.eq_ignore_ascii_case(words));
        !(matches!(self.text.as_str(), "" | "-" | "–" | "—") || is_left_to_the_region)
    }
}

/// Sheets of more cells are refused; a device has about 500.
const MOST_CELLS: usize = 200_000;

/// Rows of cells; the first is the heading. The separator is the comma, semicolon or tab that the
/// heading has most of, as spreadsheets differ.
pub(super) fn rows(source: SourceId, text: &str) -> Result<Vec<Vec<Cell>>, Box<Finding>> {
    let bytes = text.as_bytes();
    let heading = lines(text).find(|line| !line.trim().is_empty()).unwrap_or_default();
    let separator = *b",;\t".iter().max_by_key(|separator| heading.bytes().filter(|byte| byte == *separator).count()).unwrap_or(&b',');
    if let Some(quoted) = badly_quoted(text, separator) {
        return Err(Box::new(quoted.finding(source)));
    }
    let mut reader = ReaderBuilder::new().delimiter(separator).build();
    // where the comma parts no cells, it is the decimal sign of whoever saved the table
    let has_decimal_commas = separator != b',';
    let (mut rows, mut row, mut at, mut count) = (Vec::new(), Vec::new(), 0usize, 0usize);
    if text.starts_with('\u{feff}') {
        at = '\u{feff}'.len_utf8();
    }
    while let Some((field, is_last)) = next_field(&mut reader, bytes, &mut at) {
        let start = field.start + bytes[field.start..field.end].iter().take_while(|byte| matches!(byte, b'\r' | b'\n')).count();
        let written = &text[start..field.end];
        let written = written.trim_end_matches(['\r', '\n', char::from(separator)]);
        let value = unescaped(std::str::from_utf8(&field.value).map_err(|_| Box::new(broken(source, start)))?.trim()).to_owned();
        let place = Place { source, start: start as u32, end: (start + written.len()) as u32 };
        count += 1;
        if count > MOST_CELLS {
            return Err(Box::new(too_many(place)));
        }
        if written.len() > LONGEST_CELL {
            return Err(Box::new(too_long(source, start)));
        }
        let value = if has_decimal_commas { with_points(value) } else { value };
        row.push(Cell { text: value, place });
        if is_last {
            rows.push(std::mem::take(&mut row));
        }
    }
    rows.retain(|row| row.iter().any(|cell| !cell.text.is_empty()));
    Ok(rows)
}

/// `47,5 Hz` is `47.5 Hz`, and `44,5 % at 207 V, 0 % at 220 V` keeps the comma between its points. Before three digits
/// alone a comma may part thousands, and stays.
fn with_points(text: String) -> String {
    if !text.contains(',') {
        return text;
    }
    let letters: Vec<char> = text.chars().collect();
    let digits_from = |at: usize| letters[at..].iter().take_while(|letter| letter.is_ascii_digit()).count();
    let is_decimal = |at: usize| {
        let before = letters[..at].iter().rev().take_while(|letter| letter.is_ascii_digit()).count();
        let is_below_one = before == 1 && letters[at - 1] == '0';
        let after = digits_from(at + 1);
        let is_one_of_several = |other: Option<&char>| other == Some(&',') || other == Some(&'.');
        let is_list = is_one_of_several(letters.get(at + 1 + after)) || (at > before && is_one_of_several(letters.get(at - before - 1)));
        before > 0 && after > 0 && (after != 3 || is_below_one) && !is_list
    };
    letters.iter().enumerate().map(|(at, letter)| if *letter == ',' && is_decimal(at) { '.' } else { *letter }).collect()
}

/// A longer cell is refused: a curve of 32 points takes some 600 bytes.
const LONGEST_CELL: usize = 64 << 10;

fn too_long(source: SourceId, start: usize) -> Finding {
    let place = Place { source, start: start as u32, end: start as u32 };
    let finding = Finding::unusable("cell-too-long", place, "a cell of more than 64 KB, which no sheet of a site has");
    finding.hint("name the sheet that `asleft sheet SITE --format csv` printed for this site; save it with its separators and line ends")
}

fn too_many(place: Place) -> Finding {
    let finding = Finding::unusable("too-many-cells", place, format!("more than {MOST_CELLS} cells, which no sheet of a site has"));
    finding.hint("name the sheet that `asleft sheet SITE --format csv` printed for this site; save it without empty rows and columns")
}

/// Lines as the reader of the table ends them: a carriage return alone ends one too.
fn lines(text: &str) -> impl Iterator<Item = &str> {
    text.split(['\n', '\r'])
}

/// A cell whose quotation marks do not enclose it alone: read on, it would swallow what stands behind it.
struct BadlyQuoted {
    start: usize,
    end: usize,
    says: &'static str,
}

impl BadlyQuoted {
    fn finding(&self, source: SourceId) -> Finding {
        let place = Place { source, start: self.start as u32, end: self.end as u32 };
        let finding = Finding::unusable("quotation-mark", place, self.says);
        finding.hint("close the mark at the end of its cell, or take it out; a mark inside a quoted cell is written twice")
    }
}

/// The first cell whose quotation marks are not those of one cell: not closed, closed before its end, or
/// closed so late that whole rows lie inside.
fn badly_quoted(text: &str, separator: u8) -> Option<BadlyQuoted> {
    let bytes = text.as_bytes();
    let count = |line: &str| line.bytes().filter(|byte| *byte == separator).count();
    let columns = lines(text).find(|line| !line.trim().is_empty()).map_or(0, count);
    let mut at = if text.starts_with('\u{feff}') { '\u{feff}'.len_utf8() } else { 0 };
    let ends_cell = |byte: u8| byte == separator || matches!(byte, b'\n' | b'\r');
    while at < bytes.len() {
        let start = at;
        if bytes[at] != b'"' {
            while at < bytes.len() && !ends_cell(bytes[at]) {
                at += 1;
            }
            at += 1;
            continue;
        }
        let first_line = start + text[start..].find(['\n', '\r']).unwrap_or(text.len() - start);
        let bad = |says| Some(BadlyQuoted { start, end: first_line, says });
        at += 1;
        loop {
            match (bytes.get(at), bytes.get(at + 1)) {
                (None, _) => return bad("a quotation mark at the beginning of this cell is not closed"),
                (Some(b'"'), Some(b'"')) => at += 2,
                (Some(b'"'), _) => break,
                (Some(_), _) => at += 1,
            }
        }
        let inside = &text[start + 1..at];
        if columns > 0 && lines(inside).skip(1).any(|line| count(line) >= columns) {
            return bad("this cell holds whole rows: the quotation mark at its beginning is closed in another row");
        }
        at += 1;
        if bytes.get(at).is_some_and(|byte| !ends_cell(*byte)) {
            return bad("a quotation mark closes before this cell ends");
        }
        at += 1;
    }
    None
}

fn broken(source: SourceId, at: usize) -> Finding {
    let place = Place { source, start: at as u32, end: at as u32 };
    Finding::unusable("unreadable-cell", place, "this cell is not text").hint("save the table as UTF-8")
}

struct Field {
    start: usize,
    end: usize,
    value: Vec<u8>,
}

/// The next field, and whether its row ends with it.
fn next_field(reader: &mut Reader, bytes: &[u8], at: &mut usize) -> Option<(Field, bool)> {
    let (start, mut value, mut room) = (*at, Vec::new(), [0u8; 256]);
    loop {
        let (result, read, written) = reader.read_field(&bytes[*at..], &mut room);
        *at += read;
        value.extend_from_slice(&room[..written]);
        match result {
            ReadFieldResult::InputEmpty if *at == bytes.len() => {
                // the reader wants to hear twice that there is no more
                let (result, _, written) = reader.read_field(&[], &mut room);
                value.extend_from_slice(&room[..written]);
                let is_field = matches!(result, ReadFieldResult::Field { .. }) && start < bytes.len();
                return is_field.then_some((Field { start, end: *at, value }, true));
            }
            ReadFieldResult::InputEmpty | ReadFieldResult::OutputFull => {}
            ReadFieldResult::Field { record_end } => return Some((Field { start, end: *at, value }, record_end)),
            ReadFieldResult::End => return None,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn texts(text: &str) -> Vec<Vec<String>> {
        rows(SourceId(0), text).unwrap().into_iter().map(|row| row.into_iter().map(|cell| cell.text).collect()).collect()
    }

    #[test]
    fn spreadsheets_differ_in_separators_and_line_ends() {
        let plain = [vec!["a", "b"], vec!["1 V", "x, y"], vec!["", "2"]];
        for text in ["a,b\n1 V,\"x, y\"\n,2\n", "a;b\r\n1 V;x, y\r\n;2", "\u{feff}a\tb\n 1 V\tx, y \n\n\t2\n"] {
            assert_eq!(texts(text), plain, "{text:?}");
        }
    }

    #[test]
    fn every_cell_knows_where_it_is_written() {
        let text = "a,b\r\n\"1 \"\"V\",°,3\r\n";
        for (row, column, written) in [(0, 1, "b"), (1, 0, "\"1 \"\"V\""), (1, 1, "°"), (1, 2, "3")] {
            let cell = &rows(SourceId(0), text).unwrap()[row][column];
            assert_eq!(&text[cell.place.start as usize..cell.place.end as usize], written);
        }
    }

    #[test]
    fn decimal_commas_are_read_where_semicolons_part_the_cells() {
        for (written, read) in [
            ("47,5 Hz", "47.5 Hz"),
            ("0,125 s", "0.125 s"),
            ("-0,5", "-0.5"),
            ("44,5 % at 207 V, 0 % at 220,5 V", "44.5 % at 207 V, 0 % at 220.5 V"),
            ("4,999 kW", "4,999 kW"),
            ("1,2,3", "1,2,3"),
            ("1.231,5", "1.231,5"),
            ("a,b", "a,b"),
        ] {
            assert_eq!(rows(SourceId(0), &format!("a;b\n{written};x\n")).unwrap()[1][0].text, read, "{written}");
        }
    }

    #[test]
    fn a_dash_is_nothing() {
        let row = &rows(SourceId(0), "a,b,c\n-,,264 V\n").unwrap()[1];
        assert_eq!(row.iter().map(Cell::is_filled).collect::<Vec<_>>(), [false, false, true]);
    }
}
