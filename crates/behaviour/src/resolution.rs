//! In which steps a log writes its values: half a step is part of how far a reading may lie off.

use logs::Row;

/// Steps that are looked for, the coarsest first, in volts, watts or vars.
const STEPS: [f64; 15] = [1_000.0, 500.0, 200.0, 100.0, 50.0, 20.0, 10.0, 5.0, 2.0, 1.0, 0.5, 0.2, 0.1, 0.05, 0.01];

/// The steps of volts, watts and vars, by the first rows; 0 where there is none that matters.
#[must_use]
pub fn resolution(rows: &[Row], phases: &[usize]) -> [f64; 3] {
    let of = |value: &dyn Fn(&Row) -> f64| {
        let values = || rows.iter().map(value).filter(|value| value.is_finite() && *value != 0.0);
        let is_whole = |step: f64| values().all(|value| ((value / step).round() * step - value).abs() < 1e-6 * value.abs().max(1.0));
        if values().next().is_none() { 0.0 } else { STEPS.into_iter().find(|step| is_whole(*step)).unwrap_or(0.0) }
    };
    let volts = phases.iter().map(|phase| of(&|row: &Row| row.values[*phase])).fold(0.0, f64::max);
    [volts, of(&Row::power), of(&Row::reactive)]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn steps_are_found_by_the_values() {
        let none = f64::NAN;
        let row = |volts: f64, watts: f64, vars: f64| Row { at: 0, values: [volts, none, none, none, watts, vars, none, none] };
        let rows = [row(230.1, 1_200.0, 12.345), row(0.0, 1_250.0, none), row(241.7, 900.0, -7.0)];
        assert_eq!(resolution(&rows, &[0]), [0.1, 50.0, 0.0]);
        assert_eq!(resolution(&[], &[0]), [0.0; 3]);
    }
}
