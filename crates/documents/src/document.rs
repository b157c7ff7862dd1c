//! YAML text to a located tree. The only room that knows the YAML parser.
//!
//! Strict on purpose: one document, text keys, no anchors, aliases, merge keys or tags (so no alias
//! bombs), YAML 1.2 core scalars (so `no` is text). JSON is YAML, so it is read here too. Duplicate
//! keys are collected, not fatal, so that one reading reports every fault.

mod node;
mod syntax;

pub use node::{Kind, Node};

use crate::finding::{Finding, MOST_FAULTS};
use crate::source::{Place, SourceId};
use granit_parser::{Event, Parser, ScalarStyle, Span, StrInput};

/// Deeper files are refused.
const MAX_DEPTH: usize = 32;
/// Files with more values are refused.
const MAX_NODES: usize = 200_000;
/// So many places of one key that is given again and again are shown.
const MOST_GIVEN: usize = 5;
/// Longer files are refused; a site is a few kilobytes.
pub const MAX_BYTES: usize = 16 * 1024 * 1024;

/// Reads a text into a tree. Faults are added to `findings`; the tree is `None` when there is none
/// to go on with.
pub fn parse(source: SourceId, text: &str, findings: &mut Vec<Finding>) -> Option<Node> {
    if text.len() > MAX_BYTES {
        let place = Place { source, start: 0, end: 0 };
        findings.push(
            Finding::unusable("too-large", place, "the file is larger than 16 MB, which no site is")
                .hint("many sites go one a line into a .ndjson file, which is read in pieces"),
        );
        return None;
    }
    let options = granit_parser::options! { emit_comments: false, disallow_directives: true };
    let events = Parser::new_from_str_with_options(text, options);
    match (Builder { source, text, events, nodes: 0, open: Vec::new(), findings }).document() {
        Ok(root) => Some(root),
        Err(fatal) => {
            findings.push(*fatal);
            None
        }
    }
}

struct Builder<'t, 'f> {
    source: SourceId,
    text: &'t str,
    events: Parser<'t, StrInput<'t>>,
    nodes: usize,
    /// The brackets that are open.
    open: Vec<Place>,
    findings: &'f mut Vec<Finding>,
}

type Fatal<T> = Result<T, Box<Finding>>;

