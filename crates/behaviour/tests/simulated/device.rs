//! A device that acts as it is set, or otherwise, and the meter that reads it.

use super::Like;
use super::chance::Chance;
use super::course::Course;
use behaviour::accuracy::Accuracy;
use logs::Row;
use response::device::{Device, ReactiveMode};
use response::line::Line;
use response::operating_point::Conditions;
use settings_model::exact::Exact;

/// What is wrong with a device.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Fault {
    None,
    /// Its reactive mode does not act.
    ReactiveOff,
    /// It supplies where it should absorb.
    ReactiveReversed,
    /// It gives half the vars.
    ReactiveHalf,
    /// It follows another region's volt-var curve.
    OtherCurve,
    /// Volt-watt does not act.
    CapOff,
    /// Its cap lies higher by this share of its rating.
    CapHigher(f64),
    /// It gives more than its limit by this share of it.
    LimitHigher(f64),
}

pub struct Simulated {
    pub device: Device,
    course: Course,
}

fn line(points: &[(&str, &str)], scale: f64) -> Line {
    let exact = |text: &&str| Exact::parse(text).unwrap();
    Line::of(&points.iter().map(|(x, y)| (exact(x), exact(y))).collect(), scale).unwrap()
}

/// Curves of AS/NZS 4777.2:2020, regions A and B, and one that is invented, with a smaller reach.
const VOLT_VAR: [[(&str, &str); 4]; 3] = [
    [("207", "44"), ("220", "0"), ("240", "0"), ("258", "-60")],
    [("205", "30"), ("220", "0"), ("235", "0"), ("255", "-40")],
    [("210", "20"), ("222", "0"), ("238", "0"), ("250", "-25")],
];

impl Simulated {
    pub fn draw(chance: &mut Chance, _: Like) -> Self {
        let rated = *chance.one_of(&[3_000.0, 5_000.0, 10_000.0]);
        let curve = *chance.one_of(&VOLT_VAR);
        let reactive = match *chance.one_of(&[0, 0, 0, 1, 2]) {
            0 => ReactiveMode::VoltVar(line(&curve, rated / 100.0)),
            1 => ReactiveMode::PowerFactor(*chance.one_of(&[0.8, 0.9, 0.95]), *chance.one_of(&[-1.0, 1.0])),
            _ => ReactiveMode::Fixed(rated * *chance.one_of(&[-0.3, 0.2])),
        };
        let cap = line(&[("253", "100"), ("260", "20")], rated / 100.0);
        let limit = chance.flips().then(|| rated * chance.between(0.5, 0.85));
        let device = Device { reactive, volt_watt: Some(cap), generation_limit: limit, ..Device::bare(rated) };
        Self { device, course: Course::draw(chance) }
    }

    pub fn told(&self) -> String {
        self.course.told()
    }

    /// The log of a meter whose readings lie within its limits, of a device whose answers lie within tolerance.
    pub fn log(
        mut self,
        chance: &mut Chance,
        like: Like,
        fault: Fault,
        accuracy: &Accuracy,
        resolution: [f64; 3],
        tolerance: f64,
    ) -> Vec<Row> {
        let meter = Meter::draw(chance, accuracy, resolution);
        let inner = if like.step == 1 { 1.0 } else { 10.0 };
        let acts = Acting { gain: chance.between(0.85, 1.0) * tolerance, lag: chance.between(0.5, 4.0), fault };
        let sides = [chance.between(-1.0, 1.0), chance.between(-1.0, 1.0)];
        let (from, to) = if like.step == 1 { (10 * 3600, 13 * 3600) } else { (0, like.days * 86_400) };
        let (mut rows, mut now, mut sums, mut count) = (Vec::new(), [0.0; 2], [0.0; 4], 0.0);
        let mut at = from as f64;
        while at < to as f64 {
            let (supply, sun) = self.course.next(at, inner, chance);
            let rated = self.device.ratings.apparent;
            let volts = supply + self.course.rise() * now[0] / rated - 0.3 * self.course.rise() * (-now[1]).max(0.0) / rated;
            let wanted = acts.asked(&self.device, volts, sun * rated, sides);
            let keep = if inner > acts.lag * 3.0 { 0.0 } else { (-inner / acts.lag).exp() };
            for (now, wanted) in now.iter_mut().zip(wanted) {
                *now = wanted + (*now - wanted) * keep;
            }
            for (sum, value) in sums.iter_mut().zip([volts, now[0], now[1], sun * rated]) {
                *sum += value;
            }
            count += 1.0;
            at += inner;
            if (at as i64 - from) % like.step == 0 {
                let row = meter.reads(sums.map(|sum| sum / count), chance);
                rows.push(row_of((at as i64 - like.step) * 1_000_000, row, like.has_available));
                (sums, count) = ([0.0; 4], 0.0);
            }
        }
        with_gaps(rows, chance)
    }
}

