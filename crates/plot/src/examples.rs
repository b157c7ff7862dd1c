//! Figures that the tests draw. Points of AS/NZS 4777.2:2020 and IEEE Std 1547-2018 as the profiles have
//! them; devices and networks are invented.

use super::figure::{Axis, Figure, Mark, SecondScale, Seen, Spot, Style, Tone};

fn axis(label: &str, unit: &str) -> Axis {
    Axis { label: label.to_owned(), unit: unit.to_owned(), second: None }
}

fn volts() -> Axis {
    Axis { second: Some(SecondScale { unit: "pu of 230 V".to_owned(), one_is: 230.0 }), ..axis("Voltage", "V") }
}

fn line(points: &[Spot], label: &str, style: Style) -> Mark {
    Mark::Line { points: points.to_vec(), label: label.to_owned(), style }
}

fn figure(title: &str, x: Axis, y: Axis, marks: Vec<Mark>) -> Figure {
    Figure { title: title.to_owned(), description: format!("{title}: an example."), x, y, marks }
}

pub fn volt_var() -> Figure {
    let marks = vec![
        Mark::Band {
            lower: vec![(206.0, 40.0), (219.0, -4.0), (239.0, -4.0), (257.0, -64.0)],
            upper: vec![(208.0, 48.0), (221.0, 4.0), (241.0, 4.0), (259.0, -56.0)],
            label: "permitted".to_owned(),
        },
        line(&[(207.0, 44.0), (220.0, 0.0), (240.0, 0.0), (258.0, -60.0)], "required", Style::Required),
        line(&[(207.0, 44.0), (220.0, 0.0), (241.0, 0.0), (258.0, -58.0)], "inverter 1", Style::Device(0)),
        line(&[(205.0, 30.0), (220.0, 0.0), (235.0, 0.0), (255.0, -40.0)], "inverter 2", Style::Device(1)),
        Mark::Guide { at: 230.0, label: "nominal".to_owned() },
        Mark::Guide { at: 258.0, label: "sustained overvoltage limit".to_owned() },
    ];
    figure("Volt-var at Larkspur Row 3", volts(), axis("Reactive power", "% of rated VA"), marks)
}

pub fn volt_watt() -> Figure {
    let points = [(253.0, 100.0), (260.0, 20.0)];
    let marks = vec![line(&points, "required by Australia A", Style::Required), line(&points, "inverter 1", Style::Device(0))];
    figure("Volt-watt: the device holds what is asked for", volts(), axis("Most active power", "% of rated VA"), marks)
}

pub fn frequency() -> Figure {
    let marks = vec![
        line(&[(50.2, 100.0), (52.7, 0.0)], "inverter 2", Style::Device(1)),
        line(&[(50.25, 100.0), (52.0, 0.0)], "required", Style::Required),
        line(&[(50.25, 100.0), (51.75, 0.0)], "inverter 1", Style::Device(0)),
    ];
    figure("Response to high frequency", axis("Frequency", "Hz"), axis("Active power", "% of the level held"), marks)
}

/// A week of an invented device that gives no reactive power.
pub fn seen() -> Figure {
    let tone = |volts: f64, level| Tone { from: (volts, -4.0), to: (volts + 1.0, 8.0), level };
    let marks = vec![
        Mark::Density { cells: vec![tone(236.0, 4), tone(240.0, 3), tone(246.0, 2), tone(250.0, 1)], label: "time, inverter 1".to_owned() },
        line(&[(207.0, 44.0), (220.0, 0.0), (240.0, 0.0), (258.0, -60.0)], "as set", Style::Device(0)),
        Mark::Observed { seen: vec![Seen { at: 248.0, answer: [-1.5, 0.2, 1.0] }], label: "seen".to_owned() },
    ];
    figure("Reactive power and voltage", volts(), axis("Reactive power", "% of rated VA"), marks)
}

pub fn step() -> Figure {
    let marks = vec![
        line(&[(240.0, 100.0), (250.0, 100.0), (250.0, 20.0), (260.0, 20.0)], "steps at 250 V", Style::Device(0)),
        line(&[(240.0, 100.0), (260.0, 20.0)], "required", Style::Required),
    ];
    figure("A response that steps", volts(), axis("Most active power", "%"), marks)
}

pub fn watt_var() -> Figure {
    let marks = vec![
        line(&[(-100.0, 44.0), (-50.0, 0.0), (50.0, 0.0), (100.0, -44.0)], "required, category B", Style::Required),
        line(&[(-100.0, 40.0), (-60.0, 0.0), (60.0, 0.0), (100.0, -40.0)], "inverter 1", Style::Device(0)),
        line(&[(-100.0, 30.0), (-40.0, 0.0), (40.0, 0.0), (100.0, -30.0)], "inverter 2", Style::Device(1)),
        line(&[(-100.0, 20.0), (-20.0, 0.0), (20.0, 0.0), (100.0, -20.0)], "inverter 3", Style::Device(2)),
    ];
    figure("Watt-var, charging and discharging", axis("Active power", "% of rated W"), axis("Reactive power", "% of rated VA"), marks)
}

pub fn long_words() -> Figure {
    let long =
        "the uncommonly long name that somebody gave to a requirement of a network in a valley with very many hills & <rivers> in it";
    let marks = (0..6).map(|n| line(&[(230.0, 100.0), (250.0 + f64::from(n), 20.0)], &format!("{n} {long}"), Style::Device(n as usize)));
    let guides = (0..4).map(|n| Mark::Guide { at: 240.0 + f64::from(n), label: long.to_owned() });
    figure(
        &format!("{long}, {long}"),
        axis(long, "V"),
        axis(long, "Donaudampfschifffahrtsgesellschaftskapitänseinheit"),
        marks.chain(guides).collect(),
    )
}

pub fn tiny() -> Figure {
    let marks = vec![
        line(&[(-0.000_003, -0.000_002), (0.000_004, 0.000_001)], "tiny", Style::Required),
        line(&[(f64::NAN, 3.0), (0.0, f64::INFINITY)], "not a number", Style::Device(0)),
    ];
    figure("Tiny numbers, and some that are none", axis("Voltage", "pu"), axis("Power", "pu"), marks)
}

pub fn one_point() -> Figure {
    figure("One point", axis("Voltage", "V"), axis("Power", "%"), vec![line(&[(-230.0, -44.0)], "constant", Style::Device(0))])
}

pub fn empty() -> Figure {
    figure("", axis("", ""), axis("", ""), Vec::new())
}

/// All of them, by name.
pub fn all() -> [(&'static str, Figure); 10] {
    [
        ("volt-var", volt_var()),
        ("volt-watt", volt_watt()),
        ("frequency", frequency()),
        ("step", step()),
        ("watt-var", watt_var()),
        ("seen", seen()),
        ("long-words", long_words()),
        ("tiny", tiny()),
        ("one-point", one_point()),
        ("empty", empty()),
    ]
}