impl<'t> Builder<'t, '_> {
    fn place(&self, span: Span) -> Place {
        let range = span.byte_range().unwrap_or_default();
        Place { source: self.source, start: range.start as u32, end: range.end as u32 }
    }

    fn next(&mut self) -> Fatal<(Event<'t>, Place)> {
        match self.events.next_event() {
            Some(Ok((event, span))) => Ok((event, self.place(span))),
            Some(Err(error)) => Err(Box::new(syntax::finding(&error, self.source, self.text, &self.open))),
            None => Err(Box::new(syntax::unexpected(self.source, self.text))),
        }
    }

    fn document(&mut self) -> Fatal<Node> {
        loop {
            match self.next()? {
                (Event::StreamStart | Event::DocumentStart(..), _) => {}
                (Event::StreamEnd, _) => {
                    let place = Place { source: self.source, start: 0, end: 0 };
                    let finding = Finding::unusable("empty", place, "the file says nothing");
                    return Err(Box::new(
                        finding.hint("begin it with its kind, such as `kind: site`; `asleft schema site` says what may follow"),
                    ));
                }
                (first, place) => {
                    let root = self.node(first, place, 0)?;
                    return self.nothing_more().map(|()| root);
                }
            }
        }
    }

    fn nothing_more(&mut self) -> Fatal<()> {
        loop {
            match self.next()? {
                (Event::DocumentEnd, _) => {}
                (Event::StreamEnd, _) => return Ok(()),
                (_, place) => {
                    let finding = Finding::unusable("several-documents", place, "a second document begins here");
                    return Err(Box::new(finding.hint("keep one document in a file, and move this one to a file of its own")));
                }
            }
        }
    }

    fn node(&mut self, event: Event<'t>, place: Place, depth: usize) -> Fatal<Node> {
        self.nodes += 1;
        if depth > MAX_DEPTH || self.nodes > MAX_NODES {
            return Err(Box::new(syntax::too_deep(place)));
        }
        self.refuse_references(&event, place)?;
        match event {
            Event::Scalar(text, style, ..) => Ok(Node { place, kind: scalar(&text, style) }),
            Event::SequenceStart(..) => self.list(place, depth),
            Event::MappingStart(..) => self.map(place, depth),
            _ => Err(Box::new(syntax::unexpected(self.source, self.text))),
        }
    }

    fn list(&mut self, place: Place, depth: usize) -> Fatal<Node> {
        let mut items: Vec<Node> = Vec::new();
        let bracketed = self.opened(place);
        let end = loop {
            match self.next()? {
                (Event::SequenceEnd, end) => break end.end,
                (event, at) => items.push(self.node(event, at, depth + 1)?),
            }
        };
        let place = self.closed(bracketed, place, items.last(), end);
        Ok(Node { place, kind: Kind::List(items) })
    }

    fn map(&mut self, place: Place, depth: usize) -> Fatal<Node> {
        let mut entries: Vec<(Node, Node)> = Vec::new();
        let bracketed = self.opened(place);
        let end = loop {
            let (event, at) = self.next()?;
            self.refuse_references(&event, at)?;
            let key = match event {
                Event::MappingEnd => break at.end,
                Event::Scalar(text, style, ..) => Node { place: at, kind: key(&text, style) },
                _ => {
                    let finding = Finding::unusable("key", at, "a list or a group of keys where a key belongs");
                    return Err(Box::new(finding.hint("write keys as plain text: `key: value`")));
                }
            };
            let (event, at) = self.next()?;
            let value = self.node(event, at, depth + 1)?;
            if key.text() == "<<" {
                if self.findings.len() <= MOST_FAULTS {
                    self.findings.push(syntax::merge_key(key.place));
                }
            } else {
                entries.push((key, value));
            }
        };
        self.report_duplicates(&entries);
        let place = self.closed(bracketed, place, entries.last().map(|(_, value)| value), end);
        Ok(Node { place, kind: Kind::Map(entries) })
    }

    /// Whether a collection opens with a bracket, which is then remembered until it closes.
    fn opened(&mut self, place: Place) -> bool {
        let bracketed = self.text[place.start as usize..].starts_with(['[', '{']);
        if bracketed {
            self.open.push(place);
        }
        bracketed
    }

    /// From the start of a collection to its closing bracket, or to the end of its last member
    /// where indentation closes it (the parser's own end then lies beyond blank lines).
    fn closed(&mut self, bracketed: bool, open: Place, last: Option<&Node>, parser_end: u32) -> Place {
        if bracketed {
            self.open.pop();
        }
        let end = if bracketed { parser_end } else { last.map_or(open.end, |node| node.place.end) };
        Place { end: end.max(open.start), ..open }
    }

    fn refuse_references(&self, event: &Event<'_>, place: Place) -> Fatal<()> {
        let refers = event.anchor_id().is_some() || event.is_alias() || event.tag().is_some();
        if refers { Err(Box::new(syntax::reference(self.text, place))) } else { Ok(()) }
    }

    /// One finding for each key that is given more than once, at the last of them, which is the one
    /// that the rest of the reading sees.
    fn report_duplicates(&mut self, entries: &[(Node, Node)]) {
        let mut keys: Vec<&Node> = entries.iter().map(|(key, _)| key).collect();
        keys.sort_by(|a, b| a.text().cmp(b.text())); // stable: the first one stays first
        for same in keys.chunk_by(|a, b| a.text() == b.text()) {
            let [earlier @ .., last] = same else { continue };
            if self.findings.len() > MOST_FAULTS {
                return;
            }
            let times = if earlier.len() == 1 { "twice".to_owned() } else { format!("{} times", same.len()) };
            let finding = Finding::unusable("duplicate-key", last.place, format!("`{}` is given {times}", last.text()));
            let finding = earlier.iter().take(MOST_GIVEN).fold(finding, |finding, key| finding.because(key.place, "given here"));
            self.findings.extend((!earlier.is_empty()).then(|| finding.hint("keep the one that is meant")));
        }
    }
}

