//! Texts by name, and places in them. A place is a byte range; people see a line and a column.

use std::sync::{Arc, OnceLock};

/// A byte range in one of the [`Sources`] of a run.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Place {
    /// Which text.
    pub source: SourceId,
    /// First byte.
    pub start: u32,
    /// One past the last byte.
    pub end: u32,
}

/// A text of this run.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct SourceId(pub u32);

impl Place {
    /// For values that were not read from a text: catalogue rules, JSON lines, tests.
    pub const NOWHERE: Self = Self { source: SourceId(u32::MAX), start: 0, end: 0 };

    /// Whether it points into a text at all.
    #[must_use]
    pub fn is_known(self) -> bool {
        self.source != Self::NOWHERE.source
    }
}

/// One named text.
#[derive(Clone, Debug)]
pub struct Source {
    /// A file path, or a name such as `shipped:standards/…`.
    pub name: String,
    /// The whole text.
    pub text: Arc<str>,
    /// The line number of the text's first line: above 1 for a line cut out of a larger file.
    pub first_line: usize,
    /// Newlines before each block of [`BLOCK`] bytes, counted when the first place is looked up.
    counted: OnceLock<Box<[usize]>>,
}

/// Bytes of a text whose newlines are counted at once.
const BLOCK: usize = 1 << 14;

impl Source {
    /// How many lines end before a byte.
    #[must_use]
    pub fn lines_before(&self, byte: usize) -> usize {
        let bytes = self.text.as_bytes();
        let newlines = |bytes: &[u8]| bytes.iter().filter(|byte| **byte == b'\n').count();
        let counted = self.counted.get_or_init(|| {
            let mut before = 0;
            let count = |block: &[u8]| {
                let already = before;
                before += newlines(block);
                already
            };
            bytes.chunks(BLOCK).map(count).collect()
        });
        let byte = byte.min(bytes.len());
        let block = (byte / BLOCK).min(counted.len().saturating_sub(1));
        counted.get(block).copied().unwrap_or_default() + newlines(&bytes[block * BLOCK..byte])
    }
}

/// All the texts read in one run, so that any [`Place`] can be shown.
#[derive(Clone, Debug, Default)]
pub struct Sources(Vec<Source>);

impl Sources {
    /// Keeps a text and gives it an identity.
    pub fn add(&mut self, name: impl Into<String>, text: impl Into<Arc<str>>) -> SourceId {
        self.add_from_line(name, text, 1)
    }

    /// Keeps a text that may be read again and again, once.
    pub fn add_once(&mut self, name: &str, text: &Arc<str>) -> SourceId {
        let kept = self.0.iter().position(|source| Arc::ptr_eq(&source.text, text) && source.name == name);
        kept.and_then(|at| u32::try_from(at).ok()).map_or_else(|| self.add(name, text.clone()), SourceId)
    }

    /// Keeps one line (or block) of a larger file; positions count from that line.
    ///
    /// Fleets re-read only the lines whose findings are printed, and give the slot back with
    /// [`Sources::forget_after`]. Beyond four billion texts one is not kept, and its places are nowhere.
    pub fn add_from_line(&mut self, name: impl Into<String>, text: impl Into<Arc<str>>, first_line: usize) -> SourceId {
        let id = u32::try_from(self.0.len()).map_or(Place::NOWHERE.source, SourceId);
        if id == Place::NOWHERE.source {
            return id;
        }
        self.0.push(Source { name: name.into(), text: text.into(), first_line, counted: OnceLock::new() });
        id
    }

    /// Drops every text added after the first `keep`.
    pub fn forget_after(&mut self, keep: usize) {
        self.0.truncate(keep);
    }

    /// How many texts are kept.
    #[must_use]
    pub fn len(&self) -> usize {
        self.0.len()
    }

    /// Whether nothing has been read yet.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.0.is_empty()
    }

    /// The text of a place; `None` for [`Place::NOWHERE`].
    #[must_use]
    pub fn get(&self, id: SourceId) -> Option<&Source> {
        self.0.get(id.0 as usize)
    }

    /// The text as written at a place; empty for [`Place::NOWHERE`].
    #[must_use]
    pub fn written(&self, place: Place) -> &str {
        self.get(place.source).and_then(|s| s.text.get(place.start as usize..place.end as usize)).unwrap_or_default()
    }

    /// File, line and column, counted from 1; columns count characters, as people do.
    #[must_use]
    pub fn locate(&self, place: Place) -> Option<Located<'_>> {
        let source = self.get(place.source)?;
        let start = source.text.floor_char_boundary(place.start as usize);
        let before = &source.text[..start];
        let line_start = before.rfind('\n').map_or(0, |i| i + 1);
        Some(Located {
            file: &source.name,
            line: source.lines_before(start) + source.first_line,
            column: before[line_start..].trim_start_matches('\u{feff}').chars().count() + 1,
        })
    }
}

/// Where a [`Place`] is, for people.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Located<'s> {
    /// The text's name.
    pub file: &'s str,
    /// From 1.
    pub line: usize,
    /// From 1, in characters.
    pub column: usize,
}

impl std::fmt::Display for Located<'_> {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{}:{}:{}", self.file, self.line, self.column)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_are_counted_in_a_text_of_any_size() {
        let mut sources = Sources::default();
        let text = "a\nlonger line\n\n".repeat(5_000);
        let source = sources.add("a", text.as_str());
        let source = sources.get(source).unwrap();
        for byte in (0..text.len()).step_by(997).chain([0, BLOCK - 1, BLOCK, BLOCK + 1, text.len(), text.len() + 9]) {
            assert_eq!(source.lines_before(byte), text[..byte.min(text.len())].matches('\n').count(), "{byte}");
        }
        assert_eq!(Sources::default().add("", ""), SourceId(0));
    }

    /// A page that plays a scenario a hundred thousand times would have no room for another text.
    #[test]
    fn a_text_that_is_read_again_is_kept_once() {
        let (mut sources, text) = (Sources::default(), Arc::<str>::from("kind: scenario"));
        let first = sources.add_once("a", &text);
        assert!((0..100_000).all(|_| sources.add_once("a", &text) == first));
        assert_ne!(sources.add_once("b", &text), first);
        assert_eq!(sources.len(), 2);
    }

    #[test]
    fn columns_count_characters_and_lines_count_from_the_first() {
        let mut sources = Sources::default();
        let text = "# Żółte °\nréseau: 253 V\n";
        let id = sources.add_from_line("a.yaml", text, 7);
        let start = text.find("253").unwrap() as u32;
        let place = Place { source: id, start, end: start + 5 };
        assert_eq!(sources.locate(place).unwrap().to_string(), "a.yaml:8:9");
        assert_eq!(sources.written(place), "253 V");
        assert_eq!(sources.locate(Place::NOWHERE), None);
    }
}
