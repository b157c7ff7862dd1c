//! Where something stands in a site's text, asked for only when a finding is printed.
//!
//! Two ways to the same answer: from a located tree, and straight from a JSON line, where building
//! a tree would cost far more than the few places that are asked for.

use crate::document::{Kind, Node};
use crate::source::{Place, SourceId};
use serde::de::{Deserializer, IgnoredAny, MapAccess, Visitor};
use serde_json::value::RawValue;
use std::fmt;

/// Finds places by path.
pub trait Places {
    /// The value that a path leads to; of a group, or where the path ends early, its key; where
    /// nothing of the path is there, the site's name.
    fn place(&self, path: &[&str]) -> Place;

    /// Whether a path leads somewhere.
    fn has(&self, path: &[&str]) -> bool;
}

impl Places for Node {
    fn place(&self, path: &[&str]) -> Place {
        let (node, key) = self.follow(path.iter().copied());
        if key.is_none() && std::ptr::eq(node, self) {
            return self.get("site").map_or(self.place, |name| name.place);
        }
        match (&node.kind, key) {
            (Kind::Map(_) | Kind::Null, Some(key)) => key,
            (Kind::Map(_), None) => node.entries().first().map_or(node.place, |(key, _)| key.place),
            _ => node.place,
        }
    }

    fn has(&self, path: &[&str]) -> bool {
        let Some((last, group)) = path.split_last() else { return true };
        let mut node = self;
        for step in group {
            match node.get(step) {
                Some(next) => node = next,
                None => return false,
            }
        }
        node.get(last).is_some()
    }
}

/// One site on one line of JSON.
#[derive(Clone, Copy, Debug)]
pub struct JsonLine<'t> {
    /// Which text.
    pub source: SourceId,
    /// The line.
    pub text: &'t str,
}

/// A value of the line, unread, and the key that led to it.
#[derive(Clone, Copy)]
struct Raw<'t> {
    value: &'t str,
    key: Option<&'t str>,
}

/// Looks for one key of a group.
struct Find<'s, 't> {
    step: &'s str,
    found: &'s mut Option<Raw<'t>>,
}

impl<'t> Visitor<'t> for Find<'_, 't> {
    type Value = ();
    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "a group that has `{}`", self.step)
    }
    fn visit_map<A: MapAccess<'t>>(self, mut group: A) -> Result<(), A::Error> {
        while let Some(key) = group.next_key::<&str>()? {
            if key == self.step {
                let value = group.next_value::<&RawValue>()?.get();
                *self.found = Some(Raw { value, key: Some(key) });
                return Ok(());
            }
            group.next_value::<IgnoredAny>()?;
        }
        Ok(())
    }
}

impl<'t> JsonLine<'t> {
    fn step(self, from: &'t str, step: &str) -> Option<Raw<'t>> {
        if from.starts_with('[') {
            let items: Vec<&RawValue> = serde_json::from_str(from).ok()?;
            return Some(Raw { value: items.get(step.parse::<usize>().ok()?)?.get(), key: None });
        }
        let mut found = None;
        // what follows is left unread, which serde takes for an error
        let _ = serde_json::Deserializer::from_str(from).deserialize_map(Find { step, found: &mut found });
        found
    }

    /// As far as the path leads, and whether that is all of it.
    fn follow(self, path: &[&str]) -> (Raw<'t>, bool) {
        let mut at = Raw { value: self.text.trim(), key: None };
        for step in path {
            match self.step(at.value, step) {
                Some(next) => at = next,
                None => return (at, false),
            }
        }
        (at, true)
    }

    /// `part` is a slice of the line.
    fn place_of(self, part: &str) -> Place {
        let start = (part.as_ptr() as usize).saturating_sub(self.text.as_ptr() as usize) as u32;
        Place { source: self.source, start, end: start + part.len() as u32 }
    }
}

impl Places for JsonLine<'_> {
    fn place(&self, path: &[&str]) -> Place {
        let (at, _) = self.follow(path);
        if at.value.len() == self.text.trim().len() {
            let (site, found) = self.follow(&["site"]);
            return self.place_of(if found { site.value } else { at.value });
        }
        match at.key {
            Some(key) if at.value.starts_with('{') || at.value == "null" => {
                let inside = self.place_of(key);
                Place { start: inside.start - 1, end: inside.end + 1, ..inside } // with its quotation marks
            }
            _ => self.place_of(at.value),
        }
    }

    fn has(&self, path: &[&str]) -> bool {
        self.follow(path).1
    }
}
