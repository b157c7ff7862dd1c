//! When a device may connect, how it comes up, and where it gives nothing for a moment.

use super::equipment::{Building, Measured};
use response::timeline::{Ceasing, Micros, Reconnection, micros};

impl Building<'_> {
    /// `ramps` where it is a device that comes up, and no relay.
    pub(super) fn reconnection(&mut self, measured: Measured, ramps: bool) -> Reconnection {
        let mut unknown = Vec::new();
        let mut edge = |key: &str, open: f64| {
            self.values.exactly("reconnection", key).unwrap_or_else(|| {
                unknown.push(key.replace('-', " "));
                open
            })
        };
        let voltage = [edge("lower-voltage", f64::NEG_INFINITY), edge("upper-voltage", f64::INFINITY)];
        let mut frequency = [edge("lower-frequency", f64::NEG_INFINITY), edge("upper-frequency", f64::INFINITY)];
        let observation = self.values.exactly("reconnection", "observation-time");
        if observation.is_none() {
            unknown.push("observation time".to_owned());
        }
        if !measured.frequency {
            self.taken.push("Reconnection: the log has no frequency; it is assumed to lie inside".to_owned());
            frequency = [f64::NEG_INFINITY, f64::INFINITY];
        }
        if !unknown.is_empty() {
            self.taken.push(format!("Reconnection: its {} not known, so that no return is certain", is_or_are(&unknown)));
        }
        let by_rate = || self.values.exactly("reconnection", "ramp-rate").filter(|rate| *rate > 0.0).map(|rate| 6000.0 / rate);
        let ramp = self.values.exactly("reconnection", "ramp-time").or_else(by_rate);
        if ramp.is_none() && ramps {
            self.taken.push("Reconnection: its ramp is not known; it is assumed to come back at once".to_owned());
        }
        let least = observation.map_or(0, micros);
        let most = if unknown.is_empty() { least } else { Micros::MAX };
        let random = self.values.exactly("reconnection", "random-delay").map_or(0, micros);
        Reconnection { voltage, frequency, observation: [least, most], random, ramp: ramp.map_or(0, micros) }
    }

    pub(super) fn ceasing(&self) -> Ceasing {
        let own = Ceasing::default();
        Ceasing {
            below: self.values.exactly("cease-generation", "below").unwrap_or(own.below),
            above: self.values.exactly("cease-generation", "above").unwrap_or(own.above),
        }
    }
}

fn is_or_are(words: &[String]) -> String {
    match words {
        [one] => format!("{one} is"),
        many => format!("{} are", many.join(", ")),
    }
}
