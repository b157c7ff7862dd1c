//! Letters: the fonts that are embedded, how wide words are in them, and what they lack.

use krilla::text::{Font, GlyphId, KrillaGlyph};
use rustybuzz::UnicodeBuffer;
use std::cell::RefCell;
use std::collections::BTreeSet;

/// The cuts of letters that a paper has.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Face {
    /// As usual.
    Regular,
    /// What the eye should find.
    Bold,
    /// Each letter as wide as the others.
    Code,
}

/// The fonts of a paper.
pub struct Fonts {
    /// In the order of [`Face`].
    cuts: [Cut; 3],
    boxes: RefCell<BTreeSet<char>>,
}

struct Cut {
    font: Font,
    shaper: rustybuzz::Face<'static>,
    /// What is drawn where a letter is lacking: an empty square.
    square: GlyphId,
}

/// Letters in a row. Widths are shares of the letters' size.
#[derive(Clone, Debug)]
pub struct Shaped {
    /// The cut that has them.
    pub face: Face,
    /// The text that they stand for.
    pub text: String,
    /// The letters.
    pub glyphs: Vec<KrillaGlyph>,
}

impl Shaped {
    /// How wide they are together, as a share of their size.
    pub fn width(&self) -> f32 {
        self.glyphs.iter().map(|glyph| glyph.x_advance).sum()
    }

    /// Adds letters of the same cut behind.
    pub fn join(&mut self, more: &Self) {
        let start = self.text.len();
        self.text.push_str(&more.text);
        self.glyphs.extend(more.glyphs.iter().cloned().map(|mut glyph| {
            glyph.text_range = glyph.text_range.start + start..glyph.text_range.end + start;
            glyph
        }));
    }
}

impl Fonts {
    /// The fonts that the program brings along.
    pub fn new() -> Self {
        use dejavu::{sans_condensed, sans_mono};
        let cuts = [sans_condensed::regular(), sans_condensed::bold(), sans_mono::regular()].map(|data| {
            let font = Font::new(data.into(), 0).expect("the font is whole: it is part of the program");
            let shaper = rustybuzz::Face::from_slice(data, 0).expect("the font is whole: it is part of the program");
            let square = shaper.glyph_index('\u{25a1}').map_or(GlyphId::new(0), |glyph| GlyphId::new(glyph.0.into()));
            Cut { font, shaper, square }
        });
        Self { cuts, boxes: RefCell::default() }
    }

    /// The font as the file embeds it.
    pub fn font(&self, face: Face) -> Font {
        self.cuts[face as usize].font.clone()
    }

    /// What no letter was there for, so far.
    pub fn boxes(&self) -> BTreeSet<char> {
        self.boxes.borrow().clone()
    }

    /// Letters for a text of one line; as many of the usual cut where the wished one lacks some.
    pub fn shaped(&self, face: Face, text: &str) -> Shaped {
        let text: String = text.chars().map(writable).collect();
        let lacks = |face: Face| text.chars().any(|c| !is_unseen(c) && self.cuts[face as usize].shaper.glyph_index(c).is_none());
        let face = if lacks(face) && !lacks(Face::Regular) { Face::Regular } else { face };
        let cut = &self.cuts[face as usize];
        let mut buffer = UnicodeBuffer::new();
        buffer.push_str(&text);
        buffer.guess_segment_properties();
        let shaped = rustybuzz::shape(&cut.shaper, &[], buffer);
        let em = cut.shaper.units_per_em() as f32;
        let starts: BTreeSet<usize> = shaped.glyph_infos().iter().map(|info| info.cluster as usize).collect();
        let glyph = |(info, place): (&rustybuzz::GlyphInfo, &rustybuzz::GlyphPosition)| {
            let start = info.cluster as usize;
            let end = starts.range(start + 1..).next().copied().unwrap_or(text.len());
            let mut id = GlyphId::new(info.glyph_id);
            let mut advance = place.x_advance as f32 / em;
            if info.glyph_id == 0 {
                self.boxes.borrow_mut().extend(text[start..end].chars().filter(|c| !is_unseen(*c)));
                id = cut.square;
                advance = cut
                    .shaper
                    .glyph_hor_advance(rustybuzz::ttf_parser::GlyphId(id.to_u32() as u16))
                    .map_or(advance, |wide| f32::from(wide) / em);
            }
            let (x, y) = (place.x_offset as f32 / em, place.y_offset as f32 / em);
            KrillaGlyph::new(id, advance, x, y, place.y_advance as f32 / em, start..end, None)
        };
        let glyphs = shaped.glyph_infos().iter().zip(shaped.glyph_positions()).map(glyph).collect();
        Shaped { face, text, glyphs }
    }
}

/// What a PDF may say of a letter: signs that control something are shown as the sign for what cannot be shown, and
/// every kind of blank that is no letter is a space.
fn writable(c: char) -> char {
    match c {
        '\t' | '\n' | '\r' | '\u{b}' | '\u{c}' | '\u{85}' | '\u{2028}' | '\u{2029}' => ' ',
        '\u{feff}' | '\u{fffe}' | '\u{ffff}' => '\u{fffd}',
        // what would turn the text round it about
        '\u{61c}' | '\u{200e}' | '\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}' => '\u{fffd}',
        c if c.is_control() => '\u{fffd}',
        c => c,
    }
}

/// Whether a sign is never seen, so that no letter is needed (of the default ignorable ones of Unicode).
fn is_unseen(c: char) -> bool {
    matches!(c, '\u{ad}' | '\u{200b}'..='\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2060}'..='\u{2064}' | '\u{fe00}'..='\u{fe0f}')
}
