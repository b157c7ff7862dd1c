//! From registers to numbers, codes and text; or why not. A sentinel is looked for before anything is
//! scaled, and a number whose scale is missing is no number.

mod reading;

use crate::layout::{self, Layout, Misfit};
use crate::models::{Kind, Model, Point, model};
use crate::walk::Block;
use reading::{NO_SCALE, Number, implemented, long, number, signed, text, told};
use settings_model::exact::Exact;

/// A model whose registers fit its table.
#[derive(Clone, Debug)]
pub struct Decoded {
    /// Its table.
    pub model: &'static Model,
    /// The address of its number.
    pub at: u16,
    /// What it holds.
    pub parts: Parts,
}

/// Points and groups of points, as read.
#[derive(Clone, Debug, Default)]
pub struct Parts {
    /// The points.
    pub points: Vec<PointValue>,
    /// The groups, in the order in which they lie there.
    pub groups: Vec<(&'static str, Vec<Parts>)>,
}

/// A point as a device holds it.
#[derive(Clone, Debug, PartialEq)]
pub struct PointValue {
    /// Its row.
    pub point: &'static Point,
    /// Its first register.
    pub register: u16,
    /// Its registers; empty where they were not read.
    pub raw: Vec<u16>,
    /// What they say.
    pub says: Says,
}

/// What registers say.
#[derive(Clone, Debug, PartialEq)]
pub enum Says {
    /// A number.
    Number {
        /// In the point's unit.
        value: Exact,
        /// From one value that the register can hold to the next.
        resolution: Exact,
    },
    /// A code, or the index of something.
    Code(u16),
    /// A set of bits.
    Bits(u32),
    /// Text, with what was no text taken out.
    Text {
        /// What is left.
        text: String,
        /// Whether something had to be taken out.
        damaged: bool,
    },
    /// The device does not implement the point.
    NotImplemented,
    /// The registers were not read.
    NotRead,
    /// The point that scales it is not implemented.
    NoScale(&'static str),
    /// The point that scales it says a power of ten that is none of the protocol's.
    AbsurdScale(&'static str, i16),
    /// More digits than can be calculated with: nine.
    TooLong,
    /// Filler.
    Filler,
}

/// The powers of ten that a scale may say. From memory; the definitions do not bound them.
pub const SCALES: std::ops::RangeInclusive<i16> = -10..=10;

impl Decoded {
    /// Decodes a model, `None` where there is no table for it.
    ///
    /// # Errors
    /// [`Misfit`] where its counts do not come to its length.
    pub fn of(block: &Block) -> Option<Result<Self, Misfit>> {
        let model = model(block.id)?;
        Some(layout::of(model, &block.words).map(|layout| {
            let scales = Scales { block, layout: &layout };
            Self { model, at: block.at, parts: scales.parts(&layout) }
        }))
    }
}

impl PartialEq for Point {
    /// Rows are compared by where they stand in the tables.
    fn eq(&self, other: &Self) -> bool {
        std::ptr::eq(self, other)
    }
}

impl Parts {
    /// A point by its name.
    #[must_use]
    pub fn point(&self, name: &str) -> Option<&PointValue> {
        self.points.iter().find(|held| held.point.name == name)
    }

    /// What the groups of a name hold.
    #[must_use]
    pub fn groups(&self, name: &str) -> &[Self] {
        self.groups.iter().find(|(own, _)| *own == name).map_or(&[], |(_, groups)| groups)
    }

    /// A code or a plain count, where it is implemented.
    #[must_use]
    pub fn code(&self, name: &str) -> Option<u16> {
        self.point(name)?.code()
    }

    /// Every point, with the groups that it lies in: `Crv.1.MustTrip.Pt.2.V`.
    pub fn each<'p>(&'p self, within: &str, take: &mut dyn FnMut(String, &'p PointValue)) {
        for held in &self.points {
            take(format!("{within}{}", held.point.name), held);
        }
        for (name, groups) in &self.groups {
            for (n, group) in groups.iter().enumerate() {
                let number = if groups.len() > 1 { format!("{}.", n + 1) } else { String::new() };
                group.each(&format!("{within}{name}.{number}"), take);
            }
        }
    }
}

impl PointValue {
    /// The number.
    #[must_use]
    pub fn number(&self) -> Option<Exact> {
        match self.says {
            Says::Number { value, .. } => Some(value),
            _ => None,
        }
    }

    /// The code or plain count.
    #[must_use]
    pub fn code(&self) -> Option<u16> {
        match self.says {
            Says::Code(code) => Some(code),
            _ => None,
        }
    }

    /// The bits.
    #[must_use]
    pub fn bits(&self) -> Option<u32> {
        match self.says {
            Says::Bits(bits) => Some(bits),
            _ => None,
        }
    }

    /// The word for a code, where the table has one.
    #[must_use]
    pub fn word(&self) -> Option<&'static str> {
        let code = self.code()?;
        self.point.words.iter().find(|(known, _)| u16::from(*known) == code).map(|(_, word)| *word)
    }

    /// What it says, for people: `88 % of VNom`, `enabled`, `not implemented`.
    #[must_use]
    pub fn show(&self) -> String {
        match &self.says {
            Says::Number { value, .. } => format!("{value} {}", self.point.unit).trim_end().to_owned(),
            Says::Code(code) => match (self.word(), self.point.words) {
                (Some(word), _) => format!("{code} {word}"),
                (None, []) => code.to_string(),
                (None, _) => format!("{code} (no such code)"),
            },
            Says::Bits(bits) => self.show_bits(*bits),
            Says::Text { text, damaged: false } => text.clone(),
            Says::Text { text, damaged: true } => format!("{text} (damaged text)"),
            Says::NotImplemented => "not implemented".to_owned(),
            Says::NotRead => "not read".to_owned(),
            Says::NoScale(scale) => format!("cannot be told: {scale} is not implemented"),
            Says::AbsurdScale(scale, power) => format!("cannot be told: {scale} says 10^{power}"),
            Says::TooLong => "cannot be told: more than nine digits".to_owned(),
            Says::Filler => String::new(),
        }
    }

    fn show_bits(&self, bits: u32) -> String {
        let word = |bit: u8| {
            self.point.words.iter().find(|(known, _)| *known == bit).map_or_else(|| format!("bit {bit}"), |(_, word)| (*word).to_owned())
        };
        let set: Vec<String> = (0..32).filter(|bit| bits >> bit & 1 == 1).map(word).collect();
        if set.is_empty() { "none".to_owned() } else { set.join(", ") }
    }
}

/// The registers of a model, with the scales that its fixed part holds.
struct Scales<'b> {
    block: &'b Block,
    layout: &'b Layout,
}

impl Scales<'_> {
    fn parts(&self, layout: &Layout) -> Parts {
        let groups = layout.groups.iter().map(|(name, groups)| (*name, groups.iter().map(|group| self.parts(group)).collect()));
        Parts { points: layout.points.iter().map(|(at, point)| self.held(*at, point)).collect(), groups: groups.collect() }
    }

