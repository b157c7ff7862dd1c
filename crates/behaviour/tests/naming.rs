//! What a device that departs looks like: the right curve, several, or none; never a wrong one.

use crate::simulated::chance::Chance;
use crate::simulated::device::Fault;
use crate::simulated::{Drawn, Like, drawn, first_seed, how_many};
use behaviour::curve::Curve;
use behaviour::function::Function;
use behaviour::function::To;
use behaviour::looks_like::{Candidate, Likeness, Looks, Terms, vars};
use behaviour::thresholds::LEAST_SPREAD;

fn like(seed: u64) -> Like {
    Like::draw(&mut Chance::of(seed.wrapping_mul(0x9e37_79b9)))
}

/// What is set, off, reversed, half, another region's; the last moved by so many volts.
fn curves(log: &Drawn) -> Option<Vec<Curve>> {
    let set = &log.rules.iter().find(|rule| rule.function == Function::VoltVar)?.curve;
    let scaled = |by: f64| Curve::new(set.points().iter().map(|[volts, vars]| [*volts, by * vars]).collect());
    let rated = log.setup.rated / 100.0;
    let other = Curve::new(vec![[207.0, 44.0 * rated], [216.0, 0.0], [250.0, 0.0], [266.0, -60.0 * rated]]);
    Some(vec![set.clone(), Curve::flat(0.0), scaled(-1.0), scaled(0.5), other])
}

/// Which of the curves it looks like, by their places; `None` where the log tells none from another.
fn named(log: &Drawn, curves: &[Curve]) -> Option<Looks<usize>> {
    let candidate = |(name, curve): (usize, &Curve)| Candidate { name, curve: curve.clone(), to: To::Volts };
    let candidates: Vec<Candidate<usize>> = curves.iter().enumerate().map(candidate).collect();
    let shifts: Vec<f64> = log.grid.all.iter().map(|of| of.offset).collect();
    let terms = Terms {
        rated: log.setup.rated,
        margin: log.margins.tolerance + log.margins.accuracy.vars,
        shifts: &shifts,
        half: log.grid.offset_half,
        spread: if log.setup.are_means() { LEAST_SPREAD } else { 0.0 },
    };
    vars(&log.counted().days, &candidates, terms, false)
}

#[test]
fn no_wrong_curve_is_named() {
    let (mut right, mut several, mut none) = (0, 0, 0);
    for seed in first_seed()..first_seed() + how_many(30) {
        for (n, fault) in
            [Fault::None, Fault::ReactiveOff, Fault::ReactiveReversed, Fault::ReactiveShare(0.5), Fault::OtherCurve].into_iter().enumerate()
        {
            let log = drawn(seed, like(seed), fault);
            let Some(curves) = curves(&log) else { continue };
            match named(&log, &curves) {
                Some(Looks::Like(Likeness { name, .. })) => {
                    assert_eq!(name, n, "{}", log.told);
                    right += 1;
                }
                Some(Looks::NotToldApart(_)) => several += 1,
                Some(Looks::NoneKnown) | None => none += 1,
            }
        }
    }
    println!("named: {right} right, {several} of several, {none} of none");
    assert!(right > several.max(none), "{right} {several} {none}");
}

/// Two curves that lie within the meter's error of each other are never told apart.
#[test]
fn curves_that_the_meter_cannot_tell_apart_are_both_named() {
    for seed in first_seed()..first_seed() + how_many(20) {
        let log = drawn(seed, like(seed), Fault::OtherCurve);
        let Some(mut curves) = curves(&log) else { continue };
        let moved = curves[4].points().iter().map(|[volts, vars]| [volts + 0.25 * log.margins.accuracy.volts, *vars]).collect();
        curves.push(Curve::new(moved));
        if let Some(Looks::Like(Likeness { name, .. })) = named(&log, &curves) {
            panic!("{name} is named alone: {}", log.told);
        }
    }
}
