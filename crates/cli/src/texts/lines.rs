//! One site a line: cut into blocks at newlines, so that a file of any size is read in pieces.

use super::Block;
use memchr::{memchr, memchr_iter, memrchr};
use std::io::{self, BufRead, Read};
use std::sync::Arc;

/// How much is read at once.
const BLOCK: u64 = 1 << 20;
/// The longest line that is read; a site is a few kilobytes.
const MAX_LINE: usize = 4 << 20;

/// The most lines of one block. What is said of a block is kept until its turn, and a line of two bytes may be as much
/// at fault as one of two kilobytes.
const MOST_LINES: usize = 128;

/// Cuts what is read into blocks of whole lines, each with the number of its first.
pub fn cut(mut input: impl Read, name: &str, put: &mut dyn FnMut(Block) -> io::Result<()>) -> io::Result<()> {
    let name: Arc<str> = name.into();
    let mut first = 1;
    let mut held = Vec::new();
    loop {
        let before = held.len();
        held.reserve(BLOCK as usize + 1);
        let read = input.by_ref().take(BLOCK).read_to_end(&mut held);
        if let Some(end) = memrchr(b'\n', &held[before..]) {
            let rest = held.split_off(before + end + 1);
            first = put_lines(&name, first, std::mem::replace(&mut held, rest), put)?;
        }
        match read {
            Ok(0) if held.is_empty() => return Ok(()),
            Ok(0) => return put_lines(&name, first, held, put).map(drop),
            Ok(_) if held.len() > MAX_LINE => {
                put(Block::Unreadable { says: too_long(&name, first), name: name.clone(), line: Some(first) })?;
                match after_newline(&mut input)? {
                    After::Line(rest) => held = rest,
                    After::End => return Ok(()),
                    After::Endless => {
                        let says = format!("{name}: line {first} does not end; nothing behind it was read");
                        return put(Block::Unreadable { says, name, line: Some(first) });
                    }
                }
                first += 1;
            }
            Ok(_) => {}
            Err(error) => {
                return put(Block::Unreadable { says: format!("{name}: line {first}: {error}"), name, line: Some(first) });
            }
        }
    }
}

/// Puts whole lines, so many at a time; the number of the line behind them.
fn put_lines(name: &Arc<str>, first: usize, bytes: Vec<u8>, put: &mut dyn FnMut(Block) -> io::Result<()>) -> io::Result<usize> {
    let (mut begins, mut from, mut lines) = (0, first, 0);
    for end in memchr_iter(b'\n', &bytes) {
        lines += 1;
        if lines == MOST_LINES && end + 1 < bytes.len() {
            put(Block::Lines { name: name.clone(), first: from, bytes: bytes[begins..=end].to_vec() })?;
            (begins, from, lines) = (end + 1, from + lines, 0);
        }
    }
    let rest = if begins == 0 { bytes } else { bytes[begins..].to_vec() };
    put(Block::Lines { name: name.clone(), first: from, bytes: rest })?;
    Ok(from + lines)
}

fn too_long(name: &str, line: usize) -> String {
    format!("{name}: line {line} is longer than 4 MB, which no site is")
}

/// What follows a line that is too long.
enum After {
    /// This much of the next line, or of more.
    Line(Vec<u8>),
    /// Nothing.
    End,
    /// It goes on for longer than anybody reads.
    Endless,
}

/// So much of a line that is too long is passed over: a file may say that it has no end.
const MOST_PASSED_OVER: u64 = 256 << 20;

/// What follows the next newline, as far as it was read with it.
fn after_newline(input: &mut impl Read) -> io::Result<After> {
    let mut piece = Vec::new();
    for _ in 0..MOST_PASSED_OVER / BLOCK {
        if input.by_ref().take(BLOCK).read_to_end(&mut piece)? == 0 {
            return Ok(After::End);
        }
        if let Some(at) = memchr(b'\n', &piece) {
            return Ok(After::Line(piece.split_off(at + 1)));
        }
        piece.clear();
    }
    Ok(After::Endless)
}

/// The longest line of a list of paths: more than any system takes.
const MAX_PATH: u64 = 64 << 10;

/// The next line of a list of paths; `None` at its end.
///
/// # Errors
/// For a line that can be no path.
pub fn path(input: &mut impl BufRead) -> io::Result<Option<String>> {
    let mut line = Vec::new();
    match input.by_ref().take(MAX_PATH).read_until(b'\n', &mut line)? as u64 {
        0 => Ok(None),
        MAX_PATH => Err(io::Error::other("longer than any path; write one path a line")),
        _ => String::from_utf8(line).map(Some).map_err(|_| io::Error::other("not UTF-8 text; save the list as UTF-8")),
    }
}

