//! Who made the device, and which one it is.

use super::Model;
use super::rows::{PAD, count, text};

pub(super) const M1: Model = Model {
    id: 1,
    title: "identity",
    parts: &[text("Mn", 16), text("Md", 16), text("Opt", 8), text("Vr", 8), text("SN", 16), count("DA"), PAD],
};
