//! The same sites by a second method: currents by sweeping to and fro over the cables, answers by a plain
//! table of rules. It shares no line with the program.

use super::drawn::{Points, Reactive, Site, Unit};

type Complex = [f64; 2];

fn times([a, b]: Complex, [c, d]: Complex) -> Complex {
    [a * c - b * d, a * d + b * c]
}

fn plus([a, b]: Complex, [c, d]: Complex) -> Complex {
    [a + c, b + d]
}

/// Where a phase points.
fn towards(phase: usize) -> Complex {
    let angle = -2.0 * std::f64::consts::PI / 3.0 * phase as f64;
    [angle.cos(), angle.sin()]
}

impl Site {
    /// Voltages at the terminals of each with these powers: of three phases the highest. `None` where the
    /// sweeps come to no end.
    pub fn swept(&self, supply: f64, powers: &[[f64; 2]]) -> Option<Vec<f64>> {
        let mut voltages: Vec<[Complex; 3]> = vec![[0, 1, 2].map(|phase| towards(phase).map(|part| part * supply)); powers.len()];
        for _ in 0..20_000 {
            let currents: Vec<[Complex; 3]> = (0..powers.len()).map(|n| self.currents(n, powers[n], &voltages[n])).collect();
            let all = |phase: usize| currents.iter().fold([0.0; 2], |sum, each| plus(sum, each[phase]));
            let back = |of: [Complex; 3]| if self.phases == 1 { of[0] } else { plus(plus(of[0], of[1]), of[2]) };
            let shared = [all(0), all(1), all(2)];
            let next: Vec<[Complex; 3]> = (0..powers.len())
                .map(|n| {
                    [0, 1, 2].map(|phase| {
                        let source = towards(phase).map(|part| part * supply);
                        let along = times(self.shared, plus(shared[phase], back(shared)));
                        plus(source, plus(along, times(self.units[n].cable, plus(currents[n][phase], back(currents[n])))))
                    })
                })
                .collect();
            let moved = next.iter().flatten().flatten().zip(voltages.iter().flatten().flatten()).map(|(one, other)| (one - other).abs());
            let most = moved.fold(0.0, f64::max);
            voltages = next;
            if most < 1e-10 {
                let length = |[a, b]: Complex| a.hypot(b);
                let watched = |n: usize| match self.units[n].phase {
                    Some(phase) => length(voltages[n][phase]),
                    None => voltages[n].iter().map(|voltage| length(*voltage)).fold(0.0, f64::max),
                };
                return Some((0..powers.len()).map(watched).collect());
            }
        }
        None
    }

    /// The currents of one: on its phase, or three alike by the part of its voltages that turns as the supply.
    fn currents(&self, n: usize, [active, reactive]: [f64; 2], voltages: &[Complex; 3]) -> [Complex; 3] {
        // (P − jQ) over the voltage's conjugate
        let of = |[a, b]: Complex, share: f64| times([active * share, -reactive * share], [a / (a * a + b * b), b / (a * a + b * b)]);
        match self.units[n].phase {
            Some(phase) => {
                let mut currents = [[0.0; 2]; 3];
                currents[phase] = of(voltages[phase], 1.0);
                currents
            }
            None => {
                let turned = (0..3).map(|phase| times(voltages[phase], [towards(phase)[0], -towards(phase)[1]]));
                let sequence = turned.fold([0.0; 2], plus).map(|part| part / 3.0);
                [0, 1, 2].map(|phase| times(of(sequence, 1.0 / 3.0), towards(phase)))
            }
        }
    }
}

fn level(points: &Points, at: f64) -> f64 {
    let Some(next) = points.iter().position(|[x, _]| *x > at) else { return points[points.len() - 1][1] };
    if next == 0 {
        return points[0][1];
    }
    let ([x0, y0], [x1, y1]) = (points[next - 1], points[next]);
    y0 + (at - x0) / (x1 - x0) * (y1 - y0)
}

impl Unit {
    /// What it gives at a voltage; `acts` where its reactive power locks in, and does.
    pub fn answer(&self, voltage: f64, available: f64, limit: Option<f64>, acts: Option<bool>) -> [f64; 2] {
        let mut active = available.min(self.apparent).min(limit.unwrap_or(f64::INFINITY));
        if let Some(points) = &self.volt_watt {
            let cap = level(points, voltage) / 100.0 * self.apparent;
            active = active.min(if self.stores { cap } else { cap.max(0.0) });
        }
        let asked = |active: f64| match &self.reactive {
            _ if acts == Some(false) => 0.0,
            Reactive::None => 0.0,
            Reactive::VoltVar(points) => level(points, voltage) / 100.0 * self.apparent,
            Reactive::Fixed(factor) => -active.abs() * (1.0 - factor * factor).sqrt() / factor,
            Reactive::ByPower(points, _) => {
                let factor = level(points, active / self.apparent * 100.0);
                -active.abs() * (1.0 - factor * factor).sqrt() / factor
            }
        };
        let reactive = asked(active);
        if active.hypot(reactive) <= self.apparent {
            return [active, reactive];
        }
        if self.active_first {
            return [active, (self.apparent * self.apparent - active * active).max(0.0).sqrt().copysign(reactive)];
        }
        if let Reactive::VoltVar(_) = self.reactive {
            return [(self.apparent * self.apparent - reactive * reactive).sqrt().copysign(active), reactive];
        }
        let (mut fits, mut passes) = (0.0, active);
        for _ in 0..200 {
            let middle = (fits + passes) / 2.0;
            if middle.hypot(asked(middle)) <= self.apparent { fits = middle } else { passes = middle }
        }
        [fits, asked(fits)]
    }
}
