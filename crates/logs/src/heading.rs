//! Which line of a log is its heading: often others stand above it, and its units below.

use super::columns::{Chosen, columns};
use super::fault::LogError;
use super::guard::{NoText, no_text, other_than_text};
use super::number::number;
use csv::ReaderBuilder;

/// How much is looked at for the heading.
pub(super) const HEAD: u64 = 128 << 10;
/// How many lines may stand before it.
const MOST_BEFORE: usize = 200;

/// A heading, or where there would be one.
#[derive(Debug)]
pub(super) struct Heading {
    pub separator: u8,
    /// Its line, from 1, and the text of it.
    pub line: u64,
    pub text: String,
    /// One for each column: as it is written, with the unit below it, or its number.
    pub cells: Vec<String>,
    /// Where in the text its rows begin, and how many lines stand before those.
    pub rows: usize,
    pub lines: u64,
    /// How many lines above it were passed over that are no remarks.
    pub passed_over: u64,
}

/// A line that is neither blank nor a remark.
#[derive(Clone, Debug)]
struct Line {
    number: u64,
    /// Where it begins and ends.
    start: usize,
    end: usize,
    text: String,
    separator: u8,
    cells: Vec<String>,
}

/// Finds the heading of a log in its beginning.
pub(super) fn heading(head: &[u8], chosen: Option<&Chosen>) -> Result<Heading, LogError> {
    if let Some(fault) = other_than_text(head) {
        return Err(fault);
    }
    if memchr::memchr(0, head).is_some() {
        return Err(no_text(NoText::Binary, 1));
    }
    let lines = lines(head)?;
    let Some(first) = lines.first() else {
        return Err(LogError::new("empty-log", "the log is empty", "name a log with a heading line and rows below it"));
    };
    if chosen.is_some_and(Chosen::needs_no_heading) {
        let cells = (1..=first.cells.len()).map(|n| n.to_string()).collect();
        let Line { number, start, separator, ref text, .. } = *first;
        return Ok(Heading { separator, line: number, text: text.clone(), cells, rows: start, lines: number - 1, passed_over: 0 });
    }
    let at = lines.iter().enumerate().position(|(n, line)| line.cells.len() > 1 && is_heading(line, lines.get(n + 1), chosen));
    let at = at.map_or_else(|| likeliest(&lines, chosen), Ok)?;
    Ok(taken(&lines, at))
}

/// The heading that stands at a place, with the units below it.
fn taken(lines: &[Line], at: usize) -> Heading {
    let line = &lines[at];
    let units = lines.get(at + 1).filter(|below| are_units(line, below));
    let last = units.unwrap_or(line);
    Heading {
        separator: line.separator,
        line: line.number,
        text: line.text.clone(),
        cells: with_units(line, units),
        rows: last.end,
        lines: last.number,
        passed_over: at as u64,
    }
}

/// The lines at the beginning, without those that are blank or remarks; `sep=;` says how all are parted.
fn lines(head: &[u8]) -> Result<Vec<Line>, LogError> {
    let (mut lines, mut start, mut said) = (Vec::<Line>::new(), 0, None);
    for (n, line) in head.split_inclusive(|byte| *byte == b'\n').enumerate() {
        let (begins, number) = (start, n as u64 + 1);
        start += line.len();
        if line.starts_with(b"#") || line.trim_ascii().is_empty() {
            continue;
        }
        if !line.ends_with(b"\n") && head.len() as u64 >= HEAD {
            if lines.is_empty() {
                return Err(no_text(NoText::Endless, number));
            }
            break;
        }
        let text = String::from_utf8_lossy(line).trim_start_matches('\u{feff}').trim_end().to_owned();
        if let Some(separator) = separator_line(&text).filter(|_| lines.is_empty()) {
            said = Some(separator);
            continue;
        }
        let separator = said.unwrap_or_else(|| likeliest_separator(&text));
        let cells = cells(&text, separator);
        lines.push(Line { number, start: begins, end: start, text, separator, cells });
        if lines.len() > MOST_BEFORE {
            break;
        }
    }
    Ok(lines)
}

/// `sep=;`, as spreadsheets have it.
fn separator_line(text: &str) -> Option<u8> {
    let text = text.trim_matches('"');
    let (key, value) = text.split_at_checked(4)?;
    (key.eq_ignore_ascii_case("sep=") && value.len() <= 1).then(|| value.bytes().next().unwrap_or(b'\t'))
}

fn likeliest_separator(text: &str) -> u8 {
    *b",;\t".iter().max_by_key(|separator| text.bytes().filter(|byte| byte == *separator).count()).unwrap_or(&b',')
}

fn cells(text: &str, separator: u8) -> Vec<String> {
    let mut reader = ReaderBuilder::new().has_headers(false).delimiter(separator).from_reader(text.as_bytes());
    let cells = reader.records().next().and_then(Result::ok).unwrap_or_default();
    cells.iter().map(|cell| cell.trim().to_owned()).collect()
}

/// Whether its cells name a time and a voltage, and as many cells stand below it.
fn is_heading(line: &Line, below: Option<&Line>, chosen: Option<&Chosen>) -> bool {
    if is_row(line) || below.is_some_and(|below| below.cells.len() != line.cells.len()) {
        return false;
    }
    columns(&with_units(line, below.filter(|below| are_units(line, below))), chosen).is_ok()
}

