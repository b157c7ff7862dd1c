//! The page as a whole: what may be chosen, the sliders, the panels, and what to mind.

use super::CAUTIONS;
use super::choices::{Choices, Group};
use super::difference::difference;
use super::lesson::Lesson;
use super::loaded::{Loaded, RatedInverter};
use super::panel::Panel;
use super::position::{Position, Reach, Slider};
use maud::{DOCTYPE, Markup, html};
use plot::svg;
use settings_model::exact::Exact;
use settings_model::facts::FactId;

/// What moves the page.
pub const SCRIPT: &str = include_str!("assets/page.js");
/// The picture beside its title.
pub const ICON: &str = include_str!("assets/icon.svg");

/// How it looks, pictures too.
pub fn style() -> String {
    format!("{}{}", svg::style(), include_str!("assets/page.css"))
}

/// Everything that the page shows.
pub struct Document<'d> {
    /// What may be chosen.
    pub choices: &'d Choices,
    /// What was chosen: one, or two to compare.
    pub sides: Vec<Side<'d>>,
    /// What was asked for besides.
    pub asked: &'d RatedInverter,
    /// Where the sliders stand and how far they reach; `None` where nothing can be shown.
    pub stand: Option<(Position, Reach)>,
    /// A scenario that was played, or why it could not be.
    pub lesson: Option<&'d Result<Lesson, String>>,
    /// Names and titles of the scenarios at hand.
    pub scenarios: Vec<(String, String)>,
    /// What could not be done.
    pub faults: &'d [String],
}

/// One choice, or why it cannot be shown.
pub struct Side<'d> {
    /// How it is named.
    pub id: &'d str,
    /// The choice worked out.
    pub loaded: Result<&'d Loaded, &'d str>,
}

/// The page.
pub fn document(page: &Document<'_>) -> Markup {
    let with = page.sides.get(1).map(|side| side.id);
    let number = |text: &str| text.split(' ').next().unwrap_or_default().to_owned();
    let rated = number(&page.asked.rated);
    let nominal = page.asked.nominal.as_deref().map(number).unwrap_or_default();
    html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                meta name="color-scheme" content="light dark";
                title { "What will it do? asleft, for the class" }
                link rel="icon" href="/icon.svg" type="image/svg+xml";
                link rel="stylesheet" href="/page.css";
                script src="/page.js" defer {}
            }
            body {
                a.skip href="#answers" { "Skip to the answers" }
                header {
                    h1 { "What will it do?" }
                    p.lead { "Move voltage, frequency and available power, and see what an inverter does by its settings, and by whose figures." }
                    p.teaching { strong { "For teaching, not for site use." } " Wrong settings can hurt people; only licensed persons may change them, under local rules." }
                }
                (choosing(page, with, &rated, &nominal))
                (opening())
                @for says in page.faults { p.fault role="alert" { (says) } }
                main #answers data-of=(page.sides[0].id) data-with=(with.unwrap_or_default()) data-rated=(rated) data-source=(page.asked.source) data-nominal=(nominal) {
                    @if let Some((position, reach)) = &page.stand { (sliders(page, position, reach)) }
                    p #fault .fault role="alert" hidden {}
                    p #said .unseen role="status" aria-live="polite" {}
                    (panels(page))
                    (lessons(page))
                }
                footer {
                    h2 { "To mind" }
                    ul { @for caution in CAUTIONS { li { (caution) } } }
                    p { "This page is served by asleft from this machine to this machine. It sends nothing anywhere, writes nothing, and never reaches a device." }
                }
            }
        }
    }
}

fn choosing(page: &Document<'_>, with: Option<&str>, rated: &str, nominal: &str) -> Markup {
    html! {
        form #ask method="get" action="/" aria-label="What to show" {
            p.field.wide { label for="of" { "Show" } (list("of", page.choices, Some(page.sides[0].id), None)) }
            p.field.wide { label for="with" { "Compare with" } (list("with", page.choices, with, Some("nothing"))) }
            p.field {
                label for="rated" { "Rating, for a standard" }
                span.measure { input #rated type="number" name="rated" min="0.1" max="100000" step="any" inputmode="decimal" value=(rated) required; " kVA" }
            }
            p.field {
                label for="source" { "Fed from" }
                select #source name="source" {
                    @for source in FactId::EnergySource.words() { option value=(source) selected[*source == page.asked.source] { (source.replace('-', " ")) } }
                }
            }
            p.field {
                label for="nominal" { "Nominal voltage" }
                span.measure { input #nominal type="number" name="nominal" min="50" max="1000" step="any" inputmode="decimal" value=(nominal) placeholder="usual"; " V" }
            }
            p.field.go { button type="submit" { "Show" } }
        }
    }
}

fn list(name: &str, choices: &Choices, chosen: Option<&str>, none: Option<&str>) -> Markup {
    html! {
        select id=(name) name=(name) {
            @if let Some(none) = none { option value="" { (none) } }
            @for group in Group::ALL {
                @if choices.in_group(group).next().is_some() {
                    optgroup label=(group.title()) {
                        @for choice in choices.in_group(group) {
                            option value=(choice.id) selected[chosen == Some(choice.id.as_str())] { (choice.title) }
                        }
                    }
                }
            }
        }
    }
}

