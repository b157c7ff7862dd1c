//! Where the sliders stand, and how far they reach.

use super::loaded::Loaded;
use super::server::Request;
use response::operating_point::Conditions;
use settings_model::exact::Exact;
use settings_model::facts::Facts;
use settings_model::quantity::Dimension;

/// Where the sliders stand: read as the command line reads its words, so that both mean the same.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Position {
    /// Volts, line to neutral.
    pub voltage: Exact,
    /// Hertz.
    pub frequency: Exact,
    /// Watts; below zero it would charge.
    pub available: Exact,
}

/// Nobody's network lies beyond: volts, hertz, watts.
const LIMITS: [(Dimension, i64, i64); 3] =
    [(Dimension::Voltage, 0, 2000), (Dimension::Frequency, 1, 100), (Dimension::ActivePower, -100_000_000, 100_000_000)];

impl Position {
    /// Nominal, with as much available as the device is rated for.
    pub fn nominal(loaded: &Loaded) -> Self {
        let nominally = loaded.operating.nominally();
        let number = |of: f64| Exact::nearest(of, 6).unwrap_or_default();
        Self { voltage: loaded.operating.nominal, frequency: number(nominally.frequency), available: number(nominally.available) }
    }

    /// As a request says: `v` in volts, `f` in hertz, `p` in kilowatts; what it leaves out is nominal.
    pub fn of(request: &Request, loaded: &Loaded) -> Result<Self, String> {
        let nominal = Self::nominal(loaded);
        let read = |name: &str, unit: &str, n: usize, otherwise: Exact| -> Result<Exact, String> {
            let Some(text) = request.value(name) else { return Ok(otherwise) };
            let (dimension, low, high) = LIMITS[n];
            let amount = dimension.parse(&format!("{text} {unit}")).map_err(|slip| format!("{}; {}", slip.says, slip.help))?;
            let number = amount.at(&Facts::default()).unwrap_or_default();
            let (low, high) = (Exact::from(low), Exact::from(high));
            match (low..=high).contains(&number) {
                true => Ok(number),
                false => Err(format!("{}: from {} to {}", dimension.name(), dimension.show(low), dimension.show(high))),
            }
        };
        Ok(Self {
            voltage: read("v", "V", 0, nominal.voltage)?,
            frequency: read("f", "Hz", 1, nominal.frequency)?,
            available: read("p", "kW", 2, nominal.available)?,
        })
    }

    /// The same, with what lies beyond the sliders put back to nominal.
    pub fn within(self, reach: &Reach, loaded: &Loaded) -> Self {
        let nominal = Self::nominal(loaded);
        let kept = |now: Exact, slider: &Slider, nominal: Exact| if slider.holds(now) { now } else { nominal };
        Self {
            voltage: kept(self.voltage, &reach.voltage, nominal.voltage),
            frequency: kept(self.frequency, &reach.frequency, nominal.frequency),
            available: kept(self.available, &reach.available, nominal.available),
        }
    }

    /// What a device meets.
    pub fn conditions(&self) -> Conditions {
        Conditions {
            voltage: self.voltage.approximate(),
            frequency: self.frequency.approximate(),
            available: self.available.approximate(),
            load: 0.0,
        }
    }

    /// `At 253 V, 50 Hz and with 5 kW available`.
    pub fn words(&self) -> String {
        let power = if self.available < Exact::ZERO {
            format!("wanting to charge with {}", Dimension::ActivePower.show(-self.available))
        } else {
            format!("with {} available", Dimension::ActivePower.show(self.available))
        };
        format!("At {} and {}, {power}", Dimension::Voltage.show(self.voltage), Dimension::Frequency.show(self.frequency))
    }
}

/// How far one slider reaches, in the unit that is shown beside it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Slider {
    /// The lowest.
    pub low: Exact,
    /// The highest.
    pub high: Exact,
    /// A step of an arrow key.
    pub step: Exact,
    /// What one of the shown unit is in base units.
    pub unit: Exact,
}

impl Slider {
    fn holds(&self, base: Exact) -> bool {
        self.low * self.unit <= base && base <= self.high * self.unit
    }

    fn joined(self, other: Self) -> Self {
        Self { low: self.low.min(other.low), high: self.high.max(other.high), step: self.step.max(other.step), ..self }
    }
}

/// How far the sliders reach: over every edge that anybody asks for or holds, with air around.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Reach {
    /// In volts.
    pub voltage: Slider,
    /// In hertz.
    pub frequency: Slider,
    /// In kilowatts.
    pub available: Slider,
}

impl Reach {
    /// Of one choice.
    pub fn of(loaded: &Loaded) -> Self {
        let operating = &loaded.operating;
        let (volts, hertz) = (operating.nominal.approximate(), operating.nominal_frequency);
        let [low, high] = span(loaded, Dimension::Voltage, [volts * 0.6, volts * 1.25]);
        let voltage = slider([(low * 0.9 / 5.0).floor() * 5.0, (high * 1.04 / 5.0).ceil() * 5.0], if volts < 200.0 { 0.2 } else { 0.5 });
        let [low, high] = span(loaded, Dimension::Frequency, [hertz - 3.0, hertz + 3.0]);
        let frequency = slider([(low - 0.5).floor().max(1.0), (high + 0.5).ceil()], 0.01);
        let rated = operating.device.ratings.active / 1000.0;
        let step = round_step(rated / 100.0);
        let most = (rated * 1.2 / step).ceil() * step;
        let available = Slider { unit: Exact::from(1000), ..slider([if operating.device.stores { -most } else { 0.0 }, most], step) };
        Self { voltage, frequency, available }
    }

    /// Of two choices.
    pub fn joined(self, other: Self) -> Self {
        Self {
            voltage: self.voltage.joined(other.voltage),
            frequency: self.frequency.joined(other.frequency),
            available: self.available.joined(other.available),
        }
    }
}

/// The edges of maps and the ends of curves, beside what is shown in any case.
fn span(loaded: &Loaded, measured: Dimension, usual: [f64; 2]) -> [f64; 2] {
    let maps = loaded.maps.iter().filter(|map| map.measured() == measured);
    let edges = maps.flat_map(|map| map.map.slices.iter().flat_map(|slice| slice.from.into_iter().chain(slice.to)));
    let curves = loaded.curves.iter().filter(|drawn| drawn.shown.response.axes[0].dimension == measured);
    let ends = curves.flat_map(|drawn| drawn.shown.places.iter().copied());
    let all = edges.chain(ends).map(Exact::approximate);
    all.fold(usual, |[low, high], edge| [low.min(edge), high.max(edge)])
}

fn slider([low, high]: [f64; 2], step: f64) -> Slider {
    let exact = |of: f64| Exact::nearest(of, 4).unwrap_or_default();
    Slider { low: exact(low), high: exact(high), step: exact(step), unit: Exact::ONE }
}

/// 1, 2 or 5 of a power of ten, not above a number.
fn round_step(number: f64) -> f64 {
    let ten = 10f64.powf(number.max(0.001).log10().floor());
    let of = [5.0, 2.0, 1.0].into_iter().find(|of| of * ten <= number * 1.000_001).unwrap_or(1.0);
    of * ten
}
