//! Connecting and reconnecting, and how fast power then moves.

use super::rows::{choice, quantity, window};
use super::{Equipment, Function, Harm, Parameter};
use crate::quantity::Dimension;

const BOTH: &[Equipment] = &[Equipment::Inverter, Equipment::GridProtectionRelay];
const INVERTER: &[Equipment] = &[Equipment::Inverter];

/// The edges of what voltage and frequency have to lie within before a device connects.
const LOWER_VOLTAGE: Parameter = window("lower-voltage", "lower voltage", Dimension::Voltage, Harm::Departs, Harm::ConnectsTooSoon);
const UPPER_VOLTAGE: Parameter = window("upper-voltage", "upper voltage", Dimension::Voltage, Harm::ConnectsTooSoon, Harm::Departs);
const LOWER_FREQUENCY: Parameter = window("lower-frequency", "lower frequency", Dimension::Frequency, Harm::Departs, Harm::ConnectsTooSoon);
const UPPER_FREQUENCY: Parameter = window("upper-frequency", "upper frequency", Dimension::Frequency, Harm::ConnectsTooSoon, Harm::Departs);

pub(super) const FUNCTIONS: &[Function] = &[
    Function {
        key: "reconnection",
        title: "Connection and reconnection",
        meaning: "what must hold, and for how long, before the device connects, and how fast it then ramps",
        held_by: BOTH,
        parameters: &[
            choice(
                "permitted",
                "connecting is permitted",
                &["no", "yes"],
                Harm::Departs,
                "the network operator's leave to connect at all, as the device holds it",
            ),
            LOWER_VOLTAGE,
            UPPER_VOLTAGE,
            LOWER_FREQUENCY,
            UPPER_FREQUENCY,
            quantity(
                "observation-time",
                "observation time",
                Dimension::Time,
                Harm::GivesUpEnergy,
                Harm::ConnectsTooSoon,
                "voltage and frequency must stay inside the windows this long; any excursion starts it again",
            ),
            quantity(
                "ramp-rate",
                "ramp rate",
                Dimension::RampRate,
                Harm::SupportsLess,
                Harm::GivesUpEnergy,
                "of rated active power, per minute, after connecting",
            ),
            quantity(
                "ramp-time",
                "ramp time",
                Dimension::Time,
                Harm::GivesUpEnergy,
                Harm::SupportsLess,
                "from connecting to full power; another spelling of the ramp rate",
            ),
            quantity(
                "random-delay",
                "greatest random delay",
                Dimension::Time,
                Harm::GivesUpEnergy,
                Harm::SupportsLess,
                "a wait of random length up to this one before connecting, in place of the ramp",
            ),
        ],
    },
    Function {
        key: "start-of-generation",
        title: "Start without a trip before it",
        meaning: "what must hold, and for how long, before the device starts of itself, where a standard tells that from coming back after a trip",
        held_by: BOTH,
        parameters: &[
            LOWER_VOLTAGE,
            UPPER_VOLTAGE,
            LOWER_FREQUENCY,
            UPPER_FREQUENCY,
            quantity(
                "observation-time",
                "observation time",
                Dimension::Time,
                Harm::GivesUpEnergy,
                Harm::ConnectsTooSoon,
                "voltage and frequency must stay inside the windows this long",
            ),
            choice(
                "ramp",
                "ramp",
                &["off", "enabled"],
                Harm::SupportsLess,
                "whether power rises slowly after starting; off is not a rate of zero",
            ),
            quantity(
                "ramp-rate",
                "ramp rate",
                Dimension::RampRate,
                Harm::SupportsLess,
                Harm::GivesUpEnergy,
                "of rated active power, per minute, where the ramp is enabled",
            ),
        ],
    },
    Function {
        key: "active-power-ramp",
        title: "Ramps in operation",
        meaning: "how fast active power may rise and fall while connected, where a command or storage moves it",
        held_by: INVERTER,
        parameters: &[
            quantity("rise", "rise", Dimension::RampRate, Harm::SupportsLess, Harm::GivesUpEnergy, "of rated active power, per minute"),
            quantity("fall", "fall", Dimension::RampRate, Harm::SupportsLess, Harm::Departs, "of rated active power, per minute"),
        ],
    },
];
