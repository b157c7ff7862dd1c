//! Modbus RTU on a serial line.

use crate::frame::{FUNCTION, Request};
use crate::tcp::left;
use crate::{Link, ReadError};
use rmodbus::ModbusProto;
use serial2::{CharSize, FlowControl, SerialPort, StopBits};
use std::io;
use std::path::Path;
use std::time::{Duration, Instant};

/// How a line is set.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Line {
    /// Bits a second.
    pub speed: u32,
    /// The parity bit.
    pub parity: Parity,
    /// One stop bit, or two.
    pub two_stop_bits: bool,
}

/// A parity bit.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Parity {
    /// None.
    None,
    /// Even.
    Even,
    /// Odd.
    Odd,
}

/// A serial line.
#[derive(Debug)]
pub struct Serial {
    port: SerialPort,
    /// The silence that ends a frame.
    silence: Duration,
}

/// A unit, a function, and how many bytes follow; or the code of a refusal.
const HEAD: usize = 3;
/// The sum at the end.
const SUM: usize = 2;

impl Serial {
    /// Opens a port.
    ///
    /// # Errors
    /// Where it is not there, or cannot be set so.
    pub fn open(port: &Path, line: Line) -> io::Result<Self> {
        let port = SerialPort::open(port, |mut settings: serial2::Settings| {
            settings.set_raw();
            settings.set_baud_rate(line.speed)?;
            settings.set_char_size(CharSize::Bits8);
            settings.set_stop_bits(if line.two_stop_bits { StopBits::Two } else { StopBits::One });
            settings.set_parity(match line.parity {
                Parity::None => serial2::Parity::None,
                Parity::Even => serial2::Parity::Even,
                Parity::Odd => serial2::Parity::Odd,
            });
            settings.set_flow_control(FlowControl::None);
            Ok(settings)
        })?;
        Ok(Self::over(port, line))
    }

    /// A port that is open already.
    #[must_use]
    pub fn over(port: SerialPort, line: Line) -> Self {
        // three and a half characters of eleven bits; never less than 1.75 ms (Modbus over serial line 1.02, 2.5.1.1)
        let silence = Duration::from_secs_f64(38.5 / f64::from(line.speed.max(1))).max(Duration::from_micros(1750));
        Self { port, silence }
    }

    fn fill(&mut self, frame: &mut Vec<u8>, length: usize, until: Instant) -> Result<(), ReadError> {
        let mut filled = frame.len();
        frame.resize(length, 0);
        while filled < length {
            let left = left(until).map_err(|_| ReadError::Silent(filled))?;
            self.port.set_read_timeout(left).map_err(ReadError::Link)?;
            match self.port.read(&mut frame[filled..]) {
                Ok(0) => return Err(ReadError::Closed(filled)),
                Ok(bytes) => filled += bytes,
                Err(error) if matches!(error.kind(), io::ErrorKind::WouldBlock | io::ErrorKind::TimedOut) => {
                    return Err(ReadError::Silent(filled));
                }
                Err(error) if error.kind() == io::ErrorKind::Interrupted => {}
                Err(error) => return Err(ReadError::Link(error)),
            }
        }
        Ok(())
    }
}

impl Link for Serial {
    fn protocol(&self) -> ModbusProto {
        ModbusProto::Rtu
    }

    fn exchange(&mut self, request: &Request, until: Instant) -> Result<Vec<u8>, ReadError> {
        std::thread::sleep(self.silence);
        // what is left of an earlier answer belongs to no request
        self.port.discard_input_buffer().map_err(ReadError::Link)?;
        self.port.set_write_timeout(left(until)?).map_err(ReadError::Link)?;
        self.port.write_all(&request.bytes(ModbusProto::Rtu)).map_err(ReadError::Link)?;
        let mut frame = Vec::with_capacity(256);
        self.fill(&mut frame, HEAD, until)?;
        let follow = if frame[1] == FUNCTION { usize::from(frame[2]) } else { 0 };
        if follow > request.asked() {
            return Err(ReadError::Length { asked: request.asked(), came: follow });
        }
        self.fill(&mut frame, HEAD + follow + SUM, until)?;
        Ok(frame)
    }
}
