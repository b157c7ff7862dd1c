//! How long a device has to stay on, when it may leave and by when it must have left, slice by slice of
//! voltage or of frequency: the picture behind a list of stages.
//!
//! A stage asks of everything past its threshold; where a threshold may lie within a range, it may act
//! past the edge that is nearer to nominal, and must past the farther one. Sustained overvoltage looks at
//! a mean: a value past its threshold has to leave once the mean is past it, which depends on the time before,
//! and has to be off at the latest when the value has filled the whole window.

use crate::range::{Range, range};
use crate::withstand::{self, STAGES};
use settings_model::catalogue::{Function, SettingId, Shape};
use settings_model::claim::Var;
use settings_model::curve::{Reading, value_at};
use settings_model::exact::Exact;
use settings_model::facts::Facts;
use settings_model::quantity::Dimension;
use settings_model::requirement::Requirement;

/// A map of voltage or of frequency.
#[derive(Clone, Debug, PartialEq)]
pub struct TripMap {
    /// What is measured: voltage or frequency.
    pub measured: Dimension,
    /// From the lowest values to the highest, without a gap.
    pub slices: Vec<Slice>,
    /// Whether the standard says how long to stay on; else only the least delays of stages say so.
    pub withstand_is_asked: bool,
    /// The limit on the mean of the voltage, where one is asked.
    pub mean: Option<MeanLimit>,
}

/// A limit on the mean over a window: sustained overvoltage.
#[derive(Clone, Debug, PartialEq)]
pub struct MeanLimit {
    /// The function, by key.
    pub function: &'static str,
    /// The mean above which the device may leave, and the one above which it must; alike where one value is asked.
    pub above: [Exact; 2],
    /// The window, in seconds.
    pub window: Exact,
    /// By how many seconds after the mean is past it the device must be off; `None` where nobody says.
    pub off_within: Option<Exact>,
}

/// What sustained overvoltage is.
pub const SUSTAINED: SettingId = SettingId::of("sustained-overvoltage", "threshold");

impl MeanLimit {
    fn of(requirement: &Requirement, facts: &Facts) -> Option<Self> {
        if requirement.keeps_idle(SUSTAINED) {
            return None;
        }
        let [low, high] = edges(SUSTAINED, requirement, facts)?;
        let above = [low.or(high)?, high.or(low)?];
        let of = |key: &str| SUSTAINED.sibling(key).and_then(|setting| edges(setting, requirement, facts));
        // what the words of the catalogue mean by sustained overvoltage
        let window = of("averaging-window").and_then(|[low, high]| low.or(high)).unwrap_or(Exact::new(600, 0));
        let off_within = of("disconnection").and_then(|[_, most]| most);
        Some(Self { function: SUSTAINED.function().key, above, window, off_within })
    }

    /// Seconds by which a value that stays past the limit has to be off, whatever was before it.
    #[must_use]
    pub fn off_by(&self) -> Option<Exact> {
        self.off_within.map(|seconds| self.window + seconds)
    }

    /// Whether a device that meets values from here on may leave, or has to.
    fn acts(&self, from: Option<Exact>) -> [bool; 2] {
        self.above.map(|above| from.is_some_and(|from| from >= above))
    }
}

/// Values between two edges that are treated alike.
#[derive(Clone, Debug, PartialEq)]
pub struct Slice {
    /// The lower edge; `None` for the lowest slice.
    pub from: Option<Exact>,
    /// The upper edge; `None` for the highest slice.
    pub to: Option<Exact>,
    /// How long the device has to stay on at least, just inside either edge, in seconds; where the two
    /// differ, a straight line leads from one to the other.
    pub stays: [Stay; 2],
    /// By when it must be off, in seconds; `None` where nobody asks it to leave, or nobody says by when.
    pub off_by: Option<Exact>,
    /// The functions that act here, by key.
    pub stages: Vec<&'static str>,
    /// Whether only the limit on the mean makes it leave here: it has to stay on until the mean is past that.
    pub by_mean: bool,
}

impl Slice {
    /// How long the device has to stay on at a value between the edges, in seconds, to a millisecond where a line
    /// leads from one to the other; `None` for as long as it lasts.
    #[must_use]
    pub fn stays_at(&self, value: Exact) -> Option<Exact> {
        let seconds = self.stays.map(|stay| if let Stay::For(seconds) = stay { Some(seconds) } else { None });
        match (seconds, self.from, self.to) {
            ([Some(low), Some(high)], Some(from), Some(to)) if low != high => {
                let [low, high, from, to, value] = [low, high, from, to, value].map(Exact::approximate);
                Exact::nearest(low + (high - low) * ((value - from) / (to - from)).clamp(0.0, 1.0), 3)
            }
            ([one, other], ..) => one.into_iter().chain(other).min(),
        }
    }
}

