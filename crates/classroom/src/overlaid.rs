//! Two choices in one picture, on the same scales: what each gives, and each response that both have.

use super::panel::Panel;
use super::pictures::{acting, place, power_figure};
use maud::{Markup, PreEscaped, html};
use plot::figure::{Figure, Mark, Spot, Style};
use plot::svg::{self, Here, key};
use response::operating_point::OperatingPoint;
use views::curve::series::level;
use views::operating::in_thousands;
use views::report::curve::number;

/// The pictures that both have.
pub fn overlaid(one: &Panel<'_>, other: &Panel<'_>) -> Markup {
    let both = [one, other];
    html! {
        div.pictures.both {
            (picture("active", "Active power of both", &power(both, 0), &powers(both, "kW", |point| point.active)))
            (picture("reactive", "Reactive power of both: + supplies, - absorbs", &power(both, 1), &powers(both, "kvar", |point| point.reactive)))
            @for (function, figure, here) in responses(both) {
                (picture(function, &figure.title, &figure, &here))
            }
        }
        (ratings(both))
    }
}

/// What the ratings are, where they differ: the same share is then another power.
fn ratings([one, other]: [&Panel<'_>; 2]) -> Markup {
    let [own, its] = [one, other].map(|panel| in_thousands(panel.loaded.operating.device.ratings.apparent, "kVA"));
    html! { @if own != its { p.small { "The first is rated " (own) ", the second " (its) ": the same percentage is another power." } } }
}

fn picture(name: &str, title: &str, figure: &Figure, here: &[Here]) -> Markup {
    let id = format!("both-{name}");
    html! {
        section.picture aria-labelledby=(format!("{id}-head")) {
            h3 id=(format!("{id}-head")) { (title) }
            (PreEscaped(svg::pane(figure, here, &id)))
            ul.key { @for (sample, words) in key(figure, &id) { li { (PreEscaped(sample)) " " (words) } } }
        }
    }
}

const WHICH: [&str; 2] = ["First", "Second"];

fn line(n: usize, panel: &Panel<'_>, points: Vec<Spot>) -> Mark {
    Mark::Line { points, label: format!("{}: {}", WHICH[n], panel.loaded.title), style: Style::Device(n) }
}

/// Active (0) or reactive power (1) of both against voltage.
fn power(both: [&Panel<'_>; 2], which: usize) -> Figure {
    let figures = both.map(|panel| power_figure(panel.loaded, &panel.position));
    let points = |n: usize| figures[n].marks.get(which).map_or_else(Vec::new, |mark| mark.lines()[0].to_vec());
    let marks = both.iter().enumerate().map(|(n, panel)| line(n, panel, points(n))).collect();
    let mut figure = Figure { marks, ..(*figures[0]).clone() };
    figure.y.unit = ["kW", "kvar"][which].to_owned();
    figure.y.label = ["Active power", "Reactive power"][which].to_owned();
    figure.description =
        both.iter().zip(&figures).map(|(panel, figure)| format!("{}: {}", panel.loaded.title, figure.description)).collect();
    figure
}

fn powers(both: [&Panel<'_>; 2], unit: &str, of: fn(&OperatingPoint) -> f64) -> Vec<Here> {
    let here = |(n, panel): (usize, &&Panel<'_>)| Here {
        at: (panel.position.voltage.approximate(), of(&panel.point) / 1000.0),
        label: format!("{}: {}", WHICH[n], in_thousands(of(&panel.point), unit)),
    };
    both.iter().enumerate().map(here).collect()
}

/// Each response of which both have a curve that acts.
fn responses<'p>(both: [&Panel<'p>; 2]) -> Vec<(&'static str, Figure, Vec<Here>)> {
    let [one, other] = both;
    let shared = one.loaded.curves.iter().filter_map(|drawn| {
        let function = drawn.shown.response.function;
        let beside = other.loaded.curves.iter().find(|beside| beside.shown.response.function == function)?;
        // per unit of an unknown voltage is no scale for both
        (drawn.shown.is_per_unit_only() == beside.shown.is_per_unit_only()).then_some((drawn, beside))
    });
    let drawn = shared.filter_map(|(drawn, beside)| {
        let (mut marks, mut here) = (Vec::new(), Vec::new());
        for (n, (panel, drawn)) in both.into_iter().zip([drawn, beside]).enumerate() {
            let points = acting(&drawn.shown.subjects[0])?;
            marks.push(line(n, panel, points.iter().map(|(x, y)| (number(*x), number(*y))).collect()));
            let x = place(drawn, panel.loaded, &panel.position, &panel.point);
            let follows = drawn.shown.response.axes[1].dimension;
            let label = |y| format!("{}: {}", WHICH[n], follows.show(y));
            here.extend(level(points, x).map(|y| Here { at: (number(x), number(y)), label: label(y.rounded(1)) }));
        }
        let title = format!("{} of both", drawn.shown.response.title());
        let description = format!("{} {}", drawn.figure.description, beside.figure.description);
        Some((drawn.shown.response.function, Figure { marks, title, description, ..drawn.figure.clone() }, here))
    });
    drawn.collect()
}
