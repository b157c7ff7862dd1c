//! A small HTTP server for one person on this machine: loopback only, every request bounded in size and in
//! time, one answer a connection.
//!
//! `httparse` reads the requests. The connections are our own, because what waits for a slow or an endless
//! request has to be bounded, and the small servers at hand bound neither (`tiny_http` 0.12 reads a line of
//! any length, for any time, on as many threads as somebody opens connections).

mod connection;
pub mod guard;
pub mod request;
mod response;

pub use request::Request;
pub use response::{Kind, Response};

use guard::Guard;
use std::io;
use std::net::{Ipv4Addr, Ipv6Addr, SocketAddr, TcpListener, TcpStream};
use std::panic::{self, AssertUnwindSafe};
use std::sync::Arc;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::mpsc::{self, SyncSender};
use std::thread;

/// Connections at once; more are told to come back.
const MOST_CONNECTIONS: usize = 32;

/// What a thread of a connection needs: it holds no more than a request and an answer.
const STACK: usize = 256 * 1024;

/// A request on its way to who answers it, and where the answer goes.
struct Exchange {
    request: Request,
    answer: SyncSender<Response>,
}

/// A server that is listening.
pub struct Server {
    listeners: Vec<TcpListener>,
    port: u16,
}

impl Server {
    /// Listens on the loopback addresses, on a port or, for 0, a free one.
    pub fn listen(port: u16) -> io::Result<Self> {
        let first = TcpListener::bind((Ipv4Addr::LOCALHOST, port))?;
        let port = first.local_addr()?.port();
        // where the machine has no second loopback address, or the port is taken there, one is enough
        let second = TcpListener::bind((Ipv6Addr::LOCALHOST, port)).ok();
        Ok(Self { listeners: std::iter::once(first).chain(second).collect(), port })
    }

    /// Where a browser finds it.
    pub fn address(&self) -> String {
        format!("http://127.0.0.1:{}/", self.port)
    }

    /// Answers for as long as the program runs, one request after another. An answer that panics is told to
    /// who asked; what `answer` keeps has to stand that.
    pub fn serve(self, mut answer: impl FnMut(&Request) -> Response) -> io::Result<()> {
        let (sender, asked) = mpsc::sync_channel::<Exchange>(MOST_CONNECTIONS);
        let (guard, open) = (Arc::new(Guard { port: self.port }), Arc::new(AtomicUsize::new(0)));
        for listener in self.listeners {
            let (sender, guard, open) = (sender.clone(), guard.clone(), open.clone());
            thread::Builder::new().name("page".to_owned()).spawn(move || accept(&listener, &sender, &guard, &open))?;
        }
        drop(sender);
        for Exchange { request, answer: to } in asked {
            // a fault of ours in one answer is no end of the others
            let answered = panic::catch_unwind(AssertUnwindSafe(|| answer(&request)));
            let _ = to.send(answered.unwrap_or_else(|_| failed())); // whoever asked may be gone
        }
        Ok(())
    }
}

/// What is told where an answer could not be worked out through a fault of the program.
fn failed() -> Response {
    Response::refusal(500, "asleft could not work this out: a fault of the program, not of your file; the page goes on")
}

fn accept(listener: &TcpListener, sender: &SyncSender<Exchange>, guard: &Arc<Guard>, open: &Arc<AtomicUsize>) {
    loop {
        let Ok((stream, from)) = listener.accept() else {
            // no descriptors left: others will close theirs
            thread::sleep(std::time::Duration::from_millis(50));
            continue;
        };
        if !is_from_here(from) {
            continue;
        }
        let Some(slot) = Slot::take(open) else {
            connection::turn_away(&stream);
            continue;
        };
        let (sender, guard) = (sender.clone(), guard.clone());
        let serve = move || {
            connection::serve(&stream, &guard, &|request| ask(&sender, request));
            drop(slot);
        };
        // without a thread for it, the connection is closed
        let _ = thread::Builder::new().stack_size(STACK).spawn(serve);
    }
}

fn is_from_here(from: SocketAddr) -> bool {
    from.ip().is_loopback()
}

/// Hands a request on, and waits for the answer.
fn ask(sender: &SyncSender<Exchange>, request: Request) -> Response {
    let (answer, answered) = mpsc::sync_channel(1);
    let sent = sender.send(Exchange { request, answer });
    sent.ok().and_then(|()| answered.recv().ok()).unwrap_or_else(|| Response::refusal(503, "the program is ending"))
}

/// One of the connections that may be open at once; given back when it is dropped.
struct Slot(Arc<AtomicUsize>);

impl Slot {
    fn take(open: &Arc<AtomicUsize>) -> Option<Self> {
        let more = |now: usize| (now < MOST_CONNECTIONS).then_some(now + 1);
        open.fetch_update(Ordering::SeqCst, Ordering::SeqCst, more).ok().map(|_| Self(open.clone()))
    }
}

impl Drop for Slot {
    fn drop(&mut self) {
        self.0.fetch_sub(1, Ordering::SeqCst);
    }
}

/// A connection with an end in time, whatever the other side does.
struct Timed<'s> {
    stream: &'s TcpStream,
    until: std::time::Instant,
}

impl Timed<'_> {
    fn left(&self) -> io::Result<std::time::Duration> {
        let left = self.until.saturating_duration_since(std::time::Instant::now());
        if left.is_zero() { Err(io::ErrorKind::TimedOut.into()) } else { Ok(left) }
    }
}

impl io::Read for Timed<'_> {
    fn read(&mut self, buffer: &mut [u8]) -> io::Result<usize> {
        self.stream.set_read_timeout(Some(self.left()?))?;
        let mut stream = self.stream;
        stream.read(buffer)
    }
}

impl io::Write for Timed<'_> {
    fn write(&mut self, buffer: &[u8]) -> io::Result<usize> {
        self.stream.set_write_timeout(Some(self.left()?))?;
        let mut stream = self.stream;
        stream.write(buffer)
    }

    fn flush(&mut self) -> io::Result<()> {
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::{Kind, Response, Server};
    use std::io::{Read, Write};
    use std::net::TcpStream;

    /// A fault of the program in one answer is told to who asked, and the page goes on.
    #[test]
    fn no_answer_ends_the_page() {
        let server = Server::listen(0).unwrap();
        let port = server.port;
        std::thread::spawn(move || {
            server.serve(|request| {
                assert_ne!(request.path, "/fault", "a fault of the program, on purpose");
                Response::of(Kind::Text, "here")
            })
        });
        let get = |path: &str| {
            let mut stream = TcpStream::connect(("127.0.0.1", port)).unwrap();
            write!(stream, "GET {path} HTTP/1.1\r\nHost: 127.0.0.1:{port}\r\n\r\n").unwrap();
            let mut answer = String::new();
            stream.read_to_string(&mut answer).unwrap();
            answer
        };
        for _ in 0..3 {
            let failed = get("/fault");
            assert!(failed.starts_with("HTTP/1.1 500") && failed.contains("the page goes on"), "{failed}");
            let answered = get("/");
            assert!(answered.starts_with("HTTP/1.1 200") && answered.ends_with("here"), "{answered}");
        }
    }
}
