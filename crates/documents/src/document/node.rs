//! The located tree: values, and the bytes they were written in.

use crate::source::Place;
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
            Kind::Text(text) => format!("`{}`", shortened(text)),
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

/// As much of a text as fits into a message: a file of another kind is one long text.
fn shortened(text: &str) -> String {
    const MOST: usize = 40;
    let line = text.lines().next().unwrap_or_default();
    match line.char_indices().nth(MOST) {
        Some((end, _)) => format!("{}…", &line[..end]),
        None if line.len() < text.len() => format!("{line}…"),
        None => line.to_owned(),
    }
}
