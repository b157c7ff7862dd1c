//! The one way to a terminal: text from outside is shown, and never obeyed.
//!
//! Names, values, comments and registers come from files, devices and other people. A control character in
//! one of them could move the cursor over a verdict, a bidirectional mark could turn a value round, and a
//! character of no width could hide inside one. Everything that the program prints goes through a writer of
//! this room, which shows such characters as `\u001b`: so nothing has to remember where a text came from. That
//! spelling means the same in JSON, and in YAML between double quotes.
//!
//! Colours are the program's own. They carry a word that is drawn anew in each run, so that no file can know
//! it; what does not carry it is no colour.

use std::borrow::Cow;
use std::fmt::Write as _;
use std::hash::{BuildHasher, Hasher};
use std::io::{self, IsTerminal, Write};
use std::path::Path;
use std::sync::LazyLock;

/// Standard output, for people and for programs.
pub fn stdout() -> Shown<Box<dyn Write>> {
    let out = io::stdout();
    match takes_codes(&out) {
        true => Shown::of(Box::new(anstream::stdout().lock()), true),
        false => Shown::of(Box::new(out.lock()), false),
    }
}

/// Standard error.
pub fn stderr() -> Shown<Box<dyn Write>> {
    let out = io::stderr();
    match takes_codes(&out) {
        true => Shown::of(Box::new(anstream::stderr().lock()), true),
        false => Shown::of(Box::new(out.lock()), false),
    }
}

/// Whether colours are for whoever reads there.
fn takes_codes(out: &impl anstream::stream::RawStream) -> bool {
    anstream::AutoStream::choice(out) != anstream::ColorChoice::Never
}

/// Writes a file to standard output: byte for byte where it is redirected, shown on a terminal.
pub fn file(bytes: &[u8]) -> io::Result<()> {
    if io::stdout().is_terminal() {
        let mut out = stdout();
        out.write_all(bytes)?;
        return out.flush();
    }
    let mut out = io::stdout().lock();
    out.write_all(bytes)?;
    out.flush()
}

/// The code that switches a colour or a weight on, or with `0` off: `1;32`.
pub fn style(code: &str) -> String {
    format!("{ESCAPE}{}[{code}m", *OWN)
}

/// Text with every character shown that would be obeyed or not seen, line breaks too: for a name or a message
/// that stands on one line.
pub fn escaped(text: &str) -> Cow<'_, str> {
    let is_hidden = |c: char| is_obeyed(c) || matches!(c, '\n' | '\t');
    if !text.contains(is_hidden) {
        return Cow::Borrowed(text);
    }
    let mut shown = String::with_capacity(text.len() + 8);
    text.chars().for_each(|c| if is_hidden(c) { push_escaped(&mut shown, c) } else { shown.push(c) });
    Cow::Owned(shown)
}

/// A path as it is named in messages, on one line.
pub fn path(path: impl AsRef<Path>) -> String {
    escaped(&path.as_ref().display().to_string()).into_owned()
}

/// The same of a whole text, whose lines stay.
pub fn visible(text: &str) -> Cow<'_, str> {
    if !text.contains(is_obeyed) {
        return Cow::Borrowed(text);
    }
    let mut shown = String::with_capacity(text.len() + 8);
    let mut letters = text.chars().peekable();
    while let Some(c) = letters.next() {
        match c {
            '\r' if letters.peek() == Some(&'\n') => shown.push(c),
            _ if is_obeyed(c) => push_escaped(&mut shown, c),
            _ => shown.push(c),
        }
    }
    Cow::Owned(shown)
}

/// Whether a terminal, or a reader's eye, would take a character for something else than a letter: control
/// characters, marks that change the direction of text, breaks of lines and paragraphs, characters of no width
/// and fillers that are drawn as nothing (Unicode's `Default_Ignorable_Code_Point`, but for those that join or shape
/// letters of living scripts).
fn is_obeyed(c: char) -> bool {
    let is_break_or_tab = matches!(c, '\n' | '\t');
    (c.is_control() && !is_break_or_tab)
        || matches!(c,
            '\u{ad}' | '\u{34f}' | '\u{61c}' | '\u{115f}' | '\u{1160}' | '\u{17b4}' | '\u{17b5}' | '\u{180b}'..='\u{180f}'
            | '\u{200b}' | '\u{200e}' | '\u{200f}' | '\u{2028}'..='\u{202e}' | '\u{2060}'..='\u{206f}' | '\u{3164}'
            | '\u{feff}' | '\u{ffa0}' | '\u{fff9}'..='\u{fffb}' | '\u{1d173}'..='\u{1d17a}' | '\u{e0000}'..='\u{e0fff}')
}

fn push_escaped(shown: &mut String, c: char) {
    for unit in c.encode_utf16(&mut [0; 2]) {
        let _ = write!(shown, "\\u{unit:04x}");
    }
}

const ESCAPE: char = '\u{1b}';

/// What the program's own codes carry behind their first character.
static OWN: LazyLock<String> = LazyLock::new(|| {
    let drawn = || std::hash::RandomState::new().build_hasher().finish();
    format!("{:016x}{:016x}", drawn(), drawn())
});

/// A writer that shows what would be obeyed. It hands on whole lines, so that no character is cut in two; what
/// is left is handed on when it is flushed, or dropped.
pub struct Shown<W: Write> {
    out: W,
    takes_codes: bool,
    waiting: Vec<u8>,
}

impl<W: Write> Shown<W> {
    fn of(out: W, takes_codes: bool) -> Self {
        Self { out, takes_codes, waiting: Vec::new() }
    }

