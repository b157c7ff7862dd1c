//! Devices that behave, and peers that do not, over real sockets on loopback: every wait ends, every answer is held
//! against its request, and each fault has its own message.

use modbus_read::{Manners, ModbusDevice, Tcp};
use std::io::{Read, Write};
use std::net::{TcpListener, TcpStream};
use std::thread;
use std::time::{Duration, Instant};
use sunspec::{Failure, Registers};

const PATIENCE: Manners =
    Manners { timeout: Duration::from_millis(200), retries: 1, pause: Duration::ZERO, within: Duration::from_secs(3) };

/// A peer that deals with each connection in its own way; what it was sent comes back at the end.
fn peer(mut serve: impl FnMut(usize, TcpStream) + Send + 'static) -> ModbusDevice<Tcp> {
    let listener = TcpListener::bind("127.0.0.1:0").unwrap();
    let address = listener.local_addr().unwrap();
    thread::spawn(move || {
        for (n, connection) in listener.incoming().enumerate() {
            let Ok(connection) = connection else { return };
            serve(n, connection);
        }
    });
    ModbusDevice::new(Tcp::new(vec![address]), 7, PATIENCE)
}

/// A peer that answers each request with what `answer` makes of it.
fn answering(mut answer: impl FnMut(usize, &[u8; 12]) -> Vec<u8> + Send + 'static) -> ModbusDevice<Tcp> {
    let mut requests = 0;
    peer(move |_, mut connection| {
        let mut request = [0; 12];
        while connection.read_exact(&mut request).is_ok() {
            let bytes = answer(requests, &request);
            requests += 1;
            if connection.write_all(&bytes).is_err() {
                return;
            }
        }
    })
}

/// The answer of a device whose register n holds n.
fn rightly(request: &[u8; 12]) -> Vec<u8> {
    assert_eq!(request[7], 3, "only function 3 is ever sent");
    let at = u16::from_be_bytes([request[8], request[9]]);
    let count = u16::from_be_bytes([request[10], request[11]]);
    let words: Vec<u8> = (at..at + count).flat_map(u16::to_be_bytes).collect();
    framed(request, &[&[request[6], 3, words.len() as u8][..], &words].concat())
}

fn framed(request: &[u8; 12], body: &[u8]) -> Vec<u8> {
    [&request[..2], &[0, 0], &(body.len() as u16).to_be_bytes(), body].concat()
}

fn lost(device: &mut ModbusDevice<Tcp>) -> String {
    let began = Instant::now();
    let came = device.read(40_000, 2);
    assert!(began.elapsed() < Duration::from_secs(4), "it took {:?}", began.elapsed());
    match came {
        Err(Failure::Lost(says)) => says,
        other => panic!("{other:?}"),
    }
}

#[test]
fn registers_come_as_they_were_asked_for() {
    let mut device = answering(|_, request| rightly(request));
    assert_eq!(device.read(40_000, 2), Ok(vec![40_000, 40_001]));
    assert_eq!(device.read(5, 123).unwrap().len(), 123);
    assert_eq!((device.requests, device.again), (2, 0));
}

#[test]
fn a_refusal_is_told_with_its_reason_and_not_tried_again() {
    let mut device = answering(|_, request| framed(request, &[7, 0x83, 2]));
    assert_eq!(device.read(40_000, 2), Err(Failure::Refused(2)));
    assert_eq!(device.requests, 1);
    assert!(Failure::Refused(2).to_string().contains("no such registers"));
}

#[test]
fn a_busy_device_is_asked_again() {
    let mut device = answering(|n, request| if n == 0 { framed(request, &[7, 0x83, 6]) } else { rightly(request) });
    assert_eq!(device.read(40_000, 1), Ok(vec![40_000]));
    assert_eq!((device.requests, device.again), (2, 1));
    let mut always = answering(|_, request| framed(request, &[7, 0x83, 6]));
    assert_eq!(always.read(40_000, 1), Err(Failure::Refused(6)));
}

#[test]
fn an_answer_to_an_earlier_request_is_passed_over() {
    let mut device = answering(|_, request| {
        let mut late = rightly(request);
        late[1] = late[1].wrapping_sub(1);
        [late, rightly(request)].concat()
    });
    assert_eq!(device.read(40_000, 2), Ok(vec![40_000, 40_001]));
}

#[test]
fn each_bad_peer_has_its_own_message() {
    let other_unit = |request: &[u8; 12]| {
        let mut frame = rightly(request);
        frame[6] = 9;
        frame
    };
    let other_transaction = |request: &[u8; 12]| {
        let mut frame = rightly(request);
        frame[0] = 0x55;
        frame.repeat(8)
    };
    type Answer = fn(&[u8; 12]) -> Vec<u8>;
    let answers: [(Answer, &str); 9] = [
        (other_unit, "unit 9 answered where unit 7 was asked"),
        (other_transaction, "an answer to transaction 21"),
        (|_| Vec::new(), "no answer in time"),
        (|request| rightly(request)[..8].to_vec(), "not whole in time, 8 bytes came"),
        (|request| framed(request, &[7, 3, 2, 0, 1]), "2 bytes of registers came where 4 were asked for"),
        (|request| framed(request, &[7, 3, 40, 0, 1, 0, 2]), "4 bytes of registers came where 4 were asked for"),
        (|request| framed(request, &[7, 4, 4, 0, 1, 0, 2]), "it answers another function"),
        (|_| b"HTTP/1.1 400 Bad Request\r\n\r\n".to_vec(), "it is of another protocol"),
        (|request| [&request[..2], &[0, 0, 0xff, 0xff], &[7; 64]].concat(), "its length cannot be"),
    ];
    for (answer, expected) in answers {
        let says = lost(&mut answering(move |_, request| answer(request)));
        assert!(says.contains(expected), "{says}, not {expected}");
        assert!(says.contains("register 40000, 2 attempts"), "{says}");
    }
}

