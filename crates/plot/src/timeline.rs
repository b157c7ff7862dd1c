//! What a picture of a timeline shows, for any medium: what was measured, the thresholds that it met, and
//! what devices did, on one axis of time. Meanings only; each medium has its own ink.
//!
//! Binary floating point is allowed here: pictures decide nothing. Times are seconds since the first value.

pub mod ticks;

use super::scale::Scale;
pub use ticks::Clock;

/// A timeline.
#[derive(Clone, Debug)]
pub struct Timeline {
    /// What it shows, as a heading.
    pub title: String,
    /// What it shows, in words, for those who hear it read.
    pub description: String,
    /// What has to be read before anything else.
    pub warning: Option<String>,
    /// How times are shown.
    pub clock: Clock,
    /// How long it lasts, in seconds.
    pub lasts: f64,
    /// What was measured, one below another.
    pub panels: Vec<Panel>,
    /// What each device did.
    pub devices: Vec<DeviceTimeline>,
    /// Where nothing was measured: nothing is drawn there.
    pub unknown: Vec<Span>,
    /// What is to be said below it.
    pub notes: Vec<String>,
}

/// From when until when.
pub type Span = [f64; 2];

/// Quantities of one unit.
#[derive(Clone, Debug)]
pub struct Panel {
    /// The quantity, such as `Voltage`.
    pub label: String,
    /// Its unit.
    pub unit: &'static str,
    /// What is drawn; later ones lie over earlier ones.
    pub series: Vec<Series>,
    /// Thresholds within reach.
    pub levels: Vec<Level>,
    /// Thresholds that lie too far away to be drawn, in words.
    pub farther: Vec<String>,
    /// From where to where the axis goes at least; values beyond lie at the edge.
    pub range: [f64; 2],
}

impl Panel {
    /// `Voltage (V)`.
    pub fn title(&self) -> String {
        format!("{} ({})", self.label, self.unit)
    }

    /// The axis with about so many numbers.
    pub fn scale(&self, numbers: usize) -> Scale {
        Scale::around(self.range.into_iter(), numbers)
    }
}

/// Values over time.
#[derive(Clone, Debug)]
pub struct Series {
    /// What it is.
    pub label: String,
    /// How it is told from others.
    pub style: Style,
    /// Rising in time; where one does not begin as the last ends, nothing is known between.
    pub steps: Vec<Step>,
}

/// How a series is told from others: each medium has its own dashes for it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Style {
    /// As it was measured: one of several by its place.
    Measured(usize),
    /// A mean of it.
    Mean,
    /// What the log says was given.
    Logged,
    /// What could have been.
    Possible,
    /// What a device made of it, by its place.
    Device(usize),
}

/// Lowest and highest value over a while.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Step {
    /// From when.
    pub from: f64,
    /// Until when.
    pub until: f64,
    /// Lowest.
    pub low: f64,
    /// Highest.
    pub high: f64,
}

impl Series {
    /// Stretches without a hole.
    pub fn runs(&self) -> impl Iterator<Item = &[Step]> {
        self.steps.chunk_by(|one, next| next.from <= one.until)
    }

    /// Whether it has one value at a time.
    pub fn is_line(&self) -> bool {
        self.steps.iter().all(|step| step.low == step.high)
    }
}

/// The highest, or the lowest, values of a run as a line of (seconds, value) with upright steps.
pub fn edge(run: &[Step], of: fn(&Step) -> f64) -> Vec<(f64, f64)> {
    run.iter().flat_map(|step| [(step.from, of(step)), (step.until, of(step))]).collect()
}

/// A threshold.
#[derive(Clone, Debug, PartialEq)]
pub struct Level {
    /// Where.
    pub at: f64,
    /// Whose it is, in words, without the value.
    pub label: String,
    /// The value with its unit.
    pub value: String,
    /// What it does.
    pub does: Does,
}

/// What a threshold does.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Does {
    /// Past it, a stage trips.
    Trips,
    /// Within it, a device may connect.
    Connects,
    /// Past it, a device gives nothing.
    Ceases,
}

/// What a device did.
#[derive(Clone, Debug)]
pub struct DeviceTimeline {
    /// Whose it is.
    pub title: String,
    /// What it came to, in a sentence or two.
    pub says: String,
    /// One row, or two where a device may have been off and need not have been.
    pub rows: Vec<Row>,
    /// What happened, numbered.
    pub marks: Vec<Mark>,
    /// When more happened, without a number.
    pub more: Vec<f64>,
    /// What is to be said of those.
    pub more_says: Option<String>,
}

/// One row of states.
#[derive(Clone, Debug)]
pub struct Row {
    /// Whose, where there are two.
    pub label: &'static str,
    /// Rising in time; between them nothing is known.
    pub spells: Vec<Spell>,
}

