//! When the device may enter service.

use super::Model;
use super::rows::{SWITCH, code, number, scale};
use crate::models::Kind::{U16, U32};

pub(super) const M703: Model = Model {
    id: 703,
    title: "entering service",
    parts: &[
        code("ES", SWITCH),
        number("ESVHi", U16, "V_SF", "%"),
        number("ESVLo", U16, "V_SF", "%"),
        number("ESHzHi", U32, "Hz_SF", "Hz"),
        number("ESHzLo", U32, "Hz_SF", "Hz"),
        number("ESDlyTms", U32, "", "s"),
        number("ESRndTms", U32, "", "s"),
        number("ESRmpTms", U32, "", "s"),
        number("ESDlyRemTms", U32, "", "s"),
        scale("V_SF"),
        scale("Hz_SF"),
    ],
};
