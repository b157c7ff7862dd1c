//! The line in which a place begins, cut to the room at hand, with the place marked beneath it.

use settings_model::source::{Place, Source};
use terminal::escaped;
use unicode_width::{UnicodeWidthChar, UnicodeWidthStr};

/// A line of a file.
pub struct Quoted {
    /// The line without what it is set in by.
    pub line: String,
    /// Marks beneath the place.
    pub marks: String,
}

/// Bytes on either side of a place that are looked at: a line may be megabytes long.
const MOST: usize = 1 << 12;
/// Some editors begin a file with it; it is no part of its first line.
const BYTE_ORDER_MARK: char = '\u{feff}';
/// Stands for what is cut away.
const CUT: &str = "…";

/// The line of a place in at most `room` columns; `None` where nothing stands there.
pub fn of(source: &Source, place: Place, room: usize) -> Option<Quoted> {
    let whole = &*source.text;
    let beginning = whole.len() - whole.trim_start_matches(BYTE_ORDER_MARK).len();
    let start = whole.floor_char_boundary((place.start as usize).max(beginning));
    let earliest = whole.ceil_char_boundary(start.saturating_sub(MOST)).max(beginning);
    let latest = whole.floor_char_boundary((start + MOST).min(whole.len()));
    let from = whole[earliest..start].rfind('\n').map_or(earliest, |newline| earliest + newline + 1);
    let to = whole[start..latest].find(['\r', '\n']).map_or(latest, |newline| start + newline);
    // a group that runs over lines is marked to the end of its first
    let end = whole.ceil_char_boundary(place.end as usize).clamp(start, to);
    let before = shown(whole[from..start].trim_start());
    let (marked, after) = (shown(&whole[start..end]), shown(whole[end..to].trim_end()));
    let is_cut_before = from == earliest && from > beginning;
    (!before.is_empty() || !marked.is_empty() || !after.is_empty()).then(|| fitted(&before, &marked, &after, is_cut_before, room))
}

/// A tab is a space here, so that marks stand beneath what they mark.
fn shown(text: &str) -> String {
    escaped(&text.replace('\t', " ")).into_owned()
}

fn fitted(before: &str, marked: &str, after: &str, is_cut_before: bool, room: usize) -> Quoted {
    let all = before.width() + marked.width() + after.width();
    let before = match all > room || is_cut_before {
        // what is marked comes first; a third of the line may say what it stands beside
        true => ending(before, (room / 3).max(room.saturating_sub(marked.width() + after.width() + 1)), is_cut_before),
        false => before.to_owned(),
    };
    let line = beginning(&format!("{before}{marked}{after}"), room);
    let dashes = marked.width().clamp(1, room.saturating_sub(before.width()).max(1));
    Quoted { line, marks: format!("{}{}", " ".repeat(before.width()), "-".repeat(dashes)) }
}

/// The last columns of a text, with a sign where some were cut away.
fn ending(text: &str, columns: usize, is_cut: bool) -> String {
    if text.width() <= columns && !is_cut {
        return text.to_owned();
    }
    let letters = text.char_indices().rev();
    let from = letters_within(letters, columns.saturating_sub(1)).unwrap_or(text.len());
    format!("{CUT}{}", &text[from..])
}

/// The first columns of a text, with a sign where some were cut away.
fn beginning(text: &str, columns: usize) -> String {
    if text.width() <= columns {
        return text.to_owned();
    }
    let letters = text.char_indices().map(|(at, letter)| (at + letter.len_utf8(), letter));
    let to = letters_within(letters, columns.saturating_sub(1)).unwrap_or_default();
    format!("{}{CUT}", text[..to].trim_end())
}

/// Where the last of those letters ends that stand within so many columns; `None` where not even one does.
fn letters_within(letters: impl Iterator<Item = (usize, char)>, columns: usize) -> Option<usize> {
    let mut taken = 0;
    let within = letters.take_while(|(_, letter)| {
        taken += letter.width().unwrap_or_default();
        taken <= columns
    });
    within.last().map(|(end, _)| end)
}
