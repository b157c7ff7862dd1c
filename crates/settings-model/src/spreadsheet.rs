//! Cells of tables that spreadsheets open: text that a spreadsheet would take for a formula is written with
//! an apostrophe in front, which says that it is text, and is read back without it.
//!
//! A formula in the name of a device would be worked out on the machine of whoever opens the table
//! (OWASP, "CSV Injection": cells that begin with `=`, `+`, `-`, `@`, a tab or a line's end, and their wide
//! forms, which some systems take for the same).

use std::borrow::Cow;

/// What says that a cell is text.
const MARK: char = '\'';

/// A cell as it is written.
#[must_use]
pub fn escaped(text: &str) -> Cow<'_, str> {
    if needs_mark(text) { Cow::Owned(format!("{MARK}{text}")) } else { Cow::Borrowed(text) }
}

/// A cell as it was meant.
#[must_use]
pub fn unescaped(cell: &str) -> &str {
    cell.strip_prefix(MARK).filter(|text| needs_mark(text)).unwrap_or(cell)
}

/// Text that is a formula, or already looks like one that was escaped.
fn needs_mark(text: &str) -> bool {
    let text = text.trim_start_matches(MARK);
    let mut chars = text.chars();
    match chars.next() {
        Some('=' | '@' | '\t' | '\r' | '\n' | '＝' | '＠' | '＋' | '－') => true,
        Some('+' | '-') => !chars.as_str().is_empty() && !is_amount(chars.as_str()),
        _ => false,
    }
}

/// Numbers with units, and points of them, of which no spreadsheet makes a formula: `60 % at 258 V`.
fn is_amount(text: &str) -> bool {
    let is_plain = |c: char| c.is_alphanumeric() || " .,%°".contains(c);
    text.starts_with(|c: char| c.is_ascii_digit()) && text.chars().all(is_plain)
}

#[cfg(test)]
mod tests {
    use super::{escaped, unescaped};

    #[test]
    fn formulas_are_text_and_amounts_stay_as_they_are() {
        for formula in
            ["=1+1", "@SUM(A1)", "+cmd|' /C calc'!A0", "-2+3+cmd|' /C calc'!A0", "-1/A1", "\t=1", "\r=1", "＝1", "--1", "-A1", "'=1"]
        {
            assert_eq!(escaped(formula), format!("'{formula}"));
        }
        for plain in ["", "-", "'", "253 V", "-60 % at 258 V, 0 % at 240 V", "+0.18 pu", "-5 kW", "inverter-1", "it's", "'quoted'", "a=b"] {
            assert_eq!(escaped(plain), plain);
        }
    }

    #[test]
    fn what_is_read_back_is_what_was_written() {
        let parts = ["'", "=", "+", "-", "@", "\t", "1", "x", " ", "%", "''", "＝"];
        for n in 0..parts.len().pow(3) {
            let text: String = [n, n / parts.len(), n / parts.len().pow(2)].map(|n| parts[n % parts.len()]).concat();
            assert_eq!(unescaped(&escaped(&text)), text);
        }
    }
}
