//! What falls due first between two values of a log.

use super::mean_watch::MeanWatch;
use super::protection::{Reconnection, Stage};
use super::relay::Breaker;
use super::track::{Bias, Scene, State, Track};
use super::{Micros, Sample};

/// What a device does next.
#[derive(Clone, Copy, Debug)]
pub(super) enum Next {
    Trip(usize),
    Connect,
    /// A stage of a relay opens it.
    Open(usize),
    /// A relay closes.
    Close(usize),
    /// The ramp has reached rated power.
    Up,
}

impl Track {
    /// What falls due first in (at, until].
    pub(super) fn next(&self, at: Micros, until: Micros, now: &Sample, scene: &Scene<'_>) -> Option<(Micros, Next)> {
        let relays = (0..self.breakers.len()).filter_map(|relay| self.next_of_relay(relay, at, until, now, scene));
        // of two at once the device's own comes first
        self.next_of_device(at, until, now, scene).into_iter().chain(relays).min_by_key(|(time, _)| *time)
    }

    fn next_of_device(&self, at: Micros, until: Micros, now: &Sample, scene: &Scene<'_>) -> Option<(Micros, Next)> {
        let due = |due: Micros, next: Next| (due <= until).then_some((due.max(at), next));
        let reconnection = &scene.protection.reconnection;
        match self.state {
            State::Waiting => None,
            State::Observing => {
                // nobody knows when it left its window
                let wait = self.observation(reconnection);
                let is_proven = self.bias == Bias::OffLatest || scene.holds(now);
                // none connects onto a stage that stands
                due(self.since.saturating_add(wait), Next::Connect)
                    .filter(|(time, _)| is_proven && !self.stands_on_a_stage(*time, None, scene))
            }
            State::Ramping | State::Running | State::Ceased => {
                let trip = self.first_trip(at, until, now, None, scene).and_then(|(time, stage)| due(time, Next::Trip(stage)));
                let up = (self.state == State::Ramping).then(|| due(self.connected + reconnection.ramp, Next::Up)).flatten();
                [trip, up].into_iter().flatten().min_by_key(|(time, _)| *time)
            }
        }
    }

    fn next_of_relay(&self, relay: usize, at: Micros, until: Micros, now: &Sample, scene: &Scene<'_>) -> Option<(Micros, Next)> {
        let due = |due: Micros, next: Next| (due <= until).then_some((due.max(at), next));
        let held = &scene.protection.relays[relay];
        match self.breakers[relay] {
            Breaker::Waiting => None,
            Breaker::Observing(since) => {
                let is_proven = self.bias == Bias::OffLatest || held.reconnection.holds(now, held.phases);
                due(since.saturating_add(self.observation(&held.reconnection)), Next::Close(relay))
                    .filter(|(time, _)| is_proven && !self.stands_on_a_stage(*time, Some(relay), scene))
            }
            Breaker::Closed(_) => {
                self.first_trip(at, until, now, Some(relay), scene).and_then(|(time, stage)| due(time, Next::Open(stage)))
            }
        }
    }

    /// How long voltage and frequency have to be inside before it connects.
    pub(super) fn observation(&self, reconnection: &Reconnection) -> Micros {
        match self.bias {
            Bias::OffSoonest => reconnection.observation[1].saturating_add(reconnection.random),
            Bias::OffLatest => reconnection.observation[0],
        }
    }

    /// Whether the condition of a stage of the device, or of a relay, goes on beyond a moment.
    fn stands_on_a_stage(&self, at: Micros, relay: Option<usize>, scene: &Scene<'_>) -> bool {
        let mean_stands = |mean: &MeanWatch| mean.is_above() || mean.runs().iter().any(|run| run.to > at);
        let own = scene.protection.stages.iter().zip(&self.timers).zip(scene.means).filter(|((stage, _), _)| stage.relay == relay);
        own.into_iter().any(|((_, timer), mean)| timer.is_running() || mean.as_ref().is_some_and(mean_stands))
    }

    /// Since when the device is on, or the relay is closed.
    fn on_since(&self, relay: Option<usize>) -> Micros {
        match relay.map(|relay| self.breakers[relay]) {
            Some(Breaker::Closed(since)) => since,
            _ => self.connected,
        }
    }

    /// The stage that trips first.
    fn first_trip(&self, at: Micros, until: Micros, now: &Sample, relay: Option<usize>, scene: &Scene<'_>) -> Option<(Micros, usize)> {
        let on_since = self.on_since(relay);
        let stages = scene.protection.stages.iter().zip(&self.timers).zip(scene.means).enumerate();
        let trips = stages.filter(|(_, ((stage, _), _))| stage.relay == relay).filter_map(|(n, ((stage, timer), mean))| {
            let time = match mean {
                Some(mean) => self.trip_of_mean(stage, mean, at.max(on_since), on_since, scene)?,
                None => {
                    let since = timer.since()?;
                    let time = match self.bias {
                        Bias::OffSoonest => since + timer.least(stage),
                        Bias::OffLatest => stage.latest(since.max(on_since)),
                    };
                    timer.may_trip(stage, time, now, scene.phases_of(stage), self.bias).then_some(time)?
                }
            };
            (time <= until).then_some((time, n))
        });
        trips.min()
    }

    /// When a stage that looks at a mean trips by a run that goes on beyond a moment.
    fn trip_of_mean(&self, stage: &Stage, mean: &MeanWatch, beyond: Micros, on_since: Micros, scene: &Scene<'_>) -> Option<Micros> {
        let trips = mean.runs().iter().filter_map(|run| {
            let [before, after] = run.began_between;
            let began = |mark| if scene.values_are_means { mark } else { run.from };
            let time = match self.bias {
                Bias::OffSoonest => began(before) + stage.least,
                Bias::OffLatest if !mean.proves => return None,
                Bias::OffLatest => stage.latest(began(after).max(on_since)),
            };
            // a run that ended before this moment is past
            (time <= run.to && run.to > beyond).then_some(time)
        });
        trips.min()
    }
}
