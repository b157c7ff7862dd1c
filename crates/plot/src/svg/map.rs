//! A region map as a standalone SVG: duration on a logarithmic axis, readable without colour.

use super::here::write_ring;
use super::paper::{PANE, Paper, SHEET};
use super::{BELOW, SIZE, folded, n, opening, signed, text_width, write_line, write_marker_at, write_text, written};
use crate::figure::Spot;
use crate::regions::{Bounds, Meaning, RegionMap, Strip, trip_path};
use crate::scale::plain;
use settings_model::exact::Exact;
use std::fmt::Write as _;

/// Inks of the three meanings; the hatches tell them apart without colour.
pub const STYLE: &str = "
.figure .stays{fill:#56b4e9;fill-opacity:.28}
.figure .off{fill:#777;fill-opacity:.35}
.figure .off-line{stroke:#555;stroke-opacity:.8}
.figure .mean-line{stroke:#9a3d00;stroke-width:2;stroke-dasharray:9 4 2 4}
.figure .path{fill:none;stroke-width:3;stroke-linejoin:round}
@media (prefers-color-scheme:dark){.figure .off{fill:#aaa}.figure .off-line{stroke:#ccc}.figure .mean-line{stroke:#ffb27a}}
";

/// Where the plot stands on the sheet.
struct Plot {
    left: f64,
    right: f64,
    top: f64,
    bottom: f64,
    bounds: Bounds,
}

impl Plot {
    fn spot(&self, seconds: f64, value: f64) -> Spot {
        let (x, y) = (self.bounds.share_of_time(seconds), self.bounds.share_of_value(value));
        (self.left + x * (self.right - self.left), self.bottom - y * (self.bottom - self.top))
    }

    fn first(&self) -> f64 {
        10f64.powi(self.bounds.decades[0])
    }

    fn last(&self) -> f64 {
        10f64.powi(self.bounds.decades[1])
    }
}

/// The map as SVG text. `id` begins the names inside, so that several may stand in one page.
pub fn map(map: &RegionMap, id: &str) -> String {
    drawn(map, None, &SHEET, id)
}

/// The map as a part of a page that says its title and key and has its inks, with a value of the moment marked.
pub fn map_pane(map: &RegionMap, now: Option<(f64, &str)>, id: &str) -> String {
    drawn(map, now, &PANE, id)
}

fn drawn(map: &RegionMap, now: Option<(f64, &str)>, paper: &Paper, id: &str) -> String {
    let bounds = map.bounds();
    let longest = bounds.edges.iter().map(|(edge, _)| text_width(&edge_words(*edge), SIZE)).fold(0.0, f64::max);
    let title = paper.title(&map.title);
    let top = paper.below_title(&title);
    let left = paper.margin + 34.0 + longest;
    // the last number of the axis below stands half beyond it
    let beside = if paper.is_alone { 210.0 } else { 18.0 };
    let plot = Plot { left, right: paper.width - paper.margin - beside, top, bottom: top + paper.plot_height, bounds };
    let height = (plot.bottom + BELOW).ceil();
    let mut out = String::new();
    opening(&mut out, id, (paper.width, height), [&map.title, &map.description], paper.style(STYLE), &off_hatch(id));
    for (line, text) in title.iter().enumerate() {
        write_text(&mut out, "heading", (paper.margin, 36.0 + 25.0 * line as f64), "start", text);
    }
    map.strips.iter().for_each(|strip| write_strip(&mut out, strip, &plot, id));
    write_axes(&mut out, map, &plot, paper);
    write_means(&mut out, map, &plot, paper);
    for (device, (_, stages)) in map.devices.iter().enumerate() {
        for below in [true, false] {
            let path: Vec<Spot> = trip_path(stages, below, &plot.bounds).into_iter().map(|(t, v)| plot.spot(t, v)).collect();
            if !path.is_empty() {
                let _ = writeln!(out, "<polyline class=\"path device d{}\" points=\"{}\"/>", device % 5, written(&path));
            }
        }
        stages.iter().for_each(|stage| write_marker_at(&mut out, device, plot.spot(stage.after, stage.at)));
    }
    if paper.is_alone {
        write_key(&mut out, map, &plot, id);
    }
    if let Some((value, label)) = now {
        write_now(&mut out, value, label, &plot);
    }
    out.push_str("</svg>\n");
    out
}

fn off_hatch(id: &str) -> String {
    format!(
        "<defs><pattern id=\"{id}-off\" width=\"7\" height=\"7\" patternUnits=\"userSpaceOnUse\" patternTransform=\"rotate(-45)\">\
         <line class=\"off-line\" x1=\"0\" y1=\"0\" x2=\"0\" y2=\"7\"/></pattern></defs>\n"
    )
}

fn write_strip(out: &mut String, strip: &Strip, plot: &Plot, id: &str) {
    let [low, high] = plot.bounds.values;
    let (from, to) = (strip.from.unwrap_or(low), strip.to.unwrap_or(high));
    // until when it stays on depends on the time before
    let ends = strip.stays.map(|stays| stays.unwrap_or(if strip.by_mean { 0.0 } else { plot.last() }));
    if ends[0] > 0.0 || ends[1] > 0.0 {
        let spots = [(plot.first(), from), (ends[0], from), (ends[1], to), (plot.first(), to)].map(|(t, v)| plot.spot(t, v));
        write_area(out, &spots, "stays", &format!("{id}-hatch"));
    }
    if let Some(off) = strip.off_by {
        let spots = [(off, from), (plot.last(), from), (plot.last(), to), (off, to)].map(|(t, v)| plot.spot(t, v));
        write_area(out, &spots, "off", &format!("{id}-off"));
    }
}

fn write_area(out: &mut String, spots: &[Spot], class: &str, hatch: &str) {
    let _ = writeln!(out, "<polygon class=\"{class}\" points=\"{}\"/>", written(spots));
    let _ = writeln!(out, "<polygon fill=\"url(#{hatch})\" points=\"{}\"/>", written(spots));
}

/// A value of the moment, across every duration; beyond the map it stands at the edge, with an arrow.
fn write_now(out: &mut String, value: f64, label: &str, plot: &Plot) {
    let (left, y) = plot.spot(plot.first(), value);
    write_line(out, "now", (left, y), (plot.right, y));
    write_ring(out, (left, y));
    let [low, high] = plot.bounds.values;
    let label = match value {
        value if value < low => format!("{label} \u{2193}"),
        value if value > high => format!("{label} \u{2191}"),
        _ => label.to_owned(),
    };
    let y = if y - 14.0 < plot.top + SIZE { y + 20.0 } else { y - 8.0 };
    write_text(out, "words halo said", (left + 14.0, y), "start", &label);
}

/// A threshold as the axis shows it.
fn edge_words(edge: f64) -> String {
    signed(&Exact::nearest(edge, 4).unwrap_or_default().to_string())
}

/// The limits on a mean: across every duration, each with its value and whose it is.
fn write_means(out: &mut String, map: &RegionMap, plot: &Plot, paper: &Paper) {
    let size = if paper.is_alone { SIZE } else { SIZE * 0.85 };
    for mean in &map.means {
        let (left, y) = plot.spot(plot.first(), mean.at);
        write_line(out, "mean-line", (left, y), (plot.right, y));
        let room = plot.right - left - 16.0;
        for (n, line) in folded(&mean.label, room, 2, |text| text_width(text, size)).iter().enumerate() {
            write_text(out, "words halo", (left + 8.0, y + 17.0 + 17.0 * n as f64), "start", line);
        }
    }
}

fn write_axes(out: &mut String, map: &RegionMap, plot: &Plot, paper: &Paper) {
    let Plot { left, right, top, bottom, ref bounds } = *plot;
    for (edge, _) in &bounds.edges {
        let (_, y) = plot.spot(1.0, *edge);
        write_line(out, "grid", (left, y), (right, y));
        write_text(out, "number", (left - 8.0, y + 5.0), "end", &edge_words(*edge));
    }
    for decade in bounds.decades[0]..=bounds.decades[1] {
        let (x, _) = plot.spot(10f64.powi(decade), bounds.values[0]);
        write_line(out, "tick", (x, bottom), (x, bottom + 6.0));
        let text = plain(10f64.powi(decade), usize::try_from(-decade).unwrap_or(0));
        write_text(out, "number halo", (x, bottom + 22.0), "middle", &text);
    }
    write_line(out, "axis", (left, top), (left, bottom));
    write_line(out, "axis", (left, bottom), (right, bottom));
    write_text(out, "words", (left.midpoint(right), bottom + 50.0), "middle", "Duration (s)");
    let (x, y) = (paper.margin + 10.0, top.midpoint(bottom));
    let _ = writeln!(
        out,
        "<text class=\"words\" text-anchor=\"middle\" x=\"{0}\" y=\"{1}\" transform=\"rotate(-90 {0} {1})\">{2}</text>",
        n(x),
        n(y),
        super::escaped(&map.y.title())
    );
}

/// A box of what a place of the map means.
pub fn write_meaning(out: &mut String, meaning: Meaning, spots: &[Spot; 4], id: &str) {
    match meaning {
        Meaning::Stays => write_area(out, spots, "stays", &format!("{id}-hatch")),
        Meaning::Off => write_area(out, spots, "off", &format!("{id}-off")),
        Meaning::May => {}
    }
    let (x, y) = spots[0];
    let _ = writeln!(out, "<polygon class=\"edge\" points=\"{} {},{}\"/>", written(spots), n(x), n(y));
}

/// What has to be known of the axis.
const SCALE: &str = "Not to scale: each band between two thresholds is high enough to read.";

fn write_key(out: &mut String, map: &RegionMap, plot: &Plot, id: &str) {
    let (x, mut y) = (plot.right + 18.0, plot.top + 6.0);
    for meaning in Meaning::ALL {
        let spots = [(x, y), (x + 30.0, y), (x + 30.0, y + 20.0), (x, y + 20.0)];
        write_meaning(out, meaning, &spots, id);
        write_text(out, "words", (x + 40.0, y + 15.0), "start", meaning.words());
        y += 32.0;
    }
    for (device, (title, _)) in map.devices.iter().enumerate() {
        let _ = writeln!(
            out,
            "<polyline class=\"path device d{}\" points=\"{}\"/>",
            device % 5,
            written(&[(x, y + 10.0), (x + 30.0, y + 10.0)])
        );
        write_marker_at(out, device, (x + 15.0, y + 10.0));
        for line in folded(title, 165.0, 3, |text| text_width(text, SIZE)) {
            write_text(out, "words", (x + 40.0, y + 15.0), "start", &line);
            y += 20.0;
        }
        y += 12.0;
    }
    for line in folded(SCALE, 190.0, 4, |text| text_width(text, SIZE)) {
        write_text(out, "words", (x, y + 15.0), "start", &line);
        y += 18.0;
    }
}
