//! What the two devices agree on, and where they differ, as one story.

use super::player::{Change, Player, State};
use super::{Micros, Protection};

/// A moment that is known within two others.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Window {
    /// The earliest.
    pub earliest: Micros,
    /// The latest; `None` where it may not have happened at all.
    pub latest: Option<Micros>,
}

/// What happened.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Happening {
    /// A device that was off began to connect or to come up.
    Connected,
    /// One of these stages tripped, by their places among the stages.
    Tripped(Vec<usize>),
    /// The log says nothing from here on.
    Gap,
}

/// A happening and when.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Merged {
    /// What.
    pub what: Happening,
    /// When.
    pub when: Window,
}

impl Player<'_> {
    /// What happened, in order: trips and connections with the windows in which they lie.
    #[must_use]
    pub fn story(&self) -> Vec<Merged> {
        let [soonest, latest] = self.changes().map(turns);
        merged(&soonest, &latest)
    }
}

/// A trip, a connection or a gap.
#[derive(Clone, Copy, Debug)]
struct Turn {
    at: Micros,
    what: Kind,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Kind {
    Trip(usize),
    Connect,
    Gap,
}

fn turns(changes: &[Change]) -> Vec<Turn> {
    let mut was_off = changes.first().is_some_and(|first| matches!(first.to, State::Waiting | State::Observing));
    let mut turns = Vec::new();
    for change in changes {
        let is_off = matches!(change.to, State::Waiting | State::Observing);
        if change.after_gap {
            turns.push(Turn { at: change.at, what: Kind::Gap });
        } else if let Some(stage) = change.tripped {
            turns.push(Turn { at: change.at, what: Kind::Trip(stage) });
        } else if was_off && !is_off {
            turns.push(Turn { at: change.at, what: Kind::Connect });
        }
        was_off = is_off;
    }
    turns
}

/// Pairs the turns of the two. What only one of them did may have happened.
fn merged(soonest: &[Turn], latest: &[Turn]) -> Vec<Merged> {
    let (mut one, mut other, mut story) = (0, 0, Vec::new());
    while let Some((what, when, used)) = pair(&soonest[one..], &latest[other..]) {
        story.push(Merged { what, when });
        one += used[0];
        other += used[1];
    }
    story.sort_by_key(|merged| merged.when.earliest);
    story
}

fn pair(soonest: &[Turn], latest: &[Turn]) -> Option<(Happening, Window, [usize; 2])> {
    match (soonest.first(), latest.first()) {
        (None, None) => None,
        (Some(a), Some(b)) => Some(match (a.what, b.what) {
            (Kind::Gap, Kind::Gap) => (Happening::Gap, at(a.at, b.at), [1, 1]),
            (Kind::Trip(x), Kind::Trip(y)) if meets(a, b, soonest) => {
                let stages = if x == y { vec![x] } else { vec![x, y] };
                (Happening::Tripped(stages), at(a.at, b.at), [1, 1])
            }
            (Kind::Connect, Kind::Connect) => (Happening::Connected, at(b.at, a.at), [1, 1]),
            // the earlier of the two stands alone; a gap waits for the other's
            (Kind::Gap, _) => (happening(b.what), alone(b.at), [0, 1]),
            (_, Kind::Gap) => (happening(a.what), alone(a.at), [1, 0]),
            _ if a.at <= b.at => (happening(a.what), alone(a.at), [1, 0]),
            _ => (happening(b.what), alone(b.at), [0, 1]),
        }),
        (Some(a), None) => Some((happening(a.what), alone(a.at), [1, 0])),
        (None, Some(b)) => Some((happening(b.what), alone(b.at), [0, 1])),
    }
}

/// Whether the late device tripped before the early one was back: then both tell of one trip.
fn meets(early: &Turn, late: &Turn, soonest: &[Turn]) -> bool {
    let back = soonest.iter().skip(1).find(|turn| turn.what == Kind::Connect);
    early.at <= late.at && back.is_none_or(|back| late.at <= back.at)
}

fn at(one: Micros, other: Micros) -> Window {
    Window { earliest: one.min(other), latest: Some(one.max(other)) }
}

fn alone(at: Micros) -> Window {
    Window { earliest: at, latest: None }
}

fn happening(kind: Kind) -> Happening {
    match kind {
        Kind::Trip(stage) => Happening::Tripped(vec![stage]),
        Kind::Connect => Happening::Connected,
        Kind::Gap => Happening::Gap,
    }
}

impl Protection {
    /// The functions of stages, in words of the catalogue.
    #[must_use]
    pub fn functions(&self, stages: &[usize]) -> Vec<&'static str> {
        stages.iter().filter_map(|stage| self.stages.get(*stage)).map(|stage| stage.function).collect()
    }
}
