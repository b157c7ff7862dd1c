//! What a log shows by itself, whatever device it is played on.

use crate::stretches::{Kept, Stretches};
use logs::{Row, Spacing};
use response::timeline::Micros;

/// How many gaps are told one by one.
const MOST_GAPS: usize = 100;
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
    /// Rows.
    pub rows: u64,
    /// When the first row was.
    pub first: Micros,
    /// When the last row was.
    pub last: Micros,
    /// Rows without any voltage.
    pub without_voltage: u64,
    /// Cells of voltage or frequency without a value, in other rows.
    pub missing: u64,
    /// The first gaps.
    pub gaps: Vec<[Micros; 2]>,
    /// How many gaps there are.
    pub gap_count: u64,
    /// All gaps together.
    pub gap_total: Micros,
    /// Steps longer than usual that are no gap.
    pub bridged: u64,
    /// The highest voltage of any phase.
    pub highest: Option<Extreme>,
    /// The lowest voltage of any phase.
    pub lowest: Option<Extreme>,
    /// The lowest and the highest frequency.
    pub frequency: [Option<Extreme>; 2],
    /// How long phases moved apart.
    pub apart: Micros,
    /// When they first did.
    pub apart_first: Option<Micros>,
    /// Watts times microseconds that the log says were given.
    pub given: f64,
    /// Rows without the power given, without the power that could have been given, and without the site's own use.
    pub lacking: [u64; 3],
    /// Rows in which the site would have used less than nothing itself.
    pub less_than_no_use: u64,
    /// What a picture of the log is drawn from.
    pub envelope: Stretches<Envelope>,
    nominal: f64,
    phases: usize,
    spacing: Spacing,
    before: Option<Row>,
}

impl Overview {
    /// Of a log of which no row was looked at; `nominal` in volts, line to neutral.
    pub fn new(nominal: f64, phases: usize, spacing: Spacing) -> Self {
        Self::drawn_from(spacing.usual, nominal, phases, spacing)
    }

    /// The same, whose picture begins with stretches of this width.
    pub fn drawn_from(width: Micros, nominal: f64, phases: usize, spacing: Spacing) -> Self {
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
            lacking: [0; 3],
            less_than_no_use: 0,
            envelope: Stretches::new(width),
            nominal,
            phases,
            spacing,
            before: None,
        }
    }

    /// Whether any row says what was given.
    pub fn has_given(&self) -> bool {
        self.lacking[0] < self.rows
    }

    /// Whether any row says what could have been given.
    pub fn has_available(&self) -> bool {
        self.lacking[1] < self.rows
    }

    /// Whether each phase lies on the same side of where phases count as moving apart.
    pub fn are_alike(&self, one: &Row, other: &Row) -> bool {
        let side = |volts: f64| (volts > self.nominal * (1.0 + APART), volts < self.nominal * (1.0 - APART));
        one.values.iter().zip(other.values).take(self.phases).all(|(one, other)| side(*one) == side(other))
    }

    /// Looks at a row. Where rows are missing before it, tells from when on.
    pub fn look(&mut self, row: &Row, has_frequency: bool, is_net: bool) -> Option<Micros> {
        if self.rows == 0 {
            self.first = row.at;
        }
        self.rows += 1;
        self.last = row.at;
        let load = row.load(is_net);
        self.less_than_no_use += u64::from(load < -LITTLE);
        for (lacking, value) in self.lacking.iter_mut().zip([row.power(), row.available(), load]) {
            *lacking += u64::from(value.is_nan());
        }
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
        self.draw(row, gap);
        self.before = Some(*row);
        gap
    }

    fn draw(&mut self, row: &Row, gap: Option<Micros>) {
        if let Some(before) = self.before {
            let until = gap.unwrap_or(row.at);
            // the last one held until here
            if gap.is_none() {
                self.envelope.hold_until(row.at, || Envelope::of(&before));
            }
            self.envelope.over(before.at, until, |kept, lasted| kept.powers(&before, lasted));
        }
        self.envelope.at(row.at).widen(row);
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

/// Lowest and highest values of a stretch of the log, and its mean powers.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Envelope {
    /// Lowest and highest of each phase, in volts.
    pub phases: [[f64; 2]; 3],
    /// Lowest and highest frequency, in hertz.
    pub frequency: [f64; 2],
    /// Power given and power that could have been given.
    powers: [Spent; 2],
}

/// Watts times microseconds, and the microseconds.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Spent {
    energy: f64,
    lasted: Micros,
}

