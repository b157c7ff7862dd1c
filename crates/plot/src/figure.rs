//! What a picture of curves shows, for any medium: meanings, not colours and not ink.
//!
//! Binary floating point is good enough here and nowhere else: pictures decide nothing.

use super::scale::Scale;

/// A place on a picture: the measured axis, the answer.
pub type Spot = (f64, f64);

/// A picture of responses.
#[derive(Clone, Debug)]
pub struct Figure {
    /// What it shows, as a heading.
    pub title: String,
    /// What it shows, in words, for those who hear it read.
    pub description: String,
    /// What is measured: voltage, frequency, power.
    pub x: Axis,
    /// What answers.
    pub y: Axis,
    /// What is drawn; later ones of a kind lie over earlier ones.
    pub marks: Vec<Mark>,
}

/// An axis' words.
#[derive(Clone, Debug)]
pub struct Axis {
    /// The quantity, such as `Voltage`.
    pub label: String,
    /// Its unit as written in files, such as `V`.
    pub unit: String,
    /// The same axis in another unit.
    pub second: Option<SecondScale>,
}

impl Axis {
    /// `Voltage (V)`.
    pub fn title(&self) -> String {
        if self.unit.is_empty() { self.label.clone() } else { format!("{} ({})", self.label, self.unit) }
    }
}

/// A second unit of an axis, such as per unit of 230 V.
#[derive(Clone, Debug)]
pub struct SecondScale {
    /// The unit and what it is of, such as `pu of 230 V`.
    pub unit: String,
    /// How much of the axis' own unit makes one: 230 for per unit of 230 V.
    pub one_is: f64,
}

/// One thing that is drawn. Responses are flat beyond their first and last points, so they are drawn on
/// to both edges of the picture.
#[derive(Clone, Debug)]
pub enum Mark {
    /// What lies between two responses.
    Band {
        /// The lower edge.
        lower: Vec<Spot>,
        /// The upper edge.
        upper: Vec<Spot>,
        /// Who says so, or what it is.
        label: String,
    },
    /// A response.
    Line {
        /// Its points, from left to right; two at one place are a step.
        points: Vec<Spot>,
        /// Whose it is.
        label: String,
        /// What it stands for.
        style: Style,
    },
    /// One place of the measured axis.
    Guide {
        /// Where.
        at: f64,
        /// What is there.
        label: String,
    },
    /// How long something was where: the longer, the denser.
    Density {
        /// Parts of the picture, each with how dense it is.
        cells: Vec<Tone>,
        /// Of what.
        label: String,
    },
    /// What was seen at places of the measured axis.
    Observed {
        /// From left to right.
        seen: Vec<Seen>,
        /// What they are.
        label: String,
    },
}

/// A part of a picture, as dense as its level says.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Tone {
    /// Its lower left corner.
    pub from: Spot,
    /// Its upper right corner.
    pub to: Spot,
    /// From 1 to [`TONES`].
    pub level: u8,
}

/// How many levels of density there are.
pub const TONES: u8 = 4;

/// A middle, and the interval around it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Seen {
    /// The place of the measured axis.
    pub at: f64,
    /// The least, the middle and the most.
    pub answer: [f64; 3],
}

/// What a line stands for; each medium has its own way to show it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Style {
    /// What is asked for.
    Required,
    /// What a device holds: the first, the second, and so on from 0.
    Device(usize),
}

impl Mark {
    /// What is said of it.
    pub fn label(&self) -> &str {
        match self {
            Self::Band { label, .. }
            | Self::Line { label, .. }
            | Self::Guide { label, .. }
            | Self::Density { label, .. }
            | Self::Observed { label, .. } => label,
        }
    }

    /// Its lines, the second of which only a band has.
    pub fn lines(&self) -> [&[Spot]; 2] {
        match self {
            Self::Band { lower, upper, .. } => [lower, upper],
            Self::Line { points, .. } => [points, &[]],
            Self::Guide { .. } | Self::Density { .. } | Self::Observed { .. } => [&[], &[]],
        }
    }

    /// All places that a picture has to have room for, but for guides.
    fn extent(&self) -> Vec<Spot> {
        match self {
            Self::Density { cells, .. } => cells.iter().flat_map(|tone| [tone.from, tone.to]).collect(),
            Self::Observed { seen, .. } => seen.iter().flat_map(|seen| seen.answer.map(|answer| (seen.at, answer))).collect(),
            other => other.lines().concat(),
        }
    }
}