/// How long a device has to stay on.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Stay {
    /// For as long as it lasts: no stage acts here, or operation is continuous.
    Always,
    /// At least so many seconds.
    For(Exact),
}

impl Stay {
    /// The longer of two.
    fn longer(self, other: Self) -> Self {
        match (self, other) {
            (Self::For(one), Self::For(another)) => Self::For(one.max(another)),
            _ => Self::Always,
        }
    }
}

/// The least and the greatest value that complies, where they are numbers.
fn edges(setting: SettingId, requirement: &Requirement, facts: &Facts) -> Option<[Option<Exact>; 2]> {
    let entry = &requirement.get(setting)?.entry;
    match range(&entry.comply, facts, Var::from(setting)).ok()? {
        Range::Numbers(found) => Some([found.low, found.high].map(|edge| edge.map(|edge| edge.at))),
        _ => None,
    }
}

/// A stage as it is asked for.
struct RequiredStage {
    function: &'static Function,
    acts_below: bool,
    /// Past this it may act.
    may: Exact,
    /// Past this it must.
    must: Exact,
    earliest: Exact,
    latest: Option<Exact>,
}

impl RequiredStage {
    fn of(stage: &withstand::Stage, requirement: &Requirement, facts: &Facts) -> Option<Self> {
        if requirement.keeps_idle(stage.threshold) {
            return None;
        }
        let [low, high] = edges(stage.threshold, requirement, facts)?;
        let (low, high) = (low.or(high)?, high.or(low)?);
        let (may, must) = if stage.acts_below { (high, low) } else { (low, high) };
        let of = |key: &str| stage.threshold.sibling(key).and_then(|setting| edges(setting, requirement, facts));
        let earliest = ["definite-delay", "operate-time"].iter().find_map(|key| of(key)?[0]).unwrap_or(Exact::ZERO);
        let latest = ["disconnection", "clearing-time"].iter().find_map(|key| of(key)?[1]);
        Some(Self { function: stage.threshold.function(), acts_below: stage.acts_below, may, must, earliest, latest })
    }

    /// Whether a slice lies past a threshold.
    fn is_past(&self, threshold: Exact, from: Option<Exact>, to: Option<Exact>) -> bool {
        if self.acts_below { to.is_some_and(|to| to <= threshold) } else { from.is_some_and(|from| from >= threshold) }
    }
}

/// What is asked of moments of voltage or of frequency; `None` where nothing is.
#[must_use]
pub fn trip_map(measured: Dimension, requirement: &Requirement, facts: &Facts) -> Option<TripMap> {
    let of_measured: Vec<&withstand::Stage> =
        STAGES.iter().filter(|stage| stage.threshold.parameter().shape == Shape::Quantity(measured)).collect();
    let asked: Vec<RequiredStage> = of_measured.iter().filter_map(|stage| RequiredStage::of(stage, requirement, facts)).collect();
    let sides = [true, false].map(|below| Side::of(of_measured.iter().find(|stage| stage.acts_below == below)?, requirement, facts));
    let mean = if measured == Dimension::Voltage { MeanLimit::of(requirement, facts) } else { None };
    if asked.is_empty() && mean.is_none() && sides.iter().all(Option::is_none) {
        return None;
    }
    let mut edges: Vec<Exact> = asked.iter().flat_map(|stage| [stage.may, stage.must]).collect();
    edges.extend(mean.iter().flat_map(|mean| mean.above));
    edges.extend(sides.iter().flatten().flat_map(Side::edges));
    edges.sort_unstable();
    edges.dedup();
    let ends = std::iter::once(None).chain(edges.iter().copied().map(Some));
    let slices = ends.zip(edges.iter().copied().map(Some).chain([None])).map(|(from, to)| slice(from, to, &asked, mean.as_ref(), &sides));
    Some(TripMap { measured, slices: merged(slices), withstand_is_asked: sides.iter().any(Option::is_some), mean })
}