    fn hand_on(&mut self, end: usize) -> io::Result<()> {
        let bytes: Vec<u8> = self.waiting.drain(..end).collect();
        if is_seen_as_it_is(&bytes) {
            return self.out.write_all(&bytes);
        }
        let text = String::from_utf8_lossy(&bytes);
        let own = format!("{ESCAPE}{}", *OWN);
        let mut parts = text.split(own.as_str());
        let first = parts.next().unwrap_or_default();
        self.out.write_all(visible(first).as_bytes())?;
        for part in parts {
            match self.takes_codes {
                true => write!(self.out, "{ESCAPE}{}", visible(part))?,
                false => self.out.write_all(visible(without_code(part)).as_bytes())?,
            }
        }
        Ok(())
    }
}

/// Whether nothing of a text would be obeyed or not seen, and no code is in it: what most lines are.
fn is_seen_as_it_is(bytes: &[u8]) -> bool {
    let is_plain = |byte: &u8| matches!(byte, b' '..=b'~' | b'\n' | b'\t');
    // without a branch for each byte, as many are looked at together as the machine can
    bytes.chunks(64).all(|chunk| chunk.iter().fold(true, |all, byte| all & is_plain(byte)))
}

/// What stands behind the code that a text begins with: `[1;32m`.
fn without_code(text: &str) -> &str {
    let code = text.strip_prefix('[').map(|code| code.trim_start_matches(|c: char| c.is_ascii_digit() || c == ';'));
    code.and_then(|code| code.strip_prefix('m')).unwrap_or(text)
}

impl<W: Write> Write for Shown<W> {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        if self.waiting.is_empty() && bytes.last() == Some(&b'\n') && is_seen_as_it_is(bytes) {
            self.out.write_all(bytes)?;
            return Ok(bytes.len());
        }
        self.waiting.extend_from_slice(bytes);
        if let Some(last) = bytes.iter().rposition(|byte| *byte == b'\n') {
            self.hand_on(self.waiting.len() - bytes.len() + last + 1)?;
        }
        Ok(bytes.len())
    }

    fn flush(&mut self) -> io::Result<()> {
        self.hand_on(self.waiting.len())?;
        self.out.flush()
    }
}

impl<W: Write> Drop for Shown<W> {
    fn drop(&mut self) {
        // a reader that went away has been told to whoever wrote
        let _ = self.flush();
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn written(parts: &[&str]) -> String {
        let mut out = Vec::new();
        let mut shown = Shown::of(&mut out, true);
        parts.iter().for_each(|part| shown.write_all(part.as_bytes()).unwrap());
        drop(shown);
        String::from_utf8(out).unwrap()
    }

    #[test]
    fn what_would_be_obeyed_is_shown() {
        for (text, shown) in [
            ("a\u{1b}[2Jb\n", "a\\u001b[2Jb\n"),
            ("\u{9b}31m\u{7f}\u{8}", "\\u009b31m\\u007f\\u0008"),
            ("265\u{202e}V\u{2066}\u{200f}", "265\\u202eV\\u2066\\u200f"),
            ("a\rb\r\n", "a\\u000db\r\n"),
            ("\u{e0041}", "\\udb40\\udc41"),
            ("Żółte °, 40\u{a0}%, ▲ ⠿\n\t-\n", "Żółte °, 40\u{a0}%, ▲ ⠿\n\t-\n"),
        ] {
            assert_eq!(written(&[text]), shown, "{text:?}");
        }
        assert_eq!(escaped("a\nCOMPLIES"), "a\\u000aCOMPLIES");
    }

    #[test]
    fn only_the_programs_own_colours_are_colours() {
        let says = format!("{}COMPLIES{} \u{1b}[1mx\u{1b}[0m", style("1;32"), style("0"));
        assert_eq!(written(&[&says]), "\u{1b}[1;32mCOMPLIES\u{1b}[0m \\u001b[1mx\\u001b[0m");
    }

    /// Where colours are not for whoever reads, the program's own are left out, and nothing else is.
    #[test]
    fn without_colours_a_text_is_the_same_but_for_them() {
        let says = format!("{}COMPLIES{} [1m 265 V {}[x", style("1;32"), style("0"), style("1"));
        let mut out = Vec::new();
        let mut shown = Shown::of(&mut out, false);
        shown.write_all(says.as_bytes()).unwrap();
        drop(shown);
        assert_eq!(String::from_utf8(out).unwrap(), "COMPLIES [1m 265 V [x");
    }

    proptest! {
        /// However a text is cut into writes, the same is shown, and nothing of it is obeyed.
        #[test]
        fn cuts_change_nothing(text in "(\\PC|[\\x00-\\x1f\u{80}-\u{9f}\u{202a}-\u{202e}]|é|\n){0,40}", at in 0_usize..40) {
            let at = text.char_indices().nth(at).map_or(text.len(), |(at, _)| at);
            let whole = written(&[&text]);
            prop_assert!(!whole.contains(|c| is_obeyed(c) && c != '\r'), "{:?}", whole);
            prop_assert_eq!(written(&[&text[..at], &text[at..]]), whole);
        }

        /// In JSON the spelling means the same.
        #[test]
        fn json_says_the_same(text in "\\PC{0,8}[\\x00-\\x1f\\x7f\u{80}-\u{9f}\u{202a}-\u{202e}\u{e0041}]{0,3}\\PC{0,8}") {
            let line = serde_json::to_string(&text).unwrap();
            prop_assert_eq!(serde_json::from_str::<String>(&written(&[&line])).unwrap(), text);
        }
    }
}