const NOTHING: [f64; 2] = [f64::INFINITY, f64::NEG_INFINITY];

/// What is not a number changes nothing: it is neither less nor more.
pub fn wider(one: [f64; 2], other: [f64; 2]) -> [f64; 2] {
    [one[0].min(other[0]), one[1].max(other[1])]
}

impl Kept for Envelope {
    const NOTHING: Self = Self { phases: [NOTHING; 3], frequency: NOTHING, powers: [Spent { energy: 0.0, lasted: 0 }; 2] };

    fn joined(mut self, other: Self) -> Self {
        for (one, other) in self.phases.iter_mut().zip(other.phases) {
            *one = wider(*one, other);
        }
        for (one, other) in self.powers.iter_mut().zip(other.powers) {
            *one = Spent { energy: one.energy + other.energy, lasted: one.lasted + other.lasted };
        }
        Self { frequency: wider(self.frequency, other.frequency), ..self }
    }
}

impl Envelope {
    fn of(row: &Row) -> Self {
        let mut envelope = Self::NOTHING;
        envelope.widen(row);
        envelope
    }

    /// Takes in the voltages and the frequency of a row.
    fn widen(&mut self, row: &Row) {
        let widen = |range: &mut [f64; 2], value: f64| *range = wider(*range, [value; 2]);
        self.phases.iter_mut().zip(row.values).for_each(|(range, volts)| widen(range, volts));
        widen(&mut self.frequency, row.frequency());
    }

    fn powers(&mut self, row: &Row, lasted: Micros) {
        for (spent, watts) in self.powers.iter_mut().zip([row.power(), row.available()]) {
            if !watts.is_nan() {
                *spent = Spent { energy: spent.energy + watts * lasted as f64, lasted: spent.lasted + lasted };
            }
        }
    }

    /// Lowest and highest of any phase.
    pub fn voltage(&self) -> [f64; 2] {
        self.phases.into_iter().fold(NOTHING, wider)
    }

    /// Mean watts given, and that could have been given, where the log says.
    pub fn watts(&self) -> [Option<f64>; 2] {
        self.powers.map(|spent| (spent.lasted > 0).then(|| spent.energy / spent.lasted as f64))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use logs::VALUES;

    fn look(seconds: impl Iterator<Item = i64>, row: impl Fn(i64) -> [f64; VALUES]) -> Overview {
        let spacing = Spacing { usual: 1_000_000, longest: 3_000_000 };
        let mut overview = Overview::new(230.0, 1, spacing);
        for second in seconds {
            overview.look(&Row { at: second * 1_000_000, values: row(second) }, true, false);
        }
        overview
    }

    const NONE: f64 = f64::NAN;

    #[test]
    fn an_envelope_keeps_every_extreme_however_long_the_log() {
        let overview = look(0..100_000, |second| {
            let volts = if second == 77_777 { 280.0 } else { 230.0 };
            [volts, NONE, NONE, if second == 5 { NONE } else { 50.0 }, NONE, NONE, if second < 50_000 { 1000.0 } else { 3000.0 }, NONE]
        });
        let envelope = &overview.envelope;
        assert!(envelope.all.len() <= 512);
        let at = (77_777_000_000 / envelope.width) as usize;
        assert_eq!((envelope.all[at].voltage(), envelope.all[at].frequency), ([230.0, 280.0], [50.0; 2]));
        assert_eq!(envelope.all.iter().filter(|kept| kept.voltage()[1] > 230.0).count(), 1);
        let watts: Vec<f64> = envelope.all.iter().filter_map(|kept| kept.watts()[1]).collect();
        let mean = watts.iter().sum::<f64>() / watts.len() as f64;
        assert!((watts[0], watts[watts.len() - 1]) == (1000.0, 3000.0) && (mean - 2000.0).abs() < 10.0, "{mean}");
    }

    /// A value holds over a step that is longer than usual, and no further than the usual step at a gap.
    #[test]
    fn what_holds_is_drawn_and_a_gap_is_not() {
        let overview = look([0, 1, 3, 4, 9, 10].into_iter(), |second| [230.0 + second as f64, NONE, NONE, 50.0, NONE, NONE, NONE, NONE]);
        let drawn: Vec<f64> = overview.envelope.all.iter().map(|kept| kept.voltage()[1]).collect();
        let gap = f64::NEG_INFINITY;
        assert_eq!(drawn, [230.0, 231.0, 231.0, 233.0, 234.0, gap, gap, gap, gap, 239.0, 240.0]);
    }
}