/// Where no line is a heading that can be read: the one whose fault is worth telling.
fn likeliest(lines: &[Line], chosen: Option<&Chosen>) -> Result<usize, LogError> {
    let first_row = lines.iter().position(is_row);
    let above = &lines[..first_row.unwrap_or(lines.len())];
    let has_cells = |line: &Line| first_row.is_some_and(|row| lines[row].cells.len() == line.cells.len());
    // one with other cells than its rows is a heading only where it names something that is read
    let names = |line: &Line| line.cells.len() > 1 && columns(&line.cells, chosen).is_ok_and(|(columns, _)| !columns.is_empty());
    let has_rows = first_row.is_some();
    let at = above
        .iter()
        .rposition(has_cells)
        .or_else(|| above.iter().rposition(|line| if has_rows { names(line) } else { line.cells.len() > 1 }));
    match (at, first_row) {
        (Some(at), _) => Ok(at),
        (None, Some(row)) => {
            let says = "the first line is no heading: nobody says which column is what";
            let help = "write a heading such as `time,V_L1 [V],f [Hz]` above it, or say `--columns \"time=1, L1=2 [V], frequency=3 [Hz]\"`";
            let says = if row == 0 { says } else { "no line above the first row is a heading: nobody says which column is what" };
            Err(at_line(LogError::new("no-heading", says, help), &lines[row]))
        }
        (None, None) => {
            let says = "the heading is a single column: its columns are parted by neither comma, semicolon nor tab";
            let help = "save the log with commas, semicolons or tabs between columns";
            Err(at_line(LogError::new("separator-unknown", says, help), &lines[0]))
        }
    }
}

fn at_line(fault: LogError, line: &Line) -> LogError {
    fault.at(line.number, line.text.as_str(), 0..line.text.len())
}

/// Whether it is a row: it begins with a number or a time, and at least half of its cells are such or empty.
fn is_row(line: &Line) -> bool {
    let is_value = |cell: &&String| number(cell.as_bytes(), b'.').is_some() || begins_as_a_number(cell);
    line.cells.len() > 1
        && line.cells.first().is_some_and(|cell| begins_as_a_number(cell))
        && 2 * line.cells.iter().filter(is_value).count() >= line.cells.len()
}

fn begins_as_a_number(cell: &str) -> bool {
    cell.trim_start_matches(['-', '+', '.']).starts_with(|c: char| c.is_ascii_digit())
}

/// Whether the line below a heading holds the units of its columns.
fn are_units(line: &Line, below: &Line) -> bool {
    let is_unit = |cell: &&String| {
        let unit = bare_unit(cell);
        ["V", "kV", "mV", "pu", "p.u.", "Hz", "mHz", "W", "kW", "MW", "var", "kvar", "Mvar"]
            .iter()
            .any(|known| known.eq_ignore_ascii_case(unit))
    };
    let is_short = |cell: &String| cell.chars().count() <= 20 && !begins_as_a_number(cell);
    below.cells.len() == line.cells.len() && below.cells.iter().all(is_short) && below.cells.iter().any(|cell| is_unit(&cell))
}

fn bare_unit(cell: &str) -> &str {
    cell.trim_start_matches(['[', '(']).trim_end_matches([']', ')']).trim()
}

fn with_units(line: &Line, units: Option<&Line>) -> Vec<String> {
    let Some(units) = units else { return line.cells.clone() };
    let both = line.cells.iter().zip(&units.cells).map(|(heading, unit)| match bare_unit(unit) {
        "" | "-" => heading.clone(),
        _ if heading.ends_with([']', ')']) => heading.clone(),
        unit => format!("{heading} [{unit}]"),
    });
    both.collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn found(text: &str) -> (u64, Vec<String>, u64, char) {
        let heading = heading(text.as_bytes(), None).unwrap();
        assert_eq!(text[..heading.rows].lines().count() as u64, heading.lines);
        (heading.line, heading.cells, heading.passed_over, char::from(heading.separator))
    }

    #[test]
    fn a_heading_is_found_below_other_lines_and_above_units() {
        let plain = ["time", "V_L1 [V]", "f [Hz]"].map(str::to_owned).to_vec();
        assert_eq!(found("time,V_L1 [V],f [Hz]\n0,230,50\n"), (1, plain.clone(), 0, ','));
        assert_eq!(found("sep=;\ntime;V_L1 [V];f [Hz]\n0;230,0;50,0\n"), (2, plain.clone(), 0, ';'));
        let before = "Logger at the switchboard\nSerial;4711;;\nStart;14.01.2026;12:03:00\n\ntime;V_L1 [V];f [Hz]\n0;230,0;50,0\n";
        assert_eq!(found(before), (5, plain.clone(), 3, ';'));
        assert_eq!(found("time\tV_L1\tf\n\t[V]\tHz\n0\t230\t50\n"), (1, plain.clone(), 0, '\t'));
        assert_eq!(found("# time,V\ntime,V_L1 [V],f [Hz]\n"), (2, plain, 0, ','));
    }
}
