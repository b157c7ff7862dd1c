//! Tubes: what lines below and lines above leave of a curve as a function.
//!
//! Lines are straight between points. Their meet is never built, for where two of them cross is
//! seldom a number that anybody can write; only the places that decide are looked at: every
//! breakpoint from both sides, and for containment in several lines also their crossings. Fractions
//! are compared by cross-multiplication.

use crate::natural::{End, Span};
use crate::ratio::{Digits, Ratio, plus, ten_to, times};
use crate::unproven::Unproven;
use settings_model::catalogue::SettingId;
use settings_model::claim::{Claim, Limit, Term};
use settings_model::curve::{fewest_points, rises_above};
use settings_model::exact::Exact;
use settings_model::facts::{FactId, Facts};
use settings_model::quantity::Amount;
use settings_model::value::{Point, Value};
use std::cmp::Ordering;

/// A curve in the unit of its lines.
type Response = Vec<(Exact, Exact)>;

/// The lines around the response of one setting, each with the position of its claim.
pub(crate) struct Tube {
    below: Vec<(usize, Line)>,
    above: Vec<(usize, Line)>,
    /// The unknown fact that every line counts its measured axis in, if there is one.
    counts_in: Option<FactId>,
}

/// A line in whole numbers of 10^-[`DECIMALS`].
#[derive(Clone)]
struct Line(Vec<(i128, i128)>);

/// Enough for nine digits at the door and a product with a nominal voltage.
const DECIMALS: u32 = 9;

/// A place to look at: on the measured axis, and from which side.
#[derive(Clone, Copy)]
struct Spot {
    x: Ratio,
    from_left: bool,
}

impl Tube {
    /// The tube that claims put around the response of a setting; `None` if there are no lines.
    ///
    /// # Errors
    /// [`Unproven::ResponseDependsOn`] where lines count in units that an unknown fact converts.
    pub(crate) fn of<'c>(
        claims: impl Iterator<Item = (usize, &'c Claim)>,
        setting: SettingId,
        facts: &Facts,
    ) -> Result<Option<Self>, Unproven> {
        let lines: Vec<(usize, &Limit, &[Point])> =
            claims.filter_map(|(at, claim)| line_of(claim, setting).map(|line| (at, &claim.limit, line))).collect();
        if lines.is_empty() { Ok(None) } else { Self::new(lines, &[], facts).map(Some) }
    }

    /// A tube that counts as a further line does too.
    fn new(lines: Vec<(usize, &Limit, &[Point])>, like: &[Point], facts: &Facts) -> Result<Self, Unproven> {
        let counts_in = unit_of(lines.iter().map(|(.., line)| *line).chain([like]), facts)?;
        let mut tube = Self { below: Vec::new(), above: Vec::new(), counts_in };
        for (at, limit, points) in lines {
            let side = if matches!(limit, Limit::Above(_)) { &mut tube.below } else { &mut tube.above };
            side.push((at, Line::of(points, facts)?));
        }
        Ok(tube)
    }

    /// Two lines that leave nothing between them, if there are any.
    pub(crate) fn contradiction(&self) -> Result<Option<[usize; 2]>, Unproven> {
        for (low_claim, low) in &self.below {
            for (high_claim, high) in &self.above {
                for spot in spots([low, high]) {
                    if low.at(spot)?.compare(high.at(spot)?)? == Ordering::Greater {
                        return Ok(Some([*low_claim, *high_claim]));
                    }
                }
            }
        }
        Ok(None)
    }

    /// A curve within the tube, which must not contradict itself; in the lines' own unit.
    pub(crate) fn response(&self) -> Result<Value, Unproven> {
        let curve = if self.below.is_empty() { self.under_everything(&[]) } else { self.lowest(None) };
        Ok(self.value(curve?, Exact::ONE))
    }

    /// A curve as a value, its levels times `sign`.
    fn value(&self, curve: Response, sign: Exact) -> Value {
        let point = |(x, y): (Exact, Exact)| Point { x: Amount { number: x, of: self.counts_in }, y: Amount::plain(y * sign) };
        Value::Curve(curve.into_iter().map(point).collect())
    }

