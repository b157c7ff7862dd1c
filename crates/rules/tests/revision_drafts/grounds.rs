//! What random networks stand on, and the settings that they speak of.

/// What a network stands on, and what it may say there.
pub struct Ground {
    pub standard: &'static str,
    pub region: &'static str,
    /// As a device's file states it.
    pub certified: &'static str,
    /// Nominal voltages that its sites may have.
    pub nominal: &'static [&'static str],
    pub slots: &'static [Slot],
}

/// A setting that a network may speak of.
pub struct Slot {
    /// `settings` or `installation`.
    pub block: &'static str,
    pub function: &'static str,
    pub parameter: &'static str,
    pub shape: Shape,
}

/// What may be said of it, and held.
pub enum Shape {
    /// Numbers in ascending order, without their unit.
    Numbers(&'static [&'static str], &'static str),
    /// What follows from other things that a site states.
    Summed(&'static [&'static str], &'static str),
    Words(&'static [&'static str]),
    /// Each with ranges in which its points may be moved.
    Curves(&'static [&'static str], &'static [&'static str]),
}

const fn slot(function: &'static str, parameter: &'static str, shape: Shape) -> Slot {
    Slot { block: "settings", function, parameter, shape }
}

const STATES: Shape = Shape::Words(&["absent", "off", "enabled"]);

pub const AS_NZS: Ground = Ground {
    standard: "as-nzs-4777.2/2020-amd2",
    region: "australia-a",
    certified: "{ standard: as-nzs-4777.2, edition: { year: 2020, amendment: 2 } }",
    nominal: &["230 V"],
    slots: &[
        slot("sustained-overvoltage", "threshold", Shape::Numbers(&["250", "253", "255", "258", "262"], "V")),
        slot("overvoltage-1", "threshold", Shape::Numbers(&["260", "263", "265"], "V")),
        slot("overvoltage-1", "definite-delay", Shape::Numbers(&["0.5", "1", "1.5", "1.9"], "s")),
        slot("reconnection", "ramp-rate", Shape::Numbers(&["5", "10", "16.67", "20"], "%/min")),
        slot("volt-watt", "state", STATES),
        slot(
            "volt-watt",
            "points",
            Shape::Curves(
                &["[[253 V, 100 %], [260 V, 20 %]]", "[[250 V, 100 %], [260 V, 20 %]]", "[[253 V, 100 %], [256.5 V, 60 %], [260 V, 20 %]]"],
                &["[[250 V to 254 V, 100 %], [258 V to 262 V, 0 % to 20 %]]", "[[253 V, 100 %], [260 V, 10 % to 30 %]]"],
            ),
        ),
        slot("fixed-power-factor", "state", STATES),
        slot("export-limit", "state", STATES),
        slot("export-limit", "site-total", Shape::Numbers(&["3", "5", "10", "15"], "kW")),
        slot("export-limit", "hard-limit", Shape::Numbers(&["5", "10", "15"], "kW")),
        slot("export-sensor", "direction", Shape::Words(&["correct", "reversed"])),
        Slot {
            block: "installation",
            function: "site-rating",
            parameter: "nameplate-total",
            shape: Shape::Summed(&["5", "10", "15"], "kVA"),
        },
    ],
};

pub const IEEE: Ground = Ground {
    standard: "ieee-1547/2018-amd1",
    region: "b-iii",
    certified: "{ standard: ieee-1547, edition: { year: 2018, amendment: 1 } }",
    nominal: &["120 V", "240 V", "277 V"],
    slots: &[
        slot("overvoltage-1", "threshold", Shape::Numbers(&["1.08", "1.10", "1.15", "1.20"], "pu")),
        slot("overvoltage-1", "clearing-time", Shape::Numbers(&["1", "11", "13", "14"], "s")),
        slot("undervoltage-2", "threshold", Shape::Numbers(&["0.45", "0.50", "0.60"], "pu")),
        slot("undervoltage-2", "clearing-time", Shape::Numbers(&["0.5", "2", "11", "21"], "s")),
        slot("undervoltage-3", "state", STATES),
        slot("undervoltage-3", "threshold", Shape::Numbers(&["0.30", "0.45"], "pu")),
        slot("undervoltage-3", "clearing-time", Shape::Numbers(&["0.16", "1.4"], "s")),
        slot("reconnection", "upper-voltage", Shape::Numbers(&["1.05", "1.055", "1.06", "1.10"], "pu")),
        slot("reconnection", "upper-voltage", Shape::Numbers(&["126", "127.2", "252", "254.4"], "V")),
        slot("volt-var", "state", STATES),
        slot("volt-var", "reference-voltage", Shape::Numbers(&["0.97", "1", "1.02"], "pu")),
        slot(
            "volt-var",
            "points",
            Shape::Curves(
                &[
                    "[[0.92 pu, 44 %], [0.98 pu, 0 %], [1.02 pu, 0 %], [1.08 pu, -44 %]]",
                    "[[0.92 pu, 44 %], [0.97 pu, 0 %], [1.02 pu, 0 %], [1.08 pu, -44 %]]",
                    "[[0.92 pu, 44 %], [0.95 pu, 22 %], [0.98 pu, 0 %], [1.02 pu, 0 %], [1.08 pu, -44 %]]",
                ],
                &[
                    "[[reference - 0.18 pu to next - 0.02 pu, 0 % to 44 %], [reference - 0.03 pu to reference, 0 %], [reference to reference + 0.03 pu, 0 %], [previous + 0.02 pu to reference + 0.18 pu, -44 % to 0 %]]",
                    "[[0.90 pu to 0.94 pu, 44 %], [0.96 pu to 0.99 pu, 0 %], [1.02 pu, 0 %], [1.08 pu, -44 % to -30 %]]",
                ],
            ),
        ),
        slot("fixed-power-factor", "state", STATES),
        slot("power-priority", "first", Shape::Words(&["active-power", "reactive-power"])),
    ],
};
