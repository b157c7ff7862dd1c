//! Pictures of time: one as it is drawn, every kind of thing read back from where it stands, and what holds
//! for any. Devices are invented.

use super::braille;
use super::pictures::{any_words, as_kept, is_tidy, places};
use super::svg;
use super::timeline::{Clock, DeviceTimeline, Does, Doing, Level, Mark, Panel, Row, Series, Spell, Step, Style, Timeline};
use logs::Shown;
use proptest::prelude::*;
use roxmltree::{Document, Node};

fn step(from: f64, until: f64, low: f64, high: f64) -> Step {
    Step { from, until, low, high }
}

fn spell(from: f64, until: f64, doing: Doing) -> Spell {
    Spell { from, until, shares: doing.only() }
}

fn mark(name: &str, between: [f64; 2], is_certain: bool, says: &str) -> Mark {
    Mark { name: name.to_owned(), between, is_certain, says: says.to_owned() }
}

/// An hour from noon on, with a hole of ten minutes, a trip that lies in a window and one that may have been.
fn hour() -> Timeline {
    let series = |label: &str, style, steps: &[Step]| Series { label: label.to_owned(), style, steps: steps.to_vec() };
    let level = |at: f64, label: &str, value: &str, does| Level { at, label: label.to_owned(), value: value.to_owned(), does };
    let early = [
        spell(0.0, 600.0, Doing::Running),
        spell(600.0, 900.0, Doing::Waiting),
        spell(900.0, 1200.0, Doing::Observing),
        spell(1200.0, 1800.0, Doing::Ramping),
        spell(2400.0, 3000.0, Doing::HeldBack),
        spell(3000.0, 3600.0, Doing::Ceased),
    ];
    let late = [spell(0.0, 660.0, Doing::Running), spell(660.0, 1800.0, Doing::Waiting), spell(2400.0, 3600.0, Doing::Running)];
    Timeline {
        title: "noon.csv, played by north-field-9 / inverter-1".to_owned(),
        description: "An example.".to_owned(),
        warning: None,
        clock: Clock { shown: Shown::AsWritten, first: 1_768_392_000_000_000 },
        lasts: 3600.0,
        panels: vec![
            Panel {
                label: "Voltage".to_owned(),
                unit: "V",
                series: vec![
                    series(
                        "Voltage, lowest to highest",
                        Style::Measured(0),
                        &[step(0.0, 600.0, 236.0, 240.0), step(600.0, 1800.0, 256.0, 260.0), step(2400.0, 3600.0, 238.0, 242.0)],
                    ),
                    series("Average over 10 min", Style::Mean, &[step(900.0, 1800.0, 254.0, 254.0)]),
                ],
                levels: vec![
                    level(250.0, "Overvoltage, stage 1", "250 V", Does::Trips),
                    level(244.0, "Reconnection, upper voltage", "244 V", Does::Connects),
                ],
                farther: vec!["Undervoltage, stage 2: 70 V".to_owned()],
                range: [230.0, 260.0],
            },
            Panel {
                label: "Power".to_owned(),
                unit: "kW",
                series: vec![series("Given, as played", Style::Device(0), &[step(0.0, 600.0, 4.0, 4.0), step(1200.0, 1800.0, 2.0, 2.0)])],
                levels: Vec::new(),
                farther: Vec::new(),
                range: [0.0, 4.0],
            },
        ],
        devices: vec![DeviceTimeline {
            title: "north-field-9 / inverter-1".to_owned(),
            says: "It disconnected once, and may have once more.".to_owned(),
            rows: vec![
                Row { label: "trips early, back late", spells: early.to_vec() },
                Row { label: "trips late, back early", spells: late.to_vec() },
            ],
            marks: vec![
                mark("1", [600.0, 660.0], true, "12:10:00 to 12:11:00, tripped: Overvoltage, stage 1 (certain)"),
                mark("2", [3000.0, 3000.0], false, "12:50:00, tripped: Overvoltage, stage 1 (may have)"),
            ],
            more: Vec::new(),
            more_says: None,
        }],
        unknown: vec![[1800.0, 2400.0]],
        notes: vec!["Not played: Active anti-islanding".to_owned()],
    }
}

#[test]
fn an_hour_is_drawn_as_it_was() {
    as_kept("timeline.svg", &svg::timeline(&hour(), "timeline"));
    as_kept("timeline.txt", &braille::timeline(&hour(), 80, false));
}

