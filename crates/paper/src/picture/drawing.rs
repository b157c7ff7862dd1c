//! A picture as what is to be drawn, in grey, in the picture's own unit; `y` grows downwards.
//!
//! Of SVG only what pictures here are made of is known. Anything else is refused, so that nothing is left out
//! unseen.

mod inks;
mod path;

use super::style_sheet::StyleSheet;
use inks::Inks;
pub use path::{Path, Step};
use roxmltree::{Document, Node};

/// A picture, read.
#[derive(Clone, Debug, PartialEq)]
pub struct Drawing {
    /// How wide it is.
    pub width: f32,
    /// How high it is.
    pub height: f32,
    /// What is drawn, the first at the bottom.
    pub marks: Vec<Mark>,
}

/// One thing drawn.
#[derive(Clone, Debug, PartialEq)]
pub enum Mark {
    /// An outline, filled, stroked or both.
    Shape(Shape),
    /// Words in a line.
    Words(Words),
}

/// An outline with its inks.
#[derive(Clone, Debug, PartialEq)]
pub struct Shape {
    /// Its outline.
    pub path: Path,
    /// What is inside.
    pub fill: Option<Fill>,
    /// What is on the outline.
    pub stroke: Option<Stroke>,
}

/// What an outline is filled with.
#[derive(Clone, Debug, PartialEq)]
pub enum Fill {
    /// A grey, 0 black, and how much it covers, 1 wholly.
    Grey(u8, f32),
    /// A hatch.
    Hatch(Hatch),
}

/// A tile laid again and again.
#[derive(Clone, Debug, PartialEq)]
pub struct Hatch {
    /// How wide and high a tile is.
    pub tile: (f32, f32),
    /// By how many degrees all tiles are turned, clockwise.
    pub turned: f32,
    /// What is on a tile.
    pub marks: Vec<Shape>,
}

/// A line on an outline.
#[derive(Clone, Debug, PartialEq)]
pub struct Stroke {
    /// 0 is black.
    pub grey: u8,
    /// How much it covers, 1 wholly.
    pub covers: f32,
    /// How wide it is.
    pub width: f32,
    /// Lengths of lines and gaps by turns; none for a line without gaps.
    pub dashes: Vec<f32>,
    /// Whether corners are round.
    pub has_round_corners: bool,
    /// Whether ends are round.
    pub has_round_ends: bool,
}

/// Words in a line.
#[derive(Clone, Debug, PartialEq)]
pub struct Words {
    /// The words.
    pub text: String,
    /// Where they are hung up: on the line that letters stand on.
    pub at: (f32, f32),
    /// Which part of them is there.
    pub anchor: Anchor,
    /// The size of letters.
    pub size: f32,
    /// Whether letters are bold.
    pub is_bold: bool,
    /// 0 is black.
    pub grey: u8,
    /// A rim of this width and grey around letters, which keeps them readable on lines.
    pub halo: Option<(f32, u8)>,
    /// By how many degrees they are turned about their place, clockwise.
    pub turned: f32,
}

/// Which part of words is at their place.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Anchor {
    /// Their beginning.
    Start,
    /// Their middle.
    Middle,
    /// Their end.
    End,
}

impl Drawing {
    /// Reads a picture.
    ///
    /// # Errors
    ///
    /// What is not known here, in words.
    pub fn read(svg: &str) -> Result<Self, String> {
        let tree = Document::parse(svg).map_err(|fault| fault.to_string())?;
        let root = tree.root_element();
        let style = root.children().find(|node| node.has_tag_name((SVG, "style"))).and_then(|node| node.text());
        let reader = Reader { sheet: StyleSheet::read(style.unwrap_or_default())?, root };
        let view: Vec<f32> = root.attribute("viewBox").unwrap_or_default().split_whitespace().filter_map(|one| one.parse().ok()).collect();
        let [0.0, 0.0, width, height] = view[..] else { return Err("its viewBox does not begin at the origin".to_owned()) };
        if !root.has_tag_name((SVG, "svg")) || width <= 0.0 || height <= 0.0 {
            return Err("it is not a picture in SVG".to_owned());
        }
        let mut marks = Vec::new();
        for node in root.children().filter(Node::is_element) {
            match node.tag_name().name() {
                "title" | "desc" | "style" | "defs" => {}
                "text" => marks.push(Mark::Words(reader.words(node)?)),
                _ => marks.push(Mark::Shape(reader.shape(node)?)),
            }
        }
        Ok(Self { width, height, marks })
    }
}

