//! What keeps a text from being YAML, in people's words and at the right bytes.

use crate::finding::Finding;
use crate::slip::Slip;
use crate::source::{Place, SourceId};
use granit_parser::{ErrorKind, ScanError};

/// A fault that the parser found, while these brackets were open.
pub(super) fn finding(error: &ScanError, source: SourceId, text: &str, open: &[Place]) -> Finding {
    let start = text.floor_char_boundary(error.marker().byte_offset().unwrap_or(text.len()).min(text.len()));
    let at = place(source, text, start);
    match error.kind() {
        ErrorKind::UnknownAnchor | ErrorKind::MissingAnchorOrAliasName => reference(text, at),
        ErrorKind::RecursionLimitExceeded => too_deep(at),
        ErrorKind::MismatchedFlowCollectionEnd { open, close } => mismatched(text, at, *open, *close),
        ErrorKind::UnclosedFlowCollection { open } => unclosed(at, *open),
        ErrorKind::ExpectedFlowMappingSeparator
        | ErrorKind::ExpectedFlowSequenceSeparator
        | ErrorKind::UnexpectedEofFlowMapping
        | ErrorKind::UnexpectedEofFlowSequence
        | ErrorKind::UnexpectedEofImplicitFlowMapping => no_separator(text, at, open.last().copied()),
        kind if is_about_tabs(kind) => {
            let tab = text[start..].find('\t').map_or(start, |tab| start + tab);
            fault(place(source, text, tab), Slip::new("a tab, where only spaces may stand", "indent with spaces"))
        }
        kind => match slip(kind) {
            Some(slip) => fault(at, slip),
            None => fault(at, Slip::new(NOT_YAML, CHECK)).note(format!("the YAML parser says: {}", error.info())),
        },
    }
}

const NOT_YAML: &str = "this is not YAML";
const CHECK: &str = "check indentation, brackets and quotation marks here and just above";

/// The text ends, or goes on, where the parser itself did not expect it.
pub(super) fn unexpected(source: SourceId, text: &str) -> Finding {
    fault(place(source, text, text.len()), Slip::new(NOT_YAML, CHECK))
}

/// Deeper, or longer, than any settings file.
pub(super) fn too_deep(at: Place) -> Finding {
    let finding = Finding::unusable("too-deep", at, "nested too deeply, or too many values, to be a settings file");
    finding.hint("compare its outline with `asleft schema site`; many sites go one a line into a .ndjson file")
}

/// An anchor, an alias or a tag, at the value that carries it.
pub(super) fn reference(text: &str, value: Place) -> Finding {
    let before = text[..value.start as usize].trim_end();
    let word = before.rfind(char::is_whitespace).map_or(0, |space| space + 1);
    let at = match before[word..].starts_with(['&', '!']) {
        true => Place { start: word as u32, end: before.len() as u32, ..value },
        false => {
            let rest = &text[value.start as usize..];
            let end = rest.find(|c: char| c.is_whitespace() || matches!(c, ',' | ']' | '}')).unwrap_or(rest.len());
            Place { end: value.start + end as u32, ..value }
        }
    };
    let finding = Finding::unusable("reference", at, "anchors (`&`), aliases (`*`) and tags (`!`) are not read");
    finding.hint("write the value out where it is meant, or put text that begins so in quotation marks")
}

/// A merge key.
pub(super) fn merge_key(at: Place) -> Finding {
    Finding::unusable("reference", at, "merge keys (`<<`) are not read").hint("write the keys out where they are meant")
}

fn fault(at: Place, slip: Slip) -> Finding {
    Finding::unusable("syntax", at, slip.says).hint(slip.help)
}

/// The character at a byte.
fn place(source: SourceId, text: &str, start: usize) -> Place {
    let end = text[start..].chars().next().map_or(start, |c| start + c.len_utf8());
    Place { source, start: start as u32, end: end as u32 }
}

fn closing(open: char) -> char {
    if open == '[' { ']' } else { '}' }
}

fn unclosed(at: Place, open: char) -> Finding {
    fault(at, Slip::new(format!("`{open}` is not closed"), format!("close it with `{}`", closing(open))))
}

fn no_separator(text: &str, at: Place, open: Option<Place>) -> Finding {
    let Some(opened) = open else { return fault(at, Slip::new(NOT_YAML, CHECK)) };
    let open = text[opened.start as usize..].chars().next().unwrap_or('{');
    if text[at.start as usize..].starts_with(',') {
        return fault(at, Slip::new("a comma with nothing before it", "take it out, or write the value that is missing"));
    }
    let says = format!("`{open}` is not closed, or a comma is missing before this");
    fault(at, Slip::new(says, format!("close it with `{}`, or write the comma", closing(open)))).because(opened, "opened here")
}

