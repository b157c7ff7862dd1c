//! Words beside the lines: at their right ends, moved apart where they would overlap.

use super::{SIZE, Spot, ink, seen, write_line, write_text};
use crate::figure::{Figure, Mark, Style, folded};
use std::fmt::Write as _;

/// The words of a mark, with a sample of its line.
pub struct Label {
    mark: usize,
    /// Where its line meets the plot's right edge.
    from: Spot,
    /// The middle of its first line of words.
    y: f64,
    words: Vec<String>,
}

const LINE: f64 = 18.0;
const GAP: f64 = 7.0;
/// From the plot's edge to the sample, the sample, and the space after it.
const LEADER: f64 = 16.0;
const SAMPLE: f64 = 34.0;
const SPACE: f64 = 8.0;

/// The column of labels, with what leads to it.
pub fn width(figure: &Figure) -> f64 {
    LEADER + SAMPLE + SPACE + width_of_words(figure)
}

/// As wide as the longest, within reason.
fn width_of_words(figure: &Figure) -> f64 {
    let beside = figure.marks.iter().filter(|mark| !matches!(mark, Mark::Guide { .. }));
    let longest = beside.map(|mark| text_width(mark.label(), SIZE)).fold(0.0, f64::max);
    longest.clamp(70.0, 230.0)
}

impl Label {
    fn height(&self) -> f64 {
        LINE * self.words.len() as f64
    }

    /// The leader, the sample and the words.
    pub fn write(&self, out: &mut String, figure: &Figure, id: &str) {
        let start = self.from.0 + LEADER;
        let mark = &figure.marks[self.mark];
        // a density meets no edge
        if !matches!(mark, Mark::Density { .. }) {
            write_line(out, "leader", self.from, (start, self.y));
        }
        let (left, right) = ((start, self.y), (start + SAMPLE, self.y));
        match mark {
            Mark::Density { .. } | Mark::Observed { .. } => {
                seen::write_sample(out, mark, (start, self.y - 7.0), (start + SAMPLE, self.y + 7.0));
            }
            Mark::Line { style, .. } => {
                write_line(out, &ink::line_class(*style), left, right);
                if let Style::Device(device) = style {
                    ink::write_marker(out, *device, (start + SAMPLE / 2.0, self.y));
                }
            }
            _ => {
                for class in ["band edge".to_owned(), format!("band-hatch\" fill=\"url(#{id}-hatch)")] {
                    let _ = writeln!(
                        out,
                        "<rect class=\"{class}\" x=\"{}\" y=\"{}\" width=\"{SAMPLE}\" height=\"12\"/>",
                        super::n(start),
                        super::n(self.y - 6.0)
                    );
                }
            }
        }
        for (line, words) in self.words.iter().enumerate() {
            write_text(out, "words label", (start + SAMPLE + SPACE, self.y + 5.0 + LINE * line as f64), "start", words);
        }
    }
}

/// Labels for marks that meet the plot's right edge at a height, top to bottom without overlap, and the
/// height they need. With more words than room each has fewer lines; beyond that they need more height.
pub fn placed(figure: &Figure, wanted: &[(usize, f64)], right: f64, top: f64, room: f64) -> (Vec<Label>, f64) {
    let width = width_of_words(figure);
    let with_lines = |lines: usize| -> Vec<Label> {
        let label = |(mark, y): &(usize, f64)| {
            let words = folded(figure.marks[*mark].label(), width, lines, |text| text_width(text, SIZE));
            Label { mark: *mark, from: (right, *y), y: *y, words: if words.is_empty() { vec![String::new()] } else { words } }
        };
        wanted.iter().map(label).collect()
    };
    let needed = |labels: &[Label]| labels.iter().map(|label| label.height() + GAP).sum::<f64>();
    let lines = [4, 3, 2, 1].into_iter().find(|lines| needed(&with_lines(*lines)) <= room).unwrap_or(1);
    let mut labels = with_lines(lines);
    labels.sort_by(|one, other| one.y.total_cmp(&other.y));
    let needed = needed(&labels);
    let mut wanted: Vec<(f64, f64)> = labels.iter().map(|label| (label.y, label.height())).collect();
    apart(&mut wanted, top, room.max(needed));
    labels.iter_mut().zip(wanted).for_each(|(label, (y, _))| label.y = y);
    (labels, needed)
}

/// Moves words apart: the middles of their first lines, from top to bottom, and their heights.
pub fn apart(words: &mut [(f64, f64)], top: f64, room: f64) {
    // down from above, then up from below
    let mut least = top + LINE / 2.0;
    for (y, height) in words.iter_mut() {
        *y = y.max(least);
        least = *y + *height + GAP;
    }
    let mut most = top + room + LINE / 2.0;
    for (y, height) in words.iter_mut().rev() {
        *y = y.min(most - *height);
        most = *y - GAP;
    }
}

/// How wide words are at most, for the fonts that people have: no font is asked, none is brought along.
pub fn text_width(text: &str, size: f64) -> f64 {
    let em = |c: char| match c {
        'i' | 'j' | 'l' | '.' | ',' | ':' | ';' | '|' | '\'' | '!' => 0.33,
        'm' | 'w' | 'M' | 'W' | '%' | '@' => 0.98,
        'A'..='Z' | '&' | '−' | '…' => 0.78,
        c if c < '\u{1100}' => 0.62,
        _ => 1.05,
    };
    text.chars().map(em).sum::<f64>() * size
}
