//! Lines of separated cells, as they are written. A line with quotation marks is taken apart by the CSV
//! library; the others, nearly all, are cut at their separators where they stand.

use csv::{ByteRecord, ReaderBuilder};
use std::io::{self, Read};
use std::ops::Range;

/// How much is read at once.
const AT_ONCE: usize = 256 << 10;

/// A table that is read line by line.
pub struct Table<R> {
    pub input: R,
    separator: u8,
    buffer: Vec<u8>,
    /// What of the buffer is not looked at yet.
    rest: Range<usize>,
    is_at_end: bool,
    /// The line that was read last: its number, and where it stands in the buffer.
    pub line: u64,
    text: Range<usize>,
    /// Its cells, where they stand in the buffer or in what was unquoted.
    cells: Vec<(u32, u32)>,
    unquoted: Option<Vec<u8>>,
    /// Whether anything in the buffer may be quoted.
    has_quotes: bool,
}

impl<R: Read> Table<R> {
    /// Below so many lines that were read already.
    pub fn new(input: R, separator: u8, lines: u64) -> Self {
        let buffer = vec![0; AT_ONCE];
        Self {
            input,
            separator,
            buffer,
            rest: 0..0,
            is_at_end: false,
            line: lines,
            text: 0..0,
            cells: Vec::new(),
            unquoted: None,
            has_quotes: false,
        }
    }

    /// Reads the next line that is neither blank nor a remark; whether there was one.
    pub fn next(&mut self) -> io::Result<bool> {
        loop {
            let Some(line) = self.next_line()? else { return Ok(false) };
            self.line += 1;
            let bytes = &self.buffer[line.clone()];
            let trimmed = bytes.strip_suffix(b"\r").unwrap_or(bytes);
            if trimmed.first().is_none_or(|first| *first == b'#') || trimmed.trim_ascii().is_empty() {
                continue;
            }
            self.text = line.start..line.start + trimmed.len();
            self.cut();
            return Ok(true);
        }
    }

    fn next_line(&mut self) -> io::Result<Option<Range<usize>>> {
        let mut looked = 0;
        loop {
            let start = self.rest.start;
            if let Some(at) = memchr::memchr(b'\n', &self.buffer[start + looked..self.rest.end]) {
                let line = start..start + looked + at;
                self.rest.start = line.end + 1;
                return Ok(Some(line));
            }
            looked = self.rest.len();
            if self.is_at_end {
                let line = self.rest.clone();
                self.rest.start = self.rest.end;
                return Ok((!line.is_empty()).then_some(line));
            }
            self.fill()?;
        }
    }

    fn fill(&mut self) -> io::Result<()> {
        self.buffer.copy_within(self.rest.clone(), 0);
        self.rest = 0..self.rest.len();
        if self.buffer.len() < self.rest.end + AT_ONCE / 2 {
            self.buffer.resize(self.rest.end + AT_ONCE, 0);
        }
        let read = self.input.read(&mut self.buffer[self.rest.end..])?;
        self.take_in(read);
        Ok(())
    }

    fn cut(&mut self) {
        self.cells.clear();
        self.unquoted = None;
        let text = &self.buffer[self.text.clone()];
        if self.has_quotes && memchr::memchr(b'"', text).is_some() {
            return self.unquote();
        }
        let base = self.text.start as u32;
        let (mut start, cells) = (base, &mut self.cells);
        let mut cut = |at: usize| {
            let end = base + at as u32;
            cells.push((start, end));
            start = end + 1;
        };
        let (eights, rest) = text.as_chunks::<8>();
        for (n, eight) in eights.iter().enumerate() {
            let mut found = bytes_that_are(self.separator, *eight);
            while found != 0 {
                cut(8 * n + found.trailing_zeros() as usize / 8);
                found &= found - 1;
            }
        }
        let from = text.len() - rest.len();
        rest.iter().enumerate().filter(|(_, byte)| **byte == self.separator).for_each(|(n, _)| cut(from + n));
        self.cells.push((start, self.text.end as u32));
    }

    fn unquote(&mut self) {
        let mut record = ByteRecord::new();
        let line = &self.buffer[self.text.clone()];
        // a line in memory cannot fail to be read
        let _ = ReaderBuilder::new().has_headers(false).delimiter(self.separator).from_reader(line).read_byte_record(&mut record);
        let mut unquoted = Vec::with_capacity(line.len());
        for cell in &record {
            self.cells.push((unquoted.len() as u32, (unquoted.len() + cell.len()) as u32));
            unquoted.extend_from_slice(cell);
        }
        self.unquoted = Some(unquoted);
    }

    /// How many cells the line has.
    pub fn len(&self) -> usize {
        self.cells.len()
    }

