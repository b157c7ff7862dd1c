//! Outlines.

use super::{SVG, number, unknown};
use roxmltree::Node;

/// An outline.
pub type Path = Vec<Step>;

/// A step along an outline.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Step {
    /// Begins there.
    Move(f32, f32),
    /// Straight to there.
    Line(f32, f32),
    /// Along a cubic Bézier curve: its two handles and its end.
    Curve([(f32, f32); 3]),
    /// Back to where it began.
    Close,
}

/// The outline of an element, and nothing that it has besides.
pub fn of(node: Node<'_, '_>) -> Result<Path, String> {
    let at = |name: &str| number(node, name);
    if node.tag_name().namespace() != Some(SVG) {
        return Err(unknown(node));
    }
    let (own, path): (&[&str], Path) = match node.tag_name().name() {
        "line" => (&["x1", "y1", "x2", "y2"], vec![Step::Move(at("x1")?, at("y1")?), Step::Line(at("x2")?, at("y2")?)]),
        "rect" => (&["x", "y", "width", "height", "rx"], rectangle([at("x")?, at("y")?, at("width")?, at("height")?], at("rx")?)),
        "circle" => {
            let (x, y, radius) = (at("cx")?, at("cy")?, at("r")?);
            (&["cx", "cy", "r"], rectangle([x - radius, y - radius, 2.0 * radius, 2.0 * radius], radius))
        }
        "polyline" => (&["points"], through(&points(node)?)),
        "polygon" => (&["points"], through(&points(node)?).into_iter().chain([Step::Close]).collect()),
        "path" => (&["d"], written(node.attribute("d").unwrap_or_default())?),
        _ => return Err(unknown(node)),
    };
    let inks = ["class", "fill", "stroke-width"];
    match node.attributes().find(|one| !own.contains(&one.name()) && !inks.contains(&one.name())) {
        Some(other) => Err(format!("`{}` of `{}` is not known here", other.name(), node.tag_name().name())),
        None => Ok(path),
    }
}

/// How far a handle lies for a quarter of a circle of radius 1 (common practice).
const QUARTER: f32 = 0.552_284_8;

fn rectangle([x, y, width, height]: [f32; 4], radius: f32) -> Path {
    let (right, bottom) = (x + width, y + height);
    let r = radius.min(width / 2.0).min(height / 2.0);
    if r <= 0.0 {
        return vec![Step::Move(x, y), Step::Line(right, y), Step::Line(right, bottom), Step::Line(x, bottom), Step::Close];
    }
    let h = r * (1.0 - QUARTER);
    vec![
        Step::Move(x + r, y),
        Step::Line(right - r, y),
        Step::Curve([(right - h, y), (right, y + h), (right, y + r)]),
        Step::Line(right, bottom - r),
        Step::Curve([(right, bottom - h), (right - h, bottom), (right - r, bottom)]),
        Step::Line(x + r, bottom),
        Step::Curve([(x + h, bottom), (x, bottom - h), (x, bottom - r)]),
        Step::Line(x, y + r),
        Step::Curve([(x, y + h), (x + h, y), (x + r, y)]),
        Step::Close,
    ]
}

fn points(node: Node<'_, '_>) -> Result<Vec<(f32, f32)>, String> {
    let written = node.attribute("points").unwrap_or_default();
    let point = |pair: &str| {
        let (x, y) = pair.split_once(',')?;
        Some((x.parse().ok()?, y.parse().ok()?))
    };
    written.split_whitespace().map(point).collect::<Option<_>>().ok_or_else(|| format!("`{written}` are no points"))
}

fn through(points: &[(f32, f32)]) -> Path {
    let step = |(n, (x, y)): (usize, &(f32, f32))| if n == 0 { Step::Move(*x, *y) } else { Step::Line(*x, *y) };
    points.iter().enumerate().map(step).collect()
}

/// A path of straight steps: `M`, `L`, `H`, `V` and `Z`.
fn written(d: &str) -> Result<Path, String> {
    let unread = || format!("the path `{d}` is not known here");
    let mut path = Path::new();
    let mut at = (0.0, 0.0);
    let mut rest = d.trim();
    while let Some(letter) = rest.chars().next() {
        let end = rest[1..].find(|c: char| c.is_ascii_alphabetic()).map_or(rest.len(), |end| end + 1);
        let numbers = rest[1..end].split([' ', ',']).filter(|one| !one.is_empty()).map(str::parse).collect::<Result<Vec<f32>, _>>();
        match (letter, &numbers.map_err(|_| unread())?[..]) {
            ('M', [x, y]) => at = (*x, *y),
            ('L', [x, y]) => at = (*x, *y),
            ('H', [x]) => at.0 = *x,
            ('V', [y]) => at.1 = *y,
            ('Z', []) => {}
            _ => return Err(unread()),
        }
        path.push(match letter {
            'M' => Step::Move(at.0, at.1),
            'Z' => Step::Close,
            _ => Step::Line(at.0, at.1),
        });
        rest = rest[end..].trim_start();
    }
    Ok(path)
}
