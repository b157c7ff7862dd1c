//! What a device gives with all its responses together, for every verb that shows it: at which voltage how
//! much, by what it is held, and what had to be taken for granted.

use crate::report::curve::{PowerPoint, PowerReport, number};
use plot::figure::{Axis, Figure, Mark, SecondScale, Spot, Style, straightened};
use replay::acting::{Play, Values, acting, has_others, left_out, locks_in, taken_for_granted};
use replay::held::DeviceAtMoment;
use response::device::{Device, FrequencyBase, ReactiveMode, Unclear};
use response::operating_point::{Cap, Conditions, OperatingPoint};
use rules::operand::OperandError;
use rules::percentages::unverified_percentages;
use rules::phrase::capitalised;
use settings_model::exact::Exact;
use settings_model::facts::FactId;

/// What a device gives at a voltage.
pub struct At {
    /// The voltage.
    pub voltage: Exact,
    /// What it gives.
    pub point: OperatingPoint,
    /// Whether reactive power that locks in acted before, where that decides.
    pub acted_before: Option<bool>,
}

/// A device by its settings, ready to be asked what it gives.
pub struct Operating {
    /// Site and device, or the requirements.
    pub title: String,
    /// What it does.
    pub device: Device,
    /// Nominal voltage, line to neutral, in volts.
    pub nominal: Exact,
    /// In hertz.
    pub nominal_frequency: f64,
    unclear: Vec<Unclear>,
    /// What is taken for granted wherever it is looked at.
    always: Vec<String>,
    /// Of what the standard takes percentages, where nobody verified that.
    percentages: Option<String>,
}

impl Operating {
    /// A device; one of which nothing is recorded holds what is required. `fall_of` says of what power its
    /// response to high frequency falls, in place of the standard.
    pub fn of(held: &DeviceAtMoment<'_>, fall_of: Option<FrequencyBase>) -> Result<Self, OperandError> {
        let acting = acting(held, fall_of);
        let Some(device) = acting.device else {
            return Err(OperandError::Words(format!("{}: its rating is not stated: `nameplate`", held.title)));
        };
        let rulebook = held.asked.as_ref().map(|(book, _)| &book.rulebook);
        let mut always = Vec::new();
        if acting.as_required {
            always.push(match held.is_requirement {
                true => "it is assumed to be set as required, and to have nothing else".to_owned(),
                false => "nothing is recorded of it; it is assumed to be set as required".to_owned(),
            });
        }
        let known = acting.unclear.iter().filter(|unclear| **unclear != Unclear::Priority);
        always.extend(known.map(|unclear| match unclear {
            // both are shown
            Unclear::LockIn(function) => locks_in(function),
            unclear => taken_for_granted(unclear),
        }));
        always.extend(left_out(&Values::or_as_required(held), Play::Moment));
        if device.export_limit.is_some() {
            always.push("the site is assumed to use nothing itself, so that all of it is exported".to_owned());
            let others = "the site has other inverters, which share the export limit; they are assumed to give nothing: `asleft rise SITE` shows all of them together";
            always.extend(has_others(&held.facts, &device).then(|| others.to_owned()));
        }
        Ok(Self {
            title: held.title.clone(),
            device,
            nominal: held.facts.number(FactId::NominalVoltage).unwrap_or(Exact::from(230)),
            nominal_frequency: held.nominal_frequency(),
            unclear: acting.unclear,
            always,
            percentages: rulebook.and_then(unverified_percentages),
        })
    }

    /// Nominal voltage and frequency, with so much available as it is rated for.
    pub fn nominally(&self) -> Conditions {
        Conditions {
            voltage: self.nominal.approximate(),
            frequency: self.nominal_frequency,
            available: self.device.ratings.active,
            load: 0.0,
        }
    }

    /// What had to be taken for granted under some conditions, at points that were worked out under them.
    pub fn granted(&self, conditions: &Conditions, points: impl IntoIterator<Item = OperatingPoint>) -> Vec<String> {
        let mut granted = self.always.clone();
        granted.extend(self.percentages.clone());
        if conditions.frequency != self.nominal_frequency {
            let says = self.device.over_frequency.as_ref().map(|answer| match answer.of {
                FrequencyBase::Momentary => {
                    "percentages of the response to high frequency are taken of the power at the moment of passing its start"
                }
                FrequencyBase::Rated => "percentages of the response to high frequency are taken of rated power",
            });
            granted.extend(says.map(str::to_owned));
            granted.push("the responses to frequency are assumed to have no memory of earlier excursions".to_owned());
        }
        let meets_limit = |point: OperatingPoint| point.held_by == Cap::ReactivePower || is_cut(&point);
        if self.unclear.contains(&Unclear::Priority) && points.into_iter().any(meets_limit) {
            granted.push(taken_for_granted(&Unclear::Priority));
        }
        granted
    }

