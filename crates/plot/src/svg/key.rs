//! The key of a picture that stands in a page: a sample of each ink, and its words.

use super::{escaped, ink, map, seen};
use crate::figure::{Figure, Mark, Style};
use crate::regions::{Meaning, RegionMap};
use std::fmt::Write as _;

/// A sample as SVG text, and what it stands for.
pub type Key = (String, String);

const OPENING: &str = "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"42\" height=\"18\" viewBox=\"0 0 42 18\" class=\"figure sample\" aria-hidden=\"true\">";

/// The key of a figure; `id` is the figure's own.
pub fn key(figure: &Figure, id: &str) -> Vec<Key> {
    let of = |mark: &Mark| {
        let mut out = OPENING.to_owned();
        match mark {
            Mark::Line { style, .. } => {
                let _ = write!(out, "<line class=\"{}\" x1=\"2\" y1=\"9\" x2=\"40\" y2=\"9\"/>", ink::line_class(*style));
                if let Style::Device(device) = style {
                    ink::write_marker(&mut out, *device, (21.0, 9.0));
                }
            }
            Mark::Band { .. } => {
                for class in ["band edge".to_owned(), format!("band-hatch\" fill=\"url(#{id}-hatch)")] {
                    let _ = write!(out, "<rect class=\"{class}\" x=\"2\" y=\"2\" width=\"38\" height=\"14\"/>");
                }
            }
            Mark::Density { .. } | Mark::Observed { .. } => seen::write_sample(&mut out, mark, (2.0, 2.0), (40.0, 16.0)),
            Mark::Guide { .. } => return None,
        }
        out.push_str("</svg>");
        Some((out, mark.label().to_owned()))
    };
    figure.marks.iter().filter_map(of).collect()
}

/// The key of a map.
pub fn map_key(map: &RegionMap, id: &str) -> Vec<Key> {
    let meaning = |meaning: &Meaning| {
        let mut out = OPENING.to_owned();
        let spots = [(2.0, 2.0), (40.0, 2.0), (40.0, 16.0), (2.0, 16.0)];
        map::write_meaning(&mut out, *meaning, &spots, id);
        out.push_str("</svg>");
        (out, meaning.words().to_owned())
    };
    let device = |(n, (title, _)): (usize, &(String, _))| {
        let mut out = OPENING.to_owned();
        let _ = write!(out, "<line class=\"path {}\" x1=\"2\" y1=\"9\" x2=\"40\" y2=\"9\"/>", ink::line_class(Style::Device(n)));
        ink::write_marker(&mut out, n, (21.0, 9.0));
        out.push_str("</svg>");
        (out, escaped(title))
    };
    Meaning::ALL.iter().map(meaning).chain(map.devices.iter().enumerate().map(device)).collect()
}
