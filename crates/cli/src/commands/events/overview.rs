//! What a log shows by itself, whatever device it is played on.

use crate::logs::{Row, Spacing};
use response::timeline::Micros;

/// How many gaps are told one by one.
const MOST_GAPS: usize = 100;
/// How many stretches a picture of the log is drawn from, at most.
const STRETCHES: usize = 512;
/// Watts that two meters may differ by (common practice, no source).
const LITTLE: f64 = 100.0;
/// How far phases must lie on either side of nominal to count as moving apart (common practice, no source).
const APART: f64 = 0.06;
/// How long they must, all in all, before the neutral is suspected (common practice, no source).
pub const APART_FOR: Micros = 5_000_000;

/// A value and when it was.
#[derive(Clone, Copy, Debug)]
pub struct Extreme {
    /// The value.
    pub value: f64,
    /// When.
    pub at: Micros,
}

/// What a log shows.
#[derive(Debug)]
pub struct Overview {
    pub rows: u64,
    pub first: Micros,
    pub last: Micros,
    /// Rows without any voltage.
    pub without_voltage: u64,
    /// Cells of voltage or frequency without a value, in other rows.
    pub missing: u64,
    /// The first gaps.
    pub gaps: Vec<[Micros; 2]>,
    pub gap_count: u64,
    pub gap_total: Micros,
    /// Steps longer than usual that are no gap.
    pub bridged: u64,
    pub highest: Option<Extreme>,
    pub lowest: Option<Extreme>,
    pub frequency: [Option<Extreme>; 2],
    /// How long phases moved apart, and when first.
    pub apart: Micros,
    pub apart_first: Option<Micros>,
    /// Watts times microseconds that the log says were given.
    pub given: f64,
    /// Rows in which the site would have used less than nothing itself.
    pub less_than_no_use: u64,
    pub envelope: Envelope,
    nominal: f64,
    phases: usize,
    spacing: Spacing,
    before: Option<Row>,
}

impl Overview {
    pub fn new(nominal: f64, phases: usize, spacing: Spacing) -> Self {
        Self {
            rows: 0,
            first: 0,
            last: 0,
            without_voltage: 0,
            missing: 0,
            gaps: Vec::new(),
            gap_count: 0,
            gap_total: 0,
            bridged: 0,
            highest: None,
            lowest: None,
            frequency: [None; 2],
            apart: 0,
            apart_first: None,
            given: 0.0,
            less_than_no_use: 0,
            envelope: Envelope::new(spacing.usual.max(1)),
            nominal,
            phases,
            spacing,
            before: None,
        }
    }

    /// Looks at a row. Where rows are missing before it, tells from when on.
    pub fn look(&mut self, row: &Row, has_frequency: bool, is_net: bool) -> Option<Micros> {
        if self.rows == 0 {
            self.first = row.at;
        }
        self.rows += 1;
        self.last = row.at;
        self.less_than_no_use += u64::from(row.load(is_net) < -LITTLE);
        let gap = self.step(row);
        let (mut low, mut high, mut lacks) = (f64::INFINITY, f64::NEG_INFINITY, 0);
        for v in &row.values[..self.phases] {
            if v.is_nan() {
                lacks += 1;
                continue;
            }
            low = low.min(*v);
            high = high.max(*v);
        }
        self.missing += u64::from(has_frequency && row.frequency().is_nan());
        if lacks == self.phases {
            self.without_voltage += 1;
        } else {
            self.missing += lacks as u64;
            raise(&mut self.highest, high, row.at, |new, old| new > old);
            raise(&mut self.lowest, low, row.at, |new, old| new < old);
        }
        if has_frequency && !row.frequency().is_nan() {
            raise(&mut self.frequency[0], row.frequency(), row.at, |new, old| new < old);
            raise(&mut self.frequency[1], row.frequency(), row.at, |new, old| new > old);
        }
        self.envelope.put(row.at, [low, high], row.frequency());
        self.before = Some(*row);
        gap
    }

