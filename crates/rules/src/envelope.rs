//! What complies at one place of a response: the lowest level and the highest, over every curve that
//! keeps the claims. For tables and pictures; a verdict looks at the claims themselves.

use crate::range::{Range, range};
use settings_model::catalogue::SettingId;
use settings_model::claim::{Claim, Limit, Part, Term, Var};
use settings_model::curve::{Reading, at_site, value_at};
use settings_model::exact::Exact;
use settings_model::facts::Facts;
use settings_model::notation::MAX_POINTS;

type Line = Vec<(Exact, Exact)>;

/// The curves that keep a list of claims, as far as one place by itself shows.
#[derive(Clone, Debug)]
pub struct Envelope {
    /// Lines that the response may not lie below.
    floors: Vec<Line>,
    /// Lines that it may not lie above.
    ceilings: Vec<Line>,
    /// Where each point may lie, where the claims say so of every point.
    points: Vec<Spot>,
}

/// Where a point may lie: between two places, and between two levels.
#[derive(Clone, Copy, Debug)]
struct Spot {
    x: [Exact; 2],
    y: [Exact; 2],
}

/// The lowest level that complies, and the highest; `None` where there is no limit.
pub type Levels = [Option<Exact>; 2];

impl Envelope {
    /// The envelope of what claims leave of the curve of a setting; `None` where they say nothing of
    /// it, or depend on an unknown fact. Claims on other settings take part, such as those on the
    /// voltage that points are counted from.
    #[must_use]
    pub fn of(claims: &[Claim], setting: SettingId, facts: &Facts) -> Option<Self> {
        let mut envelope = Self { floors: Vec::new(), ceilings: Vec::new(), points: Vec::new() };
        for claim in claims.iter().filter(|claim| claim.on == Term::Var(setting.into())) {
            match &claim.limit {
                Limit::Above(line) => envelope.floors.push(at_site(line, facts)?),
                Limit::Below(line) => envelope.ceilings.push(at_site(line, facts)?),
                _ => {}
            }
        }
        let edges = |part| match range(claims, facts, Var { setting, part }) {
            Ok(Range::Numbers(interval)) if interval.waits_for.is_empty() => Some([interval.low?.at, interval.high?.at]),
            _ => None,
        };
        if let Some([count, _]) = edges(Part::PointCount).filter(|[least, most]| least == most) {
            let wanted = (0..MAX_POINTS as u8).take_while(|n| Exact::from(i64::from(*n)) < count);
            let spots: Option<Vec<Spot>> = wanted.map(|n| Some(Spot { x: edges(Part::X(n))?, y: edges(Part::Y(n))? })).collect();
            envelope.points = spots.unwrap_or_default();
        }
        let says_nothing = envelope.floors.is_empty() && envelope.ceilings.is_empty() && envelope.points.is_empty();
        (!says_nothing).then_some(envelope)
    }

    /// The lowest and the highest level at one place.
    #[must_use]
    pub fn at(&self, x: Exact) -> Levels {
        let levels = |lines: &[Line]| -> Vec<(Exact, Exact)> { lines.iter().filter_map(|line| both_sides(line, x)).collect() };
        let floor = levels(&self.floors).into_iter().map(|(before, after)| before.min(after)).chain(self.extreme(x, Extreme::Lowest)).max();
        let ceiling =
            levels(&self.ceilings).into_iter().map(|(before, after)| before.max(after)).chain(self.extreme(x, Extreme::Highest)).min();
        [floor, ceiling]
    }

    /// Every place where its edges may bend, ascending.
    #[must_use]
    pub fn breakpoints(&self) -> Vec<Exact> {
        let lines = self.floors.iter().chain(&self.ceilings).flatten().map(|(x, _)| *x);
        let mut places: Vec<Exact> = lines.chain(self.points.iter().flat_map(|spot| spot.x)).collect();
        places.sort_unstable();
        places.dedup();
        places
    }