const SVG: &str = "http://www.w3.org/2000/svg";

struct Reader<'t> {
    sheet: StyleSheet,
    root: Node<'t, 't>,
}

impl<'t> Reader<'t> {
    fn shape(&self, node: Node<'t, 't>) -> Result<Shape, String> {
        let inks = Inks::of(node, &self.sheet)?;
        let path = path::of(node)?;
        let fill = match inks.fill() {
            Some(named) if named.starts_with("url(#") => Some(Fill::Hatch(self.hatch(&named[5..named.len() - 1])?)),
            _ => inks.fill_grey()?.map(|(grey, covers)| Fill::Grey(grey, covers)),
        };
        // a line has no inside
        let fill = fill.filter(|_| !node.has_tag_name((SVG, "line")));
        Ok(Shape { path, fill, stroke: inks.stroke()? })
    }

    fn hatch(&self, name: &str) -> Result<Hatch, String> {
        let is_it = |node: &Node<'_, '_>| node.has_tag_name((SVG, "pattern")) && node.attribute("id") == Some(name);
        let pattern = self.root.descendants().find(is_it).ok_or_else(|| format!("no pattern is named `{name}`"))?;
        let tile = (number(pattern, "width")?, number(pattern, "height")?);
        if pattern.attribute("patternUnits") != Some("userSpaceOnUse") {
            return Err(format!("the pattern `{name}` is not in the picture's unit"));
        }
        let turned = pattern.attribute("patternTransform").map_or(Ok(0.0), |turn| Ok::<f32, String>(rotation(turn)?[0]))?;
        let marks = pattern.children().filter(Node::is_element).map(|node| self.shape(node)).collect::<Result<_, String>>()?;
        Ok(Hatch { tile, turned, marks })
    }

    fn words(&self, node: Node<'t, 't>) -> Result<Words, String> {
        if let Some(inner) = node.children().find(Node::is_element) {
            return Err(unknown(inner));
        }
        let inks = Inks::of(node, &self.sheet)?;
        let at = (number(node, "x")?, number(node, "y")?);
        let anchor = match node.attribute("text-anchor") {
            None | Some("start") => Anchor::Start,
            Some("middle") => Anchor::Middle,
            Some("end") => Anchor::End,
            Some(other) => return Err(format!("words hung up at their `{other}`")),
        };
        let turned = match node.attribute("transform").map(rotation).transpose()?.as_deref() {
            None => 0.0,
            Some([turned, x, y]) if (*x, *y) == at => *turned,
            Some(_) => return Err("words turned about another place than their own".to_owned()),
        };
        let (grey, _) = inks.fill_grey()?.ok_or("words without an ink")?;
        let text = node.text().unwrap_or_default().to_owned();
        Ok(Words { text, at, anchor, size: inks.size()?, is_bold: inks.is_bold()?, grey, halo: inks.halo()?, turned })
    }
}

/// The numbers of `rotate(…)`.
fn rotation(written: &str) -> Result<Vec<f32>, String> {
    let inside = written.strip_prefix("rotate(").and_then(|rest| rest.strip_suffix(')'));
    let numbers = inside.and_then(|inside| inside.split_whitespace().map(|one| one.parse().ok()).collect::<Option<Vec<f32>>>());
    numbers.filter(|numbers| [1, 3].contains(&numbers.len())).ok_or_else(|| format!("`{written}` is no rotation"))
}

fn number(node: Node<'_, '_>, name: &str) -> Result<f32, String> {
    let written = node.attribute(name).unwrap_or("0");
    written.parse().ok().filter(|number: &f32| number.is_finite()).ok_or_else(|| format!("`{name}=\"{written}\"` is no number"))
}

fn unknown(node: Node<'_, '_>) -> String {
    format!("`{}` is not known here", node.tag_name().name())
}
