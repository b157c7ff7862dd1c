//! The table itself: every function and its settings. A new setting of a known shape is a row here.

use super::{Function, Harm, HeldBy, Parameter, STATES, Shape};
use crate::quantity::Dimension;

const fn parameter(key: &'static str, title: &'static str, shape: Shape, above: Harm, below: Harm, meaning: &'static str) -> Parameter {
    Parameter { key, title, meaning, shape, held_by: HeldBy::Setting, above, below }
}

const fn type_tested(row: Parameter) -> Parameter {
    Parameter { held_by: HeldBy::TypeTest, ..row }
}

const fn state(harm: Harm) -> Parameter {
    parameter("state", "state", Shape::Choice(STATES), harm, harm, "absent: the device lacks it; off: switched off; enabled: acts")
}

const fn time(key: &'static str, title: &'static str, meaning: &'static str) -> Parameter {
    parameter(key, title, Shape::Quantity(Dimension::Time), Harm::ProtectsLess, Harm::DropsOutTooEasily, meaning)
}

/// A trip stage: past the threshold for longer than the delay, the device disconnects.
const fn trip_stage(dimension: Dimension, above: Harm, below: Harm) -> [Parameter; 6] {
    [
        state(Harm::ProtectsLess),
        parameter("threshold", "threshold", Shape::Quantity(dimension), above, below, "strict: a value equal to it is not yet outside"),
        time("definite-delay", "trip delay", "the delay that is set: the condition must last this long before the stage acts"),
        type_tested(time("operate-time", "operate time", "from the start of the condition until the stage gives its trip command")),
        type_tested(time("disconnection", "disconnection time", "from the start of the condition until disconnected")),
        Parameter {
            held_by: HeldBy::AmbiguousDisplay,
            ..time(
                "unnamed-time",
                "time (meaning not shown)",
                "a display that says only \"time\": complies only where it would under every meaning",
            )
        },
    ]
}

const OVERVOLTAGE: [Parameter; 6] = trip_stage(Dimension::Voltage, Harm::ProtectsLess, Harm::DropsOutTooEasily);
const UNDERVOLTAGE: [Parameter; 6] = trip_stage(Dimension::Voltage, Harm::DropsOutTooEasily, Harm::ProtectsLess);
const OVERFREQUENCY: [Parameter; 6] = trip_stage(Dimension::Frequency, Harm::ProtectsLess, Harm::DropsOutTooEasily);
const UNDERFREQUENCY: [Parameter; 6] = trip_stage(Dimension::Frequency, Harm::DropsOutTooEasily, Harm::ProtectsLess);

const fn curve(y_meaning: &'static str) -> Parameter {
    let shape = Shape::Curve { x: Dimension::Voltage, y: Dimension::Percent };
    parameter("points", "curve", shape, Harm::SupportsLess, Harm::SupportsLess, y_meaning)
}

const fn window(key: &'static str, title: &'static str, dimension: Dimension, above: Harm, below: Harm) -> Parameter {
    parameter(key, title, Shape::Quantity(dimension), above, below, "inclusive: a value equal to it is inside the window")
}