impl Figure {
    /// The axes, wide enough for all that is drawn, with about so many numbers on each.
    pub fn frame(&self, x_numbers: usize, y_numbers: usize) -> Frame {
        let extents: Vec<Vec<Spot>> = self.marks.iter().map(Mark::extent).collect();
        let spots = || extents.iter().flat_map(|extent| drawable(extent));
        let guides =
            self.marks.iter().filter_map(|mark| if let Mark::Guide { at, .. } = mark { can_draw(*at).then_some(*at) } else { None });
        let x = Scale::around(spots().map(|(x, _)| x).chain(guides), x_numbers);
        Frame { x, y: Scale::around_with_zero(spots().map(|(_, y)| y), y_numbers) }
    }
}

/// Beyond this a picture has no room for digits.
const LARGEST: f64 = 1e12;

/// False of what is not a number, too.
fn can_draw(number: f64) -> bool {
    number.abs() <= LARGEST
}

/// The points that a picture can show; what is not a number is left out.
fn drawable(points: &[Spot]) -> impl Iterator<Item = Spot> + '_ {
    points.iter().copied().filter(|(x, y)| can_draw(*x) && can_draw(*y))
}

/// A picture's two axes.
#[derive(Clone, Debug)]
pub struct Frame {
    /// The measured axis.
    pub x: Scale,
    /// The answer.
    pub y: Scale,
}

impl Frame {
    /// A response on to both edges of the picture; empty if it has no point that can be drawn.
    pub fn across(&self, points: &[Spot]) -> Vec<Spot> {
        let points: Vec<Spot> = drawable(points).collect();
        let (Some(first), Some(last)) = (points.first(), points.last()) else { return Vec::new() };
        let ends = [(self.x.low, first.1), (self.x.high, last.1)];
        std::iter::once(ends[0]).chain(points.iter().copied()).chain([ends[1]]).collect()
    }

    /// The points themselves, where markers stand.
    pub fn points(&self, points: &[Spot]) -> Vec<Spot> {
        drawable(points).collect()
    }

    /// Whether a mark has not one number that can be drawn.
    pub fn shows_nothing_of(&self, mark: &Mark) -> bool {
        match mark {
            Mark::Guide { at, .. } => !self.shows(*at),
            other => drawable(&other.extent()).next().is_none(),
        }
    }

    /// Whether a place of the measured axis can be shown.
    pub fn shows(&self, x: f64) -> bool {
        self.x.low <= x && x <= self.x.high
    }
}

/// A line without the spots that lie within so much of a straight one.
pub fn straightened(line: impl Iterator<Item = Spot>, unseen: f64) -> Vec<Spot> {
    let (mut kept, mut passed): (Vec<Spot>, Vec<Spot>) = (Vec::new(), Vec::new());
    for spot in line {
        if let (Some(from), Some(last)) = (kept.last().copied(), passed.last().copied()) {
            let off = |over: &Spot| from.1 + (over.0 - from.0) / (spot.0 - from.0) * (spot.1 - from.1) - over.1;
            if passed.iter().any(|over| off(over).abs() >= unseen) {
                kept.push(last);
                passed.clear();
            }
        }
        if kept.is_empty() { kept.push(spot) } else { passed.push(spot) }
    }
    kept.extend(passed.last());
    kept
}

/// Text in lines of at most `width` (measured by `measure`), at most `lines` of them; what does not fit
/// ends in `…`.
pub fn folded(text: &str, width: f64, lines: usize, measure: impl Fn(&str) -> f64) -> Vec<String> {
    let mut folded: Vec<String> = Vec::new();
    let mut left = text.split_whitespace().flat_map(|word| pieces(word, width, &measure)).peekable();
    while let Some(word) = left.next() {
        let mut line = word;
        while let Some(next) = left.next_if(|next| measure(&format!("{line} {next}")) <= width) {
            line = format!("{line} {next}");
        }
        if folded.len() + 1 >= lines && left.peek().is_some() {
            while measure(&format!("{line}…")) > width && line.pop().is_some() {}
            folded.push(format!("{}…", line.trim_end()));
            break;
        }
        folded.push(line);
    }
    folded
}

/// A word in pieces that fit.
fn pieces(word: &str, width: f64, measure: &impl Fn(&str) -> f64) -> Vec<String> {
    let mut pieces = vec![String::new()];
    for letter in word.chars() {
        let piece = pieces.last_mut().expect("starts with one");
        piece.push(letter);
        if measure(piece) > width && piece.chars().count() > 1 {
            piece.pop();
            pieces.push(letter.to_string());
        }
    }
    pieces
}
