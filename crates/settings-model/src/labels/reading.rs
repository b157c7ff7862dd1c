//! From what a display shows to what the device holds.

use super::building::{REGION, measures};
use super::unit::{Lacks, Site, dimension, nearest_multiple};
use super::{Label, LabelMap, Number, Sign, Takes};
use crate::catalogue::{SettingId, Shape};
use crate::claim::{Part, Var};
use crate::exact::{Exact, NumberError};
use crate::facts::Facts;
use crate::files::DirectionWord;
use crate::finding::nearest;
use crate::quantity::Amount;
use crate::settings::Step;
use crate::slip::Slip;

/// Why a label map does not know which label some words mean.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Unfound {
    /// It has none like it; perhaps this one is meant.
    Unknown(Option<String>),
    /// It has several; with their menus they can be told apart.
    Ambiguous(Vec<String>),
}

impl LabelMap {
    /// The label that some words mean: its own, with as much of its menu in front as it takes.
    ///
    /// # Errors
    /// See [`Unfound`].
    pub fn find(&self, words: &str) -> Result<&Label, Unfound> {
        let wanted = steps(words);
        let found: Vec<&Label> = self.labels.iter().filter(|label| label.is_shown() && ends_with(&steps(&label.path()), &wanted)).collect();
        match found[..] {
            [only] => Ok(only),
            [] => {
                let known: Vec<String> = self.labels.iter().filter(|l| l.is_shown()).flat_map(|l| [l.words.clone(), l.path()]).collect();
                Err(Unfound::Unknown(nearest(words, known.iter().map(String::as_str)).map(str::to_owned)))
            }
            // words of their own come before the end of a longer path
            _ => match found.iter().filter(|label| steps(&label.path()).len() == wanted.len()).collect::<Vec<_>>()[..] {
                [only] => Ok(only),
                _ => Err(Unfound::Ambiguous(found.iter().map(|label| label.path()).collect())),
            },
        }
    }
}

fn steps(path: &str) -> Vec<String> {
    path.split('>').map(|step| step.split_whitespace().collect::<Vec<_>>().join(" ").to_lowercase()).collect()
}

fn ends_with(path: &[String], wanted: &[String]) -> bool {
    path.len() >= wanted.len() && path[path.len() - wanted.len()..] == *wanted
}

/// One thing that a display says.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Reading {
    /// Of what.
    pub(super) of: Of,
    /// The value, as a site's file writes it.
    pub(super) text: String,
    /// From one value that the display can show to the next, in base units, and whether the device holds
    /// just what it shows.
    pub(super) step: Option<(Exact, bool)>,
    /// Whether it was worked out from another reading, which comes first.
    pub(super) follows: bool,
}

/// What a display says something of.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Of {
    /// A part of a setting.
    Setting(Var),
    /// The region selected.
    Region,
}

/// Why a value could not be read.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Unread {
    /// The text is at fault.
    Slip(Slip),
    /// Something is not stated that it depends on.
    Lacks(Lacks),
}

impl From<Slip> for Unread {
    fn from(slip: Slip) -> Self {
        Self::Slip(slip)
    }
}

impl Label {
    /// What a text on the display says.
    pub(super) fn read(&self, text: &str, site: Site<'_>, own_time: Option<Exact>) -> Result<Vec<Reading>, Unread> {
        let word = |of: Of, text: &str| Reading { of, text: text.to_owned(), step: None, follows: false };
        let stated = |(setting, index): (SettingId, u8)| word(Of::Setting(setting.into()), catalogue_word(setting, index));
        Ok(match &self.takes {
            Takes::Number { of, number, .. } => read_number(*of, number, text, site, own_time)?,
            Takes::Words(setting, words) => vec![stated((*setting, *one_of(words, text)?))],
            Takes::Regions(regions) => vec![word(Of::Region, one_of(regions, text)?)],
            Takes::Modes(modes) => one_of(modes, text)?.iter().copied().map(stated).collect(),
        })
    }

