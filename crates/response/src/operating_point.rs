//! What a device gives at one voltage and frequency.
//!
//! The order is fixed (semantics, Response): the least of what is available, the ratings, the
//! volt-watt cap and the other caps; then the answer to frequency; then what the reactive mode asks;
//! then the apparent-power limit, with the priority that says which kind of power gives way.
//!
//! Generator sign: active power above zero is exported by the device, below zero it charges; reactive
//! power above zero is supplied and raises the voltage, below zero it is absorbed.

use crate::device::{Device, FrequencyAnswer, FrequencyBase, Priority, ReactiveMode};

/// What a device meets.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Conditions {
    /// At its terminals, volts line to neutral.
    pub voltage: f64,
    /// In hertz.
    pub frequency: f64,
    /// What its source could give, in watts; below zero, what it wants to charge with.
    pub available: f64,
    /// What the site uses itself, in watts: an export limit acts on what leaves the site.
    pub load: f64,
}

/// What a device gives.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct OperatingPoint {
    /// Watts.
    pub active: f64,
    /// Vars.
    pub reactive: f64,
    /// What keeps active power where it is.
    pub held_by: Cap,
    /// What the reactive mode asked for, in vars, before any limit cut it.
    pub reactive_asked: f64,
}

impl OperatingPoint {
    /// Volt-amperes.
    #[must_use]
    pub fn apparent(&self) -> f64 {
        self.active.hypot(self.reactive)
    }

    /// So far on the straight way to another.
    pub(crate) fn towards(&self, other: &Self, share: f64) -> Self {
        let between = |one: f64, other: f64| one + (other - one) * share;
        Self { active: between(self.active, other.active), reactive: between(self.reactive, other.reactive), ..*self }
    }
}

/// What keeps active power where it is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Cap {
    /// The source has no more.
    Available,
    /// Rated active power.
    RatedActive,
    /// Rated apparent power.
    RatedApparent,
    /// The volt-watt response, or that of charging.
    VoltWatt,
    /// The answer to frequency.
    Frequency,
    /// The site's export limit.
    ExportLimit,
    /// The generation limit.
    GenerationLimit,
    /// Reactive power, which is kept first.
    ReactivePower,
}

impl Cap {
    /// For people, after "held by": `volt-watt`.
    #[must_use]
    pub fn phrase(self) -> &'static str {
        match self {
            Self::Available => "what is available",
            Self::RatedActive => "rated active power",
            Self::RatedApparent => "rated apparent power",
            Self::VoltWatt => "volt-watt",
            Self::Frequency => "the response to frequency",
            Self::ExportLimit => "the export limit",
            Self::GenerationLimit => "the generation limit",
            Self::ReactivePower => "reactive power",
        }
    }
}

impl Device {
    /// What it gives once it has answered in full, with the answer to frequency as it is now (without
    /// memory of earlier excursions). What locks in is taken not to have acted before.
    #[must_use]
    pub fn at(&self, conditions: &Conditions) -> OperatingPoint {
        self.acting_at(conditions, None)
    }

    /// The same; what locks in acts, or does not, wherever it is.
    #[must_use]
    pub fn acting_at(&self, conditions: &Conditions, acts: Option<bool>) -> OperatingPoint {
        let capped = self.capped(conditions);
        let answered = self.answering_frequency(capped, conditions);
        self.reacting(answered, conditions.voltage, acts)
    }

    /// What it gives where what locks in acted just before and still does; `None` where it no longer does,
    /// where nothing locks in, and where it would act in any case.
    #[must_use]
    pub fn still_acting_at(&self, conditions: &Conditions) -> Option<OperatingPoint> {
        let lock_in = self.lock_in?;
        let (point, fresh) = (self.acting_at(conditions, Some(true)), self.at(conditions));
        (lock_in.acts(true, conditions.voltage, point.active) && point != fresh).then_some(point)
    }

    /// Active power by all caps but the answer to frequency and the apparent-power limit.
    #[must_use]
    pub fn capped(&self, conditions: &Conditions) -> (f64, Cap) {
        if conditions.available < 0.0 {
            let most = [
                (-conditions.available, Cap::Available),
                (self.ratings.active, Cap::RatedActive),
                (if self.stores { f64::INFINITY } else { 0.0 }, Cap::Available),
                (self.volt_watt_charging.as_ref().map_or(f64::INFINITY, |line| line.at(conditions.voltage).max(0.0)), Cap::VoltWatt),
            ];
            let (charging, cap) = least(most);
            return (-charging, cap);
        }
        let ceiling = self.ceiling(conditions);
        if conditions.available <= ceiling.0 { (conditions.available, Cap::Available) } else { ceiling }
    }