/// Every function, in the order in which files and sheets list them.
pub const FUNCTIONS: &[Function] = &[
    Function {
        key: "undervoltage-1",
        title: "Undervoltage, stage 1",
        meaning: "disconnects when the voltage stays below its threshold",
        parameters: &UNDERVOLTAGE,
    },
    Function {
        key: "undervoltage-2",
        title: "Undervoltage, stage 2",
        meaning: "the deeper and faster undervoltage stage",
        parameters: &UNDERVOLTAGE,
    },
    Function {
        key: "overvoltage-1",
        title: "Overvoltage, stage 1",
        meaning: "disconnects when the voltage stays above its threshold",
        parameters: &OVERVOLTAGE,
    },
    Function {
        key: "overvoltage-2",
        title: "Overvoltage, stage 2",
        meaning: "the higher and faster overvoltage stage",
        parameters: &OVERVOLTAGE,
    },
    Function {
        key: "sustained-overvoltage",
        title: "Sustained overvoltage (10-minute average)",
        meaning: "disconnects when the average voltage of the last ten minutes is above its threshold",
        parameters: &[
            state(Harm::ProtectsLess),
            parameter(
                "threshold",
                "threshold",
                Shape::Quantity(Dimension::Voltage),
                Harm::ProtectsLess,
                Harm::DropsOutTooEasily,
                "compared with the average over the averaging window, not with a single cycle",
            ),
            type_tested(time("averaging-window", "averaging window", "a sliding window, not aligned to the clock")),
            type_tested(time("disconnection", "disconnection time", "from the average passing the threshold until disconnected")),
        ],
    },
    Function {
        key: "underfrequency-1",
        title: "Underfrequency",
        meaning: "disconnects when the frequency stays below its threshold",
        parameters: &UNDERFREQUENCY,
    },
    Function {
        key: "overfrequency-1",
        title: "Overfrequency",
        meaning: "disconnects when the frequency stays above its threshold",
        parameters: &OVERFREQUENCY,
    },
    Function {
        key: "active-anti-islanding",
        title: "Active anti-islanding",
        meaning: "notices that the network is gone and ceases; fixed in the device",
        parameters: &[
            state(Harm::ProtectsLess),
            type_tested(time("disconnection", "disconnection time", "from loss of the network until disconnected")),
        ],
    },
    Function {
        key: "voltage-withstand",
        title: "Voltage disturbance withstand",
        meaning: "how long the device must stay connected through dips and swells",
        parameters: &[type_tested(state(Harm::DropsOutTooEasily))],
    },
    Function {
        key: "reconnection",
        title: "Connection and reconnection",
        meaning: "what must hold, and for how long, before the device connects, and how fast it then ramps",
        parameters: &[
            window("lower-voltage", "lower voltage", Dimension::Voltage, Harm::Departs, Harm::ConnectsTooSoon),
            window("upper-voltage", "upper voltage", Dimension::Voltage, Harm::ConnectsTooSoon, Harm::Departs),
            window("lower-frequency", "lower frequency", Dimension::Frequency, Harm::Departs, Harm::ConnectsTooSoon),
            window("upper-frequency", "upper frequency", Dimension::Frequency, Harm::ConnectsTooSoon, Harm::Departs),
            parameter(
                "observation-time",
                "observation time",
                Shape::Quantity(Dimension::Time),
                Harm::GivesUpEnergy,
                Harm::ConnectsTooSoon,
                "voltage and frequency must stay inside the windows this long; any excursion starts it again",
            ),
            parameter(
                "ramp-rate",
                "ramp rate",
                Shape::Quantity(Dimension::RampRate),
                Harm::SupportsLess,
                Harm::GivesUpEnergy,
                "of rated active power, per minute, after connecting",
            ),
        ],
    },
    Function {
        key: "volt-watt",
        title: "Volt-watt",
        meaning: "lowers the most active power allowed as the voltage rises; a cap, never a set point",
        parameters: &[state(Harm::SupportsLess), curve("active power, per cent of the base that the standard names, against voltage")],
    },
    Function {
        key: "volt-var",
        title: "Volt-var",
        meaning: "supplies reactive power at low voltage and absorbs it at high voltage",
        parameters: &[
            state(Harm::SupportsLess),
            curve("reactive power against voltage: positive supplies (raises the voltage), negative absorbs (lowers it)"),
        ],
    },
    Function {
        key: "power-quality-response",
        title: "Speed of the voltage responses",
        meaning: "how soon volt-watt and volt-var begin and finish their answer to a change of voltage",
        parameters: &[
            type_tested(parameter(
                "commence",
                "begins within",
                Shape::Quantity(Dimension::Time),
                Harm::SupportsLess,
                Harm::Departs,
                "from the change of voltage until the response begins",
            )),
            type_tested(parameter(
                "complete",
                "complete within",
                Shape::Quantity(Dimension::Time),
                Harm::SupportsLess,
                Harm::Departs,
                "from the change of voltage until the response is complete",
            )),
        ],
    },
    Function {
        key: "fixed-power-factor",
        title: "Fixed power factor",
        meaning: "holds one power factor at every voltage; excludes volt-var",
        parameters: &[state(Harm::SupportsLess)],
    },
    Function {
        key: "over-frequency-response",
        title: "Response to high frequency",
        meaning: "lowers active power in step with rising frequency and holds the lowest level reached",
        parameters: &[
            state(Harm::SupportsLess),
            window("start", "starts at", Dimension::Frequency, Harm::SupportsLess, Harm::GivesUpEnergy),
            window("end", "zero power at", Dimension::Frequency, Harm::SupportsLess, Harm::GivesUpEnergy),
            parameter(
                "hysteresis",
                "hysteresis",
                Shape::Quantity(Dimension::Frequency),
                Harm::GivesUpEnergy,
                Harm::SupportsLess,
                "the frequency must fall this far below the start before power may rise again",
            ),
            parameter(
                "hold-time",
                "hold time",
                Shape::Quantity(Dimension::Time),
                Harm::GivesUpEnergy,
                Harm::SupportsLess,
                "the frequency must stay back this long before power may rise again",
            ),
        ],
    },
    Function {
        key: "export-limit",
        title: "Export limit",
        meaning: "limits the net active power that leaves the site at its connection point",
        parameters: &[
            state(Harm::ExportBreach),
            parameter(
                "site-total",
                "limit, whole site",
                Shape::Quantity(Dimension::ActivePower),
                Harm::ExportBreach,
                Harm::GivesUpEnergy,
                "net export of the whole site, all phases together, not the output of one inverter",
            ),
            type_tested(parameter(
                "removal-time",
                "excess gone within",
                Shape::Quantity(Dimension::Time),
                Harm::ExportBreach,
                Harm::Departs,
                "from passing the limit until the export is back below it",
            )),
        ],
    },
];
