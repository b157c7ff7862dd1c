//! YAML text to a located tree. The only room that knows the YAML parser.
//!
//! Strict on purpose: one document, text keys, no anchors, aliases, merge keys or tags (so no alias
//! bombs), YAML 1.2 core scalars (so `no` is text). JSON is YAML, so it is read here too. Duplicate
//! keys are collected, not fatal, so that one reading reports every fault.

use crate::finding::Finding;
use crate::source::{Place, SourceId};
use granit_parser::{Event, Parser, ScalarStyle, Span, StrInput};
use serde_json::Value as Json;

/// A value with the bytes it was written in.
#[derive(Clone, Debug)]
pub struct Node {
    /// Where it is written.
    pub place: Place,
    /// What is written.
    pub kind: Kind,
}

/// What stands at a place. Numbers keep their text, so that decimals never pass through binary.
#[derive(Clone, Debug)]
pub enum Kind {
    /// Nothing, `~` or `null`.
    Null,
    /// `true` or `false`.
    Bool(bool),
    /// A plain number, as written.
    Number(String),
    /// Text.
    Text(String),
    /// A list.
    List(Vec<Node>),
    /// Keys (text or number nodes) and values, in the order written.
    Map(Vec<(Node, Node)>),
}

/// Deeper files are refused.
const MAX_DEPTH: usize = 32;
/// Files with more values are refused.
const MAX_NODES: usize = 200_000;
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
    match (Builder { source, text, events, nodes: 0, findings }).document() {
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
            Some(Err(error)) => Err(self.syntax(error.marker().byte_offset().unwrap_or(0), &error.info())),
            None => Err(self.syntax(self.text.len(), "unexpected end of the file")),
        }
    }

    fn syntax(&self, byte: usize, says: &str) -> Box<Finding> {
        let start = self.text.floor_char_boundary(byte.min(self.text.len()));
        let end = self.text.ceil_char_boundary((start + 1).min(self.text.len()));
        let place = Place { source: self.source, start: start as u32, end: end as u32 };
        Box::new(Finding::unusable("syntax", place, format!("this is not YAML: {says}")).hint(syntax_hint(says)))
    }

    fn document(&mut self) -> Fatal<Node> {
        loop {
            match self.next()? {
                (Event::StreamStart | Event::DocumentStart(..), _) => {}
                (Event::StreamEnd, place) => return Err(Box::new(Finding::unusable("empty", place, "the file holds nothing"))),
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
                    let says = "one document per file; a second one starts here";
                    return Err(Box::new(Finding::unusable("several-documents", place, says)));
                }
            }
        }
    }

    fn node(&mut self, event: Event<'t>, place: Place, depth: usize) -> Fatal<Node> {
        self.nodes += 1;
        if depth > MAX_DEPTH || self.nodes > MAX_NODES {
            return Err(Box::new(Finding::unusable("too-deep", place, "nested too deeply, or too many values, to be a settings file")));
        }
        refuse_references(&event, place)?;
        match event {
            Event::Scalar(text, style, ..) => Ok(Node { place, kind: scalar(&text, style) }),
            Event::SequenceStart(..) => self.list(place, depth),
            Event::MappingStart(..) => self.map(place, depth),
            _ => Err(Box::new(Finding::unusable("syntax", place, "this is not YAML"))),
        }
    }

    fn list(&mut self, place: Place, depth: usize) -> Fatal<Node> {
        let mut items: Vec<Node> = Vec::new();
        let end = loop {
            match self.next()? {
                (Event::SequenceEnd, end) => break end.end,
                (event, at) => items.push(self.node(event, at, depth + 1)?),
            }
        };
        Ok(Node { place: self.spanning(place, items.last(), end), kind: Kind::List(items) })
    }

    fn map(&mut self, place: Place, depth: usize) -> Fatal<Node> {
        let mut entries: Vec<(Node, Node)> = Vec::new();
        let end = loop {
            let (event, at) = self.next()?;
            refuse_references(&event, at)?;
            let key = match event {
                Event::MappingEnd => break at.end,
                Event::Scalar(text, style, ..) => Node { place: at, kind: key(&text, style) },
                _ => return Err(Box::new(Finding::unusable("key", at, "a key must be plain text"))),
            };
            let (event, at) = self.next()?;
            let value = self.node(event, at, depth + 1)?;
            entries.push((key, value));
        };
        self.report_duplicates(&entries);
        Ok(Node { place: self.spanning(place, entries.last().map(|(_, value)| value), end), kind: Kind::Map(entries) })
    }

    /// From the start of a collection to its closing bracket, or to the end of its last member
    /// where indentation closes it (the parser's own end then lies beyond blank lines).
    fn spanning(&self, open: Place, last: Option<&Node>, parser_end: u32) -> Place {
        let bracketed = self.text[open.start as usize..].starts_with(['[', '{']);
        let end = if bracketed { parser_end } else { last.map_or(open.end, |node| node.place.end) };
        Place { end: end.max(open.start), ..open }
    }

    fn report_duplicates(&mut self, entries: &[(Node, Node)]) {
        let mut keys: Vec<&Node> = entries.iter().map(|(key, _)| key).collect();
        keys.sort_by(|a, b| a.text().cmp(b.text())); // stable: the first one stays first
        for pair in keys.windows(2).filter(|pair| pair[0].text() == pair[1].text()) {
            let finding = Finding::unusable("duplicate-key", pair[1].place, format!("`{}` is given twice", pair[1].text()));
            self.findings.push(finding.because(pair[0].place, "first given here").hint("keep the one that is meant"));
        }
    }
}

