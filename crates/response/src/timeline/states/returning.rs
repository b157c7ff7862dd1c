//! Those that are off and come back: when their observation may end, and when it has to.

use super::step::Step;
use super::{Arrival, States};
use crate::timeline::Micros;
use crate::timeline::energy::Bounds;
use crate::timeline::observation::{Ends, Observation};
use crate::timeline::off::Off;
use crate::timeline::on::On;

impl States {
    /// Whether all are off, and on the way to the new value go on to wait, or to observe, as they did.
    pub(super) fn just_wait(&self, step: &Step<'_>) -> bool {
        if self.on.is_some() || self.may_leave_by_link {
            return false;
        }
        let is_inside = [step.last, step.now].map(|sample| step.scene.is_inside(None, sample));
        let wait = step.scene.wait(None)[0];
        let goes_on = |off: &Off| match off.observation {
            Observation { earliest: None, .. } => is_inside[1] == Some(false),
            Observation { earliest: Some(at), latest } => {
                is_inside == [Some(true); 2] && latest.is_some() && at.saturating_add(wait) > step.now.at
            }
        };
        self.off.iter().all(|off| off.may_come_back() && !off.may_observe_at_once(step.last.at) && goes_on(off))
    }

    /// The same, where everything moves in a straight line: those that wait do so all along.
    pub(super) fn goes_on_waiting(&self, step: &Step<'_>) -> bool {
        let reconnection = &step.scene.protection.reconnection;
        let waits = self.off.iter().any(|off| off.observation.earliest.is_none());
        self.just_wait(step) && (!waits || reconnection.stays_outside([step.last, step.now], step.scene.phases))
    }

    /// Those that are off: which of them come back on the way to the new value, and which stay. Whether a
    /// value broke observations off, and whether all of those were proven.
    pub(super) fn come_back(&mut self, step: &Step<'_>) -> (Vec<Off>, Vec<Arrival>, Option<bool>) {
        let mut queue = std::mem::take(&mut self.off);
        let (mut stay, mut arrivals, mut broken_off) = (Vec::new(), Vec::new(), None);
        while let Some(mut off) = queue.pop() {
            let mut is_over = false;
            for relay in 0..off.relays.len() {
                let Some(mut observation) = off.relays[relay] else { continue };
                let ends = self.look(&mut observation, Some(relay), step.between(), step);
                off.relays[relay] = Some(observation);
                if let Some(ends) = ends {
                    let mut closed = off.clone();
                    closed.relays[relay] = None;
                    closed.free = ends.between;
                    queue.push(closed);
                    is_over |= ends.is_certain;
                }
            }
            if off.may_come_back() {
                let was_observing = off.observation;
                let [from, until] = off.free;
                let could = [from.max(step.last.at), until.clamp(step.last.at, step.now.at)];
                let mut observation = off.observation;
                let ends = self.look(&mut observation, None, could, step);
                off.observation = observation;
                if was_observing.earliest.is_some() && observation.earliest.is_none() {
                    broken_off = Some(broken_off.unwrap_or(true) && was_observing.latest.is_some());
                }
                if let Some(ends) = ends {
                    let as_off = step.off_until(&off, step.now.at);
                    let [first, last] = ends.between.map(|at| {
                        let mut on = On::since([at; 2], step.off_until(&off, at));
                        on.account(step.last, at, step.now.at, false, step.scene);
                        on
                    });
                    let on = if ends.between[0] == ends.between[1] { first } else { first.or(last) };
                    arrivals.push(Arrival { on, between: ends.between, as_off });
                    is_over |= ends.is_certain;
                    if ends.is_certain {
                        self.turned[0] = Some(ends.between[1]);
                    }
                }
            }
            if !is_over {
                step.stay_off(&mut off);
                stay.push(off);
            }
        }
        (stay, arrivals, broken_off)
    }

    /// Brings an observation up to the new value; when it ends on the way.
    pub(super) fn look(&self, observation: &mut Observation, relay: Option<usize>, could: [Micros; 2], step: &Step<'_>) -> Option<Ends> {
        let [was_inside, is_inside] = [step.last, step.now].map(|sample| step.scene.is_inside(relay, sample));
        let before = *observation;
        observation.look(was_inside, is_inside, step.now.at, step.last.at, could);
        // one that is broken off at the new value may have ended before it
        let of = if is_inside == Some(false) { before } else { *observation };
        of.ends(step.scene.wait(relay), step.between(), is_inside, self.free(relay, step))
    }

    /// None connects onto a stage that stands: from when on none provably does, and from when on none may.
    pub(super) fn free(&self, relay: Option<usize>, step: &Step<'_>) -> [Option<Micros>; 2] {
        let mut free = [Some(step.last.at); 2];
        let stages = step.scene.protection.stages.iter().zip(&self.conditions).zip(step.scene.means);
        for ((_, condition), mean) in stages.filter(|((stage, _), _)| stage.relay == relay) {
            let Some(mean) = mean else {
                free[0] = free[0].filter(|_| !condition.stands());
                free[1] = free[1].filter(|_| !condition.may_stand());
                continue;
            };
            for run in mean.runs() {
                let goes_on = run.to == step.now.at && mean.is_above();
                let end = (!goes_on).then_some(run.to);
                if mean.proves && run.from <= step.last.at {
                    free[0] = free[0].zip(end).map(|(free, end)| free.max(end));
                }
                free[1] = free[1].zip(end).map(|(free, end)| free.max(end));
            }
        }
        free
    }

    /// Those that left in this step while voltage and frequency are inside observe at once, and where values
    /// lie far apart come back before the next.
    pub(super) fn observe_at_once(&mut self, step: &Step<'_>, stay: &mut Vec<Off>, all_along: Option<&Bounds>, was_on: bool) {
        if !stay.iter().any(|off| off.may_observe_at_once(step.last.at)) {
            return;
        }
        let mut back: Vec<(On, [Micros; 2])> = Vec::new();
        let mut kept = Vec::new();
        for mut off in std::mem::take(stay) {
            if !off.may_observe_at_once(step.last.at) {
                kept.push(off);
                continue;
            }
            let could = off.free.map(|at| at.clamp(step.last.at, step.now.at));
            let mut observation = off.observation;
            let ends = self.look(&mut observation, None, could, step);
            off.observation = observation;
            if let Some(ends) = ends {
                // between one that stayed off until now and one that gave all the while
                let energy = all_along.map_or_else(|| off.energy.clone(), |energy| off.energy.clone().or(energy).leaving_as(&off.energy));
                back.push((On::since(ends.between, energy), ends.between));
                if ends.is_certain {
                    continue;
                }
            }
            kept.push(off);
        }
        *stay = kept;
        for (on, between) in back {
            self.story.connects(between, !was_on);
            self.on = Some(match self.on.take() {
                Some(other) => other.or(on),
                None => on,
            });
        }
    }
}
