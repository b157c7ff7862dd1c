//! Where the answers of all inverters meet what their cables carry.
//!
//! One after another, each is settled by bracketing against what the currents of the others leave it
//! (Gauss–Seidel): that copes with every step and slope of a curve, and where inverters share much
//! impedance it comes on slowly. So after a few rounds all are settled at once by Newton's method from
//! there; where that fails, a few rounds more. On one phase and with resistance alone the rounds go
//! downhill on a convex function; with reactance, and through a neutral, it is tried on random sites.

use super::linear::solved;
use super::{Coupling, Feeds, Network, STEP, Settlement, SupplyConditions, Terminals, direction, phases};
use crate::operating_point::{Conditions, OperatingPoint};
use crate::supply::{Meeting, NoPoint, Settled, Supply};
use num_complex::Complex64;

/// How often all at once is tried: of few inverters, and at the least of many, for which each try costs
/// the square of their number.
const TRIES: [usize; 2] = [40, 8];
/// Inverters that are still few.
const FEW: usize = 4;
/// Rounds before each.
const ROUNDS: usize = 6;
/// How often the stride is halved on the way with which each inverter goes towards where it would
/// settle: through a neutral, inverters of different phases can chase one another round.
const STRIDES: usize = 5;
/// A round that moves no terminal by more, in volts, is the last.
const STILL: f64 = 1e-9;
/// Steps of Newton's method, and how often one is halved that leads away.
const STEPS: usize = 20;
const HALVINGS: usize = 6;
/// How far beside a step it is looked on for what does not rest at it, in volts.
const ASIDE: f64 = 1e-5;
/// What Newton's method may leave of the equations, in volts.
const LEFT: f64 = 1e-10;
/// Iterations in which currents of fixed powers have to be found.
const FLOWS: usize = 80;

/// Inverters, and what they meet.
pub struct Balance<'n> {
    network: &'n Network,
    supply: SupplyConditions,
    available: Vec<f64>,
    acts: Vec<Option<bool>>,
    coupling: Coupling,
}

/// Where all answers met.
pub struct Balanced<'n> {
    of: Balance<'n>,
    currents: Vec<Complex64>,
    met: Vec<Met>,
}

/// Where one answer met what the others leave it.
#[derive(Clone, Copy)]
struct Met {
    /// What was met there: voltage, and what is given.
    meeting: Meeting,
    /// How far the voltage that it watches lies above that, in volts.
    above: f64,
}

impl<'n> Balance<'n> {
    /// Nothing flows yet.
    pub fn new(network: &'n Network, supply: SupplyConditions, available: &[f64], acts: &[Option<bool>]) -> Self {
        let coupling = network.inverters.iter().map(|placed| network.shared_with_each(placed.cable)).collect();
        Self { network, supply, available: available.to_vec(), acts: acts.to_vec(), coupling }
    }

