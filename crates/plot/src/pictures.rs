//! Pictures: two as they are drawn, and what holds for any figure.

use super::braille::plot;
use super::examples::{all, frequency, long_words, seen, step, tiny, volt_var, volt_watt};
use super::figure::{Axis, Figure, Mark, SecondScale, Spot, Style};
use super::svg::{Here, pane, svg};
use proptest::prelude::*;
use roxmltree::{Document, Node};
use std::path::Path;

/// `ASLEFT_REWRITE=1` writes it anew.
pub(super) fn as_kept(name: &str, drawn: &str) {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../tests/figures").join(name);
    if std::env::var_os("ASLEFT_REWRITE").is_some() {
        std::fs::write(&path, drawn).unwrap();
    }
    let kept = std::fs::read_to_string(&path).unwrap_or_default().replace("\r\n", "\n");
    assert!(kept == drawn, "{name} is not as it was kept; drawn now:\n{drawn}");
}

#[test]
fn volt_var_is_drawn_as_it_was() {
    as_kept("volt-var.svg", &svg(&volt_var(), "volt-var"));
    as_kept("volt-var.txt", &plot(&volt_var(), 80, 16, false));
}

#[test]
fn an_svg_has_words_for_those_who_hear_it_read() {
    for (name, figure) in all() {
        let text = svg(&figure, name);
        let document = Document::parse(&text).unwrap_or_else(|error| panic!("{name}: {error}"));
        let root = document.root_element();
        assert_eq!(root.attribute("role"), Some("img"));
        let named: Vec<&str> = root.attribute("aria-labelledby").unwrap().split(' ').collect();
        let said = |id: &str| root.children().find(|node| node.attribute("id") == Some(id)).unwrap().text().unwrap_or_default().to_owned();
        assert_eq!(named.iter().map(|id| said(id)).collect::<Vec<_>>(), [figure.title, figure.description], "{name}");
        for forbidden in ["<script", "http://www.w3.org/1999/xlink", "@import", "NaN", "inf"] {
            assert!(!text.contains(forbidden), "{name} holds {forbidden}");
        }
        // the names inside begin with the id, so that two pictures in one page do not meet
        assert!(document.descendants().filter_map(|node| node.attribute("id")).all(|id| id.starts_with(name)), "{name}");
    }
    assert!(svg(&long_words(), "id").contains("hills &amp; &lt;rivers&gt;"));
}

/// The denser the darker, on paper and on a terminal, in grey as well; lines lie over it.
#[test]
fn what_was_measured_lies_beneath_what_is_asked() {
    let text = svg(&seen(), "id");
    let drawn = classes(&text);
    let first = |class: &str| drawn.iter().position(|drawn| drawn == class).unwrap_or_else(|| panic!("no {class}: {drawn:?}"));
    assert!((1..=4).all(|tone| first(&format!("dense t{tone}")) < first("device d0")));
    assert!(first("device d0") < first("observed"), "what was seen is on top");
    assert!(!svg(&volt_var(), "id").contains(".dense"), "a picture without brings no inks for it");
    let text = plot(&seen(), 80, 16, false);
    for tone in ['░', '▒', '▓', '█', 'o'] {
        assert!(text.lines().take(17).any(|line| line.contains(tone)), "no {tone}:\n{text}");
    }
    assert!(text.contains("  time, inverter 1"), "{text}");
}

fn classes(text: &str) -> Vec<String> {
    let document = Document::parse(text).unwrap();
    document.descendants().filter_map(|node| node.attribute("class")).map(str::to_owned).collect()
}

#[test]
fn a_device_that_holds_what_is_asked_for_hides_nothing() {
    let drawn = classes(&svg(&volt_watt(), "id"));
    let last = |class: &str| drawn.iter().position(|drawn| drawn == class).unwrap();
    assert!(last("required") > last("device d0"), "the thin dashes lie on top");
    let text = plot(&volt_watt(), 80, 16, false);
    assert!(text.contains("required by Australia A (beneath the others)"), "{text}");
    assert!(!plot(&frequency(), 80, 16, false).contains("beneath"));
}

