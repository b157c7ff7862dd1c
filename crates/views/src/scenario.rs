//! A scenario as devices play it, as a report.

pub mod steps;

use crate::played::log_told::{About, log_report};
use crate::played::told::{self, Scene, seconds};
use crate::report::events::EventsReport;
use crate::report::scenario::{ScenarioReport, ScenarioTold, StepTold};
use logs::Shown;
use plot::timeline::Clock;
use replay::grounds::Required;
use replay::held::site;
use replay::overview::APART_FOR;
use replay::scenario::{Built, NamedScenario};
use replay::subjects::{NoSite, Subject, subjects};
use response::course::{Course, DENSEST, Signal, Stretch, course};
use rules::assess::Assessor;
use rules::operand::{Operand, OperandError};
use settings_model::files::Link;

/// A scenario as everything that was named plays it; requirements by `bare` where no site is among them.
pub fn played(
    scenario: &NamedScenario,
    operands: &[(&str, Operand)],
    bare: &NoSite,
    assessor: &mut Assessor,
) -> Result<(ScenarioReport, Clock), OperandError> {
    let sites = operands
        .iter()
        .map(|(_, operand)| if let Operand::Site(of) = operand { site(of).map(Some) } else { Ok(None) })
        .collect::<Result<Vec<_>, OperandError>>()?;
    let subjects = subjects(operands, &sites, bare, assessor)?;
    let first = subjects.first().ok_or_else(|| OperandError::Words("nothing is named".to_owned()))?;
    let required = Required::of(&first.held)?;
    scenario.fits(&required)?;
    let course = course(&scenario.file, &required)?;
    of_course(scenario, &course, &subjects, required.nominal_volts()).map_err(OperandError::Words)
}

/// Plays a course on every subject.
fn of_course(named: &NamedScenario, course: &Course, subjects: &[Subject<'_>], nominal: f64) -> Result<(ScenarioReport, Clock), String> {
    let built = Built::of(subjects, course)?;
    let (players, overview) = built.play(course, named.file.in_service.unwrap_or(true), nominal);
    let scene = Scene {
        clock: Shown::FromBeginning,
        first: 0,
        spacing: DENSEST,
        are_means: false,
        prove_means: true,
        has_available: true,
        given_by_log: None,
        has_history: true,
        is_made: true,
    };
    let devices = told::of_all(&players, subjects, &scene);
    let about = About {
        file: named.file.title.clone(),
        columns: Vec::new(),
        ignored: Vec::new(),
        measured_at: "terminals",
        phases: built.phases,
        has_frequency: true,
        has_power: false,
        has_available: true,
        has_load: true,
    };
    let notes =
        vec!["made up for a lesson; the voltage of the beginning is assumed to have held for as long as any average looks back".to_owned()];
    let log = log_report(about, &overview, &scene, &[], notes);
    let timeline = EventsReport { advice: Vec::new(), log, devices, suspect_neutral: overview.apart >= APART_FOR };
    Ok((ScenarioReport { scenario: scenario_told(named, course), timeline }, Clock { shown: scene.clock, first: 0 }))
}

fn scenario_told(named: &NamedScenario, course: &Course) -> ScenarioTold {
    ScenarioTold {
        name: named.name.clone(),
        title: named.file.title.clone(),
        teaches: named.file.teaches.clone(),
        source: named.file.source.clone(),
        seconds: seconds(course.end()),
        steps: course.stretches.iter().map(step_told).collect(),
    }
}

fn step_told(stretch: &Stretch) -> StepTold {
    let both = |of: fn(&Signal) -> f64| [of(&stretch.begins), of(&stretch.ends)];
    let links = |is_lost: bool| {
        let of = stretch.links.iter().filter(move |(_, lost)| *lost == is_lost);
        of.map(|(link, _)| word(*link)).collect()
    };
    StepTold {
        from: seconds(stretch.from),
        to: seconds(stretch.to),
        says: stretch.says.clone(),
        voltage: [stretch.begins.voltage, stretch.ends.voltage],
        frequency: both(|signal| signal.frequency),
        available: both(|signal| signal.available),
        own_use: both(|signal| signal.own_use),
        loses: links(true),
        regains: links(false),
    }
}

/// The word in files and in machine-readable answers.
fn word(link: Link) -> &'static str {
    match link {
        Link::Communication => "communication",
        Link::ExportSensor => "export-sensor",
    }
}
