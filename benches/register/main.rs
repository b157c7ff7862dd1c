//! A register of 100,000 records: finding a site, and verifying all of it against only hashing the same
//! bytes. `cargo bench -p record --bench register -- 100000`; nothing is asserted.

mod made;

use record::canonical::{hex, sha256};
use record::register::{Filter, Header, NewEntry, Register};
use record::{Envelope, canonical};
use sha2::{Digest, Sha256};
use std::hint::black_box;
use std::time::{Duration, Instant};

/// Records in one transaction.
const BATCH: usize = 500;
/// Rounds of each measurement, of which the median is told.
const ROUNDS: usize = 5;

fn main() {
    let records: usize = std::env::args().filter_map(|argument| argument.parse().ok()).next().unwrap_or(100_000);
    let folder = tempfile::tempdir().expect("a temporary folder");
    let path = folder.path().join("register.db");
    let (mut register, _) = Register::open_or_make(&path).expect("a new register");

    let started = Instant::now();
    let mut bytes = 0;
    for from in (0..records).step_by(BATCH) {
        bytes += add(&mut register, from..(from + BATCH).min(records));
    }
    let filled = started.elapsed();
    let single = (records..records + 200)
        .map(|n| {
            timed(&mut || {
                black_box(add(&mut register, n..n + 1));
            })
        })
        .collect();
    println!("{} records, {} MB of them", register.len().expect("a count"), bytes / 1_000_000);
    println!("  made and added, {BATCH} a transaction {:>9.1} s", filled.as_secs_f64());
    println!("  made and added, one a transaction  {:>9.3} ms a record", ms(median(single)));
    let settling = Instant::now();
    register.settle().expect("a register at rest");
    println!("  the file's own sum, once a command {:>9.1} ms", ms(settling.elapsed()));

    let rounds = |work: &mut dyn FnMut()| median((0..ROUNDS).map(|_| timed(work)).collect());
    // what every verb pays that reads a register
    let checking = rounds(&mut || {
        black_box(Register::open(&path).expect("the same register").len().expect("a sound register"));
    });
    println!("  links worked out before reading    {:>9.1} ms", ms(checking));
    let register = Register::open(&path).expect("the same register");
    register.len().expect("a sound register");
    let mut n = 0;
    let searches = (0..1_000)
        .map(|_| {
            n = (n + 7_919) % records;
            let filter = Filter { sites: vec![format!("made-{n:06}")], ..Filter::default() };
            timed(&mut || {
                let mut found = 0;
                register
                    .each(&filter, &mut |_, _| {
                        found += 1;
                        Ok(())
                    })
                    .expect("a search");
                assert_eq!(found, 1);
            })
        })
        .collect::<Vec<_>>();
    let slowest = searches.iter().max().copied().unwrap_or_default();
    println!("  newest state of a site             {:>9.3} ms, slowest of 1,000 {:.3} ms", ms(median(searches)), ms(slowest));

    let verifying = rounds(&mut || {
        register.verify(None, &mut |_| {}).expect("a sound register");
    });
    let all: Vec<Vec<u8>> = (1..=records as u64 + 200).map(|n| register.file(n).expect("a file").expect("an entry")).collect();
    let hashing = rounds(&mut || {
        for file in &all {
            black_box(Sha256::digest(file));
        }
    });
    drop(all);
    let of_file = rounds(&mut || drop(black_box(hashed(&path))));
    println!("  verified                           {:>9.1} ms", ms(verifying));
    println!("  only hashing the records           {:>9.1} ms", ms(hashing));
    println!("  only reading and hashing the file  {:>9.1} ms", ms(of_file));
    println!("  ratio, links to verifying          {:>9.3}", checking.as_secs_f64() / verifying.as_secs_f64());
    println!("  ratio, verifying to both hashings  {:>9.2}", verifying.as_secs_f64() / (hashing + of_file).as_secs_f64());
}

fn add(register: &mut Register, numbers: std::ops::Range<usize>) -> usize {
    let envelopes: Vec<(Envelope, record::Record)> = numbers.map(made::record).map(|record| (Envelope::around(&record), record)).collect();
    let entries: Vec<NewEntry<'_>> = envelopes.iter().map(|(envelope, record)| entry(envelope, record)).collect();
    register.add(&entries).expect("added");
    envelopes.iter().map(|(envelope, _)| canonical::bytes(envelope).len()).sum()
}

fn entry<'e>(envelope: &'e Envelope, record: &record::Record) -> NewEntry<'e> {
    NewEntry {
        envelope,
        header: Header::of(record, vec![hex(&sha256(made::PROFILE.as_bytes()))], "2026-11-25T09:00:00Z".to_owned()),
        site_line: format!("{{\"site\":\"{}\"}}", record.site.name),
        profiles: vec![made::PROFILE.to_owned()],
    }
}

/// SHA-256 of a file, read a block at a time.
fn hashed(path: &std::path::Path) -> Vec<u8> {
    let (mut file, mut hash, mut block) = (std::fs::File::open(path).expect("the file"), Sha256::new(), vec![0; 1 << 16]);
    loop {
        match std::io::Read::read(&mut file, &mut block).expect("a block") {
            0 => return hash.finalize().to_vec(),
            read => hash.update(&block[..read]),
        }
    }
}

fn timed(work: &mut dyn FnMut()) -> Duration {
    let started = Instant::now();
    work();
    started.elapsed()
}

fn median(mut times: Vec<Duration>) -> Duration {
    times.sort();
    times[times.len() / 2]
}

fn ms(time: Duration) -> f64 {
    time.as_secs_f64() * 1_000.0
}
