//! Whether the write-ahead log of a writer that was stopped is whole. SQLite reads a log up to the first
//! frame whose checksum does not fit, and passes over the rest without a word, because a writer that is
//! stopped leaves such an end. A commit that stands behind such a frame is no such end: it was on the
//! disk, and the frame before it with it.
//!
//! The format is that of <https://www.sqlite.org/fileformat2.html#walformat>.

use super::log_of;
use std::path::Path;
use std::time::Duration;
use std::{fs, io, thread};

const HEADER: usize = 32;
const FRAME_HEADER: usize = 24;

/// Whether a commit stands behind something that was altered. A log that is written to meanwhile is
/// looked at again.
pub(super) fn is_damaged(path: &Path) -> io::Result<bool> {
    for _ in 0..3 {
        match fs::read(log_of(path)) {
            Ok(log) if looks_damaged(&log) => thread::sleep(Duration::from_millis(50)),
            Err(error) if error.kind() != io::ErrorKind::NotFound => return Err(error),
            _ => return Ok(false),
        }
    }
    Ok(true)
}

fn looks_damaged(log: &[u8]) -> bool {
    // a writer that was stopped at its very beginning leaves less than a header, or no frame
    if log.len() < HEADER + FRAME_HEADER {
        return false;
    }
    let (header, frames) = log.split_at(HEADER);
    let Some(mut sum) = Sum::of_header(header) else { return true };
    let (page_size, salt) = (word(header, 8) as usize, &header[16..24]);
    let mut is_whole = true;
    for frame in frames.chunks_exact(FRAME_HEADER + page_size) {
        let is_of_this_log = &frame[8..16] == salt;
        if is_whole {
            sum.add(&frame[..8]);
            sum.add(&frame[FRAME_HEADER..]);
            is_whole = is_of_this_log && sum.is_at(&frame[16..24]);
        } else if is_of_this_log && word(frame, 4) != 0 {
            return true;
        }
    }
    false
}

fn word(bytes: &[u8], at: usize) -> u32 {
    u32::from_be_bytes(bytes[at..at + 4].try_into().expect("four bytes"))
}

/// The running checksum of a log.
struct Sum {
    one: u32,
    other: u32,
    of_bytes: fn([u8; 4]) -> u32,
}

impl Sum {
    /// After the header; `None` where that does not fit itself.
    fn of_header(header: &[u8]) -> Option<Self> {
        let of_bytes = match word(header, 0) {
            0x377f_0682 => u32::from_le_bytes,
            0x377f_0683 => u32::from_be_bytes,
            _ => return None,
        };
        let mut sum = Self { one: 0, other: 0, of_bytes };
        sum.add(&header[..24]);
        (sum.is_at(&header[24..32]) && word(header, 8).is_power_of_two() && word(header, 8) >= 512).then_some(sum)
    }

    fn add(&mut self, bytes: &[u8]) {
        for pair in bytes.chunks_exact(8) {
            let [first, second] = [&pair[..4], &pair[4..]].map(|four| (self.of_bytes)(four.try_into().expect("four bytes")));
            self.one = self.one.wrapping_add(first).wrapping_add(self.other);
            self.other = self.other.wrapping_add(second).wrapping_add(self.one);
        }
    }

    fn is_at(&self, stated: &[u8]) -> bool {
        word(stated, 0) == self.one && word(stated, 4) == self.other
    }
}