/// What stands on the paper, by its axes' own numbers: two round times, and two numbers of a panel.
struct Paper<'d> {
    document: &'d Document<'d>,
}

impl<'d> Paper<'d> {
    fn with_class(&self, class: &str) -> Vec<Node<'d, 'd>> {
        let has = |node: &Node<'_, '_>| node.attribute("class").is_some_and(|all| all.split(' ').any(|one| one == class));
        self.document.descendants().filter(has).collect()
    }

    fn number(&self, text: &str, of: &str) -> f64 {
        let found = self.with_class("number").into_iter().find(|node| node.text() == Some(text)).unwrap_or_else(|| panic!("no {text}"));
        found.attribute(of).unwrap().parse().unwrap()
    }

    /// Seconds at an x, by the texts `12:00` and `12:30`.
    fn seconds(&self, x: f64) -> f64 {
        let (noon, half) = (self.number("12:00", "x"), self.number("12:30", "x"));
        (x - noon) / (half - noon) * 1800.0
    }

    /// The value at a y, by two numbers of its axis; numbers stand a little below their lines.
    fn value(&self, y: f64, [low, high]: [&str; 2]) -> f64 {
        let (at_low, at_high) = (self.number(low, "y") - 5.0, self.number(high, "y") - 5.0);
        let (low, high): (f64, f64) = (low.parse().unwrap(), high.parse().unwrap());
        low + (y - at_low) / (at_high - at_low) * (high - low)
    }

    /// Corners of every line or area of a class, in seconds and values.
    fn corners(&self, class: &str, numbers: [&str; 2]) -> Vec<Vec<(f64, f64)>> {
        let drawn = self.with_class(class).into_iter().filter(|node| node.has_tag_name("polyline") || node.has_tag_name("polygon"));
        drawn.map(|node| places(node).iter().map(|[x, y, ..]| (self.seconds(*x), self.value(*y, numbers))).collect()).collect()
    }

    /// The lower corner and the size of every rectangle of a class, in seconds and in the paper's own unit.
    fn spans(&self, class: &str) -> Vec<[f64; 4]> {
        let drawn = self.with_class(class).into_iter().filter(|node| node.has_tag_name("rect"));
        let number = |node: &Node<'_, '_>, of: &str| node.attribute(of).unwrap().parse::<f64>().unwrap();
        drawn
            .map(|node| {
                let x = number(&node, "x");
                [self.seconds(x), self.seconds(x + number(&node, "width")), number(&node, "y"), number(&node, "height")]
            })
            .collect()
    }
}

const VOLTS: [&str; 2] = ["240", "260"];

fn near(one: f64, other: f64, by: f64) -> bool {
    (one - other).abs() <= by
}

fn are_near(drawn: &[(f64, f64)], meant: &[(f64, f64)]) -> bool {
    drawn.len() == meant.len() && drawn.iter().zip(meant).all(|(one, other)| near(one.0, other.0, 3.0) && near(one.1, other.1, 0.05))
}

#[test]
fn every_series_stands_where_its_values_are() {
    let text = svg::timeline(&hour(), "id");
    let document = Document::parse(&text).unwrap();
    let paper = Paper { document: &document };
    let measured = paper.corners("s0", VOLTS);
    assert_eq!(measured.len(), 2, "nothing is drawn through the hole");
    let before =
        [(0.0, 240.0), (600.0, 240.0), (600.0, 260.0), (1800.0, 260.0), (1800.0, 256.0), (600.0, 256.0), (600.0, 236.0), (0.0, 236.0)];
    assert!(are_near(&measured[0], &before), "{measured:?}");
    assert!(are_near(&measured[1], &[(2400.0, 242.0), (3600.0, 242.0), (3600.0, 238.0), (2400.0, 238.0)]), "{measured:?}");
    assert!(are_near(&paper.corners("mean", VOLTS)[0], &[(900.0, 254.0), (1800.0, 254.0)]));
    let given = paper.corners("g0", ["0", "4"]);
    assert!(given.len() == 2 && are_near(&given[1], &[(1200.0, 2.0), (1800.0, 2.0)]), "{given:?}");
}