/// Numbers are decimal numbers only; everything else that is not a truth value or empty is text.
fn scalar(text: &str, style: ScalarStyle) -> Kind {
    if style != ScalarStyle::Plain {
        return Kind::Text(text.to_owned());
    }
    match text {
        "" | "~" | "null" => Kind::Null,
        "true" => Kind::Bool(true),
        "false" => Kind::Bool(false),
        _ if text.ends_with(|c: char| c.is_ascii_digit()) && text.parse::<serde_json::Number>().is_ok() => Kind::Number(text.to_owned()),
        _ => Kind::Text(text.to_owned()),
    }
}

fn key(text: &str, style: ScalarStyle) -> Kind {
    match scalar(text, style) {
        number @ Kind::Number(_) => number,
        _ => Kind::Text(text.to_owned()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(text: &str) -> (Option<Node>, Vec<Finding>) {
        let mut findings = Vec::new();
        let root = parse(SourceId(0), text, &mut findings);
        (root, findings)
    }

    fn written<'t>(text: &'t str, node: &Node) -> &'t str {
        &text[node.place.start as usize..node.place.end as usize]
    }

    #[test]
    fn places_are_right_after_text_that_is_not_ascii() {
        let text = "# Żółć °\ngrid: { région: \"Żółć\", trip: 253 V, n: 1.10, b: no }\nlist:\n  - 1\n\n# end\n";
        let (root, findings) = read(text);
        let root = root.unwrap();
        assert!(findings.is_empty());
        let (trip, key) = root.follow(["grid", "trip"]);
        assert_eq!(written(text, trip), "253 V");
        assert_eq!(&text[key.unwrap().start as usize..key.unwrap().end as usize], "trip");
        assert_eq!(root.follow(["grid", "n"]).0.text(), "1.10", "kept as written");
        assert!(matches!(root.follow(["grid", "b"]).0.kind, Kind::Text(_)), "`no` is text");
        assert!(written(text, root.get("grid").unwrap()).ends_with('}'));
        assert_eq!(written(text, root.get("list").unwrap()), "- 1");
    }

    #[test]
    fn a_key_given_twice_is_reported_with_both_places_and_reading_goes_on() {
        let (root, findings) = read("a: 1\nb: 2\na: 3\n");
        assert!(root.is_some());
        assert_eq!(findings.len(), 1);
        assert_eq!((findings[0].name, findings[0].place.start, findings[0].because[0].place.start), ("duplicate-key", 10, 0));
    }

    #[test]
    fn json_is_read_too() {
        let (root, findings) = read("{\"site\": \"x\", \"list\": [1, true, null]}");
        assert!(findings.is_empty());
        assert_eq!(root.unwrap().to_json(), serde_json::json!({"site": "x", "list": [1, true, null]}));
    }

    #[test]
    fn hostile_files_end_in_one_finding() {
        let deep = format!("{}x{}", "[".repeat(40), "]".repeat(40));
        let endless = "[".repeat(5_000);
        let bomb = "a: &a [x]\nb: &b [*a, *a]\n";
        for (text, name) in [
            ("", "empty"),
            ("a: 1\n---\nb: 2\n", "several-documents"),
            (bomb, "reference"),
            ("? [a]\n: 1\n", "key"),
            (deep.as_str(), "too-deep"),
            (endless.as_str(), "too-deep"),
            ("a: \"open\n", "syntax"),
            ("a:\n\t- 1\n", "syntax"),
            ("!!int a: 1\n", "reference"),
        ] {
            let (root, findings) = read(text);
            assert!(root.is_none(), "{name}");
            assert_eq!(findings.iter().map(|f| f.name).collect::<Vec<_>>(), [name], "{text:.20}");
        }
    }
}