#[test]
fn a_step_is_upright() {
    let text = svg(&step(), "id");
    let document = Document::parse(&text).unwrap();
    let line = document.descendants().find(|node| node.attribute("class") == Some("device d0")).unwrap();
    let spots: Vec<&str> = line.attribute("points").unwrap().split(' ').collect();
    let (before, after) = (spots[2].split_once(',').unwrap(), spots[3].split_once(',').unwrap());
    assert!(before.0 == after.0 && before.1 != after.1, "{spots:?}");
}

#[test]
fn what_is_no_number_is_left_out_and_said() {
    assert!(plot(&tiny(), 80, 16, false).contains("not a number (no numbers to draw)"));
    assert!(!classes(&svg(&tiny(), "id")).contains(&"device d0".to_owned()));
}

/// Without the colours it is the same text: nothing rests on them.
#[test]
fn colour_only_adds_colour() {
    for (name, figure) in all() {
        let (plain, coloured) = (plot(&figure, 80, 16, false), plot(&figure, 80, 16, true));
        let stripped: String =
            coloured.split('\u{1b}').enumerate().map(|(n, part)| if n == 0 { part } else { part.split_once('m').unwrap().1 }).collect();
        assert_eq!(stripped, plain, "{name}");
        assert!(!plain.contains('\u{1b}'));
    }
}

fn any_number() -> impl Strategy<Value = f64> {
    prop_oneof![
        8 => -300.0..300.0f64,
        1 => prop::sample::select(vec![0.0, -0.0, 1e-12, -3e-9, 1e12, -1e12, 1e300, f64::NAN, f64::INFINITY, f64::NEG_INFINITY]),
    ]
}

fn any_points() -> impl Strategy<Value = Vec<Spot>> {
    prop::collection::vec((any_number(), any_number()), 0..6).prop_map(|mut points| {
        points.sort_by(|one, other| one.0.total_cmp(&other.0));
        points
    })
}

pub(super) fn any_words() -> impl Strategy<Value = String> {
    prop_oneof!["[a-zA-Z0-9 &<>\"']{0,12}", "[a-z ]{20,200}", "\\PC{0,30}", "\u{0}\u{7}[W雪]{60}"]
}

fn any_mark() -> impl Strategy<Value = Mark> {
    let style = prop_oneof![Just(Style::Required), (0..30usize).prop_map(Style::Device)];
    prop_oneof![
        4 => (any_points(), any_words(), style).prop_map(|(points, label, style)| Mark::Line { points, label, style }),
        1 => (any_points(), any_points(), any_words()).prop_map(|(lower, upper, label)| Mark::Band { lower, upper, label }),
        1 => (any_number(), any_words()).prop_map(|(at, label)| Mark::Guide { at, label }),
    ]
}

fn any_figure() -> impl Strategy<Value = Figure> {
    let axis = || {
        let second = prop::option::of((any_words(), any_number()).prop_map(|(unit, one_is)| SecondScale { unit, one_is }));
        (any_words(), any_words(), second).prop_map(|(label, unit, second)| Axis { label, unit, second })
    };
    let marks = prop::collection::vec(any_mark(), 0..30);
    (any_words(), any_words(), axis(), axis(), marks).prop_map(|(title, description, x, y, marks)| Figure {
        title,
        description,
        x,
        y,
        marks,
    })
}

/// Left, top, right, bottom.
pub(super) type Place = [f64; 4];

