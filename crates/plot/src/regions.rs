//! A map of voltage or frequency against duration: where a device stays, may leave and must be off.
//! Meanings only; each medium has its own ink. Binary floating point is allowed here: pictures decide nothing.

use super::figure::Axis;

/// A map.
#[derive(Clone, Debug)]
pub struct RegionMap {
    /// What it shows, as a heading.
    pub title: String,
    /// What it shows, in words, for those who hear it read.
    pub description: String,
    /// What is measured.
    pub y: Axis,
    /// From the lowest values to the highest.
    pub strips: Vec<Strip>,
    /// What devices hold: what a line means, and the stages that it shows.
    pub devices: Vec<(String, Vec<Acts>)>,
    /// Limits on a mean, which lie across every duration.
    pub means: Vec<MeanLine>,
}

/// A limit on a mean.
#[derive(Clone, Debug, PartialEq)]
pub struct MeanLine {
    /// The limit.
    pub at: f64,
    /// What looks at it, its value and whose it is.
    pub label: String,
}

/// Values that are treated alike.
#[derive(Clone, Copy, Debug)]
pub struct Strip {
    /// The lower edge; `None` without end.
    pub from: Option<f64>,
    /// The upper edge; `None` without end.
    pub to: Option<f64>,
    /// For how many seconds the device stays at least, at either edge; `None` for as long as it lasts.
    pub stays: [Option<f64>; 2],
    /// By when it is off, in seconds.
    pub off_by: Option<f64>,
    /// Whether only a limit on a mean acts here: when it leaves depends on the time before.
    pub by_mean: bool,
}

/// A stage that a device holds.
#[derive(Clone, Copy, Debug)]
pub struct Acts {
    /// Whether it acts below its threshold.
    pub below: bool,
    /// The threshold.
    pub at: f64,
    /// After so many seconds.
    pub after: f64,
}

/// What a place of the map means.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Meaning {
    /// The device stays on.
    Stays,
    /// It may leave.
    May,
    /// It must have left.
    Off,
}

impl Meaning {
    /// Every one, in the order in which time passes.
    pub const ALL: [Self; 3] = [Self::Stays, Self::May, Self::Off];

    /// In words.
    pub fn words(self) -> &'static str {
        match self {
            Self::Stays => "must stay on",
            Self::May => "may trip",
            Self::Off => "must be off",
        }
    }
}

/// Where the axes begin and end: seconds, and the measured values. No strip is so thin that it cannot be read, so
/// the axis of values is straight only within each.
#[derive(Clone, Debug)]
pub struct Bounds {
    /// The first and last power of ten of seconds.
    pub decades: [i32; 2],
    /// The lowest and highest value.
    pub values: [f64; 2],
    /// Every edge of a strip between them, rising, each with where it stands: 0 at the lowest value and 1 at the highest.
    pub edges: Vec<(f64, f64)>,
}

/// The share of the axis that a strip has at least, where there are few.
const THINNEST: f64 = 0.11;

impl Bounds {
    /// Where a duration stands, 0 at the beginning and 1 at the end.
    pub fn share_of_time(&self, seconds: f64) -> f64 {
        let [first, last] = self.decades.map(f64::from);
        ((seconds.max(1e-9).log10() - first) / (last - first)).clamp(0.0, 1.0)
    }

    /// Where a value stands, 0 at the lowest and 1 at the highest.
    pub fn share_of_value(&self, value: f64) -> f64 {
        let [low, high] = self.values;
        between(&self.knots(), value.clamp(low, high))
    }

    /// The duration at a share.
    pub fn seconds(&self, share: f64) -> f64 {
        let [first, last] = self.decades.map(f64::from);
        10f64.powf(first + share * (last - first))
    }

    /// The value at a share.
    pub fn value(&self, share: f64) -> f64 {
        let turned: Vec<(f64, f64)> = self.knots().into_iter().map(|(value, share)| (share, value)).collect();
        between(&turned, share.clamp(0.0, 1.0))
    }

    fn knots(&self) -> Vec<(f64, f64)> {
        let [low, high] = self.values;
        std::iter::once((low, 0.0)).chain(self.edges.iter().copied()).chain([(high, 1.0)]).collect()
    }
}

/// Straight between neighbours.
fn between(knots: &[(f64, f64)], x: f64) -> f64 {
    let straight = |pair: &[(f64, f64)]| {
        let [(from, low), (to, high)] = [pair[0], pair[1]];
        (from <= x && x <= to && from < to).then(|| low + (high - low) * (x - from) / (to - from))
    };
    knots.windows(2).find_map(straight).unwrap_or(0.0)
}

/// Where each edge stands, so that what lies between two of them has at least its share.
fn spread(edges: &[f64], [low, high]: [f64; 2]) -> Vec<(f64, f64)> {
    let ends: Vec<f64> = std::iter::once(low).chain(edges.iter().copied()).chain([high]).collect();
    let spans: Vec<f64> = ends.windows(2).map(|pair| pair[1] - pair[0]).collect();
    let least = (high - low) * THINNEST.min(0.7 / spans.len() as f64);
    let widened: Vec<f64> = spans.iter().map(|span| span.max(least)).collect();
    let all: f64 = widened.iter().sum();
    let mut at = 0.0;
    edges
        .iter()
        .zip(&widened)
        .map(|(edge, wide)| {
            at += wide / all;
            (*edge, at)
        })
        .collect()
}