    /// The most active power that it may give, however much is available.
    fn ceiling(&self, conditions: &Conditions) -> (f64, Cap) {
        let limit = |limit: Option<f64>| limit.unwrap_or(f64::INFINITY);
        least([
            (self.ratings.active, Cap::RatedActive),
            (self.ratings.apparent, Cap::RatedApparent),
            (self.volt_watt.as_ref().map_or(f64::INFINITY, |line| self.bounded(line.at(conditions.voltage))), Cap::VoltWatt),
            // a site that uses much may be left without any generation limit, never with a negative one
            ((limit(self.export_limit) + conditions.load).max(0.0), Cap::ExportLimit),
            (limit(self.generation_limit), Cap::GenerationLimit),
        ])
    }

    /// A cap as far as the device can follow it: without storage it gives nothing where a cap lies below
    /// zero, and draws nothing.
    fn bounded(&self, cap: f64) -> f64 {
        if self.stores { cap } else { cap.max(0.0) }
    }

    fn answering_frequency(&self, (power, cap): (f64, Cap), conditions: &Conditions) -> (f64, Cap) {
        let Conditions { frequency, available, .. } = *conditions;
        if let Some(answer) = self.over_frequency.as_ref().filter(|answer| frequency > answer.start) {
            let most = answer.most(frequency, power, self.ratings.active);
            return if most < power { (most, Cap::Frequency) } else { (power, cap) };
        }
        if let Some(answer) = self.under_frequency.as_ref().filter(|answer| frequency < answer.start) {
            // low frequency lifts no cap: volt-watt and an export limit hold as before
            let least = answer.least(frequency, power, available, self).min(self.ceiling(conditions).0);
            return if least > power { (least, Cap::Frequency) } else { (power, cap) };
        }
        (power, cap)
    }

    /// Adds reactive power to an active power, within the capability and the apparent-power limit.
    #[must_use]
    pub fn with_reactive(&self, capped: (f64, Cap), voltage: f64) -> OperatingPoint {
        self.reacting(capped, voltage, None)
    }

    /// The same; what locks in acts, or does not, wherever it is.
    fn reacting(&self, (active, held_by): (f64, Cap), voltage: f64, acts: Option<bool>) -> OperatingPoint {
        let asked = self.reactive_asked(active, voltage, acts);
        let point = OperatingPoint { active, reactive: self.within_capability(asked), held_by, reactive_asked: asked };
        let limit = self.most_apparent();
        if point.apparent() <= limit {
            return point;
        }
        match (&self.reactive, self.priority) {
            (_, Priority::Active) => {
                let left = (limit * limit - active * active).max(0.0).sqrt();
                OperatingPoint { reactive: left.copysign(point.reactive), ..point }
            }
            // what follows active power comes down with it, along its own line
            (ReactiveMode::PowerFactor(..) | ReactiveMode::PowerFactorByPower(..) | ReactiveMode::VarByPower(_), Priority::Reactive) => {
                let reactive = |active: f64| self.within_capability(self.reactive_asked(active, voltage, acts));
                let active = fitting(active, limit, &reactive);
                OperatingPoint { active, reactive: reactive(active).clamp(-limit, limit), held_by: Cap::ReactivePower, ..point }
            }
            (_, Priority::Reactive) => {
                let reactive = point.reactive.clamp(-limit, limit);
                let left = (limit * limit - reactive * reactive).max(0.0).sqrt();
                OperatingPoint { active: left.copysign(active), reactive, held_by: Cap::ReactivePower, ..point }
            }
        }
    }

    /// What apparent power is limited to: by rating, or by a generation limit below it.
    fn most_apparent(&self) -> f64 {
        self.ratings.apparent.min(self.generation_limit.unwrap_or(f64::INFINITY)).max(0.0)
    }

    fn within_capability(&self, vars: f64) -> f64 {
        vars.max(-self.capability.absorbing).min(self.capability.supplying)
    }

