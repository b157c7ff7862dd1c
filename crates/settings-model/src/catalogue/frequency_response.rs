//! Answers to the frequency.

use super::rows::{answer, quantity, state, type_tested, window};
use super::voltage_response::RESPONSE_TIME;
use super::{Equipment, Function, Harm, Parameter};
use crate::quantity::Dimension;

const INVERTER: &[Equipment] = &[Equipment::Inverter];
const STATE: Parameter = state(Harm::SupportsLess);
const HOLD: Parameter = quantity(
    "hold-time",
    "hold time",
    Dimension::Time,
    Harm::GivesUpEnergy,
    Harm::SupportsLess,
    "the frequency must stay back this long before power may move back",
);
const HYSTERESIS: Parameter = quantity(
    "hysteresis",
    "hysteresis",
    Dimension::Frequency,
    Harm::GivesUpEnergy,
    Harm::SupportsLess,
    "the frequency must come back this far past the start before power may move back",
);
const DROOP: Parameter = quantity(
    "droop",
    "droop",
    Dimension::Percent,
    Harm::SupportsLess,
    Harm::GivesUpEnergy,
    "the change of frequency, per cent of nominal, for the whole of rated power; another spelling of where the response ends",
);
const DEADBAND: Parameter = quantity(
    "deadband",
    "deadband",
    Dimension::Frequency,
    Harm::SupportsLess,
    Harm::GivesUpEnergy,
    "how far from nominal the frequency may go before the device answers; another spelling of where the response starts",
);
/// Where the frequency has to be before power may move back, if that is not counted from the start.
const RETURN: [Parameter; 2] = [
    window("return-lower-frequency", "power moves back from", Dimension::Frequency, Harm::Departs, Harm::SupportsLess),
    window("return-upper-frequency", "power moves back up to", Dimension::Frequency, Harm::SupportsLess, Harm::GivesUpEnergy),
];
const INTENTIONAL_DELAY: Parameter = answer("delay", "intentional delay", "from passing the start until the response begins");
const COMPLETE: Parameter =
    type_tested(answer("complete", "complete within", "from the change of frequency until the response is complete"));

pub(super) const FUNCTIONS: &[Function] = &[
    Function {
        key: "over-frequency-response",
        title: "Response to high frequency",
        meaning: "lowers active power in step with rising frequency and holds the lowest level reached",
        held_by: INVERTER,
        parameters: &[
            STATE,
            window("start", "starts at", Dimension::Frequency, Harm::SupportsLess, Harm::GivesUpEnergy),
            window("transition", "storage turns to charging at", Dimension::Frequency, Harm::SupportsLess, Harm::GivesUpEnergy),
            window("end", "zero power at", Dimension::Frequency, Harm::SupportsLess, Harm::GivesUpEnergy),
            DEADBAND,
            DROOP,
            RESPONSE_TIME,
            INTENTIONAL_DELAY,
            COMPLETE,
            HYSTERESIS,
            RETURN[0],
            RETURN[1],
            HOLD,
        ],
    },
    Function {
        key: "under-frequency-response",
        title: "Response to low frequency",
        meaning: "raises active power, and lowers charging, in step with falling frequency",
        held_by: INVERTER,
        parameters: &[
            STATE,
            window("start", "starts at", Dimension::Frequency, Harm::GivesUpEnergy, Harm::SupportsLess),
            window("stop-charging", "charging has stopped at", Dimension::Frequency, Harm::GivesUpEnergy, Harm::SupportsLess),
            window("end", "full power at", Dimension::Frequency, Harm::GivesUpEnergy, Harm::SupportsLess),
            DEADBAND,
            DROOP,
            RESPONSE_TIME,
            INTENTIONAL_DELAY,
            COMPLETE,
            HYSTERESIS,
            HOLD,
        ],
    },
];
