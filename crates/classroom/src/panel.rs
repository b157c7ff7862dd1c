//! One choice on the page: what it gives, how long it stays on, its pictures and tables.
//!
//! What depends on the sliders stands in parts of its own, each under an id, so that the script can put new
//! ones in their place and leave everything else, opened tables too, as it is.

mod picture;

use super::loaded::{Drawn, Loaded};
use super::pictures;
use super::position::Position;
use super::sentence::{measured, sentence};
use maud::{Markup, PreEscaped, html};
use picture::{Picture, table};
use plot::svg::{key, map_key};
use response::operating_point::OperatingPoint;
use rules::phrase::{capitalised, unbroken};
use settings_model::exact::Exact;
use settings_model::quantity::Dimension;
use views::curve::columns::{self, Column};
use views::operating::{At, exact, in_thousands, is_cut, reported};
use views::trip_map::map::Map;
use views::trip_map::words::{may, of_mean, off, stages, stays};

/// A part that depends on the sliders: its id, and what stands in it.
pub type Part = (String, Markup);

/// Responses that are drawn beside the answer; the others stand below.
const FIRST: usize = 1;

/// One choice at a position.
pub struct Panel<'l> {
    /// `a`, or `b` of the second.
    pub id: &'static str,
    /// The choice.
    pub loaded: &'l Loaded,
    /// Where the sliders stand.
    pub position: Position,
    /// What the device gives.
    pub point: OperatingPoint,
}

impl<'l> Panel<'l> {
    /// A choice at a position.
    pub fn at(id: &'static str, loaded: &'l Loaded, position: Position) -> Self {
        Self { id, loaded, position, point: loaded.operating.device.at(&position.conditions()) }
    }

    /// The sentence.
    pub fn sentence(&self) -> String {
        sentence(self.loaded, &self.position, &self.point)
    }

    /// Everything that depends on the sliders.
    pub fn parts(&self) -> Vec<Part> {
        let mut parts = vec![
            (self.named("answer"), self.answer()),
            (self.named("stays"), self.stays()),
            (self.named("taken"), self.taken()),
            (self.named("pic-power"), PreEscaped(pictures::power(self.loaded, &self.position, &self.point, &self.named("power")))),
            (self.named("rows-power"), self.power_rows()),
        ];
        for drawn in &self.loaded.curves {
            let function = drawn.shown.response.function;
            let svg = pictures::response(drawn, self.loaded, &self.position, &self.point, &self.named(function));
            parts.push((self.named(&format!("pic-{function}")), PreEscaped(svg)));
            parts.push((self.named(&format!("now-{function}")), self.now(drawn)));
        }
        for map in &self.loaded.maps {
            let name = map_name(map);
            parts.push((
                self.named(&format!("pic-{name}")),
                PreEscaped(pictures::map(map, self.loaded, &self.position, &self.named(&name))),
            ));
        }
        parts
    }

    /// The whole panel.
    pub fn markup(&self) -> Markup {
        let parts = self.parts();
        let part = |name: &str| {
            let id = self.named(name);
            let markup = parts.iter().find(|(own, _)| *own == id).map(|(_, markup)| markup.clone());
            html! { div id=(id) { (markup.unwrap_or_default()) } }
        };
        html! {
            section.panel aria-labelledby=(self.named("title")) {
                h2 id=(self.named("title")) { (self.loaded.title) }
                p.under { (self.loaded.under) }
                div.first {
                    div.answer id=(self.named("answer")) { (self.answer()) }
                    div.pictures {
                        (self.power(&part))
                        @for drawn in self.loaded.curves.iter().take(FIRST) { (self.curve(drawn, &part)) }
                    }
                }
                h3 { "More pictures" }
                div.pictures {
                    @for drawn in self.loaded.curves.iter().skip(FIRST) { (self.curve(drawn, &part)) }
                    @for map in &self.loaded.maps { (self.map(map, &part)) }
                }
                h3 { "How long it has to stay on here" }
                (part("stays"))
                @if !self.loaded.maps.iter().any(|map| map.map.withstand_is_asked) {
                    p.small { "How long to stay on is known from the least delays of stages alone: the standard's withstand is not in the profile, or not required." }
                }
                h3 { "Taken as" }
                p.small { "What nobody stated, and how it was reckoned." }
                (part("taken"))
            }
        }
    }

    fn named(&self, name: &str) -> String {
        format!("{}-{name}", self.id)
    }

