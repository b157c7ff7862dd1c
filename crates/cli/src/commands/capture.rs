//! `asleft capture`: what a device really holds, read over Modbus.

mod plan;
mod watching;

use super::readout::{Read, finish, no_map, write_new};
use super::{assessor, refused, site_tree};
use crate::Exit;
use crate::args::{Capture, Parity, Unit};
use modbus_read::{Line, Link, Manners, ModbusDevice, Serial, Tcp};
use std::io::{self, Write};
use std::net::ToSocketAddrs;
use std::time::Duration;
use sunspec::image::{Keeping, ReadFrom};
use sunspec::{Options, Registers};
use watching::Watching;

/// The port that Modbus has.
const PORT: u16 = 502;

/// Reads a device, and says what it holds.
pub fn run(args: &Capture) -> io::Result<Exit> {
    if args.plan {
        return plan::write(args);
    }
    // a device is not troubled for what could not be kept
    if let Some(exit) = not_ready(args)? {
        return Ok(exit);
    }
    match (&args.tcp, &args.serial) {
        (Some(host), _) => match addresses(host) {
            Ok(addresses) => read(ModbusDevice::new(Tcp::new(addresses), first(args.unit), manners(args)), args),
            Err(error) => refused(&format!("{host}: {error}")),
        },
        (None, Some(port)) => match Serial::open(port, line(args)) {
            Ok(serial) => read(ModbusDevice::new(serial, first(args.unit), manners(args)), args),
            Err(error) => refused(&format!("{}: {error}", terminal::path(port))),
        },
        (None, None) => refused("name a device with `--tcp` or `--serial`"),
    }
}

/// What would keep an answer from being used: files that would be written over, a site that cannot be read.
fn not_ready(args: &Capture) -> io::Result<Option<Exit>> {
    let written = args.raw.iter().chain(args.readout.out.iter().filter(|path| path.as_os_str() != "-"));
    if let Some(path) = written.filter(|_| !args.readout.replace).find(|path| path.exists()) {
        return refused(&format!("{}: a file is there already; name another place, or give `--replace`", terminal::path(path))).map(Some);
    }
    let Some(site) = args.readout.judge.as_ref().or(args.readout.site.as_ref()) else { return Ok(None) };
    let mut assessor = assessor(&args.readout.under)?;
    Ok(site_tree(site, &mut assessor)?.is_none().then_some(Exit::CouldNotTell))
}

/// The addresses of a host, at the usual port where none is named.
fn addresses(host: &str) -> io::Result<Vec<std::net::SocketAddr>> {
    let named = host.to_socket_addrs().map(Iterator::collect);
    named.or_else(|_| (host.trim_matches(['[', ']']), PORT).to_socket_addrs().map(Iterator::collect))
}

/// The units that a device may have on a line.
const UNITS: std::ops::RangeInclusive<u8> = 1..=247;

/// The unit that is asked first.
fn first(unit: Unit) -> u8 {
    match unit {
        Unit::Is(unit) => unit,
        Unit::Any => *UNITS.start(),
    }
}

fn manners(args: &Capture) -> Manners {
    Manners {
        timeout: Duration::from_millis(args.timeout),
        retries: args.retries,
        pause: Duration::from_millis(args.pause),
        within: Duration::from_secs(args.within),
    }
}

fn line(args: &Capture) -> Line {
    let parity = match args.parity {
        Parity::None => modbus_read::Parity::None,
        Parity::Even => modbus_read::Parity::Even,
        Parity::Odd => modbus_read::Parity::Odd,
    };
    Line { speed: args.speed, parity, two_stop_bits: args.two_stop_bits }
}

fn options(args: &Capture) -> Options {
    let bases = args.base.map_or_else(|| Options::default().bases, |base| vec![base]);
    Options { bases, at_once: args.at_once, twice: !args.once, everything: args.everything }
}

/// The peer for people: `tcp 192.0.2.7`, `serial /dev/ttyUSB0`.
fn peer(args: &Capture) -> String {
    match (&args.tcp, &args.serial) {
        (Some(host), _) => format!("tcp {host}"),
        (None, Some(port)) => format!("serial {}", terminal::path(port)),
        (None, None) => String::new(),
    }
}

fn read<L: Link>(mut device: ModbusDevice<L>, args: &Capture) -> io::Result<Exit> {
    device.stop = modbus_read::stop_at_interrupt()?;
    if args.unit == Unit::Any {
        match device.find(UNITS, &options(args).bases, sunspec::walk::MARK) {
            Ok(unit) => writeln!(terminal::stderr(), "found: unit {unit}")?,
            Err(why) => return refused(&format!("{}: no unit from 1 to 247 has a map where one was looked for; {why}", peer(args))),
        }
    }
    let from = ReadFrom {
        peer: peer(args),
        unit: device.unit(),
        at: jiff::Timestamp::now().strftime("%Y-%m-%dT%H:%M:%SZ").to_string(),
        program: format!("asleft {}", env!("CARGO_PKG_VERSION")),
    };
    let mut keeping = Keeping { registers: &mut device as &mut dyn Registers, image: sunspec::Image::default() };
    let mut watching = Watching::new();
    let walked = sunspec::walk::walk(&mut keeping, &options(args), &mut |doing| watching.step(doing));
    drop(watching);
    let image = keeping.image;
    if let Some(path) = args.raw.as_ref().filter(|_| !image.is_empty()) {
        if let Some(says) = write_new(path, image.file(&from, "").as_bytes(), args.readout.replace)? {
            return refused(&says);
        }
        writeln!(terminal::stderr(), "registers kept: {} ({} of them)", terminal::path(path), image.len())?;
    }
    if device.again > 0 {
        writeln!(terminal::stderr(), "{} of {} requests had to be repeated", device.again, device.requests)?;
    }
    match walked {
        Ok(walk) => finish(&Read { walk, name: from.peer.clone(), from: Some(from) }, &args.readout),
        Err(why) => no_map(&why, &from.peer),
    }
}
