//! What the two devices agree on, and where they differ, as one story.

use super::player::Player;
use super::track::{BrokenOff, Change, Left};
use super::{Micros, Protection};

/// How sure a happening is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Sure {
    /// Every device that does nothing forbidden did it.
    Certain,
    /// Only the one that leaves as soon as it may and returns as late as it may did it here.
    SoonestOnly,
    /// Only the one that leaves as late as it may and returns as soon as it may did it here.
    LatestOnly,
}

/// What happened.
#[derive(Clone, Debug, PartialEq)]
pub enum Happening {
    /// A device that was off began to connect or to come up.
    Connected,
    /// One of these stages tripped, by their places among the stages; the value of what it looks at.
    Tripped(Vec<usize>, f64),
    /// It may have left while the log said nothing.
    LeftUnseen,
    /// It lost what it needs to keep a limit, and left.
    LeftByLink,
    /// It was off already, and this stage of a relay opened its supply; the value of what it looks at.
    Opened(usize, f64),
    /// It was off, and had to begin its observation again; by what at last, and how many times in a row.
    BrokenOff(BrokenOff, u64),
}

/// A happening, when at the earliest and at the latest, and how sure it is.
#[derive(Clone, Debug, PartialEq)]
pub struct Merged {
    /// What.
    pub what: Happening,
    /// At the earliest.
    pub earliest: Micros,
    /// At the latest, if it happened.
    pub latest: Micros,
    /// How sure.
    pub sure: Sure,
}

impl Player<'_> {
    /// What happened, in order: trips and connections with the windows in which they lie.
    #[must_use]
    pub fn story(&self) -> Vec<Merged> {
        let [soonest, latest] = self.changes().map(turns);
        let mut story = merged(&soonest, &latest);
        story.extend(broken_off(self.changes()));
        story.extend(opened(self.changes()));
        story.sort_by_key(|merged| merged.earliest);
        in_a_row(story)
    }
}

/// A trip or a connection.
#[derive(Clone, Copy, Debug)]
struct Turn {
    at: Micros,
    /// Up to when it might have come.
    until: Micros,
    what: Kind,
}

#[derive(Clone, Copy, Debug, PartialEq)]
enum Kind {
    Left(Left),
    Connect,
}

fn turns(changes: &[Change]) -> Vec<Turn> {
    let mut was_on = changes.first().is_none_or(|first| first.to.is_on());
    let mut turns = Vec::new();
    for change in changes {
        if let Some(left) = change.left {
            turns.push(Turn { at: change.at, until: change.until.unwrap_or(change.at), what: Kind::Left(left) });
        } else if !was_on && change.to.is_on() {
            turns.push(Turn { at: change.at, until: change.at, what: Kind::Connect });
        }
        was_on = change.to.is_on();
    }
    turns
}

/// Pairs the turns of the two. What only one of them did may have happened.
fn merged(soonest: &[Turn], latest: &[Turn]) -> Vec<Merged> {
    let (mut one, mut other, mut story) = (0, 0, Vec::new());
    while let Some((merged, used)) = pair(&soonest[one..], &latest[other..]) {
        story.push(merged);
        one += used[0];
        other += used[1];
    }
    story
}

/// Where observations were broken off: of both, or of one that was off alone.
fn broken_off([soonest, latest]: [&[Change]; 2]) -> Vec<Merged> {
    let of = |changes: &[Change]| -> Vec<(Micros, BrokenOff)> {
        changes.iter().filter_map(|change| Some((change.at, change.broken_off?))).collect()
    };
    let (soonest, latest) = (of(soonest), of(latest));
    let has = |others: &[(Micros, BrokenOff)], at| others.binary_search_by_key(&at, |(at, _)| *at).is_ok();
    let told = |(at, by), sure| Merged { what: Happening::BrokenOff(by, 1), earliest: at, latest: at, sure };
    let own = soonest.iter().map(|one| told(*one, if has(&latest, one.0) { Sure::Certain } else { Sure::SoonestOnly }));
    own.chain(latest.iter().filter(|one| !has(&soonest, one.0)).map(|one| told(*one, Sure::LatestOnly))).collect()
}

