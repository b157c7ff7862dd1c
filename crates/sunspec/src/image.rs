//! Registers kept in a file, as they were read: to be decoded again later, and to be shown to others.

use crate::registers::{Failure, Registers};
use settings_model::files::RegisterImageFile;
use std::fmt::Write as _;

/// Registers by their address.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Image {
    /// Runs of registers, by the address of the first, in order and apart.
    runs: Vec<(u16, Vec<u16>)>,
}

/// Where registers were read, for the file that they are kept in.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct ReadFrom {
    /// The peer: `tcp 192.0.2.7:502`.
    pub peer: String,
    /// The unit id.
    pub unit: u8,
    /// When, in UTC: `2026-11-26T09:12:03Z`.
    pub at: String,
    /// The program that read them.
    pub program: String,
}

impl Image {
    /// The registers that a file keeps; its form was checked when it was read.
    #[must_use]
    pub fn of_file(file: &RegisterImageFile) -> Self {
        let mut image = Self::default();
        for run in &file.runs {
            let words: Vec<u16> = run
                .registers
                .iter()
                .flat_map(|row| row.value.split_whitespace())
                .filter_map(|word| u16::from_str_radix(word, 16).ok())
                .collect();
            image.keep(run.from, &words);
        }
        image
    }

    /// Keeps registers; what was kept of the same addresses before gives way.
    pub fn keep(&mut self, at: u16, words: &[u16]) {
        for (address, word) in (at..=u16::MAX).zip(words) {
            self.set(address, *word);
        }
    }

    fn set(&mut self, address: u16, word: u16) {
        let next = self.runs.partition_point(|(from, _)| *from <= address);
        if let Some((from, words)) = next.checked_sub(1).and_then(|last| self.runs.get_mut(last)) {
            let offset = usize::from(address - *from);
            if offset < words.len() {
                words[offset] = word;
                return;
            }
            if offset == words.len() {
                words.push(word);
                self.join(next - 1);
                return;
            }
        }
        self.runs.insert(next, (address, vec![word]));
        self.join(next);
    }

    /// Joins a run with the one behind it, where nothing lies between them.
    fn join(&mut self, n: usize) {
        let touches = |(from, words): &(u16, Vec<u16>), next: &(u16, Vec<u16>)| usize::from(*from) + words.len() == usize::from(next.0);
        if n + 1 < self.runs.len() && touches(&self.runs[n], &self.runs[n + 1]) {
            let (_, behind) = self.runs.remove(n + 1);
            self.runs[n].1.extend(behind);
        }
    }

    /// The register of an address, where it is kept.
    #[must_use]
    pub fn get(&self, address: u16) -> Option<u16> {
        let last = self.runs.partition_point(|(from, _)| *from <= address).checked_sub(1)?;
        let (from, words) = &self.runs[last];
        words.get(usize::from(address - from)).copied()
    }

    /// How many registers are kept.
    #[must_use]
    pub fn len(&self) -> usize {
        self.runs.iter().map(|(_, words)| words.len()).sum()
    }

    /// Whether none is kept.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.runs.is_empty()
    }

    /// The text of the file that keeps them.
    #[must_use]
    pub fn file(&self, from: &ReadFrom, note: &str) -> String {
        let quoted = |text: &str| serde_json::Value::from(text).to_string();
        let mut text = String::from("{\n  \"kind\": \"register-image\",\n");
        if !note.is_empty() {
            let _ = writeln!(text, "  \"note\": {},", quoted(note));
        }
        if !from.peer.is_empty() {
            let _ = writeln!(
                text,
                "  \"read\": {{ \"peer\": {}, \"unit\": {}, \"at\": {}, \"program\": {} }},",
                quoted(&from.peer),
                from.unit,
                quoted(&from.at),
                quoted(&from.program)
            );
        }
        text.push_str("  \"runs\": [");
        for (n, (at, words)) in self.runs.iter().enumerate() {
            let _ = write!(text, "{}\n    {{\n      \"from\": {at},\n      \"registers\": [", if n > 0 { "," } else { "" });
            for (n, row) in words.chunks(16).enumerate() {
                let row: Vec<String> = row.iter().map(|word| format!("{word:04x}")).collect();
                let _ = write!(text, "{}\n        \"{}\"", if n > 0 { "," } else { "" }, row.join(" "));
            }
            text.push_str("\n      ]\n    }");
        }
        text.push_str("\n  ]\n}\n");
        text
    }
}

/// Keeps whatever is read through it.
pub struct Keeping<'r> {
    /// What is read.
    pub registers: &'r mut dyn Registers,
    /// What was read so far.
    pub image: Image,
}

impl Registers for Keeping<'_> {
    fn read(&mut self, at: u16, count: u16) -> Result<Vec<u16>, Failure> {
        let words = self.registers.read(at, count)?;
        self.image.keep(at, &words);
        Ok(words)
    }
}

/// What is kept is there, and everything else is refused as a device refuses it.
impl Registers for Image {
    fn read(&mut self, at: u16, count: u16) -> Result<Vec<u16>, Failure> {
        let words = (0..count).map(|n| at.checked_add(n).and_then(|address| self.get(address)));
        words.collect::<Option<Vec<u16>>>().ok_or(Failure::Refused(2))
    }
}
