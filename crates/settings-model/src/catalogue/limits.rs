//! Limits on what may flow, what measures it, and what holds when a command or a sensor is lost.

use super::rows::{choice, mended_by, quantity, state, type_tested};
use super::{Equipment, Function, Harm, Parameter};
use crate::quantity::Dimension;

const INVERTER: &[Equipment] = &[Equipment::Inverter];
const BREACH: Harm = Harm::ExportBreach;

const fn power(key: &'static str, title: &'static str, meaning: &'static str) -> Parameter {
    quantity(key, title, Dimension::ActivePower, BREACH, Harm::GivesUpEnergy, meaning)
}

const fn within(key: &'static str, title: &'static str, meaning: &'static str) -> Parameter {
    quantity(key, title, Dimension::Time, BREACH, Harm::Departs, meaning)
}

pub(super) const FUNCTIONS: &[Function] = &[
    Function {
        key: "export-limit",
        title: "Export limit",
        meaning: "limits the net active power that leaves the site at its connection point",
        held_by: INVERTER,
        parameters: &[
            state(BREACH),
            power("site-total", "limit, whole site", "net export of the whole site, all phases together, not the output of one inverter"),
            power("per-phase", "limit, each phase", "net export of each phase by itself"),
            choice(
                "counts",
                "counts",
                &["site-total", "each-phase"],
                BREACH,
                "what the number entered means on this device: the site's net export, or that of each phase",
            ),
            type_tested(within(
                "removal-time",
                "export back under the limit within",
                "from passing the limit until the export is back below it",
            )),
            power("hard-limit", "hard limit, whole site", "above it the device disconnects"),
            type_tested(within("hard-disconnection", "hard limit: disconnected within", "from passing the hard limit until disconnected")),
        ],
    },
    Function {
        key: "remote-control",
        title: "Remote limits",
        meaning: "takes limits that the network operator sends, and falls back to one of its own when they stop",
        held_by: INVERTER,
        parameters: &[
            state(BREACH),
            power("fallback", "fallback limit", "net export of the whole site while no limit can be received"),
            within("fallback-after", "falls back after", "from the last limit received until the fallback holds"),
            type_tested(within("reaction", "reacts within", "from receiving a limit until it is kept")),
            mended_by(
                choice("registered", "registered", &["no", "yes"], Harm::Departs, "the device is registered with the operator's server"),
                "register the device with the network operator, and state it",
            ),
            mended_by(
                choice(
                    "capability-test",
                    "capability test",
                    &["not-done", "failed", "passed"],
                    Harm::Departs,
                    "as the operator's server saw it",
                ),
                "have the operator's server run the test; until it is passed the site stays at its fallback limit",
            ),
        ],
    },
    Function {
        key: "demand-response",
        title: "Demand response",
        meaning: "follows the demand response signals of a local enabling device",
        held_by: INVERTER,
        parameters: &[
            state(Harm::SupportsLess),
            type_tested(quantity(
                "reaction",
                "reacts within",
                Dimension::Time,
                Harm::SupportsLess,
                Harm::Departs,
                "from signal to response",
            )),
        ],
    },
    Function {
        key: "export-sensor",
        title: "Export sensor",
        meaning: "what the export limit measures with: most export breaches are a sensor at fault",
        held_by: INVERTER,
        parameters: &[
            mended_by(
                choice(
                    "location",
                    "location",
                    &["connection-point", "main-switchboard", "distribution-board", "inverter-terminals"],
                    BREACH,
                    "where the current is measured; loads upstream of it are not seen",
                ),
                "first see where the sensor sits and what it sees. Only if loads or sources lie outside it: move it to where it sees the whole site, and test the limit again",
            ),
            quantity(
                "ratio-fitted",
                "ratio fitted",
                Dimension::Count,
                BREACH,
                BREACH,
                "of the current transformer on its nameplate, primary through secondary",
            ),
            quantity(
                "ratio-entered",
                "ratio entered",
                Dimension::Count,
                BREACH,
                BREACH,
                "as the device holds it, primary through secondary",
            ),
            mended_by(
                choice("direction", "direction", &["reversed", "correct"], BREACH, "shown by a test with a known flow"),
                "first show by switching a known load which way it reads. Only if that is the wrong way: isolate, turn the sensor round, and show it again",
            ),
            mended_by(
                choice("phase", "phase", &["other", "own"], BREACH, "whether each sensor sits on the phase that the device takes it for"),
                "first show by switching a known load on one phase which sensor sees it. Only if it is not that phase's own: isolate, move the sensor, and show it again",
            ),
            choice("sums", "sums", &["single-phase", "each-phase", "net-of-phases"], BREACH, "how the phases are put together"),
            choice(
                "master",
                "limited by",
                &["this-device", "another-device", "controller"],
                BREACH,
                "which device holds the limit for the site",
            ),
            choice(
                "on-loss",
                "on loss of the sensor",
                &["goes-on", "falls-back", "zero-export", "disconnects"],
                BREACH,
                "what the device does when the sensor, or the link to it, is lost",
            ),
            within("loss-noticed", "loss noticed within", "from losing the sensor until the device acts on it"),
        ],
    },
    Function {
        key: "generation-limit",
        title: "Generation limit",
        meaning: "limits the apparent power of the device, whatever its nameplate",
        held_by: INVERTER,
        parameters: &[
            state(Harm::ExportBreach),
            quantity(
                "soft",
                "limit",
                Dimension::ApparentPower,
                BREACH,
                Harm::GivesUpEnergy,
                "of the device; above it the device reduces its output",
            ),
            quantity(
                "hard",
                "hard limit",
                Dimension::ApparentPower,
                BREACH,
                Harm::GivesUpEnergy,
                "of the device; above it the device disconnects",
            ),
            type_tested(within("removal-time", "back under the limit within", "from passing the limit until back below it")),
            type_tested(within("hard-disconnection", "hard limit: disconnected within", "from passing the hard limit until disconnected")),
        ],
    },
];
