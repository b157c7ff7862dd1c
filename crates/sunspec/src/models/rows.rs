//! How rows of the tables are written down.

use super::{Kind, Part, Point, Times};

/// Off and on.
pub(super) const SWITCH: &[(u8, &str)] = &[(0, "disabled"), (1, "enabled")];
/// Of the older models, where a bit switches a function on.
pub(super) const ENABLED: &[(u8, &str)] = &[(0, "enabled")];
/// Whether a curve may be written to: the one in force may not.
pub(super) const READ_ONLY: &[(u8, &str)] = &[(0, "read-write"), (1, "read-only")];
/// What came of asking for another curve.
pub(super) const ADOPTED: &[(u8, &str)] = &[(0, "under-way"), (1, "completed"), (2, "failed")];

/// Filler.
pub(super) const PAD: Part = row("Pad", Kind::Pad, "", "", &[]);

const fn row(name: &'static str, kind: Kind, scale: &'static str, unit: &'static str, words: &'static [(u8, &'static str)]) -> Part {
    Part::Point(Point { name, kind, scale, unit, words })
}

/// A number, the point that scales it, and its unit.
pub(super) const fn number(name: &'static str, kind: Kind, scale: &'static str, unit: &'static str) -> Part {
    row(name, kind, scale, unit, &[])
}

/// A plain number of one register: a count, or the index of a curve.
pub(super) const fn count(name: &'static str) -> Part {
    row(name, Kind::U16, "", "", &[])
}

/// A code, and what its values mean.
pub(super) const fn code(name: &'static str, words: &'static [(u8, &'static str)]) -> Part {
    row(name, Kind::Code, "", "", words)
}

/// 16 bits, and what each means by its position.
pub(super) const fn bits16(name: &'static str, words: &'static [(u8, &'static str)]) -> Part {
    row(name, Kind::Bits16, "", "", words)
}

/// 32 bits, and what each means by its position.
pub(super) const fn bits32(name: &'static str, words: &'static [(u8, &'static str)]) -> Part {
    row(name, Kind::Bits32, "", "", words)
}

/// A power of ten.
pub(super) const fn scale(name: &'static str) -> Part {
    row(name, Kind::Scale, "", "", &[])
}

/// Text of so many registers.
pub(super) const fn text(name: &'static str, registers: u16) -> Part {
    row(name, Kind::Text(registers), "", "", &[])
}

/// Parts that lie one after another, so often.
pub(super) const fn group(name: &'static str, times: Times, parts: &'static [Part]) -> Part {
    Part::Group { name, times, whole: false, parts }
}

/// Parts that are one value, and so have to be read in one request.
pub(super) const fn together(name: &'static str, parts: &'static [Part]) -> Part {
    Part::Group { name, times: Times::Fixed(1), whole: true, parts }
}