/// The parser points at the opening bracket; the fault is at the closing one.
fn mismatched(text: &str, opened: Place, open: char, close: char) -> Finding {
    let start = opened.start as usize;
    let at = closer(&text[start..]).map_or(opened, |end| place(opened.source, text, start + end));
    let slip = Slip::new(format!("`{open}` is closed by `{close}`"), format!("close it with `{}`, or take this one out", closing(open)));
    let finding = fault(at, slip);
    if at == opened { finding } else { finding.because(opened, "opened here") }
}

/// Where the bracket that a text begins with is closed, rightly or wrongly.
fn closer(text: &str) -> Option<usize> {
    let (mut depth, mut quoted) = (0, None);
    for (at, c) in text.char_indices() {
        match (c, quoted) {
            ('"' | '\'', None) => quoted = Some(c),
            (c, Some(mark)) if c == mark => quoted = None,
            ('[' | '{', None) => depth += 1,
            (']' | '}', None) => depth -= 1,
            _ => {}
        }
        if depth == 0 {
            return Some(at);
        }
    }
    None
}

fn is_about_tabs(kind: &ErrorKind) -> bool {
    matches!(
        kind,
        ErrorKind::TabNotAllowed
            | ErrorKind::TabInBlockIndentation
            | ErrorKind::TabAtBlockScalarStart
            | ErrorKind::TabInIndentation
            | ErrorKind::TabInPlainScalar
    )
}

/// The usual slips, where the parser points at the right place.
fn slip(kind: &ErrorKind) -> Option<Slip> {
    let (says, help) = match kind {
        ErrorKind::UnclosedQuotedScalar | ErrorKind::DocumentIndicatorInQuotedScalar => {
            ("the quotation mark is not closed", "close it at the end of the text")
        }
        ErrorKind::InvalidTrailingSingleQuotedScalar | ErrorKind::InvalidTrailingDoubleQuotedScalar => {
            ("text goes on after its closing quotation mark", "put all of it between the quotation marks")
        }
        ErrorKind::UnknownQuotedScalarEscape | ErrorKind::InvalidQuotedScalarHexEscape | ErrorKind::InvalidUnicodeEscape => {
            ("a backslash that stands for nothing known", "write `\\\\`, or use single quotation marks")
        }
        ErrorKind::MappingValueNotAllowed | ErrorKind::InvalidColonPlacement => {
            ("a `:` where no value can begin", "put text that holds `: ` in quotation marks, or indent the line like its neighbours")
        }
        ErrorKind::SimpleKeyExpected | ErrorKind::InvalidSimpleKey => ("a key without its `:`", "write it as `key: value`"),
        ErrorKind::ExpectedBlockMappingKey
        | ErrorKind::ExpectedBlockSequenceEntry
        | ErrorKind::InvalidIndentation
        | ErrorKind::InvalidFlowScalarIndent
        | ErrorKind::InvalidQuotedScalarIndent
        | ErrorKind::MappingKeyNotAllowed
        | ErrorKind::BlockSequenceEntryNotAllowed => {
            ("this is not indented like what stands above", "begin the keys of one group in the same column")
        }
        ErrorKind::ExpectedNodeContent => ("a value is missing here", "write it, or take the comma or the key out"),
        ErrorKind::CommentNotSeparated => ("a `#` that touches what stands before it", "put a space before it"),
        ErrorKind::DirectiveDisallowed => ("a YAML directive", "take the line out: every file is read as YAML 1.2"),
        ErrorKind::BomInsideDocument => ("a byte-order mark inside the file", "delete it; it may stand at the very beginning only"),
        ErrorKind::UnexpectedCharacter { character } => return Some(unquoted(*character)),
        ErrorKind::InvalidBlockScalarHeader => return Some(unquoted('>')),
        _ => return None,
    };
    Some(Slip::new(says, help))
}

fn unquoted(character: char) -> Slip {
    let says = format!("text that begins with `{character}` needs quotation marks");
    match character {
        '<' | '>' | '=' => Slip::new(says, "if it is a bound, write it in words, such as `over 5 kW` or `at most 5 kW`"),
        _ => Slip::new(says, "put the whole text between quotation marks"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn brackets_are_matched_outside_quotation_marks() {
        for (text, at) in [("[a, {b}]", Some(7)), ("[a, ']', \"]\"}", Some(12)), ("[a", None), ("{[}", None)] {
            assert_eq!(closer(text), at, "{text}");
        }
    }
}
