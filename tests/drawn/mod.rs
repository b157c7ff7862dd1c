//! Sites that are drawn: as a file says them, and as plain numbers.

use std::fmt::Write;

/// A generator of its own, so that a failure can be drawn again.
pub struct Draw(pub u64);

impl Draw {
    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        self.0 >> 33
    }

    pub fn below(&mut self, count: u64) -> u64 {
        self.next() % count
    }

    pub fn one_in(&mut self, count: u64) -> bool {
        self.below(count) == 0
    }

    /// A number between two, with so many decimals.
    pub fn between(&mut self, low: f64, high: f64, decimals: i32) -> f64 {
        let scale = 10_f64.powi(decimals);
        ((low + (high - low) * self.below(1 << 30) as f64 / (1_u64 << 30) as f64) * scale).round() / scale
    }
}

/// Points of a curve: volts or per cent, and per cent or a power factor.
pub type Points = Vec<[f64; 2]>;

/// What decides reactive power; a power factor absorbs.
#[derive(Clone, Debug)]
pub enum Reactive {
    None,
    VoltVar(Points),
    Fixed(f64),
    ByPower(Points, Option<[f64; 2]>),
}

#[derive(Clone, Debug)]
pub struct Unit {
    pub apparent: f64,
    pub volt_watt: Option<Points>,
    pub reactive: Reactive,
    pub active_first: bool,
    pub export_limit: Option<f64>,
    /// The phase that it feeds; none for all three.
    pub phase: Option<usize>,
    /// Resistance and reactance of one conductor of its own cable.
    pub cable: [f64; 2],
    pub stores: bool,
}

#[derive(Clone, Debug)]
pub struct Site {
    pub nominal: f64,
    pub hertz: u32,
    pub phases: usize,
    /// Of one conductor of the cable that all share.
    pub shared: [f64; 2],
    pub units: Vec<Unit>,
}

impl Site {
    /// A site: weak or stiff, with up to three inverters, on a network of 50 or 60 Hz.
    pub fn drawn(draw: &mut Draw) -> Self {
        let hertz = if draw.one_in(2) { 50 } else { 60 };
        let nominal = if hertz == 50 { 230.0 } else { [120.0, 240.0, 277.0][draw.below(3) as usize] };
        let phases = if draw.one_in(3) { 3 } else { 1 };
        // so that 5 kVA on one conductor and back raise it by up to a tenth or so
        let weak = [0.1, 0.5, 1.0, 1.6][draw.below(4) as usize] * (nominal / 230.0) * (nominal / 230.0);
        let resistance = draw.between(0.001, 0.35 * weak, 4);
        let ratio = [0.0, 0.2, 1.0, 5.0][draw.below(4) as usize];
        let shared = [resistance, rounded(resistance * ratio * draw.between(0.5, 1.0, 3), 4)];
        let count = [1, 1, 2, 3][draw.below(4) as usize];
        let limit = draw.one_in(3).then(|| draw.between(500.0, 8_000.0, 0));
        let units = (0..count).map(|_| Unit::drawn(draw, nominal, phases, weak, limit)).collect();
        Self { nominal, hertz, phases, shared, units }
    }

    /// As its file says it.
    pub fn file(&self) -> String {
        let requirements = match self.hertz {
            50 => "{ standard: as-nzs-4777.2/2020-amd2, region: australia-a }",
            _ => "{ standard: ieee-1547/2018-amd1, region: b-ii }",
        };
        let mut text = format!(
            "kind: site\nsite: drawn-1\nrequirements: {requirements}\ndates: {{ applied: 2026-03-04, approved: 2026-04-01, installed: 2026-05-13 }}\n\
             supply: {{ phases: {}, nominal: {} V line-neutral }}\ncables:\n  shared: {{ part: consumer-mains, {} }}\n",
            self.phases,
            self.nominal,
            impedance(self.shared)
        );
        for (n, unit) in self.units.iter().enumerate() {
            let own = impedance(unit.cable);
            writeln!(text, "  own-{n}: {{ part: inverter-circuit, behind: shared, {own}, feeds: [inverter-{n}] }}").unwrap();
        }
        text.push_str("devices:\n");
        for (n, unit) in self.units.iter().enumerate() {
            unit.write(n, self, &mut text);
        }
        text
    }
}

