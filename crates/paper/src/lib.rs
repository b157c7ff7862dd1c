//! What is printed: a paper of parts, tables and pictures, and its two forms, a page of HTML and a PDF.
//!
//! A paper says what is on it; how it looks is each form's own. Everything is readable without colour.

mod html;
#[cfg(feature = "pdf")]
mod pdf;
mod picture;
mod quantity;

pub use html::html;
#[cfg(feature = "pdf")]
pub use pdf::{NoPdf, Pdf, pdf};
pub use picture::Picture;

/// A paper, whole.
#[derive(Clone, Debug, PartialEq)]
pub struct Paper {
    /// What it is, such as `Close-out of larkspur-row-3`.
    pub title: String,
    /// At the foot of every page, beside the page's number: what ties the paper to what it shows.
    pub footer: String,
    /// At the head of every page: what it comes to.
    pub standing: Headline,
    /// Its parts in order.
    pub parts: Vec<Part>,
}

/// What a paper comes to, as every page's head says it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Headline {
    /// The words, such as `DOES NOT COMPLY`.
    pub says: String,
    /// How loud they are said.
    pub weight: Weight,
}

/// How loud something is said: by its frame and its letters, never by colour alone.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Weight {
    /// As everything else.
    Calm,
    /// Framed: to be minded.
    Mind,
    /// White on black: stop, and read.
    Stop,
}

/// A part of a paper under a heading of its own.
#[derive(Clone, Debug, PartialEq)]
pub struct Part {
    /// Its heading.
    pub title: String,
    /// Whether it begins a page, printed.
    pub starts_page: bool,
    /// What stands in it.
    pub blocks: Vec<Block>,
}

/// What stands in a part.
#[derive(Clone, Debug, PartialEq)]
pub enum Block {
    /// A heading inside a part.
    Heading(String),
    /// A paragraph.
    Words(Text),
    /// Points.
    List(Vec<Text>),
    /// What is known, by name: the name and what it is.
    Facts(Vec<(String, Text)>),
    /// A table.
    Table(Table),
    /// Something framed: its heading and its points.
    Notice(Weight, String, Vec<Text>),
    /// A picture.
    Picture(Picture),
    /// Lines to write on: what belongs on each.
    ToSign(Vec<String>),
}

/// Words in a row.
pub type Text = Vec<Run>;

/// Words of one kind.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Run {
    /// As usual.
    Plain(String),
    /// What the eye should find.
    Strong(String),
    /// Something read digit by digit, such as a hash: it may be broken anywhere.
    Code(String),
}

/// A table. Its head is on every page that it reaches.
#[derive(Clone, Debug, PartialEq)]
pub struct Table {
    /// What it shows, for who hears it read.
    pub caption: String,
    /// Its columns. The first of them heads the rows.
    pub columns: Vec<Column>,
    /// Its rows; each has a cell for every column.
    pub rows: Vec<Row>,
}

/// A column of a table.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Column {
    /// Its heading.
    pub title: String,
    /// How much of the width it has, against the others' shares.
    pub share: u16,
}

/// A row of a table.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Row {
    /// What the rows below have in common, over the whole width.
    Group(String),
    /// A row.
    Cells(Vec<Text>),
    /// A row that the eye should find: framed and strong.
    Marked(Vec<Text>),
}

/// The sizes of paper.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Size {
    /// 210 by 297 mm (ISO 216).
    A4,
    /// 8.5 by 11 inches.
    Letter,
}

/// Words as usual.
pub fn plain(words: impl Into<String>) -> Text {
    vec![Run::Plain(words.into())]
}

/// Words that the eye should find.
pub fn strong(words: impl Into<String>) -> Text {
    vec![Run::Strong(words.into())]
}