    /// Where the responses to voltage bend, and the nominal voltage.
    pub fn bends(&self) -> Vec<Exact> {
        let by_voltage = if let ReactiveMode::VoltVar(line) = &self.device.reactive { Some(line) } else { None };
        let lines = [self.device.volt_watt.as_ref(), self.device.volt_watt_charging.as_ref(), by_voltage];
        let bends = lines.into_iter().flatten().flat_map(|line| line.points().iter().map(|point| point[0]));
        let mut voltages: Vec<Exact> = bends.filter_map(|volts| Exact::parse(&format!("{volts:.3}")).ok()).chain([self.nominal]).collect();
        voltages.sort_unstable();
        voltages.dedup();
        voltages
    }

    /// What it gives at each of some voltages, ascending; where what came before decides, from either.
    pub fn points(&self, conditions: &Conditions, voltages: &[Exact]) -> Vec<At> {
        let at = |voltage: Exact| {
            let there = Conditions { voltage: voltage.approximate(), ..*conditions };
            let (point, still) = (self.device.at(&there), self.device.still_acting_at(&there));
            let first = At { voltage, point, acted_before: still.map(|_| false) };
            std::iter::once(first).chain(still.map(|point| At { voltage, point, acted_before: Some(true) }))
        };
        voltages.iter().flat_map(|volts| at(*volts)).collect()
    }

    /// Active and reactive power from the first of some voltages to the last.
    pub fn figure(&self, conditions: &Conditions, voltages: &[Exact]) -> Figure {
        const STEPS: usize = 400;
        let [low, high] = [voltages.first(), voltages.last()].map(|end| end.map_or(0.0, |volts| volts.approximate()));
        let steps = (0..=STEPS).map(|n| low + (high - low) * n as f64 / STEPS as f64);
        let mut fine: Vec<f64> = steps.chain(voltages.iter().map(|volts| volts.approximate())).collect();
        fine.sort_by(f64::total_cmp);
        fine.dedup();
        let line = |of: &dyn Fn(OperatingPoint) -> f64| -> Vec<Spot> {
            let at = |voltage: f64| of(self.device.at(&Conditions { voltage, ..*conditions })) / 1000.0;
            straightened(fine.iter().map(|volts| (*volts, at(*volts))), self.device.ratings.apparent / 1000.0 * 2e-3)
        };
        let marks = vec![
            Mark::Line { points: line(&|point| point.active), label: "Active power".to_owned(), style: Style::Device(0) },
            Mark::Line {
                points: line(&|point| point.reactive),
                label: "Reactive power: + supplies, - absorbs".to_owned(),
                style: Style::Device(1),
            },
        ];
        let held = self.points(conditions, voltages).into_iter().map(|At { voltage, point, acted_before }| {
            let [active, reactive] = [point.active, point.reactive].map(|power| power / 1000.0);
            let before = if acted_before == Some(true) { ", where it acted before" } else { "" };
            format!("{voltage} V{before}: {active:.2} kW, {reactive:.2} kvar, held by {}", point.held_by.phrase())
        });
        Figure {
            title: format!("Power: {}", self.title),
            description: format!("{}.", held.collect::<Vec<_>>().join("; ")),
            x: Axis {
                label: capitalised("voltage at the terminals"),
                unit: "V".to_owned(),
                second: Some(SecondScale { unit: format!("pu of {} V", self.nominal), one_is: number(self.nominal) }),
            },
            y: Axis { label: "Power".to_owned(), unit: "kW, kvar".to_owned(), second: None },
            marks,
        }
    }

    /// The machine-readable form.
    pub fn report(&self, conditions: &Conditions, voltages: &[Exact]) -> PowerReport {
        let points = self.points(conditions, voltages);
        PowerReport {
            of: self.title.clone(),
            available: conditions.available,
            frequency: conditions.frequency,
            taken_as: self.granted(conditions, points.iter().map(|at| at.point)),
            points: points.into_iter().map(|at| PowerPoint { acted_before: at.acted_before, ..reported(at.voltage, &at.point) }).collect(),
        }
    }
}

/// A point for programs, to a thousandth of a watt.
pub fn reported(volts: Exact, point: &OperatingPoint) -> PowerPoint {
    PowerPoint {
        voltage: number(volts),
        active: number(exact(point.active)),
        reactive: number(exact(point.reactive)),
        reactive_asked: number(exact(point.reactive_asked)),
        apparent: number(exact(point.apparent())),
        held_by: point.held_by.phrase(),
        acted_before: None,
    }
}

/// Whether a limit cuts the reactive power that was asked for.
pub fn is_cut(point: &OperatingPoint) -> bool {
    (point.reactive - point.reactive_asked).abs() > point.reactive_asked.abs() * 1e-6 + 1e-6
}

/// Watts, vars or volt-amperes in thousands, to the watt: `4.257 kW`.
pub fn in_thousands(number: f64, unit: &str) -> String {
    format!("{}\u{a0}{unit}", exact(number / 1000.0).rounded(3))
}

/// A number for print, to a thousandth.
pub fn exact(number: f64) -> Exact {
    Exact::nearest(number, 3).unwrap_or_default()
}