fn opening() -> Markup {
    html! {
        details.opening.scripted {
            summary { "Open a site's file of your own" }
            p #opening-says { "It is read and checked here, on this machine, and kept in memory until the program ends." }
            p { label for="file" { "Site file (YAML or JSON)" } " " input #file type="file" accept=".yaml,.yml,.json" aria-describedby="opening-says"; }
            div #opened role="status" {}
        }
    }
}

fn sliders(page: &Document<'_>, position: &Position, reach: &Reach) -> Markup {
    let nominal = page.sides.iter().find_map(|side| side.loaded.ok()).map(Position::nominal);
    let [volts, hertz, watts] = nominal.map_or([Exact::ZERO; 3], |of| [of.voltage, of.frequency, of.available]);
    let full = shown(watts, &reach.available);
    html! {
        section.position aria-label="Voltage, frequency and available power" {
            (slider("v", "Voltage", "V", "to neutral", position.voltage, volts, &reach.voltage))
            (slider("f", "Frequency", "Hz", "", position.frequency, hertz, &reach.frequency))
            (slider("p", "Available power", "kW", if reach.available.low < Exact::ZERO { "below zero: it would charge" } else { "" }, position.available, watts, &reach.available))
            input type="hidden" name="full" value=(full) form="ask";
            p.buttons {
                button type="submit" form="ask" .unscripted { "Show" }
                button #nominally type="button" .scripted { "Back to nominal" }
                button #print type="button" .scripted { "Print" }
            }
        }
    }
}

fn shown(base: Exact, slider: &Slider) -> String {
    if slider.unit == Exact::ONE { base.to_string() } else { (base * Exact::new(1, 3)).to_string() }
}

fn slider(name: &str, title: &str, unit: &str, note: &str, now: Exact, nominal: Exact, slider: &Slider) -> Markup {
    let now = shown(now, slider);
    let (ruler, field) = (format!("{name}-slider"), format!("{name}-number"));
    html! {
        div.slider data-slider=(name) data-unit=(unit) data-nominal=(shown(nominal, slider)) {
            label for=(ruler) { (title) @if !note.is_empty() { " " span.note { (note) } } }
            span.measure {
                input id=(field) type="number" name=(name) form="ask" min=(slider.low) max=(slider.high) step="any" inputmode="decimal" value=(now)
                    aria-label=(format!("{title} in {unit}"));
                " " (unit)
            }
            input id=(ruler) .scripted type="range" min=(slider.low) max=(slider.high) step=(slider.step) value=(now) aria-valuetext=(format!("{now} {unit}"));
            span.ends aria-hidden="true" { span { (slider.low) " " (unit) } span { (slider.high) " " (unit) } }
        }
    }
}

fn panels(page: &Document<'_>) -> Markup {
    let Some((position, _)) = page.stand else {
        return html! { @for side in &page.sides { (unusable(side)) } };
    };
    let of_side = |(side, id): (&Side<'_>, &'static str)| match side.loaded {
        Ok(loaded) => Panel::at(id, loaded, position).markup(),
        Err(_) => unusable(side),
    };
    let beside = match &page.sides[..] {
        [Side { loaded: Ok(one), .. }, Side { loaded: Ok(other), .. }] => {
            Some(difference(&Panel::at("a", one, position), &Panel::at("b", other, position)))
        }
        _ => None,
    };
    html! {
        @if let Some(beside) = beside {
            section.compared aria-labelledby="compared" {
                h2 #compared { "The difference" }
                div #difference { (beside) }
            }
        }
        div.panels.two[page.sides.len() > 1] { @for side in page.sides.iter().zip(["a", "b"]) { (of_side(side)) } }
    }
}

/// The scenarios, and the one that was played.
fn lessons(page: &Document<'_>) -> Markup {
    let played = page.lesson.and_then(|lesson| lesson.as_ref().ok()).map(Lesson::name);
    html! {
        section #lesson .panel aria-labelledby="lesson-title" {
            h2 #lesson-title { "Play a scenario" }
            p.small { "With what is shown above; voltages and times are counted from what is required of it." }
            form #playing method="get" action="/#lesson" {
                p.field.wide {
                    label for="play" { "Scenario" }
                    select #play name="play" {
                        @for (name, title) in &page.scenarios { option value=(name) selected[played == Some(name.as_str())] { (title) } }
                    }
                }
                @for (name, value) in carried(page) { input type="hidden" name=(name) value=(value); }
                p.field.go { button type="submit" { "Play" } }
            }
            @match page.lesson {
                None => {}
                Some(Ok(lesson)) => { div #played { (lesson.markup()) } }
                Some(Err(says)) => { p { "It cannot be played:" } pre.says role="alert" { (says) } }
            }
        }
    }
}

/// What a scenario that is played leaves as it is.
fn carried(page: &Document<'_>) -> Vec<(&'static str, String)> {
    let number = |text: &str| text.split(' ').next().unwrap_or_default().to_owned();
    let mut carried: Vec<(&'static str, String)> =
        ["of", "with"].into_iter().zip(&page.sides).map(|(name, side)| (name, side.id.to_owned())).collect();
    carried.extend([("rated", number(&page.asked.rated)), ("source", page.asked.source.clone())]);
    carried.extend(page.asked.nominal.as_deref().map(|nominal| ("nominal", number(nominal))));
    if let Some((position, reach)) = &page.stand {
        carried.extend([
            ("v", shown(position.voltage, &reach.voltage)),
            ("f", shown(position.frequency, &reach.frequency)),
            ("p", shown(position.available, &reach.available)),
        ]);
    }
    carried
}

fn unusable(side: &Side<'_>) -> Markup {
    html! {
        section.panel aria-label=(side.id) {
            h2 { (side.id) }
            p { "It cannot be shown:" }
            pre.says { (side.loaded.err().unwrap_or_default()) }
        }
    }
}