    fn step(&mut self, row: &Row) -> Option<Micros> {
        let before = self.before.as_ref()?;
        let step = row.at - before.at;
        let held = step.min(self.spacing.usual);
        if !before.power().is_nan() {
            self.given += before.power().max(0.0) * held as f64;
        }
        let over = |v: &f64| *v > self.nominal * (1.0 + APART);
        let under = |v: &f64| *v < self.nominal * (1.0 - APART);
        let phases = &before.values[..self.phases];
        if phases.iter().any(over) && phases.iter().any(under) {
            self.apart += held;
            self.apart_first.get_or_insert(before.at);
        }
        if step <= self.spacing.longest {
            self.bridged += u64::from(2 * step > 3 * self.spacing.usual);
            return None;
        }
        let from = before.at + self.spacing.usual;
        self.gap_count += 1;
        self.gap_total += row.at - from;
        if self.gaps.len() < MOST_GAPS {
            self.gaps.push([from, row.at]);
        }
        Some(from)
    }
}

fn raise(extreme: &mut Option<Extreme>, value: f64, at: Micros, is_more: impl Fn(f64, f64) -> bool) {
    if extreme.is_none_or(|old| is_more(value, old.value)) {
        *extreme = Some(Extreme { value, at });
    }
}

/// Lowest and highest values over equal stretches of the log, few enough to draw.
#[derive(Clone, Debug)]
pub struct Envelope {
    /// When the first stretch begins.
    pub from: Micros,
    /// How long each lasts; it doubles as the log grows.
    pub width: Micros,
    /// Lowest and highest voltage, lowest and highest frequency.
    pub stretches: Vec<[f64; 4]>,
    /// When the last stretch ends.
    ends: Micros,
}

const NOTHING: [f64; 4] = [f64::INFINITY, f64::NEG_INFINITY, f64::INFINITY, f64::NEG_INFINITY];

impl Envelope {
    fn new(width: Micros) -> Self {
        Self { from: 0, width, stretches: Vec::with_capacity(STRETCHES), ends: Micros::MIN }
    }

    fn put(&mut self, at: Micros, [low, high]: [f64; 2], frequency: f64) {
        if at >= self.ends {
            self.begin(at);
        }
        // a frequency that is missing changes nothing: it is neither less nor more
        if let Some(last) = self.stretches.last_mut() {
            *last = joined(*last, [low, high, frequency, frequency]);
        }
    }

    /// Begins the stretch of a moment, the ones before made twice as long while there are too many.
    fn begin(&mut self, at: Micros) {
        if self.stretches.is_empty() {
            self.from = at;
        }
        let mut n = ((at - self.from) / self.width) as usize;
        while n >= STRETCHES {
            let halves = self.stretches.chunks(2).map(|pair| pair.iter().fold(NOTHING, |one, other| joined(one, *other)));
            self.stretches = halves.collect();
            self.width *= 2;
            n = ((at - self.from) / self.width) as usize;
        }
        if n >= self.stretches.len() {
            self.stretches.resize(n + 1, NOTHING);
        }
        self.ends = self.from + (n as Micros + 1) * self.width;
    }
}

fn joined(one: [f64; 4], other: [f64; 4]) -> [f64; 4] {
    [one[0].min(other[0]), one[1].max(other[1]), one[2].min(other[2]), one[3].max(other[3])]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_envelope_keeps_every_extreme_however_long_the_log() {
        let mut envelope = Envelope::new(1_000_000);
        for second in 0..100_000i64 {
            let volts = if second == 77_777 { 280.0 } else { 230.0 };
            envelope.put(second * 1_000_000, [volts - 1.0, volts], if second == 5 { f64::NAN } else { 50.0 });
        }
        assert!(envelope.stretches.len() <= STRETCHES);
        let at = (77_777_000_000 / envelope.width) as usize;
        assert_eq!(envelope.stretches[at], [229.0, 280.0, 50.0, 50.0]);
        assert_eq!(envelope.stretches.iter().filter(|stretch| stretch[1] > 230.0).count(), 1);
    }
}
