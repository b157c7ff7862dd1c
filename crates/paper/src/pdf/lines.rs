//! Words into lines, by the letters' own widths and where Unicode lets lines end (UAX 14). A word longer than a line
//! is broken where the line ends.

use super::fonts::{Face, Fonts, Shaped};
use crate::{Run, quantity};
use unicode_linebreak::{BreakOpportunity, linebreaks};

/// A line.
#[derive(Clone, Debug, Default)]
pub struct Line {
    /// Letters of one cut after another.
    pub pieces: Vec<Shaped>,
}

impl Line {
    /// How wide it is with letters of a size, spaces at its end left out.
    pub fn width(&self, size: f32) -> f32 {
        let all: f32 = self.pieces.iter().map(Shaped::width).sum();
        let end = |piece: &Shaped| {
            piece
                .glyphs
                .iter()
                .rev()
                .take_while(|glyph| is_space(&piece.text[glyph.text_range.clone()]))
                .map(|glyph| glyph.x_advance)
                .sum::<f32>()
        };
        (all - self.pieces.last().map_or(0.0, end)) * size
    }

    fn push(&mut self, more: &Shaped) {
        match self.pieces.last_mut().filter(|last| last.face == more.face) {
            Some(last) => last.join(more),
            None if more.glyphs.is_empty() => {}
            None => self.pieces.push(more.clone()),
        }
    }

    fn is_empty(&self) -> bool {
        self.pieces.is_empty()
    }
}

/// How words are written.
#[derive(Clone, Copy, Debug)]
pub struct Manner {
    /// The size of letters.
    pub size: f32,
    /// From one line to the next.
    pub leading: f32,
    /// 0 is black.
    pub grey: u8,
    /// Whether all are bold.
    pub is_bold: bool,
}

/// The lines of words, at least one.
pub fn lines(fonts: &Fonts, words: &[Run], manner: &Manner, width: f32) -> Vec<Line> {
    let (text, faces) = joined(words, manner);
    // what is measured in points there is a share of the letters' size here; a hair more, for rounding
    let room = width / manner.size + 1e-4;
    let mut setter = Setter { done: Vec::new(), line: Line::default(), x: 0.0, room };
    let mut start = 0;
    for (end, opportunity) in ends(&text) {
        setter.segment(&pieces(fonts, &text, &faces, start, end));
        if opportunity == BreakOpportunity::Mandatory {
            setter.end_line();
        }
        start = end;
    }
    if !setter.line.is_empty() || setter.done.is_empty() {
        setter.end_line();
    }
    setter.done
}

/// How wide the longest word is that should not be broken; what is read digit by digit may be.
pub fn longest_word(fonts: &Fonts, words: &[Run], manner: &Manner) -> f32 {
    let is_word = |run: &&Run| !matches!(run, Run::Code(_));
    let words: Vec<Run> = words.iter().filter(is_word).cloned().collect();
    let (text, faces) = joined(&words, manner);
    let mut start = 0;
    let mut longest = 0.0_f32;
    for end in ends(&text).map(|(end, _)| end) {
        longest = longest.max(Line { pieces: pieces(fonts, &text, &faces, start, end) }.width(manner.size));
        start = end;
    }
    longest
}

/// Where lines may end or must.
fn ends(text: &str) -> impl Iterator<Item = (usize, BreakOpportunity)> {
    let is_bound = |end: usize| text[..end].ends_with(' ') && quantity::binds(text, end - 1);
    linebreaks(text).filter(move |(end, _)| !is_bound(*end))
}

/// Where each cut begins.
type Faces = Vec<(usize, Face)>;

fn joined(words: &[Run], manner: &Manner) -> (String, Faces) {
    let mut text = String::new();
    let mut faces = Faces::new();
    for run in words {
        let (face, words) = match run {
            Run::Plain(words) => (if manner.is_bold { Face::Bold } else { Face::Regular }, words),
            Run::Strong(words) => (Face::Bold, words),
            Run::Code(words) => (Face::Code, words),
        };
        faces.push((text.len(), face));
        text.push_str(words);
    }
    (text, faces)
}

/// The letters of a part of the text, cut by cut.
fn pieces(fonts: &Fonts, text: &str, faces: &Faces, start: usize, end: usize) -> Vec<Shaped> {
    let ends = faces.iter().skip(1).map(|(at, _)| *at).chain([text.len()]);
    let of = |((from, face), until): (&(usize, Face), usize)| {
        let (from, until) = ((*from).max(start), until.min(end));
        (from < until).then(|| {
            fonts.shaped(*face, text[from..until].trim_end_matches(['\n', '\r', '\u{2028}', '\u{2029}', '\u{85}', '\u{b}', '\u{c}']))
        })
    };
    faces.iter().zip(ends).filter_map(of).collect()
}

struct Setter {
    done: Vec<Line>,
    line: Line,
    x: f32,
    room: f32,
}

impl Setter {
    fn end_line(&mut self) {
        self.done.push(std::mem::take(&mut self.line));
        self.x = 0.0;
    }

    /// What may not be broken, and spaces behind it.
    fn segment(&mut self, pieces: &[Shaped]) {
        let whole = Line { pieces: pieces.to_vec() };
        let wide = whole.width(1.0);
        if self.x + wide > self.room && !self.line.is_empty() {
            self.end_line();
        }
        if wide <= self.room {
            for piece in pieces {
                self.line.push(piece);
                self.x += piece.width();
            }
        } else {
            pieces.iter().for_each(|piece| self.broken(piece));
        }
    }

    /// Letter by letter: letters that belong together stay so.
    fn broken(&mut self, piece: &Shaped) {
        for letters in piece.glyphs.chunk_by(|one, next| one.text_range == next.text_range) {
            let range = letters[0].text_range.clone();
            let text = piece.text[range.clone()].to_owned();
            let mut own = Shaped { face: piece.face, text, glyphs: letters.to_vec() };
            own.glyphs.iter_mut().for_each(|glyph| glyph.text_range = 0..range.len());
            if self.x + own.width() > self.room && !self.line.is_empty() && !is_space(&own.text) {
                self.end_line();
            }
            self.x += own.width();
            self.line.push(&own);
        }
    }
}

fn is_space(text: &str) -> bool {
    text.chars().all(char::is_whitespace)
}
