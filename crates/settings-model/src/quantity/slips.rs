//! Which of the usual slips a text is that is no quantity of its dimension.

use super::{Dimension, split};
use crate::exact::{Exact, NumberError};
use crate::notation::NEVER;
use crate::slip::{Slip, without_thousands_apart};

impl Dimension {
    /// The unit is none of the dimension's.
    pub(super) fn wrong_unit(self, text: &str, number: &str, symbol: &str) -> Slip {
        if number.is_empty() || text.contains(" to ") {
            return self.no_quantity(text);
        }
        if let Some(slip) = thousands_apart(text) {
            return slip;
        }
        if symbol.is_empty() {
            return self.no_unit(number);
        }
        if has_exponent(symbol) {
            return Slip::new(format!("`{text}` has an exponent"), format!("write the number out, such as `{}`", self.example()));
        }
        if self == Self::PowerFactor {
            let direction = "the direction goes beside it: `direction: absorbing` or `supplying`, as the device's manual explains its word";
            return Slip::new(
                format!("`{text}` has more than a number"),
                format!("write the power factor alone, as `{number}`; {direction}"),
            );
        }
        if self == Self::Count {
            return Slip::new(format!("`{text}` has a unit where a plain number belongs"), format!("write it as `{number}`"));
        }
        if let Some(meant) = self.symbols().find(|known| known.eq_ignore_ascii_case(symbol)) {
            return Slip::new(format!("`{symbol}` is not a unit of {}", self.name()), format!("did you mean `{number} {meant}`?"));
        }
        match Self::ALL.into_iter().find(|other| other.symbols().any(|known| known == symbol)) {
            Some(other) => Slip::new(
                format!("`{text}` is {}; {} belongs here", other.a_name(), self.a_name()),
                format!("read the value again; units of {}: {}", self.name(), self.listed_units()),
            ),
            None => Slip::new(format!("`{symbol}` is not a unit of {}", self.name()), format!("use {}", self.listed_units())),
        }
    }

    fn no_quantity(self, text: &str) -> Slip {
        if self == Self::Time && text == NEVER {
            return Slip::new("a limit cannot be `never`", "require the function's `state` to be off, or a longest time");
        }
        let bounds = ["at least ", "at most ", "over ", "under "];
        if text.contains(" to ") || bounds.iter().any(|words| text.starts_with(words)) {
            let says = format!("`{text}` is an interval where one {} belongs", self.name());
            return Slip::new(says, format!("write one value, such as `{}`; intervals go under `comply`", self.example()));
        }
        Slip::new(format!("expected {}, found `{text}`", self.a_name()), format!("write it as `{}`", self.example()))
    }

    fn no_unit(self, number: &str) -> Slip {
        let help = format!("write `{number} {}` if that is what is meant", self.base());
        let others = self.symbols().nth(1).map(|_| format!("; units of {}: {}", self.name(), self.listed_units()));
        Slip::new(format!("`{number}` has no unit"), help + &others.unwrap_or_default())
    }

    /// The unit is right, and what stands before it is no number.
    pub(super) fn wrong_number(self, text: &str, number: &str, error: NumberError) -> Slip {
        if let Some(slip) = thousands_apart(text) {
            return slip;
        }
        if number.is_empty() {
            return Slip::new(
                format!("`{text}` has no number"),
                format!("write the number in front of the unit, such as `{}`", self.example()),
            );
        }
        if let Some(whole) = comma_before_three(number) {
            let (point, whole) = (text.replace(',', "."), text.replace(number, &whole));
            return Slip::new(format!("`{text}` has a comma"), format!("write `{point}` or `{whole}`, whichever is meant"));
        }
        let mended = number.replace(',', ".").replace(['−', '–', '—'], "-");
        let mended = Exact::parse(&mended).map_or_else(|_| self.example().to_owned(), |_| text.replace(number, &mended));
        match error {
            NumberError::NotANumber => Slip::new(
                format!("`{number}` is not a decimal number"),
                format!("write digits with at most one decimal point, such as `{}`", self.example()),
            ),
            NumberError::DecimalComma => Slip::new(format!("`{text}` has a decimal comma"), format!("write a point: `{mended}`")),
            NumberError::TypographicMinus => {
                Slip::new(format!("`{text}` begins with a typographic dash"), format!("write the plain minus sign: `{mended}`"))
            }
            NumberError::TooPrecise => {
                Slip::new(format!("`{text}` has more than nine digits"), "write fewer: no setting is known that precisely")
            }
        }
    }

    /// `235 V – 255 V`, `5-10 kW`, `5 kW..10 kW`: how an interval is written instead.
    pub(crate) fn dashed(self, text: &str) -> Option<String> {
        let separators = ["..", "-", "–", "—", "−"];
        let after_first = text.chars().next()?.len_utf8();
        let (at, separator) = separators.iter().filter_map(|s| Some((text[after_first..].find(s)? + after_first, s))).min()?;
        let (low, high) = (text[..at].trim(), text[at + separator.len()..].trim());
        let (number, symbol) = split(low);
        let low = if symbol.is_empty() { format!("{number} {}", split(high).1) } else { low.to_owned() };
        (self.parse(low.trim()).is_ok() && self.parse(high).is_ok()).then(|| format!("{} to {high}", low.trim()))
    }
}

