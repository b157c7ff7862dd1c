//! A device that acts as it is set, or otherwise.

use super::chance::Chance;
use super::codes;
use super::course::There;
use response::device::{Device, ReactiveMode};
use response::line::Line;
use response::operating_point::{Cap, Conditions};
use settings_model::exact::Exact;

/// What is wrong with a device.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Fault {
    None,
    /// Its reactive mode does not act.
    ReactiveOff,
    /// It supplies where it should absorb.
    ReactiveReversed,
    /// It gives this share of the vars: half, or percentages that are of another power.
    ReactiveShare(f64),
    /// It follows another region's volt-var curve.
    OtherCurve,
    /// Its vars follow voltage by so many seconds too late.
    Late(f64),
    /// Volt-watt does not act.
    CapOff,
    /// Its cap lies higher by this share of its rating.
    CapHigher(f64),
    /// It gives more than its limit by this share of it.
    LimitHigher(f64),
}

/// What a device is set to, and what is known of it beside its settings.
pub struct Set {
    pub device: Device,
    pub nominal: f64,
    /// How long a response is set to take, in seconds.
    pub response_time: f64,
    /// Between which voltages it is interesting to be.
    pub volts: [f64; 2],
    /// Of the code, or that it is invented.
    pub told: String,
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

impl Set {
    /// A few curves that are clear.
    pub fn plain(chance: &mut Chance) -> Self {
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
        Self { device, nominal: 230.0, response_time: 10.0, volts: [232.0, 257.0], told: "invented".to_owned() }
    }

    /// Any of the shipped codes' or an invented one, with limits now and then.
    pub fn any(chance: &mut Chance) -> Self {
        let mut set = if chance.share() < 0.25 {
            Self::by_power(chance)
        } else {
            let coded = chance.one_of(codes::all());
            let (device, nominal) = (coded.device.clone(), coded.nominal);
            let response_time = coded.response_time.max(10.0);
            Self { device, nominal, response_time, volts: [0.9 * nominal, 1.11 * nominal], told: coded.name.clone() }
        };
        let rated = set.device.ratings.apparent;
        if chance.share() < 0.3 {
            set.device.generation_limit = Some(rated * chance.between(0.5, 0.85));
        }
        if chance.share() < 0.3 {
            set.device.export_limit = Some(rated * chance.between(0.2, 0.7));
        }
        if set.response_time > 10.0 || chance.share() < 0.1 {
            set.response_time = chance.between(10.0, 90.0);
        }
        set
    }

    /// What answers to active power, which few codes ask for.
    fn by_power(chance: &mut Chance) -> Self {
        let mut set = Self::plain(chance);
        let rated = set.device.ratings.active;
        set.device.reactive = if chance.flips() {
            let line = line(&[("20", "1"), ("50", "1"), ("100", "0.9")], 1.0).stretched(rated / 100.0);
            ReactiveMode::PowerFactorByPower(line, *chance.one_of(&[-1.0, 1.0]))
        } else {
            ReactiveMode::VarByPower(line(&[("20", "0"), ("50", "0"), ("100", "-44")], rated / 100.0).stretched(rated / 100.0))
        };
        set
    }
}

/// How a device acts within what its settings and its tolerance allow, or beyond.
pub struct Acting {
    /// Within its tolerance, in watts and vars, on which side it lies.
    sides: [f64; 2],
    /// Time constants of watts and vars, in seconds.
    lags: [f64; 2],
    fault: Fault,
    /// It gives nothing until then, and ramps up after.
    off_until: f64,
    /// How often it stops, a day: a cloud, an isolator, a remote command.
    stops: f64,
    /// Whether it gives no vars below a fifth of its rating.
    rests_at_low_power: bool,
    now: [f64; 2],
}

/// Watts and vars.
pub type Powers = [f64; 2];

impl Acting {
    pub fn draw(chance: &mut Chance, tolerance: f64, response_time: f64, fault: Fault, is_plain: bool) -> Self {
        let gain = chance.between(0.85, 1.0) * tolerance;
        let slowest = response_time / 2.3;
        Self {
            sides: [chance.between(-1.0, 1.0) * gain, chance.between(-1.0, 1.0) * gain],
            // power comes down within seconds: limits ask for that
            lags: [chance.between(0.5, slowest.min(4.0)), chance.between(0.5, slowest)],
            fault,
            off_until: f64::NEG_INFINITY,
            stops: if is_plain { 0.0 } else { *chance.one_of(&[0.0, 0.5, 6.0]) },
            rests_at_low_power: !is_plain && chance.flips(),
            now: [0.0; 2],
        }
    }