fn row_of(at: i64, [volts, watts, vars, available]: [f64; 4], has_available: bool) -> Row {
    let none = f64::NAN;
    Row { at, values: [volts, none, none, none, watts, vars, if has_available { available } else { none }, none] }
}

/// Some rows are missing, as in any log.
fn with_gaps(rows: Vec<Row>, chance: &mut Chance) -> Vec<Row> {
    let often = *chance.one_of(&[0.0, 0.002, 0.02]);
    rows.into_iter().filter(|_| chance.share() >= often).collect()
}

struct Acting {
    gain: f64,
    lag: f64,
    fault: Fault,
}

impl Acting {
    /// Watts and vars that it settles at; `sides` is where within its tolerance it lies.
    fn asked(&self, device: &Device, volts: f64, available: f64, sides: [f64; 2]) -> [f64; 2] {
        let mut device = device.clone();
        let rated = device.ratings.apparent;
        match self.fault {
            Fault::ReactiveOff => device.reactive = ReactiveMode::Unity,
            Fault::OtherCurve => {
                device.reactive = ReactiveMode::VoltVar(line(&[("207", "44"), ("216", "0"), ("250", "0"), ("266", "-60")], rated / 100.0));
            }
            Fault::CapOff => device.volt_watt = None,
            Fault::CapHigher(share) => {
                let percent = |level: f64| format!("{:.2}", (level + 100.0 * share).min(100.0));
                let (top, end) = (253.0 + 7.0 * share / 0.8, percent(20.0));
                device.volt_watt = Some(line(&[(&format!("{top:.3}"), "100"), ("260", &end)], rated / 100.0));
            }
            Fault::LimitHigher(share) => device.generation_limit = device.generation_limit.map(|limit| limit * (1.0 + share)),
            _ => {}
        }
        let point = device.at(&Conditions { voltage: volts, frequency: 50.0, available, load: 0.0 });
        let vars = point.reactive
            * match self.fault {
                Fault::ReactiveReversed => -1.0,
                Fault::ReactiveHalf => 0.5,
                _ => 1.0,
            };
        let is_off = point.active < 0.01 * rated;
        // a device whose reactive mode is off has no vars to be off by
        let side = if self.fault == Fault::ReactiveOff { 0.0 } else { sides[1] * self.gain };
        if is_off { [0.0, 0.0] } else { [(point.active + sides[0] * self.gain).clamp(0.0, available.max(0.0)), vars + side] }
    }
}

struct Meter {
    /// Constant, in volts, watts and vars.
    offsets: [f64; 3],
    /// What is left of its limits for noise.
    noise: [f64; 3],
    resolution: [f64; 3],
}

impl Meter {
    fn draw(chance: &mut Chance, accuracy: &Accuracy, resolution: [f64; 3]) -> Self {
        let limits = [accuracy.volts, accuracy.watts, accuracy.vars];
        let offsets = limits.map(|limit| limit * chance.between(-1.0, 1.0));
        let noise = [0, 1, 2].map(|n| ((limits[n] - offsets[n].abs()) / 3.0).min(limits[n] * 0.1));
        Self { offsets, noise, resolution }
    }

    fn reads(&self, [volts, watts, vars, available]: [f64; 4], chance: &mut Chance) -> [f64; 4] {
        let mut read = |n: usize, value: f64| {
            let value = value + self.offsets[n] + self.noise[n] * chance.normal();
            let step = self.resolution[n];
            if step > 0.0 { (value / step).round() * step } else { value }
        };
        [read(0, volts), read(1, watts), read(2, vars), available]
    }
}
