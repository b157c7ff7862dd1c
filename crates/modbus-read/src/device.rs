//! One unit behind a link, read with manners: small steps, pauses, retries, and an end for everything.

use crate::frame::{Answer, Request};
use crate::{Link, ReadError};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::{Duration, Instant};
use sunspec::{Failure, Registers};

/// How patiently a device is asked.
#[derive(Clone, Copy, Debug)]
pub struct Manners {
    /// How long an answer may take.
    pub timeout: Duration,
    /// How often a request is tried again.
    pub retries: u8,
    /// How long to leave the device in peace between two requests; after a fault it is longer.
    pub pause: Duration,
    /// How long all of it may take.
    pub within: Duration,
}

/// A unit behind a link.
pub struct ModbusDevice<L> {
    link: L,
    unit: u8,
    manners: Manners,
    transaction: u16,
    began: Option<Instant>,
    last: Option<Instant>,
    /// Raised by somebody who wants no more requests to go out.
    pub stop: Arc<AtomicBool>,
    /// How many requests went out.
    pub requests: usize,
    /// How many of them were tried again.
    pub again: usize,
}

/// The device works on it, or is busy: worth another try.
const PATIENCE: [u8; 2] = [5, 6];
/// How long a unit that may not be there is waited for.
const SHORT: Duration = Duration::from_millis(300);
/// Pauses do not get longer than this.
const LONGEST: Duration = Duration::from_secs(5);

impl<L: Link> ModbusDevice<L> {
    /// A unit behind a link.
    pub fn new(link: L, unit: u8, manners: Manners) -> Self {
        Self { link, unit, manners, transaction: 0, began: None, last: None, stop: Arc::default(), requests: 0, again: 0 }
    }

    /// The unit that is asked.
    pub fn unit(&self) -> u8 {
        self.unit
    }

    /// The first unit of these behind the link that has one of these registers at one of the addresses. Each is asked
    /// once, and not for long: most of them are not there.
    ///
    /// # Errors
    /// Why there is none: what came last, or that it was ended.
    pub fn find(&mut self, units: impl IntoIterator<Item = u8>, at: &[u16], begins: [u16; 2]) -> Result<u8, Failure> {
        let patient = self.manners;
        self.manners = Manners { retries: 0, timeout: patient.timeout.min(SHORT), ..patient };
        let (mine, mut came) = (self.unit, Failure::Lost("no unit was asked".to_owned()));
        let mut units = units.into_iter().flat_map(|unit| at.iter().map(move |at| (unit, *at)));
        let found = loop {
            let Some((unit, at)) = units.next() else { break Err(came) };
            self.unit = unit;
            match self.read(at, 2) {
                Ok(words) if words == begins => break Ok(unit),
                Ok(_) => {}
                Err(_) if self.is_over() => break Err(Failure::Lost("ended before every unit was asked".to_owned())),
                Err(why) => came = why,
            }
        };
        (self.manners, self.unit) = (patient, *found.as_ref().unwrap_or(&mine));
        found
    }

    /// Whether no more requests may go out.
    fn is_over(&mut self) -> bool {
        self.stop.load(Ordering::Relaxed) || Instant::now() >= self.end()
    }

    fn once(&mut self, at: u16, count: u16, pause: Duration) -> Result<Answer, ReadError> {
        let now = Instant::now();
        if let Some(wait) = self.last.and_then(|last| (last + pause).checked_duration_since(now)) {
            std::thread::sleep(wait);
        }
        self.transaction = self.transaction.wrapping_add(1);
        let request = Request { unit: self.unit, transaction: self.transaction, at, count };
        self.requests += 1;
        let until = (Instant::now() + self.manners.timeout).min(self.end());
        let frame = self.link.exchange(&request, until);
        self.last = Some(Instant::now());
        request.answer(&frame?, self.link.protocol())
    }

    fn end(&mut self) -> Instant {
        *self.began.get_or_insert_with(Instant::now) + self.manners.within
    }
}

impl<L: Link> Registers for ModbusDevice<L> {
    fn read(&mut self, at: u16, count: u16) -> Result<Vec<u16>, Failure> {
        let mut pause = self.manners.pause;
        let mut tried = 0;
        loop {
            if Instant::now() >= self.end() {
                return Err(Failure::Lost(format!("reading took longer than {} s", self.manners.within.as_secs())));
            }
            if self.stop.load(Ordering::Relaxed) {
                return Err(Failure::Lost("interrupted at the keyboard".to_owned()));
            }
            let came = self.once(at, count, pause);
            let is_worth_it = match &came {
                Ok(Answer::Registers(_)) => false,
                Ok(Answer::Refused(code)) => PATIENCE.contains(code),
                Err(_) => true,
            };
            if is_worth_it && tried < self.manners.retries {
                tried += 1;
                self.again += 1;
                pause = (pause.max(Duration::from_millis(100)) * 2).min(LONGEST);
                continue;
            }
            return match came {
                Ok(Answer::Registers(registers)) => Ok(registers),
                Ok(Answer::Refused(code)) => Err(Failure::Refused(code)),
                Err(fault) => Err(Failure::Lost(format!("{fault} (register {at}, {} attempts)", tried + 1))),
            };
        }
    }
}
