//! A scenario as played by what is shown: its picture, and what happens in words.

use super::choices::{Choice, Of};
use super::loaded::{RatedInverter, no_site};
use maud::{Markup, PreEscaped, html};
use plot::svg;
use plot::timeline::Clock;
use replay::scenario::NamedScenario;
use rules::assess::Assessor;
use rules::operand::{Operand, OperandError, requirements};
use rules::phrase::{capitalised, unbroken};
use views::played::events::{sure, told, what, when};
use views::played::picture::timeline;
use views::played::sentences::{STOP, lasting};
use views::report::events::PlayedReport;
use views::report::scenario::{ScenarioReport, ScenarioTold};
use views::scenario::played;
use views::scenario::steps::{Steps, TOLD};

/// What came of a scenario.
pub struct Lesson {
    report: ScenarioReport,
    clock: Clock,
}

impl Lesson {
    /// Plays it with every choice.
    pub fn play(scenario: &str, chosen: &[&Choice], asked: &RatedInverter, assessor: &mut Assessor) -> Result<Self, OperandError> {
        let unknown = || OperandError::Words(format!("no scenario `{scenario}` is at hand"));
        if !assessor.library.scenarios().iter().any(|known| known == scenario) {
            return Err(unknown());
        }
        let scenario = NamedScenario::at_hand(scenario, assessor)?.ok_or_else(unknown)?;
        let mut operands: Vec<(&str, Operand)> = Vec::new();
        for choice in chosen {
            operands.push(match &choice.of {
                Of::Requirements(word) => (word, Operand::Requirements(requirements(word, assessor)?)),
                Of::Device { site, device, moment } => (&site.name, Operand::Site(site.operand(device, *moment))),
            });
        }
        let (word, first) = operands.first().ok_or_else(|| OperandError::Words("nothing is chosen".to_owned()))?;
        let bare = no_site(first, word, asked)?;
        let (report, clock) = played(&scenario, &operands, &bare, assessor)?;
        Ok(Self { report, clock })
    }

    /// Its name.
    pub fn name(&self) -> &str {
        &self.report.scenario.name
    }

    /// On the page.
    pub fn markup(&self) -> Markup {
        let (told, timeline_report) = (&self.report.scenario, &self.report.timeline);
        html! {
            h3 #played-title { (told.title) }
            p.sentence { (unbroken(&told.teaches)) }
            p.small { (unbroken(&lasting(told.seconds))) " long; figures: " (told.source) ". Times count from its beginning." }
            @if timeline_report.suspect_neutral { p.fault { strong { "Stop." } " " (STOP) } }
            @for device in &timeline_report.devices { (in_short(device)) }
            div.scroll.timeline tabindex="0" role="region" aria-label="What happens over time" {
                (PreEscaped(svg::timeline_pane(&timeline(timeline_report, self.clock), "played")))
            }
            details { summary { "What happens, step by step" } (steps(told)) }
            @for device in &timeline_report.devices { (details(device, timeline_report.devices.len() > 1)) }
        }
    }
}

/// The sentences of a device.
fn in_short(device: &PlayedReport) -> Markup {
    html! {
        div.device data-of=(device.of) {
            p { strong { (device.of) } }
            p.says-so { (unbroken(&device.in_short)) @if let Some(cause) = &device.first_cause { " " (unbroken(cause)) } }
            @if let Some(says) = device.unverified_warning() { p.unverified { (says) } }
        }
    }
}

fn steps(told: &ScenarioTold) -> Markup {
    let Steps { headings, rows } = Steps::of(told);
    html! {
        div.scroll tabindex="0" role="region" aria-label="Steps of the scenario" {
            table {
                thead { tr { @for heading in headings { th scope="col" { (heading) } } } }
                tbody { @for row in rows { tr {
                    @for (n, cell) in row.iter().enumerate() {
                        @if n == 0 { th scope="row" { (cell) } } @else { td { (unbroken(cell)) } }
                    }
                } } }
            }
        }
        @if told.steps.len() > TOLD { p.small { (told.steps.len()) " steps; the first " (TOLD) " are told." } }
    }
}

/// The timeline as a table, and what has to be known of it.
fn details(device: &PlayedReport, is_one_of_several: bool) -> Markup {
    let whose = if is_one_of_several { format!(" of {}", device.of) } else { String::new() };
    let lists = [
        ("Cannot be decided", &device.undecided),
        ("Not played, so nothing here says that they did not trip", &device.not_played),
        ("Assumed, where nobody says otherwise", &device.taken_for_granted),
    ];
    html! {
        details {
            summary { "The events" (whose) " as a table, and what was assumed" }
            @if device.events.is_empty() { p { "Nothing made it leave." } }
            @else {
                div.scroll tabindex="0" role="region" aria-label=(format!("Events{whose}")) {
                    table {
                        thead { tr { th scope="col" { "When" } th scope="col" { "What" } th scope="col" { "How sure" } } }
                        tbody { @for event in told(&device.events) {
                            tr { th scope="row" { (when(event)) } td { (unbroken(&what(event))) } td { (sure(event)) } }
                        } }
                    }
                }
                @if device.events.len() > told(&device.events).len() { p.small { "Of " (device.events.len()) " events the first and the last are told." } }
            }
            @for (title, items) in lists {
                @if !items.is_empty() { p { strong { (title) ":" } } ul { @for item in items { li { (unbroken(&capitalised(item))) } } } }
            }
        }
    }
}