    fn held(&self, at: u32, point: &'static Point) -> PointValue {
        let first = at as usize;
        let raw = self.block.words.get(first..first + usize::from(point.kind.registers())).unwrap_or_default().to_vec();
        let register = self.block.at.saturating_add(u16::try_from(at).unwrap_or(u16::MAX));
        let says = if raw.is_empty() { Says::NotRead } else { self.says(point, &raw) };
        PointValue { point, register, raw, says }
    }

    fn says(&self, point: &'static Point, raw: &[u16]) -> Says {
        match point.kind {
            Kind::Pad => Says::Filler,
            Kind::Text(_) => text(raw),
            Kind::Code => implemented(raw[0] != u16::MAX, || Says::Code(raw[0])),
            Kind::Bits16 => implemented(raw[0] != u16::MAX, || Says::Bits(u32::from(raw[0]))),
            Kind::Bits32 => implemented(long(raw) != u32::MAX, || Says::Bits(long(raw))),
            // a plain count has no unit and no scale, and is no quantity
            Kind::U16 if point.scale.is_empty() && point.unit.is_empty() => implemented(raw[0] != u16::MAX, || Says::Code(raw[0])),
            Kind::Scale => {
                implemented(raw[0] != NO_SCALE, || Says::Number { value: Exact::from(i64::from(signed(raw[0]))), resolution: Exact::ONE })
            }
            _ => match number(point.kind, raw) {
                Number::NotImplemented => Says::NotImplemented,
                Number::TooLong => Says::TooLong,
                Number::Is(number) => self.scaled(point, number),
            },
        }
    }

    fn scaled(&self, point: &'static Point, number: i64) -> Says {
        if point.scale.is_empty() {
            return told(number, 0);
        }
        match self.scale(point.scale).map(signed) {
            None => Says::NoScale(point.scale),
            Some(power) if SCALES.contains(&power) => told(number, power),
            Some(power) => Says::AbsurdScale(point.scale, power),
        }
    }

    /// The register of a scale; scales lie in the fixed part, and serve every group.
    fn scale(&self, name: &str) -> Option<u16> {
        let (at, _) = self.layout.points.iter().find(|(_, point)| point.name == name)?;
        self.block.words.get(*at as usize).copied().filter(|word| *word != NO_SCALE)
    }
}
