//! A request for holding registers, and what an answer to it has to look like.

use crate::ReadError;
use rmodbus::ModbusProto;
use rmodbus::client::ModbusRequest;

/// Read holding registers.
pub(crate) const FUNCTION: u8 = 3;
/// What a refusal is marked with.
const REFUSED: u8 = 0x80;

/// One request: so many registers from an address of a unit.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Request {
    /// The unit.
    pub unit: u8,
    /// The number that ties an answer to it; over TCP only.
    pub transaction: u16,
    /// The first register.
    pub at: u16,
    /// How many.
    pub count: u16,
}

/// What an answer says.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) enum Answer {
    Registers(Vec<u16>),
    Refused(u8),
}

impl Request {
    fn frame(&self, protocol: ModbusProto) -> ModbusRequest {
        let mut frame = ModbusRequest::new(self.unit, protocol);
        frame.tr_id = self.transaction;
        frame
    }

    /// The bytes that go out.
    pub(crate) fn bytes(&self, protocol: ModbusProto) -> Vec<u8> {
        let mut bytes = Vec::with_capacity(16);
        // a vector takes them all
        let _ = self.frame(protocol).generate_get_holdings(self.at, self.count, &mut bytes);
        bytes
    }

    /// How many bytes of registers are asked for.
    pub(crate) fn asked(&self) -> usize {
        usize::from(self.count) * 2
    }

    /// What a whole frame says: unit, function and length are looked at here, sums by the library.
    pub(crate) fn answer(&self, bytes: &[u8], protocol: ModbusProto) -> Result<Answer, ReadError> {
        let start = if protocol == ModbusProto::TcpUdp { 6 } else { 0 };
        let [unit, function, first, ..] = *bytes.get(start..).unwrap_or_default() else {
            return Err(ReadError::NoFrame("it is too short"));
        };
        let mut frame = self.frame(protocol);
        let mut sent = Vec::new();
        let _ = frame.generate_get_holdings(self.at, self.count, &mut sent);
        if protocol == ModbusProto::Rtu && matches!(frame.parse_ok(bytes), Err(rmodbus::ErrorKind::FrameCRCError)) {
            return Err(ReadError::Sum);
        }
        if unit != self.unit {
            return Err(ReadError::OtherUnit { asked: self.unit, answered: unit });
        }
        if function == FUNCTION | REFUSED {
            return Ok(Answer::Refused(first));
        }
        if function != FUNCTION {
            return Err(ReadError::NoFrame("it answers another function"));
        }
        let mut registers = Vec::with_capacity(usize::from(self.count));
        let tail = if protocol == ModbusProto::Rtu { 2 } else { 0 };
        let came = bytes.len().saturating_sub(start + 3 + tail);
        if usize::from(first) != self.asked() || came != self.asked() {
            return Err(ReadError::Length { asked: self.asked(), came });
        }
        frame.parse_u16(bytes, &mut registers).map_err(|_| ReadError::NoFrame("it cannot be read"))?;
        Ok(Answer::Registers(registers))
    }
}