/// Takes a line's number, and its text or why there is none.
pub type Take<'t> = dyn FnMut(usize, Result<&str, String>) -> io::Result<()> + 't;

/// Hands on every line of a block that is not blank: its number, and its text or why there is none.
pub fn each_line(name: &str, first: usize, bytes: &[u8], take: &mut Take<'_>) -> io::Result<()> {
    let mut begins = 0;
    for (number, end) in (first..).zip(memchr_iter(b'\n', bytes).chain([bytes.len()])) {
        let line = &bytes[begins..end];
        begins = end + 1;
        match std::str::from_utf8(line).map(str::trim_end) {
            _ if line.len() > MAX_LINE => take(number, Err(too_long(name, number)))?,
            Err(_) => take(number, Err(format!("{name}: line {number} is not UTF-8 text; save the file as UTF-8")))?,
            Ok(text) if text.trim_start().is_empty() => {}
            Ok(text) => take(number, Ok(text))?,
        }
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::{cut, each_line};
    use crate::texts::Block;
    use std::io::Read;

    type Found = (usize, Result<usize, String>);

    /// Every line with its number, through whatever blocks it was cut into.
    fn lines(input: impl Read) -> (Vec<Found>, usize) {
        let (mut found, mut blocks) = (Vec::new(), 0);
        cut(input, "f", &mut |block| {
            blocks += 1;
            match block {
                Block::Lines { name, first, bytes } => each_line(&name, first, &bytes, &mut |number, text| {
                    found.push((number, text.map(str::len)));
                    Ok(())
                }),
                Block::Unreadable { line, says, .. } => {
                    found.push((line.unwrap(), Err(says)));
                    Ok(())
                }
                Block::Whole { .. } | Block::LeftOut(_) => unreachable!("lines only"),
            }
        })
        .unwrap();
        (found, blocks)
    }

    #[test]
    fn every_line_keeps_its_number_wherever_blocks_end() {
        let lengths: Vec<usize> = (0..900).map(|n| n * 7919 % 5000).collect();
        let text: String = lengths.iter().map(|length| "x".repeat(*length) + "\n").collect();
        let expected: Vec<_> =
            lengths.iter().enumerate().filter(|(_, length)| **length > 0).map(|(n, length)| (n + 1, Ok(*length))).collect();
        let (found, blocks) = lines(text.as_bytes());
        assert_eq!(found, expected);
        assert!(blocks > 1, "one block proves nothing");
        let (found, _) = lines(text.trim_end().as_bytes());
        assert_eq!(found, expected, "the last line may end without a newline");
    }

    #[test]
    fn a_line_without_end_does_not_stop_the_rest() {
        let text = format!("one\n{}\nthree\n", "x".repeat(9 << 20));
        let (found, _) = lines(text.as_bytes());
        assert_eq!(found[0], (1, Ok(3)));
        assert!(matches!(&found[1], (2, Err(says)) if says.contains("longer than 4 MB")));
        assert_eq!(found[2..], [(3, Ok(5))]);
    }

    #[test]
    fn a_line_without_any_end_ends_the_reading() {
        let (found, _) = lines(b"one\n".chain(std::io::repeat(0)));
        assert_eq!(found[0], (1, Ok(3)));
        assert!(matches!(&found[2], (2, Err(says)) if says.contains("nothing behind it was read")), "{found:?}");
        assert_eq!(found.len(), 3);
    }

    /// What was read before a stream broke is not lost.
    #[test]
    fn a_stream_that_breaks_is_told_with_its_line() {
        struct Broken;
        impl Read for Broken {
            fn read(&mut self, _: &mut [u8]) -> std::io::Result<usize> {
                Err(std::io::Error::other("broken"))
            }
        }
        let (found, _) = lines("one\ntwo\nthr".as_bytes().chain(Broken));
        assert_eq!(found, [(1, Ok(3)), (2, Ok(3)), (3, Err("f: line 3: broken".to_owned()))]);
    }

    #[test]
    fn a_list_of_paths_ends_at_a_line_that_is_none() {
        let mut list = &b"a.yaml\nb.yaml"[..];
        let mut next = || super::path(&mut list).unwrap();
        assert_eq!([next(), next(), next()], [Some("a.yaml\n".to_owned()), Some("b.yaml".to_owned()), None]);
        assert!(super::path(&mut std::io::BufReader::new(std::io::repeat(b'x'))).is_err());
        assert!(super::path(&mut &b"\xff\n"[..]).is_err());
    }
}
