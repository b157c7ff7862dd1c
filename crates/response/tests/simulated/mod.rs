//! One lawful device on one concrete supply, played forward moment by moment: a second implementation,
//! plain and slow, that shares nothing with the player but the settings it is told. A grid protection relay may
//! stand before it, and it may lose for a while what it keeps a limit by.

use response::timeline::{Micros, Protection, Reconnection, Side, Stage, Watched};

/// What holds from a moment on.
#[derive(Clone, Copy, Debug)]
pub struct Held {
    pub from: Micros,
    pub volts: f64,
    pub hertz: f64,
}

/// When a link is lost: from `may` on the device may leave, by `must` it has to, at `back` the link is there again.
#[derive(Clone, Copy, Debug)]
pub struct Lost {
    pub may: Micros,
    pub must: Micros,
    pub back: Micros,
}

/// Everything that a device meets.
#[derive(Clone, Copy, Debug)]
pub struct Supply<'s> {
    pub held: &'s [Held],
    /// When the mean that a stage looks at lies above its threshold; empty for a stage of moments.
    pub above: &'s [Vec<[Micros; 2]>],
    pub lost: Option<Lost>,
    pub end: Micros,
}

/// How a device uses what the rules leave to it: for every pick-up of a stage, and for every observation, a
/// share of the time between the least and the most.
pub type Choice<'c> = &'c mut dyn FnMut() -> f64;

/// The least time that a device has to stay on for at a value.
pub type LeastAt<'l> = &'l dyn Fn(usize, f64) -> Micros;

/// The place of no stage: it left because it lost what it keeps a limit by.
pub const BY_LINK: usize = usize::MAX;

/// What a device did.
#[derive(Clone, Debug, Default)]
pub struct Did {
    /// When it tripped, and by which stage.
    pub trips: Vec<(Micros, usize)>,
    /// When it connected.
    pub connects: Vec<Micros>,
    /// When the relay before it opened while it was off, and by which stage.
    pub opens: Vec<(Micros, usize)>,
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
#[derive(Clone, Copy, Debug)]
struct PickedUp {
    since: Micros,
    share: f64,
    /// The value that lies farthest out so far.
    farthest: f64,
    /// Since when it has let go, while it does not count from zero yet.
    back: Option<Micros>,
}

/// Watts available and rated.
pub type Power = [f64; 2];

/// A device in service on a supply.
pub fn simulated(supply: Supply<'_>, protection: &Protection, least_at: LeastAt<'_>, power: Power, choose: Choice<'_>) -> Did {
    let leaves = supply.lost.map(|lost| lost.may + ((lost.must - lost.may) as f64 * choose()).round() as Micros);
    let mut device = Simulated {
        protection,
        least_at,
        power,
        relay_counts_on: choose() < 0.5,
        picked_up: vec![None; protection.stages.len()],
        on: Some(Micros::MIN / 4),
        observes: None,
        relay: protection.relays.first().map(|_| RelayState::Closed),
        is_held: false,
        did: Did::default(),
    };
    let mut edges: Vec<Micros> = supply.held.iter().map(|held| held.from).collect();
    edges.extend(supply.above.iter().flatten().flatten());
    edges.extend(leaves);
    edges.extend(supply.lost.map(|lost| lost.back));
    edges.push(supply.end);
    edges.sort_unstable();
    edges.dedup();
    let first = supply.held[0].from;
    for pair in edges.windows(2).filter(|pair| pair[0] >= first && pair[1] <= supply.end) {
        let place = supply.held.partition_point(|held| held.from <= pair[0]) - 1;
        let held = supply.held[place];
        let is_lost = supply.lost.zip(leaves).is_some_and(|(lost, leaves)| leaves < lost.back && (leaves..lost.back).contains(&pair[0]));
        device.pick_up(pair[0], held, supply.above, choose);
        device.turn(pair[0], held, is_lost, choose);
        device.pass([pair[0], pair[1]], held, choose);
    }
    device.did
}

/// The relay before a device.
#[derive(Clone, Copy, Debug, PartialEq)]
enum RelayState {
    Closed,
    /// Open, and since when and for how long it observes.
    Open(Option<(Micros, Micros)>),
}

struct Simulated<'s> {
    protection: &'s Protection,
    least_at: LeastAt<'s>,
    power: Power,
    /// Whether a relay counts on while it has let go, or holds its count.
    relay_counts_on: bool,
    picked_up: Vec<Option<PickedUp>>,
    /// Since when it is on and its ramp began.
    on: Option<Micros>,
    /// Off, since when and for how long it observes.
    observes: Option<(Micros, Micros)>,
    relay: Option<RelayState>,
    /// Whether it stays off, because of what it lost.
    is_held: bool,
    did: Did,
}

