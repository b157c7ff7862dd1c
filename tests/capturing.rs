//! `asleft capture` against a device over a real socket and over a serial line. What answers here is written apart from the
//! program's own frames; `sunspec/run` does the same against pymodbus.

use serde_json::Value as Json;
use std::io::{Read, Write};
use std::net::{TcpListener, TcpStream};
use std::path::{Path, PathBuf};
use std::process::{Command, Output};
use std::sync::{Arc, Mutex};
use std::thread;

const SITE: &str = "tests/sunspec/sites/sedge-lane-2.yaml";

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../..").canonicalize().unwrap()
}

fn asleft(arguments: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_asleft")).current_dir(root()).env("COLUMNS", "100").args(arguments).output().unwrap()
}

/// A device that holds an image; what it was asked, and how it misbehaves.
#[derive(Clone)]
struct Held {
    base: usize,
    words: Vec<u16>,
    asked: Arc<Mutex<Vec<(u8, usize, usize)>>>,
    /// It says no more after so many requests.
    ends_after: usize,
    /// A register that is another after so many requests.
    changes: Option<(usize, usize)>,
}

impl Held {
    fn new(name: &str) -> Self {
        let text = std::fs::read_to_string(root().join(format!("tests/sunspec/images/{name}.json"))).unwrap();
        let run = &serde_json::from_str::<Json>(&text).unwrap()["runs"][0];
        let rows = run["registers"].as_array().unwrap().iter();
        let words =
            rows.flat_map(|row| row.as_str().unwrap().split(' ').map(|word| u16::from_str_radix(word, 16).unwrap()).collect::<Vec<_>>());
        let base = run["from"].as_u64().unwrap() as usize;
        Self { base, words: words.collect(), asked: Arc::default(), ends_after: usize::MAX, changes: None }
    }

    /// The body of an answer; `None` where there is none.
    fn answer(&mut self, unit: u8, request: &[u8]) -> Option<Vec<u8>> {
        let [function, at_high, at_low, count_high, count_low] = *request else { panic!("{request:?}") };
        let (at, count) = (usize::from(at_high) << 8 | usize::from(at_low), usize::from(count_high) << 8 | usize::from(count_low));
        let so_far = {
            let mut asked = self.asked.lock().unwrap();
            asked.push((function, at, count));
            asked.len()
        };
        if so_far > self.ends_after {
            return None;
        }
        if let Some((after, offset)) = self.changes
            && so_far == after
        {
            self.words[offset] += 1;
        }
        let words = at.checked_sub(self.base).and_then(|from| self.words.get(from..from + count));
        Some(match words {
            Some(words) => {
                [&[unit, 3, count as u8 * 2][..], &words.iter().flat_map(|word| word.to_be_bytes()).collect::<Vec<_>>()].concat()
            }
            None => vec![unit, 0x83, 2],
        })
    }

    fn serve(self) -> String {
        let listener = TcpListener::bind("127.0.0.1:0").unwrap();
        let address = listener.local_addr().unwrap().to_string();
        thread::spawn(move || {
            for connection in listener.incoming().flatten() {
                let mut held = self.clone();
                thread::spawn(move || held.talk(connection));
            }
        });
        address
    }

    fn talk(&mut self, mut connection: TcpStream) {
        let mut request = [0; 12];
        while connection.read_exact(&mut request).is_ok() {
            let Some(body) = self.answer(request[6], &request[7..]) else { return };
            let frame = [&request[..2], &[0, 0], &(body.len() as u16).to_be_bytes(), &body].concat();
            if connection.write_all(&frame).is_err() {
                return;
            }
        }
    }
}

fn capture(address: &str, more: &[&str]) -> (i32, Json, String) {
    let output = asleft(&[&["capture", "--tcp", address, "--pause", "0", "--timeout", "300", "--format", "json"], more].concat());
    let says = String::from_utf8_lossy(&output.stderr).into_owned();
    (output.status.code().unwrap(), serde_json::from_slice(&output.stdout).unwrap_or(Json::Null), says)
}

