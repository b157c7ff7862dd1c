//! A response in plain numbers: straight between its points, flat outside them.

use crate::characteristic::Points;

/// A function of one variable, by points in ascending order.
///
/// Flat outside its ends (semantics: a response holds its last level). Two points at one place are a
/// step; at the place itself the later of them holds.
#[derive(Clone, Debug, PartialEq)]
pub struct Line(Vec<[f64; 2]>);

impl Line {
    /// The same function as exact points, its levels times `scale`. `None` without a point.
    #[must_use]
    pub fn of(points: &Points, scale: f64) -> Option<Self> {
        let points: Vec<[f64; 2]> = points.iter().map(|(x, y)| [x.approximate(), y.approximate() * scale]).collect();
        (!points.is_empty()).then_some(Self(points))
    }

    /// The level at a place.
    #[must_use]
    pub fn at(&self, x: f64) -> f64 {
        let Self(points) = self;
        let after = points.partition_point(|point| point[0] <= x);
        match (points[..after].last(), points[after..].first()) {
            (Some([x0, y0]), Some([x1, y1])) => y0 + (y1 - y0) * (x - x0) / (x1 - x0),
            (Some([_, level]), None) | (None, Some([_, level])) => *level,
            (None, None) => f64::NAN,
        }
    }

    /// The same with its places times `scale`.
    #[must_use]
    pub fn stretched(mut self, scale: f64) -> Self {
        self.0.iter_mut().for_each(|point| point[0] *= scale);
        self
    }

    /// From which place to which it stays at least at a level, beginning from the left.
    #[must_use]
    pub fn idle_within(&self, level: f64) -> [f64; 2] {
        let Self(points) = self;
        let Some(below) = points.iter().position(|[_, y]| *y < level) else { return [f64::NEG_INFINITY, f64::INFINITY] };
        let Some(before) = below.checked_sub(1) else { return [f64::INFINITY, f64::NEG_INFINITY] };
        let ([x0, y0], [x1, y1]) = (points[before], points[below]);
        [f64::NEG_INFINITY, x0 + (x1 - x0) * (y0 - level) / (y0 - y1)]
    }

    /// The first stretch on which it is nought; an empty one where there is none.
    #[must_use]
    pub fn zero_within(&self) -> [f64; 2] {
        let Self(points) = self;
        let is_zero = |point: &&[f64; 2]| point[1] == 0.0;
        let Some(first) = points.iter().position(|point| is_zero(&point)) else { return [f64::INFINITY, f64::NEG_INFINITY] };
        let last = first + points[first..].iter().take_while(is_zero).count() - 1;
        let low = if first == 0 { f64::NEG_INFINITY } else { points[first][0] };
        let high = if last + 1 == points.len() { f64::INFINITY } else { points[last][0] };
        [low, high]
    }

    /// The points.
    #[must_use]
    pub fn points(&self) -> &[[f64; 2]] {
        &self.0
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use settings_model::exact::Exact;

    fn line(points: &[(&str, i64)]) -> Line {
        let points = points.iter().map(|(x, y)| (Exact::parse(x).unwrap(), Exact::from(*y))).collect();
        Line::of(&points, 1.0).unwrap()
    }

    #[test]
    fn it_is_straight_between_points_and_flat_outside() {
        // the volt-watt curve of many regions: 100 % at 253 V, 20 % at 260 V
        let line = line(&[("253", 100), ("260", 20)]);
        for (x, y) in [(0.0, 100.0), (253.0, 100.0), (256.5, 60.0), (260.0, 20.0), (400.0, 20.0)] {
            assert!((line.at(x) - y).abs() < 1e-12, "{x}");
        }
    }

    #[test]
    fn it_knows_where_it_does_nothing() {
        let infinity = f64::INFINITY;
        let volt_watt = line(&[("253", 100), ("260", 20)]);
        assert_eq!(volt_watt.idle_within(100.0), [-infinity, 253.0]);
        assert_eq!(volt_watt.idle_within(60.0), [-infinity, 256.5]);
        assert_eq!(volt_watt.idle_within(10.0), [-infinity, infinity]);
        assert_eq!(volt_watt.idle_within(110.0), [infinity, -infinity]);
        let volt_var = line(&[("207", 44), ("220", 0), ("240", 0), ("258", -60)]);
        assert_eq!(volt_var.zero_within(), [220.0, 240.0]);
        assert_eq!(line(&[("240", 0), ("258", -60)]).zero_within(), [-infinity, 240.0]);
        assert_eq!(volt_watt.zero_within(), [infinity, -infinity]);
    }

    #[test]
    fn a_step_holds_its_later_level() {
        let line = line(&[("1", 0), ("2", 0), ("2", 10), ("3", 10)]);
        assert_eq!([1.999_999, 2.0, 2.5].map(|x| line.at(x)), [0.0, 10.0, 10.0]);
    }
}
