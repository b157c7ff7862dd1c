//! Modbus RTU over a pseudo-terminal pair: the same device, answered by frames whose sums are worked out here, apart from
//! the library.
#![cfg(unix)]

use modbus_read::{Line, Manners, ModbusDevice, Parity, Serial};
use serial2::SerialPort;
use std::thread;
use std::time::{Duration, Instant};
use sunspec::{Failure, Registers};

const LINE: Line = Line { speed: 19_200, parity: Parity::None, two_stop_bits: false };
const PATIENCE: Manners =
    Manners { timeout: Duration::from_millis(300), retries: 1, pause: Duration::from_millis(1), within: Duration::from_secs(5) };

/// The sum of Modbus over serial line 1.02, section 6.2.2, bit by bit.
fn sum(bytes: &[u8]) -> [u8; 2] {
    let mut sum = 0xffff_u16;
    for byte in bytes {
        sum ^= u16::from(*byte);
        for _ in 0..8 {
            sum = if sum & 1 == 1 { sum >> 1 ^ 0xa001 } else { sum >> 1 };
        }
    }
    sum.to_le_bytes()
}

fn framed(body: &[u8]) -> Vec<u8> {
    [body, &sum(body)].concat()
}

fn rightly(request: &[u8]) -> Vec<u8> {
    let at = u16::from_be_bytes([request[2], request[3]]);
    let count = u16::from_be_bytes([request[4], request[5]]);
    let words: Vec<u8> = (at..at + count).flat_map(u16::to_be_bytes).collect();
    framed(&[&[request[0], 3, words.len() as u8][..], &words].concat())
}

fn answering(mut answer: impl FnMut(usize, &[u8]) -> Vec<u8> + Send + 'static) -> ModbusDevice<Serial> {
    let (ours, mut theirs) = SerialPort::pair().unwrap();
    theirs.set_read_timeout(Duration::from_secs(10)).unwrap();
    thread::spawn(move || {
        let mut request = [0; 8];
        for n in 0.. {
            if theirs.read_exact(&mut request).is_err() {
                return;
            }
            assert_eq!(request[1], 3, "only function 3 is ever sent");
            assert_eq!(framed(&request[..6]), request, "the sum of the request");
            // a frame may come in parts
            for part in answer(n, &request).chunks(7) {
                if theirs.write_all(part).is_err() {
                    return;
                }
            }
        }
    });
    ModbusDevice::new(Serial::over(ours, LINE), 17, PATIENCE)
}

#[test]
fn registers_come_over_a_line() {
    let mut device = answering(|_, request| rightly(request));
    assert_eq!(device.read(40_000, 2), Ok(vec![40_000, 40_001]));
    assert_eq!(device.read(100, 123).unwrap(), (100..223).collect::<Vec<u16>>());
    assert_eq!((device.requests, device.again), (2, 0));
}

#[test]
fn refusals_come_over_a_line() {
    let mut device = answering(|_, request| framed(&[request[0], 0x83, 2]));
    assert_eq!(device.read(40_000, 2), Err(Failure::Refused(2)));
}

#[test]
fn noise_is_tried_again() {
    let mut device = answering(|n, request| {
        let mut frame = rightly(request);
        if n == 0 {
            frame[4] ^= 0x10;
        }
        frame
    });
    assert_eq!(device.read(40_000, 2), Ok(vec![40_000, 40_001]));
    assert_eq!(device.again, 1);
}

#[test]
fn each_fault_of_a_line_has_its_own_message() {
    type Answer = fn(&[u8]) -> Vec<u8>;
    let answers: [(Answer, &str); 5] = [
        (|_| Vec::new(), "no answer in time"),
        (|request| rightly(request)[..5].to_vec(), "not whole in time"),
        (|request| rightly(request).iter().map(|byte| byte ^ u8::from(*byte > 50)).collect(), "unusable"),
        (|request| framed(&[4, 3, 4, 0, 1, 0, request[0]]), "unit 4 answered where unit 17 was asked"),
        (|_| vec![17, 3, 250, 0, 0, 0, 0], "250 bytes of registers came where 4 were asked for"),
    ];
    for (answer, expected) in answers {
        let mut device = answering(move |_, request| answer(request));
        let began = Instant::now();
        let Err(Failure::Lost(says)) = device.read(40_000, 2) else { panic!("{expected}") };
        assert!(began.elapsed() < Duration::from_secs(4));
        let expected = if expected == "unusable" { "check sum" } else { expected };
        assert!(says.contains(expected), "{says}, not {expected}");
    }
}
