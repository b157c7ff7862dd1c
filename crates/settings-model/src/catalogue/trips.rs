//! Trip stages: past a threshold for longer than a delay, the device disconnects.

use super::rows::{parameter, quantity, state, time, type_tested};
use super::{Equipment, Function, Harm, HeldBy, Parameter, Shape};
use crate::quantity::Dimension;

const BOTH: &[Equipment] = &[Equipment::Inverter, Equipment::GridProtectionRelay];
const RELAY: &[Equipment] = &[Equipment::GridProtectionRelay];
const INVERTER: &[Equipment] = &[Equipment::Inverter];

const STRICT: &str = "strict: a value equal to it is not yet outside";
const LONGER: Harm = Harm::ProtectsLess;

const DELAY: Parameter =
    time("definite-delay", "trip delay", "the delay that is set: the condition must last this long before the stage acts");
const CLEARING: Parameter = time(
    "clearing-time",
    "clearing time",
    "set in place of a delay: from the start of the condition until the device has ceased and tripped",
);
const OPERATE: Parameter = time(
    "operate-time",
    "operate time",
    "from the start of the condition until the stage gives its trip command; set in place of a delay where a standard counts so",
);
const DISCONNECTION: Parameter =
    type_tested(time("disconnection", "disconnection time", "from the start of the condition until disconnected"));
const UNNAMED: Parameter = Parameter {
    held_by: HeldBy::AmbiguousDisplay,
    ..time(
        "unnamed-time",
        "time (meaning not shown)",
        "a display that says only \"time\": complies only where it would under every meaning",
    )
};

/// Off it protects less; enabled where it has to be off, it cuts in where the device should stay.
const STATE: Parameter = Parameter { above: Harm::DropsOutTooEasily, ..state(Harm::ProtectsLess) };

const fn stage(dimension: Dimension, above: Harm, below: Harm) -> [Parameter; 7] {
    let threshold = parameter("threshold", "threshold", Shape::Quantity(dimension), above, below, STRICT);
    [STATE, threshold, DELAY, CLEARING, OPERATE, DISCONNECTION, UNNAMED]
}

const OVERVOLTAGE: [Parameter; 7] = stage(Dimension::Voltage, Harm::ProtectsLess, Harm::DropsOutTooEasily);
const UNDERVOLTAGE: [Parameter; 7] = stage(Dimension::Voltage, Harm::DropsOutTooEasily, Harm::ProtectsLess);
const OVERFREQUENCY: [Parameter; 7] = stage(Dimension::Frequency, Harm::ProtectsLess, Harm::DropsOutTooEasily);
const UNDERFREQUENCY: [Parameter; 7] = stage(Dimension::Frequency, Harm::DropsOutTooEasily, Harm::ProtectsLess);
const REVERSE_POWER: [Parameter; 7] = stage(Dimension::ActivePower, Harm::ExportBreach, Harm::DropsOutTooEasily);
const VECTOR_SHIFT: [Parameter; 7] = stage(Dimension::Angle, Harm::ProtectsLess, Harm::DropsOutTooEasily);

const fn trip(
    key: &'static str,
    title: &'static str,
    meaning: &'static str,
    held_by: &'static [Equipment],
    parameters: &'static [Parameter],
) -> Function {
    Function { key, title, meaning, held_by, parameters }
}

