//! Answers to the voltage: active and reactive power that follow it, and fixed reactive modes.

use super::rows::{answer, choice, curve, quantity, state, type_tested};
use super::{Equipment, Function, Harm, Parameter};
use crate::quantity::Dimension;

const INVERTER: &[Equipment] = &[Equipment::Inverter];
const STATE: Parameter = state(Harm::SupportsLess);
/// Which way reactive power goes; never leading or lagging alone, which depends on who counts.
const DIRECTION: Parameter =
    choice("direction", "direction", &["absorbing", "supplying"], Harm::SupportsLess, "absorbing lowers the voltage, supplying raises it");

const fn against_voltage(meaning: &'static str) -> Parameter {
    curve(Dimension::Voltage, Dimension::Percent, Harm::SupportsLess, meaning)
}

pub(super) const FUNCTIONS: &[Function] = &[
    Function {
        key: "volt-watt",
        title: "Volt-watt",
        meaning: "lowers the most active power allowed as the voltage rises; a cap, never a set point",
        held_by: INVERTER,
        parameters: &[STATE, against_voltage("active power, per cent of the base that the standard names, against voltage")],
    },
    Function {
        key: "volt-watt-charging",
        title: "Volt-watt while charging",
        meaning: "lowers the most power that storage may charge with as the voltage falls",
        held_by: INVERTER,
        parameters: &[STATE, against_voltage("charging power, per cent of the base that the standard names, against voltage")],
    },
    Function {
        key: "volt-var",
        title: "Volt-var",
        meaning: "supplies reactive power at low voltage and absorbs it at high voltage",
        held_by: INVERTER,
        parameters: &[
            STATE,
            against_voltage("reactive power against voltage: positive supplies (raises the voltage), negative absorbs (lowers it)"),
        ],
    },
    Function {
        key: "power-quality-response",
        title: "Speed of the voltage responses",
        meaning: "how soon volt-watt and volt-var begin and finish their answer to a change of voltage",
        held_by: INVERTER,
        parameters: &[
            type_tested(answer("commence", "begins within", "from the change of voltage until the response begins")),
            type_tested(answer("complete", "complete within", "from the change of voltage until the response is complete")),
        ],
    },
    Function {
        key: "fixed-power-factor",
        title: "Fixed power factor",
        meaning: "holds one power factor at every voltage; excludes volt-var",
        held_by: INVERTER,
        parameters: &[
            STATE,
            quantity(
                "power-factor",
                "power factor",
                Dimension::PowerFactor,
                Harm::SupportsLess,
                Harm::GivesUpEnergy,
                "of the fundamental, from 0 to 1; which way it leans is the direction",
            ),
            DIRECTION,
        ],
    },
    Function {
        key: "fixed-reactive-power",
        title: "Fixed reactive power",
        meaning: "holds one amount of reactive power at every voltage; excludes volt-var",
        held_by: INVERTER,
        parameters: &[
            STATE,
            quantity(
                "amount",
                "amount",
                Dimension::Percent,
                Harm::SupportsLess,
                Harm::SupportsLess,
                "per cent of the base that the standard names; which way it goes is the direction",
            ),
            DIRECTION,
        ],
    },
    Function {
        key: "power-dependent-power-factor",
        title: "Power factor that depends on power",
        meaning: "the power factor follows active power; excludes volt-var",
        held_by: INVERTER,
        parameters: &[
            STATE,
            curve(
                Dimension::Percent,
                Dimension::PowerFactor,
                Harm::SupportsLess,
                "power factor against active power, per cent of rated; which way it leans is the direction",
            ),
            DIRECTION,
        ],
    },
    Function {
        key: "watt-var",
        title: "Reactive power that depends on power",
        meaning: "reactive power follows active power; excludes volt-var",
        held_by: INVERTER,
        parameters: &[
            STATE,
            curve(
                Dimension::Percent,
                Dimension::Percent,
                Harm::SupportsLess,
                "reactive power against active power: positive supplies (raises the voltage), negative absorbs (lowers it)",
            ),
        ],
    },
    Function {
        key: "power-priority",
        title: "Priority at full apparent power",
        meaning: "which kind of power gives way where both together would pass the rating",
        held_by: INVERTER,
        parameters: &[choice(
            "first",
            "comes first",
            &["active-power", "reactive-power"],
            Harm::SupportsLess,
            "the kind of power that is kept; the other gives way",
        )],
    },
];
