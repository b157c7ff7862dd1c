//! The simple method of the trade: current times length times the table's millivolts, cable by cable.
//!
//! The current is fixed at the terminals, and by the tables in phase with the voltage; the phases stand exactly a third
//! of a period apart. A table's three-phase figure is √3 times the impedance of one conductor, its
//! single-phase figure twice that, so that 1.155 between the two is 2/√3.

use super::{Feeds, Impedance, Network, current_in, direction, neutral_current, phases};
use num_complex::Complex64;

impl Network {
    /// How far the voltage between phase and neutral rises along each cable on the way to an inverter,
    /// in volts, with the current of each inverter in amperes (of one line, for three phases).
    ///
    /// Of a three-phase inverter, on the phase that rises most. Where a cable's reactance is stated the
    /// whole impedance counts, |Z|, as in tables of the greatest drop.
    #[must_use]
    pub fn simple_rise(&self, inverter: usize, currents: &[f64]) -> Vec<(usize, f64)> {
        let in_phase: Vec<Complex64> = currents.iter().map(|current| Complex64::from(*current)).collect();
        self.rise(inverter, &in_phase, &|impedance| Complex64::from(impedance.complex().norm()))
    }

    /// The same with resistance and reactance each for itself, R cos φ + X sin φ: a current is told by its
    /// parts in phase with the voltage and, above zero, ahead of it.
    #[must_use]
    pub fn rise_by_parts(&self, inverter: usize, currents: &[[f64; 2]]) -> Vec<(usize, f64)> {
        let currents: Vec<Complex64> = currents.iter().map(|[in_phase, ahead]| Complex64::new(*in_phase, *ahead)).collect();
        self.rise(inverter, &currents, &Impedance::complex)
    }

    fn rise(&self, inverter: usize, currents: &[Complex64], counted: &dyn Fn(Impedance) -> Complex64) -> Vec<(usize, f64)> {
        let placed = &self.inverters[inverter];
        let along = |phase: usize| -> Vec<(usize, f64)> {
            self.path(placed.cable).into_iter().map(|cable| (cable, self.rise_along(cable, phase, currents, counted))).collect()
        };
        let total = |rises: &Vec<(usize, f64)>| rises.iter().map(|(_, volts)| volts).sum::<f64>();
        phases(placed.feeds).map(along).max_by(|one, other| total(one).total_cmp(&total(other))).unwrap_or_default()
    }

    /// Current of one phase through a cable, in amperes, by the same method.
    #[must_use]
    pub fn simple_current(&self, cable: usize, phase: usize, currents: &[f64]) -> f64 {
        let currents: Vec<Complex64> = currents.iter().map(|current| Complex64::from(*current)).collect();
        self.through(cable, &currents).map(|(feeds, current)| current_in(feeds, phase, current).norm()).sum()
    }

    fn rise_along(&self, cable: usize, phase: usize, currents: &[Complex64], counted: &dyn Fn(Impedance) -> Complex64) -> f64 {
        let towards = direction(phase);
        let (mut line, mut neutral) = (Complex64::ZERO, Complex64::ZERO);
        for (feeds, current) in self.through(cable, currents) {
            line += current_in(feeds, phase, current);
            neutral += neutral_current(feeds, current);
        }
        let cable = &self.cables[cable];
        ((line * counted(cable.line) + neutral * counted(cable.neutral)) * towards.conj()).re
    }

    /// The inverters behind a cable, each with its current in its first phase.
    fn through(&self, cable: usize, currents: &[Complex64]) -> impl Iterator<Item = (Feeds, Complex64)> {
        let behind = self.inverters.iter().zip(currents).filter(move |(placed, _)| self.path(placed.cable).contains(&cable));
        behind.map(|(placed, current)| {
            let first = phases(placed.feeds).start;
            (placed.feeds, direction(first) * *current)
        })
    }
}
