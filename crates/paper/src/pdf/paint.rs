//! Pages painted and written as a file.

use super::NoPdf;
use super::flow::Flowed;
use super::fonts::Fonts;
use super::furniture::Furniture;
use super::lines::Line;
use super::pages::Page;
use super::picture;
use super::slab::{Ink, Sheet};
use super::tags::Tags;
use crate::Paper;
use krilla::color::luma;
use krilla::configure::{Accessibility, ConfigurationBuilder};
use krilla::destination::XyzDestination;
use krilla::error::KrillaError;
use krilla::geom::{Path, PathBuilder, Point, Rect};
use krilla::metadata::Metadata;
use krilla::num::NormalizedF32;
use krilla::outline::{Outline, OutlineNode};
use krilla::page::PageSettings;
use krilla::paint::{Fill, Stroke};
use krilla::surface::Surface;
use krilla::tagging::{Artifact, ArtifactType, BBox, ContentTag, SpanTag};
use krilla::{Document, SerializeSettings};

const LANGUAGE: &str = "en";

/// Writes the pages.
pub fn written(
    paper: &Paper,
    sheet: &Sheet,
    flowed: Flowed,
    furniture: &Furniture,
    pages: &[Page],
    fonts: &Fonts,
) -> Result<Vec<u8>, NoPdf> {
    let for_everyone = ConfigurationBuilder::new().with_accessibility_validator(Accessibility::UA1).finish();
    let configuration = for_everyone.map_err(|fault| NoPdf::Writing(format!("{fault:?}")))?;
    let mut document = Document::new_with(SerializeSettings { configuration, ..SerializeSettings::default() });
    let title = if paper.title.is_empty() { "Untitled" } else { &paper.title };
    document.set_metadata(Metadata::new().title(title.to_owned()).language(LANGUAGE.to_owned()));
    let mut outline = Outline::new();
    outline.push_child(OutlineNode::new(title.to_owned(), XyzDestination::new(0, Point::from_xy(0.0, 0.0))));
    let Flowed { slabs, mut tags, .. } = flowed;
    for (number, page) in pages.iter().enumerate() {
        let size = PageSettings::from_wh(sheet.width, sheet.height).expect("sheets have a size");
        let mut sheet_of_paper = document.start_page_with(size);
        {
            let mut painter = Painter { surface: sheet_of_paper.surface(), tags: &mut tags, fonts, page: number };
            let [head, foot] = furniture.on(number + 1, pages.len(), fonts, sheet);
            head.iter().for_each(|ink| painter.ink(ink, 0.0, ArtifactType::Header));
            let mut y = furniture.top();
            for slab in page.again.iter().flat_map(|again| again.iter()) {
                slab.inks.iter().for_each(|ink| painter.ink(ink, y, ArtifactType::PaginationOther));
                y += slab.height;
            }
            for (top, slab) in &page.slabs {
                let (slab, top) = (&slabs[*slab], furniture.top() + top);
                slab.inks.iter().for_each(|ink| painter.ink(ink, top, ArtifactType::Layout));
                if let Some(title) = &slab.outline {
                    outline.push_child(OutlineNode::new(title.clone(), XyzDestination::new(number, Point::from_xy(Sheet::SIDE, top))));
                }
            }
            foot.iter().for_each(|ink| painter.ink(ink, 0.0, ArtifactType::Footer));
        }
        sheet_of_paper.finish();
    }
    document.set_outline(outline);
    document.set_tag_tree(tags.tree(LANGUAGE));
    document.finish().map_err(|fault| NoPdf::Writing(told(&fault)))
}

fn told(fault: &KrillaError) -> String {
    match fault {
        KrillaError::Validation(faults) => faults.iter().map(|(fault, _)| format!("{fault:?}")).collect::<Vec<_>>().join("; "),
        other => other.to_string(),
    }
}

struct Painter<'p> {
    surface: Surface<'p>,
    tags: &'p mut Tags,
    fonts: &'p Fonts,
    page: usize,
}

impl Painter<'_> {
    /// Draws something whose slab begins at a height; without a place in the tree it is there for the eye only.
    fn ink(&mut self, ink: &Ink, top: f32, otherwise: ArtifactType) {
        match ink {
            Ink::Words { x, y, line, size, grey, tag } => {
                if line.pieces.is_empty() {
                    return;
                }
                let kind = match tag {
                    Some(_) => ContentTag::Span(SpanTag::empty()),
                    None => ContentTag::Artifact(Artifact::with_kind(otherwise)),
                };
                let identifier = self.surface.start_tagged(kind);
                self.words(line, *size, *grey, Point::from_xy(Sheet::SIDE + x, top + y));
                self.surface.end_tagged();
                if let Some(tag) = tag {
                    self.tags.leaf(*tag, identifier);
                }
            }
            Ink::Rule { ends: [(x1, y1), (x2, y2)], width, grey } => {
                let mut path = PathBuilder::new();
                path.move_to(Sheet::SIDE + x1, top + y1);
                path.line_to(Sheet::SIDE + x2, top + y2);
                let stroke = Stroke { paint: luma::Color::new(*grey).into(), width: *width, ..Stroke::default() };
                self.shape(path.finish(), None, Some(stroke), otherwise);
            }
            Ink::Fill { at: [x, y, width, height], grey } => {
                let mut path = PathBuilder::new();
                if let Some(rect) = Rect::from_xywh(Sheet::SIDE + x, top + y, *width, *height) {
                    path.push_rect(rect);
                }
                self.shape(path.finish(), Some(solid(*grey)), None, otherwise);
            }
            Ink::Picture { at: (x, y), scale, drawing, tag } => {
                let (x, y) = (Sheet::SIDE + x, top + y);
                let identifier = self.surface.start_tagged(ContentTag::Other);
                picture::painted(&mut self.surface, drawing, (x, y), *scale, self.fonts);
                self.surface.end_tagged();
                self.tags.leaf(*tag, identifier);
                if let Some(rect) = Rect::from_xywh(x, y, drawing.width * scale, drawing.height * scale) {
                    self.tags.place(*tag, BBox::new(self.page, rect));
                }
            }
        }
    }

    fn words(&mut self, line: &Line, size: f32, grey: u8, at: Point) {
        self.surface.set_stroke(None);
        self.surface.set_fill(Some(solid(grey)));
        let mut x = at.x;
        for piece in &line.pieces {
            self.surface.draw_glyphs(Point::from_xy(x, at.y), &piece.glyphs, self.fonts.font(piece.face), &piece.text, size, false);
            x += piece.width() * size;
        }
    }

    fn shape(&mut self, path: Option<Path>, fill: Option<Fill>, stroke: Option<Stroke>, kind: ArtifactType) {
        let Some(path) = path else { return };
        self.surface.start_tagged(ContentTag::Artifact(Artifact::with_kind(kind)));
        self.surface.set_fill(fill);
        self.surface.set_stroke(stroke);
        self.surface.draw_path(&path);
        self.surface.end_tagged();
    }
}

/// A grey that covers.
pub fn solid(grey: u8) -> Fill {
    Fill { paint: luma::Color::new(grey).into(), opacity: NormalizedF32::ONE, ..Fill::default() }
}
