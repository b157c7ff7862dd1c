//! How registers are asked for. There is no way to write one.

use thiserror::Error;

/// Something that holds registers: a device, or the image of one.
pub trait Registers {
    /// Reads `count` holding registers (function 3) from a protocol address, which counts from 0.
    ///
    /// # Errors
    /// [`Failure`] says whether the device refused this request, or cannot be spoken with at all.
    fn read(&mut self, at: u16, count: u16) -> Result<Vec<u16>, Failure>;
}

/// Why registers did not come.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
pub enum Failure {
    /// The device answered that it does not give them, with this exception code.
    #[error("{}", exception(*.0))]
    Refused(u8),
    /// Nothing usable came back, after every attempt: going on makes no sense.
    #[error("{0}")]
    Lost(String),
}

/// What an exception code of the Modbus protocol means (application protocol 1.1b3, section 7).
fn exception(code: u8) -> String {
    let means = match code {
        1 => "the device does not know function 3 (read holding registers)",
        2 => "the device has no such registers",
        3 => "the device does not take a request of this form",
        4 => "the device failed while reading",
        5 => "the device is still working on it",
        6 => "the device is busy",
        8 => "the device's memory is at fault",
        10 => "the gateway has no path to this unit id",
        11 => "the gateway got no answer from this unit id",
        _ => "the device gives no reason that the protocol knows",
    };
    format!("{means} (exception {code})")
}
