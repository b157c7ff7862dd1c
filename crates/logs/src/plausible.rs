//! Whether a log is what it says: volts and not per unit, line to neutral and not between lines, the
//! right column. A log that is not gets a message and no verdict.

mod sentinel;

pub use sentinel::LeftOut;

use super::columns::Slot;
use super::fault::LogError;
use super::{Layout, Row};
use sentinel::Sentinels;

/// What a site lets expect.
#[derive(Clone, Copy, Debug)]
pub struct Expected {
    /// Volts line to neutral.
    pub nominal: f64,
    /// Hertz, where its standard says.
    pub frequency: Option<f64>,
    /// Watts that the device is rated for, where that is known.
    pub rated: Option<f64>,
}

/// Brings rows to volts line to neutral, once it is clear that they are what they say.
#[derive(Clone, Debug)]
pub struct Plausible {
    expected: Expected,
    /// Per phase, what its values are multiplied by.
    scale: [f64; 3],
    is_seen: bool,
    frequency_is_seen: bool,
    sentinels: Sentinels,
}

const ROOT_3: f64 = 1.732_050_807_568_877_2;

impl Plausible {
    /// For a log of this layout.
    pub fn new(layout: &Layout, expected: Expected) -> Self {
        let mut scale = [1.0; 3];
        for column in layout.columns.iter().filter(|column| column.slot.is_voltage()) {
            let of_unit = if column.scale == 0.0 { expected.nominal } else { 1.0 };
            // per unit of the nominal between lines is that of the nominal to neutral
            let between = if layout.is_line_to_line && column.scale != 0.0 { 1.0 / ROOT_3 } else { 1.0 };
            scale[column.slot as usize] = of_unit * between;
        }
        Self {
            expected,
            scale,
            is_seen: false,
            frequency_is_seen: expected.frequency.is_none() || !layout.has_frequency(),
            sentinels: Sentinels::new(layout, expected, scale),
        }
    }

    /// Cells that were left out, so far.
    pub fn left_out(&self) -> &[LeftOut] {
        &self.sentinels.left_out
    }

    /// Brings rows to volts, without what is no measured value; looks at the first ones that hold any.
    pub fn volts(&mut self, rows: &mut [Row], layout: &Layout) -> Result<(), LogError> {
        let are_suspect = self.sentinels.are_suspect(rows);
        if are_suspect {
            self.sentinels.leave_out_marks(rows);
        }
        self.judge(rows, layout)?;
        if are_suspect {
            self.sentinels.leave_out_impossible(rows);
        }
        if self.scale != [1.0; 3] {
            for row in rows.iter_mut() {
                row.values[..3].iter_mut().zip(self.scale).for_each(|(v, scale)| *v *= scale);
            }
        }
        Ok(())
    }

    /// Looks at the first rows that hold a voltage, and at the first that hold a frequency.
    fn judge(&mut self, rows: &[Row], layout: &Layout) -> Result<(), LogError> {
        if !self.is_seen
            && let Some(nearly_all) = nearly_all(rows, 0..layout.phases()).map(|[low, high]| [low * self.scale[0], high * self.scale[0]])
            && nearly_all[1] > 1e-3 * self.expected.nominal
        {
            self.is_seen = true;
            self.judge_voltage(nearly_all, layout).map_err(|fault| layout.at_heading(fault, Slot::is_voltage))?;
        }
        let frequency = Slot::Frequency as usize;
        if !self.frequency_is_seen
            && let Some(nearly_all) = nearly_all(rows, frequency..frequency + 1)
        {
            self.frequency_is_seen = true;
            self.judge_frequency(nearly_all, layout).map_err(|fault| layout.at_heading(fault, |slot| slot == Slot::Frequency))?;
        }
        Ok(())
    }

    /// At the end of the log: that it ever held a voltage.
    pub fn end(&self, layout: &Layout) -> Result<(), LogError> {
        if self.is_seen {
            return Ok(());
        }
        let says = format!("no voltage anywhere: {} never leaves 0", named(layout, Slot::is_voltage));
        let help = "name the column of a voltage that was measured, as in `--columns \"L1=HEADING [V]\"`";
        Err(layout.at_heading(LogError::new("no-voltage-anywhere", says, help), Slot::is_voltage))
    }

