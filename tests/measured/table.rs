//! The table of what each refused file costs.

use super::{Ended, says};
use std::fmt::Write as _;
use std::io::Write as _;

/// What a refused file may cost at most, in bytes.
pub const MOST: u64 = 200_000_000;

/// What a file holds, made when it is needed: the system counts the memory of who starts a program as that of the
/// program itself, so the test has to stay lean.
pub type Made = Box<dyn Fn() -> Vec<u8>>;

/// The table of what each refused file costs, and what is wrong with a refusal.
#[derive(Default)]
pub struct Table {
    pub rows: Vec<(u64, f64, String)>,
    wrong: Vec<String>,
}

impl Table {
    /// Adds a file that has to be refused, and notes what is wrong with how.
    pub fn refused(&mut self, name: &str, ended: &Ended) {
        let said = says(ended);
        let peak = ended.peak;
        self.rows.push((peak, ended.seconds, name.to_owned()));
        let mut wrong = |says: String| self.wrong.push(format!("{name}: {says}\n{said:.1500}"));
        if ended.code != Some(2) {
            wrong(format!("ends with {:?}", ended.code));
        }
        if said.contains("panicked") {
            wrong("a panic".to_owned());
        }
        if peak > MOST {
            wrong(format!("{} MB", peak / 1_000_000));
        }
        if said.len() > 4_000_000 {
            wrong(format!("{} bytes said", said.len()));
        }
        if !said.contains(": ") {
            wrong("nothing said".to_owned());
        }
    }

    /// Prints the costliest, and fails where a refusal was wrong.
    pub fn end(mut self) {
        self.rows.sort_by_key(|row| std::cmp::Reverse(row.0));
        println!("peak MB  seconds  refused file");
        for (peak, seconds, name) in self.rows.iter().take(40) {
            println!("{:>7.1} {seconds:>8.2}  {name}", *peak as f64 / 1e6);
        }
        println!("{} files refused, the highest peak {:.1} MB", self.rows.len(), self.rows[0].0 as f64 / 1e6);
        assert!(self.wrong.is_empty(), "{}", self.wrong.join("\n\n"));
    }
}

/// A text of so many lines.
pub fn lines(count: usize, line: impl Fn(usize) -> String) -> String {
    (0..count).fold(String::new(), |mut text, n| {
        let _ = writeln!(text, "{}", line(n));
        text
    })
}

/// So many of one byte, packed by gzip.
pub fn gzip_of(byte: u8, count: usize) -> Vec<u8> {
    let mut packed = flate2::write::GzEncoder::new(Vec::new(), flate2::Compression::fast());
    let block = vec![byte; 1 << 20];
    (0..count >> 20).for_each(|_| packed.write_all(&block).unwrap());
    packed.finish().unwrap()
}