// a reading is of the day that it is made, so it is judged as of that day
const JUDGE: [&str; 2] = ["--judge", SITE];

#[test]
fn a_device_is_read_and_judged_over_a_socket() {
    let folder = tempfile::tempdir().unwrap();
    let raw = folder.path().join("registers.json");
    let held = Held::new("conforming");
    let asked = held.asked.clone();
    let address = held.serve();
    let (code, read, says) = capture(&address, &[&JUDGE[..], &["--unit", "7", "--raw", raw.to_str().unwrap()]].concat());
    assert_eq!((code, read["site"]["verdict"].as_str()), (0, Some("complies")), "{says}");
    assert_eq!((read["unit"].as_u64(), read["base"].as_u64()), (Some(7), Some(40_000)));
    let asked = asked.lock().unwrap();
    assert!(asked.iter().all(|(function, _, count)| *function == 3 && *count <= 50), "{asked:?}");
    // what was kept says the same, without the device
    let kept = asleft(&[&["decode", raw.to_str().unwrap(), "--format", "json"], &JUDGE[..]].concat());
    assert_eq!(kept.status.code(), Some(0));
    let mut kept: Json = serde_json::from_slice(&kept.stdout).unwrap();
    kept["site"]["file"] = read["site"]["file"].clone();
    assert_eq!(kept, read);
}

/// No request begins or ends inside a value of two registers.
#[test]
fn no_value_is_cut_between_two_requests() {
    let held = Held::new("many-registers");
    let (asked, base) = (held.asked.clone(), held.base);
    let address = held.serve();
    for most in ["4", "5", "7", "50", "123"] {
        let (code, _, says) = capture(&address, &["--at-once", most]);
        assert_eq!(code, 0, "{says}");
    }
    let points = std::fs::read_to_string(root().join("tests/sunspec/images/many-registers.points")).unwrap();
    let mut places: Vec<usize> = points.lines().map(|line| line.split(' ').nth(1).unwrap().parse().unwrap()).collect();
    places.sort_unstable();
    // text may be cut, and is longer than any number
    let inside: Vec<usize> = places.windows(2).filter(|pair| pair[1] - pair[0] <= 4).flat_map(|pair| pair[0] + 1..pair[1]).collect();
    assert!(inside.len() > 50);
    for (_, at, count) in asked.lock().unwrap().iter().filter(|(_, at, _)| *at >= base) {
        assert!(!inside.contains(at) && !inside.contains(&(at + count)), "{count} registers from {at}");
    }
}

/// An interrupted reading says what it has, and proves nothing.
#[test]
fn an_interrupted_reading_says_what_it_has() {
    let folder = tempfile::tempdir().unwrap();
    let raw = folder.path().join("registers.json");
    for after in [1, 2, 5, 12, 20, 40, 60] {
        let held = Held { ends_after: after, ..Held::new("conforming") };
        let (code, read, says) =
            capture(&held.serve(), &[&JUDGE[..], &["--raw", raw.to_str().unwrap(), "--replace", "--retries", "0"]].concat());
        assert!(!says.contains("panicked"), "{says}");
        assert!(matches!(code, 1 | 2), "{after}: {code}");
        if code == 1 {
            assert_eq!(read["leaves-open"], true, "{after}");
            assert_ne!(read["site"]["verdict"], "complies", "{after}");
            assert!(read["troubles"].as_array().unwrap().iter().any(|trouble| trouble["name"] == "chain-broken"), "{after}: {read}");
        } else {
            // not so much as a map came
            assert!(after < 2, "{after}: {says}");
        }
        if after > 0 {
            assert_ne!(asleft(&["decode", raw.to_str().unwrap()]).status.code(), Some(0), "{after}");
        }
    }
}

