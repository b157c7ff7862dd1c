//! Inverters behind cables that some of them share, on one phase or on three.
//!
//! Cables form a tree from the point of supply inwards. A current returns through the neutral of
//! every cable that it comes through, unless the currents of the other phases cancel it there: a
//! single-phase inverter alone sees the conductor out and back, three alike on three phases see one
//! conductor each. Coupling between conductors is left out.

pub mod simple;

mod export;
pub mod settle;

use crate::device::Device;
use num_complex::Complex64;
use std::f64::consts::TAU;

/// Impedance of one conductor over its whole length, in ohms.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Impedance {
    /// In ohms.
    pub resistance: f64,
    /// In ohms.
    pub reactance: f64,
}

impl Impedance {
    fn complex(self) -> Complex64 {
        Complex64::new(self.resistance, self.reactance)
    }
}

/// A length of cable.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Cable {
    /// The cable that it is fed through, by its position; none begins at the point of supply.
    pub behind: Option<usize>,
    /// Of a line conductor.
    pub line: Impedance,
    /// Of the neutral.
    pub neutral: Impedance,
}

/// Onto which phases an inverter feeds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Feeds {
    /// One, counted from 0.
    One(usize),
    /// All three, with equal currents.
    Three,
}

/// An inverter and where it sits.
#[derive(Clone, Debug)]
pub struct Placed {
    /// What it does.
    pub device: Device,
    /// The cable at whose end it is; none for the point of supply itself.
    pub cable: Option<usize>,
    /// Onto which phases it feeds.
    pub feeds: Feeds,
}

/// What lies behind a point of supply.
#[derive(Clone, Debug, Default)]
pub struct Network {
    /// Cables, each behind another or at the point of supply; never behind itself.
    pub cables: Vec<Cable>,
    /// Inverters.
    pub inverters: Vec<Placed>,
}

/// Unit vector of a phase, counted from 0: each follows the one before by a third of a period.
fn direction(phase: usize) -> Complex64 {
    Complex64::from_polar(1.0, -TAU / 3.0 * phase as f64)
}

/// The phases that an inverter feeds.
fn phases(feeds: Feeds) -> std::ops::Range<usize> {
    match feeds {
        Feeds::One(phase) => phase..phase + 1,
        Feeds::Three => 0..3,
    }
}

/// The current that an inverter puts into a phase, of what it puts into its first.
fn current_in(feeds: Feeds, phase: usize, current: Complex64) -> Complex64 {
    match feeds {
        Feeds::One(own) if own == phase => current,
        Feeds::One(_) => Complex64::ZERO,
        Feeds::Three => current * direction(phase),
    }
}

/// What comes back through the neutral.
fn neutral_current(feeds: Feeds, current: Complex64) -> Complex64 {
    match feeds {
        Feeds::One(_) => current,
        Feeds::Three => Complex64::ZERO,
    }
}

impl Network {
    /// The cables from the point of supply to the end of this one, in that order.
    #[must_use]
    pub fn path(&self, to: Option<usize>) -> Vec<usize> {
        let mut path = Vec::new();
        let mut next = to;
        // no path is longer than all cables, even where a caller made a ring
        while let Some(cable) = next.filter(|_| path.len() < self.cables.len()) {
            path.push(cable);
            next = self.cables[cable].behind;
        }
        path.reverse();
        path
    }

    /// What a place shares with each inverter.
    fn shared_with_each(&self, place: Option<usize>) -> Vec<Shared> {
        let own = self.path(place);
        let each = self.inverters.iter().map(|placed| {
            let common = own.iter().zip(self.path(placed.cable)).take_while(|(one, other)| **one == *other);
            common.fold(Shared::default(), |sum, (cable, _)| Shared {
                line: sum.line + self.cables[*cable].line.complex(),
                neutral: sum.neutral + self.cables[*cable].neutral.complex(),
            })
        });
        each.collect()
    }

    /// Voltage between a phase and the neutral, with the current that each inverter puts into its first
    /// phase and the impedance that it shares with it.
    fn voltage(&self, shared: &[Shared], phase: usize, supply: f64, currents: &[Complex64]) -> Complex64 {
        let each = self.inverters.iter().zip(currents).zip(shared);
        each.fold(direction(phase) * supply, |voltage, ((placed, current), shared)| {
            let line = shared.line * current_in(placed.feeds, phase, *current);
            voltage + line + shared.neutral * neutral_current(placed.feeds, *current)
        })
    }
}

/// Impedance that two places have in common, in ohms.
#[derive(Clone, Copy, Default)]
struct Shared {
    line: Complex64,
    neutral: Complex64,
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_phase_sees_the_conductor_out_and_back_and_three_alike_see_it_once() {
        let ohm = Impedance { resistance: 0.5, reactance: 0.0 };
        let cable = Cable { behind: None, line: ohm, neutral: ohm };
        let device = crate::device::Device::bare(5000.0);
        let on = |phase| Placed { device: device.clone(), cable: Some(0), feeds: Feeds::One(phase) };
        let mut network = Network { cables: vec![cable], inverters: vec![on(0)] };
        let volts = |network: &Network, phase, currents: &[Complex64]| {
            network.voltage(&network.shared_with_each(Some(0)), phase, 230.0, currents).norm()
        };
        let ten = |phase| direction(phase) * 10.0;
        assert!((volts(&network, 0, &[ten(0)]) - 240.0).abs() < 1e-12);
        // the others are moved by what comes back through the neutral
        assert!(volts(&network, 1, &[ten(0)]) < 230.0);
        network.inverters.extend([on(1), on(2)]);
        let all = [ten(0), ten(1), ten(2)];
        for phase in 0..3 {
            assert!((volts(&network, phase, &all) - 235.0).abs() < 1e-12);
        }
        let three = Network { inverters: vec![Placed { device, cable: Some(0), feeds: Feeds::Three }], ..network };
        assert!((volts(&three, 2, &[ten(0)]) - 235.0).abs() < 1e-12);
    }
}