pub(super) const FUNCTIONS: &[Function] = &[
    trip("undervoltage-1", "Undervoltage, stage 1", "disconnects when the voltage stays below its threshold", BOTH, &UNDERVOLTAGE),
    trip("undervoltage-2", "Undervoltage, stage 2", "the deeper and faster undervoltage stage", BOTH, &UNDERVOLTAGE),
    trip("undervoltage-3", "Undervoltage, stage 3", "a third undervoltage stage, where one is asked for", BOTH, &UNDERVOLTAGE),
    trip("overvoltage-1", "Overvoltage, stage 1", "disconnects when the voltage stays above its threshold", BOTH, &OVERVOLTAGE),
    trip("overvoltage-2", "Overvoltage, stage 2", "the higher and faster overvoltage stage", BOTH, &OVERVOLTAGE),
    trip("overvoltage-3", "Overvoltage, stage 3", "a third overvoltage stage, where one is asked for", BOTH, &OVERVOLTAGE),
    Function {
        key: "sustained-overvoltage",
        title: "Sustained overvoltage (10-minute average)",
        meaning: "disconnects when the average voltage of the last ten minutes is above its threshold",
        held_by: BOTH,
        parameters: &[
            STATE,
            quantity(
                "threshold",
                "threshold",
                Dimension::Voltage,
                Harm::ProtectsLess,
                Harm::DropsOutTooEasily,
                "compared with the average over the averaging window, not with a single cycle",
            ),
            type_tested(time("averaging-window", "averaging window", "a sliding window, not aligned to the clock")),
            type_tested(time("operate-time", "operate time", "from the average passing the threshold until the trip command")),
            type_tested(time("disconnection", "disconnection time", "from the average passing the threshold until disconnected")),
        ],
    },
    trip("underfrequency-1", "Underfrequency, stage 1", "disconnects when the frequency stays below its threshold", BOTH, &UNDERFREQUENCY),
    trip("underfrequency-2", "Underfrequency, stage 2", "the deeper and faster underfrequency stage", BOTH, &UNDERFREQUENCY),
    trip("overfrequency-1", "Overfrequency, stage 1", "disconnects when the frequency stays above its threshold", BOTH, &OVERFREQUENCY),
    trip("overfrequency-2", "Overfrequency, stage 2", "the higher and faster overfrequency stage", BOTH, &OVERFREQUENCY),
    Function {
        key: "rate-of-change-of-frequency",
        title: "Rate of change of frequency",
        meaning: "disconnects when the frequency changes faster than its threshold",
        held_by: BOTH,
        parameters: &[
            STATE,
            quantity(
                "threshold",
                "threshold",
                Dimension::FrequencyRate,
                Harm::ProtectsLess,
                Harm::DropsOutTooEasily,
                "in either direction; strict: a value equal to it is not yet outside",
            ),
            time("measuring-window", "measuring window", "over which the rate is measured; it is not the trip delay"),
            DELAY,
            CLEARING,
            OPERATE,
            DISCONNECTION,
            UNNAMED,
        ],
    },
    trip("vector-shift", "Vector shift", "disconnects when the phase of the voltage jumps by more than its threshold", BOTH, &VECTOR_SHIFT),
    trip("reverse-power", "Reverse power", "disconnects when active power flows out of the site past its threshold", RELAY, &REVERSE_POWER),
    trip(
        "neutral-voltage-displacement",
        "Neutral voltage displacement",
        "disconnects when the neutral's voltage against earth stays above its threshold",
        RELAY,
        &OVERVOLTAGE,
    ),
    Function {
        key: "remote-trip",
        title: "Trip by a signal from outside",
        meaning: "disconnects when a signal from the network operator, on an input of its own, asks for it",
        held_by: BOTH,
        parameters: &[state(Harm::ProtectsLess)],
    },
    Function {
        key: "drop-off",
        title: "Drop-off of the relay",
        meaning: "when a relay's stage lets go again",
        held_by: RELAY,
        parameters: &[
            quantity(
                "ratio",
                "drop-off ratio",
                Dimension::Percent,
                Harm::ProtectsLess,
                Harm::DropsOutTooEasily,
                "of the threshold: where a stage that has picked up lets go",
            ),
            time("reset-time", "reset time", "how long the value must be back before the stage counts from zero again"),
        ],
    },
    Function {
        key: "active-anti-islanding",
        title: "Active anti-islanding",
        meaning: "notices that the network is gone and ceases; fixed in the device",
        held_by: INVERTER,
        parameters: &[
            state(Harm::ProtectsLess),
            type_tested(time("disconnection", "disconnection time", "from loss of the network until disconnected")),
        ],
    },
    Function {
        key: "phase-balance",
        title: "Phase balance of the device",
        meaning: "limits, or disconnects at, a difference between the currents of the phases",
        held_by: INVERTER,
        parameters: &[
            state(Harm::ProtectsLess),
            quantity(
                "limit",
                "greatest difference",
                Dimension::Current,
                LONGER,
                Harm::GivesUpEnergy,
                "between the currents of any two phases",
            ),
            type_tested(time("disconnection", "disconnection time", "from the difference passing its limit until disconnected")),
        ],
    },
];
