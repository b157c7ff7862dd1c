//! Responses to the frequency.

use super::rows::{ADOPTED, ENABLED, PAD, READ_ONLY, SWITCH, bits16, code, count, group, number, scale, text};
use super::{Model, Times};
use crate::models::Kind::{I16, U16, U32};

pub(super) const M711: Model = Model {
    id: 711,
    title: "frequency droop",
    parts: &[
        code("Ena", SWITCH),
        count("AdptCtlReq"),
        code("AdptCtlRslt", ADOPTED),
        count("NCtl"),
        number("RvrtTms", U32, "", "s"),
        number("RvrtRem", U32, "", "s"),
        count("RvrtCtl"),
        scale("Db_SF"),
        scale("K_SF"),
        scale("RspTms_SF"),
        group(
            "Ctl",
            Times::Counted("NCtl"),
            &[
                number("DbOf", U32, "Db_SF", "Hz"),
                number("DbUf", U32, "Db_SF", "Hz"),
                number("KOf", U16, "K_SF", ""),
                number("KUf", U16, "K_SF", ""),
                number("RspTms", U32, "RspTms_SF", "s"),
                number("PMin", I16, "", "%"),
                code("ReadOnly", READ_ONLY),
            ],
        ),
    ],
};

pub(super) const M127: Model = Model {
    id: 127,
    title: "response to high frequency, by slope (older)",
    parts: &[
        number("WGra", U16, "WGra_SF", "% PM/Hz"),
        number("HzStr", I16, "HzStrStop_SF", "Hz"),
        number("HzStop", I16, "HzStrStop_SF", "Hz"),
        bits16("HysEna", ENABLED),
        bits16("ModEna", ENABLED),
        number("HzStopWGra", U16, "RmpIncDec_SF", "% of WMax/min"),
        scale("WGra_SF"),
        scale("HzStrStop_SF"),
        scale("RmpIncDec_SF"),
        PAD,
    ],
};

pub(super) const M134: Model = Model {
    id: 134,
    title: "response to frequency, by curves (older)",
    parts: &[
        count("ActCrv"),
        bits16("ModEna", ENABLED),
        number("WinTms", U16, "", "s"),
        number("RvrtTms", U16, "", "s"),
        number("RmpTms", U16, "", "s"),
        count("NCrv"),
        count("NPt"),
        scale("Hz_SF"),
        scale("W_SF"),
        scale("RmpIncDec_SF"),
        group(
            "Crv",
            Times::Counted("NCrv"),
            &[
                count("ActPt"),
                group("Pt", Times::Fixed(20), &[number("Hz", U16, "Hz_SF", "Hz"), number("W", I16, "W_SF", "% of WRef")]),
                text("CrvNam", 8),
                number("RmpPT1Tms", U16, "", "s"),
                number("RmpDecTmm", U16, "RmpIncDec_SF", "% of WMax/min"),
                number("RmpIncTmm", U16, "RmpIncDec_SF", "% of WMax/min"),
                number("RmpRsUp", U16, "RmpIncDec_SF", "% of WMax/min"),
                bits16("SnptW", &[]),
                number("WRef", U16, "W_SF", "W"),
                number("WRefStrHz", U16, "Hz_SF", "Hz"),
                number("WRefStopHz", U16, "Hz_SF", "Hz"),
                code("ReadOnly", READ_ONLY),
            ],
        ),
    ],
};
