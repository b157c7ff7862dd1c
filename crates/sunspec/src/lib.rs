//! What a device really holds, over the open SunSpec models: where its registers lie, what they say, and
//! which settings of the catalogue they are.
//!
//! Nothing here opens a connection, prints, or can write to a device: registers come through
//! [`Registers`], which has no way to write. The rooms, in the order in which a register passes through
//! them:
//!
//! - `registers`: how registers are asked for, and what may come instead
//! - `walk`: from a base address along the chain of models
//! - `models`: the register tables, as facts; `layout`: where each point of a model lies in this device
//! - `decode`: from registers to numbers, codes and text, or why not
//! - `mapping`: from points to settings, with the resolution of the device, and what is not read
//! - `trouble`: all that may be wrong with a device's registers, by name
//! - `image`: registers kept in a file, to be decoded again later

pub mod decode;
pub mod image;
pub mod layout;
pub mod mapping;
pub mod models;
pub mod registers;
pub mod trouble;
pub mod walk;

pub use decode::Decoded;
pub use image::Image;
pub use mapping::{Against, Captured};
pub use registers::{Failure, Registers};
pub use trouble::{Trouble, TroubleKind};
pub use walk::{Options, Walk};