    /// A cell; an empty one where the line has fewer.
    #[inline]
    pub fn cell(&self, n: usize) -> &[u8] {
        let (start, end) = self.cells.get(n).copied().unwrap_or((0, 0));
        let of = self.unquoted.as_ref().unwrap_or(&self.buffer);
        &of[start as usize..end as usize]
    }

    /// The line as it is written, and where a cell stands in it.
    pub fn written(&self, n: usize) -> (String, Range<usize>) {
        let bytes = &self.buffer[self.text.clone()];
        let text = String::from_utf8_lossy(bytes).into_owned();
        let whole = 0..text.len();
        match self.cells.get(n) {
            Some((start, end)) if self.unquoted.is_none() && text.len() == bytes.len() => {
                let at = |place: u32| place as usize - self.text.start;
                (text, at(*start)..at(*end))
            }
            _ => (text, whole),
        }
    }

    /// Whether nothing follows but blank lines.
    pub fn is_last(&mut self) -> bool {
        loop {
            if !self.buffer[self.rest.clone()].trim_ascii().is_empty() {
                return false;
            }
            if self.is_at_end || self.input_is_over() {
                return true;
            }
        }
    }

    /// Reads on behind what is there, without moving the line that was read last.
    fn input_is_over(&mut self) -> bool {
        let end = self.rest.end;
        self.buffer.resize(self.buffer.len().max(end + AT_ONCE), 0);
        let read = self.input.read(&mut self.buffer[end..]).unwrap_or(0);
        self.take_in(read);
        self.is_at_end
    }

    /// Takes in what was read behind what was there.
    fn take_in(&mut self, read: usize) {
        let has_new = memchr::memchr(b'"', &self.buffer[self.rest.end..self.rest.end + read]).is_some();
        // once there are quotation marks, there are more
        self.has_quotes |= has_new;
        self.rest.end += read;
        self.is_at_end = read == 0;
    }
}

/// The highest bit of each of eight bytes that is this one, the first byte lowest: cells are short, and a search
/// that begins anew at each costs more than this does for all of a line.
#[inline]
fn bytes_that_are(byte: u8, eight: [u8; 8]) -> u64 {
    const LOW: u64 = u64::from_le_bytes([0x7f; 8]);
    let differs = u64::from_le_bytes(eight) ^ u64::from_le_bytes([byte; 8]);
    !(((differs & LOW).wrapping_add(LOW)) | differs | LOW)
}

#[cfg(test)]
mod tests {
    use super::{Table, bytes_that_are};

    /// Each place by itself, and all pairs, whatever stands around.
    #[test]
    fn separators_are_found_wherever_they_stand() {
        for around in [b'0', b'-', b'+', b',' + 1, b',' ^ 0x80, 0, 0xff, 1] {
            for pair in 0..64usize {
                let mut eight = [around; 8];
                let (one, other) = (pair / 8, pair % 8);
                (eight[one], eight[other]) = (b',', b',');
                let wanted = (0..8).filter(|n| eight[*n] == b',').map(|n| 0x80u64 << (8 * n)).sum::<u64>();
                assert_eq!(bytes_that_are(b',', eight), wanted, "{eight:?}");
            }
        }
    }

    /// Hands on a few bytes at a time.
    struct Slow<'t>(&'t [u8]);

    impl std::io::Read for Slow<'_> {
        fn read(&mut self, into: &mut [u8]) -> std::io::Result<usize> {
            let read = self.0.len().min(into.len()).min(7);
            into[..read].copy_from_slice(&self.0[..read]);
            self.0 = &self.0[read..];
            Ok(read)
        }
    }

    #[test]
    fn lines_are_cut_as_they_stand() {
        let text = b"1,2,3\r\n\n# a remark\n\"a,b\",\"c\"\"d\",\n4,,\nlast,5,6";
        let mut table = Table::new(Slow(text), b',', 1);
        let mut lines = Vec::new();
        while table.next().unwrap() {
            let cells: Vec<String> = (0..table.len()).map(|n| String::from_utf8_lossy(table.cell(n)).into_owned()).collect();
            lines.push((table.line, cells.join("|"), table.written(0).0, table.is_last()));
        }
        let line = |number, cells: &str, text: &str, is_last| (number, cells.to_owned(), text.to_owned(), is_last);
        assert_eq!(
            lines,
            [
                line(2, "1|2|3", "1,2,3", false),
                line(5, "a,b|c\"d|", "\"a,b\",\"c\"\"d\",", false),
                line(6, "4||", "4,,", false),
                line(7, "last|5|6", "last,5,6", true),
            ]
        );
    }
}
