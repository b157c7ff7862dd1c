//! A response in plain numbers, with what it may come to over a stretch of its variable and over a mean.

use response::line::Line;

/// Straight between its points, flat outside them; two points at one place are a step.
#[derive(Clone, Debug, PartialEq)]
pub struct Curve {
    points: Vec<[f64; 2]>,
    kinks: Vec<Kink>,
}

/// Where the slope changes.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Kink {
    at: f64,
    /// By so much, per unit of the variable; above zero it bends upwards.
    by: f64,
}

/// The run over which a step is taken to be steep and not upright, so that a slope can be told there.
const STEP: f64 = 1e-3;

impl Curve {
    /// By points in ascending order; at least one.
    #[must_use]
    pub fn new(mut points: Vec<[f64; 2]>) -> Self {
        for n in 1..points.len() {
            if points[n][0] <= points[n - 1][0] {
                points[n][0] = points[n - 1][0] + STEP;
            }
        }
        let kinks = kinks(&points);
        Self { points, kinks }
    }

    /// The curve of a response.
    #[must_use]
    pub fn of(line: &Line) -> Self {
        Self::new(line.points().to_vec())
    }

    /// The same level everywhere.
    #[must_use]
    pub fn flat(level: f64) -> Self {
        Self::new(vec![[0.0, level]])
    }

    /// What several come to together, at the same place.
    #[must_use]
    pub fn sum(all: &[Self]) -> Self {
        let mut places: Vec<f64> = all.iter().flat_map(|curve| &curve.points).map(|[x, _]| *x).collect();
        places.sort_unstable_by(f64::total_cmp);
        places.dedup();
        Self::new(places.into_iter().map(|x| [x, all.iter().map(|curve| curve.at(x)).sum()]).collect())
    }

    /// Its points.
    #[must_use]
    pub fn points(&self) -> &[[f64; 2]] {
        &self.points
    }

    /// The level at a place.
    #[must_use]
    pub fn at(&self, x: f64) -> f64 {
        let after = self.points.partition_point(|point| point[0] <= x);
        match (self.points[..after].last(), self.points[after..].first()) {
            (Some([x0, y0]), Some([x1, y1])) => y0 + (y1 - y0) * (x - x0) / (x1 - x0),
            (Some([_, level]), None) | (None, Some([_, level])) => *level,
            (None, None) => f64::NAN,
        }
    }

    /// Where it lies at a level and stays there; the flat ends go on for ever.
    #[must_use]
    pub fn stretch_at(&self, level: f64) -> Option<[f64; 2]> {
        let first = self.points.iter().position(|[_, y]| *y == level)?;
        let last = first + self.points[first..].iter().take_while(|[_, y]| *y == level).count() - 1;
        let from = if first == 0 { f64::NEG_INFINITY } else { self.points[first][0] };
        let to = if last + 1 == self.points.len() { f64::INFINITY } else { self.points[last][0] };
        (from < to).then_some([from, to])
    }

    /// Least and greatest level between two places.
    #[must_use]
    pub fn range(&self, low: f64, high: f64) -> [f64; 2] {
        let (at_low, at_high) = (self.at(low), self.at(high));
        let ends = [at_low.min(at_high), at_low.max(at_high)];
        let within = self.points.iter().filter(|[x, _]| low < *x && *x < high);
        within.fold(ends, |[least, most], [_, y]| [least.min(*y), most.max(*y)])
    }

    /// The same within limits, with points where it meets them.
    #[must_use]
    pub fn within(&self, low: f64, high: f64) -> Self {
        let mut points: Vec<[f64; 2]> = Vec::new();
        for (n, point) in self.points.iter().enumerate() {
            if let Some(before) = n.checked_sub(1).map(|n| self.points[n]) {
                let mut met: Vec<[f64; 2]> = [low, high].iter().filter_map(|level| meets(before, *point, *level)).collect();
                met.sort_unstable_by(|one, other| one[0].total_cmp(&other[0]));
                points.extend(met);
            }
            points.push([point[0], point[1].clamp(low, high)]);
        }
        Self::new(points)
    }

    /// Bounds of the mean of the curve over a course whose mean is `mean` and which stays between two places
    /// (the convex hull of the curve there; every point of it can occur).
    #[must_use]
    pub fn mean_between(&self, mean: f64, low: f64, high: f64) -> [f64; 2] {
        if high <= low {
            let level = self.at(mean);
            return [level; 2];
        }
        let mean = mean.clamp(low, high);
        let mut places = vec![[low, self.at(low)]];
        places.extend(self.points.iter().copied().filter(|[x, _]| low < *x && *x < high));
        places.push([high, self.at(high)]);
        [envelope(&places, mean, 1.0), -envelope(&places, mean, -1.0)]
    }

    /// Bounds of the mean of the curve over a course whose mean lies between two places and whose standard
    /// deviation is at most `spread`: each kink moves the mean by its change of slope times at most
    /// ½(√(s² + d²) − |d|), d being how far the mean lies from it (Scarf 1958, as restated in Natarajan and
    /// Zhou 2007, doi 10.1017/s0269964807000356).
    #[must_use]
    pub fn mean_with_spread(&self, low: f64, high: f64, spread: f64) -> [f64; 2] {
        let [mut least, mut most] = self.range(low, high);
        for Kink { at, by } in &self.kinks {
            // the nearest that the mean may lie
            let away = (low - at).max(at - high).max(0.0);
            let moved = by * 0.5 * (spread.hypot(away) - away);
            if moved > 0.0 { most += moved } else { least += moved }
        }
        // a mean lies within what the curve ever comes to
        let [floor, ceiling] = self.extremes();
        [least.max(floor), most.min(ceiling)]
    }

