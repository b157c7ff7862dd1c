//! A supply, a sky and a site's own use, moment by moment.

use super::chance::Chance;

/// Voltage at the terminals without the device, what the sun would give and what the site uses.
pub struct Course {
    base: f64,
    wave: f64,
    phase: f64,
    noise: f64,
    wander: f64,
    rise: f64,
    cloud: f64,
    is_cloudy: f64,
    shade: f64,
    sun: f64,
    kettle: bool,
}

/// What there is at a moment.
pub struct There {
    /// Volts without the device.
    pub volts: f64,
    /// The share of its rating that the sun would give.
    pub sun: f64,
    /// The share of its rating that the site uses.
    pub load: f64,
}

impl Course {
    /// Of a supply whose voltage lies somewhere between these.
    pub fn draw(chance: &mut Chance, [low, high]: [f64; 2]) -> Self {
        Self {
            base: chance.between(low, high),
            wave: chance.between(0.0, 6.0),
            phase: chance.between(0.0, 6.3),
            noise: chance.between(0.05, 1.2),
            wander: 0.0,
            rise: chance.between(0.5, 8.0),
            cloud: 0.0,
            is_cloudy: chance.share(),
            shade: 0.0,
            sun: chance.between(0.7, 1.25),
            kettle: false,
        }
    }

    pub fn told(&self) -> String {
        format!(
            "{:.1} V, waves of {:.1} V, noise {:.2} V, rise {:.1} V, clouds {:.2}",
            self.base, self.wave, self.noise, self.rise, self.is_cloudy
        )
    }

    /// After another `seconds`.
    pub fn next(&mut self, at: f64, seconds: f64, chance: &mut Chance) -> There {
        // both wander, over two minutes or so
        let keep = (-seconds / 120.0f64).exp();
        let fresh = (1.0 - keep * keep).sqrt();
        self.wander = self.wander * keep + fresh * chance.normal();
        self.cloud = self.cloud * keep + fresh * chance.normal();
        let target = if self.cloud > 1.0 - self.is_cloudy { 0.7 * self.is_cloudy } else { 0.0 };
        self.shade += (target - self.shade) * (seconds / 30.0).min(1.0);
        let hour = (at / 3600.0).rem_euclid(24.0);
        let clear = (std::f64::consts::PI * (hour - 6.0) / 12.0).sin().max(0.0);
        let days = std::f64::consts::TAU * at / 86_400.0;
        let volts = self.base + self.wave * (days * 1.37 + self.phase).sin() + self.noise * self.wander;
        // something large goes on and off, ten minutes at a time
        if chance.share() < seconds / 600.0 {
            self.kettle = chance.share() < 0.3;
        }
        let load = 0.06 + if self.kettle { 0.35 } else { 0.0 };
        There { volts, sun: self.sun * clear * (1.0 - self.shade), load }
    }

    /// Volts by which the device lifts its terminals at its rating.
    pub fn rise(&self) -> f64 {
        self.rise
    }
}