impl Unit {
    fn drawn(draw: &mut Draw, nominal: f64, phases: usize, weak: f64, limit: Option<f64>) -> Self {
        let phase = if phases == 1 {
            Some(0)
        } else if draw.one_in(2) {
            None
        } else {
            Some(draw.below(3) as usize)
        };
        let apparent = (draw.between(1.5, if phase.is_none() { 15.0 } else { 6.0 }, 1) * 1000.0).round();
        let resistance = draw.between(0.001, 0.1 * weak, 4);
        let volts = |draw: &mut Draw, low: f64, high: f64| draw.between(low * nominal, high * nominal, 1);
        let volt_watt = (!draw.one_in(5)).then(|| {
            let from = volts(draw, 1.02, 1.1);
            let lowest = [20.0, 0.0, -10.0][draw.below(3) as usize];
            match draw.below(4) {
                // a step, and a slope that is nearly one
                0 => vec![[from, 100.0], [from, lowest]],
                1 => vec![[from, 100.0], [rounded(from + 0.2, 1), lowest]],
                2 => vec![[from, 100.0], [volts(draw, 1.11, 1.14), 60.0], [volts(draw, 1.15, 1.2), lowest]],
                _ => vec![[from, 100.0], [volts(draw, 1.11, 1.2), lowest]],
            }
        });
        let reactive = match draw.below(7) {
            0 | 1 => {
                let from = volts(draw, 1.02, 1.06);
                let most = -draw.between(20.0, 60.0, 0);
                let to = if draw.one_in(4) { from } else { volts(draw, 1.07, 1.14) };
                Reactive::VoltVar(vec![[rounded(0.9 * nominal, 1), 40.0], [rounded(0.95 * nominal, 1), 0.0], [from, 0.0], [to, most]])
            }
            2 => Reactive::Fixed(draw.between(0.8, 1.0, 2)),
            3 => Reactive::ByPower(vec![[40.0, 1.0], [80.0, 0.9]], None),
            4 | 5 => {
                let locks = [volts(draw, 1.02, 1.08), volts(draw, 0.97, 1.02)];
                Reactive::ByPower(vec![[draw.between(0.0, 40.0, 0), 1.0], [80.0, draw.between(0.8, 0.95, 2)]], Some(locks))
            }
            _ => Reactive::None,
        };
        Self {
            apparent,
            volt_watt,
            reactive,
            active_first: draw.one_in(2),
            export_limit: limit.filter(|_| !draw.one_in(4)),
            phase,
            cable: [resistance, rounded(resistance * draw.between(0.0, 0.4, 3), 4)],
            stores: draw.one_in(4),
        }
    }

    /// How many watts or vars a volt changes at most.
    pub fn steepness(&self) -> f64 {
        let slopes = |points: &Points| {
            let each = points.windows(2).filter(|pair| pair[1][0] > pair[0][0]);
            each.map(|pair| ((pair[1][1] - pair[0][1]) / (pair[1][0] - pair[0][0])).abs()).fold(0.0, f64::max)
        };
        let by_voltage = if let Reactive::VoltVar(points) = &self.reactive { slopes(points) } else { 0.0 };
        (self.volt_watt.as_ref().map_or(0.0, slopes) + by_voltage) / 100.0 * self.apparent
    }

    fn write(&self, n: usize, site: &Site, text: &mut String) {
        let source = if self.stores { "solar-and-storage" } else { "solar" };
        let feeds = self.phase.map_or_else(
            || "phases: 3".to_owned(),
            |phase| {
                if site.phases == 1 { "phases: 1".to_owned() } else { format!("phases: 1, on-phase: L{}", phase + 1) }
            },
        );
        let kilo = self.apparent / 1000.0;
        writeln!(
            text,
            "  inverter-{n}:\n    {{ source: {source}, nameplate: {kilo} kVA, rated-power: {kilo} kW, {feeds}, as-left: {{ date: 2026-05-13, role: licensed installer, known-by: display, settings: {{"
        )
        .unwrap();
        let mut line = |function: &str, of: String| writeln!(text, "        {function}: {{ {of} }},").unwrap();
        let points = |points: &Points, x: &str, y: &str| {
            let each: Vec<String> = points.iter().map(|[at, level]| format!("[{at} {x}, {level}{y}]")).collect();
            format!("state: enabled, points: [{}]", each.join(", "))
        };
        let off = || "state: off".to_owned();
        line("volt-watt", self.volt_watt.as_ref().map_or_else(off, |line| points(line, "V", " %")));
        line("volt-var", if let Reactive::VoltVar(line) = &self.reactive { points(line, "V", " %") } else { off() });
        let fixed = |factor: &f64| format!("state: enabled, power-factor: {factor}, direction: absorbing");
        line("fixed-power-factor", if let Reactive::Fixed(factor) = &self.reactive { fixed(factor) } else { off() });
        if let Reactive::ByPower(curve, locks) = &self.reactive {
            let locks =
                locks.map_or_else(String::new, |[lock_in, out]| format!(", lock-in-voltage: {lock_in} V, lock-out-voltage: {out} V"));
            line("power-dependent-power-factor", format!("{}, direction: absorbing{locks}", points(curve, "%", "")));
        }
        // at nominal frequency neither answers; at another, storage would
        if site.hertz == 60 {
            line("over-frequency-response", "state: enabled, deadband: 0.036 Hz, droop: 5 %".to_owned());
            line("under-frequency-response", "state: enabled, deadband: 0.036 Hz, droop: 5 %".to_owned());
        }
        line("power-priority", format!("first: {}", if self.active_first { "active-power" } else { "reactive-power" }));
        line("export-limit", self.export_limit.map_or_else(off, |limit| format!("state: enabled, site-total: {limit} W")));
        text.push_str("    } } }\n");
    }
}

fn impedance([resistance, reactance]: [f64; 2]) -> String {
    let reactance = if reactance > 0.0 { format!(", reactance: {reactance} ohm") } else { String::new() };
    format!("impedance: {{ resistance: {resistance} ohm{reactance} }}")
}

fn rounded(number: f64, decimals: i32) -> f64 {
    let scale = 10_f64.powi(decimals);
    (number * scale).round() / scale
}