    /// The sentence and the numbers.
    fn answer(&self) -> Markup {
        let report = reported(self.position.voltage, &self.point);
        let per_unit = self.position.voltage.divided_roughly(self.loaded.operating.nominal, 4);
        html! {
            p.sentence { (unbroken(&self.sentence())) }
            div {
            dl.numbers {
                (number("Active power", "active", report.active, &in_thousands(self.point.active, "kW")))
                (number("Reactive power", "reactive", report.reactive, &in_thousands(self.point.reactive, "kvar")))
                (number("Apparent power", "apparent", report.apparent, &in_thousands(self.point.apparent(), "kVA")))
                @if is_cut(&self.point) {
                    (number("Reactive asked for", "reactive-asked", report.reactive_asked, &in_thousands(self.point.reactive_asked, "kvar")))
                }
                div { dt { "Held by" } dd data-of="held-by" { (report.held_by) } }
                @if let Some(per_unit) = per_unit {
                    div { dt { "Voltage" } dd data-of="per-unit" { (per_unit) "\u{a0}pu" } }
                }
            }
            p.small { "Reactive power: + supplies and raises the voltage, - absorbs and lowers it." }
            }
        }
    }

    fn stays(&self) -> Markup {
        html! {
            @if self.loaded.maps.is_empty() { p { "No stage is required or known." } }
            @else {
                div.scroll tabindex="0" role="region" aria-label="How long it has to stay on" {
                    table {
                        thead { tr { th scope="col" { "Now" } th scope="col" { "Where" } th scope="col" { "Must stay on" } th scope="col" { "May trip" } th scope="col" { "Must be off" } th scope="col" { "Stages" } } }
                        tbody { @for map in &self.loaded.maps { (self.stays_at(map)) } }
                    }
                }
                @for says in self.loaded.maps.iter().filter_map(of_mean) { p.small { (unbroken(&says)) } }
                @for map in self.loaded.maps.iter().filter(|map| map.is_of_device) {
                    @if !map.held.is_empty() { ul.stages { @for stage in &map.held { li { (unbroken(&capitalised(&map.held_words(stage)))) } } } }
                    @if map.held.is_empty() { p.small { "Nothing is stated of the device's stages of " (map.measured().name()) "." } }
                }
            }
        }
    }

    fn stays_at(&self, map: &Map) -> Markup {
        let (value, nominal) = measured(self.loaded, &self.position, map.measured());
        let slice = map.slice_at(value, nominal);
        let seconds = |of: Option<f64>| of.map_or_else(|| "none".to_owned(), |seconds| seconds.to_string());
        let report = map
            .report()
            .slices
            .into_iter()
            .find(|report| report.from == slice.from.map(Exact::approximate) && report.to == slice.to.map(Exact::approximate));
        let (stay, off_by) = report.map_or((None, None), |report| (report.stays[0], report.off_by));
        let name = map.measured().name();
        html! {
            tr data-of=(name) {
                th scope="row" { (capitalised(name)) " " (unbroken(&map.measured().show(value))) @if map.figures.unverified() > 0 { " " span.tag { "unverified figures" } } }
                td { (unbroken(&map.place(slice))) }
                td { data data-of="stays" value=(seconds(stay)) { (unbroken(&stays(slice, map))) } }
                td { (unbroken(&may(slice))) }
                td { data data-of="off" value=(seconds(off_by)) { (unbroken(&off(slice, map))) } }
                td { (stages(slice).join(", ")) }
            }
        }
    }

    fn taken(&self) -> Markup {
        let conditions = self.position.conditions();
        let mut granted = self.loaded.operating.granted(&conditions, [self.point]);
        granted.extend(self.loaded.operating.device.still_acting_at(&conditions).map(|point| {
            let [active, reactive] = [(point.active, "kW"), (point.reactive, "kvar")].map(|(power, unit)| in_thousands(power, unit));
            format!("where its reactive power acted just before, it gives {active} and {reactive} here")
        }));
        html! {
            @if granted.is_empty() { p { "Nothing." } }
            @else { ul.taken { @for says in granted { li { (unbroken(&capitalised(&says))) "." } } } }
        }
    }

    fn power(&self, part: &dyn Fn(&str) -> Markup) -> Markup {
        let figure = pictures::power_figure(self.loaded, &self.position);
        let title = "Active and reactive power against voltage";
        let headings = ["Voltage", "Active", "Reactive", "Apparent", "Held by"];
        let picture = Picture {
            title,
            id: &self.named("power"),
            keys: &key(&figure, &self.named("power")),
            warning: None,
            svg: part("pic-power"),
            now: html! {},
            table: table(title, &headings, &self.named("rows-power"), &self.power_rows()),
        };
        picture.markup()
    }

