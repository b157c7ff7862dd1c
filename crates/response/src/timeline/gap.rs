//! What lawful devices may have done while the log says nothing: left if a stage fits in, come back if an
//! observation does.

use super::Micros;
use super::condition::Condition;
use super::energy::Cause;
use super::observation::Observation;
use super::off::{Off, joined};
use super::on::On;
use super::states::{Scene, States};

impl States {
    /// The log says nothing between two moments.
    pub fn pass_over(&mut self, from: Micros, until: Micros, scene: &Scene<'_>) {
        let relays = scene.protection.relays.len();
        let own = self.may_leave_from(None, from, scene).filter(|left| *left < until);
        let by_relay: Vec<Option<Micros>> =
            (0..relays).map(|relay| self.may_leave_from(Some(relay), from, scene).filter(|left| *left < until)).collect();
        let mut off: Vec<Off> = std::mem::take(&mut self.off).into_iter().map(|off| widened(off, from)).collect();
        if let Some(on) = self.on.as_mut() {
            on.forget();
            let first = own.into_iter().chain(by_relay.iter().copied().flatten()).min();
            if let Some(first) = first {
                self.story.left_unseen([first, until]);
            }
            let left = |at: Micros| Off {
                observation: Observation { earliest: Some(at), latest: None },
                ..Off::left([at, until], relays, vec![Cause::Gap], on.energy.clone())
            };
            off.extend(own.map(left));
            for (relay, opened) in by_relay.iter().enumerate() {
                off.extend(opened.map(|at| left(at).behind(relay, Observation { earliest: Some(at), latest: None })));
            }
        }
        // a relay may have opened before those that were off
        for (relay, opened) in by_relay.iter().enumerate() {
            let Some(at) = *opened else { continue };
            let behind: Vec<Off> = off
                .iter()
                .filter(|off| off.relays[relay].is_none())
                .map(|off| off.clone().behind(relay, Observation { earliest: Some(at), latest: None }))
                .collect();
            off.extend(behind);
        }
        let was_on = self.on.is_some();
        let back = self.come_back_in_a_gap(off, [from, until], scene);
        self.conditions.fill(Condition::default());
        if let Some(back) = back {
            self.leave_again(back, until, was_on, scene);
        }
    }

    /// One that came back in a gap may have left again in it.
    fn leave_again(&mut self, back: Micros, until: Micros, is_told: bool, scene: &Scene<'_>) {
        let Some(on) = &self.on else { return };
        let mut first = None;
        for relay in std::iter::once(None).chain((0..scene.protection.relays.len()).map(Some)) {
            let Some(at) = self.may_leave_from(relay, back, scene).filter(|left| *left < until) else { continue };
            first = Some(first.map_or(at, |first: Micros| first.min(at)));
            let observation = Observation { earliest: Some(at), latest: None };
            let left = Off::left([at, until], scene.protection.relays.len(), vec![Cause::Gap], on.energy.clone());
            // a gap counts once
            let left = if is_told { Off { energy: on.energy.clone(), ..left } } else { left };
            self.off.push(match relay {
                Some(relay) => left.behind(relay, observation),
                None => Off { observation, ..left },
            });
        }
        self.off = joined(std::mem::take(&mut self.off));
        if let Some(first) = first.filter(|_| !is_told) {
            self.story.left_unseen([first, until]);
        }
    }

    /// From when on a stage of the device, or of a relay, may have tripped.
    fn may_leave_from(&self, relay: Option<usize>, from: Micros, scene: &Scene<'_>) -> Option<Micros> {
        let own = scene.protection.stages.iter().zip(&self.conditions).filter(|(stage, _)| stage.relay == relay);
        own.map(|(stage, condition)| condition.since().unwrap_or(from).saturating_add(stage.least).max(from)).min()
    }

    /// When the first of those off may have come back in a gap, where any may.
    fn come_back_in_a_gap(&mut self, off: Vec<Off>, [from, until]: [Micros; 2], scene: &Scene<'_>) -> Option<Micros> {
        let (mut queue, mut stay, mut first) = (off, Vec::new(), None);
        while let Some(off) = queue.pop() {
            for (relay, held) in scene.protection.relays.iter().enumerate() {
                let closes =
                    off.relays[relay].and_then(|observation| observation.earliest).map(|at| at.saturating_add(held.reconnection.wait()[0]));
                if let Some(at) = closes.map(|at| at.max(from)).filter(|at| *at <= until) {
                    let mut closed = off.clone();
                    closed.relays[relay] = None;
                    closed.observation = Observation { earliest: Some(at), latest: None };
                    closed.free = [at, until];
                    queue.push(closed);
                }
            }
            let due = off.observation.earliest.filter(|_| off.may_come_back());
            let due = due.map(|at| at.saturating_add(scene.protection.reconnection.wait()[0]).max(from)).filter(|at| *at <= until);
            if let Some(at) = due {
                first = Some(first.map_or(at, |first: Micros| first.min(at)));
                self.story.connects([at, until], self.on.is_none());
                let on = On::since([at, until], off.energy.clone());
                self.on = Some(match self.on.take() {
                    Some(other) => other.or(on),
                    None => on,
                });
            }
            stay.push(off);
        }
        self.off = joined(stay);
        first
    }
}

/// One that was off: it may have begun to observe, or had to begin again.
fn widened(mut off: Off, from: Micros) -> Off {
    let widen = |observation: &mut Observation| {
        observation.earliest.get_or_insert(from);
        observation.latest = None;
    };
    off.relays.iter_mut().flatten().for_each(widen);
    if off.may_come_back() {
        widen(&mut off.observation);
    }
    off
}
