//! One lawful device on one concrete supply, played forward moment by moment: a second implementation,
//! plain and slow, that shares nothing with the player but the settings it is told.

use response::timeline::{Micros, Protection, Side, Watched};

/// What holds from a moment on.
#[derive(Clone, Copy, Debug)]
pub struct Held {
    pub from: Micros,
    pub volts: f64,
    pub hertz: f64,
}

/// How a device uses what the rules leave to it: for every pick-up of a stage, and for every observation, a
/// share of the time between the least and the most.
pub type Choice<'c> = &'c mut dyn FnMut() -> f64;

/// What a device did.
#[derive(Clone, Debug, Default)]
pub struct Did {
    /// When it tripped, and by which stage.
    pub trips: Vec<(Micros, usize)>,
    /// When it connected.
    pub connects: Vec<Micros>,
    /// Watt-microseconds given.
    pub given: f64,
}

impl Did {
    /// Whether it was on just before a moment, having begun on.
    pub fn was_on(&self, at: Micros) -> bool {
        let last_trip = self.trips.iter().map(|(trip, _)| *trip).filter(|trip| *trip < at).max();
        let last_connect = self.connects.iter().copied().filter(|connect| *connect < at).max();
        last_trip.is_none_or(|trip| last_connect.is_some_and(|connect| connect >= trip))
    }
}

/// The condition of one stage, as one device times it.
#[derive(Clone, Copy)]
struct PickedUp {
    since: Micros,
    share: f64,
    /// The value that lies farthest out so far.
    farthest: f64,
}

/// The least time that a device has to stay on for at a value.
pub type LeastAt<'l> = &'l dyn Fn(usize, f64) -> Micros;

/// A device in service, at `available` watts of `rated`, until the end.
pub fn simulated(
    supply: &[Held],
    end: Micros,
    protection: &Protection,
    least_at: LeastAt<'_>,
    [available, rated]: [f64; 2],
    choose: Choice<'_>,
) -> Did {
    let mut did = Did::default();
    let mut picked_up: Vec<Option<PickedUp>> = vec![None; protection.stages.len()];
    // since when it is on and its ramp began; or, off, since when and for how long it observes
    let mut on = Some(Micros::MIN / 4);
    let mut observes: Option<(Micros, Micros)> = None;
    let reconnection = &protection.reconnection;
    for (n, held) in supply.iter().enumerate() {
        let until = supply.get(n + 1).map_or(end, |next| next.from);
        for (place, stage) in protection.stages.iter().enumerate() {
            let value = if stage.watched == Watched::Frequency { held.hertz } else { held.volts };
            let is_outside = if stage.side == Side::Above { value > stage.threshold } else { value < stage.threshold };
            picked_up[place] = match picked_up[place] {
                _ if !is_outside => None,
                Some(before) => Some(PickedUp { farthest: farther(stage.side, before.farthest, value), ..before }),
                None => Some(PickedUp { since: held.from, share: choose(), farthest: value }),
            };
        }
        let inside = |value: f64, [low, high]: [f64; 2]| low <= value && value <= high;
        if !(inside(held.volts, reconnection.voltage) && inside(held.hertz, reconnection.frequency)) {
            observes = None;
        } else if on.is_none() && observes.is_none() {
            observes = Some((held.from, waits(protection, choose)));
        }
        let mut at = held.from;
        while at < until {
            let mut next = until;
            match on {
                Some(since) => {
                    let trip = first_trip(&picked_up, protection, least_at).filter(|(due, _)| (*due).max(at) < until);
                    if let Some((due, _)) = trip {
                        next = due.max(at);
                    }
                    did.given += given(since, [at, next], reconnection.ramp, [available, rated]);
                    if let Some((_, stage)) = trip {
                        did.trips.push((next, stage));
                        on = None;
                        let is_inside = inside(held.volts, reconnection.voltage) && inside(held.hertz, reconnection.frequency);
                        observes = is_inside.then(|| (next, waits(protection, choose)));
                    }
                }
                None => {
                    let stands = picked_up.iter().any(Option::is_some);
                    let due = observes.map(|(since, wait)| (since + wait).max(at)).filter(|due| *due < until && !stands);
                    if let Some(due) = due {
                        next = due;
                        on = Some(due);
                        did.connects.push(due);
                    }
                }
            }
            at = next.max(at);
            if next == until {
                break;
            }
        }
    }
    did
}

fn farther(side: Side, one: f64, other: f64) -> f64 {
    if side == Side::Above { one.max(other) } else { one.min(other) }
}

fn waits(protection: &Protection, choose: Choice<'_>) -> Micros {
    let [least, most] = protection.reconnection.observation;
    least + ((most + protection.reconnection.random - least) as f64 * choose()).round() as Micros
}

fn first_trip(picked_up: &[Option<PickedUp>], protection: &Protection, least_at: LeastAt<'_>) -> Option<(Micros, usize)> {
    let due = |(place, picked_up): (usize, &Option<PickedUp>)| {
        let PickedUp { since, share, farthest } = (*picked_up)?;
        let (least, most) = (least_at(place, farthest), protection.stages[place].most);
        Some((since + least + ((most - least) as f64 * share).round() as Micros, place))
    };
    picked_up.iter().enumerate().filter_map(due).min()
}

/// What is given over a stretch by one that connected at a moment: it comes up along a straight line.
fn given(since: Micros, [from, until]: [Micros; 2], ramp: Micros, [available, rated]: [f64; 2]) -> f64 {
    let full = since + (ramp as f64 * available / rated) as Micros;
    let rising = [from.min(full), until.min(full)].map(|at| (at - since) as f64);
    let area = if rising[1] > rising[0] { rated / ramp as f64 * (rising[1] * rising[1] - rising[0] * rising[0]) / 2.0 } else { 0.0 };
    area + available * (until - from.max(full)).max(0) as f64
}