/// So does one that somebody breaks off at the keyboard.
#[cfg(unix)]
#[test]
fn a_reading_broken_off_at_the_keyboard_keeps_what_it_has() {
    let folder = tempfile::tempdir().unwrap();
    let raw = folder.path().join("registers.json");
    let held = Held::new("conforming");
    let asked = held.asked.clone();
    let reading = Command::new(env!("CARGO_BIN_EXE_asleft"))
        .args(["capture", "--tcp", &held.serve(), "--pause", "100", "--format", "json", "--raw", raw.to_str().unwrap()])
        .stdout(std::process::Stdio::piped())
        .stderr(std::process::Stdio::piped())
        .spawn()
        .unwrap();
    while asked.lock().unwrap().len() < 12 {
        thread::sleep(std::time::Duration::from_millis(20));
    }
    assert!(Command::new("kill").args(["-INT", &reading.id().to_string()]).status().unwrap().success());
    let output = reading.wait_with_output().unwrap();
    assert_eq!(output.status.code(), Some(1));
    let read: Json = serde_json::from_slice(&output.stdout).unwrap();
    assert!(read["troubles"].to_string().contains("interrupted at the keyboard"), "{read}");
    assert!(raw.exists() && read["models"].as_array().unwrap().len() > 1);
    assert!(asked.lock().unwrap().len() < 20);
}

/// What could not be kept or judged is told before a device is asked for anything.
#[test]
fn a_device_is_not_troubled_for_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let there = folder.path().join("there");
    std::fs::write(&there, "kept\n").unwrap();
    let there = there.to_str().unwrap();
    let held = Held::new("conforming");
    let asked = held.asked.clone();
    let address = held.serve();
    for more in [&["--raw", there][..], &["--out", there], &["--judge", there], &["--judge", "no/such/site.yaml"]] {
        let (code, _, says) = capture(&address, more);
        assert_eq!(code, 2, "{more:?}: {says}");
    }
    assert!(asked.lock().unwrap().is_empty());
    assert_eq!(std::fs::read_to_string(there).unwrap(), "kept\n");
}

#[test]
fn what_changes_while_it_is_read_is_not_used() {
    // the threshold of overvoltage, between the first reading of its model and the second
    let held = Held::new("conforming");
    let offset = 40_491 - held.base;
    let asked = held.asked.clone();
    let (code, ..) = capture(&held.serve(), &[]);
    assert_eq!(code, 0);
    let again = asked
        .lock()
        .unwrap()
        .iter()
        .enumerate()
        .filter(|(_, (_, at, count))| (*at..at + count).contains(&40_491))
        .map(|(n, _)| n)
        .nth(1)
        .unwrap();
    let held = Held { changes: Some((again, offset)), ..Held::new("conforming") };
    let (code, read, _) = capture(&held.serve(), &[]);
    assert_eq!(code, 1);
    let troubles = read["troubles"].as_array().unwrap();
    assert!(troubles.iter().any(|trouble| trouble["name"] == "changed-while-read" && trouble["model"] == 708), "{troubles:?}");
    assert!(!read["settings"].to_string().contains("overvoltage-1/threshold"));
}

/// A strange device can be kept whole; otherwise only what is decoded is asked for.
#[test]
fn other_models_are_kept_where_that_is_asked() {
    let folder = tempfile::tempdir().unwrap();
    let raw = folder.path().join("registers.json");
    let held = Held::new("unknown-models");
    let own = held.words.windows(2).position(|pair| pair == [64_007, 3]).unwrap();
    let (address, place) = (held.clone().serve(), held.base + own + 2);
    for (more, is_kept) in [(&[][..], false), (&["--everything"], true)] {
        let (code, _, says) = capture(&address, &[&["--raw", raw.to_str().unwrap(), "--replace", "--base", "40000"], more].concat());
        assert_eq!(code, 0, "{says}");
        let kept: Json = serde_json::from_str(&std::fs::read_to_string(&raw).unwrap()).unwrap();
        let holds = |run: &Json| {
            let words: usize = run["registers"].as_array().unwrap().iter().map(|row| row.as_str().unwrap().split(' ').count()).sum();
            (run["from"].as_u64().unwrap() as usize..).take(words).any(|at| at == place)
        };
        assert_eq!(kept["runs"].as_array().unwrap().iter().any(holds), is_kept, "{more:?}");
    }
}