#[test]
fn a_peer_that_closes_or_is_not_there_is_told() {
    let says = lost(&mut peer(|_, connection| drop(connection)));
    assert!(says.contains("closed the connection") || says.contains("reset"), "{says}");
    let free = TcpListener::bind("127.0.0.1:0").unwrap().local_addr().unwrap();
    let says = lost(&mut ModbusDevice::new(Tcp::new(vec![free]), 1, PATIENCE));
    assert!(says.starts_with("no connection: "), "{says}");
}

/// A connection that was lost is made anew.
#[test]
fn a_lost_connection_is_made_anew() {
    let mut device = peer(|n, mut connection| {
        let mut request = [0; 12];
        if n > 0 && connection.read_exact(&mut request).is_ok() {
            let _ = connection.write_all(&rightly(&request));
        }
    });
    assert_eq!(device.read(9, 2), Ok(vec![9, 10]));
    assert_eq!(device.again, 1);
}

/// One byte after another keeps nobody waiting: the end holds for the whole frame.
#[test]
fn an_endless_drip_ends() {
    let drip = |head: Vec<u8>| {
        peer(move |_, mut connection| {
            let mut request = [0; 12];
            let _ = connection.read_exact(&mut request);
            let mut bytes = [&request[..2], &head[..]].concat().into_iter().chain(std::iter::repeat(0));
            while connection.write_all(&[bytes.next().unwrap()]).is_ok() {
                thread::sleep(Duration::from_millis(30));
            }
        })
    };
    assert!(lost(&mut drip(vec![0, 0, 0, 250, 7, 3, 247])).contains("not whole in time"));
}

/// However long each answer takes, all of them together have an end.
#[test]
fn a_slow_device_ends_too() {
    let mut device = answering(|_, request| {
        thread::sleep(Duration::from_millis(150));
        rightly(request)
    });
    let began = Instant::now();
    let failure = (0..1000).find_map(|n| device.read(n, 1).err()).unwrap();
    assert!(began.elapsed() < Duration::from_secs(4), "{:?}", began.elapsed());
    let Failure::Lost(says) = failure else { panic!("{failure:?}") };
    assert!(says.contains("longer than 3 s") || says.contains("no answer in time"), "{says}");
}

/// Random bytes from the other end, some of them after a sound head.
#[test]
fn random_bytes_never_end_in_more_than_a_message() {
    let mut state = 0x9e37_79b9_7f4a_7c15_u64;
    for _ in 0..40 {
        state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        let seed = state;
        let mut device = answering(move |n, request| {
            let mut noise = seed ^ n as u64;
            let bytes = (0..(seed >> 40) as usize % 600).map(|_| {
                noise = noise.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1);
                (noise >> 33) as u8
            });
            if seed & 1 == 0 { [&request[..2], &[0, 0, 0, 60], &bytes.collect::<Vec<_>>()[..]].concat() } else { bytes.collect() }
        });
        assert!(device.read(40_000, 20).is_err());
    }
}

/// Behind a gateway most units are not there: each is asked once, and the first with the right registers is it.
#[test]
fn a_unit_is_found_among_those_that_are_not_there() {
    let mut device = answering(|_, request| match request[6] {
        // another device, without a map
        5 => framed(request, &[5, 3, 4, 0, 0, 0, 0]),
        12 => rightly(request),
        unit => framed(request, &[unit, 0x83, 11]),
    });
    let begins = [40_000, 40_001];
    assert_eq!(device.find(1..=247, &[0, 40_000], begins), Ok(12));
    assert_eq!((device.unit(), device.requests, device.again), (12, 24, 0));
    assert_eq!(device.read(50_000, 1), Ok(vec![50_000]), "and it is the one that is read");
    let none = device.find(1..=4, &[40_000], begins);
    assert_eq!((none, device.unit()), (Err(Failure::Refused(11)), 12), "where none is found, nothing has changed");
}

/// A search ends with the time for all of it, though nobody ever answers.
#[test]
fn a_search_ends() {
    let mut device = peer(|_, connection| std::mem::forget(connection));
    let began = Instant::now();
    assert!(matches!(device.find(1..=247, &[0, 40_000], [0, 1]), Err(Failure::Lost(says)) if says.contains("before every unit")));
    assert!(began.elapsed() < Duration::from_secs(5), "it took {:?}", began.elapsed());
}