#[test]
fn every_threshold_stands_at_its_value_beside_its_name() {
    let text = svg::timeline(&hour(), "id");
    let document = Document::parse(&text).unwrap();
    let paper = Paper { document: &document };
    for (class, at, label) in [("trips", 250.0, "250 V: Overvoltage, stage 1"), ("connects", 244.0, "244 V: Reconnection, upper")] {
        let [line] = paper.with_class(class)[..] else { panic!("one line of {class}") };
        let ends = places(line);
        assert!(ends.iter().all(|[_, y, ..]| near(paper.value(*y, VOLTS), at, 0.05)), "{class}: {ends:?}");
        // the leader goes from the line's end to the words
        let words = paper.with_class("label").into_iter().find(|node| node.text() == Some(label)).unwrap_or_else(|| panic!("no {label}"));
        let [_, top, _, bottom] = places(words)[0];
        let leaders: Vec<Vec<[f64; 4]>> = paper.with_class("leader").into_iter().map(places).collect();
        let leader = leaders.iter().find(|leader| leader[0] == ends[1]).unwrap_or_else(|| panic!("no leader of {class}"));
        assert!((top..bottom).contains(&leader[1][1]), "{class}: {leader:?} ends beside {top} to {bottom}");
    }
}

#[test]
fn every_state_stands_when_it_was() {
    let timeline = hour();
    let text = svg::timeline(&timeline, "id");
    let document = Document::parse(&text).unwrap();
    let paper = Paper { document: &document };
    let kind = |node: &Node<'_, '_>| match (node.attribute("class").unwrap(), node.attribute("fill")) {
        ("state p-running", _) => Doing::Running,
        (_, Some("none")) => Doing::Waiting,
        (_, Some("url(#id-observing)")) => Doing::Observing,
        (_, Some("url(#id-ramping)")) => Doing::Ramping,
        (_, Some("url(#id-ceased)")) => Doing::Ceased,
        (_, Some("url(#id-held-back)")) => Doing::HeldBack,
        other => panic!("{other:?}"),
    };
    let rows: Vec<f64> = paper.spans("row").iter().map(|[_, _, top, _]| *top).collect();
    assert!(rows.len() == 2 && rows[0] < rows[1]);
    for (row, top) in timeline.devices[0].rows.iter().zip(rows) {
        let states = paper.with_class("state").into_iter().filter(|node| node.attribute("y").unwrap().parse::<f64>().unwrap() == top);
        let drawn: Vec<(Doing, [f64; 2])> = states
            .map(|node| {
                let [x, _, end, _] = places(node)[0];
                (kind(&node), [paper.seconds(x), paper.seconds(end)])
            })
            .collect();
        assert_eq!(drawn.len(), row.spells.len());
        for (spell, (doing, [from, until])) in row.spells.iter().zip(drawn) {
            let is_there = near(from, spell.from, 3.0) && near(until, spell.until, 3.0);
            assert!(is_there && spell.shares == doing.only(), "{doing:?} from {from} until {until}: {spell:?}");
        }
    }
    // three panels or rows, each with the hole
    assert!(paper.spans("unknown").iter().all(|[from, until, ..]| near(*from, 1800.0, 3.0) && near(*until, 2400.0, 3.0)));
    assert_eq!(paper.spans("unknown").len(), 4);
}

#[test]
fn shares_of_a_stretch_are_stacked() {
    let mut timeline = hour();
    let shares = [0.25, 0.0, 0.0, 0.75, 0.0, 0.0];
    timeline.devices[0].rows = vec![Row { label: "", spells: vec![Spell { from: 0.0, until: 1800.0, shares }] }];
    let text = svg::timeline(&timeline, "id");
    let document = Document::parse(&text).unwrap();
    let paper = Paper { document: &document };
    let [_, _, top, height] = paper.spans("row")[0];
    let drawn: Vec<[f64; 4]> = paper.spans("state").into_iter().filter(|[_, _, y, _]| (top..top + height).contains(y)).collect();
    assert!(drawn.len() == 2 && near(drawn[0][3], height / 4.0, 0.06) && near(drawn[1][2], top + height / 4.0, 0.06), "{drawn:?}");
}