    /// What the reactive mode asks for, in vars.
    fn reactive_asked(&self, active: f64, voltage: f64, acts: Option<bool>) -> f64 {
        // without memory: as if it did not act just before
        if self.lock_in.is_some_and(|lock_in| !acts.unwrap_or_else(|| lock_in.acts(false, voltage, active))) {
            return 0.0;
        }
        match &self.reactive {
            ReactiveMode::Unity => 0.0,
            ReactiveMode::VoltVar(line) => line.at(voltage),
            ReactiveMode::Fixed(vars) => *vars,
            ReactiveMode::PowerFactor(factor, sign) => vars_at(active, *factor) * sign,
            ReactiveMode::PowerFactorByPower(line, sign) => vars_at(active, line.at(active)) * sign,
            ReactiveMode::VarByPower(line) => line.at(active),
        }
    }
}

/// Reactive power beside an active power at a power factor: P × tan(acos pf).
fn vars_at(active: f64, factor: f64) -> f64 {
    active.abs() * factor.clamp(-1.0, 1.0).acos().tan()
}

/// The most active power, on the way down from `from`, that fits the limit together with the reactive
/// power that follows it.
fn fitting(from: f64, limit: f64, reactive: &dyn Fn(f64) -> f64) -> f64 {
    let (mut fits, mut passes) = (0.0, from);
    // 60 halvings leave nothing of any power
    for _ in 0..60 {
        let middle = f64::midpoint(fits, passes);
        if middle.hypot(reactive(middle)) <= limit { fits = middle } else { passes = middle }
    }
    fits
}

/// The least, and what it is; of equal ones the first.
fn least<const N: usize>(of: [(f64, Cap); N]) -> (f64, Cap) {
    of.into_iter().fold((f64::INFINITY, Cap::Available), |least, one| if one.0 < least.0 { one } else { least })
}

impl FrequencyAnswer {
    /// The most active power at a high frequency, from what it was at the start of the answer.
    #[must_use]
    pub fn most(&self, frequency: f64, at_start: f64, rated: f64) -> f64 {
        let level = self.line.at(frequency) / 100.0;
        match self.of {
            // below zero storage charges, by a share of its rating: there was no such power at the start
            _ if level < 0.0 => level * rated,
            FrequencyBase::Momentary => at_start.max(0.0) * level,
            FrequencyBase::Rated => (at_start - (1.0 - level) * rated).max(0.0),
        }
    }