impl Simulated<'_> {
    /// What stages stand from a moment on.
    fn pick_up(&mut self, at: Micros, held: Held, above: &[Vec<[Micros; 2]>], choose: Choice<'_>) {
        for (place, stage) in self.protection.stages.iter().enumerate() {
            let value = value(stage, held);
            let [is_outside, is_inside] = match stage.watched {
                Watched::MeanOfAnyPhase(_) => {
                    let is_above = above[place].iter().any(|[from, to]| *from <= at && at < *to);
                    [is_above, !is_above]
                }
                _ => [is_past(stage.side, value, stage.threshold), !is_past(stage.side, value, stage.drop_off.at[0])],
            };
            let reset = stage.drop_off.reset[0];
            // what has let go for its reset time counts from zero
            let before = self.picked_up[place].filter(|before| before.back.is_none_or(|back| at - back < reset));
            self.picked_up[place] = match before {
                None if is_outside => Some(PickedUp { since: at, share: choose(), farthest: value, back: None }),
                Some(before) if is_outside => {
                    let held_for = before.back.filter(|_| !self.relay_counts_on).map_or(0, |back| at - back);
                    Some(PickedUp {
                        since: before.since + held_for,
                        farthest: farther(stage.side, before.farthest, value),
                        back: None,
                        ..before
                    })
                }
                Some(_) if is_inside && reset == 0 => None,
                Some(before) if is_inside => Some(PickedUp { back: before.back.or(Some(at)), ..before }),
                other => other,
            };
        }
    }

    /// What a new value changes at once: links, and observations.
    fn turn(&mut self, at: Micros, held: Held, is_lost: bool, choose: Choice<'_>) {
        if is_lost && !self.is_held && self.on.take().is_some() {
            self.did.trips.push((at, BY_LINK));
        }
        self.is_held = is_lost;
        self.observe(at, held, choose);
    }

    /// Begins or breaks off observations, of the relay and of the device.
    fn observe(&mut self, at: Micros, held: Held, choose: Choice<'_>) {
        if let Some(RelayState::Open(observes)) = self.relay {
            let reconnection = &self.protection.relays[0].reconnection;
            let observes = is_inside(reconnection, held).then(|| observes.unwrap_or_else(|| (at, waits(reconnection, choose))));
            self.relay = Some(RelayState::Open(observes));
        }
        let may_observe = self.on.is_none() && !self.is_held && !self.is_behind_an_open_relay();
        let is_inside = may_observe && is_inside(&self.protection.reconnection, held);
        let before = self.observes;
        self.observes = is_inside.then(|| before.unwrap_or_else(|| (at, waits(&self.protection.reconnection, choose))));
    }

    fn is_behind_an_open_relay(&self) -> bool {
        matches!(self.relay, Some(RelayState::Open(_)))
    }

    /// A stretch in which nothing changes but what falls due.
    fn pass(&mut self, [from, until]: [Micros; 2], held: Held, choose: Choice<'_>) {
        let mut at = from;
        while let Some((due, what)) = self.next_due(at).filter(|(due, _)| *due < until) {
            self.give([at, due]);
            at = due;
            match what {
                Due::Trip(stage) => {
                    if self.protection.stages[stage].relay.is_some() {
                        self.relay = Some(RelayState::Open(None));
                    }
                    match self.on.take() {
                        Some(_) => self.did.trips.push((due, stage)),
                        None => self.did.opens.push((due, stage)),
                    }
                    self.observes = None;
                }
                Due::Closes => self.relay = Some(RelayState::Closed),
                Due::Connects => {
                    self.on = Some(due);
                    self.observes = None;
                    self.did.connects.push(due);
                }
            }
            self.observe(due, held, choose);
        }
        self.give([at, until]);
    }

    /// What falls due first, and not before a moment.
    fn next_due(&self, at: Micros) -> Option<(Micros, Due)> {
        let stands = |of_relay: bool| {
            let stages = self.protection.stages.iter().zip(&self.picked_up);
            stages.filter(|(stage, _)| stage.relay.is_some() == of_relay).any(|(_, up)| up.is_some_and(|up| up.back.is_none()))
        };
        let trips = self.protection.stages.iter().enumerate().filter_map(|(place, stage)| {
            let PickedUp { since, share, farthest, back } = self.picked_up[place]?;
            // a relay that is open has nothing left to open
            let acts = if stage.relay.is_some() { !self.is_behind_an_open_relay() } else { self.on.is_some() };
            let (least, most) = ((self.least_at)(place, farthest), stage.most);
            let due = since + least + ((most - least) as f64 * share).round() as Micros;
            (acts && back.is_none()).then_some((due.max(at), Due::Trip(place)))
        });
        let closes = match self.relay {
            Some(RelayState::Open(Some((since, wait)))) if !stands(true) => Some(((since + wait).max(at), Due::Closes)),
            _ => None,
        };
        let connects = self.observes.filter(|_| !stands(false)).map(|(since, wait)| ((since + wait).max(at), Due::Connects));
        trips.chain(closes).chain(connects).min_by_key(|(due, _)| *due)
    }

    fn give(&mut self, stretch: [Micros; 2]) {
        if let Some(since) = self.on {
            self.did.given += given(since, stretch, self.protection.reconnection.ramp, self.power);
        }
    }
}

