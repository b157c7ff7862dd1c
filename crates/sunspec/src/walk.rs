//! From a base address along the chain of models, in small requests.
//!
//! Addresses only ever go up, lengths are never trusted, and the number of models is bounded: so a chain
//! that lies about itself ends too.

mod reading;

use crate::models::{self, Model};
use crate::registers::{Failure, Registers};
use reading::Reader;

/// Where maps usually begin, in the order in which they are tried.
pub const BASES: [u16; 3] = [40_000, 0, 50_000];
/// `SunS`: what a map begins with.
pub const MARK: [u16; 2] = [0x5375, 0x6e53];
/// What the chain ends with.
pub const END: u16 = 0xffff;
/// More models than this are a fault.
pub const MOST_MODELS: usize = 128;
/// The most registers that are asked for at once, whatever is wished: over TCP, 124 and 125, which the
/// protocol allows, end in a broken frame with the library that is used for frames.
pub const MOST_AT_ONCE: u16 = 123;

/// How to read.
#[derive(Clone, Debug)]
pub struct Options {
    /// Where to look for the map.
    pub bases: Vec<u16>,
    /// The most registers of one request, from 4 to [`MOST_AT_ONCE`].
    pub at_once: u16,
    /// Whether what holds settings is read again and compared.
    pub twice: bool,
    /// Whether models that are not decoded are read too, for an image that others can look into.
    pub everything: bool,
}

impl Default for Options {
    fn default() -> Self {
        Self { bases: BASES.to_vec(), at_once: 50, twice: true, everything: false }
    }
}

/// What was found along the chain.
#[derive(Clone, Debug)]
pub struct Walk {
    /// The address of the mark.
    pub base: u16,
    /// The models, in order.
    pub blocks: Vec<Block>,
    /// How the chain ended.
    pub ended: Ended,
}

/// A model as it lies in a device.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Block {
    /// Its number.
    pub id: u16,
    /// The address of its number.
    pub at: u16,
    /// The registers that it says follow behind its number and length.
    pub length: u16,
    /// Its registers from its number on; fewer than `length` + 2 where some were not read.
    pub words: Vec<u16>,
    /// What was not read, and why.
    pub failed: Option<Failure>,
    /// Registers that changed between two readings, though nothing in them counts by itself.
    pub changed: Vec<u16>,
}

impl Block {
    /// Whether all of it was read.
    #[must_use]
    pub fn is_whole(&self) -> bool {
        self.words.len() == usize::from(self.length) + 2
    }
}

/// How a chain ended.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Ended {
    /// As it should.
    AtItsEnd,
    /// A model gives a length that cannot be.
    ImpossibleLength {
        /// The model.
        id: u16,
        /// The address of its number.
        at: u16,
        /// The length.
        length: u16,
    },
    /// There are more models than any device has.
    TooMany,
    /// The next model could not be read.
    NotRead {
        /// Its address.
        at: u16,
        /// Why.
        why: Failure,
    },
}

/// Why there is nothing to walk along.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum NoMap {
    /// Nothing that was asked begins with the mark: each address, and what came.
    NotFound(Vec<(u16, Tried)>),
    /// The device cannot be spoken with.
    Lost(Failure),
}

/// What came from an address where a map may begin.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Tried {
    /// Other registers.
    Holds([u16; 2]),
    /// A refusal.
    Refused(Failure),
}

/// What is being done, for somebody who watches.
#[derive(Clone, Copy, Debug)]
pub enum Doing {
    /// Looking for a map at an address.
    Looking(u16),
    /// Reading a model, of so many registers.
    Reading {
        /// Its number.
        id: u16,
        /// Where it begins.
        at: u16,
        /// How many registers it has.
        registers: u16,
    },
    /// Passing over a model that is not decoded.
    Passing {
        /// Its number.
        id: u16,
    },
}

