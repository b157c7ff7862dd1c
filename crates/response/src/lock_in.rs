//! A function that begins to act at one place and ends at another: between the two, what came before
//! decides.

/// Where a function begins to act, and where it ends.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LockIn {
    /// It begins above this voltage, in volts line to neutral…
    pub voltage: f64,
    /// …and ends below this one.
    pub voltage_out: f64,
    /// It begins above this active power, in watts…
    pub power: f64,
    /// …and ends below this one.
    pub power_out: f64,
}

impl LockIn {
    /// Whether it acts now, by whether it acted just before.
    #[must_use]
    pub fn acts(&self, acted: bool, voltage: f64, active: f64) -> bool {
        if acted { voltage >= self.voltage_out && active >= self.power_out } else { voltage > self.voltage && active > self.power }
    }
}
