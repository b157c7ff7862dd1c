//! Whatever a file states, what a device gives is a number: no rating, limit or curve ends the program that asks.

use response::device::{Capability, Device, Priority, Ratings, ReactiveMode};
use response::line::Line;
use response::operating_point::Conditions;
use response::timeline::{LONGEST, micros};
use settings_model::exact::Exact;

/// Numbers that no device has, and some that one has.
const NUMBERS: [f64; 12] = [-1e15, -5_000.0, -1.0, -1e-9, 0.0, 1e-9, 1.0, 50.0, 230.0, 5_000.0, 1e12, 1e15];

/// A generator of its own, so that a failure can be run again.
struct Draw(u64);

impl Draw {
    fn number(&mut self) -> f64 {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        NUMBERS[(self.0 >> 33) as usize % NUMBERS.len()]
    }

    fn some(&mut self) -> Option<f64> {
        Some(self.number()).filter(|_| self.number() < 1.0)
    }

    fn line(&mut self) -> Option<Line> {
        let mut whole = || Exact::from(self.number() as i64);
        let (from, to) = (whole(), whole());
        Line::of(&vec![(from.min(to), whole()), (from.max(to), whole())], 1.0)
    }
}

#[test]
fn what_a_device_gives_is_a_number_whatever_it_is_rated_at() {
    let mut draw = Draw(7);
    for _ in 0..50_000 {
        let ratings =
            Ratings { apparent: draw.number(), active: draw.number(), percent_active: draw.number(), percent_reactive: draw.number() };
        let reactive = match draw.number() {
            n if n < 0.0 => draw.line().map_or(ReactiveMode::Unity, ReactiveMode::VoltVar),
            0.0 => ReactiveMode::Fixed(draw.number()),
            n if n < 100.0 => ReactiveMode::PowerFactor(draw.number(), 1.0),
            _ => draw.line().map_or(ReactiveMode::Unity, |line| ReactiveMode::PowerFactorByPower(line, -1.0)),
        };
        let device = Device {
            ratings,
            stores: draw.number() > 0.0,
            volt_watt: draw.line(),
            reactive,
            capability: Capability { supplying: draw.number(), absorbing: draw.number() },
            priority: if draw.number() > 0.0 { Priority::Active } else { Priority::Reactive },
            export_limit: draw.some(),
            generation_limit: draw.some(),
            ..Device::bare(draw.number())
        };
        let conditions = Conditions { voltage: draw.number(), frequency: draw.number(), available: draw.number(), load: draw.number() };
        let point = device.at(&conditions);
        assert!(point.active.is_finite() && point.reactive.is_finite(), "{device:?} {conditions:?} {point:?}");
    }
}

#[test]
fn the_longest_times_still_add_up() {
    for seconds in [f64::INFINITY, 1e30, 3.6e12 * 1e9, f64::NAN, -1e30, f64::NEG_INFINITY] {
        let counted = micros(seconds);
        assert!((-LONGEST..=LONGEST).contains(&counted) && counted.checked_mul(7).is_some(), "{seconds}");
    }
}
