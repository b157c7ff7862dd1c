//! Modbus TCP: one connection, made anew after a fault.

use crate::frame::Request;
use crate::{Link, ReadError};
use rmodbus::ModbusProto;
use std::io::{self, Read, Write};
use std::net::{SocketAddr, TcpStream};
use std::time::{Duration, Instant};

/// A connection to a device, or to a gateway before it.
#[derive(Debug)]
pub struct Tcp {
    peer: Vec<SocketAddr>,
    connection: Option<TcpStream>,
}

/// Transaction, protocol and length.
const HEAD: usize = 6;
/// The shortest and the longest that may follow: a refusal, and 125 registers.
const BODY: std::ops::RangeInclusive<usize> = 3..=253;
/// How many answers to earlier requests are passed over.
const STALE: usize = 4;

impl Tcp {
    /// A link to one of these addresses; it connects when something is asked.
    #[must_use]
    pub fn new(peer: Vec<SocketAddr>) -> Self {
        Self { peer, connection: None }
    }

    fn connected(&mut self, until: Instant) -> Result<&mut TcpStream, ReadError> {
        if self.connection.is_none() {
            let mut last = io::Error::new(io::ErrorKind::NotFound, "the name has no address");
            for address in &self.peer {
                match TcpStream::connect_timeout(address, left(until)?) {
                    Ok(connection) => {
                        let _ = connection.set_nodelay(true);
                        self.connection = Some(connection);
                        break;
                    }
                    Err(error) => last = error,
                }
            }
            if self.connection.is_none() {
                return Err(ReadError::NotConnected(last));
            }
        }
        self.connection.as_mut().ok_or(ReadError::Closed(0))
    }

    fn asked(&mut self, request: &Request, until: Instant) -> Result<Vec<u8>, ReadError> {
        let connection = self.connected(until)?;
        connection.set_write_timeout(Some(left(until)?)).map_err(ReadError::Link)?;
        connection.write_all(&request.bytes(ModbusProto::TcpUdp)).map_err(ReadError::Link)?;
        let mut came = request.transaction;
        for _ in 0..=STALE {
            let frame = frame(connection, until)?;
            came = u16::from_be_bytes([frame[0], frame[1]]);
            if came == request.transaction {
                return Ok(frame);
            }
        }
        Err(ReadError::OtherTransaction { asked: request.transaction, came })
    }
}

impl Link for Tcp {
    fn protocol(&self) -> ModbusProto {
        ModbusProto::TcpUdp
    }

    fn exchange(&mut self, request: &Request, until: Instant) -> Result<Vec<u8>, ReadError> {
        let answer = self.asked(request, until);
        if answer.is_err() {
            // what still comes belongs to this request, and to no later one
            self.connection = None;
        }
        answer
    }
}

/// The time that is left; a fault where there is none.
pub(crate) fn left(until: Instant) -> Result<Duration, ReadError> {
    until.checked_duration_since(Instant::now()).filter(|left| !left.is_zero()).ok_or(ReadError::Silent(0))
}

/// One frame, of a length that its head says.
fn frame(connection: &mut TcpStream, until: Instant) -> Result<Vec<u8>, ReadError> {
    let mut frame = vec![0; HEAD];
    fill(connection, &mut frame, 0, until)?;
    if frame[2..4] != [0, 0] {
        return Err(ReadError::NoFrame("it is of another protocol"));
    }
    let length = usize::from(u16::from_be_bytes([frame[4], frame[5]]));
    if !BODY.contains(&length) {
        return Err(ReadError::NoFrame("its length cannot be"));
    }
    frame.resize(HEAD + length, 0);
    fill(connection, &mut frame, HEAD, until)?;
    Ok(frame)
}

/// Reads until a buffer is full. The end holds for all of it, so that one byte after another is no way to keep
/// anybody waiting.
fn fill(connection: &mut TcpStream, frame: &mut [u8], from: usize, until: Instant) -> Result<(), ReadError> {
    let mut filled = from;
    while filled < frame.len() {
        let left = left(until).map_err(|_| ReadError::Silent(filled))?;
        connection.set_read_timeout(Some(left)).map_err(ReadError::Link)?;
        match connection.read(&mut frame[filled..]) {
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
