//! Where each point of a model lies in a device: the table, with the counts that the device states.

use crate::models::{Kind, Model, Part, Point, Times};

/// The parts of a model, or of one of its groups, as they lie in a device. Offsets count registers from
/// the model's number.
#[derive(Clone, Debug, Default)]
pub struct Layout {
    /// The points.
    pub points: Vec<(u32, &'static Point)>,
    /// The groups, each as often as it lies there.
    pub groups: Vec<(&'static str, Vec<Layout>)>,
}

/// Registers that have to be read in one request.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Piece {
    /// The first.
    pub at: u32,
    /// How many.
    pub registers: u16,
}

impl Piece {
    /// The first behind it.
    #[must_use]
    pub fn end(&self) -> u32 {
        self.at + u32::from(self.registers)
    }
}

/// Why a model's registers do not fit its table.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Misfit {
    /// A point that counts groups is not there, or not implemented.
    NoCount(&'static str),
    /// With what it counts the model would have so many registers behind its length, and says another number.
    Length {
        /// What it would have.
        counted: u64,
        /// What it says.
        stated: u16,
    },
}

/// The number and the length of a model come before its parts.
const HEAD: u32 = 2;

/// Lays out a model whose registers, from its number on, are known as far as its counts reach.
///
/// # Errors
/// [`Misfit`] where the counts do not come to the length that the model states: it may be of another
/// version of the definitions, and nothing in it can be told.
pub fn of(model: &'static Model, words: &[u16]) -> Result<Layout, Misfit> {
    let counts = Counts { model, words };
    let counted = counts.registers(model.parts)?;
    let stated = words.get(1).copied().unwrap_or_default();
    // the filler at the end may be missing: model 1 of 65 registers
    let without_filler = counted - u64::from(matches!(model.parts.last(), Some(Part::Point(last)) if last.kind == Kind::Pad));
    if u64::from(stated) != counted && u64::from(stated) != without_filler {
        return Err(Misfit::Length { counted, stated });
    }
    let (mut at, mut layout) = (HEAD, Layout::default());
    counts.lay(model.parts, &mut at, &mut layout)?;
    layout.points.retain(|(at, point)| at + u32::from(point.kind.registers()) <= u32::from(stated) + HEAD);
    Ok(layout)
}

/// The pieces of a model's fixed part: what lies before anything that is counted.
#[must_use]
pub fn fixed_pieces(model: &'static Model) -> Vec<Piece> {
    let mut pieces = Vec::new();
    let mut at = HEAD;
    for part in model.parts {
        match part {
            Part::Group { times: Times::Counted(_), .. } => break,
            part => cut(std::slice::from_ref(part), &mut at, &mut pieces),
        }
    }
    pieces
}

/// The pieces of a whole model.
///
/// # Errors
/// As [`of`].
pub fn pieces(model: &'static Model, words: &[u16]) -> Result<Vec<Piece>, Misfit> {
    let layout = of(model, words)?;
    let mut pieces = fixed_pieces(model);
    let from = pieces.last().map_or(HEAD, Piece::end);
    pieces.extend(layout.all_points().into_iter().filter(|(at, _)| *at >= from).flat_map(|(at, point)| of_point(at, point)));
    Ok(pieces)
}

/// A number is one piece. Text may be cut: a device may give fewer registers at once than a name has.
fn of_point(at: u32, point: &'static Point) -> impl Iterator<Item = Piece> {
    let all = point.kind.registers();
    let each = if matches!(point.kind, Kind::Text(_)) { 2 } else { all };
    (0..all).step_by(usize::from(each.max(1))).map(move |from| Piece { at: at + u32::from(from), registers: each.min(all - from) })
}

/// Pieces of parts of which nothing is counted.
fn cut(parts: &'static [Part], at: &mut u32, pieces: &mut Vec<Piece>) {
    for part in parts {
        match part {
            Part::Point(point) => {
                pieces.extend(of_point(*at, point));
                *at += u32::from(point.kind.registers());
            }
            Part::Group { times: Times::Fixed(times), whole, parts, .. } => {
                for _ in 0..*times {
                    let (from, first) = (pieces.len(), *at);
                    cut(parts, at, pieces);
                    if *whole {
                        pieces.truncate(from);
                        pieces.push(Piece { at: first, registers: u16::try_from(*at - first).unwrap_or(u16::MAX) });
                    }
                }
            }
            Part::Group { times: Times::Counted(_), .. } => return,
        }
    }
}

impl Layout {
    /// Every point, in the order in which they lie.
    #[must_use]
    pub fn all_points(&self) -> Vec<(u32, &'static Point)> {
        let mut all = self.points.clone();
        let inner = self.groups.iter().flat_map(|(_, groups)| groups);
        inner.for_each(|group| all.extend(group.all_points()));
        all.sort_by_key(|(at, _)| *at);
        all
    }
}

/// The counts that a model states in its fixed part.
struct Counts<'w> {
    model: &'static Model,
    words: &'w [u16],
}

impl Counts<'_> {
    fn times(&self, times: Times) -> Result<u16, Misfit> {
        match times {
            Times::Fixed(times) => Ok(times),
            Times::Counted(by) => self.stated(by).ok_or(Misfit::NoCount(by)),
        }
    }

    fn stated(&self, name: &str) -> Option<u16> {
        let mut at = HEAD;
        for part in self.model.parts {
            let Part::Point(point) = part else { return None };
            if point.name == name {
                return self.words.get(at as usize).copied().filter(|count| *count != u16::MAX);
            }
            at += u32::from(point.kind.registers());
        }
        None
    }

    /// How many registers parts take; counted before anything is laid out, so that a count of 65,534
    /// times 65,534 takes no room.
    fn registers(&self, parts: &'static [Part]) -> Result<u64, Misfit> {
        parts.iter().try_fold(0, |sum, part| {
            Ok(sum
                + match part {
                    Part::Point(point) => u64::from(point.kind.registers()),
                    Part::Group { times, parts, .. } => u64::from(self.times(*times)?) * self.registers(parts)?,
                })
        })
    }

    fn lay(&self, parts: &'static [Part], at: &mut u32, layout: &mut Layout) -> Result<(), Misfit> {
        for part in parts {
            match part {
                Part::Point(point) => {
                    layout.points.push((*at, point));
                    *at += u32::from(point.kind.registers());
                }
                Part::Group { name, times, parts, .. } => {
                    let mut groups = Vec::new();
                    for _ in 0..self.times(*times)? {
                        let mut inner = Layout::default();
                        self.lay(parts, at, &mut inner)?;
                        groups.push(inner);
                    }
                    layout.groups.push((name, groups));
                }
            }
        }
        Ok(())
    }
}