    /// After another `seconds` at these volts.
    pub fn next(&mut self, set: &Set, volts: f64, there: &There, at: f64, seconds: f64, chance: &mut Chance) -> Powers {
        let rated = set.device.ratings.apparent;
        if chance.share() < self.stops * seconds / 86_400.0 {
            self.off_until = at + chance.between(20.0, 900.0);
        }
        // six minutes from nothing to its rating
        let ramp = if at < self.off_until { 0.0 } else { rated * (at - self.off_until) / 360.0 };
        let available = (there.sun * rated).min(ramp);
        let asked = self.asked(set, volts, available, there.load * rated);
        let late = if let Fault::Late(seconds) = self.fault { seconds } else { 0.0 };
        for (n, asked) in asked.into_iter().enumerate() {
            let lag = self.lags[n] + if n == 1 { late / 2.3 } else { 0.0 };
            self.now[n] = asked + (self.now[n] - asked) * (-seconds / lag).exp();
        }
        // what is not there is not given
        self.now[0] = self.now[0].min(available);
        if at < self.off_until {
            self.now = [0.0; 2];
        }
        self.now
    }

    /// Watts and vars that it settles at.
    fn asked(&self, set: &Set, volts: f64, available: f64, load: f64) -> Powers {
        let mut device = set.device.clone();
        let rated = device.ratings.apparent;
        match self.fault {
            Fault::ReactiveOff => device.reactive = ReactiveMode::Unity,
            Fault::OtherCurve => {
                device.reactive = ReactiveMode::VoltVar(line(&[("207", "44"), ("216", "0"), ("250", "0"), ("266", "-60")], rated / 100.0));
            }
            Fault::CapOff => device.volt_watt = None,
            Fault::CapHigher(share) => {
                let raised = |[x, y]: [f64; 2]| (format!("{x:.3}"), format!("{:.3}", y + share * rated));
                let raised: Vec<(String, String)> = device.volt_watt.iter().flat_map(|line| line.points()).copied().map(raised).collect();
                let raised: Vec<(&str, &str)> = raised.iter().map(|(x, y)| (x.as_str(), y.as_str())).collect();
                device.volt_watt = device.volt_watt.as_ref().map(|_| line(&raised, 1.0));
            }
            Fault::LimitHigher(share) => device.generation_limit = device.generation_limit.map(|limit| limit * (1.0 + share)),
            _ => {}
        }
        let conditions = Conditions { voltage: volts, frequency: 50.0, available, load };
        let point = device.at(&conditions);
        if point.active < 0.01 * rated {
            return [0.0; 2];
        }
        // tolerance is of what it caps, not of what the sun gives; vars go with what is given
        let watts = (point.active + self.sides[0]).clamp(0.0, available.max(0.0));
        let is_free = matches!(point.held_by, Cap::Available | Cap::ReactivePower);
        let watts = if is_free { point.active } else { watts };
        let vars = device.with_reactive((watts, Cap::Available), volts).reactive;
        let share = match self.fault {
            Fault::ReactiveReversed => -1.0,
            Fault::ReactiveShare(share) => share,
            _ => 1.0,
        };
        // a device whose reactive mode is off has no vars to be off by
        let side = if self.fault == Fault::ReactiveOff { 0.0 } else { self.sides[1] };
        let is_resting = self.rests_at_low_power && watts < 0.2 * rated;
        [watts, if is_resting { 0.0 } else { vars * share + side }]
    }
}