/// `1.231,5 W`, `4 999 W`: a number with its thousands apart.
fn thousands_apart(text: &str) -> Option<Slip> {
    let end = text.find(|c: char| c.is_alphabetic() || c == '%').unwrap_or(text.len());
    let number = text[..end].trim_end();
    let mended = text.replace(number, &without_thousands_apart(number)?);
    Some(Slip::new(format!("`{text}` has a mark between its thousands"), format!("write `{mended}`")))
}

/// `1,231` may be 1.231 or 1231.
fn comma_before_three(number: &str) -> Option<String> {
    let (thousands, rest) = number.split_once(',')?;
    let is_either = (1..=3).contains(&thousands.len()) && !thousands.starts_with('0') && rest.len() == 3;
    let whole = format!("{thousands}{rest}");
    (is_either && whole.bytes().all(|byte| byte.is_ascii_digit())).then_some(whole)
}

fn has_exponent(symbol: &str) -> bool {
    let digits = symbol.strip_prefix(['e', 'E']).map(|rest| rest.trim_start_matches(['+', '-']));
    digits.is_some_and(|rest| rest.starts_with(|c: char| c.is_ascii_digit()))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_slip_says_what_it_is_and_how_to_mend_it() {
        for (dimension, text, says, help) in [
            (Dimension::Voltage, "253", "`253` has no unit", "write `253 V` if that is what is meant; units of voltage: V, kV, mV or pu"),
            (Dimension::Percent, "20", "`20` has no unit", "write `20 %` if that is what is meant"),
            (Dimension::Voltage, "50 Hz", "`50 Hz` is a frequency; a voltage belongs here", "read the value again; units of voltage"),
            (Dimension::Voltage, "50 dB", "`dB` is not a unit of voltage", "use V, kV, mV or pu"),
            (Dimension::ActivePower, "5 KW", "`KW` is not a unit of active power", "did you mean `5 kW`?"),
            (Dimension::ActivePower, "high", "expected an active power, found `high`", "write it as `5 kW`"),
            (Dimension::Voltage, "at most 253 V", "`at most 253 V` is an interval where one voltage belongs", "write one value"),
            (Dimension::Voltage, "244 V to 253 V", "`244 V to 253 V` is an interval", "write one value"),
            (Dimension::Voltage, "264,5 V", "`264,5 V` has a decimal comma", "write a point: `264.5 V`"),
            (Dimension::ActivePower, "1,000.5 W", "`1,000.5 W` has a mark between its thousands", "write `1000.5 W`"),
            (Dimension::ActivePower, "4 999,5 W", "`4 999,5 W` has a mark between its thousands", "write `4999.5 W`"),
            (Dimension::ActivePower, "1.231,5W", "`1.231,5W` has a mark between its thousands", "write `1231.5W`"),
            (Dimension::ActivePower, "1,231 W", "`1,231 W` has a comma", "write `1.231 W` or `1231 W`, whichever is meant"),
            (Dimension::ActivePower, "kW", "`kW` has no number", "write the number in front of the unit, such as `5 kW`"),
            (Dimension::Percent, "−60 %", "`−60 %` begins with a typographic dash", "write the plain minus sign: `-60 %`"),
            (Dimension::Voltage, "9999999999 V", "`9999999999 V` has more than nine digits", "write fewer"),
            (Dimension::Voltage, "265.00000001 V", "`265.00000001 V` has more than nine digits", "write fewer"),
            (Dimension::Count, "3 phases", "`3 phases` has a unit where a plain number belongs", "write it as `3`"),
            (Dimension::Time, "1.5.1 s", "`1.5.1` is not a decimal number", "write digits with at most one decimal point"),
            (Dimension::Time, "1e3 s", "`1e3 s` has an exponent", "write the number out"),
        ] {
            let slip = dimension.parse(text).unwrap_err();
            assert!(slip.says.starts_with(says) && slip.help.starts_with(help), "{text}: {slip:?}");
        }
    }

    #[test]
    fn dashes_between_values_are_understood_and_nothing_else_is() {
        let dashed = |text| Dimension::Percent.dashed(text);
        assert_eq!(dashed("-60 % – -30 %").as_deref(), Some("-60 % to -30 %"));
        assert_eq!(dashed("5-10 %").as_deref(), Some("5 % to 10 %"));
        assert_eq!(dashed("5%..10%").as_deref(), Some("5% to 10%"));
        assert_eq!([dashed("-60 %"), dashed("5-"), dashed("a-b")], [None, None, None]);
    }
}