/// Reads along the chain. An interrupted reading comes back with what it has.
///
/// # Errors
/// [`NoMap`] where no map begins at any of the addresses.
pub fn walk(registers: &mut dyn Registers, options: &Options, watch: &mut dyn FnMut(Doing)) -> Result<Walk, NoMap> {
    let mut reader = Reader { registers, at_once: options.at_once.clamp(4, MOST_AT_ONCE) };
    let base = find(&mut reader, &options.bases, watch)?;
    let mut walk = Walk { base, blocks: Vec::new(), ended: Ended::TooMany };
    let mut at = base.saturating_add(2);
    while walk.blocks.len() < MOST_MODELS {
        let (id, length) = match head(&mut reader, at) {
            Ok(Some(head)) => head,
            Ok(None) => {
                walk.ended = Ended::AtItsEnd;
                break;
            }
            Err(why) => {
                walk.ended = Ended::NotRead { at, why };
                break;
            }
        };
        let Some(next) = at.checked_add(2).and_then(|first| first.checked_add(length)).filter(|_| length > 0) else {
            walk.ended = Ended::ImpossibleLength { id, at, length };
            break;
        };
        let block = block(&mut reader, (id, at, length), options, watch);
        let lost = block.failed.clone().filter(|why| matches!(why, Failure::Lost(_)));
        walk.blocks.push(block);
        if let Some(why) = lost {
            walk.ended = Ended::NotRead { at: next, why };
            break;
        }
        at = next;
    }
    Ok(walk)
}

fn find(reader: &mut Reader<'_>, bases: &[u16], watch: &mut dyn FnMut(Doing)) -> Result<u16, NoMap> {
    let mut tried = Vec::new();
    for base in bases {
        watch(Doing::Looking(*base));
        match reader.read(*base, 2).as_deref() {
            Ok([first, second]) if [*first, *second] == MARK => return Ok(*base),
            Ok(words) => tried.push((*base, Tried::Holds([words[0], words[1]]))),
            Err(Failure::Refused(code)) => tried.push((*base, Tried::Refused(Failure::Refused(*code)))),
            Err(lost) => return Err(NoMap::Lost(lost.clone())),
        }
    }
    Err(NoMap::NotFound(tried))
}

/// A model's number and length; `None` at the end of the chain, where some devices give no length.
fn head(reader: &mut Reader<'_>, at: u16) -> Result<Option<(u16, u16)>, Failure> {
    match reader.read(at, 2) {
        Ok(words) if words[0] == END => Ok(None),
        Ok(words) => Ok(Some((words[0], words[1]))),
        Err(Failure::Refused(code)) => match reader.read(at, 1) {
            Ok(words) if words[0] == END => Ok(None),
            Err(Failure::Lost(why)) => Err(Failure::Lost(why)),
            _ => Err(Failure::Refused(code)),
        },
        Err(lost) => Err(lost),
    }
}

fn block(reader: &mut Reader<'_>, (id, at, length): (u16, u16, u16), options: &Options, watch: &mut dyn FnMut(Doing)) -> Block {
    let mut block = Block { id, at, length, words: vec![id, length], failed: None, changed: Vec::new() };
    let model = models::model(id);
    if model.is_none() && !options.everything && id != LOCAL_CONTROL {
        watch(Doing::Passing { id });
        return block;
    }
    watch(Doing::Reading { id, at, registers: length });
    block.failed = reader.fill(&mut block.words, at, length, model).err();
    let holds_settings = model.is_some_and(|model| !matches!(model.id, 1 | 122 | 701));
    if options.twice && block.is_whole() && holds_settings {
        let mut again = vec![id, length];
        block.failed = reader.fill(&mut again, at, length, model).err();
        if block.failed.is_none() {
            block.changed = changed(model, at, &block.words, &again);
            block.words = again;
        }
    }
    block
}

/// The model that says whether the device follows commands from afar; read, because it is short.
pub(crate) const LOCAL_CONTROL: u16 = 715;

/// The addresses of registers that differ, but of points that count by themselves.
fn changed(model: Option<&'static Model>, at: u16, first: &[u16], second: &[u16]) -> Vec<u16> {
    let moving = model.map(|model| reading::moving(model, first)).unwrap_or_default();
    let differs = |offset: &u16| first[usize::from(*offset)] != second[usize::from(*offset)];
    let offsets = 0..u16::try_from(first.len().min(second.len())).unwrap_or(u16::MAX);
    offsets.filter(|offset| differs(offset) && !moving.contains(offset)).map(|offset| at.wrapping_add(offset)).collect()
}