    /// What is wrong with a text by itself, whatever it depends on besides.
    #[must_use]
    pub fn slip(&self, text: &str) -> Option<Slip> {
        match self.read(text, Site { facts: &Facts::default(), percent_of: None }, None) {
            Err(Unread::Slip(slip)) => Some(slip),
            _ => None,
        }
    }

    /// What a text on the display comes to, of the part that the label is the number of, and how finely it
    /// is shown; `None` where it cannot be read.
    #[must_use]
    pub fn amount(&self, text: &str, site: Site<'_>) -> Option<(Amount, Option<Step>)> {
        let of = self.part()?;
        let reading = self.read(text, site, None).ok()?.into_iter().next()?;
        let amount = dimension(of)?.parse(&reading.text).ok()?;
        Some((amount, reading.step.map(|(size, exact)| Step { size, level: None, exact })))
    }

    /// Of a part that the display does not show, what it is fixed at.
    pub(super) fn fixed(&self, site: Site<'_>) -> Option<Result<Vec<Reading>, Unread>> {
        match &self.takes {
            Takes::Number { of, number, fixed: Some(fixed) } => Some(read_number(*of, number, fixed, site, None)),
            _ => None,
        }
    }
}

fn catalogue_word(setting: SettingId, index: u8) -> &'static str {
    match setting.parameter().shape {
        Shape::Choice(words) => words.get(usize::from(index)).copied().unwrap_or_default(),
        _ => "",
    }
}

/// What one of a display's words stands for.
fn one_of<'w, T>(words: &'w [(String, T)], text: &str) -> Result<&'w T, Slip> {
    let text = text.trim();
    if let Some((_, means)) =
        words.iter().find(|(shown, _)| shown == text).or(words.iter().find(|(shown, _)| shown.eq_ignore_ascii_case(text)))
    {
        return Ok(means);
    }
    let known: Vec<&str> = words.iter().map(|(shown, _)| shown.as_str()).collect();
    let help = match nearest(text, known.iter().copied()) {
        Some(meant) => format!("did you mean `{meant}`?"),
        None => format!("it shows {}", crate::slip::one_of(&known.iter().map(|word| format!("`{word}`")).collect::<Vec<_>>())),
    };
    Err(Slip::new(format!("`{text}` is none of the words that this display shows here"), help))
}

fn read_number(of: Var, number: &Number, text: &str, site: Site<'_>, own_time: Option<Exact>) -> Result<Vec<Reading>, Unread> {
    let value = shown(number, text)?;
    if let Some(step) = number.resolution
        && nearest_multiple(value, step) != Some(value)
    {
        let says = format!("`{}` cannot stand on this display, which goes in steps of {}", text.trim(), number.unit.show(step));
        return Err(Slip::new(says, "read the value again, as it is shown").into());
    }
    let ratio = number.unit.ratio(of, site).map_err(Unread::Lacks)?;
    let too_long = || Slip::new(format!("`{}` has too many digits", text.trim()), "read the value again, as it is shown");
    let base = ratio.to_base(value).ok_or_else(too_long)?;
    let step = match number.resolution {
        Some(step) => {
            let size = ratio.step_to_base(step, base.off_by).ok_or_else(too_long)?;
            Some((size, base.off_by == Exact::ZERO && !number.rounded))
        }
        // what could not be told in nine digits lies within two in the last place
        None => (base.off_by > Exact::ZERO).then(|| (base.off_by + base.off_by, false)),
    };
    let direction = of.setting.sibling("direction").filter(|_| number.sign != Sign::None && of.part == Part::Whole);
    let amount = if direction.is_some() { base.number.abs() } else { base.number };
    let reading = |of: Var, number: Exact, follows: bool| Reading { of: Of::Setting(of), text: written(of, number), step, follows };
    let mut readings = vec![reading(of, amount, false)];
    if let Some(direction) = direction.filter(|_| base.number != Exact::ZERO) {
        let text = if base.number < Exact::ZERO { "absorbing" } else { "supplying" };
        readings.push(Reading { of: Of::Setting(direction.into()), text: text.to_owned(), step: None, follows: false });
    }
    if let Some((other, time)) = own_time.and_then(|own| other_time(of.setting, amount, own)) {
        readings.push(reading(other.into(), time, true));
    }
    Ok(readings)
}

