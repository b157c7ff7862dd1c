//! A question: what is asked, why, and what would do as its answer.

use settings_model::finding::nearest;

/// What leaves a question open, where that is possible.
pub const UNKNOWN: &str = "unknown";

/// An answer that somebody may choose.
#[derive(Clone, Debug)]
pub struct Choice {
    /// How it is written.
    pub word: String,
    /// What it stands for, where the word does not say it.
    pub means: String,
}

impl Choice {
    /// Words that say themselves what they are.
    pub fn words<W: ToString>(words: impl IntoIterator<Item = W>) -> Vec<Self> {
        words.into_iter().map(|word| Self { word: word.to_string(), means: String::new() }).collect()
    }
}

/// Whether a question may stay open.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Need {
    /// Nothing can be made without it.
    Answer,
    /// Somebody has to say at least that it is not known.
    AnswerOrUnknown,
    /// It may be passed over in silence.
    Nothing,
}

/// A question.
pub struct Question<'q> {
    /// How the command line gives the answer: `--region`.
    pub flag: String,
    /// What is asked.
    pub asks: &'q str,
    /// What the answer decides.
    pub why: &'q str,
    /// What may be chosen; none where anything of a form may be written.
    pub choices: Vec<Choice>,
    /// How an answer looks, where nothing is chosen.
    pub example: &'q str,
    /// What holds where nothing is said.
    pub default: Option<String>,
    /// Whether it may stay open.
    pub need: Need,
    /// What it means that it stays open.
    pub open: &'q str,
}

impl<'q> Question<'q> {
    /// A question that needs an answer.
    pub fn new(flag: impl Into<String>, asks: &'q str, why: &'q str) -> Self {
        Self {
            flag: flag.into(),
            asks,
            why,
            choices: Vec::new(),
            example: "",
            default: None,
            need: Need::Answer,
            open: "not known, left out",
        }
    }

    /// With the answers that may be chosen.
    pub fn choices(self, choices: Vec<Choice>) -> Self {
        Self { choices, ..self }
    }

    /// With an answer of the form that is meant.
    pub fn example(self, example: &'q str) -> Self {
        Self { example, ..self }
    }

    /// With what holds where nothing is said.
    pub fn default(self, default: Option<String>) -> Self {
        Self { default, ..self }
    }

    /// With whether it may stay open.
    pub fn need(self, need: Need) -> Self {
        Self { need, ..self }
    }

    /// A question that may be passed over, and what that means.
    pub fn or_nothing(self, open: &'q str) -> Self {
        Self { need: Need::Nothing, open, ..self }
    }

    /// What would do as an answer, in a line.
    pub fn would_do(&self) -> String {
        let words: Vec<&str> = self.choices.iter().map(|choice| choice.word.as_str()).collect();
        let known = if words.is_empty() { format!("such as {}", self.example) } else { words.join(", ") };
        if self.need == Need::AnswerOrUnknown { format!("{known}, or {UNKNOWN}") } else { known }
    }

    /// Reads an answer as one of the choices, or as a text of one line where there are none.
    ///
    /// # Errors
    /// What would do instead.
    pub fn word(&self, text: &str) -> Result<String, String> {
        if self.choices.is_empty() { one_line(text) } else { chosen(&self.choices, text) }
    }
}

/// The word that was chosen, by itself or by what it stands for, in letters of any case.
///
/// # Errors
/// What would do instead.
pub fn chosen(choices: &[Choice], text: &str) -> Result<String, String> {
    let plain = |text: &str| text.trim().to_lowercase().replace([' ', '_'], "-");
    let wanted = plain(text);
    let is_meant = |choice: &&Choice| plain(&choice.word) == wanted || (!choice.means.is_empty() && plain(&choice.means) == wanted);
    if let Some(choice) = choices.iter().find(is_meant) {
        return Ok(choice.word.clone());
    }
    let words = || choices.iter().map(|choice| choice.word.as_str());
    // of numbers, one is as near as another
    let nearest = nearest(&wanted, words()).filter(|_| wanted.contains(char::is_alphabetic));
    let would_do = match nearest {
        Some(meant) => format!("did you mean `{meant}`?"),
        None => format!("choose one of: {}", words().collect::<Vec<_>>().join(", ")),
    };
    Err(format!("`{}` is none of the choices; {would_do}", settings_model::slip::beginning(text, 60)))
}

/// A text of one line, as a name or a title is.
///
/// # Errors
/// That it is empty, or has a line break in it.
pub fn one_line(text: &str) -> Result<String, String> {
    settings_model::notation::one_line(text).map_err(|slip| slip.to_string())?;
    Ok(text.trim().to_owned())
}
