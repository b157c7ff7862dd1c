//! Riding through: what a device must stay connected through, and how it behaves meanwhile.

use super::rows::{answer, choice, mended_by, parameter, quantity, state, type_tested};
use super::{Equipment, Function, Harm, Parameter, Shape};
use crate::quantity::Dimension;

const INVERTER: &[Equipment] = &[Equipment::Inverter];
const WORSE: Harm = Harm::DropsOutTooEasily;

/// An edge of continuous operation, where the device may never disconnect.
const fn lower_edge(dimension: Dimension) -> Parameter {
    type_tested(quantity("lower", "continuous from", dimension, WORSE, Harm::Departs, EDGE))
}

const fn upper_edge(dimension: Dimension) -> Parameter {
    type_tested(quantity("upper", "continuous up to", dimension, Harm::Departs, WORSE, EDGE))
}

const EDGE: &str = "inclusive: between the two edges the device stays connected, with no time limit";

/// The shortest time for which a device stays connected, against what is measured.
const fn shortest_time(key: &'static str, title: &'static str, x: Dimension, meaning: &'static str) -> Parameter {
    type_tested(parameter(key, title, Shape::Curve { x, y: Dimension::Time }, Harm::Departs, WORSE, meaning))
}

/// A time that the device has to manage with, so the shorter the better.
const fn at_intervals(key: &'static str, title: &'static str, meaning: &'static str) -> Parameter {
    type_tested(quantity(key, title, Dimension::Time, WORSE, Harm::Departs, meaning))
}

/// A performance category, which no setting changes.
const fn category(key: &'static str, title: &'static str, words: &'static [&'static str], harm: Harm, meaning: &'static str) -> Parameter {
    mended_by(
        type_tested(choice(key, title, words, harm, meaning)),
        "first see the device's certificate: which category it is rated for. Only if it is not the one that the network operator asks for, \
         tell the operator; no setting changes a rating",
    )
}

pub(super) const FUNCTIONS: &[Function] = &[
    Function {
        key: "performance-category",
        title: "Performance category",
        meaning: "the categories of IEEE Std 1547 that the device is rated for",
        held_by: INVERTER,
        parameters: &[
            category(
                "normal",
                "normal operation",
                &["a", "b"],
                Harm::SupportsLess,
                "how far it can hold the voltage with reactive power: category A or B",
            ),
            category("abnormal", "abnormal operation", &["i", "ii", "iii"], WORSE, "how much it rides through: category I, II or III"),
        ],
    },
    Function {
        key: "voltage-withstand",
        title: "Voltage disturbance withstand",
        meaning: "how long the device must stay connected through dips and swells",
        held_by: INVERTER,
        parameters: &[
            type_tested(state(Harm::DropsOutTooEasily)),
            lower_edge(Dimension::Voltage),
            upper_edge(Dimension::Voltage),
            shortest_time(
                "dips",
                "stays on through dips",
                Dimension::Voltage,
                "below continuous operation: the shortest time to stay connected, against voltage; a step is a voltage written twice",
            ),
            shortest_time(
                "swells",
                "stays on through swells",
                Dimension::Voltage,
                "above continuous operation: the shortest time to stay connected, against voltage; a step is a voltage written twice",
            ),
        ],
    },
    Function {
        key: "multiple-disturbance-withstand",
        title: "Repeated disturbance withstand",
        meaning: "how many disturbances in a row the device must stay connected through",
        held_by: INVERTER,
        parameters: &[
            type_tested(state(Harm::DropsOutTooEasily)),
            type_tested(quantity(
                "sets",
                "sets of disturbances",
                Dimension::Count,
                Harm::Departs,
                WORSE,
                "so many in a row the device stays connected through; at one more it may disconnect",
            )),
            at_intervals("apart", "gap between sets that it manages", "sets that follow one another sooner need not be ridden through"),
            at_intervals("counted-anew-after", "counted anew after", "from the last disturbance until the device starts to count again"),
        ],
    },
    Function {
        key: "frequency-withstand",
        title: "Frequency disturbance withstand",
        meaning: "how long the device stays connected off nominal frequency, how fast it may change, and its phase jump",
        held_by: INVERTER,
        parameters: &[
            lower_edge(Dimension::Frequency),
            upper_edge(Dimension::Frequency),
            shortest_time(
                "low",
                "stays on through low frequency",
                Dimension::Frequency,
                "below continuous operation: the shortest time to stay connected, against frequency; a step is a frequency written twice",
            ),
            shortest_time(
                "high",
                "stays on through high frequency",
                Dimension::Frequency,
                "above continuous operation: the shortest time to stay connected, against frequency; a step is a frequency written twice",
            ),
            type_tested(quantity(
                "rate",
                "rate of change",
                Dimension::FrequencyRate,
                Harm::Departs,
                Harm::DropsOutTooEasily,
                "the device stays connected at rates up to this one",
            )),
            type_tested(quantity(
                "measuring-window",
                "measured over",
                Dimension::Time,
                Harm::Departs,
                Harm::DropsOutTooEasily,
                "the window over which the rate is measured",
            )),
            type_tested(quantity(
                "phase-jump",
                "phase jump",
                Dimension::Angle,
                Harm::Departs,
                Harm::DropsOutTooEasily,
                "the device stays connected through jumps up to this one, of all phases together",
            )),
            type_tested(quantity(
                "single-phase-jump",
                "phase jump of one phase",
                Dimension::Angle,
                Harm::Departs,
                Harm::DropsOutTooEasily,
                "the device stays connected through jumps up to this one, of any phase by itself",
            )),
        ],
    },
    Function {
        key: "cease-generation",
        title: "Cease generation without disconnecting",
        meaning: "inside a disturbance the device stops active power but stays connected",
        held_by: INVERTER,
        parameters: &[
            type_tested(state(Harm::SupportsLess)),
            type_tested(quantity(
                "below",
                "below",
                Dimension::Voltage,
                Harm::SupportsLess,
                Harm::DropsOutTooEasily,
                "it ceases while the voltage is below this",
            )),
            type_tested(quantity(
                "above",
                "above",
                Dimension::Voltage,
                Harm::DropsOutTooEasily,
                Harm::SupportsLess,
                "it ceases while the voltage is above this",
            )),
            type_tested(answer("reaction", "ceases within", "from the start of the condition until active power has stopped")),
            type_tested(answer("return", "output back within", "from the voltage coming back until the output is restored")),
        ],
    },
];
