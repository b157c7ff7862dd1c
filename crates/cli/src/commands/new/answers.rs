//! Answers: from the command line, or asked for on a terminal until one would do.

use super::question::{Choice, Need, Question, UNKNOWN};
use crate::render;
use std::io::{self, BufRead, Write};

/// Somebody who is asked.
pub struct Talk<'t> {
    /// What they write.
    pub input: &'t mut dyn BufRead,
    /// What they see.
    pub output: &'t mut dyn Write,
}

/// What was answered so far, and what is missing.
pub struct Answers<'t> {
    talk: Option<Talk<'t>>,
    /// Flags, and what would do.
    missing: Vec<(String, String)>,
    wrong: Vec<String>,
}

impl<'t> Answers<'t> {
    /// Answers of the command line alone, or with somebody who is asked for the rest.
    pub fn new(talk: Option<Talk<'t>>) -> Self {
        Self { talk, missing: Vec::new(), wrong: Vec::new() }
    }

    /// Whether somebody is there who can be asked.
    pub fn can_ask(&self) -> bool {
        self.talk.is_some()
    }

    /// The answer to a question; `None` where it stays open, or is missing, which is kept.
    ///
    /// # Errors
    /// Where a terminal cannot be read, or ends before the answer.
    pub fn ask<T>(
        &mut self,
        given: Option<&str>,
        question: &Question<'_>,
        read: impl Fn(&str) -> Result<T, String>,
    ) -> io::Result<Option<T>> {
        let Some(given) = given else {
            return match &mut self.talk {
                Some(talk) => talk.ask(question, &read),
                None => Ok(self.unasked(question, &read)),
            };
        };
        if question.need != Need::Answer && given.trim().eq_ignore_ascii_case(UNKNOWN) {
            return Ok(None);
        }
        match (read(given), &mut self.talk) {
            (Ok(answer), _) => Ok(Some(answer)),
            (Err(says), Some(talk)) => {
                writeln!(talk.output, "{}", render::wrapped(&format!("{}: {says}", question.flag), render::width(), 2))?;
                talk.ask(question, &read)
            }
            (Err(says), None) => {
                self.wrong.push(format!("{}: {says}", question.flag));
                Ok(None)
            }
        }
    }

    /// The answer to a question of words: one that is chosen, or a text of one line.
    ///
    /// # Errors
    /// As for [`Answers::ask`].
    pub fn word(&mut self, given: Option<&str>, question: &Question<'_>) -> io::Result<Option<String>> {
        self.ask(given, question, |text| question.word(text))
    }

    /// What holds where nobody can be asked.
    fn unasked<T>(&mut self, question: &Question<'_>, read: &dyn Fn(&str) -> Result<T, String>) -> Option<T> {
        if let Some(default) = &question.default {
            return read(default).ok();
        }
        if question.need != Need::Nothing {
            self.missing.push((question.flag.clone(), format!("{}: {}", question.asks, question.would_do())));
        }
        None
    }

    /// Says what is wrong with the answers together: on a terminal at once, else with all the rest.
    pub fn say(&mut self, says: &str) -> io::Result<()> {
        match &mut self.talk {
            Some(talk) => writeln!(talk.output, "{}", render::wrapped(says, render::width(), 2)),
            None => {
                self.wrong.push(says.to_owned());
                Ok(())
            }
        }
    }

    /// What is wrong and what is missing, all at once; `None` where nothing is.
    pub fn refusal(&self, file: &str) -> Option<String> {
        if self.wrong.is_empty() && self.missing.is_empty() {
            return None;
        }
        let width = render::width();
        let line = |says: &String| format!("\n  {}", render::wrapped(says, width - 2, 6));
        let mut text = format!("asleft: {file} was not written.");
        if !self.wrong.is_empty() {
            text.push_str(" Wrong:");
            text.extend(self.wrong.iter().map(line));
        }
        if !self.missing.is_empty() {
            text.push_str(if self.wrong.is_empty() { " Missing; " } else { "\nMissing; " });
            text.push_str("on a terminal each is asked for:");
            let widest = self.missing.iter().map(|(flag, _)| flag.chars().count()).max().unwrap_or_default();
            for (flag, would_do) in &self.missing {
                let would_do = render::wrapped(would_do, width - widest - 4, widest + 4);
                text.push_str(&format!("\n  {flag:<widest$}  {would_do}"));
            }
        }
        Some(text)
    }
}

impl Talk<'_> {
    /// Asks until an answer would do.
    fn ask<T>(&mut self, question: &Question<'_>, read: &dyn Fn(&str) -> Result<T, String>) -> io::Result<Option<T>> {
        self.put(question)?;
        loop {
            write!(self.output, "> ")?;
            self.output.flush()?;
            let mut line = String::new();
            if self.input.read_line(&mut line)? == 0 {
                writeln!(self.output)?;
                return Err(io::Error::other(format!("the answers ended before {}; nothing was written", question.flag)));
            }
            let written = line.trim();
            let written = match (written, &question.default) {
                ("", Some(default)) => default,
                (written, _) => written,
            };
            if question.need != Need::Answer && (written.is_empty() || written.eq_ignore_ascii_case(UNKNOWN)) {
                return Ok(None);
            }
            let answer = numbered(&question.choices, written).map_or(written, |choice| &choice.word);
            match read(answer) {
                Ok(answer) => return Ok(Some(answer)),
                Err(_) if written.is_empty() => writeln!(self.output, "  this needs an answer: {}", question.would_do())?,
                Err(says) => writeln!(self.output, "  {}", render::wrapped(&says, render::width() - 2, 2))?,
            }
        }
    }

    /// The question, why it is asked, and its choices.
    fn put(&mut self, question: &Question<'_>) -> io::Result<()> {
        let width = render::width();
        let head = format!("{}: {}", question.asks, question.why);
        writeln!(self.output, "\n{}", render::wrapped(&head, width, 2))?;
        let numbers = are_numbered(&question.choices);
        let widest = question.choices.iter().map(|choice| choice.word.chars().count()).max().unwrap_or_default();
        for (n, choice) in question.choices.iter().enumerate() {
            let number = if numbers { format!("{:>2}  ", n + 1) } else { String::new() };
            let line = format!("  {number}{:<widest$}  {}", choice.word, choice.means);
            writeln!(self.output, "{}", line.trim_end())?;
        }
        if question.choices.is_empty() && !question.example.is_empty() {
            writeln!(self.output, "  such as {}", question.example)?;
        }
        match (&question.default, question.need) {
            (Some(default), _) => writeln!(self.output, "  Enter alone: {default}"),
            (None, Need::Answer) => Ok(()),
            (None, _) => writeln!(self.output, "  Enter alone: {}", question.open),
        }
    }
}

/// Choices that are numbers themselves are not numbered: `3` would be two things.
fn are_numbered(choices: &[Choice]) -> bool {
    !choices.iter().any(|choice| choice.word.bytes().all(|byte| byte.is_ascii_digit()))
}

/// The choice of this number.
fn numbered<'c>(choices: &'c [Choice], written: &str) -> Option<&'c Choice> {
    let number: usize = written.parse().ok().filter(|_| are_numbered(choices))?;
    choices.get(number.checked_sub(1)?)
}
