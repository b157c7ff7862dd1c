//! Figures of the installation as a whole: added up over devices, calculated, or built once.

use super::rows::{added_up, calculated, choice, mended_by, quantity, state};
use super::{Equipment, Function, Harm, Parameter};
use crate::quantity::Dimension;

const INSTALLATION: &[Equipment] = &[Equipment::Installation];

const fn rating(key: &'static str, title: &'static str, harm: Harm, meaning: &'static str) -> Parameter {
    let row = added_up(quantity(key, title, Dimension::ApparentPower, harm, Harm::Departs, meaning));
    mended_by(row, "fit less, or share it out otherwise between the phases, as the network operator agrees")
}

pub(super) const FUNCTIONS: &[Function] = &[
    Function {
        key: "site-rating",
        title: "Rating of the site",
        meaning: "what all inverters of the site add up to",
        held_by: INSTALLATION,
        parameters: &[
            rating("nameplate-total", "nameplate, all inverters", Harm::OverRated, "a device that is limited counts with its nameplate"),
            rating("limited-total", "limited rating, all inverters", Harm::OverRated, "a device that is limited counts with its limit"),
            rating("largest-phase", "largest sum on one phase", Harm::OverRated, "a three-phase device counts a third on each phase"),
            rating(
                "phase-difference",
                "greatest difference between phases",
                Harm::Unbalances,
                "between the sums on any two phases, every device at full output",
            ),
        ],
    },
    Function {
        key: "voltage-rise",
        title: "Voltage rise",
        meaning: "how far the voltage rises along the cables at full export, from where the requirement begins to count",
        held_by: INSTALLATION,
        parameters: &[
            calculated(quantity(
                "total",
                "up to the inverter",
                Dimension::Percent,
                Harm::DropsOutTooEasily,
                Harm::Departs,
                "calculated, per cent of the nominal voltage, all of the site's cables together",
            )),
            calculated(choice(
                "begins-at",
                "counted from",
                &["distribution-main", "point-of-supply"],
                Harm::DropsOutTooEasily,
                "where the rise is counted from: where the service line leaves the distribution main, or the point of supply behind it",
            )),
            calculated(quantity(
                "consumer-mains",
                "up to the main switchboard",
                Dimension::Percent,
                Harm::DropsOutTooEasily,
                Harm::Departs,
                "calculated, per cent of the nominal voltage",
            )),
        ],
    },
    Function {
        key: "central-protection",
        title: "Grid protection relay",
        meaning: "one relay that disconnects the whole installation, besides what each inverter does",
        held_by: INSTALLATION,
        parameters: &[mended_by(
            added_up(state(Harm::ProtectsLess)),
            "have a grid protection relay fitted, and record it under `devices` with `kind: grid-protection-relay`",
        )],
    },
];