    /// A curve within the tube that somewhere lies below this line; `None` if there is none.
    fn dipping_below(&self, line: &Line) -> Result<Option<Response>, Unproven> {
        if self.below.is_empty() {
            return self.under_everything(&[line]).map(Some);
        }
        let lines = self.lines().chain([line]);
        let mut unwritten = None;
        for spot in spots(lines).into_iter().chain(self.crossings(line)?) {
            if let Some(floor) = self.floor(spot)?
                && floor.compare(line.at(spot)?)? == Ordering::Less
            {
                match self.lowest(Some((spot, line))) {
                    Ok(curve) if rises_above(&line.written()?, &curve).is_some() => return Ok(Some(curve)),
                    Ok(_) => unwritten = Some(Unproven::TooManyDigits),
                    Err(why) => unwritten = Some(why),
                }
            }
        }
        unwritten.map_or(Ok(None), Err)
    }

    /// A curve within the lines of `claims` that breaks `new`, a line around the same response; `None`
    /// if every curve within them keeps it.
    ///
    /// # Errors
    /// As [`Self::of`].
    pub(crate) fn escape(claims: &[Claim], new: &Claim, facts: &Facts) -> Result<Option<Value>, Unproven> {
        let setting = new.on.subject().setting;
        let lines = claims.iter().enumerate().filter_map(|(at, claim)| line_of(claim, setting).map(|line| (at, &claim.limit, line)));
        let Some(like) = line_of(new, setting) else { return Ok(None) };
        let tube = Self::new(lines.collect(), like, facts)?;
        if tube.contradiction()?.is_some() { Ok(None) } else { tube.breaking(&new.limit, facts) }
    }

    fn breaking(&self, limit: &Limit, facts: &Facts) -> Result<Option<Value>, Unproven> {
        Ok(match limit {
            Limit::Above(points) => self.dipping_below(&Line::of(points, facts)?)?.map(|curve| self.value(curve, Exact::ONE)),
            Limit::Below(points) => {
                let mirrored = self.mirrored().dipping_below(&Line::of(points, facts)?.mirrored())?;
                mirrored.map(|curve| self.value(curve, -Exact::ONE))
            }
            _ => None,
        })
    }

    /// The same upside down.
    fn mirrored(&self) -> Self {
        let turned = |lines: &[(usize, Line)]| lines.iter().map(|(at, line)| (*at, line.mirrored())).collect();
        Self { below: turned(&self.above), above: turned(&self.below), counts_in: self.counts_in }
    }

    fn lines(&self) -> impl Iterator<Item = &Line> {
        self.below.iter().chain(&self.above).map(|(_, line)| line)
    }

    /// The highest of the lines below.
    fn floor(&self, spot: Spot) -> Result<Option<Ratio>, Unproven> {
        highest(self.below.iter().map(|(_, line)| line.at(spot)))
    }

    /// The lowest of the lines above.
    fn ceiling(&self, spot: Spot) -> Result<Option<Ratio>, Unproven> {
        let turned = highest(self.above.iter().map(|(_, line)| line.at(spot).map(Ratio::negative)))?;
        Ok(turned.map(Ratio::negative))
    }

    /// Where two lines below cross, between the breakpoints of all lines.
    fn crossings(&self, other: &Line) -> Result<Vec<Spot>, Unproven> {
        let mut xs: Vec<i128> = self.lines().chain([other]).flat_map(|line| line.0.iter().map(|(x, _)| *x)).collect();
        xs.sort_unstable();
        xs.dedup();
        let mut found = Vec::new();
        for pair in xs.windows(2) {
            let (left, right) = (Spot::after(pair[0]), Spot::before(pair[1]));
            for (n, (_, one)) in self.below.iter().enumerate() {
                for (_, two) in &self.below[n + 1..] {
                    let (before, after) = (one.at(left)?.minus(two.at(left)?)?, one.at(right)?.minus(two.at(right)?)?);
                    if before.top.signum() * after.top.signum() < 0 {
                        found.push(Spot { x: between(pair[0], pair[1], before, after)?, from_left: true });
                    }
                }
            }
        }
        Ok(found)
    }

    /// A flat curve below everything.
    fn under_everything(&self, more: &[&Line]) -> Result<Response, Unproven> {
        let points = || self.lines().chain(more.iter().copied()).flat_map(|line| line.0.iter().copied());
        let least = points().map(|(_, y)| y).min().unwrap_or_default();
        let level = exact(times(least.div_euclid(ten_to(DECIMALS)?) - 1, ten_to(DECIMALS)?)?)?;
        let (first, last) = (points().map(|(x, _)| x).min().unwrap_or_default(), points().map(|(x, _)| x).max().unwrap_or_default());
        Ok(vec![(exact(first)?, level), (exact(last)?, level)])
    }

