//! A paper as a PDF: laid out here, written by `krilla`, tagged for who hears it read (PDF/UA-1, ISO 14289-1).
//!
//! The same paper comes to the same bytes: no clock is read and nothing is drawn by lot. Letters are DejaVu's, whose
//! licence has to go along with a program that has them inside (`LICENSE` of the fonts in the crate `dejavu`); they
//! have Latin with all its marks, Greek, Cyrillic and the signs of this trade; what they lack is drawn as an empty
//! box and named in [`Pdf::boxes`]. A word of a script that is written from right to left comes out as it should, but
//! several such words in one line stand from left to right: that order is not known here.

mod flow;
mod fonts;
mod furniture;
mod lines;
mod pages;
mod paint;
mod picture;
mod slab;
mod tags;

use crate::{Paper, Size};
use std::collections::BTreeSet;

/// A PDF, written.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Pdf {
    /// The file.
    pub bytes: Vec<u8>,
    /// What no letter was there for: each is drawn as an empty box, and still found and copied as it is.
    pub boxes: BTreeSet<char>,
}

/// Why there is no PDF.
#[derive(Debug, thiserror::Error, PartialEq, Eq)]
pub enum NoPdf {
    /// A picture has something that is not known here.
    #[error("the picture `{title}` cannot be drawn: {why}")]
    Picture {
        /// Which picture.
        title: String,
        /// What it has, in words.
        why: String,
    },
    /// What was laid out cannot be written as a file for everyone.
    #[error("the PDF cannot be written: {0}")]
    Writing(String),
}

/// The paper as a PDF of the size.
///
/// # Errors
///
/// [`NoPdf::Picture`] for a picture with something that is not known here.
pub fn pdf(paper: &Paper, size: Size) -> Result<Pdf, NoPdf> {
    let fonts = fonts::Fonts::new();
    let sheet = slab::Sheet::of(size);
    let flowed = flow::flowed(paper, &fonts, &sheet)?;
    let furniture = furniture::Furniture::of(paper, &fonts, &sheet, &flowed);
    let pages = pages::pages(&flowed.slabs, furniture.room(&sheet));
    let bytes = paint::written(paper, &sheet, flowed, &furniture, &pages, &fonts)?;
    Ok(Pdf { bytes, boxes: fonts.boxes() })
}