/// Every place that an element names; of words, where they stand at least, in a narrow font.
pub(super) fn places(node: Node) -> Vec<Place> {
    let number = |name: &str| node.attribute(name).map(|text| text.parse::<f64>().unwrap_or_else(|_| panic!("{text}")));
    let spot = |x: Option<f64>, y: Option<f64>| x.zip(y).map(|(x, y)| [x, y, x, y]);
    match node.tag_name().name() {
        "line" => spot(number("x1"), number("y1")).into_iter().chain(spot(number("x2"), number("y2"))).collect(),
        "circle" => spot(number("cx"), number("cy")).into_iter().collect(),
        "rect" => {
            let (x, y) = (number("x").unwrap_or(0.0), number("y").unwrap_or(0.0));
            vec![[x, y, x + number("width").unwrap(), y + number("height").unwrap()]]
        }
        "polyline" | "polygon" => {
            let spots = node.attribute("points").unwrap().split(' ').map(|spot| spot.split_once(',').unwrap());
            spots.map(|(x, y)| (x.parse().unwrap(), y.parse().unwrap())).map(|(x, y): Spot| [x, y, x, y]).collect()
        }
        "text" => {
            let (x, y, size) =
                (number("x").unwrap(), number("y").unwrap(), if node.attribute("class") == Some("heading") { 21.0 } else { 15.0 });
            let long = node.text().unwrap_or_default().chars().count() as f64 * size * 0.33;
            let start = match node.attribute("text-anchor").unwrap() {
                "start" => x,
                "middle" => x - long / 2.0,
                _ => x - long,
            };
            let turned = node.attribute("transform").is_some();
            vec![if turned {
                [x - size, y - long / 2.0, x, y + long / 2.0]
            } else {
                [start, y - 0.75 * size, start + long, y + 0.2 * size]
            }]
        }
        _ => Vec::new(),
    }
}

/// Everything stands inside the picture, and no words on others.
pub(super) fn is_tidy(text: &str) -> Result<(), TestCaseError> {
    prop_assert!(!text.contains("=\"NaN") && !text.contains("=\"inf"));
    let document = Document::parse(text).unwrap();
    let view: Vec<f64> = document.root_element().attribute("viewBox").unwrap().split(' ').map(|n| n.parse().unwrap()).collect();
    let drawn = document.descendants().filter(|node| node.ancestors().all(|above| !above.has_tag_name("pattern")));
    for (node, place) in drawn.flat_map(|node| places(node).into_iter().map(move |place| (node, place))) {
        let [left, top, right, bottom] = place;
        let inside = left >= 0.0 && top >= 0.0 && right <= view[2] && bottom <= view[3];
        prop_assert!(inside, "{place:?} of {:?} {:?} in {view:?}", node.tag_name(), node.text());
    }
    let words: Vec<(Place, &str)> = document
        .descendants()
        .filter(|node| node.has_tag_name("text"))
        .map(|node| (places(node)[0], node.text().unwrap_or_default()))
        .collect();
    for (n, (one, said)) in words.iter().enumerate() {
        for (other, also) in words[n + 1..].iter().filter(|(_, text)| !text.is_empty() && !said.is_empty()) {
            let apart = one[2] <= other[0] || other[2] <= one[0] || one[3] <= other[1] || other[3] <= one[1];
            prop_assert!(apart, "{said:?} at {one:?} lies on {also:?} at {other:?}");
        }
    }
    Ok(())
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 300, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn everything_stands_inside_the_picture_and_no_words_on_others(figure in any_figure()) {
        is_tidy(&svg(&figure, "id"))?;
    }

    #[test]
    fn a_part_of_a_page_is_as_tidy(figure in any_figure(), here in prop::collection::vec((any_number(), any_number(), "-?[0-9.]{1,8} kvar"), 0..3)) {
        let here: Vec<Here> = here.into_iter().filter(|(x, y, _)| x.is_finite() && y.is_finite()).map(|(x, y, label)| Here { at: (x, y), label }).collect();
        let text = pane(&figure, &here, "id");
        is_tidy(&text)?;
        prop_assert!(!text.contains("<style"), "a page has the inks");
    }

    #[test]
    fn a_terminal_plot_keeps_to_its_columns(figure in any_figure(), width in 40..140usize, height in 6..30usize) {
        let text = plot(&figure, width, height, false);
        for line in text.lines() {
            prop_assert!(line.chars().count() <= width, "{} columns of {width}: {line}\n{text}", line.chars().count());
            prop_assert!(!line.contains("NaN") || figure.title.contains("NaN"));
        }
        let rows = text.lines().filter(|line| line.contains('┤') || line.contains('│')).count();
        prop_assert!(rows >= height, "{text}");
        for mark in &figure.marks {
            let first = mark.label().split_whitespace().next().unwrap_or_default();
            prop_assert!(first.chars().count() > 20 || text.contains(first), "{first:?} has no entry\n{text}");
        }
    }
}