#[test]
fn every_event_stands_at_its_moment_with_its_number_and_its_window() {
    let text = svg::timeline(&hour(), "id");
    let document = Document::parse(&text).unwrap();
    let paper = Paper { document: &document };
    let stems: Vec<f64> = paper.with_class("stem").into_iter().map(|node| paper.seconds(places(node)[1][0])).collect();
    assert!(stems.len() == 2 && near(stems[0], 600.0, 3.0) && near(stems[1], 3000.0, 3.0), "{stems:?}");
    let moments: Vec<f64> = paper.with_class("moment").into_iter().map(|node| paper.seconds(places(node)[0][0])).collect();
    assert_eq!(moments.iter().filter(|at| near(**at, 600.0, 3.0)).count(), 2, "one in each panel: {moments:?}");
    let windows = paper.spans("window");
    assert_eq!(windows.len(), 4, "two panels, two rows");
    assert!(windows.iter().all(|[from, until, ..]| near(*from, 600.0, 3.0) && near(*until, 660.0, 3.0)), "{windows:?}");
    let discs: Vec<&str> = paper.with_class("mark").into_iter().filter_map(|node| node.attribute("class")).collect();
    assert_eq!(discs, ["mark", "mark may", "mark", "mark may"], "above the rows, and beside the sentences");
    let names: Vec<&str> = paper.with_class("name").into_iter().filter_map(|node| node.text()).collect();
    assert_eq!(names, ["1", "2", "1", "2"]);
}

/// The column of the first place of a text in a line, and the line.
fn column(text: &str, of: &str) -> (usize, usize) {
    let found = text.lines().enumerate().find_map(|(n, line)| Some((line[..line.find(of)?].chars().count(), n)));
    found.unwrap_or_else(|| panic!("no {of} in\n{text}"))
}

#[test]
fn a_terminal_shows_all_of_it_at_the_same_columns() {
    let timeline = hour();
    let text = braille::timeline(&timeline, 80, false);
    let lines: Vec<Vec<char>> = text.lines().map(|line| line.chars().collect()).collect();
    let axis = lines.iter().position(|line| line.contains(&'┴')).unwrap();
    let ticks: Vec<usize> = lines[axis].iter().enumerate().filter(|(_, c)| **c == '┴').map(|(n, _)| n).collect();
    assert!(lines[axis + 1].iter().collect::<String>().contains("12:50"), "ten minutes from tick to tick:\n{text}");
    let at = |seconds: f64| ticks[0] as f64 + seconds / 600.0 * (ticks[5] - ticks[0]) as f64 / 5.0;
    let first = column(&text, "trips early").1;
    for (n, row) in timeline.devices[0].rows.iter().enumerate() {
        let cells = &lines[first + 1 + 2 * n];
        for (spell, ink) in row.spells.iter().zip(if n == 0 { "━·o╱╌×" } else { "━·━" }.chars()) {
            let middle = at(f64::midpoint(spell.from, spell.until)).round() as usize;
            assert_eq!(cells[middle], ink, "{spell:?}\n{text}");
        }
        assert_eq!(cells[at(2100.0).round() as usize], '░', "{text}");
    }
    let numbers = &lines[first - 1];
    for (name, seconds) in [('1', 600.0), ('2', 3000.0)] {
        let drawn = numbers.iter().position(|c| *c == name).unwrap() as f64;
        assert!(near(drawn, at(seconds), 1.0), "{name} at {drawn}, not {}\n{text}", at(seconds));
    }
    assert_eq!(numbers[numbers.iter().position(|c| *c == '2').unwrap() + 1], '?', "it may have been");
    // the line that has 250 beside it ends in the threshold's letter, and no dot lies in the hole
    let threshold = lines.iter().find(|line| line.iter().collect::<String>().trim_start().starts_with("250┤")).unwrap();
    assert!(threshold.last() == Some(&'a') && threshold.contains(&'┈'), "{text}");
    let hole = at(1850.0).ceil() as usize..at(2350.0).floor() as usize;
    let dots = |line: &Vec<char>| line.get(hole.clone()).is_some_and(|cells| cells.iter().any(|c| ('\u{2801}'..='\u{28ff}').contains(c)));
    assert!(!lines.iter().filter(|line| line.iter().any(|c| matches!(c, '┤' | '│'))).any(dots), "{text}");
}