    /// A curve as low as the lines below allow and numbers can write, under a line at one spot.
    ///
    /// Between breakpoints the floor bends downwards and the ceiling upwards, so a chord between
    /// levels within the tube stays within it. A spot at which no number can be written between the
    /// two is left out, and the curve looked at again as a whole.
    fn lowest(&self, under: Option<(Spot, &Line)>) -> Result<Response, Unproven> {
        let mut spots: Vec<Spot> = spots(self.lines().chain(under.map(|(_, line)| line)));
        let target = match under {
            Some((spot, line)) => Some((self.written(spot, line)?, line)),
            None => None,
        };
        if let Some((spot, _)) = target.filter(|(spot, _)| spot.x.bottom == 1 && !spots.iter().any(|s| s.is(*spot))) {
            let next = spots.partition_point(|s| s.x.top < spot.x.top);
            spots.insert(next, spot);
        }
        let mut curve: Response = Vec::with_capacity(spots.len());
        for spot in spots {
            let below = match target {
                Some((at, line)) if at.is(spot) => Some(line.at(spot)?),
                _ => None,
            };
            let Some(level) = self.level(spot, below)? else { continue };
            let point = (exact(spot.x.top)?, level);
            if curve.last() != Some(&point) {
                curve.push(point);
            }
        }
        self.checked(curve)
    }

    /// The same curve in as few points as it takes, at least two, if it lies within the tube.
    fn checked(&self, curve: Response) -> Result<Response, Unproven> {
        let (Some(first), Some(last)) = (curve.first().copied(), curve.last().copied()) else { return Err(Unproven::TooManyDigits) };
        for (_, line) in &self.below {
            if rises_above(&line.written()?, &curve).is_some() {
                return Err(Unproven::TooManyDigits);
            }
        }
        for (_, line) in &self.above {
            if rises_above(&curve, &line.written()?).is_some() {
                return Err(Unproven::TooManyDigits);
            }
        }
        let bends = fewest_points(&curve);
        Ok(if bends.len() < 2 { vec![first, last] } else { bends })
    }

    /// A spot on a written number where the floor is still under the line.
    fn written(&self, spot: Spot, line: &Line) -> Result<Spot, Unproven> {
        if spot.x.bottom == 1 {
            return Ok(spot);
        }
        for x in [spot.x.top.div_euclid(spot.x.bottom), spot.x.top.div_euclid(spot.x.bottom) + 1] {
            let near = Spot::before(x);
            if let Some(floor) = self.floor(near)?
                && floor.compare(line.at(near)?)? == Ordering::Less
            {
                return Ok(near);
            }
        }
        Err(Unproven::TooManyDigits)
    }

    /// A level within the tube, of few digits; below `under` where that is given. `None` if no
    /// number that can be written lies there.
    fn level(&self, spot: Spot, under: Option<Ratio>) -> Result<Option<Exact>, Unproven> {
        let floor = self.floor(spot)?.unwrap_or(Ratio::ZERO);
        let end = |ratio: Ratio, open: bool| {
            let at = ratio.top.div_euclid(ratio.bottom);
            let is_whole = at * ratio.bottom == ratio.top;
            (at, open, is_whole)
        };
        let (low, _, whole) = end(floor, false);
        let low = End { at: low, open: !whole };
        let high = match (under, self.ceiling(spot)?) {
            (Some(under), Some(ceiling)) if ceiling.compare(under)? == Ordering::Less => Some(end(ceiling, false)),
            (Some(under), _) => Some(end(under, true)),
            (None, ceiling) => ceiling.map(|ceiling| end(ceiling, false)),
        };
        let high = high.map(|(at, open, whole)| End { at, open: open && whole });
        let span = Span { low: Some(low), high, decimals: DECIMALS };
        let digits = if whole { Some(Digits::from_units(low.at, DECIMALS)) } else { span.near(low.at, DECIMALS)? };
        digits.map(Digits::exact).transpose()
    }
}

impl Line {
    fn of(points: &[Point], facts: &Facts) -> Result<Self, Unproven> {
        // an unknown fact that all lines count in scales them alike, so its multiples stand for it
        let at = |amount: Amount| Digits::of(amount.at(facts).unwrap_or(amount.number))?.in_units(DECIMALS);
        points.iter().map(|point| Ok((at(point.x)?, at(point.y)?))).collect::<Result<_, _>>().map(Self)
    }

    fn written(&self) -> Result<Response, Unproven> {
        self.0.iter().map(|(x, y)| Ok((exact(*x)?, exact(*y)?))).collect()
    }

    fn mirrored(&self) -> Self {
        Self(self.0.iter().map(|(x, y)| (*x, -*y)).collect())
    }

