//! A region map on a terminal: one letter for each meaning, so that it reads without colour.

use super::figure::folded;
use super::regions::{Meaning, RegionMap, trip_path};
use super::scale::plain;
use settings_model::exact::Exact;
use std::fmt::Write as _;

/// Lines of the plot itself.
const LINES: usize = 20;
/// A limit on a mean.
const MEAN: char = '=';

fn ink(meaning: Meaning) -> char {
    match meaning {
        Meaning::Stays => ' ',
        Meaning::May => '·',
        Meaning::Off => '▒',
    }
}

/// The map as lines of at most `width` columns, with its axes and what the letters mean.
pub fn plot(map: &RegionMap, width: usize) -> String {
    let bounds = map.bounds();
    let written: Vec<(f64, String)> =
        bounds.edges.iter().map(|(edge, _)| (*edge, Exact::nearest(*edge, 4).unwrap_or_default().to_string())).collect();
    let margin = written.iter().map(|(_, text)| text.chars().count()).max().unwrap_or(0) + 2;
    let columns = width.saturating_sub(margin + 2).max(20);
    let time = |column: usize| bounds.seconds((column as f64 + 0.5) / columns as f64);
    let value = |line: usize| bounds.value(1.0 - (line as f64 + 0.5) / LINES as f64);
    let mut cells: Vec<Vec<char>> =
        (0..LINES).map(|line| (0..columns).map(|column| ink(map.meaning(time(column), value(line)))).collect()).collect();
    let line_of = |at: f64| (((1.0 - bounds.share_of_value(at)) * LINES as f64) as usize).min(LINES - 1);
    let column_of = |seconds: f64| ((bounds.share_of_time(seconds) * columns as f64) as usize).min(columns - 1);
    for mean in &map.means {
        cells[line_of(mean.at)].iter_mut().step_by(2).for_each(|cell| *cell = MEAN);
    }
    for (n, (_, stages)) in map.devices.iter().enumerate() {
        for below in [true, false] {
            draw(&mut cells, &trip_path(stages, below, &bounds), &line_of, &column_of);
        }
        for stage in stages {
            cells[line_of(stage.at)][column_of(stage.after)] = letter(n);
        }
    }
    let mut out = String::new();
    for title in [&map.title, &map.y.title()] {
        folded(title, width as f64, 3, |text| text.chars().count() as f64).iter().for_each(|line| out.push_str(&format!("{line}\n")));
    }
    for (line, row) in cells.iter().enumerate() {
        let number = written.iter().find(|(at, _)| line_of(*at) == line);
        let (text, tick) = number.map_or(("", '│'), |(_, text)| (text.as_str(), '┤'));
        let _ = writeln!(out, "{text:>w$} {tick}{}", row.iter().collect::<String>().trim_end(), w = margin - 1);
    }
    let _ = writeln!(out, "{}", time_axis(&bounds.decades, margin, columns));
    let _ = writeln!(out, "{:>w$}Duration (s)", "", w = margin + columns / 2 - 6);
    for meaning in Meaning::ALL {
        let ink: String = std::iter::repeat_n(ink(meaning), 5).collect();
        let _ = writeln!(out, "  [{ink}]  {}", meaning.words());
    }
    for (n, (title, _)) in map.devices.iter().enumerate() {
        let _ = writeln!(out, "  ──{}──  {title}", letter(n));
    }
    for mean in &map.means {
        let _ = writeln!(out, "  [{MEAN} {MEAN} {MEAN}]  {}", mean.label);
    }
    let _ = writeln!(out, "  Not to scale: each band between two thresholds is high enough to read.");
    out
}

fn letter(n: usize) -> char {
    char::from(b'A' + (n % 26) as u8)
}

fn draw(cells: &mut [Vec<char>], path: &[(f64, f64)], line: &dyn Fn(f64) -> usize, column: &dyn Fn(f64) -> usize) {
    for pair in path.windows(2) {
        let ([from, to], [top, bottom]) = ([column(pair[0].0), column(pair[1].0)], [line(pair[0].1), line(pair[1].1)]);
        if from == to {
            let (top, bottom) = (top.min(bottom), top.max(bottom));
            cells[top..=bottom].iter_mut().for_each(|row| row[from] = '│');
        } else {
            cells[top][from.min(to)..=from.max(to)].fill('─');
        }
    }
}

fn time_axis([first, last]: &[i32; 2], margin: usize, columns: usize) -> String {
    let (mut rule, mut numbers) = (vec!['─'; columns], vec![' '; margin + columns + 8]);
    for decade in *first..=*last {
        let at = ((f64::from(decade - first) / f64::from(last - first)) * columns as f64) as usize;
        rule[at.min(columns - 1)] = '┴';
        let text = plain(10f64.powi(decade), usize::try_from(-decade).unwrap_or(0));
        let start = (margin + at).saturating_sub(text.len() / 2).min(margin + columns - text.len());
        text.chars().enumerate().for_each(|(n, c)| numbers[start + n] = c);
    }
    format!("{:>w$}└{}\n{}", "", rule.iter().collect::<String>(), numbers.iter().collect::<String>().trim_end(), w = margin)
}
