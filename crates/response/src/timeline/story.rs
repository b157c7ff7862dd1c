//! What happened, told from the states that lawful devices may have been in.

use super::{Micros, Protection};

/// How sure a happening is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Sure {
    /// Every device that does nothing forbidden did it, within this window.
    Certain,
    /// Some did it here; others did not, and some of those never had to.
    SoonestOnly,
    /// Every device that had not left before did it here; or, of a connection: some that were off did it.
    LatestOnly,
}

/// What happened.
#[derive(Clone, Debug, PartialEq)]
pub enum Happening {
    /// A device that was off began to connect or to come up.
    Connected,
    /// One of these stages tripped, by their places among the stages, each of which may have been first. Those come
    /// first whose condition the log shows, and of them that which may trip soonest, with a value past its threshold;
    /// not a number where there is none.
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

/// What broke an observation off.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum BrokenOff {
    /// This voltage, in volts.
    Voltage(f64),
    /// This frequency, in hertz.
    Frequency(f64),
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
    /// Of the stages of a trip, how many at the end the log does not show: it lacks what they look at.
    pub unseen: usize,
}

/// How many happenings are kept; more are only counted, so that a log of any length fits.
const MOST_TOLD: usize = 50_000;

/// A stage that may trip, in which window, at which value.
#[derive(Clone, Copy, Debug)]
pub(super) struct MayTrip {
    pub stage: usize,
    pub between: [Micros; 2],
    pub value: f64,
    /// Whether the log shows its condition.
    pub is_seen: bool,
    /// Its longest time: of two that may trip from the same moment on the faster comes first.
    pub most: Micros,
}

/// Something that goes on: its window so far.
#[derive(Clone, Debug)]
struct Episode<T> {
    between: [Micros; 2],
    of: T,
    /// Whether it began with every device in the state that it leads out of.
    began_with_all: bool,
}

impl<T> Episode<T> {
    fn touches(&self, [from, _]: [Micros; 2]) -> bool {
        from <= self.between[1].saturating_add(1)
    }

    fn grow(&mut self, [from, until]: [Micros; 2]) {
        self.between = [self.between[0].min(from), self.between[1].max(until)];
    }

    fn told(&self, what: Happening, sure: Sure) -> Merged {
        Merged { what, earliest: self.between[0], latest: self.between[1], sure, unseen: 0 }
    }
}

/// What is told, and what goes on.
#[derive(Clone, Debug, Default)]
pub(super) struct Story {
    told: Vec<Merged>,
    pub untold: u64,
    leaving: Option<Episode<Vec<MayTrip>>>,
    connecting: Option<Episode<()>>,
    opening: Vec<Episode<MayTrip>>,
    by_link: Option<Episode<()>>,
}

impl Story {
    fn tell(&mut self, merged: Merged) {
        let is_full = self.told.len() >= MOST_TOLD;
        match (self.told.last_mut(), &merged.what) {
            (Some(Merged { what: Happening::BrokenOff(by, times), latest, sure, .. }), Happening::BrokenOff(last, _))
                if *sure == merged.sure =>
            {
                (*by, *times, *latest) = (*last, *times + 1, merged.latest);
            }
            _ if is_full => self.untold += 1,
            _ => self.told.push(merged),
        }
    }

    /// All of it, in order; what goes on at the end as far as it has come.
    pub fn all(&self) -> Vec<Merged> {
        let mut ended = self.clone();
        ended.end_leaving(Sure::SoonestOnly);
        // of one that need not have been off, a connection that need not have come says nothing
        if ended.connecting.as_ref().is_some_and(|connecting| connecting.began_with_all) {
            ended.end_connecting(Sure::LatestOnly);
        }
        while let Some(opening) = ended.opening.pop() {
            ended.tell(opened(&opening, Sure::SoonestOnly));
        }
        ended.end_link(Sure::SoonestOnly);
        // one that leaves again in the moment in which it may connect has connected before
        ended.told.sort_by_key(|merged| (merged.earliest, merged.what == Happening::LeftUnseen));
        ended.told
    }

    /// Devices that are on may trip by these; `all_are_on` says whether none was off before, `emptied` by
    /// when none is on any more.
    pub fn may_trip(&mut self, trips: &[MayTrip], all_are_on: bool, emptied: Option<Micros>) {
        for trip in trips {
            if self.leaving.as_ref().is_some_and(|leaving| !leaving.touches(trip.between)) {
                self.end_leaving(Sure::SoonestOnly);
            }
            // who has left by then need not have lost what it needs
            self.by_link.iter_mut().for_each(|link| link.began_with_all = false);
            let began_with_all = all_are_on && self.by_link.is_none();
            let leaving = self.leaving.get_or_insert_with(|| Episode { between: trip.between, of: Vec::new(), began_with_all });
            leaving.grow(trip.between);
            leaving.began_with_all &= self.by_link.is_none();
            match leaving.of.iter_mut().find(|known| known.stage == trip.stage) {
                Some(known) => {
                    known.between[1] = known.between[1].max(trip.between[1]);
                    known.is_seen |= trip.is_seen;
                    known.value = if known.value.is_nan() { trip.value } else { known.value };
                }
                None => leaving.of.push(*trip),
            }
        }
        if let Some(at) = emptied {
            self.leaving.iter_mut().for_each(|leaving| leaving.between[1] = leaving.between[1].min(at));
            let is_certain = self.leaving.as_ref().is_some_and(|leaving| leaving.began_with_all);
            self.end_leaving(if is_certain { Sure::Certain } else { Sure::LatestOnly });
        }
    }