    /// Its level at a spot: flat beyond the ends, straight between points.
    fn at(&self, spot: Spot) -> Result<Ratio, Unproven> {
        let mut next = 0usize;
        for (x, _) in &self.0 {
            let order = Ratio::whole(*x).compare(spot.x)?;
            if order == Ordering::Greater || (order == Ordering::Equal && spot.from_left) {
                break;
            }
            next += 1;
        }
        let (Some(before), Some(after)) = (next.checked_sub(1).map(|n| self.0[n]), self.0.get(next)) else {
            let (_, y) = self.0.get(next).or(self.0.last()).ok_or(Unproven::NoMeaning)?;
            return Ok(Ratio::whole(*y));
        };
        let (run, rise) = (after.0 - before.0, after.1 - before.1);
        let along = spot.x.minus(Ratio::whole(before.0))?;
        let top = plus(times(before.1, times(run, along.bottom)?)?, times(rise, along.top)?)?;
        Ok(Ratio::new(top, times(run, along.bottom)?))
    }
}

impl Spot {
    fn before(x: i128) -> Self {
        Self { x: Ratio::whole(x), from_left: true }
    }

    fn after(x: i128) -> Self {
        Self { x: Ratio::whole(x), from_left: false }
    }

    fn is(self, other: Self) -> bool {
        self.x.top == other.x.top && self.x.bottom == other.x.bottom && self.from_left == other.from_left
    }
}

/// Both sides of every breakpoint, ascending.
fn spots<'l>(lines: impl IntoIterator<Item = &'l Line>) -> Vec<Spot> {
    let mut xs: Vec<i128> = lines.into_iter().flat_map(|line| line.0.iter().map(|(x, _)| *x)).collect();
    xs.sort_unstable();
    xs.dedup();
    xs.into_iter().flat_map(|x| [Spot::before(x), Spot::after(x)]).collect()
}

fn highest(levels: impl Iterator<Item = Result<Ratio, Unproven>>) -> Result<Option<Ratio>, Unproven> {
    let mut most: Option<Ratio> = None;
    for level in levels {
        let level = level?;
        let is_higher = match most {
            Some(most) => level.compare(most)? == Ordering::Greater,
            None => true,
        };
        if is_higher {
            most = Some(level);
        }
    }
    Ok(most)
}

/// Where a difference that is `before` on the left and `after` on the right is zero.
fn between(left: i128, right: i128, before: Ratio, after: Ratio) -> Result<Ratio, Unproven> {
    // left + (right - left) * before / (before - after)
    let fall = before.minus(after)?;
    let share = Ratio::new(times(before.top, fall.bottom)?, times(before.bottom, fall.top)?);
    Ok(Ratio::new(plus(times(left, share.bottom)?, times(right - left, share.top)?)?, share.bottom))
}

fn exact(units: i128) -> Result<Exact, Unproven> {
    Digits::from_units(units, DECIMALS).exact()
}

fn line_of(claim: &Claim, setting: SettingId) -> Option<&[Point]> {
    match (&claim.limit, claim.on) {
        (Limit::Above(line) | Limit::Below(line), Term::Var(var)) if var.setting == setting => Some(line),
        _ => None,
    }
}

/// The settings whose response these claims put lines around.
pub(crate) fn settings_of<'c>(claims: impl Iterator<Item = &'c Claim>) -> Vec<SettingId> {
    let mut settings: Vec<SettingId> = claims
        .filter_map(|claim| match (&claim.limit, claim.on) {
            (Limit::Above(_) | Limit::Below(_), Term::Var(var)) => Some(var.setting),
            _ => None,
        })
        .collect();
    settings.sort_unstable();
    settings.dedup();
    settings
}

/// The unknown fact that the measured axis of every line counts in.
fn unit_of<'p>(lines: impl Iterator<Item = &'p [Point]>, facts: &Facts) -> Result<Option<FactId>, Unproven> {
    let unknown = |fact: Option<FactId>| fact.filter(|fact| facts.number(*fact).is_none());
    let mut unit: Option<Option<FactId>> = None;
    for point in lines.flatten() {
        let (x, y) = (unknown(point.x.of), unknown(point.y.of));
        if let Some(fact) = y {
            return Err(Unproven::ResponseDependsOn(fact));
        }
        match unit {
            Some(other) if other != x => return Err(x.or(other).map_or(Unproven::NoMeaning, Unproven::ResponseDependsOn)),
            _ => unit = Some(x),
        }
    }
    Ok(unit.flatten())
}
