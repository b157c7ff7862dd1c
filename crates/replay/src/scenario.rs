//! A scenario played by devices, moment by moment.

use crate::acting::{Equipment, Measured, equipment};
use crate::grounds::Required;
use crate::links::{Does, OnLosses};
use crate::overview::Overview;
use crate::playing::{Playing, Shape, glide, play_row};
use crate::subjects::Subject;
use logs::{Row, Spacing};
use response::course::{Course, DENSEST, Signal, Stretch};
use response::timeline::{Micros, Values};
use rules::assess::Assessor;
use rules::operand::OperandError;
use settings_model::files::{Link, ScenarioFile};
use settings_model::finding::Finding;

/// A scenario, and its name.
pub struct NamedScenario {
    /// Its name among those at hand, or its file.
    pub name: String,
    /// What it says.
    pub file: ScenarioFile,
}

impl NamedScenario {
    /// The scenario of this name among the profiles at hand, where there is one.
    ///
    /// # Errors
    /// Where it cannot be read.
    pub fn at_hand(name: &str, assessor: &mut Assessor) -> Result<Option<Self>, OperandError> {
        let found = assessor.library.scenario(name, &mut assessor.sources).transpose()?;
        Ok(found.map(|file| Self { name: name.to_owned(), file }))
    }

    /// Whether it is meant for the standard that a device stands under.
    ///
    /// # Errors
    /// Where it is meant for others.
    pub fn fits(&self, required: &Required<'_>) -> Result<(), OperandError> {
        let Some(standard) = required
            .standard()
            .filter(|standard| !self.file.standards.is_empty() && self.file.standards.iter().all(|meant| meant.value != *standard))
        else {
            return Ok(());
        };
        let meant: Vec<&str> = self.file.standards.iter().map(|standard| standard.value.as_str()).collect();
        let says = format!("it shows figures of {}, and {standard} is asked here", meant.join(", "));
        let finding = Finding::unusable("other-standard", self.file.standards[0].place, says);
        Err(vec![finding.hint("choose another scenario (`asleft list scenarios`), or leave `standards` out of a copy of this one")].into())
    }
}

/// Devices that are about to play a course.
pub struct Built {
    /// What each is.
    pub equipment: Vec<Equipment>,
    /// What each does when it loses what it needs to keep a limit.
    on_losses: Vec<OnLosses>,
    /// How many phases the course tells apart.
    pub phases: usize,
}

impl Built {
    /// Each subject, as the course lets it act.
    ///
    /// # Errors
    /// In words, where one cannot be played.
    pub fn of(subjects: &[Subject<'_>], course: &Course) -> Result<Self, String> {
        let phases = if course.stretches.iter().any(|stretch| differs(&stretch.begins) || differs(&stretch.ends)) { 3 } else { 1 };
        let mut made: Vec<Equipment> = subjects.iter().map(|subject| built(subject, phases)).collect::<Result<_, String>>()?;
        let on_losses: Vec<OnLosses> = subjects.iter().zip(&made).map(|(subject, made)| OnLosses::of(&subject.held, made)).collect();
        let lost: Vec<Link> = course.stretches.iter().flat_map(|stretch| &stretch.links).map(|(link, _)| *link).collect();
        for (equipment, on_losses) in made.iter_mut().zip(&on_losses) {
            equipment.taken.extend(on_losses.taken.iter().filter(|(link, _)| lost.contains(link)).map(|(_, says)| says.clone()));
        }
        Ok(Self { equipment: made, on_losses, phases })
    }

    /// Plays the whole course; `in_service` is whether they are on when it begins, `nominal` in volts.
    #[must_use]
    pub fn play(&self, course: &Course, in_service: bool, nominal: f64) -> (Vec<Playing<'_>>, Overview) {
        self.play_leaping(course, in_service, nominal, course.longest_leap())
    }

    /// The same; no more time than this is passed over at once, where nothing can happen.
    #[must_use]
    pub fn play_leaping(&self, course: &Course, in_service: bool, nominal: f64, leap: Micros) -> (Vec<Playing<'_>>, Overview) {
        let history = course.stretches.first().map(|stretch| (0, stretch.begins.voltage[0]));
        let mut players: Vec<Playing<'_>> = Vec::new();
        for equipment in &self.equipment {
            let values = Values { phases: equipment.phases.len(), are_means: false, prove_means: true };
            players.push(Playing::new(equipment, Some(in_service), values, history, DENSEST));
        }
        let usual = leap.max(DENSEST);
        let mut overview = Overview::drawn_from(DENSEST, nominal, self.phases, Spacing { usual, longest: 2 * usual });
        play(course, &self.on_losses, self.phases, leap, &mut overview, &mut players);
        (players, overview)
    }
}

fn differs(signal: &Signal) -> bool {
    signal.voltage.iter().any(|volts| *volts != signal.voltage[0])
}

/// A device as it acts; of one on a phase that nobody states, the first is taken.
fn built(subject: &Subject<'_>, phases: usize) -> Result<Equipment, String> {
    let measured = |phases| Measured { phases, frequency: true, available: true, load: true };
    equipment(&subject.held, &subject.relays, measured(phases)).or_else(|_| {
        let mut made = equipment(&subject.held, &subject.relays, measured(1))?;
        made.taken.push("On which phase it sits is not stated; it is assumed to sit on the first".to_owned());
        Ok(made)
    })
}

/// What one of the two readings of a device does at a moment.
struct Action<'o> {
    at: Micros,
    device: usize,
    which: usize,
    /// `None` where what was lost is back.
    does: Option<&'o Does>,
}

