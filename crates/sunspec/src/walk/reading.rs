//! Reading a run of registers in small requests, never cutting a value in two.

use crate::layout::{self, Piece};
use crate::models::Model;
use crate::registers::{Failure, Registers};

/// Asks for registers, fewer at once where a device wants that.
pub(super) struct Reader<'r> {
    pub(super) registers: &'r mut dyn Registers,
    /// The most registers of one request; goes down where a device refuses, and stays there.
    pub(super) at_once: u16,
}

/// No request gets smaller than this: the longest number.
const FEWEST: u16 = 4;

impl Reader<'_> {
    /// So many registers, and not one more or less.
    pub(super) fn read(&mut self, at: u16, count: u16) -> Result<Vec<u16>, Failure> {
        let words = self.registers.read(at, count)?;
        if words.len() == usize::from(count) {
            return Ok(words);
        }
        Err(Failure::Lost(format!("{} registers came where {count} were asked for", words.len())))
    }

    /// The registers of a model behind its number and length.
    pub(super) fn fill(&mut self, words: &mut Vec<u16>, at: u16, length: u16, model: Option<&'static Model>) -> Result<(), Failure> {
        let end = u32::from(length) + 2;
        let fixed = model.map(layout::fixed_pieces).unwrap_or_default();
        self.pieces(words, at, end, &fixed)?;
        let counted = model.and_then(|model| layout::pieces(model, words).ok()).unwrap_or_default();
        self.pieces(words, at, end, &counted)?;
        // what no table speaks of: two by two, as most long values are
        while (words.len() as u32) < end {
            let left = end - words.len() as u32;
            let count = u16::try_from(left).unwrap_or(u16::MAX).min(self.at_once & !1).max(1);
            self.run(words, at, count)?;
        }
        Ok(())
    }

    /// As many pieces at once as a request takes.
    fn pieces(&mut self, words: &mut Vec<u16>, at: u16, end: u32, pieces: &[Piece]) -> Result<(), Failure> {
        let mut left = pieces.iter().filter(|piece| piece.end() <= end).peekable();
        while let Some(first) = left.next() {
            if first.at != words.len() as u32 {
                continue;
            }
            let mut until = first.end();
            while let Some(next) = left.next_if(|next| next.at == until && next.end() - first.at <= u32::from(self.at_once)) {
                until = next.end();
            }
            let count = u16::try_from(until - first.at).unwrap_or(self.at_once);
            self.pieces_of(words, at, count, pieces)?;
        }
        Ok(())
    }

    /// One request; where the device refuses it for its length, the same in halves, cut between pieces.
    fn pieces_of(&mut self, words: &mut Vec<u16>, at: u16, count: u16, pieces: &[Piece]) -> Result<(), Failure> {
        let first = words.len() as u32;
        let refused = match self.run(words, at, count) {
            Err(Failure::Refused(code @ 2..=3)) if count > FEWEST => Failure::Refused(code),
            other => return other,
        };
        let ends = pieces.iter().map(Piece::end).filter(|end| *end > first && *end < first + u32::from(count));
        let Some(middle) = ends.min_by_key(|end| (end - first).abs_diff(u32::from(count / 2))) else { return Err(refused) };
        let half = u16::try_from(middle - first).unwrap_or(1);
        self.at_once = self.at_once.min(half.max(count - half)).max(FEWEST);
        self.pieces_of(words, at, half, pieces)?;
        self.pieces_of(words, at, count - half, pieces)
    }

    fn run(&mut self, words: &mut Vec<u16>, at: u16, count: u16) -> Result<(), Failure> {
        let from = u16::try_from(words.len()).ok().and_then(|offset| at.checked_add(offset));
        let from = from.ok_or_else(|| Failure::Lost("the model reaches past the last address".to_owned()))?;
        let more = self.read(from, count)?;
        words.extend(more);
        Ok(())
    }
}

/// The offsets of registers that count by themselves: times still to run, and what follows the voltage.
pub(super) fn moving(model: &'static Model, words: &[u16]) -> Vec<u16> {
    let Ok(layout) = layout::of(model, words) else { return Vec::new() };
    let counts = |name: &str| name.ends_with("Rem") || name.ends_with("RemTms") || name == "VRefAuto";
    layout
        .all_points()
        .into_iter()
        .filter(|(_, point)| counts(point.name))
        .flat_map(|(at, point)| (0..point.kind.registers()).filter_map(move |n| u16::try_from(at).ok()?.checked_add(n)))
        .collect()
}
