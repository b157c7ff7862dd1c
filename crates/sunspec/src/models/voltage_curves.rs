//! Curves that follow the voltage or the power.

use super::rows::{ADOPTED, ENABLED, READ_ONLY, SWITCH, bits16, code, count, group, number, scale, text};
use super::{Model, Times};
use crate::models::Kind::{I16, U16, U32};

pub(super) const M705: Model = Model {
    id: 705,
    title: "volt-var",
    parts: &[
        code("Ena", SWITCH),
        count("AdptCrvReq"),
        code("AdptCrvRslt", ADOPTED),
        count("NPt"),
        count("NCrv"),
        number("RvrtTms", U32, "", "s"),
        number("RvrtRem", U32, "", "s"),
        count("RvrtCrv"),
        scale("V_SF"),
        scale("DeptRef_SF"),
        scale("RspTms_SF"),
        group(
            "Crv",
            Times::Counted("NCrv"),
            &[
                count("ActPt"),
                code("DeptRef", &[(0, "w-max-pct"), (1, "var-max-pct"), (2, "var-aval-pct"), (3, "va-max-pct")]),
                code("Pri", &[(0, "active"), (1, "reactive"), (2, "vendor")]),
                number("VRef", U16, "V_SF", "% of VNom"),
                number("VRefAuto", U16, "V_SF", "% of VNom"),
                code("VRefAutoEna", SWITCH),
                number("VRefAutoTms", U16, "", "s"),
                number("RspTms", U32, "RspTms_SF", "s"),
                code("ReadOnly", READ_ONLY),
                group("Pt", Times::Counted("NPt"), &[number("V", U16, "V_SF", "% of VNom"), number("Var", I16, "DeptRef_SF", "DeptRef")]),
            ],
        ),
    ],
};

pub(super) const M706: Model = Model {
    id: 706,
    title: "volt-watt",
    parts: &[
        code("Ena", SWITCH),
        count("AdptCrvReq"),
        code("AdptCrvRslt", ADOPTED),
        count("NPt"),
        count("NCrv"),
        number("RvrtTms", U32, "", "s"),
        number("RvrtRem", U32, "", "s"),
        count("RvrtCrv"),
        scale("V_SF"),
        scale("DeptRef_SF"),
        scale("RspTms_SF"),
        group(
            "Crv",
            Times::Counted("NCrv"),
            &[
                count("ActPt"),
                code("DeptRef", &[(0, "w-max-pct"), (1, "w-aval-pct")]),
                number("RspTms", U32, "RspTms_SF", "s"),
                code("ReadOnly", READ_ONLY),
                group("Pt", Times::Counted("NPt"), &[number("V", U16, "V_SF", "% of VNom"), number("W", I16, "DeptRef_SF", "DeptRef")]),
            ],
        ),
    ],
};

pub(super) const M712: Model = Model {
    id: 712,
    title: "watt-var",
    parts: &[
        code("Ena", SWITCH),
        count("AdptCrvReq"),
        code("AdptCrvRslt", ADOPTED),
        count("NPt"),
        count("NCrv"),
        number("RvrtTms", U32, "", "s"),
        number("RvrtRem", U32, "", "s"),
        count("RvrtCrv"),
        scale("W_SF"),
        scale("DeptRef_SF"),
        group(
            "Crv",
            Times::Counted("NCrv"),
            &[
                count("ActPt"),
                code("DeptRef", &[(0, "w-max-pct"), (1, "var-max-pct"), (2, "var-aval-pct"), (3, "va-max-pct")]),
                code("Pri", &[(0, "active"), (1, "reactive")]),
                code("ReadOnly", READ_ONLY),
                group("Pt", Times::Counted("NPt"), &[number("W", I16, "W_SF", "WMaxPct"), number("Var", I16, "DeptRef_SF", "VarPct")]),
            ],
        ),
    ],
};

pub(super) const M126: Model = Model {
    id: 126,
    title: "volt-var curves (older)",
    parts: &[
        count("ActCrv"),
        bits16("ModEna", ENABLED),
        number("WinTms", U16, "", "s"),
        number("RvrtTms", U16, "", "s"),
        number("RmpTms", U16, "", "s"),
        count("NCrv"),
        count("NPt"),
        scale("V_SF"),
        scale("DeptRef_SF"),
        scale("RmpIncDec_SF"),
        group(
            "Crv",
            Times::Counted("NCrv"),
            &[
                count("ActPt"),
                code("DeptRef", &[(1, "wmax"), (2, "var-max"), (3, "var-aval")]),
                group("Pt", Times::Fixed(20), &[number("V", U16, "V_SF", "% of VRef"), number("VAr", I16, "DeptRef_SF", "")]),
                text("CrvNam", 8),
                number("RmpTms", U16, "", "s"),
                number("RmpDecTmm", U16, "RmpIncDec_SF", "%/min"),
                number("RmpIncTmm", U16, "RmpIncDec_SF", "%/min"),
                code("ReadOnly", READ_ONLY),
            ],
        ),
    ],
};

pub(super) const M132: Model = Model {
    id: 132,
    title: "volt-watt curves (older)",
    parts: &[
        count("ActCrv"),
        bits16("ModEna", ENABLED),
        number("WinTms", U16, "", "s"),
        number("RvrtTms", U16, "", "s"),
        number("RmpTms", U16, "", "s"),
        count("NCrv"),
        count("NPt"),
        scale("V_SF"),
        scale("DeptRef_SF"),
        scale("RmpIncDec_SF"),
        group(
            "Crv",
            Times::Counted("NCrv"),
            &[
                count("ActPt"),
                code("DeptRef", &[(1, "pct-of-wmax"), (2, "pct-of-waval")]),
                group("Pt", Times::Fixed(20), &[number("V", U16, "V_SF", "% of VRef"), number("W", I16, "DeptRef_SF", "% of VRef")]),
                text("CrvNam", 8),
                number("RmpPt1Tms", U16, "", "s"),
                number("RmpDecTmm", U16, "RmpIncDec_SF", "% of WMax/min"),
                number("RmpIncTmm", U16, "RmpIncDec_SF", "% of WMax/min"),
                code("ReadOnly", READ_ONLY),
            ],
        ),
    ],
};