/// Where relays opened before a device that was off: what the late one did before the early one opened
/// anew is the same.
fn opened([soonest, latest]: [&[Change]; 2]) -> Vec<Merged> {
    let of = |changes: &[Change]| -> Vec<(Micros, (usize, f64))> {
        changes.iter().filter_map(|change| Some((change.at, change.opened?))).collect()
    };
    let (soonest, mut latest) = (of(soonest), of(latest));
    let mut story = Vec::new();
    for (n, (at, (stage, value))) in soonest.iter().enumerate() {
        let next = soonest[n + 1..].iter().find(|(_, (other, _))| other == stage).map_or(Micros::MAX, |(at, _)| *at);
        let same = latest.iter().position(|(late, (other, _))| other == stage && (*at..next).contains(late));
        let late = same.map(|same| latest.remove(same).0);
        let sure = if late.is_some() { Sure::Certain } else { Sure::SoonestOnly };
        story.push(Merged { what: Happening::Opened(*stage, *value), earliest: *at, latest: late.unwrap_or(*at), sure });
    }
    let alone = |(at, (stage, value))| Merged { what: Happening::Opened(stage, value), earliest: at, latest: at, sure: Sure::LatestOnly };
    story.extend(latest.into_iter().map(alone));
    story
}

/// Observations that were broken off again and again are one happening.
fn in_a_row(story: Vec<Merged>) -> Vec<Merged> {
    let mut told: Vec<Merged> = Vec::new();
    for merged in story {
        match (told.last_mut(), &merged.what) {
            (Some(Merged { what: Happening::BrokenOff(by, times), latest, sure, .. }), Happening::BrokenOff(last, _))
                if *sure == merged.sure =>
            {
                (*by, *times, *latest) = (*last, *times + 1, merged.latest);
            }
            _ => told.push(merged),
        }
    }
    told
}

fn pair(soonest: &[Turn], latest: &[Turn]) -> Option<(Merged, [usize; 2])> {
    let alone = |turn: &Turn, sure| Merged { what: happening(turn.what), earliest: turn.at, latest: turn.until, sure };
    let both = |a: &Turn, b: &Turn, what| Merged { what, earliest: a.at.min(b.at), latest: a.at.max(b.at), sure: Sure::Certain };
    Some(match (soonest.first(), latest.first()) {
        (None, None) => return None,
        (Some(a), None) => (alone(a, Sure::SoonestOnly), [1, 0]),
        (None, Some(b)) => (alone(b, Sure::LatestOnly), [0, 1]),
        (Some(a), Some(b)) => match (a.what, b.what) {
            (Kind::Left(Left::Stage(x, value)), Kind::Left(Left::Stage(y, _))) if meets(a, b, soonest) => {
                let stages = if x == y { vec![x] } else { vec![x, y] };
                (both(a, b, Happening::Tripped(stages, value)), [1, 1])
            }
            (Kind::Left(Left::Link), Kind::Left(Left::Link)) if meets(a, b, soonest) => (both(a, b, Happening::LeftByLink), [1, 1]),
            // the late one connects first; both tell of one connection unless it leaves again before
            (Kind::Connect, Kind::Connect) if latest.get(1).is_none_or(|next| a.at <= next.at) => {
                (both(a, b, Happening::Connected), [1, 1])
            }
            _ if a.at <= b.at => (alone(a, Sure::SoonestOnly), [1, 0]),
            _ => (alone(b, Sure::LatestOnly), [0, 1]),
        },
    })
}

/// Whether the late device tripped before the early one was back: then both tell of one trip.
fn meets(early: &Turn, late: &Turn, soonest: &[Turn]) -> bool {
    let back = soonest.iter().skip(1).find(|turn| turn.what == Kind::Connect);
    early.at <= late.at && back.is_none_or(|back| late.at <= back.at)
}

fn happening(kind: Kind) -> Happening {
    match kind {
        Kind::Left(Left::Stage(stage, value)) => Happening::Tripped(vec![stage], value),
        Kind::Left(Left::Unseen) => Happening::LeftUnseen,
        Kind::Left(Left::Link) => Happening::LeftByLink,
        Kind::Connect => Happening::Connected,
    }
}

impl Protection {
    /// The functions of stages, in words of the catalogue.
    #[must_use]
    pub fn functions(&self, stages: &[usize]) -> Vec<&'static str> {
        stages.iter().filter_map(|stage| self.stages.get(*stage)).map(|stage| stage.function).collect()
    }
}
