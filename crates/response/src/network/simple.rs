//! The simple method of the trade: current times length times the table's millivolts, cable by cable.
//!
//! The current is fixed at the terminals, in phase with the voltage; the phases stand exactly a third
//! of a period apart. A table's three-phase figure is √3 times the impedance of one conductor, its
//! single-phase figure twice that, so that 1.155 between the two is 2/√3.

use super::{Feeds, Network, current_in, direction, neutral_current, phases};
use num_complex::Complex64;

impl Network {
    /// How far the voltage between phase and neutral rises along each cable on the way to an inverter,
    /// in volts, with the current of each inverter in amperes (of one line, for three phases).
    ///
    /// Of a three-phase inverter, on the phase that rises most. Where a cable's reactance is stated it
    /// counts in full, as in tables of the greatest drop.
    #[must_use]
    pub fn simple_rise(&self, inverter: usize, currents: &[f64]) -> Vec<(usize, f64)> {
        let placed = &self.inverters[inverter];
        let along = |phase: usize| -> Vec<(usize, f64)> {
            self.path(placed.cable).into_iter().map(|cable| (cable, self.rise_along(cable, phase, currents))).collect()
        };
        let total = |rises: &Vec<(usize, f64)>| rises.iter().map(|(_, volts)| volts).sum::<f64>();
        phases(placed.feeds).map(along).max_by(|one, other| total(one).total_cmp(&total(other))).unwrap_or_default()
    }

    /// Current of one phase through a cable, in amperes, by the same method.
    #[must_use]
    pub fn simple_current(&self, cable: usize, phase: usize, currents: &[f64]) -> f64 {
        self.through(cable, currents).map(|(feeds, current)| current_in(feeds, phase, current).norm()).sum()
    }

    fn rise_along(&self, cable: usize, phase: usize, currents: &[f64]) -> f64 {
        let towards = direction(phase);
        let (mut line, mut neutral) = (Complex64::ZERO, Complex64::ZERO);
        for (feeds, current) in self.through(cable, currents) {
            line += current_in(feeds, phase, current);
            neutral += neutral_current(feeds, current);
        }
        let along = |current: Complex64| (current * towards.conj()).re;
        let cable = &self.cables[cable];
        along(line) * cable.line.complex().norm() + along(neutral) * cable.neutral.complex().norm()
    }

    /// The inverters behind a cable, each with its current in its first phase.
    fn through(&self, cable: usize, currents: &[f64]) -> impl Iterator<Item = (Feeds, Complex64)> {
        let behind = self.inverters.iter().zip(currents).filter(move |(placed, _)| self.path(placed.cable).contains(&cable));
        behind.map(|(placed, current)| {
            let first = phases(placed.feeds).start;
            (placed.feeds, direction(first) * *current)
        })
    }
}