    fn end_leaving(&mut self, sure: Sure) {
        let Some(mut leaving) = self.leaving.take() else { return };
        leaving.of.sort_by_key(|trip| (!trip.is_seen, trip.between[0], trip.most));
        let stages = leaving.of.iter().map(|trip| trip.stage).collect();
        let value = leaving.of.first().map_or(f64::NAN, |trip| trip.value);
        let unseen = leaving.of.iter().filter(|trip| !trip.is_seen).count();
        let told = leaving.told(Happening::Tripped(stages, value), sure);
        self.tell(Merged { unseen, ..told });
    }

    /// Devices that were off connect within a window; `all_are_off` says whether none was on before.
    pub fn connects(&mut self, between: [Micros; 2], all_are_off: bool) {
        self.connecting.get_or_insert(Episode { between, of: (), began_with_all: all_are_off }).grow(between);
    }

    /// None is off any more.
    pub fn all_are_on(&mut self) {
        let is_certain = self.connecting.as_ref().is_some_and(|connecting| connecting.began_with_all);
        self.end_connecting(if is_certain { Sure::Certain } else { Sure::SoonestOnly });
    }

    /// A value broke the observations of those off.
    pub fn breaks_off(&mut self, at: Micros, by: Option<BrokenOff>, is_certain: bool) {
        self.end_connecting(Sure::LatestOnly);
        if let Some(by) = by {
            let sure = if is_certain { Sure::Certain } else { Sure::SoonestOnly };
            self.tell(Merged { what: Happening::BrokenOff(by, 1), earliest: at, latest: at, sure, unseen: 0 });
        }
    }

    fn end_connecting(&mut self, sure: Sure) {
        if let Some(connecting) = self.connecting.take() {
            self.tell(connecting.told(Happening::Connected, sure));
        }
    }

    /// A relay may open before devices that are off; `emptied` where it is open before all of them.
    pub fn may_open(&mut self, trip: MayTrip, all_are_behind: bool, emptied: bool) {
        let known = self.opening.iter().position(|opening| opening.of.stage == trip.stage);
        if let Some(known) = known.filter(|known| !self.opening[*known].touches(trip.between)) {
            let ended = self.opening.swap_remove(known);
            self.tell(opened(&ended, Sure::SoonestOnly));
        }
        let known = self.opening.iter().position(|opening| opening.of.stage == trip.stage).unwrap_or_else(|| {
            self.opening.push(Episode { between: trip.between, of: trip, began_with_all: all_are_behind });
            self.opening.len() - 1
        });
        self.opening[known].grow(trip.between);
        if emptied {
            let ended = self.opening.swap_remove(known);
            let sure = if ended.began_with_all { Sure::Certain } else { Sure::LatestOnly };
            self.tell(opened(&ended, sure));
        }
    }

    /// It may have left while the log said nothing.
    pub fn left_unseen(&mut self, [earliest, latest]: [Micros; 2]) {
        self.tell(Merged { what: Happening::LeftUnseen, earliest, latest, sure: Sure::SoonestOnly, unseen: 0 });
    }

    /// Devices that are on may leave because they lost what they need.
    pub fn may_leave_by_link(&mut self, between: [Micros; 2], all_are_on: bool) {
        let began_with_all = all_are_on && self.leaving.as_ref().is_none_or(|leaving| !leaving.touches(between));
        self.by_link.get_or_insert(Episode { between, of: (), began_with_all }).grow(between);
    }

    /// None is on any more, or none has to leave any more.
    pub fn link_is_over(&mut self, all_left: bool) {
        let is_certain = self.by_link.as_ref().is_some_and(|link| link.began_with_all);
        self.end_link(match all_left {
            true if is_certain => Sure::Certain,
            true => Sure::LatestOnly,
            false => Sure::SoonestOnly,
        });
    }

    fn end_link(&mut self, sure: Sure) {
        if let Some(link) = self.by_link.take() {
            self.tell(link.told(Happening::LeftByLink, sure));
        }
    }
}

fn opened(opening: &Episode<MayTrip>, sure: Sure) -> Merged {
    opening.told(Happening::Opened(opening.of.stage, opening.of.value), sure)
}

impl Protection {
    /// The functions of stages, in words of the catalogue.
    #[must_use]
    pub fn functions(&self, stages: &[usize]) -> Vec<&'static str> {
        stages.iter().filter_map(|stage| self.stages.get(*stage)).map(|stage| stage.function).collect()
    }
}