    /// Its least and greatest level anywhere.
    #[must_use]
    pub fn extremes(&self) -> [f64; 2] {
        self.points.iter().fold([f64::INFINITY, f64::NEG_INFINITY], |[least, most], [_, y]| [least.min(*y), most.max(*y)])
    }
}

/// Where the slope changes, the flat ends included.
fn kinks(points: &[[f64; 2]]) -> Vec<Kink> {
    let slopes: Vec<f64> = points.windows(2).map(|pair| (pair[1][1] - pair[0][1]) / (pair[1][0] - pair[0][0])).collect();
    let slope = |n: Option<usize>| n.and_then(|n| slopes.get(n)).copied().unwrap_or(0.0);
    let kinks = points.iter().enumerate().map(|(n, [at, _])| Kink { at: *at, by: slope(Some(n)) - slope(n.checked_sub(1)) });
    kinks.filter(|kink| kink.by != 0.0).collect()
}

/// Where the straight line between two points crosses a level, its ends left out.
fn meets([x0, y0]: [f64; 2], [x1, y1]: [f64; 2], level: f64) -> Option<[f64; 2]> {
    let crosses = (y0 < level && level < y1) || (y1 < level && level < y0);
    crosses.then(|| [x0 + (x1 - x0) * (level - y0) / (y1 - y0), level])
}

/// The lower convex envelope of points in ascending order, at a place (Andrew's monotone chain); with `sign` -1 of
/// the points turned upside down.
fn envelope(points: &[[f64; 2]], at: f64, sign: f64) -> f64 {
    let mut chain: Vec<[f64; 2]> = Vec::with_capacity(points.len());
    for [x, y] in points {
        let point = [*x, sign * y];
        while let [.., a, b] = chain[..] {
            let turns_left = (b[0] - a[0]) * (point[1] - a[1]) - (b[1] - a[1]) * (point[0] - a[0]) > 0.0;
            if turns_left {
                break;
            }
            chain.pop();
        }
        chain.push(point);
    }
    let after = chain.partition_point(|[x, _]| *x <= at);
    match (chain[..after].last(), chain[after..].first()) {
        (Some([x0, y0]), Some([x1, y1])) => y0 + (y1 - y0) * (at - x0) / (x1 - x0),
        (Some([_, y]), None) | (None, Some([_, y])) => *y,
        (None, None) => f64::NAN,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Volt-var of region A of AS/NZS 4777.2:2020 (207, 220, 240, 258 V: 44, 0, 0, -60 %).
    fn volt_var() -> Curve {
        Curve::new(vec![[207.0, 44.0], [220.0, 0.0], [240.0, 0.0], [258.0, -60.0]])
    }

    fn close(found: f64, wanted: f64) {
        assert!((found - wanted).abs() < 5e-3, "{found}, wanted {wanted}");
    }

    /// Worked by hand: the hull over 238 to 246 V is the triangle (238, 0), (240, 0), (246, -20).
    #[test]
    fn a_mean_lies_in_the_hull() {
        let [low, high] = volt_var().mean_between(241.0, 238.0, 246.0);
        close(low, -7.5);
        close(high, -20.0 / 6.0);
        assert_eq!(volt_var().mean_between(245.0, 243.0, 247.0).map(|level| (level * 1e6).round() / 1e6), [-16.666_667; 2]);
        assert_eq!(volt_var().mean_between(230.0, 230.0, 230.0), [0.0; 2]);
    }

    /// By the formula: at the knee a spread s costs slope · s / 2.
    #[test]
    fn a_spread_bends_the_mean_near_a_kink() {
        for (spread, by) in [(0.6, 1.0), (1.0, 5.0 / 3.0), (2.0, 10.0 / 3.0)] {
            let [low, high] = volt_var().mean_with_spread(240.0, 240.0, spread);
            // and the one below by a little
            assert!((-0.12..=1e-9).contains(&(low + by)), "{low}, {by}");
            // the far kinks bend it by next to nothing
            assert!((0.0..0.4).contains(&high), "{high}");
        }
        let [low, _] = volt_var().mean_with_spread(243.0, 243.0, 1.0);
        let knee = -10.0 - 0.5 * (10f64.sqrt() - 3.0) * 60.0 / 18.0;
        assert!((-0.03..=1e-9).contains(&(low - knee)), "{low}, {knee}");
    }

    #[test]
    fn a_sum_is_a_sum_everywhere() {
        let other = Curve::new(vec![[210.0, 9.0], [250.0, -3.0], [250.0, -5.0]]);
        let sum = Curve::sum(&[volt_var(), other.clone(), Curve::flat(2.0)]);
        for n in 0..700 {
            let volts = 200.0 + 0.1 * f64::from(n);
            close(sum.at(volts), volt_var().at(volts) + other.at(volts) + 2.0);
        }
    }

    #[test]
    fn a_curve_is_cut_where_it_meets_a_limit() {
        let cut = volt_var().within(-30.0, 30.0);
        assert_eq!((cut.at(249.0), cut.at(258.0), cut.at(207.0)), (-30.0, -30.0, 30.0));
        close(cut.at(248.0), volt_var().at(248.0));
        assert_eq!(cut.points().len(), 6);
        assert_eq!(Curve::flat(3.0).range(1.0, 9.0), [3.0; 2]);
        assert_eq!((volt_var().stretch_at(0.0), volt_var().stretch_at(44.0)), (Some([220.0, 240.0]), Some([f64::NEG_INFINITY, 207.0])));
        assert_eq!((volt_var().stretch_at(7.0), Curve::flat(3.0).stretch_at(3.0)), (None, Some([f64::NEG_INFINITY, f64::INFINITY])));
    }
}
