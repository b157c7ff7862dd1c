//! What an element is drawn with: its attributes, over them the rules of the style sheet, the most particular last.

use super::Stroke;
use crate::picture::grey;
use crate::picture::style_sheet::{Rule, StyleSheet};
use roxmltree::Node;
use std::collections::BTreeMap;

/// The inks of an element.
pub struct Inks(BTreeMap<String, String>);

/// What may be said of inks, and of fonts and of places on a screen, which a paper decides itself.
const KNOWN: [&str; 14] = [
    "fill",
    "fill-opacity",
    "stroke",
    "stroke-opacity",
    "stroke-width",
    "stroke-dasharray",
    "stroke-linejoin",
    "stroke-linecap",
    "font-size",
    "font-weight",
    "paint-order",
    "font-family",
    "max-width",
    "height",
];

impl Inks {
    /// Of an element; pictures have no groups, so it inherits from the picture alone.
    pub fn of(node: Node<'_, '_>, sheet: &StyleSheet) -> Result<Self, String> {
        let mut inks = BTreeMap::new();
        for name in ["fill", "stroke-width"] {
            if let Some(value) = node.attribute(name) {
                inks.insert(name.to_owned(), value.to_owned());
            }
        }
        let mut rules: Vec<(usize, &Rule)> = Vec::new();
        for rule in sheet.rules.iter().filter(|rule| !rule.is_dark) {
            let weights = rule.selectors.iter().map(|selector| weight(selector, node)).collect::<Result<Vec<_>, _>>()?;
            rules.extend(weights.into_iter().flatten().max().map(|weight| (weight, rule)));
        }
        // of the same weight, the later rule wins: the sort is stable
        rules.sort_by_key(|(weight, _)| *weight);
        for (name, value) in rules.into_iter().flat_map(|(_, rule)| &rule.declarations) {
            if !KNOWN.contains(&name.as_str()) {
                return Err(format!("`{name}:{value}` is not known here"));
            }
            inks.insert(name.clone(), value.clone());
        }
        Ok(Self(inks))
    }

    fn get(&self, name: &str) -> Option<&str> {
        self.0.get(name).map(String::as_str)
    }

    fn length(&self, name: &str, otherwise: f32) -> Result<f32, String> {
        let Some(written) = self.get(name) else { return Ok(otherwise) };
        written.trim_end_matches("px").parse().map_err(|_| format!("`{name}:{written}` is no length"))
    }

    fn grey(&self, name: &str, otherwise: Option<u8>) -> Result<Option<u8>, String> {
        match self.get(name) {
            None => Ok(otherwise),
            Some("none") => Ok(None),
            Some(colour) => grey::of_colour(colour).map(Some).ok_or_else(|| format!("`{name}:{colour}` is no colour known here")),
        }
    }

    /// What it is filled with, as written.
    pub fn fill(&self) -> Option<&str> {
        self.get("fill")
    }

    /// The grey it is filled with and how much that covers; black if nothing is said (SVG 2, 13.2).
    pub fn fill_grey(&self) -> Result<Option<(u8, f32)>, String> {
        let covers = self.length("fill-opacity", 1.0)?;
        Ok(self.grey("fill", Some(0))?.map(|grey| (grey, covers)))
    }

    /// What its outline is drawn with, if it is.
    pub fn stroke(&self) -> Result<Option<Stroke>, String> {
        let width = self.length("stroke-width", 1.0)?;
        let Some(grey) = self.grey("stroke", None)?.filter(|_| width > 0.0) else { return Ok(None) };
        let dashes = match self.get("stroke-dasharray") {
            None | Some("none") => Vec::new(),
            Some(written) => {
                let lengths = written.split_whitespace().map(str::parse).collect::<Result<Vec<f32>, _>>();
                lengths.map_err(|_| format!("`stroke-dasharray:{written}` are no lengths"))?
            }
        };
        let is_round = |name: &str| match self.get(name) {
            None => Ok(false),
            Some("round") => Ok(true),
            Some(other) => Err(format!("`{name}:{other}` is not known here")),
        };
        let covers = self.length("stroke-opacity", 1.0)?;
        let (has_round_corners, has_round_ends) = (is_round("stroke-linejoin")?, is_round("stroke-linecap")?);
        Ok(Some(Stroke { grey, covers, width, dashes, has_round_corners, has_round_ends }))
    }

    /// The rim around letters.
    pub fn halo(&self) -> Result<Option<(f32, u8)>, String> {
        match self.get("paint-order") {
            None => Ok(None),
            Some("stroke") => Ok(self.stroke()?.map(|stroke| (stroke.width, stroke.grey))),
            Some(other) => Err(format!("`paint-order:{other}` is not known here")),
        }
    }

    /// The size of letters.
    pub fn size(&self) -> Result<f32, String> {
        self.length("font-size", 16.0)
    }

    /// Whether letters are bold.
    pub fn is_bold(&self) -> Result<bool, String> {
        Ok(self.length("font-weight", 400.0)? >= 600.0)
    }
}

/// How particular a selector is for an element that it is for (CSS Selectors Level 4, 17): each class counts more
/// than an element's name, and what is said of the whole picture counts least.
fn weight(selector: &str, node: Node<'_, '_>) -> Result<Option<usize>, String> {
    let parts: Vec<&str> = selector.split_whitespace().collect();
    let classes: Vec<&str> = node.attribute("class").unwrap_or_default().split_whitespace().collect();
    match parts[..] {
        [".figure"] => Ok(Some(0)),
        [".figure", last] => {
            let mut names = last.split('.');
            let element = names.next().unwrap_or_default();
            let asked: Vec<&str> = names.collect();
            let is_for = (element.is_empty() || element == node.tag_name().name()) && asked.iter().all(|one| classes.contains(one));
            Ok(is_for.then_some(2 * asked.len() + usize::from(!element.is_empty())))
        }
        _ => Err(format!("the selector `{selector}` is not known here")),
    }
}