    /// Where all answers meet.
    pub fn found(self) -> Result<Balanced<'n>, NoPoint> {
        let mut currents = vec![Complex64::ZERO; self.network.inverters.len()];
        let mut met: Vec<Option<Met>> = vec![None; currents.len()];
        let tries = (TRIES[0] * FEW / currents.len().max(FEW)).max(TRIES[1]);
        for attempt in 0..tries {
            let stride = 0.5_f64.powi((attempt * STRIDES / tries) as i32);
            for _ in 0..ROUNDS {
                if self.round(stride, &mut currents, &mut met)? < STILL {
                    return Ok(Balanced { of: self, currents, met: met.into_iter().flatten().collect() });
                }
            }
            let from: Option<Vec<Met>> = met.iter().copied().collect();
            if from.is_none() && attempt > 0 {
                // the others keep leaving one of them nothing that its cables carry
                return Err(NoPoint::TooWeak);
            }
            if let Some((currents, met)) = from.and_then(|from| self.at_once(&currents, from)) {
                return Ok(Balanced { of: self, currents, met });
            }
        }
        Err(NoPoint::NotFound)
    }

    /// Settles each against the others as they are; by how many volts that moved its terminals at most. One that
    /// they leave too weak a supply stays as it is: they may yet come to leave it more.
    fn round(&self, stride: f64, currents: &mut [Complex64], met: &mut [Option<Met>]) -> Result<f64, NoPoint> {
        let mut moved: f64 = 0.0;
        for inverter in 0..currents.len() {
            let (current, meeting) = match self.met(inverter, currents, met[inverter]) {
                Err(NoPoint::TooWeak) if currents.len() > 1 => {
                    (moved, met[inverter]) = (f64::INFINITY, None);
                    continue;
                }
                found => found?,
            };
            let (own, change) = (self.coupling[inverter][inverter], current - currents[inverter]);
            moved = moved.max(change.norm() * (own.line.norm() + own.neutral.norm()));
            currents[inverter] += change * stride;
            met[inverter] = Some(meeting);
        }
        Ok(moved)
    }

    /// The current that an inverter comes to, with those of the others as they are.
    fn met(&self, inverter: usize, currents: &[Complex64], before: Option<Met>) -> Result<(Complex64, Met), NoPoint> {
        let (seen, turned_by, above) = self.left_by_others(inverter, currents);
        let rating = self.network.inverters[inverter].device.ratings.apparent;
        let before = before.map(|met| met.meeting.voltage);
        let meeting = seen.meet(rating, before, &|voltage| self.answer(inverter, voltage + above))?;
        // with the terminal voltage real, I = (P − jQ)/V; then turned to where the supply really points
        let current = Complex64::new(meeting.point.active, -meeting.point.reactive) / (seen.phases * meeting.voltage);
        let own = Complex64::new(seen.resistance, seen.reactance);
        let turned = turned_by - (Complex64::from(meeting.voltage) - own * current).arg();
        Ok((current * Complex64::from_polar(1.0, turned), Met { meeting, above }))
    }

    /// The supply that the currents of the others leave an inverter, where it points, and how far what the
    /// inverter watches lies above its terminals.
    fn left_by_others(&self, inverter: usize, currents: &[Complex64]) -> (Supply, f64, f64) {
        let feeds = self.network.inverters[inverter].feeds;
        let shared = self.coupling[inverter][inverter];
        let own = if feeds == Feeds::Three { shared.line } else { shared.line + shared.neutral };
        let at_terminals = self.terminals(inverter, currents);
        let behind = at_terminals.sequence - own * currents[inverter];
        let seen = Supply { voltage: behind.norm(), resistance: own.re, reactance: own.im, phases: phases(feeds).len() as f64 };
        (seen, behind.arg(), at_terminals.above)
    }

    fn answer(&self, inverter: usize, voltage: f64) -> OperatingPoint {
        let SupplyConditions { frequency, load, .. } = self.supply;
        let conditions = Conditions { voltage, frequency, available: self.available[inverter], load };
        self.network.inverters[inverter].device.acting_at(&conditions, self.acts[inverter])
    }

    fn terminals(&self, inverter: usize, currents: &[Complex64]) -> Terminals {
        let feeds = self.network.inverters[inverter].feeds;
        let at = |phase| self.network.voltage(&self.coupling[inverter], phase, self.supply.voltage, currents);
        match feeds {
            Feeds::One(phase) => Terminals { sequence: at(phase), above: 0.0 },
            Feeds::Three => {
                let voltages = [at(0), at(1), at(2)];
                let sequence = (0..3).map(|phase| voltages[phase] * direction(phase).conj()).sum::<Complex64>() / 3.0;
                let highest = voltages.iter().map(|voltage| voltage.norm()).fold(0.0, f64::max);
                Terminals { sequence, above: highest - sequence.norm() }
            }
        }
    }

    /// The current with which an inverter gives something at its terminals.
    fn current_of(&self, inverter: usize, point: &OperatingPoint, sequence: Complex64) -> Complex64 {
        let phases = phases(self.network.inverters[inverter].feeds).len() as f64;
        (Complex64::new(point.active, point.reactive) / (sequence * phases)).conj()
    }

    /// Where all meet, by Newton's method: of each inverter the voltage is looked for, or where it is at a
    /// step, what share it gives between the levels of that.
    fn at_once(&self, currents: &[Complex64], mut met: Vec<Met>) -> Option<(Vec<Complex64>, Vec<Met>)> {
        let unknown = |met: &Met| match met.meeting.step {
            None => met.meeting.voltage + met.above,
            Some([from, to]) if from.active == to.active => (met.meeting.point.reactive - from.reactive) / (to.reactive - from.reactive),
            Some([from, to]) => (met.meeting.point.active - from.active) / (to.active - from.active),
        };
        let mut at: Vec<f64> = met.iter().map(unknown).collect();
        let mut flow = self.flow(&met, &at, currents)?;
        for _ in 0..STEPS {
            if flow.left() < LEFT {
                // what would go beyond a level of its step rests beside the step instead
                let beyond = (0..at.len()).find(|n| met[*n].meeting.step.is_some() && !(0.0..=1.0).contains(&at[*n]));
                let Some(beyond) = beyond else {
                    for (n, met) in met.iter_mut().enumerate() {
                        met.meeting.point = self.given(n, met, at[n]);
                    }
                    return Some((flow.currents, met));
                };
                let aside = if at[beyond] > 1.0 { ASIDE } else { -ASIDE };
                at[beyond] = met[beyond].meeting.voltage + met[beyond].above + aside;
                met[beyond].meeting.step = None;
                flow = self.flow(&met, &at, &flow.currents)?;
                continue;
            }
            let missing = flow.missing.iter().map(|missing| -missing).collect();
            let way = solved(self.slopes(&met, &at, &flow.currents), missing)?;
            let along = |share: f64| -> Vec<f64> { at.iter().zip(&way).map(|(at, way)| at + way * share).collect() };
            let nearer = (0..HALVINGS).find_map(|halving| {
                let next = along(0.5_f64.powi(halving as i32));
                self.flow(&met, &next, &flow.currents).filter(|other| other.left() < flow.left()).map(|flow| (next, flow))
            });
            (at, flow) = nearer?;
        }
        None
    }

    /// What an inverter gives at a voltage, or at a share of its step.
    fn given(&self, inverter: usize, met: &Met, at: f64) -> OperatingPoint {
        match &met.meeting.step {
            None => self.answer(inverter, at),
            Some([from, to]) => from.towards(to, at),
        }
    }

    /// The currents with which all give what they would, and by how many volts the terminals miss what
    /// they would give it at; `None` where no such currents are found.
    fn flow(&self, met: &[Met], at: &[f64], from: &[Complex64]) -> Option<Flow> {
        let points: Vec<OperatingPoint> = met.iter().enumerate().map(|(n, met)| self.given(n, met, at[n])).collect();
        let mut currents = from.to_vec();
        for _ in 0..FLOWS {
            let of = |n: usize| self.current_of(n, &points[n], self.terminals(n, &currents).sequence);
            let next: Vec<Complex64> = (0..points.len()).map(of).collect();
            let own = |n: usize| self.coupling[n][n].line.norm() + self.coupling[n][n].neutral.norm();
            let moved = (0..points.len()).map(|n| (next[n] - currents[n]).norm() * own(n)).fold(0.0, f64::max);
            currents = next;
            if moved < LEFT / 100.0 {
                let wanted = |n: usize| if met[n].meeting.step.is_some() { met[n].meeting.voltage + met[n].above } else { at[n] };
                let missing = (0..points.len()).map(|n| self.terminals(n, &currents).watched() - wanted(n)).collect();
                return Some(Flow { currents, missing });
            }
        }
        None
    }

    /// How what is missing at each inverter (row) moves with what is looked for of each (column).
    fn slopes(&self, met: &[Met], at: &[f64], currents: &[Complex64]) -> Vec<Vec<f64>> {
        let count = at.len();
        let mut rows = vec![vec![0.0; count]; count];
        for column in 0..count {
            let is_step = met[column].meeting.step.is_some();
            let width = if is_step { 1e-4 } else { at[column] * 1e-7 };
            let sequence = self.terminals(column, currents).sequence;
            let moved = [width, -width].map(|by| {
                let mut currents = currents.to_vec();
                currents[column] = self.current_of(column, &self.given(column, &met[column], at[column] + by), sequence);
                currents
            });
            for (row, slopes) in rows.iter_mut().enumerate() {
                let [up, down] = [0, 1].map(|way| self.terminals(row, &moved[way]).watched());
                slopes[column] = (up - down) / (2.0 * width) - if row == column && !is_step { 1.0 } else { 0.0 };
            }
        }
        rows
    }
}