fn play<'p>(course: &Course, on_losses: &'p [OnLosses], phases: usize, leap: Micros, overview: &mut Overview, players: &mut [Playing<'p>]) {
    let shape = Shape { phases, has_frequency: true, is_net: false };
    let mut due: Vec<Action<'p>> = Vec::new();
    for stretch in &course.stretches {
        for (link, is_lost) in &stretch.links {
            turn(stretch.from, *link, *is_lost, on_losses, &mut due);
        }
        let mut next = (stretch.to > stretch.from).then_some(stretch.from);
        while let Some(at) = next {
            while let Some(action) = due.first().filter(|action| action.at < at).map(|action| action.at) {
                play_row(&row(action, stretch.at(action)), shape, overview, players);
                act(&mut due, action, players);
            }
            play_row(&row(at, stretch.at(at)), shape, overview, players);
            act(&mut due, at, players);
            let from = leaping(stretch, at, leap, due.first().map(|action| action.at), shape, overview, players);
            next = stretch.next(from);
        }
    }
    if let Some(last) = course.stretches.last() {
        play_row(&row(last.to, last.ends), shape, overview, players);
    }
}

/// Passes over all of a stretch in which nothing can happen, leap by leap; up to when.
fn leaping(
    stretch: &Stretch,
    from: Micros,
    leap: Micros,
    due: Option<Micros>,
    shape: Shape,
    overview: &mut Overview,
    players: &mut [Playing<'_>],
) -> Micros {
    let mut at = from;
    loop {
        let within = due.map_or(leap, |due| leap.min(due - at - 1));
        let until = stretch.leap(at, within);
        if until - at <= DENSEST {
            return at;
        }
        let at_moment = |moment| row(moment, stretch.at(moment));
        let rows = (at + DENSEST..=until).step_by(DENSEST as usize).map(at_moment);
        if !glide([&at_moment(at), &at_moment(until)], rows, shape, overview, players) {
            return at;
        }
        at = until;
    }
}

/// Puts down what follows of a loss or a return; what a loss that is over would still have brought is struck.
fn turn<'o>(now: Micros, link: Link, is_lost: bool, on_losses: &'o [OnLosses], due: &mut Vec<Action<'o>>) {
    due.retain(|action| action.does.is_none());
    for (device, on_losses) in on_losses.iter().enumerate() {
        let on_loss = on_losses.losing(link);
        for (which, within) in on_loss.within.into_iter().enumerate() {
            let (at, does) = if is_lost { (now + within, Some(&on_loss.does)) } else { (now, None) };
            due.push(Action { at, device, which, does });
        }
    }
    due.sort_by_key(|action| action.at);
}

/// Does what has fallen due.
fn act<'p>(due: &mut Vec<Action<'p>>, now: Micros, players: &mut [Playing<'p>]) {
    let fallen = due.iter().take_while(|action| action.at <= now).count();
    for Action { device, which, does, .. } in due.drain(..fallen) {
        let Playing { equipment, player, .. } = &mut players[device];
        match does {
            Some(Does::Nothing) => {}
            Some(Does::ActsAs(other)) => player.act_as(which, other),
            Some(Does::Leaves) => player.hold_off(which),
            None => {
                player.act_as(which, &equipment.device);
                player.let_go();
            }
        }
    }
}

fn row(at: Micros, signal: Signal) -> Row {
    Row::made(at, signal.voltage, signal.frequency, signal.available, signal.own_use)
}
