//! The stages that make a device leave, with the least and the longest time of each.

use super::equipment::{Building, Measured};
use super::words::title;
use response::timeline::{DropOff, Micros, Ridden, RideThrough, Side, Stage, Watched, micros};
use rules::trip_map::{Slice, Stay, trip_map};
use settings_model::catalogue::SettingId;
use settings_model::exact::Exact;
use settings_model::quantity::Dimension;

/// What the words of the catalogue mean by sustained overvoltage.
const TEN_MINUTES: Micros = 600_000_000;

/// What a stage of the catalogue looks at.
const STAGES: [(&str, Watched, Side); 11] = [
    ("undervoltage-1", Watched::AnyPhase, Side::Below),
    ("undervoltage-2", Watched::AnyPhase, Side::Below),
    ("undervoltage-3", Watched::AnyPhase, Side::Below),
    ("overvoltage-1", Watched::AnyPhase, Side::Above),
    ("overvoltage-2", Watched::AnyPhase, Side::Above),
    ("overvoltage-3", Watched::AnyPhase, Side::Above),
    ("sustained-overvoltage", Watched::MeanOfAnyPhase(TEN_MINUTES), Side::Above),
    ("underfrequency-1", Watched::Frequency, Side::Below),
    ("underfrequency-2", Watched::Frequency, Side::Below),
    ("overfrequency-1", Watched::Frequency, Side::Above),
    ("overfrequency-2", Watched::Frequency, Side::Above),
];

/// Stages that no log of voltage and frequency decides.
const OF_WAVEFORMS: [&str; 5] =
    ["rate-of-change-of-frequency", "vector-shift", "active-anti-islanding", "reverse-power", "neutral-voltage-displacement"];

/// Whether a function is a stage that is played.
pub(super) fn is_a_stage(function: &str) -> bool {
    STAGES.iter().any(|(stage, ..)| *stage == function)
}

/// The least time before a stage may trip, where anything says so, and by when it has to be off.
type Times = (Option<Micros>, Micros);