/// How long something was done.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Spell {
    /// From when.
    pub from: f64,
    /// Until when.
    pub until: f64,
    /// Shares of the time, in the order of [`Doing::ALL`]; all but one are nought where it is known when
    /// each began and ended.
    pub shares: [f64; 6],
}

/// What a device does.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Doing {
    /// Off, and may not connect yet.
    Waiting,
    /// Off, and counting how long it may.
    Observing,
    /// On, and coming up.
    Ramping,
    /// On.
    Running,
    /// On, and giving nothing for a moment.
    Ceased,
    /// On, and kept from giving what it could.
    HeldBack,
}

impl Doing {
    /// Every one, as shares are counted.
    pub const ALL: [Self; 6] = [Self::Waiting, Self::Observing, Self::Ramping, Self::Running, Self::Ceased, Self::HeldBack];

    /// In words.
    pub fn words(self) -> &'static str {
        match self {
            Self::Waiting => "off, waiting",
            Self::Observing => "off, observing",
            Self::Ramping => "ramping up",
            Self::Running => "running",
            Self::Ceased => "ceased for a moment",
            Self::HeldBack => "running, limited",
        }
    }

    /// Its place among all.
    pub fn place(self) -> usize {
        Self::ALL.iter().position(|one| *one == self).unwrap_or(0)
    }

    /// Nothing but this.
    pub fn only(self) -> [f64; 6] {
        Self::ALL.map(|one| f64::from(u8::from(one == self)))
    }
}

impl Spell {
    /// What it shows where there is room for one thing: what most of it was, but to be off for a tenth of
    /// it is never hidden.
    pub fn foremost(&self) -> Doing {
        let off = [Doing::Waiting, Doing::Observing];
        let share = |doing: &Doing| self.shares[doing.place()];
        let most = |of: &[Doing]| of.iter().copied().max_by(|one, other| share(one).total_cmp(&share(other))).unwrap_or(Doing::Running);
        if off.iter().map(share).sum::<f64>() >= 0.1 { most(&off) } else { most(&Doing::ALL) }
    }
}

impl Row {
    /// What a span shows where there is room for one thing; `None` where nothing is known of most of it.
    pub fn foremost(&self, [from, until]: Span) -> Option<Doing> {
        let mut all = Spell { from, until, shares: [0.0; 6] };
        for spell in self.spells.iter().skip_while(|spell| spell.until <= from).take_while(|spell| spell.from < until) {
            let part = (spell.until.min(until) - spell.from.max(from)) / (until - from);
            all.shares.iter_mut().zip(spell.shares).for_each(|(sum, share)| *sum += share * part);
        }
        (all.shares.iter().sum::<f64>() >= 0.5).then(|| all.foremost())
    }
}

/// Something that happened.
#[derive(Clone, Debug, PartialEq)]
pub struct Mark {
    /// Its number, with the device's letter where there are several.
    pub name: String,
    /// Between when and when.
    pub between: Span,
    /// Whether it certainly happened.
    pub is_certain: bool,
    /// In a sentence.
    pub says: String,
}

/// Spans without what lies in others.
pub fn without(span: Span, holes: &[Span]) -> Vec<Span> {
    let (mut left, [mut from, until]) = (Vec::new(), span);
    for [begins, ends] in holes.iter().filter(|hole| hole[1] > span[0] && hole[0] < span[1]) {
        if *begins > from {
            left.push([from, *begins]);
        }
        from = from.max(*ends);
    }
    if from < until {
        left.push([from, until]);
    }
    left
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn holes_are_cut_out() {
        let holes = [[2.0, 3.0], [5.0, 9.0]];
        assert_eq!(without([0.0, 10.0], &holes), [[0.0, 2.0], [3.0, 5.0], [9.0, 10.0]]);
        assert_eq!(without([2.5, 6.0], &holes), [[3.0, 5.0]]);
        assert_eq!(without([6.0, 8.0], &holes), Vec::<Span>::new());
        assert_eq!(without([3.0, 5.0], &holes), [[3.0, 5.0]]);
    }

    #[test]
    fn a_short_time_off_is_not_hidden() {
        let spell = |from, until, doing: Doing| Spell { from, until, shares: doing.only() };
        let row = Row { label: "", spells: vec![spell(0.0, 85.0, Doing::Running), spell(85.0, 97.0, Doing::Observing)] };
        assert_eq!(row.foremost([0.0, 100.0]), Some(Doing::Observing));
        assert_eq!(row.foremost([0.0, 90.0]), Some(Doing::Running));
        assert_eq!(row.foremost([90.0, 110.0]), None, "nobody knows most of it");
    }
}