/// Currents, and what they leave of the equations.
struct Flow {
    currents: Vec<Complex64>,
    missing: Vec<f64>,
}

impl Flow {
    fn left(&self) -> f64 {
        self.missing.iter().fold(0.0, |most, missing| most.max(missing.abs()))
    }
}

impl Balanced<'_> {
    /// What all give together, in watts.
    pub fn active(&self) -> f64 {
        self.met.iter().map(|met| met.meeting.point.active).sum()
    }

    /// Where every inverter settled.
    ///
    /// # Errors
    /// Where one of them would have to rest at a step.
    pub fn settlement(self) -> Result<Settlement, NoPoint> {
        let steps = self.met.iter().enumerate().filter_map(|(n, met)| Some((n, met, met.meeting.step?)));
        let swings = steps.map(|(n, met, levels)| {
            let (seen, _, above) = self.of.left_by_others(n, &self.currents);
            let mut swing = seen.swing(n, met.meeting.voltage + met.above, levels)?;
            swing.ends.iter_mut().for_each(|end| end.voltage += above);
            Ok(swing)
        });
        let swings = swings.collect::<Result<Vec<_>, NoPoint>>()?;
        if !swings.is_empty() {
            return Err(NoPoint::Swings(swings));
        }
        let inverters = self.settled();
        Ok(Settlement { inverters, supply: self.of.supply.voltage, currents: self.currents })
    }

    fn settled(&self) -> Vec<Settled> {
        let (of, currents) = (&self.of, &self.currents);
        let at: Vec<Terminals> = (0..currents.len()).map(|n| of.terminals(n, currents)).collect();
        let answers = |shift: f64| -> Vec<OperatingPoint> {
            let moved = |(n, at): (usize, &Terminals)| of.answer(n, at.watched() * (1.0 + shift));
            at.iter().enumerate().map(moved).collect()
        };
        let (points, up, down) = (answers(0.0), answers(STEP), answers(-STEP));
        let with = |points: &[OperatingPoint]| -> Vec<Complex64> {
            points.iter().enumerate().map(|(n, point)| of.current_of(n, point, at[n].sequence)).collect()
        };
        let (up, down) = (with(&up), with(&down));
        let gain = |n: usize| {
            let to = |currents: &[Complex64]| of.terminals(n, currents).watched();
            (to(&up) - to(&down)).abs() / (2.0 * STEP * at[n].watched())
        };
        let each = points.into_iter().enumerate();
        let settled = |(n, point): (usize, OperatingPoint)| Settled {
            voltage: at[n].watched(),
            point,
            loop_gain: gain(n),
            current: currents[n].norm(),
            acts: of.acts[n],
        };
        each.map(settled).collect()
    }
}