    fn judge_voltage(&self, [low, high]: [f64; 2], layout: &Layout) -> Result<(), LogError> {
        let Expected { nominal, .. } = self.expected;
        let ratio = high / nominal;
        let near = |value: f64, of: f64| (value / of - 1.0).abs() < 0.15;
        // a third less than nominal is no supply, and just what a voltage to neutral looks like between lines
        let is_to_neutral = layout.is_line_to_line && near(ratio, 1.0 / ROOT_3);
        let columns = named(layout, Slot::is_voltage);
        let other = another_of(&VOLTAGES, [low, high], nominal, 0.08).filter(|_| !(0.8..=1.18).contains(&ratio) && !is_to_neutral);
        if (0.5..=1.5).contains(&ratio) && !is_to_neutral && other.is_none() {
            return Ok(());
        }
        let is_per_unit = layout.columns.iter().any(|column| column.slot.is_voltage() && column.scale == 0.0);
        let fault = |name, says: String, help: &str| Err(LogError::new(name, says, help));
        if !is_per_unit && !layout.is_line_to_line && (0.3..=2.0).contains(&high) {
            return fault(
                "per-unit-as-volts",
                format!("{columns}: values near {high:.2} are no volts of a {nominal} V supply; they look like per unit"),
                "if they are, write [pu] in place of the unit, or `--columns \"L1=HEADING [pu]\"`",
            );
        }
        if is_per_unit && near(high / nominal, nominal) {
            return fault(
                "volts-as-per-unit",
                format!("{columns}: values near {:.0} are not per unit; they look like volts", high / nominal),
                "write [V] in place of [pu]",
            );
        }
        if !layout.is_line_to_line && near(ratio, ROOT_3) && (other.is_none() || (ratio / ROOT_3 - 1.0).abs() < 0.05) {
            return fault(
                "line-to-line-as-line-to-neutral",
                format!("{columns}: values near {high:.0} V look like voltages between lines of a {nominal} V supply"),
                "if they are, say `--line-to-line`; else state the site's nominal voltage (`supply/nominal`)",
            );
        }
        if is_to_neutral {
            return fault(
                "line-to-neutral-as-line-to-line",
                format!("{columns}: values near {:.0} V look like voltages to neutral, not between lines", high * ROOT_3),
                "leave out `--line-to-line`, or name the columns `V_L1 [V]`",
            );
        }
        if let Some(other) = other {
            return fault(
                "another-supply",
                format!(
                    "{columns}: nearly all values lie near {other} V, and the site has a {nominal} V supply: is this log of this site?"
                ),
                &format!(
                    "if it is, state the site's nominal voltage (`supply/nominal: {other} V`); if not, name the site at which it was measured"
                ),
            );
        }
        fault(
            "implausible-voltage",
            format!("{columns}: values near {high:.1} V are no voltages of a {nominal} V supply"),
            "name the right column, as in `--columns \"L1=HEADING [V]\"`, or its unit; or state the site's nominal voltage (`supply/nominal`)",
        )
    }

    fn judge_frequency(&self, [low, high]: [f64; 2], layout: &Layout) -> Result<(), LogError> {
        let Some(nominal) = self.expected.frequency else { return Ok(()) };
        let column = named(layout, |slot| slot == Slot::Frequency);
        if let Some(other) = another_of(&FREQUENCIES, [low, high], nominal, 0.05) {
            let says = format!(
                "{column}: nearly all values lie near {other} Hz, and the site's standard is for {nominal} Hz: is this log of this site?"
            );
            return Err(LogError::new("another-supply", says, "name the site that the log is of, or a log of this site"));
        }
        if (0.8..=1.2).contains(&(high / nominal)) {
            return Ok(());
        }
        let says = format!("{column}: values near {high:.2} Hz are no frequencies of a {nominal} Hz supply");
        Err(LogError::new("implausible-frequency", says, "name the right column, as in `--columns \"frequency=HEADING [Hz]\"`"))
    }
}

/// Nominal voltages to neutral of public supplies, in volts (IEC 60038 and ANSI C84.1, from memory).
const VOLTAGES: [f64; 9] = [100.0, 110.0, 120.0, 127.0, 220.0, 230.0, 240.0, 277.0, 347.0];
/// The frequencies of public supplies, in hertz.
const FREQUENCIES: [f64; 2] = [50.0, 60.0];

/// Another nominal value that nearly all values lie near; the nearest, where there are several.
fn another_of(usual: &[f64], [low, high]: [f64; 2], nominal: f64, tolerance: f64) -> Option<f64> {
    let is_near = |of: &f64| (low / of - 1.0).abs() <= tolerance && (high / of - 1.0).abs() <= tolerance;
    let middle = f64::midpoint(low, high);
    let others = usual.iter().copied().filter(|of| *of != nominal && is_near(of));
    others.min_by(|one, other| (one - middle).abs().total_cmp(&(other - middle).abs())).filter(|_| !is_near(&nominal))
}

/// What nearly all values of some slots lie between, but for those of a supply that is off.
fn nearly_all(rows: &[Row], slots: std::ops::Range<usize>) -> Option<[f64; 2]> {
    let of_slots = rows.iter().flat_map(|row| row.values[slots.clone()].iter().copied());
    let mut values: Vec<f64> = of_slots.filter(|v| *v > 0.0).collect();
    values.sort_unstable_by(f64::total_cmp);
    let high = *values.get(values.len().checked_sub(1)? * 95 / 100)?;
    let first = values.partition_point(|v| *v < 0.2 * high);
    Some([values[first + (values.len() - first) / 20], high])
}

fn named(layout: &Layout, of: impl Fn(Slot) -> bool) -> String {
    let columns = layout.columns.iter().filter(|column| of(column.slot)).map(|column| format!("`{}`", column.heading));
    columns.collect::<Vec<_>>().join(", ")
}