enum Due {
    Trip(usize),
    Closes,
    Connects,
}

fn value(stage: &Stage, held: Held) -> f64 {
    if stage.watched == Watched::Frequency { held.hertz } else { held.volts }
}

fn is_past(side: Side, value: f64, edge: f64) -> bool {
    if side == Side::Above { value > edge } else { value < edge }
}

fn is_inside(reconnection: &Reconnection, held: Held) -> bool {
    let inside = |value: f64, [low, high]: [f64; 2]| low <= value && value <= high;
    inside(held.volts, reconnection.voltage) && inside(held.hertz, reconnection.frequency)
}

fn farther(side: Side, one: f64, other: f64) -> f64 {
    if side == Side::Above { one.max(other) } else { one.min(other) }
}

fn waits(reconnection: &Reconnection, choose: Choice<'_>) -> Micros {
    let [least, most] = reconnection.observation;
    least + ((most + reconnection.random - least) as f64 * choose()).round() as Micros
}

/// What is given over a stretch by one that connected at a moment: it comes up along a straight line.
fn given(since: Micros, [from, until]: [Micros; 2], ramp: Micros, [available, rated]: Power) -> f64 {
    let full = since + (ramp as f64 * available / rated) as Micros;
    let rising = [from.min(full), until.min(full)].map(|at| (at - since) as f64);
    let area = if rising[1] > rising[0] { rated / ramp as f64 * (rising[1] * rising[1] - rising[0] * rising[0]) / 2.0 } else { 0.0 };
    area + available * (until - from.max(full)).max(0) as f64
}
