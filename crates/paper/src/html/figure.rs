//! Pictures in a page: names inside them are made the page's own, and each style sheet stands once.

use crate::picture::style_sheet::StyleSheet;
use crate::{Block, Paper, Picture};
use maud::{Markup, PreEscaped, html as page};
use std::ops::Range;

/// What pictures are made of: nothing that runs, and nothing that leads elsewhere.
const ELEMENTS: &str = "svg title desc style defs pattern line rect circle polyline polygon path text";
const ATTRIBUTES: &str = "id class role aria-labelledby width height viewBox x y x1 y1 x2 y2 cx cy r rx points d transform text-anchor fill \
    fill-opacity stroke stroke-width stroke-opacity stroke-dasharray stroke-linecap stroke-linejoin patternUnits patternTransform";

fn is_of(known: &str, name: &str) -> bool {
    known.split_whitespace().any(|one| one == name)
}

/// The pictures of one page.
pub struct Figures {
    /// The style sheets of all, each once.
    styles: Vec<String>,
    /// How many are written.
    count: usize,
}

impl Figures {
    /// Of a paper's pictures.
    pub fn of(paper: &Paper) -> Self {
        let mut styles = Vec::new();
        for block in paper.parts.iter().flat_map(|part| &part.blocks) {
            let Block::Picture(picture) = block else { continue };
            let Ok(style) = style_of(&picture.svg) else { continue };
            if !styles.contains(&style) {
                styles.push(style);
            }
        }
        Self { styles, count: 0 }
    }

    /// The style sheets, each for the pictures that brought it.
    pub fn style(&self) -> String {
        let written = |(n, style): (usize, &String)| Some(StyleSheet::read(style).ok()?.written_for(&class(n)));
        self.styles.iter().enumerate().filter_map(written).collect()
    }

    /// A picture. One that cannot be read is told by its words alone.
    pub fn written(&mut self, picture: &Picture) -> Markup {
        self.count += 1;
        match self.own(&picture.svg) {
            Ok(svg) => page! {
                figure {
                    div.picture tabindex="0" role="group" aria-label=(picture.title) { (PreEscaped(svg)) }
                    figcaption { (picture.description) }
                }
            },
            Err(why) => page! {
                figure {
                    p { strong { (picture.title) } }
                    p { "This picture cannot be shown: " (why) "." }
                    figcaption { (picture.description) }
                }
            },
        }
    }

    /// The picture's text with names of its own, without its style sheet.
    fn own(&self, svg: &str) -> Result<String, String> {
        let style = style_of(svg)?;
        StyleSheet::read(&style)?;
        let kind = self.styles.iter().position(|one| *one == style).unwrap_or_default();
        let tree = roxmltree::Document::parse(svg).map_err(|fault| fault.to_string())?;
        let mut edits: Vec<(Range<usize>, String)> = Vec::new();
        for node in tree.descendants().filter(|node| node.is_element()) {
            let foreign = node.attributes().find(|one| !is_of(ATTRIBUTES, one.name())).map(|one| one.name());
            if let Some(name) = foreign.or(Some(node.tag_name().name()).filter(|name| !is_of(ELEMENTS, name))) {
                return Err(format!("`{name}` has no place in it"));
            }
            if node.tag_name().name() == "style" {
                edits.push((node.range(), String::new()));
            }
            for attribute in node.attributes() {
                let is_outermost = node == tree.root_element();
                let new = match attribute.name() {
                    "id" => self.name(attribute.value()),
                    "aria-labelledby" | "aria-describedby" => {
                        attribute.value().split_whitespace().map(|name| self.name(name)).collect::<Vec<_>>().join(" ")
                    }
                    "class" if is_outermost => format!("{} {}", attribute.value(), class(kind)),
                    _ if attribute.value().starts_with("url(#") => {
                        attribute.value().replacen("url(#", &format!("url(#{}", self.name("")), 1)
                    }
                    _ => continue,
                };
                edits.push((attribute.range_value(), new));
            }
        }
        edits.sort_by_key(|(range, _)| range.start);
        let mut out = svg[..].to_owned();
        for (range, new) in edits.into_iter().rev() {
            out.replace_range(range, &new);
        }
        Ok(out)
    }

    fn name(&self, name: &str) -> String {
        format!("p{}-{name}", self.count)
    }
}

/// The class of pictures that brought the same style sheet.
fn class(style: usize) -> String {
    format!("ink-{style}")
}

/// The style sheet inside a picture.
fn style_of(svg: &str) -> Result<String, String> {
    let tree = roxmltree::Document::parse(svg).map_err(|fault| fault.to_string())?;
    let style = tree.descendants().find(|node| node.tag_name().name() == "style");
    Ok(style.and_then(|node| node.text()).unwrap_or_default().to_owned())
}