    fn power_rows(&self) -> Markup {
        let points = self.loaded.operating.points(&self.position.conditions(), &self.loaded.operating.bends());
        html! {
            @for At { voltage, point, acted_before } in points {
                tr {
                    th scope="row" { (Dimension::Voltage.show(voltage)) @if acted_before == Some(true) { ", acted before" } }
                    td { (in_thousands(point.active, "kW")) } td { (in_thousands(point.reactive, "kvar")) }
                    td { (in_thousands(point.apparent(), "kVA")) } td { (point.held_by.phrase()) }
                }
            }
        }
    }

    fn curve(&self, drawn: &Drawn, part: &dyn Fn(&str) -> Markup) -> Markup {
        let (function, subject) = (drawn.shown.response.function, &drawn.shown.subjects[0]);
        let columns = columns::of_one(&drawn.shown);
        let headings: Vec<&str> = columns.iter().map(|(heading, _)| heading.as_str()).collect();
        let rows = html! { @for x in &drawn.shown.places { (row(&columns, *x)) } };
        let remarks = columns::remarks(subject).trim_start_matches(": ").to_owned();
        let title = drawn.shown.response.title();
        let warning = subject.figures.warning("that are asked");
        let [x, y] = drawn.shown.response.axes.map(|axis| axis.title);
        let below = html! {
            p.small { (capitalised(y)) ", against " (x) "." }
            @if !remarks.is_empty() { p.small { (unbroken(&capitalised(&remarks))) "." } }
        };
        let picture = Picture {
            title,
            id: &self.named(function),
            keys: &key(&drawn.figure, &self.named(function)),
            warning,
            svg: part(&format!("pic-{function}")),
            now: html! { (part(&format!("now-{function}"))) (below) },
            table: table(title, &headings, &self.named(&format!("rows-{function}")), &rows),
        };
        picture.markup()
    }

    /// The row of the response's own table at the position.
    fn now(&self, drawn: &Drawn) -> Markup {
        let x = pictures::place(drawn, self.loaded, &self.position, &self.point);
        let columns = columns::of_one(&drawn.shown);
        let is_place = |heading: &str| heading == "Per unit" || heading.eq_ignore_ascii_case(drawn.shown.response.axes[0].title);
        let (places, answers): (Vec<&Column<'_>>, Vec<&Column<'_>>) = columns.iter().partition(|(heading, _)| is_place(heading));
        let at: Vec<String> = places.iter().map(|(_, cell)| unbroken(&cell(x))).collect();
        html! {
            p.now data-of=(drawn.shown.response.function) {
                "At " (at.join(", ")) ": "
                @for (n, (heading, cell)) in answers.iter().enumerate() {
                    @if n > 0 { ", " }
                    // a power says by its unit what it is
                    @if !matches!(heading.as_str(), "kW" | "kvar") { (heading.to_lowercase()) " " }
                    b { (unbroken(&cell(x))) }
                }
            }
        }
    }

    fn map(&self, map: &Map, part: &dyn Fn(&str) -> Markup) -> Markup {
        let name = map_name(map);
        let rows = html! {
            @for slice in map.map.slices.iter().rev() {
                tr {
                    th scope="row" { (map.place(slice)) }
                    td { (stays(slice, map)) } td { (may(slice)) } td { (off(slice, map)) } td { (stages(slice).join(", ")) }
                }
            }
        };
        let title = format!("{} against duration", capitalised(map.measured().name()));
        let headings = ["Where", "Must stay on", "May trip", "Must be off", "Stages"];
        let picture = Picture {
            title: &title,
            id: &self.named(&name),
            keys: &map_key(&map.picture(), &self.named(&name)),
            warning: map.figures.warning(&format!("of its {} stages", map.measured().name())),
            svg: part(&format!("pic-{name}")),
            now: html! {},
            table: table(&title, &headings, &self.named(&format!("rows-{name}")), &rows),
        };
        picture.markup()
    }
}

/// `map-voltage`.
fn map_name(map: &Map) -> String {
    format!("map-{}", map.measured().name())
}

fn number(title: &str, of: &str, value: f64, shown: &str) -> Markup {
    html! { div { dt { (title) } dd { data data-of=(of) value=(value) { (shown) } } } }
}

fn row(columns: &[Column<'_>], x: Exact) -> Markup {
    html! {
        tr { @for (n, (_, cell)) in columns.iter().enumerate() {
            @if n == 0 { th scope="row" { (cell(x)) } } @else { td { (cell(x)) } }
        } }
    }
}

/// A difference of two numbers as they are printed, with its sign.
pub fn apart(one: f64, other: f64, unit: &str) -> String {
    let thousands = |of: f64| exact(of / 1000.0).rounded(3);
    let apart = thousands(other) - thousands(one);
    let sign = if apart > Exact::ZERO { "+" } else { "" };
    format!("{sign}{apart}\u{a0}{unit}")
}
