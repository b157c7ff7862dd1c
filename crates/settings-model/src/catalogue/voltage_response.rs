//! Answers to the voltage: active and reactive power that follow it, and fixed reactive modes.

use super::rows::{answer, choice, curve, quantity, state, type_tested};
use super::{Equipment, Function, Harm, Parameter};
use crate::quantity::Dimension;

const INVERTER: &[Equipment] = &[Equipment::Inverter];
const STATE: Parameter = state(Harm::SupportsLess);
/// Which way reactive power goes; never leading or lagging alone, which depends on who counts.
const DIRECTION: Parameter =
    choice("direction", "direction", &["absorbing", "supplying"], Harm::SupportsLess, "absorbing lowers the voltage, supplying raises it");

/// How soon a function answers, where that is a setting.
pub(super) const RESPONSE_TIME: Parameter =
    answer("response-time", "response time", "open loop: from a step of what is measured until 90 % of the answer is there");

/// How soon a first-order answer settles, where a standard counts it in time constants.
const SETTLING_TIME: Parameter = answer(
    "settling-time",
    "settles within (3 time constants)",
    "of a first-order answer to a step: three time constants, until 95 % of it is there",
);

/// A level of active power at which a function begins or ends to act, as a percentage of rated active power.
const fn lock(key: &'static str, title: &'static str, meaning: &'static str) -> Parameter {
    quantity(key, title, Dimension::Percent, Harm::SupportsLess, Harm::SupportsLess, meaning)
}
const LOCK_IN_POWER: Parameter =
    lock("lock-in-power", "acts above (active power)", "it begins to act only while active power, as a percentage of rated, is above this");
const LOCK_OUT_POWER: Parameter =
    lock("lock-out-power", "ends below (active power)", "it stops acting when active power, as a percentage of rated, falls below this");

const fn against_voltage(meaning: &'static str) -> Parameter {
    curve(Dimension::Voltage, Dimension::Percent, Harm::SupportsLess, meaning)
}

/// The key of the voltage that a curve's points may be counted from.
pub const REFERENCE: &str = "reference-voltage";

const fn able(key: &'static str, title: &'static str) -> Parameter {
    type_tested(quantity(
        key,
        title,
        Dimension::Percent,
        Harm::Departs,
        Harm::SupportsLess,
        "at least so much, per cent of the base that the standard names for reactive power",
    ))
}

pub(super) const FUNCTIONS: &[Function] = &[
    Function {
        key: "volt-watt",
        title: "Volt-watt",
        meaning: "lowers the most active power allowed as the voltage rises; a cap, never a set point",
        held_by: INVERTER,
        parameters: &[STATE, against_voltage("active power, per cent of the base that the standard names, against voltage"), RESPONSE_TIME],
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
            quantity(
                REFERENCE,
                "reference voltage",
                Dimension::Voltage,
                Harm::SupportsLess,
                Harm::SupportsLess,
                "the voltage that the curve is laid around",
            ),
            choice(
                "reference-follows",
                "reference follows the voltage",
                &["off", "enabled"],
                Harm::SupportsLess,
                "whether the reference moves by itself with the average of the measured voltage",
            ),
            quantity(
                "reference-time-constant",
                "time constant of the reference",
                Dimension::Time,
                Harm::Departs,
                Harm::SupportsLess,
                "of the average that the reference follows, where it does",
            ),
            against_voltage("reactive power against voltage: positive supplies (raises the voltage), negative absorbs (lowers it)"),
            RESPONSE_TIME,
            SETTLING_TIME,
            quantity(
                "least-power-factor",
                "least power factor",
                Dimension::PowerFactor,
                Harm::SupportsLess,
                Harm::GivesUpEnergy,
                "however little active power there is, the function asks for no lower one",
            ),
            LOCK_IN_POWER,
            LOCK_OUT_POWER,
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
                "of the fundamental, from 0 to 1; `direction` says absorbing or supplying",
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
                "power factor against active power, as a percentage of rated; `direction` says absorbing or supplying",
            ),
            DIRECTION,
            quantity(
                "lock-in-voltage",
                "acts above (voltage)",
                Dimension::Voltage,
                Harm::SupportsLess,
                Harm::GivesUpEnergy,
                "it begins to act only while the voltage is above this, and holds unity until then",
            ),
            quantity(
                "lock-out-voltage",
                "ends below (voltage)",
                Dimension::Voltage,
                Harm::SupportsLess,
                Harm::GivesUpEnergy,
                "once it acts it goes on until the voltage falls below this",
            ),
            LOCK_IN_POWER,
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
        key: "reactive-capability",
        title: "Reactive power that the device can give",
        meaning: "how much reactive power the device has to be able to supply and absorb at full active power",
        held_by: INVERTER,
        parameters: &[able("supplying", "supplying"), able("absorbing", "absorbing")],
    },
    Function {
        key: "setting-changes",
        title: "Changes of settings",
        meaning: "how a change of settings, or from one reactive mode to another, comes into effect",
        held_by: INVERTER,
        parameters: &[
            type_tested(answer("acts-within", "acts within", "from entering a new setting until the device acts by it")),
            type_tested(answer("blends-over", "blends over", "how long the output takes to pass smoothly from one mode to another")),
        ],
    },
    Function {
        key: "power-priority",
        title: "Priority at full apparent power",
        meaning: "which kind of power is reduced where both together would pass the rating",
        held_by: INVERTER,
        parameters: &[choice(
            "first",
            "comes first",
            &["active-power", "reactive-power"],
            Harm::SupportsLess,
            "the kind of power that is kept; the other is reduced",
        )],
    },
];