    /// The lowest or highest level that some choice of points within their spots has at a place.
    ///
    /// Between two points the level moves one way with either place, so the ends of what is left to
    /// them decide.
    fn extreme(&self, x: Exact, which: Extreme) -> Option<Exact> {
        let (first, last) = (self.points.first()?, self.points.last()?);
        let flat_before = (x <= first.x[1]).then(|| which.of(first.y));
        let flat_after = (x >= last.x[0]).then(|| which.of(last.y));
        let between = self.points.windows(2).filter(|pair| pair[0].x[0] <= x && x <= pair[1].x[1]).flat_map(|pair| {
            let (left, right) = (&pair[0], &pair[1]);
            let ends = [left.x[0], left.x[1].min(x)].into_iter().flat_map(|from| [right.x[0].max(x), right.x[1]].map(|to| (from, to)));
            let (from_level, to_level) = (which.of(left.y), which.of(right.y));
            let level = move |(from, to): (Exact, Exact)| both_sides(&[(from, from_level), (to, to_level)], x);
            ends.filter_map(level).flat_map(|(before, after)| [before, after]).collect::<Vec<_>>()
        });
        let levels = flat_before.into_iter().chain(flat_after).chain(between);
        match which {
            Extreme::Lowest => levels.min(),
            Extreme::Highest => levels.max(),
        }
    }
}

#[derive(Clone, Copy)]
enum Extreme {
    Lowest,
    Highest,
}

impl Extreme {
    fn of(self, [low, high]: [Exact; 2]) -> Exact {
        match self {
            Self::Lowest => low,
            Self::Highest => high,
        }
    }
}

fn both_sides(line: &[(Exact, Exact)], x: Exact) -> Option<(Exact, Exact)> {
    Some(match value_at(line, x)? {
        Reading::Level(level) => (level, level),
        Reading::Step { before, after } => (before, after),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use settings_model::claim::ProvenanceId;
    use settings_model::notation::{Written, tube};
    use settings_model::value::Value;

    fn volt_var() -> SettingId {
        SettingId::named("volt-var/points").unwrap()
    }

    fn written(points: &[(&str, &str)]) -> Written {
        Written::Points(points.iter().map(|(x, y)| ((*x).to_owned(), (*y).to_owned())).collect())
    }

    fn levels(claims: &[Claim], x: i64) -> Option<(String, String)> {
        let envelope = Envelope::of(claims, volt_var(), &Facts::default())?;
        let [low, high] = envelope.at(x.into());
        Some((low?.rounded(3).to_string(), high?.rounded(3).to_string()))
    }

    fn pair(low: &str, high: &str) -> Option<(String, String)> {
        Some((low.to_owned(), high.to_owned()))
    }

    #[test]
    fn points_that_are_fixed_leave_one_curve() {
        let claims = written(&[("207 V", "44 %"), ("220 V", "0 %"), ("240 V", "0 %"), ("258 V", "-60 %")])
            .claims(volt_var(), ProvenanceId(0))
            .unwrap();
        for (x, level) in [(200, "44"), (230, "0"), (249, "-30"), (258, "-60"), (300, "-60")] {
            assert_eq!(levels(&claims, x), pair(level, level), "{x}");
        }
    }

    #[test]
    fn points_that_may_move_leave_a_band() {
        let claims =
            written(&[("230 V to 240 V", "0 %"), ("250 V to 260 V", "-60 % to -30 %")]).claims(volt_var(), ProvenanceId(0)).unwrap();
        // hand calculation: at 245 V from (240, 0) to (260, -30) is -7.5 %, from (230, 0) to (250, -60) is -45 %
        assert_eq!(levels(&claims, 245), pair("-45", "-7.5"));
        assert_eq!(levels(&claims, 240), pair("-30", "0"));
        assert_eq!(levels(&claims, 225), pair("0", "0"));
        assert_eq!(levels(&claims, 255), pair("-60", "-22.5"));
        assert_eq!(levels(&claims, 261), pair("-60", "-30"));
    }

    #[test]
    fn lines_around_a_response_are_its_edges() {
        let Ok(Value::Curve(required)) = written(&[("240 V", "0 %"), ("258 V", "-60 %")]).value(volt_var()) else { panic!("a curve") };
        let claims = tube(volt_var(), &required, ("0 V", "4 %"), ProvenanceId(0)).unwrap();
        assert_eq!(levels(&claims, 249), pair("-34", "-26"));
        assert!(Envelope::of(&[], volt_var(), &Facts::default()).is_none());
    }
}