    /// The least active power at a low frequency: charging gives way, then more is given where there is more.
    #[must_use]
    pub fn least(&self, frequency: f64, at_start: f64, available: f64, device: &Device) -> f64 {
        let level = self.line.at(frequency) / 100.0;
        let rated = device.ratings.active;
        if device.stores {
            return level * rated;
        }
        (at_start + level.max(0.0) * rated).min(available).min(rated)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::line::Line;
    use settings_model::exact::Exact;

    fn line(points: &[(&str, &str)], scale: f64) -> Line {
        let exact = |text: &&str| Exact::parse(text).unwrap();
        Line::of(&points.iter().map(|(x, y)| (exact(x), exact(y))).collect(), scale).unwrap()
    }

    /// 10 kVA, nothing acting.
    fn plain() -> Device {
        Device::bare(10_000.0)
    }

    fn conditions(voltage: f64, frequency: f64, available: f64) -> Conditions {
        Conditions { voltage, frequency, available, load: 0.0 }
    }

    fn close(found: f64, wanted: f64) {
        assert!((found - wanted).abs() < 1e-6 * wanted.abs().max(1.0), "{found}, wanted {wanted}");
    }

    fn over(start: &str, end: &str, of: FrequencyBase) -> FrequencyAnswer {
        FrequencyAnswer { line: line(&[(start, "100"), (end, "0")], 1.0), start: start.parse().unwrap(), hysteresis: 0.0, hold: 0.0, of }
    }

    /// Plain arithmetic: 50 %/Hz from 50.25 Hz, reached from 70 % of rated; the same settings with
    /// the other base give another answer.
    #[test]
    fn an_answer_to_frequency_is_of_momentary_or_of_rated_power() {
        let at = |of, frequency, available| {
            Device { over_frequency: Some(over("50.25", "52.25", of)), ..plain() }.at(&conditions(230.0, frequency, available)).active
        };
        for (frequency, rated, momentary) in
            [(50.25, 7000.0, 7000.0), (50.5, 5750.0, 6125.0), (50.75, 4500.0, 5250.0), (51.25, 2000.0, 3500.0)]
        {
            close(at(FrequencyBase::Rated, frequency, 7000.0), rated);
            close(at(FrequencyBase::Momentary, frequency, 7000.0), momentary);
        }
        close(at(FrequencyBase::Rated, 51.65, 7000.0), 0.0);
        close(at(FrequencyBase::Rated, 51.8, 7000.0), 0.0);
    }

    /// Plain arithmetic: tan(acos 0.95) is 0.32868, tan(acos 0.90) is 0.48432.
    #[test]
    fn a_power_factor_gives_way_on_both_sides() {
        let device = Device { reactive: ReactiveMode::PowerFactor(0.95, -1.0), ..plain() };
        let part = device.at(&conditions(230.0, 50.0, 5000.0));
        close(part.reactive, -5000.0 * 0.328_684_1);
        let full = device.at(&conditions(230.0, 50.0, 12_000.0));
        close(full.active, 9500.0);
        close(full.apparent(), 10_000.0);
        let active_first = Device { priority: Priority::Active, ..device }.at(&conditions(230.0, 50.0, 12_000.0));
        close(active_first.active, 10_000.0);
        close(active_first.reactive, 0.0);
    }

    #[test]
    fn the_priority_says_which_kind_of_power_gives_way() {
        let device = |priority| Device { reactive: ReactiveMode::Fixed(-6000.0), priority, ..plain() };
        let first = |priority| device(priority).at(&conditions(230.0, 50.0, 9000.0));
        let reactive = first(Priority::Reactive);
        close(reactive.active, 8000.0);
        close(reactive.reactive, -6000.0);
        assert_eq!(reactive.held_by, Cap::ReactivePower);
        let active = first(Priority::Active);
        close(active.active, 9000.0);
        close(active.reactive, -(1e8_f64 - 81e6).sqrt());
        assert_eq!(active.held_by, Cap::Available);
        // below the limit nothing gives way
        close(device(Priority::Active).at(&conditions(230.0, 50.0, 8000.0)).reactive, -6000.0);
    }

    #[test]
    fn volt_watt_is_a_cap_and_never_a_set_point() {
        let device = Device { volt_watt: Some(line(&[("253", "100"), ("260", "20")], 100.0)), ..plain() };
        close(device.at(&conditions(256.5, 50.0, 9000.0)).active, 6000.0);
        close(device.at(&conditions(256.5, 50.0, 1500.0)).active, 1500.0);
        close(device.at(&conditions(265.0, 50.0, 9000.0)).active, 2000.0);
    }

    #[test]
    fn an_export_limit_acts_on_what_leaves_the_site() {
        let device = Device { export_limit: Some(5000.0), ..plain() };
        let at = |load| device.at(&Conditions { load, ..conditions(230.0, 50.0, 9000.0) });
        close(at(0.0).active, 5000.0);
        close(at(2500.0).active, 7500.0);
        assert_eq!(at(2500.0).held_by, Cap::ExportLimit);
        close(at(6000.0).active, 9000.0);
        assert_eq!(at(6000.0).held_by, Cap::Available);
    }

    #[test]
    fn only_storage_charges_and_its_cap_counts_the_other_way() {
        let charging = line(&[("207", "20"), ("215", "100")], 100.0);
        let solar = Device { volt_watt_charging: Some(charging), ..plain() };
        close(solar.at(&conditions(230.0, 50.0, -5000.0)).active, 0.0);
        let storage = Device { stores: true, ..solar };
        close(storage.at(&conditions(230.0, 50.0, -5000.0)).active, -5000.0);
        close(storage.at(&conditions(211.0, 50.0, -9000.0)).active, -6000.0);
        close(storage.at(&conditions(200.0, 50.0, -9000.0)).active, -2000.0);
    }

    #[test]
    fn storage_goes_on_into_charging_at_high_and_into_discharging_at_low_frequency() {
        let answer = |points: &[(&str, &str)], start| FrequencyAnswer {
            line: line(points, 1.0),
            start,
            hysteresis: 0.0,
            hold: 0.0,
            of: FrequencyBase::Momentary,
        };
        let device = Device {
            stores: true,
            over_frequency: Some(answer(&[("50.25", "100"), ("50.75", "0"), ("52", "-100")], 50.25)),
            under_frequency: Some(answer(&[("48", "100"), ("49", "0"), ("49.75", "-100")], 49.75)),
            ..plain()
        };
        let at = |frequency, available| device.at(&conditions(230.0, frequency, available)).active;
        close(at(50.5, 8000.0), 4000.0);
        close(at(51.375, 8000.0), -5000.0);
        close(at(49.375, -10_000.0), -5000.0);
        close(at(48.5, -10_000.0), 5000.0);
        close(at(49.9, -10_000.0), -10_000.0);
    }
}
