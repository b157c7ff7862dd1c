//! A picture painted.

use super::fonts::{Face, Fonts};
use super::lines::{Line, Manner, lines};
use super::paint::solid;
use crate::Run;
use crate::picture::drawing::{Anchor, Drawing, Fill, Hatch, Mark, Path, Shape, Step, Stroke, Words};
use krilla::color::luma;
use krilla::geom::{self, PathBuilder, Point, Transform};
use krilla::num::NormalizedF32;
use krilla::paint::{self, FillRule, LineCap, LineJoin, Pattern, StrokeDash};
use krilla::surface::Surface;

/// Paints a picture with its upper left corner at a place, its unit being so many points.
pub fn painted(surface: &mut Surface<'_>, drawing: &Drawing, (x, y): (f32, f32), scale: f32, fonts: &Fonts) {
    surface.push_transform(&Transform::from_row(scale, 0.0, 0.0, scale, x, y));
    for mark in &drawing.marks {
        match mark {
            Mark::Shape(shape) => painted_shape(surface, shape),
            Mark::Words(words) => painted_words(surface, words, fonts),
        }
    }
    surface.pop();
}

fn painted_shape(surface: &mut Surface<'_>, shape: &Shape) {
    let Some(path) = path(&shape.path) else { return };
    let fill = shape.fill.as_ref().map(|fill| match fill {
        Fill::Grey(grey, covers) => paint::Fill { opacity: share(*covers), ..solid(*grey) },
        Fill::Hatch(hatch) => paint::Fill { paint: pattern(surface, hatch).into(), opacity: NormalizedF32::ONE, rule: FillRule::NonZero },
    });
    let stroke = shape.stroke.as_ref().map(stroke);
    if fill.is_none() && stroke.is_none() {
        return;
    }
    surface.set_fill(fill);
    surface.set_stroke(stroke);
    surface.draw_path(&path);
}

fn path(steps: &Path) -> Option<geom::Path> {
    let mut path = PathBuilder::new();
    for step in steps {
        match *step {
            Step::Move(x, y) => path.move_to(x, y),
            Step::Line(x, y) => path.line_to(x, y),
            Step::Curve([(x1, y1), (x2, y2), (x, y)]) => path.cubic_to(x1, y1, x2, y2, x, y),
            Step::Close => path.close(),
        }
    }
    path.finish()
}

fn stroke(stroke: &Stroke) -> paint::Stroke {
    // dashes come in pairs (SVG 2, 13.5.6): an odd number is said twice
    let mut array = stroke.dashes.clone();
    if array.len() % 2 == 1 {
        array.extend_from_within(..);
    }
    paint::Stroke {
        paint: luma::Color::new(stroke.grey).into(),
        width: stroke.width,
        opacity: share(stroke.covers),
        line_cap: if stroke.has_round_ends { LineCap::Round } else { LineCap::Butt },
        line_join: if stroke.has_round_corners { LineJoin::Round } else { LineJoin::Miter },
        dash: (!array.is_empty()).then_some(StrokeDash { array, offset: 0.0 }),
        ..paint::Stroke::default()
    }
}

fn pattern(surface: &mut Surface<'_>, hatch: &Hatch) -> Pattern {
    let mut builder = surface.stream_builder();
    let mut tile = builder.surface();
    hatch.marks.iter().for_each(|shape| painted_shape(&mut tile, shape));
    tile.finish();
    let (width, height) = hatch.tile;
    Pattern { stream: builder.finish(), transform: Transform::from_rotate(hatch.turned), width, height }
}

fn painted_words(surface: &mut Surface<'_>, words: &Words, fonts: &Fonts) {
    let manner = Manner { size: words.size, leading: words.size, grey: words.grey, is_bold: words.is_bold };
    let line: Line = lines(fonts, &[Run::Plain(words.text.clone())], &manner, f32::MAX).remove(0);
    let start = match words.anchor {
        Anchor::Start => 0.0,
        Anchor::Middle => -line.width(words.size) / 2.0,
        Anchor::End => -line.width(words.size),
    };
    let (x, y) = words.at;
    surface.push_transform(&Transform::from_rotate_at(words.turned, x, y));
    // the rim is drawn as outlines, so that words are there once for who searches
    if let Some((width, grey)) = words.halo {
        surface.set_fill(None);
        let rim = paint::Stroke { paint: luma::Color::new(grey).into(), width, line_join: LineJoin::Round, ..paint::Stroke::default() };
        surface.set_stroke(Some(rim));
        drawn(surface, &line, (x + start, y), words.size, fonts, true);
    }
    surface.set_stroke(None);
    surface.set_fill(Some(solid(words.grey)));
    drawn(surface, &line, (x + start, y), words.size, fonts, false);
    surface.pop();
}

fn drawn(surface: &mut Surface<'_>, line: &Line, (mut x, y): (f32, f32), size: f32, fonts: &Fonts, is_outline: bool) {
    for piece in &line.pieces {
        let face: Face = piece.face;
        surface.draw_glyphs(Point::from_xy(x, y), &piece.glyphs, fonts.font(face), &piece.text, size, is_outline);
        x += piece.width() * size;
    }
}

fn share(covers: f32) -> NormalizedF32 {
    NormalizedF32::new(covers.clamp(0.0, 1.0)).unwrap_or(NormalizedF32::ONE)
}