fn slice(from: Option<Exact>, to: Option<Exact>, asked: &[RequiredStage], mean: Option<&MeanLimit>, sides: &[Option<Side>; 2]) -> Slice {
    let acting: Vec<&RequiredStage> = asked.iter().filter(|stage| stage.is_past(stage.may, from, to)).collect();
    let must = asked.iter().filter(|stage| stage.is_past(stage.must, from, to));
    let by_stages = acting.iter().map(|stage| stage.earliest).min().map(Stay::For);
    let stays = |is_upper: bool| {
        let own = sides.iter().flatten().filter_map(|side| side.stay(from, to, is_upper)).reduce(Stay::longer);
        own.into_iter().chain(by_stages).reduce(Stay::longer).unwrap_or(Stay::Always)
    };
    let [may_by_mean, must_by_mean] = mean.map_or([false; 2], |mean| mean.acts(from));
    let off_by_mean = mean.filter(|_| must_by_mean).and_then(MeanLimit::off_by);
    let stays = [stays(false), stays(true)];
    let by_mean = may_by_mean && stays == [Stay::Always; 2];
    let latest = must.filter_map(|stage| stage.latest).min();
    // where a stage of moments has to act, it acts long before the mean is past its limit
    let of_mean = mean.filter(|_| may_by_mean && latest.is_none()).map(|mean| mean.function);
    Slice {
        from,
        to,
        stays,
        off_by: latest.or(off_by_mean),
        stages: acting.iter().map(|stage| stage.function.key).chain(of_mean).collect(),
        by_mean,
    }
}

/// Neighbours that are treated alike are one.
fn merged(slices: impl Iterator<Item = Slice>) -> Vec<Slice> {
    let mut all: Vec<Slice> = Vec::new();
    for slice in slices {
        match all.last_mut() {
            Some(last)
                if last.stays == slice.stays
                    && last.stays[0] == last.stays[1]
                    && last.off_by == slice.off_by
                    && (&last.stages, last.by_mean) == (&slice.stages, slice.by_mean) =>
            {
                last.to = slice.to;
            }
            _ => all.push(slice),
        }
    }
    all
}

/// What is asked of riding through, below nominal or above.
struct Side {
    acts_below: bool,
    /// The edge of continuous operation.
    continuous: Option<Exact>,
    /// The shortest time to stay on, against what is measured.
    shortest: Option<Vec<(Exact, Exact)>>,
}

impl Side {
    fn of(stage: &withstand::Stage, requirement: &Requirement, facts: &Facts) -> Option<Self> {
        let (continuous, shortest) = (stage.edge(requirement, facts), stage.shortest(requirement, facts));
        (continuous.is_some() || shortest.is_some()).then_some(Self { acts_below: stage.acts_below, continuous, shortest })
    }

    fn edges(&self) -> impl Iterator<Item = Exact> + '_ {
        self.continuous.into_iter().chain(self.shortest.iter().flatten().map(|(x, _)| *x))
    }

    /// What this side says just inside one edge of a slice; `None` where the slice is not on it.
    fn stay(&self, from: Option<Exact>, to: Option<Exact>, is_upper: bool) -> Option<Stay> {
        let is_beyond = |edge: Exact| if self.acts_below { to.is_some_and(|to| to <= edge) } else { from.is_some_and(|from| from >= edge) };
        // nearer to nominal than its edge is the other side's business, or continuous
        if !self.continuous.is_none_or(is_beyond) {
            return None;
        }
        let shortest = self.shortest.as_ref()?;
        let time = match (is_upper, from, to) {
            (true, _, Some(to)) => before(value_at(shortest, to)?),
            (false, Some(from), _) => after(value_at(shortest, from)?),
            (true, Some(from), None) => after(value_at(shortest, from)?),
            (false, None, Some(to)) => before(value_at(shortest, to)?),
            (_, None, None) => return None,
        };
        Some(Stay::For(time))
    }
}

fn before(reading: Reading) -> Exact {
    match reading {
        Reading::Level(level) | Reading::Step { before: level, .. } => level,
    }
}

fn after(reading: Reading) -> Exact {
    match reading {
        Reading::Level(level) | Reading::Step { after: level, .. } => level,
    }
}

/// The thresholds of all stages that look at moments of voltage or of frequency, and whether each acts
/// below its own.
pub fn thresholds(measured: Dimension) -> impl Iterator<Item = (SettingId, bool)> {
    let of_measured = move |stage: &&withstand::Stage| stage.threshold.parameter().shape == Shape::Quantity(measured);
    STAGES.iter().filter(of_measured).map(|stage| (stage.threshold, stage.acts_below))
}