impl Building<'_> {
    /// Every stage that can be played; the others are told.
    pub(super) fn stages(&mut self, measured: Measured) -> Vec<Stage> {
        let stages: Vec<Stage> = STAGES.iter().filter_map(|stage| self.stage(*stage, measured)).collect();
        let open = stages.iter().filter(|stage| stage.most == Micros::MAX).map(|stage| stage.function).collect();
        self.take_of_each(open, "by when it is off is not known, so that no trip by it is certain");
        let at_once = std::mem::take(&mut self.of_unknown_delay);
        self.take_of_each(at_once, "its shortest time to trip is not known; it is assumed to trip at once or later");
        for function in OF_WAVEFORMS {
            if self.values.is_spoken_of(function) && self.values.is_enabled(function) != Some(false) {
                self.not_played(function, "no log of voltage and frequency shows it");
            }
        }
        stages
    }

    /// What is taken for granted of each of some stages.
    fn take_of_each(&mut self, functions: Vec<&str>, says: &str) {
        match functions[..] {
            [] => {}
            [one] => self.taken.push(format!("{}: {says}", title(one))),
            _ => {
                let named: Vec<&str> = functions.into_iter().map(title).collect();
                self.taken.push(format!("{}: of each, {says}", named.join("; ")));
            }
        }
    }

    fn not_played(&mut self, function: &str, why: &str) {
        self.not_played.push(format!("{}: {why}", title(function)));
    }

    /// A stage that could be played, were something known of it.
    fn could_not_play(&mut self, function: &str, why: &str) {
        self.could_not_play += 1;
        self.not_played(function, why);
    }

    fn stage(&mut self, (function, watched, side): (&'static str, Watched, Side), measured: Measured) -> Option<Stage> {
        if !self.values.is_spoken_of(function) || self.values.is_enabled(function) == Some(false) {
            return None;
        }
        if self.values.is_enabled(function).is_none() {
            self.could_not_play(function, "whether it is enabled is not known");
            return None;
        }
        let Some(threshold) = self.values.exactly(function, "threshold") else {
            self.could_not_play(function, "its threshold is not known");
            return None;
        };
        if watched == Watched::Frequency && !measured.frequency {
            self.could_not_play(function, "the log has no frequency");
            return None;
        }
        if self.values.is_left_open(function, "threshold") {
            let unit = if watched == Watched::Frequency { "Hz" } else { "V" };
            let says = "the requirement leaves its threshold open; it is played at the edge of what complies";
            self.taken.push(format!("{}: {says}, {threshold} {unit}", title(function)));
        }
        let (watched, times) = match watched {
            Watched::MeanOfAnyPhase(_) => {
                let window = self.values.type_tested(function, "averaging-window").filter(|[low, high]| low == high);
                let window = window.map_or(TEN_MINUTES, |[seconds, _]| micros(seconds));
                let most = self.values.type_tested(function, "disconnection").map_or(Micros::MAX, |[_, most]| finite(most));
                (Watched::MeanOfAnyPhase(window), Some((Some(0), most)))
            }
            momentary => (momentary, self.times(function)),
        };
        let Some((least, most)) = times else {
            self.could_not_play(function, "its time is not known");
            return None;
        };
        let drop_off = DropOff::at_threshold(threshold);
        // what its standard has it ride through comes before a time that says only by when it is off
        let rides = if least.unwrap_or(0) == 0 { self.rides(watched, side, threshold, most) } else { RideThrough::default() };
        if least.is_none() && rides.shortest().is_none() && most > 0 {
            self.of_unknown_delay.push(function);
        }
        let least = rides.shortest().or(least).unwrap_or(0);
        Some(Stage { function, watched, side, threshold, least, rides, most, drop_off, relay: None })
    }

    /// How long the device has to stay on beyond a threshold: as required, or as the type test of a
    /// certified device shows it; never longer than by when it has to be off. Past the threshold of the
    /// next stage, that one decides.
    fn rides(&self, watched: Watched, side: Side, threshold: f64, most: Micros) -> RideThrough {
        let held = self.values.held;
        let asked = held.asked.as_ref().filter(|_| self.values.are_as_required() || held.device.certified.is_some());
        let measured = match watched {
            Watched::AnyPhase => Dimension::Voltage,
            Watched::Frequency => Dimension::Frequency,
            Watched::MeanOfAnyPhase(_) => return RideThrough::default(),
        };
        let map = asked.and_then(|(_, counted)| trip_map(measured, &counted.requirement, &held.facts));
        let next = self.next_threshold(watched, side, threshold);
        let at = |edge: Option<Exact>| edge.map(Exact::approximate);
        let past = |slice: &Slice| match side {
            Side::Above => at(slice.from).is_some_and(|from| from > threshold - 1e-9 && from < next - 1e-9),
            Side::Below => at(slice.to).is_some_and(|to| to < threshold + 1e-9 && to > next + 1e-9),
        };
        let stay = |stay: Stay| if let Stay::For(seconds) = stay { finite(seconds.approximate()).min(most) } else { most };
        let part = |slice: &Slice| {
            let edges = [at(slice.from).unwrap_or(f64::NEG_INFINITY), at(slice.to).unwrap_or(f64::INFINITY)];
            let ([from, to], [near, far]) = match side {
                Side::Above => (edges, slice.stays),
                Side::Below => ([edges[1], edges[0]], [slice.stays[1], slice.stays[0]]),
            };
            Ridden { from, to, least: [stay(near), stay(far)] }
        };
        let mut parts: Vec<Ridden> = map.iter().flat_map(|map| &map.slices).filter(|slice| past(slice)).map(part).collect();
        if side == Side::Below {
            parts.reverse();
        }
        RideThrough::of(parts)
    }

    /// The threshold of the next stage farther out; infinitely far where there is none.
    fn next_threshold(&self, watched: Watched, side: Side, threshold: f64) -> f64 {
        let others = STAGES.iter().filter(|(_, of, on)| (*of, *on) == (watched, side));
        let enabled = others.filter(|(function, ..)| self.values.is_enabled(function) == Some(true));
        let thresholds = enabled.filter_map(|(function, ..)| self.values.exactly(function, "threshold"));
        match side {
            Side::Above => thresholds.filter(|other| *other > threshold).fold(f64::INFINITY, f64::min),
            Side::Below => thresholds.filter(|other| *other < threshold).fold(f64::NEG_INFINITY, f64::max),
        }
    }

    fn times(&mut self, function: &str) -> Option<Times> {
        let states = |key| SettingId::find(function, key).is_some_and(|id| self.values.states(id));
        // what the device itself shows comes before what its region brings
        let shows_another_time = ["clearing-time", "operate-time", "unnamed-time"].into_iter().any(states);
        if (states("definite-delay") || !shows_another_time)
            && let Some([least, most]) = self.values.span(function, "definite-delay")
        {
            let least = least.max(0.0);
            let most = if least == most { self.off_by(function, least) } else { self.disconnection(function).map_or(Micros::MAX, finite) };
            return Some((Some(micros(least)), most));
        }
        if let Some([_, most]) = self.values.span(function, "clearing-time") {
            return Some((None, finite(most)));
        }
        if let Some([least, _]) = self.values.span(function, "operate-time") {
            return Some((Some(micros(least.max(0.0))), self.off_by(function, least)));
        }
        if let Some([time, _]) = self.values.span(function, "unnamed-time") {
            self.taken.push(format!("{}: what its time means is not known; it is played under every meaning", title(function)));
            return Some((Some(0), self.off_by(function, time)));
        }
        self.disconnection(function).map(|most| (None, finite(most)))
    }

    fn disconnection(&self, function: &str) -> Option<f64> {
        self.values.type_tested(function, "disconnection").map(|[_, most]| most)
    }

    /// By when a stage of this delay has to be off.
    fn off_by(&self, function: &str, delay: f64) -> Micros {
        match (self.disconnection(function), self.margin(function)) {
            (Some(most), _) if most > delay => finite(most),
            // longer than its standard lets it take: what the standard leaves after the delay
            (_, Some(margin)) => finite(delay + margin),
            _ => Micros::MAX,
        }
    }

    /// What its standard leaves between the least delay and the disconnection time.
    fn margin(&self, function: &str) -> Option<f64> {
        let [_, most] = self.values.demanded(function, "disconnection")?;
        let demanded = |key| self.values.demanded(function, key);
        let least = demanded("definite-delay").or_else(|| demanded("operate-time")).map_or(0.0, |[least, _]| least.max(0.0));
        Some(most - least).filter(|margin| *margin >= 0.0)
    }
}

fn finite(seconds: f64) -> Micros {
    if seconds.is_finite() { micros(seconds) } else { Micros::MAX }
}