fn refuse_references(event: &Event<'_>, place: Place) -> Fatal<()> {
    if event.anchor_id().is_some() || event.is_alias() || event.tag().is_some() {
        let finding = Finding::unusable("anchor", place, "anchors, aliases and tags are not read");
        return Err(Box::new(finding.hint("write the value out where it is meant")));
    }
    Ok(())
}

fn syntax_hint(says: &str) -> &'static str {
    if says.contains("`>'") || says.contains("`<'") {
        "bounds are written in words: `at least`, `at most`, `over`, `under`, `A to B`"
    } else if says.contains("tab") {
        "indent with spaces; YAML does not take tabs"
    } else if says.contains("quote") || says.contains("unexpected end") {
        "close the quotation mark"
    } else if says.contains("':'") || says.contains("value") {
        "check the indentation, and put text that holds `: ` in quotation marks"
    } else {
        "check indentation, brackets and quotation marks just above"
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

impl Node {
    /// A scalar as written; empty for everything else.
    #[must_use]
    pub fn text(&self) -> &str {
        match &self.kind {
            Kind::Text(text) | Kind::Number(text) => text,
            _ => "",
        }
    }

    /// What stands here, for a message.
    #[must_use]
    pub fn describe(&self) -> String {
        match &self.kind {
            Kind::Null => "nothing".to_owned(),
            Kind::Bool(b) => format!("`{b}`"),
            Kind::Number(n) => format!("the number `{n}`"),
            Kind::Text(text) => format!("`{text}`"),
            Kind::List(_) => "a list".to_owned(),
            Kind::Map(_) => "a group of keys".to_owned(),
        }
    }

    /// Keys and values; empty for everything that is not a map.
    #[must_use]
    pub fn entries(&self) -> &[(Node, Node)] {
        match &self.kind {
            Kind::Map(entries) => entries,
            _ => &[],
        }
    }

    /// Items; empty for everything that is not a list.
    #[must_use]
    pub fn items(&self) -> &[Node] {
        match &self.kind {
            Kind::List(items) => items,
            _ => &[],
        }
    }

    /// The key and value of this name; the last one where a key is given twice.
    #[must_use]
    pub fn entry(&self, name: &str) -> Option<&(Node, Node)> {
        self.entries().iter().rfind(|(key, _)| key.text() == name)
    }

    /// The value of this name.
    #[must_use]
    pub fn get(&self, name: &str) -> Option<&Node> {
        self.entry(name).map(|(_, value)| value)
    }

    /// The node that a path of keys and list positions leads to, as far as it leads, and the place
    /// of the last key on the way.
    #[must_use]
    pub fn follow<'n, 'p>(&'n self, path: impl IntoIterator<Item = &'p str>) -> (&'n Self, Option<Place>) {
        let (mut node, mut key) = (self, None);
        for step in path {
            match (&node.kind, step.parse::<usize>()) {
                (Kind::List(items), Ok(index)) if index < items.len() => (node, key) = (&items[index], None),
                _ => match node.entry(step) {
                    Some((k, value)) => (node, key) = (value, Some(k.place)),
                    None => break,
                },
            }
        }
        (node, key)
    }

    /// For a schema validator. Numbers are only looked at for being numbers.
    #[must_use]
    pub fn to_json(&self) -> Json {
        match &self.kind {
            Kind::Null => Json::Null,
            Kind::Bool(b) => Json::Bool(*b),
            Kind::Number(n) => n.parse().map_or(Json::Null, Json::Number),
            Kind::Text(text) => Json::String(text.clone()),
            Kind::List(items) => items.iter().map(Self::to_json).collect(),
            Kind::Map(entries) => Json::Object(entries.iter().map(|(key, value)| (key.text().to_owned(), value.to_json())).collect()),
        }
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
            (bomb, "anchor"),
            ("? [a]\n: 1\n", "key"),
            (deep.as_str(), "too-deep"),
            (endless.as_str(), "syntax"),
            ("a: \"open\n", "syntax"),
            ("a:\n\t- 1\n", "syntax"),
            ("!!int a: 1\n", "anchor"),
        ] {
            let (root, findings) = read(text);
            assert!(root.is_none(), "{name}");
            assert_eq!(findings.iter().map(|f| f.name).collect::<Vec<_>>(), [name], "{text:.20}");
        }
    }
}