#[test]
fn nothing_at_the_other_end_is_told() {
    let free = TcpListener::bind("127.0.0.1:0").unwrap().local_addr().unwrap().to_string();
    let (code, _, says) = capture(&free, &["--retries", "0"]);
    assert!(code == 2 && says.contains("no connection"), "{says}");
    let (code, _, says) = capture(&Held::new("no-map").serve(), &[]);
    assert!(code == 2 && says.contains("no map of SunSpec models") && says.contains("0 holds 0000 0101"), "{says}");
    let (code, _, says) = capture("no.such.host.invalid", &[]);
    assert!(code == 2 && says.contains("no.such.host.invalid"), "{says}");
}

#[test]
fn the_first_unit_with_a_map_is_read_where_any_will_do() {
    let (code, read, says) = capture(&Held::new("conforming").serve(), &[&JUDGE[..], &["--unit", "any"]].concat());
    assert_eq!((code, read["unit"].as_u64(), read["site"]["verdict"].as_str()), (0, Some(1), Some("complies")), "{says}");
    assert!(says.contains("found: unit 1"), "{says}");
    let (code, _, says) = capture(&Held::new("no-map").serve(), &["--unit", "any"]);
    assert!(code == 2 && says.contains("no unit from 1 to 247 has a map"), "{says}");
    let (code, _, says) = capture("127.0.0.1:9", &["--unit", "many"]);
    assert!(code == 2 && says.contains("write a number from 0 to 255, or `any`"), "{says}");
}

#[test]
fn a_plan_connects_to_nothing() {
    let listener = TcpListener::bind("127.0.0.1:0").unwrap();
    listener.set_nonblocking(true).unwrap();
    let address = listener.local_addr().unwrap().to_string();
    let output = asleft(&["capture", "--tcp", &address, "--plan"]);
    let says = String::from_utf8_lossy(&output.stdout).into_owned();
    assert!(output.status.success() && says.contains("function 3") && says.contains("40000, then 0, then 50000"), "{says}");
    assert!(listener.accept().is_err(), "somebody connected");
}

/// The whole program over a pseudo-terminal, with sums worked out here.
#[cfg(unix)]
#[test]
fn a_device_is_read_over_a_serial_line() {
    use std::os::fd::AsRawFd;
    let sum = |bytes: &[u8]| {
        let mut sum = 0xffff_u16;
        for byte in bytes {
            sum ^= u16::from(*byte);
            for _ in 0..8 {
                sum = if sum & 1 == 1 { sum >> 1 ^ 0xa001 } else { sum >> 1 };
            }
        }
        sum.to_le_bytes()
    };
    let (ours, theirs) = serial2::SerialPort::pair().unwrap();
    let name = |port: &serial2::SerialPort| std::fs::read_link(format!("/proc/self/fd/{}", port.as_raw_fd())).unwrap();
    // one of the two is the terminal that has a name of its own
    let (mut device, terminal) = if name(&ours).starts_with("/dev/pts/") {
        (theirs, name(&ours))
    } else {
        let at = name(&theirs);
        (ours, at)
    };
    device.set_read_timeout(std::time::Duration::from_secs(20)).unwrap();
    let mut held = Held::new("conforming");
    thread::spawn(move || {
        let mut request = [0; 8];
        while device.read_exact(&mut request).is_ok() {
            assert_eq!(sum(&request[..6]), request[6..]);
            let body = held.answer(request[0], &request[1..6]).unwrap();
            if device.write_all(&[&body[..], &sum(&body)].concat()).is_err() {
                return;
            }
        }
    });
    let terminal = terminal.to_str().unwrap();
    let output = asleft(
        &[&["capture", "--serial", terminal, "--speed", "115200", "--unit", "17", "--pause", "0", "--format", "json"], &JUDGE[..]].concat(),
    );
    let says = String::from_utf8_lossy(&output.stderr).into_owned();
    assert_eq!(output.status.code(), Some(0), "{says}");
    let read: Json = serde_json::from_slice(&output.stdout).unwrap();
    assert_eq!((read["unit"].as_u64(), read["settings"].as_array().unwrap().len()), (Some(17), 61));
}
