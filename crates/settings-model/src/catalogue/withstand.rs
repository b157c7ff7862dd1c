//! Riding through: what a device must stay connected through, and how it behaves meanwhile.

use super::rows::{quantity, state, type_tested};
use super::{Equipment, Function, Harm};
use crate::quantity::Dimension;

const INVERTER: &[Equipment] = &[Equipment::Inverter];

pub(super) const FUNCTIONS: &[Function] = &[
    Function {
        key: "voltage-withstand",
        title: "Voltage disturbance withstand",
        meaning: "how long the device must stay connected through dips and swells",
        held_by: INVERTER,
        parameters: &[type_tested(state(Harm::DropsOutTooEasily))],
    },
    Function {
        key: "multiple-disturbance-withstand",
        title: "Repeated disturbance withstand",
        meaning: "how many disturbances in a row the device must stay connected through",
        held_by: INVERTER,
        parameters: &[type_tested(state(Harm::DropsOutTooEasily))],
    },
    Function {
        key: "frequency-withstand",
        title: "Frequency disturbance withstand",
        meaning: "how fast the frequency may change, and its phase jump, while the device stays connected",
        held_by: INVERTER,
        parameters: &[
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
                "the device stays connected through jumps up to this one",
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
        ],
    },
];