fn any_series() -> impl Strategy<Value = Series> {
    let style = prop_oneof![
        (0..4usize).prop_map(Style::Measured),
        (0..4usize).prop_map(Style::Device),
        Just(Style::Mean),
        Just(Style::Possible),
        Just(Style::Logged)
    ];
    let steps = prop::collection::vec((0.0..50.0f64, 0.0..50.0f64, -300.0..300.0f64, 0.0..9.0f64), 0..9);
    (any_words(), style, steps).prop_map(|(label, style, steps)| {
        let mut at = 0.0;
        let step = |(hole, lasts, low, span): (f64, f64, f64, f64)| {
            let from = if hole < 25.0 { at } else { at + hole };
            at = from + lasts;
            step(from, at, low, low + span)
        };
        Series { label, style, steps: steps.into_iter().map(step).collect() }
    })
}

fn any_panel() -> impl Strategy<Value = Panel> {
    let does = prop::sample::select(vec![Does::Trips, Does::Connects, Does::Ceases]);
    let level = (-300.0..300.0f64, any_words(), does).prop_map(|(at, label, does)| Level { at, label, value: format!("{at:.1} V"), does });
    let panel = (prop::collection::vec(any_series(), 0..5), prop::collection::vec(level, 0..9), prop::collection::vec(any_words(), 0..4));
    (panel, -300.0..0.0f64, 0.0..600.0f64).prop_map(|((series, levels, farther), low, span)| Panel {
        label: "Voltage".to_owned(),
        unit: "V",
        series,
        levels,
        farther,
        range: [low, low + span],
    })
}

fn any_device() -> impl Strategy<Value = DeviceTimeline> {
    let mark = (0.0..400.0f64, 0.0..90.0f64, any::<bool>(), any_words());
    let marks = prop::collection::vec(mark, 0..24).prop_map(|mut marks| {
        marks.sort_by(|one, other| one.0.total_cmp(&other.0));
        let mark = |(n, (at, lasts, is_certain, says)): (usize, (f64, f64, bool, String))| Mark {
            name: format!("B{}", n + 1),
            between: [at, at + lasts],
            is_certain,
            says,
        };
        marks.into_iter().enumerate().map(mark).collect::<Vec<_>>()
    });
    let spells = prop::collection::vec((0.0..60.0f64, 0..6usize), 0..9).prop_map(|spells| {
        let mut at = 0.0;
        let spell = |(lasts, doing): (f64, usize)| {
            at += lasts;
            spell(at - lasts, at, Doing::ALL[doing])
        };
        spells.into_iter().map(spell).collect::<Vec<_>>()
    });
    let rows = prop::collection::vec(spells.prop_map(|spells| Row { label: "trips early, back late", spells }), 1..3);
    (any_words(), any_words(), rows, marks, prop::collection::vec(0.0..400.0f64, 0..9), prop::option::of(any_words()))
        .prop_map(|(title, says, rows, marks, more, more_says)| DeviceTimeline { title, says, rows, marks, more, more_says })
}

fn any_timeline() -> impl Strategy<Value = Timeline> {
    let clock = prop_oneof![Just(Shown::Relative), Just(Shown::AsWritten), Just(Shown::At(39_600))];
    let lasts = prop_oneof![1.0..900.0f64, 1e4..1e9f64];
    let words = (any_words(), any_words(), prop::option::of(any_words()), prop::collection::vec(any_words(), 0..4));
    let drawn = (prop::collection::vec(any_panel(), 0..4), prop::collection::vec(any_device(), 0..3));
    (words, clock, lasts, drawn).prop_map(|((title, description, warning, notes), shown, lasts, (panels, devices))| Timeline {
        title,
        description,
        warning,
        clock: Clock { shown, first: 1_768_392_180_000_000 },
        lasts,
        panels,
        devices,
        unknown: vec![[100.0, 120.0]],
        notes,
    })
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 200, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn everything_stands_inside_the_paper_and_no_words_on_others(timeline in any_timeline()) {
        is_tidy(&svg::timeline(&timeline, "id"))?;
    }

    #[test]
    fn a_terminal_keeps_to_its_columns_and_names_everything(timeline in any_timeline(), width in 40..140usize) {
        let text = braille::timeline(&timeline, width, false);
        for line in text.lines() {
            prop_assert!(line.chars().count() <= width, "{} columns of {width}: {line}\n{text}", line.chars().count());
        }
        for level in timeline.panels.iter().flat_map(|panel| &panel.levels) {
            prop_assert!(text.contains(&level.value), "{:?} has no entry\n{text}", level.value);
        }
    }
}
