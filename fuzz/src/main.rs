//! Fuzzing of every reader. `ASLEFT_READER` names the one that a run is of; `fuzz/run` runs them all.
//!
//! Beside "no panic, no overflow": no case may allocate more than [`MOST`] or take longer than the runner's
//! time-out, and what is refused says so in words, at a place inside the text.
#![no_main]

mod readers;

use cap::Cap;
use std::alloc::System;
use std::sync::OnceLock;

/// Bytes that one case may hold at once, beyond what was there before it.
const MOST: usize = 160 << 20;

#[global_allocator]
static MEMORY: Cap<System> = Cap::new(System, usize::MAX);

static READER: OnceLock<readers::Reader> = OnceLock::new();

libfuzzer_sys::fuzz_target!(
    // what is kept from case to case is made before one is timed or measured
    init: READER.get_or_init(readers::asked)(b""),
    |data: &[u8]| {
        let Some(read) = READER.get() else { return };
        MEMORY.set_limit(MEMORY.allocated() + MOST).expect("above what is allocated");
        read(data);
        MEMORY.set_limit(usize::MAX).expect("above what is allocated");
    }
);
