//! How much room a picture has, and what stands outside it.

use super::labels::{self, text_width};
use super::{MARGIN, PLOT_HEIGHT, WIDTH, folded, ink, map, timeline};
use crate::figure::Figure;

/// What a picture is drawn on.
pub struct Paper {
    /// Of the whole picture.
    pub width: f64,
    /// Of what lies between the axes.
    pub plot_height: f64,
    /// Around everything.
    pub margin: f64,
    /// Whether it brings its title, its key and its inks along.
    pub is_alone: bool,
}

/// A picture by itself.
pub const SHEET: Paper = Paper { width: WIDTH, plot_height: PLOT_HEIGHT, margin: MARGIN, is_alone: true };

/// A part of a page, narrow enough that its letters can be read on a telephone.
pub const PANE: Paper = Paper { width: 420.0, plot_height: 240.0, margin: 8.0, is_alone: false };

impl Paper {
    /// The inks of one kind of picture, where it brings them along.
    pub fn style<'s>(&self, own: &'s str) -> Option<&'s str> {
        self.is_alone.then_some(own)
    }

    /// The title in lines.
    pub fn title(&self, title: &str) -> Vec<String> {
        if self.is_alone { folded(title, self.width - 2.0 * self.margin, 2, |text| text_width(text, 21.0)) } else { Vec::new() }
    }

    /// Where the title ends.
    pub fn below_title(&self, title: &[String]) -> f64 {
        if self.is_alone { 36.0 + 25.0 * title.len() as f64 } else { self.margin }
    }

    /// The column of words beside a figure.
    pub fn beside(&self, figure: &Figure) -> f64 {
        if self.is_alone { labels::width(figure) } else { 0.0 }
    }
}

/// The inks of every picture that stands in a page.
pub fn style() -> String {
    format!("{}{}{}{}", ink::STYLE, map::STYLE, timeline::ink::STYLE, super::here::STYLE)
}
