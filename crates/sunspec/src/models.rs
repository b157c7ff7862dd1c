//! The register tables of the models, as facts: which point lies where, how its registers are read, and
//! what its codes mean.
//!
//! Source: the open SunSpec model definitions (Apache-2.0) as shipped with pysunspec2 1.3.7; names of
//! points are theirs, words and order of things are ours. The layouts are compared with that library's
//! own in `tests/sunspec`. The specification documents were not read. Which definitions changed in 2020
//! and 2021 shows only in a model's length, so a length that does not fit is never guessed at.

mod connection;
mod controls;
mod frequency;
mod identity;
mod ratings;
mod rows;
mod state;
mod trips;
mod voltage_curves;

/// One model: a run of registers of one meaning.
#[derive(Debug)]
pub struct Model {
    /// Its number, the first of its registers.
    pub id: u16,
    /// What it is about, in plain words.
    pub title: &'static str,
    /// What lies behind its number and its length, in order and without gaps.
    pub parts: &'static [Part],
}

/// A point, or a run of parts that may lie there several times.
#[derive(Debug)]
pub enum Part {
    /// One point.
    Point(Point),
    /// Parts that lie one after another, as often as `times` says.
    Group {
        /// Its name.
        name: &'static str,
        /// How often.
        times: Times,
        /// Whether it has to be read in one request, because its points are one value.
        whole: bool,
        /// What lies in it.
        parts: &'static [Part],
    },
}

/// How often a group lies there.
#[derive(Clone, Copy, Debug)]
pub enum Times {
    /// So often in every device.
    Fixed(u16),
    /// As often as a point of the model's fixed part says.
    Counted(&'static str),
}

/// One point.
#[derive(Debug)]
pub struct Point {
    /// Its name in the model definitions.
    pub name: &'static str,
    /// How its registers are read.
    pub kind: Kind,
    /// The point that holds the power of ten to multiply with; empty where there is none.
    pub scale: &'static str,
    /// Its unit; empty where it has none.
    pub unit: &'static str,
    /// What its codes, or bits by their position, mean.
    pub words: &'static [(u8, &'static str)],
}

/// How registers are read: high word first, and which value says "not implemented".
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// Unsigned, one register; 0xFFFF is not implemented.
    U16,
    /// Signed, one register; 0x8000 is not implemented.
    I16,
    /// Unsigned, two registers; 0xFFFFFFFF is not implemented.
    U32,
    /// Signed, two registers; 0x80000000 is not implemented.
    I32,
    /// Unsigned, four registers; all ones is not implemented.
    U64,
    /// A counter of four registers; 0 is not implemented.
    Acc64,
    /// A code of one register; 0xFFFF is not implemented.
    Code,
    /// A set of 16 bits; 0xFFFF is not implemented.
    Bits16,
    /// A set of 32 bits; 0xFFFFFFFF is not implemented.
    Bits32,
    /// A power of ten, signed; 0x8000 is not implemented.
    Scale,
    /// Text of so many registers, two bytes each; all NUL is not implemented.
    Text(u16),
    /// Filler.
    Pad,
}

impl Kind {
    /// How many registers it takes.
    #[must_use]
    pub const fn registers(self) -> u16 {
        match self {
            Self::U16 | Self::I16 | Self::Code | Self::Bits16 | Self::Scale | Self::Pad => 1,
            Self::U32 | Self::I32 | Self::Bits32 => 2,
            Self::U64 | Self::Acc64 => 4,
            Self::Text(registers) => registers,
        }
    }
}

/// Every model that is decoded, in order of their numbers.
pub static MODELS: [&Model; 25] = [
    &identity::M1,
    &ratings::M120,
    &ratings::M121,
    &state::M122,
    &controls::M123,
    &voltage_curves::M126,
    &frequency::M127,
    &trips::M129,
    &trips::M130,
    &voltage_curves::M132,
    &frequency::M134,
    &trips::M135,
    &trips::M136,
    &state::M701,
    &ratings::M702,
    &connection::M703,
    &controls::M704,
    &voltage_curves::M705,
    &voltage_curves::M706,
    &trips::M707,
    &trips::M708,
    &trips::M709,
    &trips::M710,
    &frequency::M711,
    &voltage_curves::M712,
];

/// The model of a number, where it is one that is decoded.
#[must_use]
pub fn model(id: u16) -> Option<&'static Model> {
    MODELS.iter().find(|model| model.id == id).copied()
}

/// What a model is about, also of those that are only named: what is there and not decoded.
#[must_use]
pub fn title(id: u16) -> &'static str {
    match id {
        101..=103 | 111..=113 => "measurements (older)",
        124 => "storage control (older)",
        125 => "pricing (older)",
        128 => "dynamic reactive current (older)",
        131 => "power factor by power (older)",
        133 => "schedules (older)",
        137..=138 => "ride-through curves (older)",
        139..=144 => "ride-through and momentary cessation (older)",
        145 => "ramps (older)",
        160 => "inputs (older)",
        201..=214 => "meter",
        713 => "state of storage",
        714 => "direct current ports",
        715 => "local or remote control",
        64000.. => "of the maker's own",
        _ => model(id).map_or("not known", |model| model.title),
    }
}