/// With the device's own time known, a clearing time gives the delay, and a delay the clearing time.
pub(super) fn other_time(setting: SettingId, time: Exact, own: Exact) -> Option<(SettingId, Exact)> {
    match setting.parameter().key {
        "clearing-time" if time >= own => Some((setting.sibling("definite-delay")?, time - own)),
        "definite-delay" => Some((setting.sibling("clearing-time")?, time + own)),
        _ => None,
    }
}

/// A number of base units as a site's file writes it.
fn written(of: Var, number: Exact) -> String {
    let symbol = dimension(of).and_then(|dimension| dimension.symbols().next());
    symbol.map_or_else(|| number.to_string(), |symbol| format!("{number} {symbol}"))
}

/// A number as the display shows it, positive where reactive power is supplied.
pub(super) fn shown(number: &Number, text: &str) -> Result<Exact, Slip> {
    match &number.sign {
        Sign::None => bare(number, text),
        Sign::Positive(DirectionWord::Supplying) => bare(number, text),
        Sign::Positive(DirectionWord::Absorbing) => bare(number, text).map(std::ops::Neg::neg),
        Sign::Words(words) => {
            let text = text.trim();
            let behind = |word: &str| {
                let cut = text.len().checked_sub(word.len()).filter(|cut| text.is_char_boundary(*cut))?;
                let (before, end) = text.split_at(cut);
                end.eq_ignore_ascii_case(word).then_some(before)
            };
            match (behind(&words.absorbing), behind(&words.supplying)) {
                (Some(rest), _) => bare(number, rest).map(|value| -value.abs()),
                (None, Some(rest)) => bare(number, rest).map(Exact::abs),
                (None, None) => match bare(number, text)? {
                    zero if zero == Exact::ZERO => Ok(zero),
                    _ => Err(Slip::new(
                        format!("`{text}` does not say which way"),
                        format!("write the display's word behind it: `{text} {}` or `{text} {}`", words.absorbing, words.supplying),
                    )),
                },
            }
        }
    }
}

/// A number with or without its unit.
pub(super) fn bare(number: &Number, text: &str) -> Result<Exact, Slip> {
    let text = text.trim();
    let mut symbols: Vec<&str> = number.unit.symbols.to_vec();
    symbols.sort_by_key(|symbol| std::cmp::Reverse(symbol.len()));
    let stripped = symbols.iter().find_map(|symbol| text.strip_suffix(symbol)).unwrap_or(text).trim_end();
    let digits = stripped.replace('−', "-"); // as displays show it
    Exact::parse(&digits).map_err(|error| {
        let example = number.unit.show(Exact::new(135, 1));
        match error {
            NumberError::DecimalComma => Slip::new(format!("`{text}` has a decimal comma"), format!("write `{}`", text.replace(',', "."))),
            NumberError::TooPrecise => Slip::new(format!("`{text}` has too many digits"), "read the value again, as it is shown"),
            NumberError::NotANumber | NumberError::TypographicMinus => {
                let counts = if number.unit.word.is_empty() { "a plain number".to_owned() } else { number.unit.word.to_owned() };
                Slip::new(
                    format!("`{text}` does not fit what this display shows here: {counts}"),
                    format!("write it as it is shown, such as `{example}`"),
                )
            }
        }
    })
}

/// What something is of, for messages.
pub(super) fn of_words(of: Of) -> String {
    match of {
        Of::Region => REGION.to_owned(),
        Of::Setting(Var { setting, part: Part::Whole | Part::PointCount }) => setting.to_string(),
        Of::Setting(var) => format!("the {} of {} of {}", measures(var), super::building::part_words(var.part), var.setting),
    }
}
