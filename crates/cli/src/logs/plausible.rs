//! Whether a log is what it says: volts and not per unit, line to neutral and not between lines, the
//! right column. A log that is not gets a message and no verdict.

use super::columns::Slot;
use super::fault::Fault;
use super::{Layout, Row};

/// What a site lets expect.
#[derive(Clone, Copy, Debug)]
pub struct Expected {
    /// Volts line to neutral.
    pub nominal: f64,
    /// Hertz, where its standard says.
    pub frequency: Option<f64>,
}

/// Brings rows to volts line to neutral, once it is clear that they are what they say.
#[derive(Clone, Debug)]
pub struct Plausible {
    expected: Expected,
    /// Per phase, what its values are multiplied by.
    scale: [f64; 3],
    is_seen: bool,
    frequency_is_seen: bool,
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
        Self { expected, scale, is_seen: false, frequency_is_seen: expected.frequency.is_none() || !layout.has_frequency() }
    }

    /// Brings rows to volts; looks at the first ones that hold any.
    pub fn volts(&mut self, rows: &mut [Row], layout: &Layout) -> Result<(), Fault> {
        if self.scale != [1.0; 3] {
            for row in rows.iter_mut() {
                row.values[..3].iter_mut().zip(self.scale).for_each(|(v, scale)| *v *= scale);
            }
        }
        if !self.is_seen
            && let Some(high) = nearly_highest(rows, 0..layout.phases()).filter(|high| *high > 1e-3 * self.expected.nominal)
        {
            self.is_seen = true;
            self.judge_voltage(high, layout).map_err(|fault| layout.at_heading(fault, Slot::is_voltage))?;
        }
        if !self.frequency_is_seen
            && let Some(high) = nearly_highest(rows, Slot::Frequency as usize..Slot::Frequency as usize + 1).filter(|high| *high > 0.0)
        {
            self.frequency_is_seen = true;
            self.judge_frequency(high, layout).map_err(|fault| layout.at_heading(fault, |slot| slot == Slot::Frequency))?;
        }
        Ok(())
    }

    /// At the end of the log: that it ever held a voltage.
    pub fn end(&self, layout: &Layout) -> Result<(), Fault> {
        if self.is_seen {
            return Ok(());
        }
        let says = format!("no voltage anywhere: {} never leaves 0", named(layout, Slot::is_voltage));
        let mend = "name the column of a voltage that was measured, as in `--columns \"L1=HEADING [V]\"`";
        Err(layout.at_heading(Fault::new("no-voltage-anywhere", says, mend), Slot::is_voltage))
    }

    fn judge_voltage(&self, high: f64, layout: &Layout) -> Result<(), Fault> {
        let Expected { nominal, .. } = self.expected;
        let ratio = high / nominal;
        let near = |value: f64, of: f64| (value / of - 1.0).abs() < 0.15;
        // a third less than nominal is no supply, and just what a voltage to neutral looks like between lines
        let is_to_neutral = layout.is_line_to_line && near(ratio, 1.0 / ROOT_3);
        if (0.5..=1.5).contains(&ratio) && !is_to_neutral {
            return Ok(());
        }
        let columns = named(layout, Slot::is_voltage);
        let is_per_unit = layout.columns.iter().any(|column| column.slot.is_voltage() && column.scale == 0.0);
        let fault = |name, says: String, mend: &str| Err(Fault::new(name, says, mend));
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
        if !layout.is_line_to_line && near(ratio, ROOT_3) {
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
        fault(
            "implausible-voltage",
            format!("{columns}: values near {high:.1} V are no voltages of a {nominal} V supply"),
            "name the right column, as in `--columns \"L1=HEADING [V]\"`, or its unit; or state the site's nominal voltage (`supply/nominal`)",
        )
    }

    fn judge_frequency(&self, high: f64, layout: &Layout) -> Result<(), Fault> {
        let Some(nominal) = self.expected.frequency else { return Ok(()) };
        if (0.8..=1.2).contains(&(high / nominal)) {
            return Ok(());
        }
        let says = format!(
            "{}: values near {high:.2} Hz are no frequencies of a {nominal} Hz supply",
            named(layout, |slot| slot == Slot::Frequency)
        );
        Err(Fault::new("implausible-frequency", says, "name the right column, as in `--columns \"frequency=HEADING [Hz]\"`"))
    }
}

/// What nearly all values of some slots lie below.
fn nearly_highest(rows: &[Row], slots: std::ops::Range<usize>) -> Option<f64> {
    let mut values: Vec<f64> = rows.iter().flat_map(|row| row.values[slots.clone()].iter().copied()).filter(|v| !v.is_nan()).collect();
    values.sort_unstable_by(f64::total_cmp);
    values.get((values.len().checked_sub(1)?) * 95 / 100).copied()
}

fn named(layout: &Layout, of: impl Fn(Slot) -> bool) -> String {
    let columns = layout.columns.iter().filter(|column| of(column.slot)).map(|column| format!("`{}`", column.heading));
    columns.collect::<Vec<_>>().join(", ")
}
