//! One connection: a request is read within its limits, answered, and the connection closed.

use super::guard::Guard;
use super::request::{Head, Request};
use super::{Response, Timed};
use std::io::{self, Read, Write};
use std::net::{Shutdown, TcpStream};
use std::time::{Duration, Instant};

/// Seconds for the lines of a request, for a file behind them, and for taking the answer.
const FOR_HEAD: Duration = Duration::from_secs(5);
const FOR_BODY: Duration = Duration::from_secs(20);
const FOR_ANSWER: Duration = Duration::from_secs(20);

/// Bytes that the lines of a request may take.
const MOST_HEAD: usize = 16 * 1024;

/// Reads a request, has it answered, and closes.
pub fn serve(stream: &TcpStream, guard: &Guard, ask: &dyn Fn(Request) -> Response) {
    let _ = stream.set_nodelay(true);
    let response = match read(stream, guard) {
        Ok(request) => ask(request),
        Err(Some(refusal)) => refusal,
        Err(None) => return, // nobody there, or nobody who would listen
    };
    let _ = response.write(&mut Timed { stream, until: Instant::now() + FOR_ANSWER });
    close(stream);
}

/// Says that there are too many connections.
pub fn turn_away(stream: &TcpStream) {
    let response = Response::refusal(503, "too many connections at once");
    let _ = response.write(&mut Timed { stream, until: Instant::now() + Duration::from_millis(200) });
}

/// A request, or the answer to one that cannot be had; `None` where none can be given.
fn read(stream: &TcpStream, guard: &Guard) -> Result<Request, Option<Response>> {
    let mut from = Timed { stream, until: Instant::now() + FOR_HEAD };
    let mut bytes = Vec::with_capacity(2048);
    let (head, behind) = loop {
        if let Some((head, length)) = Head::parse(&bytes)? {
            break (head, bytes.split_off(length));
        }
        if bytes.len() >= MOST_HEAD {
            return Err(Some(Response::refusal(431, "the lines of the request are too long")));
        }
        more(&mut from, &mut bytes, MOST_HEAD)?;
    };
    guard.admits(&head)?;
    let length = head.body_length()?;
    let mut body = behind;
    if length > body.len() && head.expects_continue() {
        let _ = from.write_all(b"HTTP/1.1 100 Continue\r\n\r\n");
    }
    let mut from = Timed { stream, until: Instant::now() + FOR_BODY };
    while body.len() < length {
        more(&mut from, &mut body, length)?;
    }
    body.truncate(length);
    Ok(head.into_request(body))
}

/// Reads on, up to so many bytes in all.
fn more(from: &mut Timed<'_>, bytes: &mut Vec<u8>, most: usize) -> Result<(), Option<Response>> {
    let mut buffer = [0; 16 * 1024];
    let room = buffer.len().min(most - bytes.len());
    match from.read(&mut buffer[..room]) {
        Ok(0) => Err(None),
        Ok(count) => {
            bytes.extend_from_slice(&buffer[..count]);
            Ok(())
        }
        Err(error) if error.kind() == io::ErrorKind::Interrupted => Ok(()),
        Err(error) if matches!(error.kind(), io::ErrorKind::WouldBlock | io::ErrorKind::TimedOut) => {
            // one that never said a word gets none
            Err((!bytes.is_empty()).then(|| Response::refusal(408, "the request took too long")))
        }
        Err(_) => Err(None),
    }
}

/// Closes so that an answer to a request that was not read to its end still arrives.
fn close(stream: &TcpStream) {
    let _ = stream.shutdown(Shutdown::Write);
    let mut from = Timed { stream, until: Instant::now() + Duration::from_secs(1) };
    let mut buffer = [0; 4096];
    for _ in 0..256 {
        if !matches!(from.read(&mut buffer), Ok(count) if count > 0) {
            return;
        }
    }
}
