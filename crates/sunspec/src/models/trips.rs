//! Trip curves.

use super::rows::{ADOPTED, ENABLED, PAD, READ_ONLY, SWITCH, bits16, code, count, group, number, scale, text};
use super::{Model, Part, Times};
use crate::models::Kind::{U16, U32};

/// Of models 707 and 708, each of the three curves of a set.
const VOLTAGE_POINTS: &[Part] =
    &[count("ActPt"), group("Pt", Times::Counted("NPt"), &[number("V", U16, "V_SF", "% of VNom"), number("Tms", U32, "Tms_SF", "s")])];

/// Models 707 and 708.
const VOLTAGE_TRIP: &[Part] = &[
    code("Ena", SWITCH),
    count("AdptCrvReq"),
    code("AdptCrvRslt", ADOPTED),
    count("NPt"),
    count("NCrvSet"),
    scale("V_SF"),
    scale("Tms_SF"),
    group(
        "Crv",
        Times::Counted("NCrvSet"),
        &[
            code("ReadOnly", READ_ONLY),
            group("MustTrip", Times::Fixed(1), VOLTAGE_POINTS),
            group("MayTrip", Times::Fixed(1), VOLTAGE_POINTS),
            group("MomCess", Times::Fixed(1), VOLTAGE_POINTS),
        ],
    ),
];

/// Of models 709 and 710, each of the three curves of a set.
const FREQUENCY_POINTS: &[Part] =
    &[count("ActPt"), group("Pt", Times::Counted("NPt"), &[number("Hz", U32, "Hz_SF", "Hz"), number("Tms", U32, "Tms_SF", "s")])];

/// Models 709 and 710.
const FREQUENCY_TRIP: &[Part] = &[
    code("Ena", SWITCH),
    count("AdptCrvReq"),
    code("AdptCrvRslt", ADOPTED),
    count("NPt"),
    count("NCrvSet"),
    scale("Hz_SF"),
    scale("Tms_SF"),
    group(
        "Crv",
        Times::Counted("NCrvSet"),
        &[
            code("ReadOnly", READ_ONLY),
            group("MustTrip", Times::Fixed(1), FREQUENCY_POINTS),
            group("MayTrip", Times::Fixed(1), FREQUENCY_POINTS),
            group("MomCess", Times::Fixed(1), FREQUENCY_POINTS),
        ],
    ),
];

/// Models 129 and 130: of every point the time comes first.
const OLDER_VOLTAGE_TRIP: &[Part] = &[
    count("ActCrv"),
    bits16("ModEna", ENABLED),
    number("WinTms", U16, "", "s"),
    number("RvrtTms", U16, "", "s"),
    number("RmpTms", U16, "", "s"),
    count("NCrv"),
    count("NPt"),
    scale("Tms_SF"),
    scale("V_SF"),
    PAD,
    group(
        "Crv",
        Times::Counted("NCrv"),
        &[
            count("ActPt"),
            group("Pt", Times::Fixed(20), &[number("Tms", U16, "Tms_SF", "s"), number("V", U16, "V_SF", "% of VRef")]),
            text("CrvNam", 8),
            code("ReadOnly", READ_ONLY),
        ],
    ),
];

/// Models 135 and 136: of every point the time comes first.
const OLDER_FREQUENCY_TRIP: &[Part] = &[
    count("ActCrv"),
    bits16("ModEna", ENABLED),
    number("WinTms", U16, "", "s"),
    number("RvrtTms", U16, "", "s"),
    number("RmpTms", U16, "", "s"),
    count("NCrv"),
    count("NPt"),
    scale("Tms_SF"),
    scale("Hz_SF"),
    PAD,
    group(
        "Crv",
        Times::Counted("NCrv"),
        &[
            count("ActPt"),
            group("Pt", Times::Fixed(20), &[number("Tms", U16, "Tms_SF", "s"), number("Hz", U16, "Hz_SF", "Hz")]),
            text("CrvNam", 8),
            code("ReadOnly", READ_ONLY),
        ],
    ),
];

pub(super) const M707: Model = Model { id: 707, title: "low voltage trip", parts: VOLTAGE_TRIP };
pub(super) const M708: Model = Model { id: 708, title: "high voltage trip", parts: VOLTAGE_TRIP };
pub(super) const M709: Model = Model { id: 709, title: "low frequency trip", parts: FREQUENCY_TRIP };
pub(super) const M710: Model = Model { id: 710, title: "high frequency trip", parts: FREQUENCY_TRIP };
pub(super) const M129: Model = Model { id: 129, title: "low voltage trip curves (older)", parts: OLDER_VOLTAGE_TRIP };
pub(super) const M130: Model = Model { id: 130, title: "high voltage trip curves (older)", parts: OLDER_VOLTAGE_TRIP };
pub(super) const M135: Model = Model { id: 135, title: "low frequency trip curves (older)", parts: OLDER_FREQUENCY_TRIP };
pub(super) const M136: Model = Model { id: 136, title: "high frequency trip curves (older)", parts: OLDER_FREQUENCY_TRIP };
