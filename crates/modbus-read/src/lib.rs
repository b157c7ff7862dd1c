//! Reads holding registers of a device over Modbus TCP or a serial line, and nothing else.
//!
//! The only request that is ever built is function 3, read holding registers (`frame`): nothing here, and
//! nothing that it calls, can ask a device to change. Every wait ends: each request has a time of its own,
//! the whole reading has one, and no answer takes more memory than a frame.
//!
//! - `frame`: a request, and what an answer to it has to look like
//! - `tcp`, `serial`: a link that takes one request and brings one frame
//! - `device`: retries, pauses and an end for everything; `stop`: somebody at the keyboard may end it too

mod device;
mod fault;
mod frame;
mod serial;
mod stop;
mod tcp;

pub use device::{Manners, ModbusDevice};
pub use fault::ReadError;
pub use frame::Request;
pub use serial::{Line, Parity, Serial};
pub use stop::stop_at_interrupt;
pub use tcp::Tcp;

use std::time::Instant;

/// Something over which one request goes out and one frame comes back.
pub trait Link {
    /// Which kind of frame it carries.
    fn protocol(&self) -> rmodbus::ModbusProto;

    /// Sends a request, and brings back what the device answered, before `until`.
    ///
    /// # Errors
    /// [`ReadError`] says why nothing usable came. The link may be tried again.
    fn exchange(&mut self, request: &Request, until: Instant) -> Result<Vec<u8>, ReadError>;
}
