//! Why no usable answer came.

use std::fmt;
use std::io;

/// Why no usable answer came.
#[derive(Debug)]
pub enum ReadError {
    /// No connection was made.
    NotConnected(io::Error),
    /// Nothing came in time; so many bytes of a frame had.
    Silent(usize),
    /// The other end closed; so many bytes of a frame had come.
    Closed(usize),
    /// The link itself failed.
    Link(io::Error),
    /// Another unit answered.
    OtherUnit {
        /// The unit that was asked.
        asked: u8,
        /// The unit that answered.
        answered: u8,
    },
    /// Only answers to other requests came: of another transaction.
    OtherTransaction {
        /// The transaction that was asked for.
        asked: u16,
        /// The last one that came.
        came: u16,
    },
    /// What came is no frame of this protocol.
    NoFrame(&'static str),
    /// The sum behind the frame does not fit it.
    Sum,
    /// Another number of registers came than was asked for.
    Length {
        /// The bytes that were asked for.
        asked: usize,
        /// The bytes that came.
        came: usize,
    },
}

impl fmt::Display for ReadError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::NotConnected(error) => write!(f, "no connection: {error}"),
            Self::Silent(0) => f.write_str("no answer in time"),
            Self::Silent(bytes) => write!(f, "the answer was not whole in time, {bytes} bytes came"),
            Self::Closed(0) => f.write_str("the other end closed the connection"),
            Self::Closed(bytes) => write!(f, "the other end closed the connection in the middle of a frame, after {bytes} bytes"),
            Self::Link(error) => write!(f, "{error}"),
            Self::OtherUnit { asked, answered } => write!(f, "unit {answered} answered where unit {asked} was asked"),
            Self::OtherTransaction { asked, came } => write!(f, "an answer to transaction {came} came where {asked} was asked"),
            Self::NoFrame(why) => write!(f, "what came is no Modbus frame: {why}"),
            Self::Sum => f.write_str("the check sum of the answer is wrong: noise on the line, or another speed or parity"),
            Self::Length { asked, came } => write!(f, "{came} bytes of registers came where {asked} were asked for"),
        }
    }
}

impl std::error::Error for ReadError {}
