//! What pages are built of: slabs as wide as the page, which are never broken, with what is drawn on each.

use super::lines::{Line, Manner};
use super::tags::Tag;
use crate::Size;
use crate::picture::drawing::Drawing;
use std::rc::Rc;

/// The sheet of paper, in points of 1/72 inch.
pub struct Sheet {
    /// How wide it is.
    pub width: f32,
    /// How high it is.
    pub height: f32,
}

impl Sheet {
    /// What is left free at the sides.
    pub const SIDE: f32 = 46.0;
    /// What is left free above the head and below the foot.
    pub const END: f32 = 34.0;

    /// Of a size.
    pub fn of(size: Size) -> Self {
        let (width, height) = match size {
            // 210 by 297 mm
            Size::A4 => (595.276, 841.89),
            Size::Letter => (612.0, 792.0),
        };
        Self { width, height }
    }

    /// From side to side.
    pub fn room(&self) -> f32 {
        self.width - 2.0 * Self::SIDE
    }
}

/// A part of a page that is never broken.
#[derive(Clone, Default)]
pub struct Slab {
    /// How high it is.
    pub height: f32,
    /// What is left free above it, unless it is the first on its page.
    pub space: f32,
    /// Whether the next belongs on the same page.
    pub keeps: bool,
    /// Whether it only stands between others: it is left out where it would be the first on its page.
    pub is_between: bool,
    /// Whether it begins a page.
    pub starts_page: bool,
    /// What is said again above it, where it is the first on its page.
    pub again: Option<Rc<Vec<Slab>>>,
    /// What is drawn on it.
    pub inks: Vec<Ink>,
    /// The heading that it begins with, for the paper's outline.
    pub outline: Option<String>,
}

/// Something drawn; places are counted from the slab's upper left corner.
#[derive(Clone)]
pub enum Ink {
    /// A line of words.
    Words {
        /// Where they begin.
        x: f32,
        /// The line that letters stand on.
        y: f32,
        /// What they are.
        line: Line,
        /// The size of letters.
        size: f32,
        /// 0 is black.
        grey: u8,
        /// What they are part of; none for what only repeats.
        tag: Option<Tag>,
    },
    /// A straight line.
    Rule {
        /// Its ends.
        ends: [(f32, f32); 2],
        /// How wide it is.
        width: f32,
        /// 0 is black.
        grey: u8,
    },
    /// A filled box.
    Fill {
        /// Left, top, width and height.
        at: [f32; 4],
        /// 0 is black.
        grey: u8,
    },
    /// A picture.
    Picture {
        /// Its upper left corner.
        at: (f32, f32),
        /// How many points its unit has.
        scale: f32,
        /// What it is.
        drawing: Rc<Drawing>,
        /// What it is part of.
        tag: Tag,
    },
}

impl Ink {
    /// A line of words, hung so that it is in the middle of what one line needs below `top`.
    pub fn words(x: f32, top: f32, line: Line, manner: &Manner, tag: Option<Tag>) -> Self {
        // letters reach from 0.76 of their size above the line they stand on to 0.24 below
        let y = top + manner.leading / 2.0 + 0.26 * manner.size + 0.1 * manner.size;
        Self::Words { x, y, line, size: manner.size, grey: manner.grey, tag }
    }

    /// A straight line from side to side.
    pub fn across(from: f32, to: f32, y: f32, width: f32, grey: u8) -> Self {
        Self::Rule { ends: [(from, y), (to, y)], width, grey }
    }

    /// The same, part of nothing.
    pub fn untagged(&self) -> Self {
        match self.clone() {
            Self::Words { x, y, line, size, grey, .. } => Self::Words { x, y, line, size, grey, tag: None },
            other => other,
        }
    }
}

impl Slab {
    /// A slab with nothing on it.
    pub fn of(height: f32) -> Self {
        Self { height, ..Self::default() }
    }

    /// The same, to be said again: part of nothing.
    pub fn untagged(&self) -> Self {
        Self { inks: self.inks.iter().map(Ink::untagged).collect(), outline: None, again: None, ..self.clone() }
    }
}

/// How high slabs are in a row.
pub fn height(slabs: &[Slab]) -> f32 {
    slabs.iter().enumerate().map(|(n, slab)| slab.height + if n == 0 { 0.0 } else { slab.space }).sum()
}
