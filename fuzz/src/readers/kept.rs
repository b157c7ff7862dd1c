//! What an office keeps: records, and the register of them.

use cli::fuzzing;
use record::register::{Filter, Header, Register};
use record::{Envelope, Record, canonical, making};
use std::path::PathBuf;

/// A record: the bytes as they are, and what they say with a hash of its own, as a forger would make it.
pub fn record(data: &[u8]) {
    if let Ok(envelope) = Envelope::read(data) {
        assert_eq!(envelope.bytes(), data, "one form");
    }
    let Ok(json) = serde_json::from_slice::<serde_json::Value>(data) else { return };
    let Ok(record) = serde_json::from_value::<Record>(json.get("record").unwrap_or(&json).clone()) else { return };
    let forged = Envelope::around(&record);
    assert!(Envelope::read(&forged.bytes()).is_ok_and(|read| read.hash() == forged.hash()));
    drop(Header::of(&record, Vec::new(), String::new()));
    if let Ok(again) = making::again(&record, fuzzing::assessor().library) {
        drop(canonical::bytes(&again));
    }
}

/// A register's file, and whatever a reader asks of it.
pub fn register(data: &[u8]) {
    let path = PathBuf::from(format!("{}/asleft-fuzz-{}.db", folder(), std::process::id()));
    for end in ["-wal", "-shm"] {
        let _ = std::fs::remove_file(format!("{}{end}", path.display()));
    }
    std::fs::write(&path, data).expect("a temporary file");
    if let Ok(register) = Register::open(&path) {
        let mut numbers = Vec::new();
        let walked = register.each(&Filter { all: true, ..Filter::default() }, &mut |entry, _| {
            numbers.push(entry.number);
            Ok(())
        });
        let is_read = walked.is_ok() && numbers.iter().all(|number| register.file(*number).is_ok());
        let verified = register.verify(None, &mut |_| {});
        assert!(verified.is_err() || is_read, "what is verified can be read");
    }
    let _ = std::fs::remove_file(&path);
}

/// In memory where there is such a place.
fn folder() -> &'static str {
    if std::path::Path::new("/dev/shm").is_dir() { "/dev/shm" } else { "/tmp" }
}