impl RegionMap {
    /// Wide enough for every edge and every time, with air around.
    pub fn bounds(&self) -> Bounds {
        let times = self.strips.iter().flat_map(|strip| strip.stays.into_iter().flatten().chain(strip.off_by));
        let times = times.chain(self.devices.iter().flat_map(|(_, stages)| stages.iter().map(|stage| stage.after))).filter(|t| *t > 0.0);
        let (least, most) = times.fold((0.1f64, 100.0f64), |(least, most), time| (least.min(time), most.max(time)));
        let of_strips = self.strips.iter().flat_map(|strip| strip.from.into_iter().chain(strip.to));
        let held = self.devices.iter().flat_map(|(_, stages)| stages.iter().map(|stage| stage.at));
        let mut edges: Vec<f64> = of_strips.chain(held).chain(self.means.iter().map(|mean| mean.at)).collect();
        edges.sort_by(f64::total_cmp);
        edges.dedup();
        let (low, high) = (edges.first().copied().unwrap_or(f64::INFINITY), edges.last().copied().unwrap_or(f64::NEG_INFINITY));
        let (low, high) = if low < high { (low, high) } else { (low - 1.0, low + 1.0) };
        let air = (high - low) * 0.12;
        // below nothing there is no voltage
        let bottom = if low >= 0.0 { (low - air).max(0.0) } else { low - air };
        let decades = [(least * 0.9).log10().floor() as i32, (most * 1.5).log10().ceil() as i32];
        let values = [bottom, high + air];
        edges.retain(|edge| values[0] < *edge && *edge < values[1]);
        Bounds { decades, values, edges: spread(&edges, values) }
    }

    /// What a place means.
    pub fn meaning(&self, seconds: f64, value: f64) -> Meaning {
        let holds = |strip: &&Strip| strip.from.is_none_or(|from| from <= value) && strip.to.is_none_or(|to| value < to);
        let Some(strip) = self.strips.iter().find(holds) else { return Meaning::Stays };
        match (strip.stay_at(value), strip.off_by) {
            (None, off) if strip.by_mean => off.filter(|off| seconds >= *off).map_or(Meaning::May, |_| Meaning::Off),
            (None, _) => Meaning::Stays,
            (Some(stays), _) if seconds < stays => Meaning::Stays,
            (_, Some(off)) if seconds >= off => Meaning::Off,
            _ => Meaning::May,
        }
    }
}

impl Strip {
    /// How long a device stays at a value; straight between the edges.
    fn stay_at(&self, value: f64) -> Option<f64> {
        match (self.stays, self.from, self.to) {
            ([Some(low), Some(high)], Some(from), Some(to)) if low != high => Some(low + (high - low) * (value - from) / (to - from)),
            ([low, high], ..) => low.or(high),
        }
    }
}

/// The path of a device's stages on one side, from short to long: how far it may go before it trips.
pub fn trip_path(stages: &[Acts], below: bool, bounds: &Bounds) -> Vec<(f64, f64)> {
    let mut own: Vec<&Acts> = stages.iter().filter(|stage| stage.below == below).collect();
    own.sort_by(|one, other| one.after.total_cmp(&other.after));
    let far = if below { bounds.values[0] } else { bounds.values[1] };
    let end = 10f64.powi(bounds.decades[1]);
    let (mut path, mut level) = (Vec::new(), far);
    for stage in own {
        // a slower stage that lies farther out never acts first
        if if below { stage.at <= level } else { stage.at >= level } && level != far {
            continue;
        }
        path.push((stage.after, level));
        path.push((stage.after, stage.at));
        level = stage.at;
    }
    if !path.is_empty() {
        path.push((end, level));
    }
    path
}

#[cfg(test)]
mod tests {
    use super::*;

    /// However near two edges lie, what is between them can be read; and a value is where its share says.
    #[test]
    fn no_strip_is_too_thin_to_read() {
        for edges in [vec![70.0, 180.0, 256.0, 265.0, 275.0], vec![47.0, 47.5, 49.0, 51.0, 51.5, 52.0], vec![0.5, 1.1, 1.2], vec![100.0]] {
            let values = [edges[0] - 1.0, edges[edges.len() - 1] + 1.0];
            let bounds = Bounds { decades: [-1, 3], values, edges: spread(&edges, values) };
            let shares: Vec<f64> = edges.iter().map(|edge| bounds.share_of_value(*edge)).chain([1.0]).collect();
            assert!(shares[0] > 0.05 && shares.windows(2).all(|pair| pair[1] - pair[0] > 0.05), "{shares:?}");
            for share in [0.0, 0.1, 0.33, 0.5, 0.77, 1.0] {
                assert!((bounds.share_of_value(bounds.value(share)) - share).abs() < 1e-9, "{edges:?} {share}");
            }
        }
    }
}
