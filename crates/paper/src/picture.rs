//! A picture on a paper.

#[cfg(feature = "pdf")]
pub mod drawing;
mod grey;
pub mod style_sheet;

/// A picture with words for who cannot see it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Picture {
    /// What it shows, in a line.
    pub title: String,
    /// What is to be seen on it.
    pub description: String,
    /// The picture as SVG of the few elements that pictures here are drawn with, its `viewBox` beginning at
    /// the origin; classes say what each is drawn with, by the style sheet inside.
    pub svg: String,
}
